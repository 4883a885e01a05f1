//! Supplies: what sits in the panel.

use crate::job::Id;
use crate::units::{Money, PowerFactor, Share, Volts, Watts, WattsOrNone};
use serde::{Deserialize, Serialize};
use std::num::{NonZeroU8, NonZeroU32};

/// How an output is limited.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum OutputKind {
    /// Class 2, limited in itself (NEC chapter 9 table 11(B), inherently limited).
    Class2Inherent,
    /// Class 2, limited by an overcurrent device (NEC chapter 9 table 11(B), not inherently limited).
    Class2Protected,
    /// Not a Class 2 output.
    NotClass2,
}

impl OutputKind {
    /// Whether it is a Class 2 output, of either kind.
    pub const fn is_class_2(self) -> bool {
        !matches!(self, Self::NotClass2)
    }
}

/// A supply as bought. A figure its data sheet does not give is left out, and what follows from it is unknown.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct SupplyType {
    /// Its id.
    pub id: Id,
    /// What people call it.
    #[serde(default)]
    pub name: String,
    /// How many outputs it has.
    pub outputs: NonZeroU8,
    /// Volts of each output, dc.
    pub volts: Volts,
    /// Highest volts of an output at no load, dc.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub no_load_volts: Option<Volts>,
    /// Most watts from each output.
    pub output_watts: Watts,
    /// How an output is limited.
    pub kind: OutputKind,
    /// Home runs that an output's terminals take.
    pub terminals: NonZeroU8,
    /// Slots it takes in the panel.
    pub slots: NonZeroU8,
    /// Watts out over watts in at full load.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub efficiency_percent: Option<Share>,
    /// Watts in with nothing connected.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub idle_watts: Option<WattsOrNone>,
    /// Power factor of its AC input at full load.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub power_factor: Option<PowerFactor>,
    /// Its outputs are interrupted at 10 to 200 Hz, as when it dims by pulses.
    #[serde(default, skip_serializing_if = "crate::job::is_false")]
    pub interrupted: bool,
    /// The most of it on one breaker, by their inrush, as its data sheet says for the breaker in use.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub most_per_breaker: Option<u16>,
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
