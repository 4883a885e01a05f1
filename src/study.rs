//! Studies: pure functions of the job and its network.
pub mod circuit;
