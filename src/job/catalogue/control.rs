//! Controls: what sits in a wall box and drives its loops.

use crate::job::Id;
use crate::units::{Amps, Money, Share, Volts, WattsOrNone};
use serde::{Deserialize, Serialize};
use std::num::{NonZeroU8, NonZeroU32};

/// How a control drives a loop.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub enum Drive {
    /// At full level it passes the home run's volts on to fixtures in parallel.
    Voltage,
    /// It regulates the current of a series string.
    Current {
        /// The regulated current of each string.
        amps: Amps,
        /// String watts over watts taken from the home run.
        efficiency_percent: Share,
        /// Most volts it can put on a string, whatever comes in.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        most_volts: Option<Volts>,
        /// A step-down control gives the volts at the wall box less these.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        headroom_volts: Option<Volts>,
    },
}

/// Whether the two channels of a tunable light may be full at once.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum Channels {
    /// They share the drive's current: never more than one full channel in all.
    Share,
    /// Both may be full.
    BothFull,
}

/// How a control makes colour.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
pub enum Colour {
    /// It does not.
    #[default]
    None,
    /// Two series strings, one round each conductor of a returned loop.
    TwoStrings {
        /// How the strings share the current; unstated, the load of tunable lights is unknown.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        channels: Option<Channels>,
    },
    /// Polarity or data on one parallel pair.
    OnPair,
}

impl Colour {
    /// Whether it is the default, which the file leaves out.
    pub fn is_none(&self) -> bool {
        *self == Self::None
    }
}

/// Whether the link to a remote point is separated from the circuit that feeds the control.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum LinkKind {
    /// Separated: it joins no circuits.
    Isolated,
    /// Part of the circuit: a link between two outputs would interconnect them.
    Joined,
}

/// A control as bought.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ControlType {
    /// Its id.
    pub id: Id,
    /// What people call it.
    #[serde(default)]
    pub name: String,
    /// How it drives its loops.
    pub drive: Drive,
    /// Watts it takes for itself from the home run.
    pub own_watts: WattsOrNone,
    /// Most lights of fixed colour temperature it takes.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub most_fixed_lights: Option<u16>,
    /// Most lights of adjustable colour temperature it takes; none where it makes no colour.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub most_tunable_lights: Option<u16>,
    /// How it makes colour.
    #[serde(default, skip_serializing_if = "Colour::is_none")]
    pub colour: Colour,
    /// Its link to other points of a group; unstated, whether a link joins circuits is unknown.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub link: Option<LinkKind>,
    /// The most controls, itself among them, that work in step as one group.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub most_in_step: Option<u16>,
    /// Gangs it takes in a box.
    #[serde(default = "one")]
    pub gangs: NonZeroU8,
    /// What it costs.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub price: Option<Money>,
    /// Pieces that are bought at once; its price is for all of them.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub pack: Option<NonZeroU32>,
    /// Pieces bought for this job already.
    #[serde(default, skip_serializing_if = "crate::job::is_none_bought")]
    pub bought: u32,
}

const fn one() -> NonZeroU8 {
    NonZeroU8::MIN
}
