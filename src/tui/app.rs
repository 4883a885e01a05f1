//! What is being looked at, and how a key changes that.

use super::action::{Action, Effect};
use super::find::Prompt;
use super::keys;
use super::listing::{Line, Listing};
use crate::checks::{Finding, Severity};
use crate::design::Design;
use crate::job::{Kind, Subject};
use crate::schedule::outline::{self, Item};
use crate::terminal::{Key, KeyCode};
use std::collections::HashSet;

/// The views there are.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum View {
    /// Levels, rooms, boxes, loops and fixtures with their figures.
    Runs,
    /// Every output with its load bar and its runs.
    Loading,
    /// Where everything sits in the panels.
    Slots,
    /// Every cable to pull.
    Cables,
    /// What is wrong.
    Findings,
}

impl View {
    /// All views, in the order of their keys.
    pub const ALL: [Self; 5] = [Self::Runs, Self::Loading, Self::Slots, Self::Cables, Self::Findings];

    /// What it is called.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Runs => "Runs",
            Self::Loading => "Loading",
            Self::Slots => "Slots",
            Self::Cables => "Cables",
            Self::Findings => "Findings",
        }
    }

    fn number(self) -> usize {
        Self::ALL.iter().position(|view| *view == self).unwrap_or(0)
    }
}

/// Where the cursor stands in a view and what part of the view is on the screen.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub(super) struct Scroll {
    pub cursor: usize,
    pub top: usize,
}

/// Everything that is being looked at.
#[derive(Debug)]
pub struct App {
    pub(super) design: Design,
    pub(super) file: String,
    pub(super) view: View,
    pub(super) scrolls: [Scroll; View::ALL.len()],
    pub(super) listings: [Option<Listing>; View::ALL.len()],
    pub(super) help: Option<usize>,
    pub(super) prompt: Option<Prompt>,
    pub(super) message: Option<String>,
    pub(super) page: usize,
    folded: HashSet<Item>,
    found: String,
    came_from: Vec<(View, usize)>,
}

impl App {
    /// Looks at a design, read from the file of that name.
    pub fn new(design: Design, file: &str) -> Self {
        let mut app = Self {
            design,
            file: file.to_owned(),
            view: View::Runs,
            scrolls: [Scroll::default(); View::ALL.len()],
            listings: [const { None }; View::ALL.len()],
            help: None,
            prompt: None,
            message: None,
            page: 10,
            folded: HashSet::new(),
            found: String::new(),
            came_from: Vec::new(),
        };
        app.fold_all();
        app
    }

    /// Looks at the design of the file as it was read again, from where one stood.
    pub fn reloaded(&mut self, design: Design) {
        let at: Vec<Option<Subject>> = View::ALL
            .iter()
            .map(|view| {
                let listing = self.listings[view.number()].as_ref()?;
                listing.subject(&self.design, self.scrolls[view.number()].cursor)
            })
            .collect();
        let unfolded_all = self.folded.is_empty();
        self.design = design;
        self.listings = [const { None }; View::ALL.len()];
        self.folded.clear();
        self.came_from.clear();
        if !unfolded_all {
            self.fold_all();
        }
        for (view, subject) in View::ALL.iter().zip(at) {
            let line = subject.and_then(|subject| self.listing(*view).line_of(&self.design, &subject));
            self.scrolls[view.number()].cursor = line.unwrap_or(0);
        }
        self.message = Some("read again".into());
    }

    /// Says something in the message line.
    pub fn say(&mut self, message: impl Into<String>) {
        self.message = Some(message.into());
    }

    /// Makes the lines of a view if they are not there.
    pub(super) fn prepare(&mut self, view: View) {
        let slot = &mut self.listings[view.number()];
        if slot.is_none() {
            *slot = Some(Listing::new(&self.design, view, &self.folded));
        }
    }

    fn listing(&mut self, view: View) -> Listing {
        self.prepare(view);
        self.listings[view.number()].clone().unwrap_or_else(|| Listing::new(&self.design, view, &self.folded))
    }

    /// The lines of the current view and where the cursor stands in them.
    pub(super) fn current(&self) -> (Option<&Listing>, Scroll) {
        (self.listings[self.view.number()].as_ref(), self.scrolls[self.view.number()])
    }

    pub(super) fn scroll(&mut self) -> &mut Scroll {
        &mut self.scrolls[self.view.number()]
    }

