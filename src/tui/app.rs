//! What is being looked at and changed, and how a key changes that.

mod accepting;
mod adding;
mod asking;
mod balancing;
mod editing;
mod finding;
mod helping;
mod moving;
mod outputs;
mod pictures;
mod prompts;
mod site;
mod taking;
mod tools;
mod view;

pub(super) use balancing::{Desk, Searching};
pub(super) use prompts::{Asked, Prompt};
pub use view::View;

use super::action::{Action, Effect};
use super::form::Form;
use super::keys;
use super::ledger::Ledger;
use super::listing::{Line, Listing, Order};
use super::menu::Menu;
use super::picture::Pictures;
use super::question::{Answer, Question};
use super::trying::Tries;
use crate::checks::Severity;
use crate::design::Design;
use crate::job::history::History;
use crate::job::{Kind, Subject};
use crate::schedule::canvas::LineSet;
use crate::schedule::outline::{self, Item};
use crate::terminal::{Key, KeyCode};
use std::collections::HashSet;

/// Where the cursor stands in a view, what part of the view is on the screen, and how its lines are picked.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub(super) struct Scroll {
    pub cursor: usize,
    pub top: usize,
    pub filter: String,
    pub order: Option<Order>,
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
    pub(super) form: Option<Form>,
    pub(super) menu: Option<Menu>,
    /// The balance that is being looked at.
    pub(super) desk: Option<Box<Desk>>,
    pub(super) question: Option<Question>,
    /// The first line shown of what a question is about, where that scrolls; else its end is shown.
    pub(super) question_top: Option<usize>,
    pub(super) message: Option<String>,
    pub(super) page: usize,
    pub(super) marks: Vec<Subject>,
    pub(super) history: History,
    pub(super) read_only: Option<String>,
    pub(super) pictures: Pictures,
    tries: Tries,
    clerk: site::Clerk,
    ledger: Box<dyn Ledger>,
    folded: HashSet<Item>,
    found: String,
    came_from: Vec<(View, usize)>,
    pending: Vec<taking::Pending>,
    /// What was chosen to be added at lines of a kind, the last choice last.
    chosen: Vec<((View, Option<Kind>), char)>,
    leaving: bool,
}

impl App {
    /// Looks at a design, read from the file of that name; each change is kept in the ledger before it counts.
    pub fn new(design: Design, file: &str, ledger: Box<dyn Ledger>) -> Self {
        let mut app = Self {
            design,
            file: file.to_owned(),
            view: View::Runs,
            scrolls: std::array::from_fn(|_| Scroll::default()),
            listings: [const { None }; View::ALL.len()],
            help: None,
            prompt: None,
            form: None,
            menu: None,
            desk: None,
            question: None,
            question_top: None,
            message: None,
            page: 10,
            marks: Vec::new(),
            history: History::new(),
            read_only: None,
            pictures: Pictures::default(),
            tries: Tries::default(),
            clerk: site::Clerk::default(),
            ledger,
            folded: HashSet::new(),
            found: String::new(),
            came_from: Vec::new(),
            pending: Vec::new(),
            chosen: Vec::new(),
            leaving: false,
        };
        app.fold_all();
        app
    }

    /// Nothing can be changed, for the reason given.
    pub fn set_read_only(&mut self, reason: impl Into<String>) {
        self.read_only = Some(reason.into());
    }

    /// Draws the lines of pictures with these characters.
    pub fn set_lines(&mut self, set: LineSet) {
        self.pictures.set = set;
    }

    /// Asks a question before anything else.
    pub fn ask(&mut self, question: Question) {
        self.question_top = None;
        self.question = Some(question);
    }

    /// Whether the job differs from what its file holds.
    pub fn changed_since_save(&self) -> bool {
        self.history.changed()
    }

    /// What is being looked at.
    pub const fn design(&self) -> &Design {
        &self.design
    }

    /// Says something in the message line.
    pub fn say(&mut self, message: impl Into<String>) {
        self.message = Some(message.into());
    }

