//! The house: levels, rooms, and places in them.

use super::Id;
use crate::units::{Area, Illuminance, Length, Share};
use serde::{Deserialize, Serialize};

/// A level of the house.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Level {
    /// Its id.
    pub id: Id,
    /// What people call it.
    #[serde(default)]
    pub name: String,
    /// Height of its floor above the lowest floor of the house.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub elevation: Option<Length>,
    /// Its rooms.
    #[serde(default)]
    pub rooms: Vec<Room>,
}

/// How wet a place gets.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
pub enum Exposure {
    /// Dry.
    #[default]
    Dry,
    /// Damp, but water does not run on it.
    Damp,
    /// Wet: people may touch things with wet hands.
    Wet,
}

impl Exposure {
    /// Whether it is the default, which the file leaves out.
    pub fn is_dry(&self) -> bool {
        *self == Self::Dry
    }
}

/// A room.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Room {
    /// Its id.
    pub id: Id,
    /// What people call it.
    #[serde(default)]
    pub name: String,
    /// Its floor area.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub area: Option<Area>,
    /// Height of its ceiling above its floor.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub ceiling: Option<Length>,
    /// How wet it gets.
    #[serde(default, skip_serializing_if = "Exposure::is_dry")]
    pub exposure: Exposure,
    /// The light level it is to have on the work plane.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub light_level: Option<Illuminance>,
    /// The share of its lights' lumens that reaches the work plane, if not that of the job's settings.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub utilization_percent: Option<Share>,
    /// Tunable white must stay possible in it.
    #[serde(default, skip_serializing_if = "crate::job::is_false")]
    pub keep_tunable: bool,
}

/// A place on the plan of the house. All levels share one corner, from which `x` and `y` are measured; `height` is
/// above the floor of the level. A ceiling box leaves `height` out: it hangs at its room's ceiling.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Place {
    /// Across the plan.
    pub x: Length,
    /// Up the plan.
    pub y: Length,
    /// Above the floor.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub height: Option<Length>,
}
