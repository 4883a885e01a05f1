//! A form is taken: what it comes to, or what is wrong with the whole of it.

use super::offers::missing;
use super::{Form, Outcome, Purpose, Said, Taken};
use crate::design::Design;
use crate::job::Subject;
use crate::job::edit::Edit;
use crate::job::fields;
use serde_json::Value;

impl Form {
    /// What is wrong with the whole of it.
    pub(super) fn flaw(&mut self, design: &Design) -> Option<String> {
        let Purpose::Do(tool) = &self.purpose else {
            return fields::fits(self.kind, self.parent, &self.draft).err();
        };
        if self.said.as_ref().is_none_or(|said| said.draft != self.draft) {
            let made = tool.edit(design, &self.draft);
            let notes = tool.notes(design, &self.draft, &made);
            self.said = Some(Said { draft: self.draft.clone(), flaw: made.err(), notes });
        }
        self.said.as_ref().and_then(|said| said.flaw.clone())
    }

    pub(super) fn take(&mut self, design: &Design, more: bool) -> Outcome {
        self.complete(design);
        let wrong = (0..self.lines.len()).find(|&at| {
            self.lines[at].reason.is_some() || missing(design, self.kind, &self.lines[at]).is_some()
        });
        if let Some(wrong) = wrong {
            self.go(wrong);
            self.check(design);
            return Outcome::Stay;
        }
        if let Some(reason) = self.flaw(design) {
            self.refuse(reason);
            return Outcome::Stay;
        }
        let taken = |edit, label| Outcome::Take(Taken { edit, label, more });
        match &self.purpose {
            Purpose::Make { kind, parent, at } => {
                let id = self.draft.get("id").and_then(Value::as_str).unwrap_or_default();
                let label = format!("make {} {id}", self.word());
                let (kind, parent, at, value) = (*kind, parent.clone(), *at, self.draft.clone());
                taken(Some(Edit::Insert { kind, parent, at, value }), label)
            }
            Purpose::Change(subject) => match self.changes(subject) {
                edits if edits.is_empty() && more => taken(None, String::new()),
                edits if edits.is_empty() => Outcome::Dropped,
                edits => taken(Some(together(edits)), format!("change {subject}")),
            },
            Purpose::Do(tool) => match tool.edit(design, &self.draft) {
                Ok((edit, label)) => taken(Some(edit), label),
                // It was looked at just before.
                Err(reason) => {
                    self.refuse(reason);
                    Outcome::Stay
                }
            },
        }
    }

    /// An edit for each field of the file that is not as it was.
    fn changes(&self, subject: &Subject) -> Vec<Edit> {
        let mut names: Vec<&str> =
            self.lines.iter().filter_map(|line| line.field.path.first().copied()).collect();
        names.dedup();
        names
            .into_iter()
            .filter(|name| self.draft.get(name) != self.original.get(name))
            .map(|name| Edit::Set {
                subject: subject.clone(),
                field: name.to_owned(),
                value: self.draft.get(name).cloned().unwrap_or(Value::Null),
            })
            .collect()
    }

    /// The field that a reason begins with.
    pub(super) fn named(&self, reason: &str) -> Option<usize> {
        let (label, _) = reason.split_once(':')?;
        self.lines.iter().position(|line| line.field.label == label)
    }

    /// Says beside the field why the form could not be taken: the one that the reason begins with, or the present one.
    pub(in crate::tui) fn refuse(&mut self, reason: String) {
        if let Some(at) = self.named(&reason) {
            self.go(at);
        }
        if let Some(line) = self.lines.get_mut(self.at) {
            line.reason = Some(reason);
        }
    }
}

/// One edit for several.
pub(in crate::tui) fn together(mut edits: Vec<Edit>) -> Edit {
    if edits.len() == 1 { edits.remove(0) } else { Edit::Together(edits) }
}
