//! Limits and allowances, each with a default and the source of that default.

use super::Id;
use crate::units::{Celsius, Length, LengthUnit, Percent, Share};
use serde::{Deserialize, Serialize};

/// The limits and allowances of a job.
///
/// No default here is a rule of any code: where a source is named it is named, the others are common practice.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct Settings {
    /// Temperature at which conductors are reckoned. 75 °C is that of NEC chapter 9 table 8 and pessimistic for drop:
    /// a cable in a wall at room temperature has about 18 % less resistance.
    pub conductor_celsius: Celsius,
    /// Most drop at a fixture.
    pub drop_limits: DropLimits,
    /// The longest home run before somebody should ask why; common practice, no source: about 100 ft.
    pub longest_home_run: Length,
    /// How far an output is to be loaded, in percent of its limit; common practice, no source.
    pub target_load_percent: Share,
    /// Cable left at each end in a panel or wall box, beyond its route; common practice, no source.
    pub makeup_cable_end: Length,
    /// Cable left in each ceiling box, both tails together; common practice, no source: 10 to 20 in.
    pub makeup_ceiling_box: Length,
    /// Added to every estimated route for the way round things; common practice, no source.
    pub routing_allowance_percent: Percent,
    /// What a balance has to keep to, beyond limits.
    #[serde(skip_serializing_if = "BalanceRules::is_default")]
    pub balance: BalanceRules,
}

/// What a balance of the outputs has to keep to. Runs are named by the ids of their home runs' cables.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct BalanceRules {
    /// Of what there shall be as few as possible.
    #[serde(skip_serializing_if = "Fewest::is_default")]
    pub fewest: Fewest,
    /// In each group no two runs share an output.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub apart: Vec<Vec<Id>>,
    /// The runs of each group are on one supply.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub together: Vec<Vec<Id>>,
    /// The runs that light each way out, as both ends of a stair; they are spread over supplies like those of a room.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub ways_out: Vec<Vec<Id>>,
}

/// What a balance makes as few of as possible.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
pub enum Fewest {
    /// Supplies; all outputs of those that are used may be used.
    #[default]
    Supplies,
    /// Supplies, then outputs.
    Outputs,
}

impl BalanceRules {
    fn is_default(&self) -> bool {
        *self == Self::default()
    }
}

impl Fewest {
    #[expect(clippy::trivially_copy_pass_by_ref, reason = "serde passes what it skips by reference")]
    const fn is_default(&self) -> bool {
        matches!(self, Self::Supplies)
    }
}

/// Most drop at a fixture, in percent of the output's volts, by how the fixture takes it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct DropLimits {
    /// For fixtures that regulate themselves: they need their least volts, not a share. Common practice, no source.
    pub regulated_percent: Share,
    /// For fixtures that lose light with volts. The 5 % that NEC 215.2(A) advises for feeder and branch together
    /// (2017, informational note 2) is advice for line-voltage wiring, taken over here.
    pub resistive_percent: Share,
}

/// A constant of this file; the range is checked by a test, so that a default can never be a silent wrong value.
macro_rules! constant {
    ($kind:ident, $value:literal) => {
        match $kind::new($value) {
            Ok(value) => value,
            Err(_) => unreachable!(),
        }
    };
}

impl Default for Settings {
    fn default() -> Self {
        let inches = |inches: i64| Length::from_ticks(inches * 254_000, LengthUnit::Feet);
        Self {
            conductor_celsius: constant!(Celsius, 75.0),
            drop_limits: DropLimits::default(),
            longest_home_run: inches(1200),
            target_load_percent: constant!(Share, 80.0),
            makeup_cable_end: inches(36),
            makeup_ceiling_box: inches(16),
            routing_allowance_percent: constant!(Percent, 10.0),
            balance: BalanceRules::default(),
        }
    }
}

impl Default for DropLimits {
    fn default() -> Self {
        Self { regulated_percent: constant!(Share, 10.0), resistive_percent: constant!(Share, 5.0) }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn defaults_follow_the_rules_of_thumb() {
        // Common practice, no source: about 100 ft, and 10 to 20 in of slack in each ceiling box.
        let settings = Settings::default();
        assert!((settings.longest_home_run.feet() - 100.0).abs() < 1e-9);
        let slack_inches = settings.makeup_ceiling_box.feet() * 12.0;
        assert!((10.0..=20.0).contains(&slack_inches));
    }
}
