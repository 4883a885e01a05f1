//! studbay plans low-voltage DC lighting for whole houses.

pub mod checks;
pub mod cli;
pub mod compare;
pub mod design;
pub mod explain;
pub mod format;
pub mod intake;
pub mod job;
pub mod network;
pub mod plan;
pub mod remedy;
pub mod schedule;
pub mod sheets;
pub mod standards;
pub mod store;
pub mod study;
pub mod terminal;
pub mod tui;
pub mod units;
pub mod working;
