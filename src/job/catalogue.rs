//! The parts a job may use. Every part is an entry of the job: nothing about any maker's part is built in.

mod cable;
mod control;
mod fixture;
mod small;
mod supply;

pub use cable::{CableType, Conductor, ConductorPlan, Function, Listing, Metal, Reel, Stranding};
pub use control::{Channels, Colour, ControlType, Drive, LinkKind};
pub use fixture::{FixtureColour, FixtureType, Load, VoltRange};
pub use small::{Per, Phase, SmallPart};
pub use supply::{OutputKind, SupplyType};

use super::Id;
use super::house::Exposure;
use super::site::Meter;
use crate::units::{Length, Mass, Money, Volume};
use rust_decimal::Decimal;
use serde::{Deserialize, Serialize};
use std::num::NonZeroU32;

/// The catalogue of one job.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct Catalogue {
    /// What each conductor of a cable does.
    pub plans: Vec<ConductorPlan>,
    /// Cable types.
    pub cables: Vec<CableType>,
    /// Fixture types.
    pub fixtures: Vec<FixtureType>,
    /// Supply types.
    pub supplies: Vec<SupplyType>,
    /// Control types.
    pub controls: Vec<ControlType>,
    /// Box types.
    pub boxes: Vec<BoxType>,
    /// Small parts.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub small_parts: Vec<SmallPart>,
    /// Meters.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub meters: Vec<Meter>,
}

/// A wall or ceiling box as bought.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct BoxType {
    /// Its id.
    pub id: Id,
    /// What people call it.
    #[serde(default)]
    pub name: String,
    /// How many controls it takes side by side; none for a ceiling box.
    #[serde(default)]
    pub gangs: u8,
    /// Its marked volume.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub volume: Option<Volume>,
    /// It has clamps inside for its cables.
    #[serde(default, skip_serializing_if = "crate::job::is_false")]
    pub internal_clamps: bool,
    /// Kinds of fixture stud and hickey in it.
    #[serde(default, skip_serializing_if = "crate::job::is_zero")]
    pub stud_kinds: u8,
    /// The volume on the Class 2 side, if a fixed barrier parts it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub class_2_volume: Option<Volume>,
    /// The most that may hang from it, as it is marked, with its brace.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub bears: Option<Mass>,
    /// Its depth, which a fixture that goes into it has above the ceiling.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub depth: Option<Length>,
    /// The wettest place it is listed for.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub exposure: Option<Exposure>,
    /// Its price.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub price: Option<Money>,
    /// Pieces that are bought at once; its price is for all of them.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub pack: Option<NonZeroU32>,
    /// Pieces bought for this job already.
    #[serde(default, skip_serializing_if = "crate::job::is_none_bought")]
    pub bought: u32,
}

/// What one piece costs, in the job's money: the price of a pack over the pieces in it, or the price where it is sold by
/// the piece. None where the price is not known.
pub fn each(price: Option<Money>, pack: Option<NonZeroU32>) -> Option<Decimal> {
    price?.amount().checked_div(Decimal::from(pack.map_or(1, NonZeroU32::get)))
}
