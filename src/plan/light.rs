//! The lumen method: how much light a number of lamps gives on the work plane of a room, and how many are needed.
//!
//! E = N · Φ · CU · LLF / A, with E in lx, Φ in lm, A in m², CU the share of the lumens that reaches the plane and LLF
//! what is left of them after years (IES Lighting Handbook, average illuminance by the lumen method). CU depends on the
//! room through its cavity ratio; the fixture's maker prints it. Figures are for a room lit evenly, not for a spot.

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
    sound(lights * lumens * utilization * light_loss / square_metres)
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
    sound(lux * square_metres / (lumens * utilization * light_loss))
}

/// Room cavity ratio: 5 · h · (W + L) / (W · L), with h from the work plane up to the lights (IES zonal cavity method;
/// CIE e-ILV 17-29-072).
///
/// # Domain
/// All above zero, in one unit; else `None`.
pub fn cavity_ratio(height: f64, width: f64, length: f64) -> Option<f64> {
    sound(5.0 * height * (width + length) / (width * length))
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
