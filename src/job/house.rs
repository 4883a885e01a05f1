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
