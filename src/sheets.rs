//! Paper and files: tables and figures as paged text, CSV and JSON.
//!
//! It takes [`Table`]s with a [`Heading`] and gives bytes. It reads no clock and no file: date and sizes are passed in.

pub mod cautions;
pub mod csv;
mod heading;
pub mod json;
mod list;
pub mod pictures;
pub mod text;

pub use heading::Heading;
pub use list::SHEETS;
pub use text::Paper;

use crate::schedule::Table;

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
