//! Where things stand and what they are part of, in the words of findings.

use super::Seen;
use crate::job::catalogue::{ControlType, FixtureType, SupplyType};
use crate::job::wiring::{CeilingBox, Control, Loop, WallBox};
use crate::job::{Kind, Subject, open};
use crate::network::{ControlAt, LoopAt};
use crate::study::{OpenStudy, Pick, RunStudy};

impl<'a> Seen<'a> {
    pub(super) fn control_at(self, at: ControlAt) -> &'a Control {
        &self.job.boxes[at.wall_box].controls[at.control]
    }

    pub(super) fn loop_at(self, at: LoopAt) -> &'a Loop {
        &self.control_at(at.control).loops[at.at]
    }

    /// The fixtures a ceiling box holds or may yet hold.
    pub(super) fn held(
        self,
        (wall_box, wired): (&WallBox, &'a Loop),
        ceiling: &'a CeilingBox,
    ) -> impl Iterator<Item = &'a FixtureType> {
        let ids = open::held(self.job, self.index, wall_box, wired, ceiling);
        ids.filter_map(move |id| self.index.fixture_type(self.job, id))
    }

    /// Whether a light hangs in a ceiling box, or is to.
    pub(super) fn lit(self, wall_box: &WallBox, wired: &Loop, ceiling: &CeilingBox) -> bool {
        open::lit(self.job, self.index, wall_box, wired, ceiling)
    }

    /// The types a control may be.
    pub(super) fn types(self, control: &Control) -> Vec<&'a ControlType> {
        control.types().into_iter().filter_map(|id| self.index.control_type(self.job, id)).collect()
    }

    /// The wall box and the loop of a position.
    pub(super) fn on(self, at: LoopAt) -> (&'a WallBox, &'a Loop) {
        (&self.job.boxes[at.control.wall_box], self.loop_at(at))
    }

    /// What is open in the part that a run is solved in.
    pub(super) fn open_of(self, study: &RunStudy) -> Option<&'a OpenStudy> {
        self.study.parts.get(self.network.runs.get(study.run)?.part)?.open.as_deref()
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

/// The type of a control that a finding holds for, where it may yet be another.
pub(super) fn if_it_is(control: &Control, part: &ControlType) -> Vec<Pick> {
    if control.open.is_empty() {
        return Vec::new();
    }
    vec![Pick { of: format!("control/{}", control.id), part: part.id.to_string() }]
}
