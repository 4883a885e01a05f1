//! Checks: what is wrong with a job, with the figure found, its limit, the source of the limit, and what to do.
//!
//! A check reads the job, the network and the study; it computes no figure of its own that a study should have. Each
//! family is a file with a function that pushes findings; [`CHECKS`] lists every code there is.

mod control;
mod electrical;
mod finding;
mod list;
mod network;
mod panel;
mod supply;

pub use finding::{Finding, Severity, Source, Unit};
pub use list::{CHECKS, Check};

use crate::job::{Index, Job};
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

/// Runs every check; worst first, then in the order of the job.
pub fn run(job: &Job, index: &Index, network: &Network, study: &Study) -> Vec<Finding> {
    let seen = Seen { job, index, network, study };
    let mut findings = Vec::new();
    network::check(seen, &mut findings);
    electrical::check(seen, &mut findings);
    supply::check(seen, &mut findings);
    panel::check(seen, &mut findings);
    control::check(seen, &mut findings);
    findings.sort_by_key(|finding| finding.severity);
    findings
}
