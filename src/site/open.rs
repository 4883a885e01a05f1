//! Where a cable is open: an open has no resistance to measure, so its place is what readings at boxes bracket.

use super::line::Line;
use crate::job::site::{End, Reading, Test};

/// A place along a cable at which it can be got at.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Point {
    /// Its near end.
    Near,
    /// A box, by its place along the loop.
    Box(usize),
    /// Its far end.
    Far,
}

/// The stretch of a cable in which it is open, as far as readings tell.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Bracket {
    /// The last point up to which the copper was read through.
    pub after: Point,
    /// The first point to which it was not.
    pub before: Point,
    /// Readings that contradict it.
    pub against: Vec<Test>,
}

impl Bracket {
    /// The box to open next: the middle one of those between, of a cable with so many boxes between its ends; none
    /// where nothing lies between.
    pub fn next(&self, stops: usize) -> Option<usize> {
        let first = match self.after {
            Point::Near => 0,
            Point::Box(at) => at + 1,
            Point::Far => return None,
        };
        let end = match self.before {
            Point::Near => return None,
            Point::Box(at) => at,
            Point::Far => stops,
        };
        (first < end).then(|| first + (end - first) / 2)
    }
}

/// Brackets an open from readings of the pair joined at boxes and at the ends. `None` where no reading shows one.
///
/// Read through from the near end to a point, the cable is whole before it; not read through, it is open before it.
/// From the far end the same holds behind it.
pub fn bracket(line: &Line<'_>, readings: &[&Reading]) -> Option<Bracket> {
    let (mut beyond, mut before) = (Vec::new(), Vec::new());
    let mut open = false;
    for reading in readings {
        let (point, through, from, test) = match &reading.test {
            Test::Joined { at: None, from } => (None, !reading.figure.is_over(), *from, &reading.test),
            Test::Joined { at: Some(id), from } => {
                let Some((at, _)) = line.stop(id) else { continue };
                (Some(Point::Box(at)), !reading.figure.is_over(), *from, &reading.test)
            }
            Test::Conductor(_) if reading.figure.is_over() => {
                open = true;
                continue;
            }
            _ => continue,
        };
        open |= !through;
        let end = if from == End::Near { Point::Far } else { Point::Near };
        let list = if through == (from == End::Near) { &mut beyond } else { &mut before };
        list.push((point.unwrap_or(end), test));
    }
    if !open {
        return None;
    }
    let first = before.iter().map(|(point, _)| *point).min().unwrap_or(Point::Far);
    let after = beyond.iter().map(|(point, _)| *point).filter(|point| *point < first).max();
    let against = beyond.iter().filter(|(point, _)| *point >= first).map(|(_, test)| (*test).clone());
    Some(Bracket { after: after.unwrap_or(Point::Near), before: first, against: against.collect() })
}
