//! The lumen method (zonal cavity), and the spacing of lights.
//!
//! CIE International Lighting Vocabulary 17-29-072 for the room index; IES definitions for the spacing criterion.

use crate::working::Number;

/// Lux on the work plane: E = Φ · CU · LLF / A, with the lumens of all lights, the shares that reach the plane and that
/// are left after aging, and the area in m².
pub fn lux<N: Number>(lumens: N, utilization: N, light_loss: N, square_metres: N) -> N {
    lumens * utilization * light_loss / square_metres
}

/// The lumens that a level takes: Φ = E · A / (CU · LLF).
pub fn lumens(lux: f64, utilization: f64, light_loss: f64, square_metres: f64) -> f64 {
    lux * square_metres / (utilization * light_loss)
}

/// The room cavity ratio: 5 · h · (L + W) / (L · W), all in one unit.
pub fn cavity_ratio(height: f64, length: f64, width: f64) -> f64 {
    5.0 * height * (length + width) / (length * width)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn published_examples_of_the_lumen_method() {
        let close =
            |got: f64, printed: f64, half_unit: f64| assert!((got - printed).abs() <= half_unit, "{got}");
        // G. Gordon, Interior Lighting for Designers: 40 x 15 ft, 9.5 ft of room cavity; 2.5 ft of floor cavity.
        close(cavity_ratio(9.5, 40.0, 15.0), 4.35, 0.005);
        close(cavity_ratio(2.5, 40.0, 15.0), 1.15, 0.005);
        // B. L. Theraja, Textbook of Electrical Technology vol. III, ex. 49.20, p. 1919: 8 x 12 m, 15 lamps of 1600 lm
        // give 100 lx with a coefficient of 0.4.
        close(lux(15.0 * 1600.0, 0.4, 1.0, 96.0), 100.0, 1e-9);
        // Ex. 49.21, p. 1919: 30 x 10 m, 250 lx, 0.4, 0.9, 300 W at 14 lm/W: 50 lamps (49.60).
        close(lumens(250.0, 0.4, 0.9, 300.0) / (300.0 * 14.0), 49.60, 0.005);
        // Ex. 49.24, p. 1920: 120 x 40 m, 60 lx, 0.5, depreciation 1.2, tubes of 40 W at 45 lm/W: 384.
        close(lumens(60.0, 0.5, 1.0 / 1.2, 4800.0) / (40.0 * 45.0), 384.0, 1e-9);
        // Ex. 49.25, p. 1920: 30 x 20 m, 144 lx, 0.6, 0.75: 24 lamps of 500 W at 16 lm/W.
        close(lumens(144.0, 0.6, 0.75, 600.0) / (500.0 * 16.0), 24.0, 0.5);
        // Chakrabarti and Soni, Power System Engineering, ex. 4.4.8, p. 758: 36.6 x 15.25 m, 20 lamps of 500 W at
        // 15 lm/W, 0.7, 0.5: 94.1 lx.
        close(lux(20.0 * 500.0 * 15.0, 0.7, 0.5, 36.6 * 15.25), 94.1, 0.05);
    }
}
