//! The cable schedule: every cable to pull, from where to where.

mod line;
mod paper;

pub use paper::{table, table_of};

use super::narrow::Narrow;
use crate::design::Design;
use serde::Serialize;

/// The document of the sheet `cables`.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Cables {
    /// Every cable.
    pub cables: Vec<CableEntry>,
    /// Length of each cable type.
    pub totals: Vec<CableTotal>,
}

/// A cable in [`Cables`].
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct CableEntry {
    /// What is written on its ends.
    pub tag: String,
    /// `home-run`, `loop`, `link` or `bus`. A cable that feeds one wall box onward from another is a link.
    pub kind: &'static str,
    /// Its cable type.
    pub cable: String,
    /// Where it comes from: an output, a panel or a wall box.
    pub from: String,
    /// Where it goes: a wall box, or the ceiling box a loop ends at.
    pub to: String,
    /// The length it counts with in feet: pulled, else measured, else estimated; null while it is unknown.
    pub length_ft: Option<f64>,
    /// Whether the length was measured, or is that of the cable that was pulled; null while it is unknown.
    pub measured: Option<bool>,
    /// Its length in feet as reckoned from places; null while that is unknown.
    pub estimated_ft: Option<f64>,
    /// The length in feet that was measured to cut it by; null where nobody did.
    pub measured_ft: Option<f64>,
    /// Its length in feet by the foot marks of what was pulled; null while it was not, or nobody read them.
    pub pulled_ft: Option<f64>,
    /// What each conductor does.
    pub conductors: Vec<ConductorEntry>,
    /// The legs of a loop in pull order.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub legs: Vec<LegEntry>,
}

/// A conductor in [`Cables`].
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct ConductorEntry {
    /// How it is marked.
    pub name: String,
    /// What it does.
    pub function: &'static str,
}

/// A leg of a loop in [`Cables`].
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct LegEntry {
    /// The box it comes from.
    pub from: String,
    /// The box it goes to.
    pub to: String,
    /// Its length in feet; null while it is unknown.
    pub length_ft: Option<f64>,
}

/// The length of one cable type in [`Cables`].
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct CableTotal {
    /// The cable type.
    pub cable: String,
    /// Its length in feet; null if any cable's is unknown.
    pub length_ft: Option<f64>,
    /// Cables of it.
    pub count: usize,
    /// Cables of it whose length is unknown.
    pub unknown: usize,
    /// What was pulled of it in feet; null while nothing was.
    pub pulled_ft: Option<f64>,
    /// Cables of it that were pulled and whose foot marks were read.
    pub pulled: usize,
}

fn kind_order(kind: &str) -> usize {
    ["home-run", "loop", "link", "bus"].iter().position(|k| *k == kind).unwrap_or(4)
}

/// The document for machines.
pub fn document(design: &Design) -> Cables {
    document_of(design, &Narrow::ALL)
}

/// The document for a part of the house.
pub fn document_of(design: &Design, narrow: &Narrow) -> Cables {
    let lines = line::lines(design, narrow);
    let totals = line::totals(design, &lines).into_iter().map(|sum| sum.total).collect();
    Cables { cables: lines.into_iter().map(|line| line.entry).collect(), totals }
}
