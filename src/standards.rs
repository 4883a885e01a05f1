//! Published tables, each value as printed, with its source beside it.

pub mod class2;
pub mod conductor;
