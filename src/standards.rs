//! Published tables, each value as printed, with its source beside it.

pub mod ampacity;
pub mod box_fill;
pub mod bus;
pub mod class2;
pub mod conductor;
pub mod light;
