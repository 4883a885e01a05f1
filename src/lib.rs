//! studbay plans low-voltage DC lighting for whole houses.

pub mod job;
pub mod network;
pub mod standards;
pub mod study;
pub mod terminal;
pub mod units;
