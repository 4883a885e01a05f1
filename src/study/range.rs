//! Figures over choices that are still open: from where to where, and with which choice.
//!
//! Up to so many corners (each open ceiling box at one of its fixtures) every one is studied, and the range is exact.
//! Beyond that volts and source amps still follow from two solves: with the pointwise largest current of each light's
//! options the solution is the corner with the lowest volts at every node and the most source amps, with the smallest
//! the one with the highest and the fewest (see [`Draw`](super::circuit::Draw)). Cable amps don't follow; they lie
//! between nothing and the most source amps, since all current comes from one output.

use super::circuit::{Draw, solve};
use super::gather::{LoadIs, gather};
use super::part::{self, Outcome, RunStudy};
use crate::job::catalogue::Drive;
use crate::job::wiring::CeilingBox;
use crate::job::{Id, Index, Job};
use crate::network::{LoopAt, Network};
use crate::working::Off;
use serde::Serialize;

/// The most corners that are tried one by one.
pub const MOST_CORNERS: usize = 4096;

/// One open ceiling box with the fixture it is given.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Pick {
    /// The ceiling box.
    pub fixture: String,
    /// The fixture type.
    pub part: String,
}

/// From where to where a figure goes over all open choices.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Range {
    /// The least it can be.
    pub least: f64,
    /// The most it can be.
    pub most: f64,
    /// Whether both ends are reached; else it lies between them.
    pub exact: bool,
    /// A choice with which it is least; empty for a bound.
    pub least_choice: Vec<Pick>,
    /// A choice with which it is most; empty for a bound.
    pub most_choice: Vec<Pick>,
}

/// The ranges of a run's figures.
#[derive(Debug, Clone, PartialEq)]
pub struct RunRanges {
    /// Amps from its output.
    pub source_amps: Range,
    /// Watts from its output.
    pub source_watts: Range,
    /// Volts at each light: its loop, its ceiling box by position, the range.
    pub volts: Vec<(LoopAt, usize, Range)>,
    /// The most amps in each of its cables.
    pub cable_amps: Vec<(Id, Range)>,
}

/// An open ceiling box: where it is, and what it may hold.
struct Open {
    at: LoopAt,
    ceiling: usize,
    options: Vec<Id>,
    in_string: bool,
    id: String,
}

/// The ranges of a run over the open choices of all that is solved with it. `None` where nothing is open, or some choice
/// leaves its figures unknown. It studies up to `most_corners` times, so it is asked for when it is shown.
pub fn ranges(
    job: &Job,
    index: &Index,
    network: &Network,
    run: usize,
    most_corners: usize,
) -> Option<RunRanges> {
    let part = network.runs.get(run)?.part;
    let open = open_boxes(job, index, network, part);
    if open.is_empty() {
        return None;
    }
    let corners = open.iter().try_fold(1_usize, |all, open| all.checked_mul(open.options.len()));
    let mut fixed = job.clone();
    let mut study = |picks: &[usize]| {
        for (open, &pick) in open.iter().zip(picks) {
            let held = box_mut(&mut fixed, open)?;
            (held.fixture, held.open) = (open.options.get(pick).cloned(), Vec::new());
        }
        let runs = part::study(&fixed, index, network, part, &mut Off).runs;
        runs.into_iter().find(|study| study.run == run && study.outcome == Outcome::Solved)
    };
    if let Some(corners) = corners.filter(|&corners| corners <= most_corners) {
        let mut over: Option<Over> = None;
        for corner in 0..corners {
            let picks = picks_of(corner, &open);
            let solved = study(&picks)?;
            match &mut over {
                Some(over) => over.widen(&solved, &picks),
                None => over = Some(Over::new(&solved, &picks)?),
            }
        }
        return Some(over?.ranges(&open, true));
    }
    let [worst, least] = extremes(job, index, network, part, &open)?;
    let mut over = Over::new(&study(&worst)?, &worst)?;
    over.widen(&study(&least)?, &least);
    let mut ranges = over.ranges(&open, open.iter().all(|open| !open.in_string));
    let most = ranges.source_amps.most;
    for (_, range) in &mut ranges.cable_amps {
        *range = Range { least: 0.0, most, exact: false, least_choice: Vec::new(), most_choice: Vec::new() };
    }
    Some(ranges)
}

/// The ceiling box of an open choice.
fn box_mut<'a>(job: &'a mut Job, open: &Open) -> Option<&'a mut CeilingBox> {
    let control = job.boxes.get_mut(open.at.control.wall_box)?.controls.get_mut(open.at.control.control)?;
    control.loops.get_mut(open.at.at)?.ceiling.get_mut(open.ceiling)
}

fn open_boxes(job: &Job, index: &Index, network: &Network, part: usize) -> Vec<Open> {
    let mut open = Vec::new();
    let runs = network.parts.get(part).map(|part| part.runs.as_slice()).unwrap_or_default();
    for &(_, control) in runs.iter().flat_map(|&run| &network.runs[run].controls) {
        let wired = &job.boxes[control.wall_box].controls[control.control];
        let drive = index.control_type(job, &wired.part).map(|part| part.drive);
        for (at, wired) in wired.loops.iter().enumerate() {
            for (ceiling, held) in wired.ceiling.iter().enumerate() {
                if !held.open.is_empty() {
                    open.push(Open {
                        at: LoopAt { control, at },
                        ceiling,
                        options: held.open.clone(),
                        id: held.id.to_string(),
                        in_string: matches!(drive, Some(Drive::Current { .. })),
                    });
                }
            }
        }
    }
    open
}

