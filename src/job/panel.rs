//! Panels and the supplies in them.

use super::{Id, house::Place};
use crate::units::{Amps, Volts, Watts};
use serde::{Deserialize, Serialize};
use std::num::NonZeroU16;

/// The AC circuit that feeds a panel.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct AcFeed {
    /// Its volts.
    pub volts: Volts,
    /// The rating of its breaker.
    pub breaker_amps: Amps,
}

/// A low-voltage panel.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Panel {
    /// Its id.
    pub id: Id,
    /// What people call it.
    #[serde(default)]
    pub name: String,
    /// The room it hangs in.
    pub room: Id,
    /// Where it hangs.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub place: Option<Place>,
    /// How many slots it has.
    pub slots: NonZeroU16,
    /// Slots to keep free when supplies are placed.
    #[serde(default, skip_serializing_if = "is_zero")]
    pub spare_slots: u16,
    /// What feeds it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub feed: Option<AcFeed>,
    /// The heat that its enclosure can shed, from its maker.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub heat_allowance_watts: Option<Watts>,
    /// The supplies it holds.
    #[serde(default)]
    pub supplies: Vec<Supply>,
}

/// A supply of a panel.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Supply {
    /// Its id; its outputs are `ID.1`, `ID.2` and so on.
    pub id: Id,
    /// What people call it.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub name: String,
    /// Its entry in the catalogue.
    pub part: Id,
    /// Its first slot, from 1; none while it is not placed.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub slot: Option<NonZeroU16>,
    /// Whether it stays in its slot when supplies are placed.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub pinned: bool,
}

#[expect(clippy::trivially_copy_pass_by_ref, reason = "serde passes what it skips by reference")]
const fn is_zero(n: &u16) -> bool {
    *n == 0
}
