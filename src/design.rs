//! A job with everything derived from it. This is the one place that runs the stages in order.

use crate::checks::{self, Finding};
use crate::job::{Index, Job};
use crate::network::Network;
use crate::study::Study;

/// A job and what follows from it. Nothing here is ever edited or saved but the job.
#[derive(Debug, Clone)]
pub struct Design {
    /// The document.
    pub job: Job,
    /// Where each thing stands in it.
    pub index: Index,
    /// What is tied to what.
    pub network: Network,
    /// What each thing sees and carries.
    pub study: Study,
    /// What is wrong, worst first.
    pub findings: Vec<Finding>,
}

impl Design {
    /// Derives everything anew from the job, which was edited.
    pub fn refresh(&mut self) {
        (self.index, _) = Index::new(&self.job);
        self.network = Network::new(&self.job, &self.index);
        self.study = Study::new(&self.job, &self.index, &self.network);
        self.findings = checks::run(&self.job, &self.index, &self.network, &self.study);
    }

    /// Derives everything from a job that was read or edited without error.
    pub fn derive(job: Job) -> Self {
        let (index, _) = Index::new(&job);
        let network = Network::new(&job, &index);
        let study = Study::new(&job, &index, &network);
        let findings = checks::run(&job, &index, &network, &study);
        Self { job, index, network, study, findings }
    }
}
