//! What the job is, and the version of the file's format.

use crate::units::LengthUnit;
use serde::{Deserialize, Serialize};
use std::fmt;

/// A version of the job file's format. A file of a newer one is refused, never guessed at.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
pub struct Format(pub u32, pub u32);

impl Format {
    /// The format this program writes. Files of (1, 0) and later read for ever.
    pub const CURRENT: Self = Self(1, 0);
}

impl fmt::Display for Format {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "({}, {})", self.0, self.1)
    }
}

/// How far the house is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
pub enum Stage {
    /// On paper.
    #[default]
    Planning,
    /// Cables are pulled: every length ought to be measured.
    RoughIn,
    /// Fixtures and controls are set.
    Trim,
}

impl Stage {
    /// Whether it is the default, which the file leaves out.
    pub fn is_planning(&self) -> bool {
        *self == Self::Planning
    }
}

/// The heading of every sheet.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Project {
    /// The job's title.
    pub title: String,
    /// Where the house stands, in one line.
    #[serde(default)]
    pub address: String,
    /// The revision of the plan.
    #[serde(default)]
    pub revision: String,
    /// Who made it.
    #[serde(default)]
    pub by: String,
    /// The unit in which lengths are shown.
    #[serde(default)]
    pub units: LengthUnit,
    /// How far the house is.
    #[serde(default, skip_serializing_if = "Stage::is_planning")]
    pub stage: Stage,
    /// Free notes; comments in the file do not outlive a save, these do.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub notes: Vec<String>,
}
