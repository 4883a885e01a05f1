//! The study of one part: solves its circuit and reads off what each light, cable and run sees.

use super::circuit::{Solution, Unsolved, solve};
use super::gather::{BranchIs, Gathered, LoadIs, gather};
use super::output::total;
use super::reason::Reason;
use super::string::{StringStudy, control_id};
use crate::job::{Id, Index, Job};
use crate::network::{FeedAt, LoopAt, Network};

/// Whether the figures of a run are there.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Outcome {
    /// Solved.
    Solved,
    /// There is no solution: the cables can't carry the load at any volts.
    NoSolution,
    /// Something is missing.
    Unknown(Vec<Reason>),
}

/// What a fixture sees.
#[derive(Debug, Clone, PartialEq)]
pub struct LightStudy {
    /// The loop it is on.
    pub at: LoopAt,
    /// Its ceiling box by position on the loop.
    pub ceiling: usize,
    /// Volts across it.
    pub volts: Option<f64>,
    /// Amps through it.
    pub amps: Option<f64>,
    /// Watts it takes.
    pub watts: Option<f64>,
    /// Volts lost on the way to it; none in a series string, where there is no such thing.
    pub drop_volts: Option<f64>,
    /// The same in percent of the output's volts.
    pub drop_percent: Option<f64>,
}

/// What a cable carries.
#[derive(Debug, Clone, PartialEq)]
pub struct CableStudy {
    /// Its id.
    pub id: Id,
    /// The most amps in any leg of it.
    pub amps: Option<f64>,
    /// Watts lost in it.
    pub loss_watts: Option<f64>,
}

/// What a run carries.
#[derive(Debug, Clone, PartialEq)]
pub struct RunStudy {
    /// The run by position in the network.
    pub run: usize,
    /// Whether the figures are there.
    pub outcome: Outcome,
    /// Volts at its output.
    pub source_volts: Option<f64>,
    /// Amps from its output.
    pub source_amps: Option<f64>,
    /// Watts from its output, all losses included.
    pub source_watts: Option<f64>,
    /// Watts lost in its cables.
    pub loss_watts: Option<f64>,
    /// Watts its controls keep for themselves: their own draw and what their drives lose.
    pub control_watts: Option<f64>,
    /// Watts set aside for boxes not laid out yet.
    pub allowance_watts: Option<f64>,
    /// Volts at the end of each of its feeds, in the network's order of them.
    pub feed_volts: Vec<(FeedAt, Option<f64>)>,
    /// Its fixtures in the order of the file.
    pub lights: Vec<LightStudy>,
    /// Its cables: the home run, onward feeds, loops.
    pub cables: Vec<CableStudy>,
    /// Its series strings.
    pub strings: Vec<StringStudy>,
}

/// The study of runs that are solved together.
#[derive(Debug, Clone, PartialEq)]
pub struct PartStudy {
    /// Its runs.
    pub runs: Vec<RunStudy>,
}

/// Studies one part of the network.
pub(super) fn study(job: &Job, index: &Index, network: &Network, part: usize) -> PartStudy {
    let members = network.parts.get(part).map(|part| part.runs.as_slice()).unwrap_or_default();
    let unknown = |outcome: &Outcome| PartStudy {
        runs: members.iter().map(|&run| blank(job, network, run, outcome.clone())).collect(),
    };
    let gathered = match gather(job, index, network, part) {
        Ok(gathered) => gathered,
        Err(reasons) => return unknown(&Outcome::Unknown(reasons)),
    };
    match solve(&gathered.circuit) {
        Ok(solution) => {
            let runs = members.iter().map(|&run| solved(job, index, network, run, &gathered, &solution));
            PartStudy { runs: runs.collect() }
        }
        Err(Unsolved::NoSolution) => unknown(&Outcome::NoSolution),
        Err(Unsolved::Malformed(what)) => unknown(&Outcome::Unknown(vec![Reason::Circuit(what)])),
    }
}

/// A run with everything it has and no figure known.
fn blank(job: &Job, network: &Network, number: usize, outcome: Outcome) -> RunStudy {
    let run = &network.runs[number];
    let mut study = RunStudy {
        run: number,
        outcome,
        source_volts: None,
        source_amps: None,
        source_watts: None,
        loss_watts: None,
        control_watts: None,
        allowance_watts: None,
        feed_volts: run.feeds.iter().map(|&at| (at, None)).collect(),
        lights: Vec::new(),
        cables: Vec::new(),
        strings: Vec::new(),
    };
    let cable = |id: &Id| CableStudy { id: id.clone(), amps: None, loss_watts: None };
    study.cables.extend(run.feeds.iter().map(|at| cable(&job.boxes[at.wall_box].feeds[at.feed].id)));
    for &(_, control) in &run.controls {
        let wired = &job.boxes[control.wall_box].controls[control.control];
        for (at, wired_loop) in wired.loops.iter().enumerate() {
            study.cables.push(cable(&wired_loop.id));
            for (ceiling, held) in wired_loop.ceiling.iter().enumerate() {
                if held.fixture.is_some() || !held.open.is_empty() {
                    study.lights.push(LightStudy {
                        at: LoopAt { control, at },
                        ceiling,
                        volts: None,
                        amps: None,
                        watts: None,
                        drop_volts: None,
                        drop_percent: None,
                    });
                }
            }
        }
    }
    study
}

