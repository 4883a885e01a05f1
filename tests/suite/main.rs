//! The one integration test binary.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::format_push_string,
    reason = "a test fails by panicking, in its helpers too, and may be slow"
)]

mod circuit;
mod circuit_extremes;
mod circuit_laws;
mod cli;
mod figures;
mod jobs;
mod lengths;
mod networks;
mod oracle;
mod paper;
mod picture_views;
mod pictures;
mod random_circuits;
mod random_jobs;
mod samples;
mod study;
mod support;
mod terminal;
