//! Where things stand and what they are part of, in the words of findings.

use super::Seen;
use crate::job::catalogue::{FixtureType, SupplyType};
use crate::job::wiring::{CeilingBox, Control, Loop};
use crate::job::{Kind, Subject};
use crate::network::{ControlAt, LoopAt};
use crate::study::RunStudy;

impl<'a> Seen<'a> {
    pub(super) fn control_at(self, at: ControlAt) -> &'a Control {
        &self.job.boxes[at.wall_box].controls[at.control]
    }

    pub(super) fn loop_at(self, at: LoopAt) -> &'a Loop {
        &self.control_at(at.control).loops[at.at]
    }

    /// The fixtures a ceiling box holds or may yet hold.
    pub(super) fn held(self, ceiling: &'a CeilingBox) -> impl Iterator<Item = &'a FixtureType> {
        let ids = ceiling.fixture.iter().chain(&ceiling.open);
        ids.filter_map(move |id| self.index.fixture_type(self.job, id))
    }

    /// The supply type of the output a run is on.
    pub(super) fn supply_of(self, study: &RunStudy) -> Option<&'a SupplyType> {
        let output = self.network.runs.get(study.run)?.output.as_ref()?;
        let (_, supply) = self.index.supply(self.job, &output.supply)?;
        self.index.supply_type(self.job, &supply.part)
    }

    pub(super) fn run_subject(self, study: &RunStudy) -> Subject {
        Subject::new(Kind::Cable, &self.network.runs[study.run].id)
    }
}

/// The highest volts that an output of this type gives.
pub(super) fn highest_volts(part: &SupplyType) -> f64 {
    part.no_load_volts.unwrap_or(part.volts).get().max(part.volts.get())
}

/// Several words, with commas.
pub(super) fn list(items: impl Iterator<Item = String>) -> String {
    items.collect::<Vec<_>>().join(", ")
}
