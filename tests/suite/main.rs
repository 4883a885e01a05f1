//! The one integration test binary.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::format_push_string,
    reason = "a test fails by panicking, in its helpers too, and may be slow"
)]

mod balance;
// mod balance_cases;
// mod balance_oracle;
mod circuit;
mod circuit_extremes;
mod circuit_laws;
mod cli;
mod figures;
mod jobs;
mod networks;
mod oracle;
mod paper;
mod random_circuits;
mod samples;
mod study;
mod support;
