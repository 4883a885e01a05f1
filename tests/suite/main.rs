//! The one integration test binary.
#![expect(
    clippy::expect_used,
    reason = "clippy.toml frees test functions only, not what they share"
)]

mod circuit;
mod circuit_extremes;
mod circuit_laws;
mod figures;
mod networks;
mod oracle;
mod random_circuits;
