//! A question that has to be answered before anything else.

use super::action::Effect;
use crate::terminal::{Key, KeyCode};

/// An answer.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Answer {
    /// The key that gives it.
    pub key: char,
    /// What it does, in words.
    pub word: &'static str,
    /// What the loop has to do then.
    pub effect: Effect,
}

impl Answer {
    const fn new(key: char, word: &'static str, effect: Effect) -> Self {
        Self { key, word, effect }
    }
}

/// A question with its answers; Esc leaves it only where that loses nothing.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Question {
    /// What is asked.
    pub text: String,
    /// What it is about, line by line.
    pub lines: Vec<String>,
    /// The answers.
    pub answers: Vec<Answer>,
    /// Whether it may be left unanswered.
    pub may_wait: bool,
}

impl Question {
    /// About what an earlier session did and did not save; `when` is the time of its last step, where that is known.
    pub fn about_recovered(labels: impl Iterator<Item = String>, when: Option<&str>) -> Self {
        let when = when.map(|when| format!(", the last at {when}")).unwrap_or_default();
        Self {
            text: format!("An earlier session did this and did not save it{when}:"),
            lines: labels.collect(),
            answers: vec![
                Answer::new('r', "restore it", Effect::Restore),
                Answer::new('x', "let it go", Effect::DropRecovered),
                Answer::new('q', "leave and decide later", Effect::Quit),
            ],
            may_wait: false,
        }
    }

    /// About a file that is no longer what was read, so that it was not saved.
    pub fn about_changed(why: &str) -> Self {
        Self {
            text: format!("Not saved: {why}"),
            lines: Vec::new(),
            answers: vec![
                Answer::new('w', "save beside it", Effect::SaveBeside),
                Answer::new('r', "reload, losing what was done here", Effect::Reload),
                Answer::new('o', "save over it", Effect::SaveOver),
            ],
            may_wait: true,
        }
    }

    /// What follows from a key; nothing while it is no answer. A question that may wait is left with no effect.
    pub(super) fn answer(&self, key: Key) -> Option<Effect> {
        let given = self.answers.iter().find(|answer| key == Key::new(KeyCode::Char(answer.key)));
        match given {
            Some(answer) => Some(answer.effect.clone()),
            None if self.may_wait && key.code == KeyCode::Esc => Some(Effect::None),
            None => None,
        }
    }

    /// The answers in one line.
    pub(super) fn line(&self) -> String {
        let words: Vec<String> = self.answers.iter().map(|a| format!("{}:{}", a.key, a.word)).collect();
        let wait = self.may_wait.then(|| "Esc:leave it".to_owned());
        words.into_iter().chain(wait).collect::<Vec<_>>().join("  ")
    }
}
