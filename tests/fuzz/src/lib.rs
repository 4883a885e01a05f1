//! What may come from outside, as functions of any bytes. Each panics where the program would be wrong.
//!
//! The fuzz targets call these, and the test suite calls them on what was once found (`found/TARGET/`) and on the
//! sample jobs, so that a mend stays one.

mod inputs;
pub mod words;

pub use inputs::{job, keys, log, prices, readings, table, typed};

use std::sync::OnceLock;
use std::time::Duration;

/// The time this thread has worked: what others do on the machine is not the program's fault.
fn worked() -> Duration {
    let time = rustix::time::clock_gettime(rustix::time::ClockId::ThreadCPUTime);
    Duration::try_from(time).unwrap_or_default()
}

/// Tries an input, which may not take a second. `STUDBAY_FUZZ_HANG` gives a build in a hurry more of them.
pub fn within_a_second(input: fn(&[u8]), data: &[u8]) {
    static LONGEST: OnceLock<Duration> = OnceLock::new();
    let longest = LONGEST.get_or_init(|| {
        let seconds = std::env::var("STUDBAY_FUZZ_HANG").ok().and_then(|seconds| seconds.parse().ok());
        Duration::from_secs(seconds.unwrap_or(1))
    });
    let start = worked();
    input(data);
    let took = worked().saturating_sub(start);
    assert!(took < *longest, "this took {took:?}");
}
