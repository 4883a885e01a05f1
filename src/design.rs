//! A job with everything derived from it. This is the one place that runs the stages in order.

mod pieces;
mod reach;

use crate::checks::{About, Checked, Finding};
use crate::job::edit::Edit;
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
    /// The same by what they are about.
    pub about: About,
    /// What each piece of the checks found.
    checked: Checked,
}

impl Design {
    /// Derives anew what an edit reached that was made to the job. What comes out equals a full
    /// [`derive`](Self::derive), the study to the bit.
    pub fn refresh(&mut self, edit: &Edit) {
        if let Some(reach) = reach::of(edit, &self.job, &self.index, &self.network) {
            self.refresh_within(reach);
        } else {
            (self.index, _) = Index::new(&self.job);
            self.network = Network::new(&self.job, &self.index);
            self.study = Study::new(&self.job, &self.index, &self.network);
            self.check();
        }
        self.put_together();
    }

    fn refresh_within(&mut self, mut reach: reach::Reach) {
        if reach.positions {
            (self.index, _) = Index::new(&self.job);
        }
        let mut stands = true;
        if reach.ties {
            let before = std::mem::replace(&mut self.network, Network::new(&self.job, &self.index));
            stands = before.parts == self.network.parts && before.runs.len() == self.network.runs.len();
            let other = before.runs.iter().zip(&self.network.runs).filter(|(before, now)| before != now);
            reach.parts.extend(other.map(|(_, now)| now.part));
        }
        if stands {
            let before = pieces::Sums::of(&self.study);
            let study = std::mem::take(&mut self.study);
            let touched: Vec<usize> = reach.parts.iter().copied().collect();
            // Where things stay where they are, only the sums over what was touched are made anew.
            self.study = if reach.ties || reach.positions || reach.sums {
                study.restudy(&self.job, &self.index, &self.network, &touched)
            } else {
                study.restudy_parts(&self.job, &self.index, &self.network, &touched)
            };
            if reach.judged {
                self.check();
            } else {
                let seen = (&self.job, &self.index, &self.network, &self.study);
                self.checked.anew(seen, &pieces::reached(&reach, &before, seen));
            }
        } else {
            self.study = Study::new(&self.job, &self.index, &self.network);
            self.check();
        }
    }

    /// Makes every check anew.
    fn check(&mut self) {
        self.checked = Checked::new(&self.job, &self.index, &self.network, &self.study);
    }

    /// Puts together what was found.
    fn put_together(&mut self) {
        self.findings = self.checked.findings(&self.job, &self.index, &self.network, &self.study);
        self.about = About::new(&self.findings);
    }

    /// Derives everything from a job that was read or edited without error.
    pub fn derive(job: Job) -> Self {
        let (index, _) = Index::new(&job);
        let network = Network::new(&job, &index);
        let study = Study::new(&job, &index, &network);
        let checked = Checked::new(&job, &index, &network, &study);
        let findings = checked.findings(&job, &index, &network, &study);
        let about = About::new(&findings);
        Self { job, index, network, study, findings, about, checked }
    }
}
