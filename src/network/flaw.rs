//! What can be wrong with the way things are tied together.

use super::run::{ControlAt, LoopAt};
use crate::job::Id;
use crate::job::wiring::OutputRef;

/// Something wrong with the network, found on the graph.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum NetworkFlaw {
    /// A wall box with controls or an allowance that nothing feeds.
    BoxWithoutFeed {
        /// The wall box by position.
        wall_box: usize,
    },
    /// A control in a box with several feeds that doesn't say which it is on.
    FeedNotNamed {
        /// The control.
        control: ControlAt,
    },
    /// An allowance in a box with several feeds: it can't be told which carries it.
    AllowanceOnManyFeeds {
        /// The wall box by position.
        wall_box: usize,
    },
    /// A control that sits in a box with nothing on it, in no group.
    ControlWithoutLoop {
        /// The control.
        control: ControlAt,
    },
    /// A home run that is on no output.
    RunOnNoOutput {
        /// Its run by position.
        run: usize,
    },
    /// Outputs that meet somewhere in the network.
    Interconnected {
        /// The outputs.
        outputs: Vec<OutputRef>,
        /// The runs.
        runs: Vec<usize>,
        /// The cable or cables by which they meet.
        by: Vec<Id>,
    },
    /// A control link between circuits of different outputs whose isolation the catalogue doesn't state.
    IsolationUnknown {
        /// The link's cable.
        link: Id,
        /// The outputs on its two sides.
        outputs: Vec<OutputRef>,
    },
    /// A loop fed from both ends with its conductors exchanged at one of them.
    DeadShort {
        /// The loop.
        at: LoopAt,
    },
    /// One run is fed a second time, from another run of the same output.
    DoubleFeed {
        /// The runs.
        runs: Vec<usize>,
        /// The cables by which they meet.
        by: Vec<Id>,
    },
}
