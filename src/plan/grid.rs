//! Where lights hang in a room: rows on an even grid, half a spacing from the walls.
//!
//! The wall distance of half the spacing is that of Gordon, Interior Lighting for Designers (one half to one third).

use crate::job::house::{Corner, Place, Room};
use crate::units::{Length, LengthUnit};

/// Rows of lights in a room.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Grid {
    /// How many lights hang in each row, from the corner up the plan.
    pub rows: Vec<usize>,
}

impl Grid {
    /// The rows for so many lights in a room of that size, with spacings across and up as near to each other as they
    /// can be. Full rows go before a somewhat evener spacing.
    pub fn of(lights: usize, width: f64, depth: f64) -> Self {
        let lights = lights.clamp(1, 10_000);
        let score = |rows: usize| {
            let columns = lights.div_ceil(rows);
            let (across, up) = (width / count(columns), depth / count(rows));
            let missing = columns * rows - lights;
            (across / up).max(up / across) * (1.0 + 0.5 * count(missing))
        };
        let rows = (1..=lights).min_by(|a, b| score(*a).total_cmp(&score(*b))).unwrap_or(1);
        let (each, more) = (lights / rows, lights % rows);
        Self { rows: (0..rows).map(|row| each + usize::from(row < more)).collect() }
    }

    /// The largest distance between neighbours, across or up, in the unit of the room's sides.
    pub fn spacing(&self, width: f64, depth: f64) -> f64 {
        let fewest = self.rows.iter().copied().min().unwrap_or(1).max(1);
        (width / count(fewest)).max(depth / count(self.rows.len().max(1)))
    }

    /// The places, row by row there and back, so that a loop through them is short.
    pub fn places(&self, room: &Room, unit: LengthUnit) -> Option<Vec<Place>> {
        let (width, depth) = (room.width?.ticks(), room.depth?.ticks());
        let Corner { x, y } = room.corner?;
        let rows = i64::try_from(self.rows.len()).ok()?;
        let mut places = Vec::new();
        for (row, &lights) in (0..).zip(&self.rows) {
            let columns = i64::try_from(lights).ok()?;
            let up = middle(depth, row, rows)?;
            for nth in 0..columns {
                let column = if row % 2 == 0 { nth } else { columns - 1 - nth };
                let across = middle(width, column, columns)?;
                places.push(Place {
                    x: to_step(x.ticks().checked_add(across)?, unit),
                    y: to_step(y.ticks().checked_add(up)?, unit),
                    height: None,
                });
            }
        }
        Some(places)
    }
}

/// The middle of a part of a side.
fn middle(side: i64, at: i64, parts: i64) -> Option<i64> {
    side.checked_mul(2 * at + 1).map(|twice| twice / (2 * parts))
}

/// To the nearest inch or centimetre.
fn to_step(ticks: i64, unit: LengthUnit) -> Length {
    let half = match unit {
        LengthUnit::Feet => 127_000,
        LengthUnit::Metres => 50_000,
    };
    Length::round_up(ticks.saturating_sub(half).max(0), unit)
}

#[expect(clippy::cast_precision_loss, reason = "a count of lights")]
fn count(lights: usize) -> f64 {
    lights as f64
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn room(width: &str, depth: &str) -> Room {
        let length = |text: &str| Length::parse(text, None).unwrap();
        Room {
            above: None,
            exposure: crate::job::house::Exposure::default(),
            keep_tunable: false,
            rough: crate::job::RoughIn::default(),
            id: "r".parse().unwrap(),
            name: String::new(),
            area: None,
            width: Some(length(width)),
            depth: Some(length(depth)),
            corner: Some(Corner { x: length("10 ft"), y: length("20 ft") }),
            ceiling: None,
            illuminance: None,
        }
    }

    #[test]
    fn lights_stand_in_even_rows_half_a_spacing_from_the_wall() {
        assert_eq!(Grid::of(4, 16.0, 10.0).rows, [2, 2]);
        assert_eq!(Grid::of(8, 20.0, 15.0).rows, [4, 4]);
        assert_eq!(Grid::of(3, 30.0, 4.0).rows, [3]);
        let grid = Grid::of(4, 16.0, 10.0);
        assert!((grid.spacing(16.0, 10.0) - 8.0).abs() < 1e-12);
        let places = grid.places(&room("16 ft", "10 ft"), LengthUnit::Feet).unwrap();
        let written: Vec<String> =
            places.iter().map(|p| format!("{} {}", p.x.written(), p.y.written())).collect();
        assert_eq!(written, ["14'0 22'6", "22'0 22'6", "22'0 27'6", "14'0 27'6"]);
    }

    proptest! {
        #[test]
        fn all_lights_hang_within_the_room(lights in 1..80_usize, width in 1..80_i64, depth in 1..80_i64) {
            let room = room(&format!("{width} ft"), &format!("{depth} ft"));
            #[expect(clippy::cast_precision_loss, reason = "small")]
            let grid = Grid::of(lights, width as f64, depth as f64);
            prop_assert_eq!(grid.rows.iter().sum::<usize>(), lights);
            let places = grid.places(&room, LengthUnit::Feet).unwrap();
            prop_assert_eq!(places.len(), lights);
            for place in places {
                prop_assert!((10.0..=10.0 + room.width.unwrap().feet()).contains(&place.x.feet()));
                prop_assert!((20.0..=20.0 + room.depth.unwrap().feet()).contains(&place.y.feet()));
            }
        }
    }
}
