//! The electrical study: what each fixture sees and what each cable, output and panel carries.
//!
//! A pure function of the job and its network. It is made of parts, one per output's network that has to be solved as
//! one; [`Study::restudy`] makes the parts an edit touched anew, and the sums over them in fixed order, so that a study
//! after an edit equals a full one to the bit. A figure that can't be computed is `None`, with the reason beside it.

mod choice;
pub mod circuit;
mod ends;
mod extreme;
mod gather;
mod joint;
mod light;
mod limit;
mod open;
mod output;
mod part;
mod range;
mod reading;
mod reason;
mod string;
mod sweep;

pub use choice::{Choice, MOST_CORNERS, Pick, in_words, of_words};
pub use ends::{EndOff, either_end, may_near};
pub use light::RoomStudy;
pub use limit::{RunLimits, record_limits, run_limits};
pub use open::{OpenStudy, WithOption};
pub use output::{OutputRanges, OutputStudy, PanelRanges, PanelStudy};
pub use part::{CableStudy, LightStudy, Outcome, PartStudy, RunStudy};
pub use range::{Of, Range, RunRanges};
pub use reason::Reason;
pub use string::StringStudy;

use crate::job::{Index, Job, Kind, Spot};
use crate::network::Network;
use crate::working::{Off, Recorder};
use choice::Scratch;
use std::collections::BTreeSet;

/// The study of a whole job.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Study {
    /// One for each part of the network, in its order.
    pub parts: Vec<PartStudy>,
    /// Every output of every supply, in the order of the file.
    pub outputs: Vec<OutputStudy>,
    /// Every panel, in the order of the file.
    pub panels: Vec<PanelStudy>,
    /// Every room, in the order of the file.
    pub rooms: Vec<RoomStudy>,
}

impl Study {
    /// Studies the whole job.
    pub fn new(job: &Job, index: &Index, network: &Network) -> Self {
        Self::recorded(job, index, network, &mut Off)
    }

    /// Studies the whole job and takes down how each figure came about. The figures are those of [`Study::new`] to the
    /// bit.
    pub fn recorded<R: Recorder>(job: &Job, index: &Index, network: &Network, recorder: &mut R) -> Self {
        let mut scratch = Scratch::default();
        let parts = (0..network.parts.len())
            .map(|part| open::study((job, index, network), part, &mut scratch, recorder))
            .collect();
        Self::sum(job, index, network, parts, recorder)
    }

    /// Studies some parts anew and keeps the others; the network must have the same parts as when they were made.
    #[must_use]
    pub fn restudy(mut self, job: &Job, index: &Index, network: &Network, touched: &[usize]) -> Self {
        let mut scratch = Scratch::default();
        for &number in touched {
            if let Some(slot) = self.parts.get_mut(number) {
                *slot = open::study((job, index, network), number, &mut scratch, &mut Off);
            }
        }
        Self::sum(job, index, network, self.parts, &mut Off)
    }

    /// Studies some parts anew, and of the sums over them only those that they are in. To be used where nothing has
    /// come or gone since the study was made, no light is in another room, and no catalogue entry, setting, room or
    /// panel changed; lights of these parts may hang that did not, and the other way round.
    #[must_use]
    pub fn restudy_parts(mut self, job: &Job, index: &Index, network: &Network, touched: &[usize]) -> Self {
        let (mut panels, mut rooms) = (BTreeSet::new(), BTreeSet::new());
        let mut scratch = Scratch::default();
        for &number in touched {
            let Some(slot) = self.parts.get_mut(number) else { continue };
            *slot = open::study((job, index, network), number, &mut scratch, &mut Off);
            rooms.extend(rooms_of(job, index, network, number));
        }
        let runs: Vec<usize> = touched
            .iter()
            .filter_map(|&part| network.parts.get(part))
            .flat_map(|part| part.runs.iter().copied())
            .collect();
        for output in &mut self.outputs {
            if output.runs.iter().any(|run| runs.contains(run)) {
                output::output_anew(job, index, network, &self.parts, output);
                if let Some(Spot::Panel(panel)) = index.spot(Kind::Panel, &output.panel) {
                    panels.insert(panel);
                }
            }
        }
        for at in panels {
            if let (Some(panel), Some(study)) = (job.panels.get(at), self.panels.get_mut(at)) {
                *study = output::panel_anew((job, index, network), panel, &self.parts, &self.outputs);
            }
        }
        let lit = light::lit_by(job, index, network, touched);
        for (level, room) in rooms {
            let at = job.levels.iter().take(level).map(|level| level.rooms.len()).sum::<usize>() + room;
            if let (Some(entry), Some(study)) =
                (job.levels.get(level).and_then(|level| level.rooms.get(room)), self.rooms.get_mut(at))
            {
                light::room_anew((job, index, network), &self.parts, entry, &lit, study);
            }
        }
        self
    }

    /// The circuit that a part is solved as, for another solver to solve; `None` where something is missing for it.
    pub fn circuit(job: &Job, index: &Index, network: &Network, part: usize) -> Option<circuit::Circuit> {
        Some(gather::gather(job, index, network, part, &mut Off).ok()?.circuit)
    }

    fn sum<R: Recorder>(
        job: &Job,
        index: &Index,
        network: &Network,
        parts: Vec<PartStudy>,
        recorder: &mut R,
    ) -> Self {
        let outputs = output::outputs(job, index, network, &parts, recorder);
        let panels = output::panels((job, index, network), &parts, &outputs, recorder);
        let rooms = light::rooms(job, index, network, &parts, recorder);
        Self { parts, outputs, panels, rooms }
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

/// The rooms that a part lights or may light, by level and position.
pub fn rooms_of(job: &Job, index: &Index, network: &Network, part: usize) -> BTreeSet<(usize, usize)> {
    let runs = network.parts.get(part).map(|part| part.runs.as_slice()).unwrap_or_default();
    let controls = runs.iter().filter_map(|&run| network.runs.get(run)).flat_map(|run| &run.controls);
    let mut rooms = BTreeSet::new();
    for (_, at) in controls {
        let wall_box = &job.boxes[at.wall_box];
        for held in wall_box.controls[at.control].loops.iter().flat_map(|wired| &wired.ceiling) {
            let room = held.room.as_ref().unwrap_or(&wall_box.room);
            if let Some(Spot::Room { level, room }) = index.spot(Kind::Room, room) {
                rooms.insert((level, room));
            }
        }
    }
    rooms
}
