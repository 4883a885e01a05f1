//! The electrical study: what each fixture sees and what each cable, output and panel carries.
//!
//! A pure function of the job and its network. It is made of parts, one per output's network that has to be solved as
//! one; [`Study::restudy`] makes the parts an edit touched anew, and the sums over them in fixed order, so that a study
//! after an edit equals a full one to the bit. A figure that can't be computed is `None`, with the reason beside it.

pub mod circuit;
mod gather;
mod limit;
mod output;
mod part;
mod reason;
mod string;

pub use limit::{RunLimits, run_limits};
pub use output::{OutputStudy, PanelStudy};
pub use part::{CableStudy, LightStudy, Outcome, PartStudy, RunStudy};
pub use reason::Reason;
pub use string::StringStudy;

use crate::job::{Index, Job};
use crate::network::Network;

/// The study of a whole job.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Study {
    /// One for each part of the network, in its order.
    pub parts: Vec<PartStudy>,
    /// Every output of every supply, in the order of the file.
    pub outputs: Vec<OutputStudy>,
    /// Every panel, in the order of the file.
    pub panels: Vec<PanelStudy>,
}

impl Study {
    /// Studies the whole job.
    pub fn new(job: &Job, index: &Index, network: &Network) -> Self {
        let parts = (0..network.parts.len()).map(|part| part::study(job, index, network, part)).collect();
        Self::sum(job, index, network, parts)
    }

    /// Studies some parts anew and keeps the others; the network must have the same parts as when they were made.
    #[must_use]
    pub fn restudy(mut self, job: &Job, index: &Index, network: &Network, touched: &[usize]) -> Self {
        for &number in touched {
            if let Some(slot) = self.parts.get_mut(number) {
                *slot = part::study(job, index, network, number);
            }
        }
        Self::sum(job, index, network, self.parts)
    }

    fn sum(job: &Job, index: &Index, network: &Network, parts: Vec<PartStudy>) -> Self {
        let outputs = output::outputs(job, index, network, &parts);
        let panels = output::panels(job, index, &outputs);
        Self { parts, outputs, panels }
    }

    /// The study of a run by its position in the network.
    pub fn run(&self, network: &Network, run: usize) -> Option<&RunStudy> {
        let part = network.runs.get(run)?.part;
        self.parts.get(part)?.runs.iter().find(|study| study.run == run)
    }

    /// Every run in the network's order.
    pub fn runs<'a>(&'a self, network: &'a Network) -> impl Iterator<Item = &'a RunStudy> {
        (0..network.runs.len()).filter_map(|run| self.run(network, run))
    }
}
