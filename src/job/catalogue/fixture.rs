//! Fixtures: what hangs in a ceiling box and what it draws.

use crate::job::Id;
use crate::job::house::Exposure;
use crate::units::{Amps, Length, Lumens, Mass, Money, SpacingRatio, Volts, Watts};
use serde::{Deserialize, Serialize};

/// The volts a fixture works at.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct VoltRange {
    /// It needs at least these.
    pub least: Volts,
    /// It bears at most these.
    pub most: Volts,
}

/// How a fixture draws current.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub enum Load {
    /// It regulates itself and takes the same watts at any volts it works at.
    Power {
        /// Watts it takes, at the worst mix of its colours.
        watts: Watts,
        /// Volts it works at.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        volts: Option<VoltRange>,
    },
    /// It takes the same amps at any volts it works at.
    Current {
        /// Amps it takes.
        amps: Amps,
        /// Volts it works at.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        volts: Option<VoltRange>,
    },
    /// It is a plain resistance, known by its watts at its rated volts.
    Resistance {
        /// Watts at the rated volts.
        watts: Watts,
        /// The rated volts.
        at_volts: Volts,
    },
    /// It is one of a series string on a current drive.
    String {
        /// Its highest volts at the drive's current.
        volts: Volts,
        /// The highest volts of its second channel, if it is tunable.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        second_volts: Option<Volts>,
        /// The current it is made for.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        rated_amps: Option<Amps>,
    },
}

/// Whether the colour temperature of a fixture can be changed, and by what.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
pub enum FixtureColour {
    /// It is what it is.
    #[default]
    Fixed,
    /// A switch on the fixture sets it when it is hung; electrically it is fixed.
    SetWhenHung,
    /// Its control changes it.
    Tunable,
}

impl FixtureColour {
    /// Whether it is the default, which the file leaves out.
    pub fn is_fixed(&self) -> bool {
        *self == Self::Fixed
    }
}

/// A fixture as bought.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct FixtureType {
    /// Its id.
    pub id: Id,
    /// What people call it.
    #[serde(default)]
    pub name: String,
    /// What it draws.
    pub load: Load,
    /// Fixed, set when hung, or tunable.
    #[serde(default, skip_serializing_if = "FixtureColour::is_fixed")]
    pub colour: FixtureColour,
    /// Light it gives.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub lumens: Option<Lumens>,
    /// The greatest spacing over mounting height above the work plane for even light.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub spacing_ratio: Option<SpacingRatio>,
    /// What it weighs.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub weight: Option<Mass>,
    /// How deep it goes above the ceiling.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub depth: Option<Length>,
    /// The wettest place it is listed for.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub exposure: Option<Exposure>,
    /// What it costs.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub price: Option<Money>,
}
