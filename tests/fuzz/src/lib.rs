//! What may come from outside, as functions of any bytes. Each panics where the program would be wrong.
//!
//! The fuzz targets call these, and the test suite calls them on what was once found (`found/TARGET/`) and on the
//! sample jobs, so that a mend stays one.

mod inputs;
pub mod words;

pub use inputs::{job, keys, log, prices, readings, table, typed, within_a_second};
