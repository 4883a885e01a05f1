//! Plans: proposals for a job, each of which yields an [`Edit`](crate::job::edit::Edit) when it is taken.
//!
//! They are pure functions of a job. Nothing here changes one, reads a file or draws. A proposal that claims to be the
//! best comes with its proof, or with how far at most it is from it.

pub mod balance;
pub mod delete;
pub mod grid;
pub mod light;
pub mod next;
pub mod packing;
pub mod place;
pub mod propose;
pub mod reels;
pub mod repeat;
pub mod slots;
pub mod tags;
pub mod takeover;
pub mod transfer;
