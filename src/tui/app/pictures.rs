//! What the keys do in the riser and on the plan.

use super::super::action::Action;
use super::{App, View};
use crate::job::Subject;
use crate::schedule::{figures, names, open};
use std::collections::HashSet;

impl App {
    /// Does what is asked if a picture is shown and it is about that; false if it is not.
    pub(super) fn act_in_picture(&mut self, action: Action) -> bool {
        if !self.view.is_picture() {
            return false;
        }
        let said = match action {
            Action::Up
            | Action::Down
            | Action::Left
            | Action::Right
            | Action::PageUp
            | Action::PageDown
            | Action::First
            | Action::Last
            | Action::Larger
            | Action::Smaller
            | Action::Whole
            | Action::NextHere => self.pictures.act(&self.design, self.view, action),
            Action::NextFinding => self.next_finding_in_picture(),
            Action::Filter | Action::Sort => Some("a picture has no lines to pick or sort".into()),
            Action::Mark => Some("mark things in the lists; a picture has no marks".into()),
            _ => return false,
        };
        if let Some(said) = said {
            self.say(said);
        }
        true
    }

    /// Shows the thing under the cursor in a picture.
    pub(super) fn locate(&mut self, view: View) {
        let Some(subject) = self.subject_here() else {
            self.say("this line is about nothing in particular");
            return;
        };
        let here = (self.view, self.scroll().cursor);
        self.prepare(view);
        if self.pictures.go_to(&self.design, view, &subject) {
            self.came_from.push(here);
            self.show(view);
        } else {
            let why = if view == View::Plan { "has no place on the plan" } else { "is not on the riser" };
            self.say(format!("{subject} {why}"));
        }
    }

    /// What is known of the thing under the cursor of a picture.
    pub(in crate::tui) fn figures_here(&self) -> Option<String> {
        if !self.view.is_picture() {
            return Some(open::of(&self.design, &self.subject_here()?)?.to_string());
        }
        Some(figures::of(&self.design, self.pictures.here.as_ref()?)?.to_string())
    }

    fn next_finding_in_picture(&mut self) -> Option<String> {
        let wrong: HashSet<&Subject> = self.design.findings.iter().map(|finding| &finding.subject).collect();
        if wrong.is_empty() {
            return Some("nothing is wrong".into());
        }
        let found = self.pictures.seek(&self.design, self.view, (1, true), |subject| wrong.contains(subject));
        (!found).then(|| "what is wrong is not in this picture: see the findings".into())
    }

    /// Puts the cursor on the next thing whose id or name holds a word.
    pub(super) fn seek_in_picture(&mut self, needle: &str, skip: usize, direction: isize) -> bool {
        let design = &self.design;
        self.pictures.seek(design, self.view, (skip, direction >= 0), |subject| {
            names::words_of(design, subject).to_lowercase().contains(needle)
        })
    }
}