    /// Takes a key.
    pub fn key(&mut self, key: Key) -> Effect {
        self.message = None;
        if self.prompt.is_some() {
            return self.prompt_key(key);
        }
        if self.help.is_some() && matches!(key.code, KeyCode::Esc) {
            self.help = None;
            return Effect::None;
        }
        keys::action(self.view, key).map_or(Effect::None, |action| self.act(action))
    }

    /// Takes pasted text: it is never keys.
    pub fn paste(&mut self, text: &str) {
        if let Some(prompt) = &mut self.prompt {
            prompt.add(text);
            self.find_typed();
        }
    }

    fn prompt_key(&mut self, key: Key) -> Effect {
        let Some(prompt) = &mut self.prompt else { return Effect::None };
        match key.code {
            KeyCode::Char('c') if key.ctrl => self.prompt = None,
            KeyCode::Char(c) if !key.ctrl && !key.alt => {
                prompt.add(c.encode_utf8(&mut [0; 4]));
                self.find_typed();
            }
            KeyCode::Backspace => {
                prompt.rub_out();
                self.find_typed();
            }
            KeyCode::Enter => {
                prompt.text().clone_into(&mut self.found);
                self.prompt = None;
            }
            KeyCode::Esc => self.prompt = None,
            _ => {}
        }
        Effect::None
    }

    /// Does what is asked, and says what the loop has to do.
    pub fn act(&mut self, action: Action) -> Effect {
        self.prepare(self.view);
        if self.help.is_some() && self.act_in_help(action) {
            return Effect::None;
        }
        match action {
            Action::Show(view) => self.show(view),
            Action::NextView => self.show(View::ALL[(self.view.number() + 1) % View::ALL.len()]),
            Action::PreviousView => {
                self.show(View::ALL[(self.view.number() + View::ALL.len() - 1) % View::ALL.len()]);
            }
            Action::Up => self.step(-1),
            Action::Down => self.step(1),
            Action::PageUp => self.step(-isize::try_from(self.page).unwrap_or(1)),
            Action::PageDown => self.step(isize::try_from(self.page).unwrap_or(1)),
            Action::First => self.step(isize::MIN),
            Action::Last => self.step(isize::MAX),
            Action::Fold => self.fold_or_leave(),
            Action::Unfold => self.set_folded(false),
            Action::Toggle => self.toggle(),
            Action::FoldAll => {
                self.keep_subject(Self::fold_all);
            }
            Action::UnfoldAll => self.keep_subject(|app| app.folded.clear()),
            Action::Follow => self.follow(),
            Action::Back => self.back(),
            Action::Find => self.prompt = Some(Prompt::default()),
            Action::FindNext => self.find(1),
            Action::FindPrevious => self.find(-1),
            Action::NextFinding => self.next_finding(),
            Action::Help => self.help = Some(0),
            Action::Reload => return Effect::Reload,
            Action::Repaint => return Effect::Repaint,
            Action::Suspend => return Effect::Suspend,
            Action::Quit => return Effect::Quit,
        }
        Effect::None
    }

    /// The help scrolls and closes; anything else leaves it first.
    fn act_in_help(&mut self, action: Action) -> bool {
        let top = self.help.unwrap_or(0);
        let last = keys::of_view(self.view).count().saturating_sub(1);
        let to = match action {
            Action::Up => top.saturating_sub(1),
            Action::Down => (top + 1).min(last),
            Action::PageUp => top.saturating_sub(self.page),
            Action::PageDown => (top + self.page).min(last),
            Action::First => 0,
            Action::Last => last,
            Action::Repaint | Action::Suspend | Action::Quit => return false,
            other => {
                self.help = None;
                return other == Action::Help;
            }
        };
        self.help = Some(to);
        true
    }

    fn show(&mut self, view: View) {
        self.view = view;
        self.prepare(view);
        let cursor = self.scroll().cursor;
        self.put(cursor, 1);
    }

    /// Puts the cursor on a line, or the next one that takes it in a direction.
    fn put(&mut self, line: usize, direction: isize) {
        let number = self.view.number();
        let Some(listing) = &self.listings[number] else { return };
        let last = listing.lines.len().saturating_sub(1);
        let line = line.min(last);
        let onward = if direction < 0 {
            (0..=line).rev().find(|&l| listing.selectable(l))
        } else {
            (line..=last).find(|&l| listing.selectable(l))
        };
        let either = onward
            .or_else(|| (line..=last).find(|&l| listing.selectable(l)))
            .or_else(|| (0..=line).rev().find(|&l| listing.selectable(l)));
        self.scrolls[number].cursor = either.unwrap_or(0);
    }

