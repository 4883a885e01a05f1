//! Published tables, each value as printed, with its source beside it.

pub mod conductor;
