//! Resistance of copper conductors.

use crate::format::Quantity;
use crate::job::catalogue::Stranding;
use crate::working::{Input, Number, Origin};

/// A row of the resistance table, ohms per 1000 ft.
struct Row {
    gauge: u8,
    solid: f64,
    seven_strand: Option<f64>,
}

/// NEC chapter 9 table 8 (2017; same in 2023): direct-current resistance at 75 °C, uncoated copper, ohm/kFT.
#[expect(clippy::approx_constant, reason = "3.14 ohm/kFT is what the table prints for 14 AWG")]
const TABLE_8: [Row; 5] = [
    Row { gauge: 18, solid: 7.77, seven_strand: Some(7.95) },
    Row { gauge: 16, solid: 4.89, seven_strand: Some(4.99) },
    Row { gauge: 14, solid: 3.07, seven_strand: Some(3.14) },
    Row { gauge: 12, solid: 1.93, seven_strand: Some(1.98) },
    Row { gauge: 10, solid: 1.21, seven_strand: Some(1.24) },
];

/// Sizes below table 8, at 20 °C, ohm/kFT: the standard copper wire table, NBS Handbook 100 (1966), from nominal
/// diameters by ASTM B258 and 100 % IACS copper; 7-strand 20 AWG as a cable maker's public table prints it. A 7-strand
/// 22 AWG has more copper than the gauge says and varies from maker to maker, so it is left out: unknown.
const WIRE_TABLE: [Row; 3] = [
    Row { gauge: 20, solid: 10.15, seven_strand: Some(10.54) },
    Row { gauge: 22, solid: 16.14, seven_strand: None },
    Row { gauge: 24, solid: 25.67, seven_strand: None },
];

/// Temperature coefficient of copper referred to 75 °C, per °C: NEC chapter 9 table 8, note 2.
const ALPHA_75: f64 = 0.00323;
/// Temperature coefficient of 100 % IACS copper referred to 20 °C, per °C: NBS Handbook 100 (1966).
const ALPHA_20: f64 = 0.003_93;
/// Metres in 1000 ft.
const KFT_METRES: f64 = 304.8;

/// Resistance of one copper conductor in ohms per metre at a conductor temperature in °C.
///
/// R = R75 · (1 + 0.00323 · (T − 75)) from NEC chapter 9 table 8 with its note 2; for sizes below the table
/// R = R20 · (1 + 0.00393 · (T − 20)). `None` for a gauge or stranding that no table gives: unknown, not zero.
pub fn ohms_per_metre(gauge: u8, stranding: Stranding, celsius: f64) -> Option<f64> {
    ohms_per_metre_of(gauge, stranding, celsius)
}

/// The same as a number of the study.
pub fn ohms_per_metre_of<N: Number>(gauge: u8, stranding: Stranding, celsius: f64) -> Option<N> {
    let table = |ohms, place: &'static str| {
        N::input(ohms, || {
            Input::new(
                format!("{gauge} AWG {}, ohm/1000 ft", stranding.word()),
                Quantity::Ratio,
                Origin::Table(place),
            )
        })
    };
    let hot = |alpha: f64, at: f64, place: &'static str| {
        let coefficient =
            N::input(alpha, || Input::new("temperature coefficient", Quantity::Ratio, Origin::Table(place)));
        let warm = N::input(celsius, || {
            Input::new("conductor temperature, C", Quantity::Ratio, Origin::Setting("conductor_celsius"))
        });
        N::constant(1.0) + coefficient * (warm - N::constant(at))
    };
    let kft = || N::input(KFT_METRES, || Input::new("metres in 1000 ft", Quantity::Ratio, Origin::Formula));
    let pick = |row: &Row| match stranding {
        Stranding::Solid => Some(row.solid),
        Stranding::Stranded => row.seven_strand,
    };
    if let Some(row) = TABLE_8.iter().find(|row| row.gauge == gauge) {
        let cold = table(pick(row)?, "NEC ch. 9 table 8 (2017; 2023 the same)");
        return Some(cold * hot(ALPHA_75, 75.0, "NEC ch. 9 table 8 note 2") / kft());
    }
    let row = WIRE_TABLE.iter().find(|row| row.gauge == gauge)?;
    let cold = table(pick(row)?, "standard copper wire table, NBS Handbook 100 (1966)");
    Some(cold * hot(ALPHA_20, 20.0, "NBS Handbook 100 (1966)") / kft())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn per_kft(gauge: u8, celsius: f64) -> f64 {
        ohms_per_metre(gauge, Stranding::Solid, celsius).map_or(f64::NAN, |ohms| ohms * KFT_METRES)
    }

    #[test]
    fn table_8_meets_its_own_metric_column() {
        // The same table prints ohm/km beside ohm/kFT: 25.5, 16.0, 10.1, 6.34, 3.984 solid; 26.1 7-strand 18 AWG.
        for (gauge, ohms_per_km) in [(18, 25.5), (16, 16.0), (14, 10.1), (12, 6.34), (10, 3.984)] {
            let computed = per_kft(gauge, 75.0) / 0.3048;
            assert!((computed - ohms_per_km).abs() < 0.5_f64.max(ohms_per_km) * 0.005, "{gauge}: {computed}");
        }
        let stranded = ohms_per_metre(18, Stranding::Stranded, 75.0).map_or(f64::NAN, |ohms| ohms * 1000.0);
        assert!((stranded - 26.1).abs() < 0.05);
    }

    #[test]
    fn both_tables_agree_where_they_meet() {
        // 18 AWG by the wire table is 6.385 ohm/kFT at 20 °C; brought down from table 8 it is 6.390.
        assert!((per_kft(18, 20.0) - 6.385).abs() < 0.01);
        // 20 AWG brought up to 75 °C keeps the ratio of areas, 1624.3 / 1021.5 cmil, to 18 AWG.
        assert!((per_kft(20, 75.0) / per_kft(18, 75.0) - 1624.3 / 1021.5).abs() < 0.005);
    }

    #[test]
    fn a_gauge_in_no_table_is_unknown() {
        assert_eq!(ohms_per_metre(17, Stranding::Solid, 75.0), None);
        assert_eq!(ohms_per_metre(22, Stranding::Stranded, 75.0), None);
    }
}
