//! The house: levels, rooms, and places in them.

use super::{Id, RoughIn};
use crate::units::{Area, Illuminance, Length};
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
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Default, Serialize, Deserialize)]
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
    /// Its size across the plan.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub width: Option<Length>,
    /// Its size up the plan.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub depth: Option<Length>,
    /// Its corner nearest to where places are measured from.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub corner: Option<Corner>,
    /// Height of its ceiling above its floor.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub ceiling: Option<Length>,
    /// How its boxes are set before the board goes up.
    #[serde(default, skip_serializing_if = "RoughIn::is_default")]
    pub rough: RoughIn,
    /// The clear height between its ceiling and what is above it: the depth of its joists, less what is in them.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub above: Option<Length>,
    /// How wet it gets.
    #[serde(default, skip_serializing_if = "Exposure::is_dry")]
    pub exposure: Exposure,
    /// Tunable white must stay possible in it.
    #[serde(default, skip_serializing_if = "crate::job::is_false")]
    pub keep_tunable: bool,
    /// The light that is wished for in it, where that is not the job's wish.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub illuminance: Option<Illuminance>,
}

/// The rectangle a room takes on the plan of the house. A room of another shape takes the largest part of it.
#[derive(Debug, Clone, Copy, PartialEq)]
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

impl Room {
    /// Where its walls stand on the plan, if corner, width and depth are known.
    pub fn outline(&self) -> Option<Outline> {
        let corner = self.corner?;
        Some(Outline { x: corner.x, y: corner.y, width: self.width?, depth: self.depth? })
    }

    /// Its floor area in square metres: as given, or width by depth.
    pub fn square_metres(&self) -> Option<f64> {
        let sides = || Some(self.width?.metres() * self.depth?.metres());
        self.area.map(Area::si).or_else(sides).filter(|area| *area > 0.0)
    }
}

/// The corner of a room on the plan of the house.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Corner {
    /// Across the plan.
    pub x: Length,
    /// Up the plan.
    pub y: Length,
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
