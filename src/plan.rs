//! Plans: proposals for a job, each of which yields an [`Edit`](crate::job::edit::Edit) when it is taken.
//!
//! They are pure functions of a job. Nothing here changes one, reads a file or draws.

pub mod delete;
pub mod grid;
pub mod ids;
pub mod light;
pub mod place;
pub mod propose;
pub mod repeat;
pub mod takeover;
pub mod transfer;
