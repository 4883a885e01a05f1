//! What is shown and printed, as rows of typed cells: one definition for screen, paper, spreadsheet and PDF.
//!
//! It takes what the study found and gives [`Table`]s. A table knows what its columns are and which of them matter
//! most; it knows nothing of pages, colours, files or keys. [`Layout`] fits its columns to a width for whoever draws.

mod cell;
mod layout;
mod table;

pub use cell::{Cell, Load, Weight};
pub use layout::{Layout, Placed, Widths};
pub use table::{Align, Column, Row, Section, Table, cards};

pub mod arrangement;
pub mod bid;
mod by_room;
pub mod cables;
pub mod canvas;
pub mod costs;
pub mod directory;
pub mod figures;
pub mod findings;
pub mod inspection;
pub mod loading;
pub mod materials;
mod money;
pub mod names;
pub mod narrow;
pub mod open;
pub mod options;
pub mod outline;
pub mod parts;
pub mod picture;
pub mod plan;
pub mod proposal;
pub mod punch;
pub mod readings;
pub mod reels;
pub mod revision;
pub mod riser;
pub mod rough_in;
pub mod service;
pub mod site_rows;
pub mod slots;
pub mod tags;
pub mod trim;
pub mod voltages;
