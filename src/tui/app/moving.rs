//! Moving about: views, lines, folding, finding, following.

use super::super::listing::Line;
use super::{App, View};
use crate::checks::Finding;
use crate::job::{Id, Kind, Spot, Subject};
use crate::schedule::outline::{self, Item};
use std::collections::HashSet;

impl App {
    pub(super) fn show(&mut self, view: View) {
        self.view = view;
        self.prepare(view);
        let cursor = self.scroll().cursor;
        self.put(cursor, 1);
    }

    /// Puts the cursor on a line, or the next one that takes it in a direction.
    pub(super) fn put(&mut self, line: usize, direction: isize) {
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

    pub(super) fn step(&mut self, lines: isize) {
        let cursor = self.scroll().cursor;
        self.put(cursor.saturating_add_signed(lines), lines);
    }

    /// The worst finding about the line the cursor is on.
    pub(in crate::tui) fn finding_here(&self) -> Option<&Finding> {
        if self.view == View::Findings {
            let (listing, scroll) = self.current();
            return self.design.findings.get(listing?.origin(scroll.cursor)?);
        }
        let subject = self.subject_here()?;
        let (findings, job) = (&self.design.findings, &self.design.job);
        let about = |subject: &Subject| self.design.about.first(findings, subject);
        about(&subject).or_else(|| {
            // A home run is shown on the line of its wall box.
            let spot = self.design.index.spot(subject.kind, &Id::new(&subject.id).ok()?);
            let Some(Spot::WallBox(at)) = spot else { return None };
            let wall_box = job.boxes.get(at)?;
            wall_box.feeds.iter().find_map(|feed| about(&Subject::new(Kind::Cable, &feed.id)))
        })
    }

    pub(super) fn fold_all(&mut self) {
        let entries = outline::entries(&self.design);
        self.folded = entries.into_iter().filter(|entry| entry.depth >= 2).map(|entry| entry.item).collect();
    }

    /// Changes what is folded and stays on the same thing, or on what it is part of.
    pub(super) fn keep_subject(&mut self, change: impl FnOnce(&mut Self)) {
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

    pub(super) fn set_folded(&mut self, folded: bool) {
        let Some(here) = self.entry_here() else { return };
        self.keep_subject(|app| {
            if folded {
                app.folded.insert(here.item);
            } else {
                app.folded.remove(&here.item);
            }
        });
    }

    pub(super) fn toggle(&mut self) {
        let folded = self.entry_here().is_some_and(|here| self.folded.contains(&here.item));
        self.set_folded(!folded);
    }

    /// Folds a line; one that is folded or has nothing under it leads to what it is part of.
    pub(super) fn fold_or_leave(&mut self) {
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
    pub(super) fn follow(&mut self) {
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

    pub(super) fn show_subject(&mut self, subject: &Subject) -> bool {
        // The view that shows it whole comes first; from there on to what else there is to see of it.
        let views: &[View] = match subject.kind {
            Kind::Output => &[View::Loading, View::Slots],
            Kind::Supply => &[View::Slots, View::Loading],
            Kind::Cable => &[View::Runs, View::Cables, View::Parts],
            Kind::Level | Kind::Room | Kind::WallBox | Kind::Control | Kind::Fixture => &[View::Runs],
            _ => &[View::Parts],
        };
        let here = self.view;
        views.iter().any(|view| *view != here && self.show_in(*view, subject))
    }

    /// Shows a thing in a view, if it is there; an output is shown by its supply where there is no line of its own.
    fn show_in(&mut self, view: View, subject: &Subject) -> bool {
        if view == View::Runs {
            let item = self.item_of(subject).or_else(|| {
                // A home run is on the line of its wall box.
                let fed = |b: &&crate::job::wiring::WallBox| {
                    b.feeds.iter().any(|f| *subject == Subject::new(Kind::Cable, &f.id))
                };
                let wall_box = self.design.job.boxes.iter().find(fed)?;
                self.item_of(&Subject::new(Kind::WallBox, &wall_box.id))
            });
            let Some(item) = item else { return false };
            self.show(View::Runs);
            self.unfold_to(item);
            return true;
        }
        self.prepare(view);
        let Some(listing) = self.listings[view.number()].as_ref() else { return false };
        // A supply goes for its first output, and an output for its supply.
        let of_one = |line: &usize| {
            let pair = [Some(subject.clone()), listing.subject(&self.design, *line)];
            let [Some(one), Some(other)] = pair else { return false };
            let supply = |subject: &Subject| subject.id.split('.').next().unwrap_or_default().to_owned();
            matches!((one.kind, other.kind), (Kind::Output, Kind::Supply) | (Kind::Supply, Kind::Output))
                && supply(&one) == supply(&other)
        };
        let line = listing
            .line_of(&self.design, subject)
            .or_else(|| (0..listing.lines.len()).find(|line| of_one(line)));
        line.is_some_and(|line| {
            self.show(view);
            self.put(line, 1);
            true
        })
    }

    /// The item of the outline that shows a thing.
    pub(super) fn item_of(&self, subject: &Subject) -> Option<Item> {
        let entries = outline::entries(&self.design);
        let found = entries.into_iter().find(|entry| outline::subject(&self.design, entry.item) == *subject);
        found.map(|entry| entry.item)
    }

    /// Unfolds what an item is in, and puts the cursor on it.
    pub(super) fn unfold_to(&mut self, item: Item) {
        let mut way: Vec<Item> = Vec::new();
        for entry in outline::entries(&self.design) {
            way.truncate(usize::from(entry.depth));
            if entry.item == item {
                break;
            }
            way.push(entry.item);
        }
        for part in way {
            self.folded.remove(&part);
        }
        self.listings[View::Runs.number()] = None;
        self.prepare(View::Runs);
        self.go_to_item(item);
    }

    pub(super) fn back(&mut self) {
        match self.came_from.pop() {
            Some((view, cursor)) => {
                self.show(view);
                self.put(cursor, 1);
            }
            None => self.say("there is nowhere to go back to"),
        }
    }

    /// The next line with a finding, folded away or not; from the last one on to the first.
    pub(super) fn next_finding(&mut self) {
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
            let next = next.into_iter().find(|entry| shows(&outline::subject(&self.design, entry.item)));
            match next {
                Some(entry) => {
                    self.unfold_to(entry.item);
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
