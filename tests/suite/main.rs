//! The one integration test binary.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::format_push_string,
    clippy::similar_names,
    reason = "a test fails by panicking, in its helpers too, and may be slow"
)]

mod balance;
mod balance_cases;
mod balance_jobs;
mod balance_oracle;
mod balance_speed;
mod checks;
mod checks_basic;
mod circuit;
mod circuit_extremes;
mod circuit_laws;
mod cli;
mod cli_rooms;
mod explain;
mod figures;
mod history;
mod intake;
mod jobs;
mod keep;
mod layers;
mod lengths;
mod networks;
mod oracle;
mod paper;
mod pictures;
mod random_circuits;
mod random_jobs;
mod readme;
mod remedies;
mod samples;
mod sheets;
mod study;
mod support;
mod terminal;
mod views;
