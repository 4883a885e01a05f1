//! Changing the job: one change under a name, undo and redo, marks, and what is shown afterwards. Every change goes through the history, which has
//! it kept before it counts.

use super::super::action::Effect;
use super::super::form::{Form, together};
use super::super::ledger::NotKept;
use super::super::listing::Order;
use super::{App, View};
use crate::design::Design;
use crate::job::edit::Edit;
use crate::job::history::History;
use crate::job::{Id, Job, Spot, Subject};

/// What the cursor of each view stands on, and how deep that stands.
type Places = [Option<(Subject, u8)>; View::ALL.len()];

impl App {
    /// Makes one change under a name and shows what follows from it.
    ///
    /// # Errors
    /// Why it was refused; nothing is changed then.
    pub fn commit(&mut self, label: impl Into<String>, edit: Edit) -> Result<(), String> {
        if let Some(reason) = &self.read_only {
            return Err(format!("this job can only be read: {reason}"));
        }
        let places = self.places();
        let ledger = &mut self.ledger;
        self.history
            .perform(&mut self.design.editable(), label, edit, |entry| ledger.keep(entry))
            .map_err(|refused| refused.to_string())?;
        let last = self.history.done().next_back();
        if let Some(edit) = last.map(|step| step.edit) {
            self.changed(&edit, &places);
        }
        Ok(())
    }

    /// What the cursor of each view stands on; asked before a change, since lines are positions in the job.
    fn places(&self) -> Places {
        View::ALL.map(|view| {
            let listing = self.listings[view.number()].as_ref()?;
            let cursor = self.scrolls[view.number()].cursor;
            Some((listing.subject(&self.design, cursor)?, listing.depth(cursor)))
        })
    }

    /// Derives anew what an edit reached and keeps the cursor of the view on what it stood on before.
    fn changed(&mut self, edit: &Edit, places: &Places) {
        let stand = self.design.refresh(edit);
        self.tries.forget();
        let scroll = &self.scrolls[View::Runs.number()];
        // The lines of the house are positions; their rows are made as they are drawn.
        let plain = scroll.filter.is_empty() && scroll.order.is_none();
        let kept = self.listings[View::Runs.number()].take().filter(|_| stand && plain);
        let same = kept.is_some() && self.view == View::Runs;
        self.listings = [const { None }; View::ALL.len()];
        self.listings[View::Runs.number()] = kept;
        if !same {
            self.show_anew(places);
        }
    }

    /// Makes the lines of the views anew, with the cursor on what it stood on before.
    fn show_anew(&mut self, places: &Places) {
        self.marks
            .retain(|mark| crate::job::fields::thing(&self.design.job, &self.design.index, mark).is_some());
        self.prepare(self.view);
        let here = places[self.view.number()].as_ref();
        let (listing, scroll) = self.current();
        let (Some(listing), Some((subject, depth))) = (listing, here) else {
            let cursor = scroll.cursor;
            return self.put(cursor, 1);
        };
        let line = listing.line_near(&self.design, subject, scroll.cursor).unwrap_or_else(|| {
            // It is gone: the next of its kind, or else what stands before it, but never the next room by mistake.
            let next = scroll.cursor.min(listing.lines.len().saturating_sub(1));
            if listing.depth(next) < *depth { next.saturating_sub(1) } else { next }
        });
        self.put(line, 1);
    }

    /// Looks at another job from where one stood: the file was read again, or work was restored with its history.
    pub fn replaced(&mut self, job: Job, history: History) {
        let places = self.places();
        self.design = Design::derive(job);
        self.tries.forget();
        self.history = history;
        self.came_from.clear();
        self.form = None;
        self.desk = None;
        self.fold_all();
        self.listings = [const { None }; View::ALL.len()];
        self.show_anew(&places);
    }

    /// The file holds the job as it is now.
    pub fn saved(&mut self) {
        self.history.saved();
        self.listings[View::Done.number()] = None;
        self.say(format!("saved {}", self.file));
    }

    /// The file holds the job as it is now, under another name.
    pub fn saved_as(&mut self, file: &str) {
        file.clone_into(&mut self.file);
        self.saved();
    }

    pub(super) fn undo(&mut self) {
        let places = self.places();
        let ledger = &mut self.ledger;
        let taken = self.history.undo(&mut self.design.editable(), |entry| ledger.keep(entry));
        let said = match taken {
            Ok(Some(label)) => format!("undone: {label}"),
            Ok(None) => return self.say("there is nothing to undo"),
            Err(refused) => return self.say(refused.to_string()),
        };
        let last = self.history.undone().next_back();
        if let Some(inverse) = last.map(|step| step.inverse) {
            self.turned(&inverse, &places, said);
        }
    }

    pub(super) fn redo(&mut self) {
        let places = self.places();
        let ledger = &mut self.ledger;
        let taken = self.history.redo(&mut self.design.editable(), |entry| ledger.keep(entry));
        let said = match taken {
            Ok(Some(label)) => format!("done again: {label}"),
            Ok(None) => return self.say("there is nothing to do again"),
            Err(refused) => return self.say(refused.to_string()),
        };
        let last = self.history.done().next_back();
        if let Some(edit) = last.map(|step| step.edit) {
            self.turned(&edit, &places, said);
        }
    }

