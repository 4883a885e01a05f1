//! The table of rooms: a spreadsheet that makes levels, rooms, wall boxes, controls, loops and ceiling boxes at once.
//!
//! [`read`] takes a table with a heading row, separated by commas, semicolons or tabs, and gives one edit, or every
//! flaw by row and column; nothing is ever half done. [`write()`] gives the same table of a job. A table that was written,
//! read into a job with the same catalogue and panels and written again is the same table.
//!
//! A row is a room with one control and its lights. More rows of a room are more controls, or more wall boxes where
//! `box` differs. A row whose `control` is `same` has more loops of the control above it. Cells that say what an
//! earlier row said may be left empty. The columns are those of [`Col`]; they may stand in any order and be left out.
//!
//! Lengths, areas and illuminances are understood as typed (`12'6`, `3.8 m`, `160 ft2`, `100 lx`); without a unit they
//! are in the job's. Ids are made by the rule in [`crate::job::ids`]. What a row of the job cannot say in this table
//! (measured lengths, places and names of ceiling boxes, control groups) is named beside it when it is written.

mod build;
mod cells;
mod columns;
mod lights;
mod lookup;
mod out;
pub mod prices;
mod readings;

pub use build::{Intake, Made, read};
pub use cells::{MOST_BYTES, MOST_ROWS};
pub use columns::{Col, help};
pub use out::{Written, write};
pub use readings::{TakenReadings, read_readings};

use std::fmt;

/// One thing that is wrong with a table.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Flaw {
    /// The row as a spreadsheet counts it; the heading is row 1. None where it is about the whole table.
    pub row: Option<usize>,
    /// The heading of the column, where it is about one.
    pub column: Option<String>,
    /// What is wrong and what to do.
    pub what: String,
}

impl fmt::Display for Flaw {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if let Some(row) = self.row {
            write!(f, "row {row}")?;
            if let Some(column) = &self.column {
                write!(f, ", column '{column}'")?;
            }
            f.write_str(": ")?;
        }
        f.write_str(&self.what)
    }
}

/// As many flaws as are listed; the rest are counted.
const MOST_LISTED: usize = 40;

/// Everything that is wrong with a table.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub struct Flaws(pub Vec<Flaw>);

impl Flaws {
    /// One flaw of the whole table.
    fn whole(what: String) -> Self {
        Self(vec![Flaw { row: None, column: None, what }])
    }
}

impl fmt::Display for Flaws {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for (at, flaw) in self.0.iter().take(MOST_LISTED).enumerate() {
            if at > 0 {
                writeln!(f)?;
            }
            write!(f, "{flaw}")?;
        }
        match self.0.len().checked_sub(MOST_LISTED) {
            Some(more) if more > 0 => write!(f, "\nand {more} more"),
            _ => Ok(()),
        }
    }
}
