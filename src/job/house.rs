//! The house: levels, rooms, and places in them.

use super::Id;
use crate::units::{Area, Length};
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
    /// Where its walls stand on the plan, if somebody measured that.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub outline: Option<Outline>,
}

/// The rectangle a room takes on the plan of the house, from the corner that all places are measured from: written
/// `outline: (x: "0'0", y: "8'0", width: "18'0", depth: "16'0")`. A room of another shape takes the largest part of it.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Outline {
    /// Its near corner, across the plan.
    pub x: Length,
    /// The same corner, up the plan.
    pub y: Length,
    /// From there across the plan.
    pub width: Length,
    /// From there up the plan.
    pub depth: Length,
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
