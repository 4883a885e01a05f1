//! How much was done, counted: so that a test can hold work to what an edit or a screen asks for, on any machine.

use std::cell::Cell;

/// What is counted.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Work {
    /// Circuits solved.
    Solves,
    /// Rows of tables and outlines built.
    Rows,
    /// Pieces of the checks made.
    Checks,
}

thread_local! {
    static DONE: [Cell<u64>; 3] = const { [Cell::new(0), Cell::new(0), Cell::new(0)] };
}

/// Counts one piece of work of this thread.
pub(crate) fn count(work: Work) {
    DONE.with(|done| {
        let done = &done[work as usize];
        done.set(done.get().wrapping_add(1));
    });
}

/// How much work of a kind this thread did in `act`, and what that gave.
pub fn during<T>(work: Work, act: impl FnOnce() -> T) -> (u64, T) {
    let now = || DONE.with(|done| done[work as usize].get());
    let before = now();
    let given = act();
    (now().wrapping_sub(before), given)
}
