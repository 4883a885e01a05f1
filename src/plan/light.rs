//! How many lights a room takes, by the lumen method of [`crate::standards::light`]; what is no sound figure is none.

use crate::standards::light;

/// Average lux on the work plane.
///
/// # Domain
/// All above zero; else `None`.
pub fn illuminance_lux(
    lights: f64,
    lumens: f64,
    utilization: f64,
    light_loss: f64,
    square_metres: f64,
) -> Option<f64> {
    sound(light::lux(lights * lumens, utilization, light_loss, square_metres))
}

/// How many lights are needed for an average of so many lux, as an exact figure; a design rounds it up.
///
/// # Domain
/// All above zero; else `None`.
pub fn lights_needed(
    lux: f64,
    square_metres: f64,
    lumens: f64,
    utilization: f64,
    light_loss: f64,
) -> Option<f64> {
    sound(light::lumens(lux, utilization, light_loss, square_metres) / lumens)
}

/// Room cavity ratio, with the height from the work plane up to the lights, all in one unit.
///
/// # Domain
/// All above zero; else `None`.
pub fn cavity_ratio(height: f64, width: f64, length: f64) -> Option<f64> {
    sound(light::cavity_ratio(height, width, length))
}

/// A figure rounded up to whole lights; a hair above a whole number, as floats leave it, is that number.
pub fn whole_lights(exact: f64) -> Option<usize> {
    let up = (exact - 1e-9 * exact.abs()).ceil().max(1.0);
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "between 1 and a million")]
    (exact.is_finite() && up <= 1e6).then_some(up as usize)
}

fn sound(figure: f64) -> Option<f64> {
    (figure.is_finite() && figure > 0.0).then_some(figure)
}