    /// Makes the lines of a view if they are not there.
    pub(super) fn prepare(&mut self, view: View) {
        let number = view.number();
        if self.listings[number].is_none() {
            if view.is_picture() {
                self.pictures.forget();
            }
            let scroll = &self.scrolls[number];
            let pick = (scroll.filter.as_str(), scroll.order);
            let listing = {
                let taking = self.clerk.taking();
                Listing::new(&self.design, view, &self.folded, &self.history, pick, taking)
            };
            self.listings[number] = Some(listing);
        }
    }

    /// The lines of the current view and where the cursor stands in them.
    pub(super) fn current(&self) -> (Option<&Listing>, &Scroll) {
        (self.listings[self.view.number()].as_ref(), &self.scrolls[self.view.number()])
    }

    pub(super) fn scroll(&mut self) -> &mut Scroll {
        &mut self.scrolls[self.view.number()]
    }

    /// Takes a key.
    pub fn key(&mut self, key: Key) -> Effect {
        self.message = None;
        if let Some(question) = &self.question {
            let answered = question.answer(key);
            if answered.is_none() && self.scroll_question(key) {
                return Effect::None;
            }
            return match answered {
                None if key == Key::ctrl('c') => Effect::Quit,
                None => Effect::None,
                Some(effect) => {
                    self.question = None;
                    if let Effect::Take(number) = effect {
                        self.take_pending(number);
                        return Effect::None;
                    }
                    self.pending.clear();
                    effect
                }
            };
        }
        if self.form.is_some() {
            self.form_key(key);
            return Effect::None;
        }
        if self.prompt.is_some() {
            return self.prompt_key(key);
        }
        if self.desk.is_some() {
            return self.desk_key(key);
        }
        if let Some(menu) = self.menu.take() {
            self.menu_key(&menu, key);
            return Effect::None;
        }
        if matches!(key.code, KeyCode::Esc) {
            self.escape();
            return Effect::None;
        }
        keys::action(self.view, key).map_or(Effect::None, |action| self.act(action))
    }

    /// Takes pasted text: it is never keys.
    pub fn paste(&mut self, text: &str) {
        self.message = None;
        if self.question.is_some() {
            self.paste_block(text);
        } else if self.desk.is_some() {
            self.say("pasted text is no answer; nothing was changed");
        } else if let Some(form) = &mut self.form {
            form.paste(&self.design, text);
        } else if let Some(prompt) = &mut self.prompt {
            prompt.input.add(text);
            self.prompt_changed();
        } else {
            self.prepare(self.view);
            self.paste_block(text);
        }
    }

    /// Leaves the help, the filter, the marks or the order, whichever is there first.
    fn escape(&mut self) {
        if self.help.take().is_some() {
            return;
        }
        if !self.scroll().filter.is_empty() {
            self.scroll().filter.clear();
            self.relist();
        } else if !self.marks.is_empty() {
            self.marks.clear();
        } else if self.scroll().order.take().is_some() {
            self.relist();
            self.say("in the order of the job");
        }
    }

    /// Makes the lines of the current view anew and stays on the same thing.
    pub(super) fn relist(&mut self) {
        let here = self.subject_here();
        self.listings[self.view.number()] = None;
        self.prepare(self.view);
        let (listing, scroll) = self.current();
        let line = here.and_then(|subject| listing?.line_of(&self.design, &subject)).unwrap_or(scroll.cursor);
        self.put(line, 1);
    }

