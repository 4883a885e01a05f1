//! The `studbay` program.
fn main() {}
