//! The steps a cable or box goes through, each with the day and who did it.

use jiff::civil::Date;
use serde::{Deserialize, Serialize};
use std::fmt;

/// The most characters of somebody's initials or name.
const LONGEST_NAME: usize = 30;

/// That a step was done: the day and who did it, as `2026-03-09 MO`. Either may be left out.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Done {
    /// The day.
    pub on: Option<Date>,
    /// Who did it.
    pub by: String,
}

impl fmt::Display for Done {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match (self.on, self.by.as_str()) {
            (Some(on), "") => write!(f, "{on}"),
            (Some(on), by) => write!(f, "{on} {by}"),
            (None, by) => f.write_str(by),
        }
    }
}

impl std::str::FromStr for Done {
    type Err = String;
    fn from_str(text: &str) -> Result<Self, String> {
        let text = text.trim();
        let (first, rest) = text.split_once(' ').unwrap_or((text, ""));
        let (on, by) = if first.starts_with(|c: char| c.is_ascii_digit()) {
            let on = first
                .parse()
                .map_err(|_| format!("'{first}' is no day: write it like 2026-03-09, then initials"))?;
            (Some(on), rest.trim())
        } else {
            (None, text)
        };
        if on.is_none() && by.is_empty() {
            return Err("write the day and who did it, like 2026-03-09 MO".into());
        }
        if by.chars().count() > LONGEST_NAME {
            return Err(format!("'{by}' is longer than {LONGEST_NAME} characters: write initials"));
        }
        Ok(Self { on, by: by.to_owned() })
    }
}

/// How far a cable or a box is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Step {
    /// Nothing was done yet.
    ToPull,
    /// Pulled, or set with its cable in it.
    Pulled,
    /// Tested at rough-in.
    Tested,
    /// Board or plaster hides it.
    Boarded,
    /// Fixtures and controls are on.
    Trimmed,
    /// Tested again after trim.
    TestedAgain,
}

impl Step {
    /// All of them, in order.
    pub const ALL: [Self; 6] =
        [Self::ToPull, Self::Pulled, Self::Tested, Self::Boarded, Self::Trimmed, Self::TestedAgain];

    /// What it is called.
    pub const fn word(self) -> &'static str {
        match self {
            Self::ToPull => "to pull",
            Self::Pulled => "pulled",
            Self::Tested => "tested",
            Self::Boarded => "boarded",
            Self::Trimmed => "trimmed",
            Self::TestedAgain => "tested again",
        }
    }

    /// The field of [`Steps`] that holds it; none for what was not begun.
    pub const fn field(self) -> Option<&'static str> {
        match self {
            Self::ToPull => None,
            Self::Pulled => Some("pulled"),
            Self::Tested => Some("tested"),
            Self::Boarded => Some("boarded"),
            Self::Trimmed => Some("trimmed"),
            Self::TestedAgain => Some("tested_again"),
        }
    }

    /// The step after it.
    pub fn next(self) -> Option<Self> {
        Self::ALL.get(Self::ALL.iter().position(|step| *step == self)? + 1).copied()
    }
}

/// Which steps were done, each with the day and who did it.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct Steps {
    /// Pulled.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub pulled: Option<Done>,
    /// Tested at rough-in.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub tested: Option<Done>,
    /// Hidden by board.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub boarded: Option<Done>,
    /// Why it was boarded untested; whoever boarded it answers for that.
    #[serde(skip_serializing_if = "String::is_empty")]
    pub untested_because: String,
    /// Fixtures and controls are on.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub trimmed: Option<Done>,
    /// Tested again after trim.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub tested_again: Option<Done>,
}

impl Steps {
    /// Whether nothing was done, which the file leaves out.
    pub fn is_default(&self) -> bool {
        *self == Self::default()
    }

    /// When and by whom a step was done.
    pub const fn of(&self, step: Step) -> Option<&Done> {
        match step {
            Step::ToPull => None,
            Step::Pulled => self.pulled.as_ref(),
            Step::Tested => self.tested.as_ref(),
            Step::Boarded => self.boarded.as_ref(),
            Step::Trimmed => self.trimmed.as_ref(),
            Step::TestedAgain => self.tested_again.as_ref(),
        }
    }

    /// Puts a step down as done, or takes that back.
    pub fn set(&mut self, step: Step, done: Option<Done>) {
        match step {
            Step::ToPull => {}
            Step::Pulled => self.pulled = done,
            Step::Tested => self.tested = done,
            Step::Boarded => self.boarded = done,
            Step::Trimmed => self.trimmed = done,
            Step::TestedAgain => self.tested_again = done,
        }
    }

    /// The furthest step that was done.
    pub fn step(&self) -> Step {
        Step::ALL.into_iter().rev().find(|step| self.of(*step).is_some()).unwrap_or(Step::ToPull)
    }

    /// Whether it was tested at all, before board or after trim.
    pub const fn is_tested(&self) -> bool {
        self.tested.is_some() || self.tested_again.is_some()
    }

    /// Whether somebody answers for its being boarded untested: a name and a reason.
    pub fn is_signed_for(&self) -> bool {
        let name = self.boarded.as_ref().is_some_and(|done| !done.by.is_empty());
        name && !self.untested_because.trim().is_empty()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_step_is_a_day_and_initials() {
        for text in ["2026-03-09 MO", "2026-03-09", "MO", "Mara Osei"] {
            assert_eq!(text.parse::<Done>().map(|done| done.to_string()), Ok(text.to_owned()));
        }
        for bad in ["", "  ", "2026-13-09 MO", "9.3.2026"] {
            assert!(bad.parse::<Done>().is_err(), "{bad}");
        }
    }

    #[test]
    fn the_furthest_step_counts() {
        let mut steps = Steps::default();
        assert_eq!(steps.step(), Step::ToPull);
        steps.set(Step::Tested, "MO".parse().ok());
        assert_eq!(steps.step(), Step::Tested, "tested without a word of its being pulled");
        steps.set(Step::Tested, None);
        assert!(steps.is_default());
    }
}
