//! Two states of a job: what a crew needs to know to get from the one to the other.
//!
//! It takes two designs and gives typed changes, by room. Things are the same where their kind and id are, so that what
//! was only given another name is said to be renamed. What happened on site, and the tags that were stored, are no
//! changes of the plan and are left out; how far a thing was stands beside its change, since that decides what it costs.

mod changes;
mod effects;
mod order;
mod things;

pub use changes::{Change, ChangeKind};
pub use effects::{FindingChange, LoadChange, PartChange};
pub use order::{Order, OrderLine, OrderTask, OrderWhy};

use crate::design::Design;
use crate::job::Subject;
use std::collections::BTreeSet;

/// What is other in the new state of a job.
#[derive(Debug, Clone, PartialEq)]
pub struct Comparison {
    /// Every change, by room as the new job lists them; what is in no room last.
    pub changes: Vec<Change>,
    /// Outputs and panels that are loaded otherwise.
    pub loads: Vec<LoadChange>,
    /// Findings that are new or gone, but for advice.
    pub findings: Vec<FindingChange>,
    /// Parts and cable of which more or less is needed.
    pub parts: Vec<PartChange>,
    /// What it costs.
    pub order: Order,
}

/// Compares two states of a job.
pub fn compare(old: &Design, new: &Design) -> Comparison {
    let changes = changes::changes(old, new);
    let order = order::order(old, new, &changes);
    Comparison {
        loads: effects::loads(old, new),
        findings: effects::findings(old, new),
        parts: effects::parts(old, new),
        order,
        changes,
    }
}

impl Comparison {
    /// Whether the two are the same to everybody who builds the house.
    pub fn is_empty(&self) -> bool {
        self.changes.is_empty() && self.loads.is_empty() && self.findings.is_empty() && self.parts.is_empty()
    }

    /// Everything that is other, each thing once.
    pub fn subjects(&self) -> BTreeSet<&Subject> {
        self.changes.iter().map(|change| &change.subject).collect()
    }
}
