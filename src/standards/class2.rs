//! Class 2 dc power sources: NEC chapter 9 table 11(B), 2017 (same in 2023).

use crate::job::catalogue::OutputKind;

/// The highest continuous dc volts of a Class 2 circuit of full power: table 11(B), the band over 30 up to 60 V of
/// inherently limited and over 20 up to 60 V of other sources. Beyond it Class 2 allows 5 mA.
pub const HIGHEST_DC_VOLTS: f64 = 60.0;

/// The most volt-amperes that may stand on the nameplate of a Class 2 dc source, by its highest volts at any load.
///
/// Table 11(B): 5.0 · Vmax up to 20 V, 100 VA over 20 up to 60 V, for both kinds of source; over 60 up to 150 V
/// 0.005 · Vmax for an inherently limited one. Note 1: Vmax is the highest volts at any load with rated input, so the
/// no-load volts count. `None` where the output is not Class 2 by kind; 0 where no Class 2 source of such volts exists.
pub fn most_volt_amps(kind: OutputKind, highest_volts: f64) -> Option<f64> {
    let inherent = match kind {
        OutputKind::Class2Inherent => true,
        OutputKind::Class2Protected => false,
        OutputKind::NotClass2 => return None,
    };
    Some(match highest_volts {
        v if v <= 20.0 => 5.0 * v,
        v if v <= HIGHEST_DC_VOLTS => 100.0,
        v if v <= 150.0 && inherent => 0.005 * v,
        _ => 0.0,
    })
}

/// The most volts of continuous dc where wet contact is likely: table 11(B) note 4 (immersion is another matter).
pub const WET_DC_VOLTS: f64 = 30.0;
/// The same for dc interrupted at 10 to 200 Hz, peak.
pub const WET_INTERRUPTED_VOLTS: f64 = 12.4;
/// The most peak volts of dc interrupted at 10 to 200 Hz anywhere: table 11(B) note 4.
pub const INTERRUPTED_VOLTS: f64 = 24.8;
/// The largest overcurrent device ahead of a Class 2 supply, in amps: NEC 725.127 (2017).
pub const MOST_BRANCH_AMPS: f64 = 20.0;

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn each_band_of_table_11_b() {
        let both = [OutputKind::Class2Inherent, OutputKind::Class2Protected];
        for kind in both {
            // A 12 V output may be marked 60 VA, not 100: the trap of the first band.
            assert_eq!(most_volt_amps(kind, 12.0), Some(60.0));
            assert_eq!(most_volt_amps(kind, 20.0), Some(100.0));
            assert_eq!(most_volt_amps(kind, 24.0), Some(100.0));
            assert_eq!(most_volt_amps(kind, 60.0), Some(100.0));
        }
        assert_eq!(most_volt_amps(OutputKind::Class2Inherent, 100.0), Some(0.5));
        assert_eq!(most_volt_amps(OutputKind::Class2Protected, 100.0), Some(0.0));
        assert_eq!(most_volt_amps(OutputKind::NotClass2, 24.0), None);
    }

    #[test]
    fn bands_end_where_the_table_ends_them() {
        for kind in [OutputKind::Class2Inherent, OutputKind::Class2Protected] {
            // 19.9 V: 5.0 x 19.9; 20.1, 30 and 30.1 V: 100 VA in all of them; 60.1 V: no full power.
            assert!((most_volt_amps(kind, 19.9).unwrap() - 99.5).abs() < 1e-9);
            for volts in [20.1, 30.0, 30.1, 59.9] {
                assert_eq!(most_volt_amps(kind, volts), Some(100.0));
            }
        }
        assert!((most_volt_amps(OutputKind::Class2Inherent, 60.1).unwrap() - 0.3005).abs() < 1e-9);
        assert_eq!(most_volt_amps(OutputKind::Class2Protected, 60.1), Some(0.0));
        assert_eq!(most_volt_amps(OutputKind::Class2Inherent, 150.1), Some(0.0));
    }
}