/// Which option each open box takes in a corner.
fn picks_of(mut corner: usize, open: &[Open]) -> Vec<usize> {
    let pick = |open: &Open| {
        let pick = corner % open.options.len();
        corner /= open.options.len();
        pick
    };
    open.iter().map(pick).collect()
}

/// The corners with the largest and with the smallest current of each light, at the volts it has with them.
fn extremes(
    job: &Job,
    index: &Index,
    network: &Network,
    part: usize,
    open: &[Open],
) -> Option<[Vec<usize>; 2]> {
    let mut gathered = gather(job, index, network, part, &mut Off).ok()?;
    let mut ends = [Vec::new(), Vec::new()];
    for (end, largest) in ends.iter_mut().zip([true, false]) {
        for load in &mut gathered.circuit.loads {
            if let Draw::Worst(members) | Draw::Least(members) = &load.draws {
                let members = members.clone();
                load.draws = if largest { Draw::Worst(members) } else { Draw::Least(members) };
            }
        }
        let solution = solve(&gathered.circuit).ok()?;
        for open in open {
            let is = LoadIs::Light(open.at, open.ceiling);
            let load = gathered.loads.iter().position(|(_, other)| *other == is);
            let volts = load.map(|load| solution.volts[gathered.circuit.loads[load].node]);
            let amps = |id: &Id| draw_of(job, index, id, volts);
            let figures: Vec<f64> = open.options.iter().map(amps).collect();
            let better = |a: f64, b: f64| if largest { a > b } else { a < b };
            let best = (1..figures.len())
                .fold(0, |best, n| if better(figures[n], figures[best]) { n } else { best });
            end.push(best);
        }
    }
    Some(ends)
}

/// Amps that a fixture draws at some volts; of one in a string its volts, which say as well which is the heavier.
fn draw_of(job: &Job, index: &Index, id: &Id, volts: Option<f64>) -> f64 {
    use crate::job::catalogue::Load;
    let Some(part) = index.fixture_type(job, id) else { return 0.0 };
    match (part.load, volts) {
        (Load::Power { watts, .. }, Some(volts)) => watts.get() / volts,
        (Load::Current { amps, .. }, _) => amps.get(),
        (Load::Resistance { watts, at_volts }, Some(volts)) => {
            volts / (at_volts.get() * at_volts.get() / watts.get())
        }
        (Load::String { volts, .. }, _) => volts.get(),
        (Load::Power { .. } | Load::Resistance { .. }, None) => 0.0,
    }
}

/// Least and most of a figure so far, with the corners.
#[derive(Debug, Clone)]
struct Ends {
    least: (f64, Vec<usize>),
    most: (f64, Vec<usize>),
}

impl Ends {
    fn new(value: f64, picks: &[usize]) -> Self {
        Self { least: (value, picks.to_vec()), most: (value, picks.to_vec()) }
    }

    fn widen(&mut self, value: f64, picks: &[usize]) {
        if value < self.least.0 {
            self.least = (value, picks.to_vec());
        }
        if value > self.most.0 {
            self.most = (value, picks.to_vec());
        }
    }

    fn range(self, exact: bool, names: &dyn Fn(&[usize]) -> Vec<Pick>) -> Range {
        Range {
            least: self.least.0,
            most: self.most.0,
            exact,
            least_choice: names(&self.least.1),
            most_choice: names(&self.most.1),
        }
    }
}

/// The ends of every figure of a run so far.
struct Over {
    source_amps: Ends,
    source_watts: Ends,
    volts: Vec<(LoopAt, usize, Ends)>,
    cable_amps: Vec<(Id, Ends)>,
}

impl Over {
    fn new(study: &RunStudy, picks: &[usize]) -> Option<Self> {
        let ends = |value: f64| Ends::new(value, picks);
        Some(Self {
            source_amps: ends(study.source_amps?),
            source_watts: ends(study.source_watts?),
            volts: study
                .lights
                .iter()
                .filter_map(|light| Some((light.at, light.ceiling, ends(light.volts?))))
                .collect(),
            cable_amps: study
                .cables
                .iter()
                .filter_map(|cable| Some((cable.id.clone(), ends(cable.amps?))))
                .collect(),
        })
    }

    fn widen(&mut self, study: &RunStudy, picks: &[usize]) {
        let each = [(&mut self.source_amps, study.source_amps), (&mut self.source_watts, study.source_watts)];
        for (ends, value) in each {
            if let Some(value) = value {
                ends.widen(value, picks);
            }
        }
        for (at, ceiling, ends) in &mut self.volts {
            let light = study.lights.iter().find(|light| light.at == *at && light.ceiling == *ceiling);
            if let Some(volts) = light.and_then(|light| light.volts) {
                ends.widen(volts, picks);
            }
        }
        for (id, ends) in &mut self.cable_amps {
            let cable = study.cables.iter().find(|cable| cable.id == *id);
            if let Some(amps) = cable.and_then(|cable| cable.amps) {
                ends.widen(amps, picks);
            }
        }
    }

    fn ranges(self, open: &[Open], exact: bool) -> RunRanges {
        let names = |picks: &[usize]| -> Vec<Pick> {
            let named = open
                .iter()
                .zip(picks)
                .map(|(open, &pick)| Pick { fixture: open.id.clone(), part: open.options[pick].to_string() });
            named.collect()
        };
        RunRanges {
            source_amps: self.source_amps.range(exact, &names),
            source_watts: self.source_watts.range(exact, &names),
            volts: self
                .volts
                .into_iter()
                .map(|(at, ceiling, ends)| (at, ceiling, ends.range(exact, &names)))
                .collect(),
            cable_amps: self
                .cable_amps
                .into_iter()
                .map(|(id, ends)| (id, ends.range(exact, &names)))
                .collect(),
        }
    }
}