fn solved(
    job: &Job,
    index: &Index,
    network: &Network,
    number: usize,
    gathered: &Gathered,
    solution: &Solution,
) -> RunStudy {
    let mut study = blank(job, network, number, Outcome::Solved);
    let source_volts = gathered.circuit.source_volts;
    study.source_volts = Some(source_volts);
    for (at, volts) in &mut study.feed_volts {
        *volts = gathered.feed_nodes.get(at).map(|&node| solution.volts[node]);
    }
    let mut source_amps = 0.0;
    for (branch, (run, is)) in gathered.branches.iter().enumerate() {
        if *run != number {
            continue;
        }
        let (amps, wire) = (solution.branch_amps[branch], gathered.circuit.branches[branch]);
        if wire.a == 0 {
            source_amps += amps;
        }
        let id = match *is {
            BranchIs::Feed(at) => &job.boxes[at.wall_box].feeds[at.feed].id,
            BranchIs::Leg(at) => loop_id(job, at),
        };
        add_to_cable(&mut study, id, amps.abs(), amps * amps * wire.ohms);
    }
    study.source_amps = Some(source_amps);
    study.source_watts = Some(source_amps * source_volts);
    let (mut control_watts, mut allowance_watts) = (0.0, 0.0);
    for (load, (run, is)) in gathered.loads.iter().enumerate() {
        if *run != number {
            continue;
        }
        let (amps, volts) = (solution.load_amps[load], solution.volts[gathered.circuit.loads[load].node]);
        match *is {
            LoadIs::Light(at, ceiling) => {
                if let Some(light) = study.lights.iter_mut().find(|l| l.at == at && l.ceiling == ceiling) {
                    light.volts = Some(volts);
                    light.amps = Some(amps);
                    light.watts = Some(volts * amps);
                    light.drop_volts = Some(source_volts - volts);
                    light.drop_percent = Some((source_volts - volts) / source_volts * 100.0);
                }
            }
            LoadIs::Own | LoadIs::Strings => control_watts += volts * amps,
            LoadIs::Allowance => allowance_watts += volts * amps,
        }
    }
    for (run, node, string) in &gathered.strings {
        if *run == number {
            let mut string = string.clone();
            string.available_volts = control_part(job, index, &string)
                .and_then(|part| StringStudy::available(part, solution.volts[*node]));
            if string.counts {
                control_watts -= string.watts();
            }
            read_string(job, &mut study, &string);
            study.strings.push(string);
        }
    }
    study.control_watts = Some(control_watts);
    study.allowance_watts = Some(allowance_watts);
    study.loss_watts = total(study.cables.iter().map(|cable| cable.loss_watts.or(Some(0.0))));
    study
}

fn control_part<'a>(
    job: &'a Job,
    index: &Index,
    string: &StringStudy,
) -> Option<&'a crate::job::catalogue::ControlType> {
    let (_, control) = index.control(job, control_id(job, string.control)?)?;
    index.control_type(job, &control.part)
}

/// Gives the lights and the cable of a string their figures; where two strings share the current, the heavier counts.
fn read_string(job: &Job, study: &mut RunStudy, string: &StringStudy) {
    if !string.counts {
        return;
    }
    for &(ceiling, volts) in &string.lights {
        if let Some(light) = study.lights.iter_mut().find(|l| l.at == string.at && l.ceiling == ceiling) {
            light.volts = Some(volts.max(light.volts.unwrap_or(0.0)));
            light.amps = Some(string.amps);
            light.watts = Some(light.watts.unwrap_or(0.0) + volts * string.amps);
        }
    }
    add_to_cable(study, loop_id(job, string.at), string.amps, string.wire_watts);
}

fn loop_id(job: &Job, at: LoopAt) -> &Id {
    &job.boxes[at.control.wall_box].controls[at.control.control].loops[at.at].id
}

fn add_to_cable(study: &mut RunStudy, id: &Id, amps: f64, loss_watts: f64) {
    if let Some(cable) = study.cables.iter_mut().find(|cable| cable.id == *id) {
        cable.amps = Some(cable.amps.unwrap_or(0.0).max(amps));
        cable.loss_watts = Some(cable.loss_watts.unwrap_or(0.0) + loss_watts);
    }
}
