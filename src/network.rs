//! The network of a job: which terminal is tied to which, by what cable, from output to fixture.
//!
//! It takes a [`Job`](crate::job::Job) and gives a graph whose nodes are electrical terminals (a box is only a place)
//! and whose edges are cables and the splices and jumpers between them. It knows no volts. Orphans, boxes that can't tell
//! which feed they are on, and outputs that meet are found here, on the graph.

mod build;
mod estimated;
mod flaw;
mod length;
mod run;

pub use flaw::NetworkFlaw;
pub use length::{Basis, CableLength, Lengths, LoopLength};
pub use run::{ControlAt, FeedAt, LoopAt, Part, Run};

use crate::job::wiring::OutputRef;
use petgraph::graph::{NodeIndex, UnGraph};
use std::collections::HashMap;

/// An electrical terminal: a pair of conductors at one point.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
pub enum Terminal {
    /// An output of a supply.
    Output(OutputRef),
    /// The end of a home run in a panel, on no output yet.
    Unlanded(FeedAt),
    /// The end of a feed in its wall box, with everything spliced to it there.
    Feed(FeedAt),
    /// The side of a control that its loops leave from.
    Control(ControlAt),
    /// A ceiling box, where its loop's two tails and its fixture meet.
    Ceiling(LoopAt, usize),
}

/// What ties two terminals together.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Tie {
    /// A home run or an onward feed.
    Feed(FeedAt),
    /// A control on its feed.
    Jumper(ControlAt),
    /// A leg of a loop; the one past the last ceiling box is the return.
    Leg(LoopAt, usize),
    /// A control link that joins circuits: group and link by position.
    Link(usize, usize),
}

/// The network of a whole job.
#[derive(Debug, Clone)]
pub struct Network {
    /// Terminals and what ties them together.
    pub graph: UnGraph<Terminal, Tie>,
    /// Home runs with all that hangs on each, in the order of the file.
    pub runs: Vec<Run>,
    /// Runs that must be solved together; nearly always one each.
    pub parts: Vec<Part>,
    /// The run a feed belongs to, with the feed's position on it.
    pub run_of_feed: HashMap<FeedAt, (usize, usize)>,
    /// The run a control is on.
    pub run_of_control: HashMap<ControlAt, usize>,
    /// What is wrong with the way things are tied together.
    pub flaws: Vec<NetworkFlaw>,
}

impl Network {
    /// The run of that home run's cable id.
    pub fn run(&self, id: &crate::job::Id) -> Option<usize> {
        self.runs.iter().position(|run| run.id.same(id))
    }

    /// The terminal at a node.
    pub fn terminal(&self, node: NodeIndex) -> Option<&Terminal> {
        self.graph.node_weight(node)
    }
}
