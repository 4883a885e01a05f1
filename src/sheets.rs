//! Paper and files: tables and figures as paged text, CSV and JSON.
//!
//! It takes [`Table`]s with a [`Heading`] and gives bytes. It reads no clock and no file: date and sizes are passed in.

pub mod cautions;
mod closing;
pub mod csv;
mod heading;
pub mod json;
mod list;
mod narrowed;
pub mod pdf;
pub mod pictures;
pub mod text;

pub use heading::Heading;
pub use list::SHEETS;
pub use narrowed::{NARROWED, Narrowed};
pub use text::Paper;

use crate::schedule::Table;

impl<D> Entry<D> {
    /// The sheet as text: its pictures if it has any, else its tables.
    pub fn printed(&self, design: &D, heading: &Heading, paper: Paper) -> String {
        match self.drawings {
            Some(drawings) => {
                text::print_drawings(heading, &self.name.into(), &drawings(design, paper), paper)
            }
            None => text::print(heading, &(self.tables)(design), paper),
        }
    }
}

/// A sheet that can be asked for by name; `D` is the studied job.
#[derive(Debug)]
pub struct Entry<D> {
    /// The name on the command line.
    pub name: &'static str,
    /// What it is for, in a few words.
    pub about: &'static str,
    /// Its tables, in the order they are printed.
    pub tables: fn(&D) -> Vec<Table>,
    /// Its pictures, where it is drawn rather than listed; such a sheet has no tables.
    pub drawings: Option<fn(&D, Paper) -> Vec<text::Drawing>>,
    /// Its JSON document, with names that stay stable: see [`json::pretty`].
    pub json: fn(&D) -> Result<String, serde_json::Error>,
}
