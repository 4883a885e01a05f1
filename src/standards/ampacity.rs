//! Amps of thin conductors.

/// Amps of a fixture wire by its gauge: NEC table 402.5 (2017).
///
/// The NEC gives the conductors of a Class 2 cable no amps of their own, since the source limits them; 725.49 takes
/// this table for 18 and 16 AWG of Class 1. Here it is a limit of good sense. `None` for a gauge that it doesn't list.
pub const fn fixture_wire_amps(gauge: u8) -> Option<f64> {
    match gauge {
        18 => Some(6.0),
        16 => Some(8.0),
        14 => Some(17.0),
        12 => Some(23.0),
        10 => Some(28.0),
        _ => None,
    }
}
