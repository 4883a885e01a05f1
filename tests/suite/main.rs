//! The one integration test binary.

mod circuit;
mod jobs;
mod study;
mod support;
