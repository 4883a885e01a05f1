//! The one integration test binary.
#![allow(clippy::unwrap_used, clippy::expect_used, reason = "a test fails by panicking, in its helpers too")]

mod circuit;
mod cli;
mod jobs;
mod paper;
mod samples;
mod study;
mod support;
