//! Checks: what is wrong with a job, with the figure found, its limit, the source of the limit, and what to do.
//!
//! A check reads the job, the network and the study; it computes no figure of its own that a study should have. Each
//! family is a file with functions that push findings, and [`Piece`] lists what each is made for, so that an edit makes
//! only those anew that it reached; [`CHECKS`] lists every code there is. What helps against a
//! finding is tried out only when it is shown, in the wing `remedy`.

mod about;
mod accept;
mod boxes;
mod bus;
mod cable;
mod carry;
mod control;
mod electrical;
mod finding;
mod green;
mod group;
mod list;
mod network;
mod panel;
mod piece;
mod place;
mod room;
mod supply;

pub use about::About;
pub use accept::{accept, refuse};
pub use boxes::box_fill;
pub use finding::{Finding, Severity, Unit};
pub use group::{Group, grouped};
pub use list::{CHECKS, Check, Source};
pub use piece::{Checked, Piece};

use crate::job::{Index, Job, Subject};
use crate::network::Network;
use crate::study::Study;

/// What every check may look at.
#[derive(Clone, Copy)]
struct Seen<'a> {
    job: &'a Job,
    index: &'a Index,
    network: &'a Network,
    study: &'a Study,
}

impl Seen<'_> {
    /// A finding of a check, without figures so far.
    fn find(
        self,
        check: &Check,
        subject: Subject,
        what: impl Into<String>,
        remedy: impl Into<String>,
    ) -> Finding {
        Finding {
            code: check.code,
            severity: check.severity,
            cause: subject.clone(),
            subject,
            what: what.into(),
            found: None,
            limit: None,
            unit: Unit::None,
            source: check.source.under(self.job.settings.code_edition),
            remedy: remedy.into(),
            choice: Vec::new(),
            accepted: None,
        }
    }
}

/// Runs every check; worst first, then in the order of the job, and what somebody accepted last.
pub fn run(job: &Job, index: &Index, network: &Network, study: &Study) -> Vec<Finding> {
    Checked::new(job, index, network, study).findings(job, index, network, study)
}
