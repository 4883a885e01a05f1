//! The one integration test binary.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::format_push_string,
    reason = "a test fails by panicking, in its helpers too, and may be slow"
)]

mod balance;
mod balance_cases;
mod balance_jobs;
mod balance_oracle;
mod balance_speed;
mod checks_basic;
mod circuit;
mod circuit_extremes;
mod circuit_laws;
mod cli;
mod figures;
mod history;
mod jobs;
mod keep;
mod lengths;
mod networks;
mod oracle;
mod paper;
mod random_circuits;
mod random_jobs;
mod samples;
mod study;
mod support;
mod terminal;
