//! The one integration test binary.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::format_push_string,
    clippy::similar_names,
    clippy::print_stderr,
    reason = "a test fails by panicking, in its helpers too, may be slow, and says what it measured or left out"
)]

mod accepting;
mod balance;
mod balance_cases;
mod balance_jobs;
mod balance_oracle;
mod balance_short;
mod balance_speed;
mod balancing;
mod change_order;
mod checks;
mod checks_basic;
mod checks_cases;
mod circuit;
mod circuit_extremes;
mod circuit_laws;
mod cli;
mod cli_rooms;
mod copies;
mod crew;
mod dependencies;
mod desk;
mod editor;
mod explain;
mod faces;
mod fast_entry;
mod figures;
mod finding;
mod format;
mod forms;
mod fuzzed;
mod history;
mod hostile;
mod intake;
mod jobs;
mod keep;
mod layers;
mod lengths;
mod networks;
mod oracle;
mod paper;
mod pdf;
mod person;
mod picture_views;
mod pictures;
mod prices;
mod pty;
mod random_circuits;
mod random_edits;
mod random_jobs;
mod ranges;
mod readme;
mod reels;
mod reels_oracle;
mod refresh;
mod remedies;
mod remedies_aside;
mod revisions;
mod samples;
mod sheets;
mod site;
mod site_faults;
mod site_records;
mod site_view;
mod soak;
mod study;
mod support;
mod takeoff;
mod terminal;
mod trying;
mod views;
mod work;
