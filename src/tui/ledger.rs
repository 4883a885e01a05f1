//! Where each change is kept before it counts.

use crate::job::history::Entry;
use std::fmt;

/// Why a change could not be kept; the change is then not made.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("{0}")]
pub struct NotKept(pub String);

/// Keeps each change before the frame that shows it.
pub trait Ledger: fmt::Debug {
    /// Keeps one change.
    ///
    /// # Errors
    /// [`NotKept`] when it can't; the change must then not count.
    fn keep(&mut self, entry: &Entry<'_>) -> Result<(), NotKept>;
}

/// Keeps nothing, for jobs that are only looked at or tried out.
#[derive(Debug, Clone, Copy, Default)]
pub struct NoLedger;

impl Ledger for NoLedger {
    fn keep(&mut self, _: &Entry<'_>) -> Result<(), NotKept> {
        Ok(())
    }
}
