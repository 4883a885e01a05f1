//! The one integration test binary.

mod circuit;
mod jobs;
mod samples;
mod study;
mod support;
