//! Limits and allowances, each with a default and the source of that default.

use super::{BalanceRules, LabelGrid, RoughIn};
use crate::units::{
    Area, AreaUnit, Celsius, Factor, Illuminance, Length, LengthUnit, Ohms, Percent, Share, SpacingRatio,
};
use serde::{Deserialize, Serialize};

/// A constant of this file; the range is checked by a test, so that a default can never be a silent wrong value.
macro_rules! constant {
    ($kind:ident, $value:literal) => {
        match $kind::new($value) {
            Ok(value) => value,
            Err(_) => unreachable!(),
        }
    };
}

/// An edition of the National Electrical Code (NFPA 70).
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
pub enum Edition {
    /// That of 2017.
    Nec2017,
    /// That of 2020.
    Nec2020,
    /// That of 2023.
    #[default]
    Nec2023,
}

impl Edition {
    /// The year.
    pub const fn year(self) -> u16 {
        match self {
            Self::Nec2017 => 2017,
            Self::Nec2020 => 2020,
            Self::Nec2023 => 2023,
        }
    }
}

/// Whether a setting is at its default, which the file leaves out.
macro_rules! at_default {
    ($($name:ident: $kind:ty = $field:ident;)+) => {
        $(fn $name(value: &$kind) -> bool {
            *value == Settings::default().$field
        })+
    };
}

at_default! {
    edition: Edition = code_edition;
    continuous: Share = continuous_percent;
    margin: Percent = collapse_margin_percent;
    conductor: Share = conductor_amps_percent;
    spare: Percent = spare_capacity_percent;
    ground: bool = ground_conductor;
}

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
    /// How boxes are set in rooms that do not say.
    #[serde(skip_serializing_if = "RoughIn::is_default")]
    pub rough: RoughIn,
    /// The sheet that tags are printed on.
    #[serde(skip_serializing_if = "LabelGrid::is_default")]
    pub labels: LabelGrid,
    /// What a balance has to keep to, beyond limits.
    #[serde(skip_serializing_if = "BalanceRules::is_default")]
    pub balance: BalanceRules,
    /// The edition of the NEC that holds where the house stands; the newest one known here.
    #[serde(skip_serializing_if = "edition")]
    pub code_edition: Edition,
    /// The share of its breaker that a continuous load may use: NEC 210.20(A), 2017 and 2023, asks for a breaker of
    /// 125 % of it, hence 80 %; an assembly listed for 100 % may use that.
    #[serde(skip_serializing_if = "continuous")]
    pub continuous_percent: Share,
    /// How far below the most that its cables can carry a run is to stay; common practice, no source.
    #[serde(skip_serializing_if = "margin")]
    pub collapse_margin_percent: Percent,
    /// The share of the amps of NEC table 402.5 (2017) that a conductor may carry. The NEC gives Class 2 power
    /// conductors no amps of their own: taking those of fixture wires is a design choice.
    #[serde(skip_serializing_if = "conductor")]
    pub conductor_amps_percent: Share,
    /// The share of a panel's watts to be left free for later; nothing unless the job wants it.
    #[serde(skip_serializing_if = "spare")]
    pub spare_capacity_percent: Percent,
    /// Whether every home run is to have a ground conductor; the NEC asks for none in Class 2 up to 60 V dc
    /// (250.162(A), 2017).
    #[serde(skip_serializing_if = "ground")]
    pub ground_conductor: bool,
    /// What readings on site are held against.
    #[serde(skip_serializing_if = "SiteRule::is_default")]
    pub site: SiteRule,
    /// How lights are proposed for a room.
    #[serde(skip_serializing_if = "LightRule::is_default")]
    pub light: LightRule,
}

/// What readings on site are held against.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct SiteRule {
    /// How warm the conductors are while they are tested, where a reading does not say: that of a house being built.
    pub celsius: Celsius,
    /// The resistor that is put on as a load for readings of volts; without it none are expected.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub test_load_ohms: Option<Ohms>,
    /// How far a conductor may be from the resistance that tables give its gauge. From memory: ASTM B258 lets a drawn
    /// wire's diameter differ by 1 %, so its area by 2 %; the rest is for its being drawn and handled.
    pub copper_percent: Percent,
    /// How far an estimated length may be from the true one. Common practice, no source.
    pub estimate_percent: Percent,
    /// How far what is drawn may be from what data sheets say. Common practice, no source.
    pub load_percent: Percent,
}

impl SiteRule {
    /// Whether it is the default, which the file leaves out.
    pub fn is_default(&self) -> bool {
        *self == Self::default()
    }
}

impl Default for SiteRule {
    fn default() -> Self {
        Self {
            celsius: constant!(Celsius, 20.0),
            test_load_ohms: None,
            copper_percent: constant!(Percent, 3.0),
            estimate_percent: constant!(Percent, 15.0),
            load_percent: constant!(Percent, 10.0),
        }
    }
}

/// How many lights are proposed for a room: by the lumen method where a wish in lux and the fixture's lumens are known,
/// else by the floor area for each.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct LightRule {
    /// Floor for each fixture where the lumen method cannot be used. Common practice, no source: 160 ft2 is well lit
    /// by four fixtures of 6 W and 300 ft2 by eight.
    pub area_per_fixture: Area,
    /// The light that is wished for in rooms that do not say. There is no default: published levels for homes differ
    /// by more than two to one.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub illuminance: Option<Illuminance>,
    /// The share of the lamps' lumens that reaches the work plane (CU). Common practice, no source: 0.6 for
    /// downlights in light rooms; the fixture's own table at the room cavity ratio is better.
    pub utilization: Factor,
    /// What is left of the light after years of use (LLF). Common practice, no source: 0.8.
    pub light_loss: Factor,
    /// Height of the work plane above the floor. The 2.5 ft of Gordon, Interior Lighting for Designers, figure 13.15.
    pub work_plane: Length,
    /// Largest spacing over mounting height above the work plane at which light is even (the spacing criterion).
    /// The 1.5 of Gordon, figure 13.15; the fixture's own is better.
    pub spacing_to_height: SpacingRatio,
}

impl LightRule {
    /// Whether it is the default, which the file leaves out.
    pub fn is_default(&self) -> bool {
        *self == Self::default()
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
            rough: RoughIn::default(),
            labels: LabelGrid::default(),
            balance: BalanceRules::default(),
            code_edition: Edition::default(),
            continuous_percent: constant!(Share, 80.0),
            collapse_margin_percent: constant!(Percent, 10.0),
            conductor_amps_percent: constant!(Share, 100.0),
            spare_capacity_percent: constant!(Percent, 0.0),
            ground_conductor: false,
            light: LightRule::default(),
            site: SiteRule::default(),
        }
    }
}

impl Default for LightRule {
    fn default() -> Self {
        Self {
            area_per_fixture: match Area::new(40.0, AreaUnit::SquareFeet) {
                Some(area) => area,
                None => unreachable!(),
            },
            illuminance: None,
            utilization: constant!(Factor, 0.6),
            light_loss: constant!(Factor, 0.8),
            work_plane: Length::from_ticks(30 * 254_000, LengthUnit::Feet),
            spacing_to_height: constant!(SpacingRatio, 1.5),
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