    fn step(&mut self, lines: isize) {
        let cursor = self.scroll().cursor;
        self.put(cursor.saturating_add_signed(lines), lines);
    }

    fn subject_here(&self) -> Option<Subject> {
        let (listing, scroll) = self.current();
        listing?.subject(&self.design, scroll.cursor)
    }

    /// The worst finding about the line the cursor is on.
    pub(super) fn finding_here(&self) -> Option<&Finding> {
        if self.view == View::Findings {
            return self.design.findings.get(self.current().1.cursor);
        }
        let subject = self.subject_here()?;
        let about =
            |subject: &Subject| self.design.findings.iter().find(|finding| finding.subject == *subject);
        about(&subject).or_else(|| {
            // A home run is shown on the line of its wall box.
            let boxes = &self.design.job.boxes;
            let wall_box = boxes.iter().find(|b| subject == Subject::new(Kind::WallBox, &b.id))?;
            wall_box.feeds.iter().find_map(|feed| about(&Subject::new(Kind::Cable, &feed.id)))
        })
    }

    /// How many findings there are of a severity.
    pub(super) fn count(&self, severity: Severity) -> usize {
        self.design.findings.iter().filter(|finding| finding.severity == severity).count()
    }

    fn entry_here(&self) -> Option<outline::Entry> {
        let (listing, scroll) = self.current();
        match listing?.lines.get(scroll.cursor)? {
            Line::Entry(entry, _) => Some(*entry),
            _ => None,
        }
    }

    fn fold_all(&mut self) {
        let entries = outline::entries(&self.design);
        self.folded = entries.into_iter().filter(|entry| entry.depth >= 2).map(|entry| entry.item).collect();
    }

    /// Changes what is folded and stays on the same thing, or on what it is part of.
    fn keep_subject(&mut self, change: impl FnOnce(&mut Self)) {
        let here = self.entry_here();
        change(self);
        self.listings[View::Runs.number()] = None;
        self.prepare(View::Runs);
        if let Some(here) = here {
            self.go_to_item(here.item);
        }
    }

    /// Puts the cursor on an item of the outline, or on the nearest one it is part of that is not folded away.
    fn go_to_item(&mut self, item: Item) {
        let mut ways = Vec::new();
        for entry in outline::entries(&self.design) {
            ways.truncate(usize::from(entry.depth));
            ways.push(entry.item);
            if entry.item == item {
                break;
            }
        }
        let Some(listing) = &self.listings[View::Runs.number()] else { return };
        let line = ways.iter().rev().find_map(|way| {
            listing.lines.iter().position(|line| matches!(line, Line::Entry(entry, _) if entry.item == *way))
        });
        self.scrolls[View::Runs.number()].cursor = line.unwrap_or(0);
    }

    fn set_folded(&mut self, folded: bool) {
        let Some(here) = self.entry_here() else { return };
        self.keep_subject(|app| {
            if folded {
                app.folded.insert(here.item);
            } else {
                app.folded.remove(&here.item);
            }
        });
    }

    fn toggle(&mut self) {
        let folded = self.entry_here().is_some_and(|here| self.folded.contains(&here.item));
        self.set_folded(!folded);
    }

    /// Folds a line; one that is folded or has nothing under it leads to what it is part of.
    fn fold_or_leave(&mut self) {
        let Some(here) = self.entry_here() else { return };
        let (listing, scroll) = self.current();
        let Some(listing) = listing else { return };
        let depth_of = |line: usize| match listing.lines.get(line) {
            Some(Line::Entry(entry, _)) => Some(entry.depth),
            _ => None,
        };
        let has_below = depth_of(scroll.cursor + 1).is_some_and(|depth| depth > here.depth);
        if has_below {
            self.set_folded(true);
            return;
        }
        let above =
            (0..scroll.cursor).rev().find(|&line| depth_of(line).is_some_and(|depth| depth < here.depth));
        if let Some(above) = above {
            self.scroll().cursor = above;
        }
    }

    /// Goes to the thing a line is about, in the view that shows it whole.
    fn follow(&mut self) {
        let Some(subject) = self.subject_here() else {
            self.say("this line is about nothing in particular");
            return;
        };
        let here = (self.view, self.scroll().cursor);
        if self.show_subject(&subject) {
            self.came_from.push(here);
        } else {
            self.say(format!("{subject} is shown in no other view"));
        }
    }

