//! Proposals with their proof: how to lay a job out better, and how far at most from the best that is.
//!
//! A proposal is a pure function of the job: it changes nothing, and the edit that accepts it stands beside it.

pub mod balance;
pub mod packing;
pub mod slots;
