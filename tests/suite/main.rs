//! The one integration test binary.
#![expect(clippy::unwrap_used, clippy::expect_used, reason = "a test fails by panicking")]

mod jobs;
mod support;
