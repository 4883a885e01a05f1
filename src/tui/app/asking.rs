//! What the program is asked about a job: how its figures came about.

use super::super::question::Question;
use super::App;
use crate::explain::Workings;
use crate::terminal::{Key, KeyCode};

impl App {
    /// Shows how the figures of the line under the cursor came about, step by step down to the inputs.
    pub(super) fn explain(&mut self) {
        let Some(subject) = self.subject_here() else {
            self.say("this line is about nothing in particular");
            return;
        };
        let about = Workings::new(&self.design).about(&subject);
        if about.trim().is_empty() {
            self.say(format!("{subject} has no figures of its own here"));
            return;
        }
        self.ask_from_top(Question {
            text: format!("How the figures of {subject} came about"),
            lines: about.lines().map(str::to_owned).collect(),
            answers: Vec::new(),
            may_wait: true,
        });
    }

    pub(super) fn ask_from_top(&mut self, question: Question) {
        self.ask(question);
        self.question_top = Some(0);
    }

    /// Scrolls what a question is about; whether the key was one for that.
    pub(super) fn scroll_question(&mut self, key: Key) -> bool {
        let Some(top) = self.question_top else { return false };
        let page = self.page.max(1);
        let to = match key.code {
            KeyCode::Up => top.saturating_sub(1),
            KeyCode::Down => top.saturating_add(1),
            KeyCode::PageUp => top.saturating_sub(page),
            KeyCode::PageDown | KeyCode::Char(' ') => top.saturating_add(page),
            KeyCode::Home => 0,
            KeyCode::End => usize::MAX,
            _ => return false,
        };
        self.question_top = Some(to);
        true
    }
}
