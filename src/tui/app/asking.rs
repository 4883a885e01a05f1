//! What the program is asked about a job: how its figures came about.

use super::super::question::Question;
use super::App;
use crate::design::Design;
use crate::explain::Workings;
use crate::job::Job;
use crate::plan::tags;
use crate::schedule::revision;
use crate::sheets::text;
use crate::terminal::{Key, KeyCode};

/// The columns in which changes are told: what an answer has room for on a screen of 80.
const COMPARED: usize = 76;

impl App {
    /// Shows how the figures of the line under the cursor came about, step by step down to the inputs.
    pub(super) fn explain(&mut self) {
        let Some(subject) = self.subject_here() else {
            self.say("this line is about nothing in particular");
            return;
        };
        let about = Workings::new(&self.design).about(&subject);
        let mut lines = self.all_to_do();
        if about.trim().is_empty() && lines.is_empty() {
            self.say(format!("{subject} has no figures of its own here"));
            return;
        }
        lines.extend(about.lines().map(str::to_owned));
        self.ask_from_top(Question {
            text: format!("How the figures of {subject} came about"),
            lines,
            answers: Vec::new(),
            may_wait: true,
        });
    }

    /// Shows what is other than in another state of the job.
    pub fn compare_with(&mut self, what: &str, job: &Job) {
        let tables = revision::tables(&Design::derive(job.clone()), &self.design);
        let lines = text::plain(&tables, self.design.job.project.units, COMPARED);
        self.ask_from_top(Question {
            text: format!("What is other than in {what}"),
            lines,
            answers: Vec::new(),
            may_wait: true,
        });
    }

    /// Gives every cable and ceiling box its tag for good.
    pub(super) fn store_tags(&mut self) {
        let count = tags::Tags::of(&self.design.job).unstored().0;
        match tags::store(&self.design.job) {
            None => self.say("every tag is stored already"),
            Some(edit) => match self.commit(format!("store {count} tags"), edit) {
                Ok(()) => self.say(format!("{count} tags are stored; s saves them")),
                Err(why) => self.say(why),
            },
        }
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
