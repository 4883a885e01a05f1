//! What the person with the drill must know of a room, and the sheets that labels are printed on.

use crate::units::{Length, LengthUnit};
use serde::{Deserialize, Serialize};
use std::num::NonZeroU8;

/// What a ceiling is framed with.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum CeilingKind {
    /// Flat trusses: cable goes through their open webs, and nothing is bored.
    FlatTruss,
    /// Deep joists: cable goes through holes bored in them, or along them.
    DeepJoist,
}

impl CeilingKind {
    /// The kind in words.
    pub const fn words(self) -> &'static str {
        match self {
            Self::FlatTruss => "flat trusses",
            Self::DeepJoist => "deep joists",
        }
    }
}

/// How boxes are set before the board goes up: of a room, or of every room that does not say. What is left out is not
/// known, and stands on paper as a blank to fill in.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct RoughIn {
    /// What the ceiling is framed with.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub ceiling_kind: Option<CeilingKind>,
    /// Thickness of the ceiling's board, all layers.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub ceiling_board: Option<Length>,
    /// Thickness of the walls' board, all layers.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub wall_board: Option<Length>,
    /// How far the edge of a ceiling box stands below the framing. Left out, it is flush with the board.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub box_below: Option<Length>,
}

impl RoughIn {
    /// Whether nothing is said, so that the file leaves it out.
    pub fn is_default(&self) -> bool {
        *self == Self::default()
    }

    /// What holds for a room: what it says, else what the job says.
    #[must_use]
    pub fn over(self, job: Self) -> Self {
        Self {
            ceiling_kind: self.ceiling_kind.or(job.ceiling_kind),
            ceiling_board: self.ceiling_board.or(job.ceiling_board),
            wall_board: self.wall_board.or(job.wall_board),
            box_below: self.box_below.or(job.box_below),
        }
    }

    /// How far a ceiling box stands below the framing: as said, else as thick as the board, with which it is then
    /// flush.
    pub fn below(&self) -> Option<Length> {
        self.box_below.or(self.ceiling_board)
    }
}

/// A sheet of labels as it is bought: so many across and down, with their size and the margins.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct LabelGrid {
    /// Labels across.
    pub columns: NonZeroU8,
    /// Labels down.
    pub rows: NonZeroU8,
    /// Width of a label.
    pub width: Length,
    /// Height of a label.
    pub height: Length,
    /// From the left edge of the paper to the first label.
    pub left: Length,
    /// From the top edge of the paper to the first label.
    pub top: Length,
    /// Between two labels side by side.
    pub gap_across: Length,
    /// Between two labels one below the other.
    pub gap_down: Length,
}

impl Default for LabelGrid {
    /// Labels of 1 by 1/2 in, 7 across and 20 down on Letter paper. Common practice, no source: every maker cuts its own.
    fn default() -> Self {
        let sixteenths = |n: i64| Length::from_ticks(n * 254_000 / 16, LengthUnit::Feet);
        let count = |n| NonZeroU8::new(n).unwrap_or(NonZeroU8::MIN);
        Self {
            columns: count(7),
            rows: count(20),
            width: sixteenths(16),
            height: sixteenths(8),
            left: sixteenths(12),
            top: sixteenths(8),
            gap_across: Length::ZERO,
            gap_down: Length::ZERO,
        }
    }
}

impl LabelGrid {
    /// Whether it is the default, which the file leaves out.
    pub fn is_default(&self) -> bool {
        *self == Self::default()
    }
}
