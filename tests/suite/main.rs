//! The one integration test binary.

mod circuit;
