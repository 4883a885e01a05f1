//! The count of steps that a search may take, and who looks on.

use std::fmt;

/// How far a search has come.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Progress {
    /// Steps taken.
    pub done: u64,
    /// Steps allowed.
    pub most: u64,
}

/// Steps between two calls of the one who looks on.
const EVERY: u64 = 20_000;

/// The steps a search may take. Whoever looks on may stop it early; without one it is deterministic.
pub struct Budget<'a> {
    done: u64,
    most: u64,
    told: u64,
    stopped: bool,
    watch: Option<&'a mut dyn FnMut(Progress) -> bool>,
}

impl fmt::Debug for Budget<'_> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_struct("Budget").field("done", &self.done).field("most", &self.most).finish_non_exhaustive()
    }
}

impl<'a> Budget<'a> {
    /// A budget of so many steps.
    pub fn new(most: u64) -> Self {
        Self { done: 0, most, told: 0, stopped: false, watch: None }
    }

    /// Calls `watch` now and then; the search ends early, with the best it has, once it says `false`.
    #[must_use]
    pub fn watched(self, watch: &'a mut dyn FnMut(Progress) -> bool) -> Self {
        Self { watch: Some(watch), ..self }
    }

    /// Takes steps, and says whether there are any left.
    pub(super) fn spend(&mut self, steps: u64) -> bool {
        self.done = self.done.saturating_add(steps);
        if self.done - self.told >= EVERY {
            self.told = self.done;
            let progress = self.progress();
            if let Some(watch) = &mut self.watch
                && !watch(progress)
            {
                self.stopped = true;
            }
        }
        self.left() > 0
    }

    /// Steps left.
    pub(super) fn left(&self) -> u64 {
        if self.stopped { 0 } else { self.most.saturating_sub(self.done) }
    }

    /// How far it has come.
    pub fn progress(&self) -> Progress {
        Progress { done: self.done.min(self.most), most: self.most }
    }

    /// Sets aside a share of what is left for one part of the search: gives the steps after which it must end.
    pub(super) fn share(&self, percent: u64) -> u64 {
        self.done + self.left() / 100 * percent
    }

    /// Takes a step unless the share is used up.
    pub(super) fn within(&mut self, end: u64, steps: u64) -> bool {
        self.spend(steps) && self.done < end
    }
}
