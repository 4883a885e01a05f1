//! A step as it is remembered: in as few bytes as its line in a log, since an evening's work is thousands of them.

use super::Step;
use crate::job::edit::Edit;

/// A step that takes as much as its text.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Packed {
    /// Name, edit and inverse, as the log writes edits.
    Text(Box<str>),
    /// A step that would not read back from its text to the same.
    Whole(Box<Step>),
}

impl Packed {
    pub(super) fn new(step: Step) -> Self {
        let text = serde_json::to_string(&(&step.label, &step.edit, &step.inverse));
        match text.ok().filter(|text| read(text).is_some_and(|same| same == step)) {
            Some(text) => Self::Text(text.into_boxed_str()),
            None => Self::Whole(Box::new(step)),
        }
    }

    /// The step. What was packed is known to read back.
    pub(super) fn step(&self) -> Step {
        match self {
            Self::Text(text) => read(text).unwrap_or_else(|| Step {
                label: String::new(),
                edit: Edit::Together(Vec::new()),
                inverse: Edit::Together(Vec::new()),
            }),
            Self::Whole(step) => (**step).clone(),
        }
    }

    /// Bytes it takes.
    #[cfg(test)]
    pub(super) fn bytes(&self) -> usize {
        let held = match self {
            Self::Text(text) => text.len(),
            Self::Whole(_) => size_of::<Step>(),
        };
        size_of::<Self>() + held
    }
}

fn read(text: &str) -> Option<Step> {
    let (label, edit, inverse) = serde_json::from_str(text).ok()?;
    Some(Step { label, edit, inverse })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::job::{Kind, Subject};

    #[test]
    fn a_step_takes_less_than_two_hundred_bytes_and_reads_back() {
        let measure = |length: &str| Edit::Set {
            subject: Subject::new(Kind::Cable, "LP1000-9"),
            field: "measured".into(),
            value: length.into(),
        };
        let step =
            Step { label: "measure LP1000-9".into(), edit: measure("31'0 1/2"), inverse: measure("32'0") };
        let packed = Packed::new(step.clone());
        assert!(packed.bytes() < 200, "{} bytes", packed.bytes());
        assert_eq!(packed.step(), step);
    }
}
