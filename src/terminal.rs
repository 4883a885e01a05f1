//! The terminal floor: what the program needs of a terminal, knowing nothing of jobs.

pub mod caps;
mod glyph;
mod grid;
mod moves;
mod paint;
mod pen;
mod scroll;
pub mod writer;

pub use caps::{Capabilities, Colour, Repertoire};
pub use writer::Screen;