    /// Shows what an undo or redo did: the cursor goes to what it brought back or changed, where this view has it.
    fn turned(&mut self, edit: &Edit, places: &Places, said: String) {
        self.changed(edit, places);
        let there = |subject: &Subject| {
            crate::job::fields::thing(&self.design.job, &self.design.index, subject).is_some()
        };
        if let Some(subject) = edit.subjects().into_iter().find(there) {
            self.show_made(&subject);
        }
        self.say(said);
    }

    /// Whether something may be changed at all; says why not.
    pub(super) fn writable(&mut self) -> bool {
        let reason = self.read_only.clone();
        if let Some(reason) = &reason {
            self.say(format!("this job can only be read: {reason}"));
        }
        reason.is_none()
    }

    /// Opens the form of the thing under the cursor, the cursor in the field of that name if one is meant.
    pub(super) fn change(&mut self, field: Option<&str>) {
        if !self.writable() {
            return;
        }
        let form = self.subject_here().and_then(|subject| Form::change(&self.design, &subject));
        match form {
            Some(mut form) => {
                let line = form.lines.iter().position(|line| Some(line.field.path[0]) == field);
                form.go(line.unwrap_or(form.at));
                self.form = Some(form);
            }
            None => self.say("there is nothing to change on this line"),
        }
    }

    /// Opens the form of a home run where its output is typed.
    pub(super) fn move_run(&mut self) {
        let feed = self.subject_here().filter(|subject| {
            let spot = Id::new(&subject.id).ok().and_then(|id| self.design.index.spot(subject.kind, &id));
            matches!(spot, Some(Spot::Feed { .. }))
        });
        if feed.is_some() {
            self.change(Some("from"));
        } else {
            self.say("this line is no home run");
        }
    }

    /// Spreads the changes of one thing over all marked things of its kind.
    pub(super) fn for_all_marked(&self, edit: Edit, label: String) -> (Edit, String) {
        let edits = match edit {
            Edit::Together(edits) => edits,
            edit => vec![edit],
        };
        let Some(Edit::Set { subject: first, .. }) = edits.first() else { return (together(edits), label) };
        let first = first.clone();
        let others: Vec<&Subject> =
            self.marks.iter().filter(|mark| mark.kind == first.kind && **mark != first).collect();
        if others.is_empty() || !self.marks.contains(&first) {
            return (together(edits), label);
        }
        let label = format!("{label} and {} marked", others.len());
        let mut all = edits.clone();
        for other in others {
            all.extend(edits.iter().filter_map(|edit| match edit {
                Edit::Set { field, value, .. } => {
                    Some(Edit::Set { subject: other.clone(), field: field.clone(), value: value.clone() })
                }
                _ => None,
            }));
        }
        (together(all), label)
    }

    /// Puts the cursor on what was just made, unfolding what it is in.
    pub(super) fn show_made(&mut self, made: &Subject) {
        if self.view == View::Runs
            && let Some(item) = self.item_of(made)
        {
            self.unfold_to(item);
            return;
        }
        let (listing, _) = self.current();
        if let Some(line) = listing.and_then(|listing| listing.line_of(&self.design, made)) {
            self.put(line, 1);
        }
    }

    pub(super) fn mark(&mut self) {
        let Some(subject) = self.subject_here() else { return };
        match self.marks.iter().position(|mark| *mark == subject) {
            Some(at) => {
                self.marks.remove(at);
            }
            None => self.marks.push(subject),
        }
        self.step(1);
        self.say(format!("{} marked: e changes them all, x deletes them, Esc unmarks", self.marks.len()));
    }

    pub(super) fn copy(&mut self) -> Effect {
        let (listing, scroll) = self.current();
        let line = listing.map(|listing| listing.row_text(&self.design, scroll.cursor)).unwrap_or_default();
        Effect::Copy(line)
    }

    /// Sorts by the next column, then the same backwards, then not at all. In the house what stands side by side is
    /// sorted.
    pub(super) fn sort(&mut self) {
        let (listing, scroll) = self.current();
        let Some(listing) = listing else { return };
        let named = |column: &usize| !listing.columns[*column].heading.trim().is_empty();
        let from = |first: usize| (first..listing.columns.len()).find(named);
        let next = match scroll.order {
            None => from(0).map(|column| Order { column, backwards: false }),
            Some(Order { column, backwards: false }) => Some(Order { column, backwards: true }),
            Some(Order { column, .. }) => from(column + 1).map(|column| Order { column, backwards: false }),
        };
        let said = next.map_or_else(
            || "in the order of the job".to_owned(),
            |order| {
                let words = listing.columns[order.column].heading.replace('\n', " ");
                format!("sorted by {}{}", words, if order.backwards { ", backwards" } else { "" })
            },
        );
        self.scroll().order = next;
        self.relist();
        self.say(said);
    }
}

impl From<NotKept> for String {
    fn from(not_kept: NotKept) -> Self {
        not_kept.to_string()
    }
}
