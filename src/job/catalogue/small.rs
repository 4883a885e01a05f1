//! Small parts: what is bought by the count of other things, as connectors, straps and enclosures are.

use crate::job::Id;
use crate::units::{Length, Money, Quantity};
use serde::{Deserialize, Serialize};
use std::num::{NonZeroU8, NonZeroU32};

/// When a part is needed on site.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default, Serialize, Deserialize)]
pub enum Phase {
    /// While the framing is open.
    #[default]
    Rough,
    /// When the panel is made up.
    Panel,
    /// After paint.
    Trim,
}

impl Phase {
    /// Every phase, the first one first.
    pub const ALL: [Self; 3] = [Self::Rough, Self::Panel, Self::Trim];

    /// Whether it is the default, which the file leaves out.
    pub fn is_rough(&self) -> bool {
        *self == Self::Rough
    }

    /// The phase in a word that stays.
    pub const fn key(self) -> &'static str {
        match self {
            Self::Rough => "rough-in",
            Self::Panel => "panel",
            Self::Trim => "trim",
        }
    }
}

/// What a small part is counted by.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum Per {
    /// Conductors joined or capped in a box: one for each joint that it takes.
    Joint,
    /// Home runs and onward feeds.
    HomeRun,
    /// Loops.
    Loop,
    /// So much cable of any kind: see `every`.
    Cable,
    /// Wall boxes.
    WallBox,
    /// Ceiling boxes.
    CeilingBox,
    /// Controls.
    Control,
    /// Fixtures.
    Fixture,
    /// Supplies in panels.
    Supply,
    /// Panels.
    Panel,
    /// The job: once.
    Job,
}

/// A small part as bought.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct SmallPart {
    /// Its id.
    pub id: Id,
    /// What people call it.
    #[serde(default)]
    pub name: String,
    /// What it is counted by.
    pub per: Per,
    /// How many there are for each of those.
    #[serde(default = "one", skip_serializing_if = "Quantity::is_one")]
    pub count: Quantity,
    /// The most conductors of a joint that it takes; a joint gets the part with the fewest that will do.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub most_wires: Option<NonZeroU8>,
    /// The cable for which there is one, where it is counted by cable.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub every: Option<Length>,
    /// When it is needed.
    #[serde(default, skip_serializing_if = "Phase::is_rough")]
    pub phase: Phase,
    /// Pieces that are bought at once; its price is for all of them.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub pack: Option<NonZeroU32>,
    /// What one pack costs, or one piece where there are no packs.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub price: Option<Money>,
    /// Pieces bought for this job already.
    #[serde(default, skip_serializing_if = "crate::job::is_none_bought")]
    pub bought: u32,
}

const fn one() -> Quantity {
    Quantity::ONE
}