    fn show_subject(&mut self, subject: &Subject) -> bool {
        let view = match subject.kind {
            Kind::Output => View::Loading,
            Kind::Supply | Kind::Panel => View::Slots,
            Kind::Cable if self.view == View::Runs => View::Cables,
            _ => View::Runs,
        };
        if view == View::Runs {
            let Some(item) = self.item_of(subject).filter(|_| self.view != View::Runs) else { return false };
            self.folded.clear();
            self.listings[View::Runs.number()] = None;
            self.show(View::Runs);
            self.go_to_item(item);
            return true;
        }
        if self.view == view {
            return false;
        }
        let line = self.listing(view).line_of(&self.design, subject);
        line.is_some_and(|line| {
            self.show(view);
            self.put(line, 1);
            true
        })
    }

    /// The item of the outline that shows a thing: a home run or an onward feed at the box it goes to.
    fn item_of(&self, subject: &Subject) -> Option<Item> {
        let feeds = self.design.job.boxes.iter().position(|wall_box| {
            subject.kind == Kind::Cable && wall_box.feeds.iter().any(|feed| feed.id.as_str() == subject.id)
        });
        feeds.map(Item::WallBox).or_else(|| {
            let entries = outline::entries(&self.design);
            let found =
                entries.into_iter().find(|entry| outline::subject(&self.design, entry.item) == *subject);
            found.map(|entry| entry.item)
        })
    }

    fn back(&mut self) {
        match self.came_from.pop() {
            Some((view, cursor)) => {
                self.show(view);
                self.put(cursor, 1);
            }
            None => self.say("there is nowhere to go back to"),
        }
    }

    /// While typing: the nearest line from here that fits.
    fn find_typed(&mut self) {
        if let Some(prompt) = &self.prompt {
            let needle = prompt.text().to_owned();
            self.seek(&needle, 0, 1);
        }
    }

    fn find(&mut self, direction: isize) {
        if self.found.is_empty() {
            self.say("nothing to find yet: type / and part of a name");
            return;
        }
        let needle = self.found.clone();
        if !self.seek(&needle, 1, direction) {
            self.say(format!("nothing here is called '{needle}'"));
        }
    }

    fn seek(&mut self, needle: &str, skip: usize, direction: isize) -> bool {
        let needle = needle.to_lowercase();
        if needle.is_empty() {
            return false;
        }
        // What is folded away is to be found too.
        if self.view == View::Runs && !self.folded.is_empty() {
            self.keep_subject(|app| app.folded.clear());
        }
        let (listing, scroll) = self.current();
        let Some(listing) = listing else { return false };
        let count = listing.lines.len();
        let at = |step: usize| {
            let step = if direction < 0 { count - step % count.max(1) } else { step };
            (scroll.cursor + step) % count.max(1)
        };
        let found = (skip..count + skip)
            .map(at)
            .find(|&line| listing.selectable(line) && listing.words(&self.design, line).contains(&needle));
        if let Some(line) = found {
            self.scroll().cursor = line;
        }
        found.is_some()
    }

    /// The next line with a finding, folded away or not; from the last one on to the first.
    fn next_finding(&mut self) {
        let wrong: HashSet<&Subject> = self.design.findings.iter().map(|finding| &finding.subject).collect();
        if wrong.is_empty() {
            self.say("nothing is wrong");
            return;
        }
        let shows = |subject: &Subject| wrong.contains(subject);
        if self.view == View::Runs {
            let entries = outline::entries(&self.design);
            let here = self
                .entry_here()
                .and_then(|here| entries.iter().position(|entry| *entry == here))
                .unwrap_or(0);
            let next = (1..=entries.len()).map(|step| entries[(here + step) % entries.len()]);
            let next = next.into_iter().find(|entry| {
                shows(&outline::subject(&self.design, entry.item))
                    || matches!(entry.item, Item::WallBox(at) if self.design.job.boxes[at]
                        .feeds
                        .iter()
                        .any(|feed| shows(&Subject::new(Kind::Cable, &feed.id))))
            });
            match next {
                Some(entry) => {
                    self.keep_subject(|app| app.folded.clear());
                    self.go_to_item(entry.item);
                }
                None => self.say("what is wrong is not in the house: see the findings"),
            }
            return;
        }
        let (listing, scroll) = self.current();
        let Some(listing) = listing else { return };
        let count = listing.lines.len();
        let next = (1..=count).map(|step| (scroll.cursor + step) % count.max(1));
        let next =
            next.into_iter().find(|&line| listing.subject(&self.design, line).is_some_and(|s| shows(&s)));
        match next {
            Some(line) => self.scroll().cursor = line,
            None => self.say("nothing is wrong in this view"),
        }
    }
}
