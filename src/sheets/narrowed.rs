//! The sheets that can be printed for a part of the house.

use super::json;
use crate::design::Design;
use crate::schedule::narrow::Narrow;
use crate::schedule::{Table, cables, directory};

/// A sheet that can be narrowed; `D` is the studied job.
#[derive(Debug)]
pub struct Narrowed<D> {
    /// The name of the sheet.
    pub name: &'static str,
    /// By what it can be narrowed: `level`, `panel`, `cable`.
    pub by: &'static [&'static str],
    /// Its tables for a part of the house.
    pub tables: fn(&D, &Narrow) -> Vec<Table>,
    /// Its document for a part of the house.
    pub json: fn(&D, &Narrow) -> Result<String, serde_json::Error>,
}

/// The sheets that can be narrowed.
pub const NARROWED: &[Narrowed<Design>] = &[
    Narrowed {
        name: "cables",
        by: &["level", "panel", "cable"],
        tables: |design, narrow| vec![cables::table_of(design, true, narrow)],
        json: |design, narrow| json::pretty(&cables::document_of(design, narrow)),
    },
    Narrowed {
        name: "directory",
        by: &["panel"],
        tables: directory::tables_of,
        json: |design, narrow| json::pretty(&directory::document_of(design, narrow)),
    },
];
