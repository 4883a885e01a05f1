//! studbay plans low-voltage DC lighting for whole houses.

pub mod study;
pub mod terminal;
