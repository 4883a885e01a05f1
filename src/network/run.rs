//! Home runs and what hangs on them.

use crate::job::Id;
use crate::job::wiring::OutputRef;

/// A feed by position: its wall box, and which of that box's feeds.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct FeedAt {
    /// The wall box.
    pub wall_box: usize,
    /// The feed in it.
    pub feed: usize,
}

/// A control by position.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct ControlAt {
    /// The wall box.
    pub wall_box: usize,
    /// The control in it.
    pub control: usize,
}

/// A loop by position.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct LoopAt {
    /// The control it leaves from.
    pub control: ControlAt,
    /// The loop on it.
    pub at: usize,
}

/// A home run with all that hangs on it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Run {
    /// The id of the home run's cable, which is the run's.
    pub id: Id,
    /// The output it is on, if it is on one.
    pub output: Option<OutputRef>,
    /// The panel it comes from.
    pub panel: Id,
    /// The home run itself, then every feed that goes onward from it, each after the one it comes from.
    pub feeds: Vec<FeedAt>,
    /// The controls on these feeds, each with the position of its feed in `feeds`.
    pub controls: Vec<(usize, ControlAt)>,
    /// Wall boxes whose allowance this run carries, each with the position of its feed in `feeds`.
    pub allowances: Vec<(usize, usize)>,
    /// The part that it is solved in.
    pub part: usize,
}

/// Runs that are tied together somewhere beyond their outputs and so have to be solved as one.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Part {
    /// Its runs.
    pub runs: Vec<usize>,
    /// It reaches more than one output, or an output and a run that is on none: nothing in it can be computed.
    pub interconnected: bool,
}
