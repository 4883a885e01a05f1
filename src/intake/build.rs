//! Makes one edit of a table, or says everything that is wrong with it.

mod house;
mod values;
mod wiring;

pub(super) use wiring::MOST_LOOPS;

use super::cells::{self, Row};
use super::columns::Col;
use super::{Flaw, Flaws};
use crate::job::Job;
use crate::job::edit::{Edit, apply};
use std::fmt;

/// What a table comes to.
#[derive(Debug, Clone, PartialEq)]
pub struct Intake {
    /// One edit that makes all of it.
    pub edit: Edit,
    /// How much it makes.
    pub made: Made,
}

/// How many things a table makes.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Made {
    /// Levels.
    pub levels: usize,
    /// Rooms.
    pub rooms: usize,
    /// Wall boxes.
    pub wall_boxes: usize,
    /// Home runs.
    pub home_runs: usize,
    /// Controls.
    pub controls: usize,
    /// Loops.
    pub loops: usize,
    /// Ceiling boxes.
    pub lights: usize,
}

/// What it makes, counted.
impl fmt::Display for Made {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Self { levels, rooms, wall_boxes, home_runs, controls, loops, lights } = *self;
        let counts = [
            (levels, "level", "levels"),
            (rooms, "room", "rooms"),
            (wall_boxes, "wall box", "wall boxes"),
            (home_runs, "home run", "home runs"),
            (controls, "control", "controls"),
            (loops, "loop", "loops"),
            (lights, "ceiling box", "ceiling boxes"),
        ];
        let some = counts.into_iter().filter(|(n, ..)| *n > 0);
        let said: Vec<String> =
            some.map(|(n, one, more)| format!("{n} {}", if n == 1 { one } else { more })).collect();
        f.write_str(&if said.is_empty() { "nothing new".into() } else { said.join(", ") })
    }
}

/// Reads a table into the edit that makes what it says.
///
/// A level or a room that is in the job already is used, and what the job does not know of it is filled in; a wall box
/// that is in the job already is a flaw, so that nothing is made twice.
///
/// # Errors
/// [`Flaws`] with everything that is wrong, row by row; the same table and job always give the same ones.
pub fn read(job: &Job, text: &str) -> Result<Intake, Flaws> {
    let rows = cells::rows(text)?;
    let mut report = Report::default();
    let house = house::House::of(job, &rows, &mut report);
    let (staged, edits) = house.staged(job, &mut report);
    let mut made = house.made();
    let boxes = wiring::wall_boxes(&staged, &house, &rows, &mut report, &mut made);
    if !report.flaws.is_empty() {
        report.flaws.sort_by_key(|flaw| flaw.row);
        return Err(Flaws(report.flaws));
    }
    let whole = |what: String| Flaws(vec![Flaw { row: None, column: None, what }]);
    let mut edits = edits;
    edits.extend(boxes.map_err(whole)?);
    let edit = Edit::Together(edits);
    // What no single cell can tell, such as the number of an output, the job itself says.
    apply(&mut job.clone(), edit.clone()).map_err(|error| whole(error.to_string()))?;
    Ok(Intake { edit, made })
}

/// Collects what is wrong.
#[derive(Debug, Default)]
struct Report {
    flaws: Vec<Flaw>,
}

impl Report {
    fn flaw(&mut self, row: &Row, column: Col, what: impl Into<String>) {
        let column = Some(column.key().to_owned());
        self.flaws.push(Flaw { row: Some(row.number), column, what: what.into() });
    }

    /// The value of a cell, or `None` where it is empty or wrong.
    fn value<T>(
        &mut self,
        row: &Row,
        column: Col,
        read: impl FnOnce(&str) -> Result<T, String>,
    ) -> Option<T> {
        let cell = row.cell(column);
        if cell.is_empty() {
            return None;
        }
        read(cell).map_err(|what| self.flaw(row, column, what)).ok()
    }
}
