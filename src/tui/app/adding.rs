//! Forms as they are filled in and taken, and what is added where.

use super::super::form::{Form, Outcome, Taken};
use super::super::menu::{Choice, Menu};
use super::taking::first_made;
use super::{App, View};
use crate::job::edit::Edit;
use crate::job::{Kind, Subject};
use crate::plan::next;
use crate::terminal::{Key, KeyCode};
use serde_json::Value;

impl App {
    pub(super) fn form_key(&mut self, key: Key) {
        let Some(form) = &mut self.form else { return };
        match form.key(&self.design, key) {
            Outcome::Stay => {}
            Outcome::Dropped => self.form = None,
            Outcome::Take(taken) => self.take(taken),
        }
    }

    /// Takes a form: what was changed goes to everything that is marked, too.
    fn take(&mut self, Taken { edit, label, more }: Taken) {
        let Some(edit) = edit else { return self.next_form(None) };
        let asks = self.form.as_ref().and_then(Form::asks);
        let made = match (&edit, asks) {
            (Edit::Insert { kind, value, .. }, _) => {
                value.get("id").and_then(|id| id.as_str()).map(|id| Subject::new(*kind, id))
            }
            (_, Some(tool)) => {
                tool.moved().cloned().or_else(|| tool.makes().and_then(|kind| first_made(&edit, kind)))
            }
            _ => None,
        };
        let is_change = self.form.as_ref().is_some_and(|form| form.changed().is_some());
        let (edit, label) = if is_change { self.for_all_marked(edit, label) } else { (edit, label) };
        match self.commit(label.clone(), edit) {
            Ok(()) => {
                if let Some(made) = made {
                    self.show_made(&made);
                }
                self.say(format!("{label}; u undoes it"));
                if more {
                    self.next_form(Some(label));
                } else {
                    self.form = None;
                }
            }
            Err(reason) => {
                if let Some(form) = &mut self.form {
                    form.refuse(reason);
                }
            }
        }
    }

    /// The form that follows on one that was taken with the wish for more: another new thing after the one made, or
    /// the same field of the next thing of that kind.
    fn next_form(&mut self, label: Option<String>) {
        let Some(form) = self.form.take() else { return };
        if let Some((kind, parent, at)) = form.makes() {
            let thing = next::another(&self.design, kind, parent.as_ref(), form.draft());
            let mut form = Form::make(&self.design, kind, parent, at.saturating_add(1), thing);
            form.before = label;
            self.form = Some(form);
            return;
        }
        let Some(subject) = form.changed() else { return };
        let Some(line) = self.next_like(subject, self.current().1.cursor) else {
            let last = format!("that was the last {} here", subject.kind.word());
            self.say(label.map_or_else(|| last.clone(), |label| format!("{label}; u undoes it; {last}")));
            return;
        };
        self.put(line, 1);
        let next = self.subject_here().and_then(|next| Form::change(&self.design, &next));
        if let Some(mut next) = next {
            let path = form.lines.get(form.at).map(|line| line.field.path);
            let at = next.lines.iter().position(|line| Some(line.field.path) == path);
            next.go(at.unwrap_or(0));
            next.before = label;
            self.form = Some(next);
        }
    }

    /// The next line below one that is about a thing with the same fields.
    pub(super) fn next_like(&self, subject: &Subject, line: usize) -> Option<usize> {
        let listing = self.current().0?;
        let fields = |subject: &Subject| {
            let id = crate::job::Id::new(&subject.id).ok();
            let spot = id.and_then(|id| self.design.index.spot(subject.kind, &id));
            crate::job::fields::of(subject.kind, spot).as_ptr()
        };
        let same = |at: &usize| {
            let other = listing.subject(&self.design, *at);
            other.is_some_and(|other| other.kind == subject.kind && fields(&other) == fields(subject))
        };
        (line + 1..listing.lines.len()).find(same)
    }

    fn menu_here(&self) -> Menu {
        Menu::new(&self.design, self.view, self.subject_here().as_ref())
    }

    /// Adds what was added last at such a line, or else what is most natural there; asks where that is anything.
    pub(super) fn add(&mut self) {
        if !self.writable() {
            return;
        }
        let menu = self.menu_here();
        let here = self.subject_here().map(|subject| subject.kind);
        let last = self.chosen.iter().rev().find(|(at, _)| *at == (self.view, here)).map(|(_, key)| *key);
        let last = menu.choices.iter().find(|choice| Some(choice.key) == last);
        // Among the parts only a line of a part says which kind is meant.
        let open = self.view == View::Parts && !menu.choices.iter().any(|choice| Some(choice.kind) == here);
        match last.or_else(|| menu.choices.first()) {
            Some(_) if last.is_none() && open => self.menu = Some(menu),
            Some(choice) => self.begin(&choice.clone()),
            None => {}
        }
    }

    pub(super) fn add_menu(&mut self) {
        if self.writable() {
            self.menu = Some(self.menu_here());
        }
    }

    pub(super) fn menu_key(&mut self, menu: &Menu, key: Key) {
        let chosen = menu.choices.iter().find(|choice| key.code == KeyCode::Char(choice.key) && !key.ctrl);
        if let Some(choice) = chosen {
            let here = self.subject_here().map(|subject| subject.kind);
            self.chosen.retain(|(at, _)| *at != (self.view, here));
            self.chosen.push(((self.view, here), choice.key));
            self.begin(choice);
        }
    }

    fn begin(&mut self, choice: &Choice) {
        let (kind, parent) = (choice.kind, choice.parent.clone());
        let last = self.last_made(kind, parent.as_ref().map(|parent| parent.kind));
        let thing = next::proposed(&self.design, kind, parent.as_ref(), last.as_ref());
        self.form = Some(Form::make(&self.design, kind, parent, choice.at, thing));
    }

    /// What was made last of a kind in this session.
    fn last_made(&self, kind: Kind, within: Option<Kind>) -> Option<Value> {
        self.history.done().rev().find_map(|step| match step.edit {
            Edit::Insert { kind: made, parent, value, .. }
                if made == kind && parent.as_ref().map(|parent| parent.kind) == within =>
            {
                Some(value)
            }
            _ => None,
        })
    }
}
