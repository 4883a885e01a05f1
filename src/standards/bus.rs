//! A control bus after IEC 62386 (part 101, from public summaries of it and a note of its trade body on length).

/// Addresses of control gear.
pub const MOST_GEAR: u16 = 64;
/// Addresses of control devices.
pub const MOST_DEVICES: u16 = 64;
/// The most amps of its supply.
pub const MOST_AMPS: f64 = 0.25;
/// The most metres of cable between the two farthest devices.
pub const MOST_METRES: f64 = 300.0;
/// The most volts lost between them.
pub const MOST_DROP_VOLTS: f64 = 2.0;

/// Volts lost over a bus: 2 · I · r · L, with all of the current over the whole length.
pub fn drop_volts(amps: f64, ohms_per_metre: f64, metres: f64) -> f64 {
    2.0 * amps * ohms_per_metre * metres
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn published_example() {
        // A control-gear maker's application manual (2013): 300 m, 1.5 mm², 250 mA, 56 m/(ohm mm²) lose 1.786 V.
        assert!((drop_volts(0.25, 1.0 / (56.0 * 1.5), 300.0) - 1.786).abs() < 0.0005);
        // The same copper at 75 °C, by the factor 1.21615 of 0.00393 a degree from 20 °C: 2.17 V, over the limit.
        let hot = drop_volts(0.25, 1.216_15 / (56.0 * 1.5), 300.0);
        assert!((hot - 2.17).abs() < 0.005 && hot > MOST_DROP_VOLTS);
    }
}
