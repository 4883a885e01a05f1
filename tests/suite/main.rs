//! The one integration test binary.

mod jobs;
mod support;