    /// Does what is asked, and says what the loop has to do.
    pub fn act(&mut self, action: Action) -> Effect {
        self.prepare(self.view);
        if self.help.is_some() && self.act_in_help(action) {
            return Effect::None;
        }
        let leaving = std::mem::take(&mut self.leaving);
        if self.act_in_picture(action) {
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
            Action::FoldAll => self.keep_subject(Self::fold_all),
            Action::UnfoldAll => self.keep_subject(|app| app.folded.clear()),
            Action::Follow if self.view == View::Site => self.type_site(),
            Action::Follow => self.follow(),
            Action::AsExpected => self.as_expected(),
            Action::Clerk => self.ask_clerk(),
            Action::Options => self.show_options(),
            Action::Back => self.back(),
            Action::Explain => self.explain(),
            Action::Balance => return self.balance(),
            Action::Arrange => self.arrange(),
            Action::WhatIf => self.ask_what_if(),
            Action::OutputBefore => self.move_to_next_output(false),
            Action::OutputAfter => self.move_to_next_output(true),
            Action::Pin => self.pin(),
            Action::Find => self.ask_find(),
            Action::Filter => self.ask_filter(),
            Action::Sort => self.sort(),
            Action::FindNext => self.find(1),
            Action::FindPrevious => self.find(-1),
            Action::NextFinding => self.next_finding(),
            Action::Locate(view) => self.locate(view),
            // These are keys of pictures alone.
            Action::Left
            | Action::Right
            | Action::Larger
            | Action::Smaller
            | Action::Whole
            | Action::NextHere => {}
            Action::Help => self.help = Some(0),
            Action::Change => self.change(None),
            Action::MoveRun => self.move_run(),
            Action::Add => self.add(),
            Action::AddMenu => self.add_menu(),
            Action::Delete => self.delete(),
            Action::Repeat => self.repeat(),
            Action::MoveThing => self.move_thing(),
            Action::ShiftUp => self.shift(false),
            Action::ShiftDown => self.shift(true),
            Action::Propose => self.propose(),
            Action::Accept => self.accept_finding(),
            Action::FillDown => self.fill_down(),
            Action::TakeOver => self.ask_file(Asked::OtherJob),
            Action::Compare => return Effect::Compare,
            Action::StoreTags => self.store_tags(),
            Action::ReadTable => self.ask_file(Asked::TableIn),
            Action::WriteTable => self.ask_file(Asked::TableOut),
            Action::Mark => self.mark(),
            Action::Undo => self.undo(),
            Action::Redo => self.redo(),
            Action::Copy => return self.copy(),
            Action::Save => return Effect::Save,
            Action::Reload if self.history.changed() => self.ask(Question {
                text: "Reading the file again loses what was done here and not saved:".into(),
                lines: self.history.done().map(|step| step.label).collect(),
                answers: vec![Answer { key: 'r', word: "read it again", effect: Effect::Reload }],
                may_wait: true,
            }),
            Action::Reload => return Effect::Reload,
            Action::Repaint => return Effect::Repaint,
            Action::Suspend => return Effect::Suspend,
            Action::Quit if self.history.changed() && !leaving && self.read_only.is_none() => {
                self.leaving = true;
                self.say(
                    "there are unsaved changes: s saves them; q again leaves and keeps them for next time",
                );
            }
            Action::Quit => return Effect::Quit,
        }
        Effect::None
    }

    /// The help scrolls and closes; anything else leaves it first.
    fn act_in_help(&mut self, action: Action) -> bool {
        let top = self.help.unwrap_or(0);
        let last = (keys::of_view(self.view).count() + keys::KEYLESS.len()).saturating_sub(1);
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

    /// How many findings there are of a severity.
    pub(super) fn count(&self, severity: Severity) -> usize {
        self.design.about.count(severity)
    }

    /// How many findings somebody accepted.
    pub(super) const fn accepted(&self) -> usize {
        self.design.about.accepted()
    }

    /// The thing the line under the cursor is about.
    pub(super) fn subject_here(&self) -> Option<Subject> {
        if self.view.is_picture() {
            return self.pictures.here.clone();
        }
        let (listing, scroll) = self.current();
        listing?.subject(&self.design, scroll.cursor)
    }

    fn entry_here(&self) -> Option<outline::Entry> {
        let (listing, scroll) = self.current();
        match listing?.lines.get(scroll.cursor)? {
            Line::Entry(entry, _) => Some(*entry),
            _ => None,
        }
    }
}
