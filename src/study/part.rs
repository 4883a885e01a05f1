//! The study of one part: solves its circuit and reads off what each light, cable and run sees.

use super::circuit::{Solution, Unsolved, solve};
use super::gather::{BranchIs, Gathered, LoadIs, gather};
use super::open::OpenStudy;
use super::range::{Of, RunRanges};
use super::reading::{LightSum, Reading};
use super::reason::Reason;
use super::string::{StringStudy, control_id};
use crate::format::Quantity;
use crate::job::{Id, Index, Job, open};
use crate::network::{FeedAt, LoopAt, Network};
use crate::working::{Number, Recorder};

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
    /// From where to where its figures go while something is open; they stand here at their unfavourable ends.
    pub ranges: Option<Box<RunRanges>>,
}

/// The study of runs that are solved together.
#[derive(Debug, Clone, PartialEq)]
pub struct PartStudy {
    /// Its runs.
    pub runs: Vec<RunStudy>,
    /// What is open in it.
    pub open: Option<Box<OpenStudy>>,
}

/// Studies one part of the network in which nothing is open.
pub(super) fn closed<R: Recorder>(place: Place<'_>, part: usize, recorder: &mut R) -> PartStudy {
    let (job, index, network) = place;
    let members = network.parts.get(part).map(|part| part.runs.as_slice()).unwrap_or_default();
    let unknown = |outcome: &Outcome| PartStudy {
        runs: members.iter().map(|&run| blank((job, index, network), run, outcome.clone())).collect(),
        open: None,
    };
    let gathered = match gather(job, index, network, part, recorder) {
        Ok(gathered) => gathered,
        Err(reasons) => return unknown(&Outcome::Unknown(reasons)),
    };
    match solve(&gathered.circuit) {
        Ok(solution) => {
            let runs = members.iter().map(|&run| solved(place, run, &gathered, &solution, recorder));
            PartStudy { runs: runs.collect(), open: None }
        }
        Err(Unsolved::NoSolution) => unknown(&Outcome::NoSolution),
        Err(Unsolved::Malformed(what)) => unknown(&Outcome::Unknown(vec![Reason::Circuit(what)])),
    }
}

/// A job with its index and its network.
pub(super) type Place<'a> = (&'a Job, &'a Index, &'a Network);

/// A run with everything it has and no figure known.
pub(super) fn blank((job, index, network): Place<'_>, number: usize, outcome: Outcome) -> RunStudy {
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
        ranges: None,
    };
    let cable = |id: &Id| CableStudy { id: id.clone(), amps: None, loss_watts: None };
    study.cables.extend(run.feeds.iter().map(|at| cable(&job.boxes[at.wall_box].feeds[at.feed].id)));
    for &(_, control) in &run.controls {
        let wall_box = &job.boxes[control.wall_box];
        let wired = &wall_box.controls[control.control];
        for (at, wired_loop) in wired.loops.iter().enumerate() {
            study.cables.push(cable(&wired_loop.id));
            for (ceiling, held) in wired_loop.ceiling.iter().enumerate() {
                if open::lit(job, index, wall_box, wired_loop, held) {
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

/// The most amps of a cable and its loss, while they are put together.
type CableSum<N> = (Option<N>, Option<N>);

/// Reads the figures of a run off the solution of its part.
fn solved<R: Recorder>(
    (job, index, network): Place<'_>,
    number: usize,
    gathered: &Gathered<R::Number>,
    solution: &Solution,
    recorder: &mut R,
) -> RunStudy {
    let mut study = blank((job, index, network), number, Outcome::Solved);
    let run_id = &network.runs[number].id;
    let reading = Reading { job, index, gathered, solution, output: network.runs[number].output.as_ref() };
    let named = |key: &str| format!("run/{run_id}/{key}");
    let zero = || R::Number::constant(0.0);
    let source_volts = recorder.figure(|| named("source_volts"), Quantity::Volts, reading.source_volts());
    study.source_volts = Some(source_volts.value());
    for (at, volts) in &mut study.feed_volts {
        *volts = gathered.feed_nodes.get(at).map(|&node| {
            let name = || format!("cable/{}/volts", job.boxes[at.wall_box].feeds[at.feed].id);
            recorder.figure(name, Quantity::Volts, reading.volts(node)).value()
        });
    }
    let mut sums: Vec<CableSum<R::Number>> = vec![(None, None); study.cables.len()];
    let mut add_to_cable = |study: &RunStudy, id: &Id, amps: R::Number, loss: R::Number| {
        if let Some(at) = study.cables.iter().position(|cable| cable.id == *id) {
            let (most, sum) = &mut sums[at];
            *most = Some(most.take().unwrap_or_else(zero).larger(amps));
            *sum = Some(sum.take().unwrap_or_else(zero) + loss);
        }
    };
    let mut source_amps = zero();
    for (branch, (run, is)) in gathered.branches.iter().enumerate() {
        if *run != number {
            continue;
        }
        if gathered.circuit.branches[branch].a == 0 {
            source_amps = source_amps + reading.branch_amps(branch);
        }
        let id = match *is {
            BranchIs::Feed(at) => &job.boxes[at.wall_box].feeds[at.feed].id,
            BranchIs::Leg(at) => loop_id(job, at),
        };
        let amps = reading.branch_amps(branch);
        let loss = amps.clone() * amps * gathered.ohms[branch].clone();
        add_to_cable(&study, id, reading.size_of_amps(branch), loss);
    }
    let source_amps = recorder.figure(|| named("source_amps"), Quantity::Amps, source_amps);
    study.source_amps = Some(source_amps.value());
    let source_watts = source_amps * source_volts.clone();
    study.source_watts =
        Some(recorder.figure(|| named("source_watts"), Quantity::Watts, source_watts).value());
    let mut lights: Vec<LightSum<R::Number>> = (0..study.lights.len()).map(|_| LightSum::default()).collect();
    let (mut control_watts, mut allowance_watts) = (zero(), zero());
    for (load, (run, is)) in gathered.loads.iter().enumerate() {
        if *run != number {
            continue;
        }
        let (amps, volts) = (reading.load_amps(load), reading.volts(gathered.circuit.loads[load].node));
        match *is {
            LoadIs::Light(at, ceiling) => {
                let found = study.lights.iter().position(|l| l.at == at && l.ceiling == ceiling);
                if let Some(sum) = found.and_then(|found| lights.get_mut(found)) {
                    *sum = LightSum { volts: Some(volts), amps: Some(amps), watts: None, in_parallel: true };
                }
            }
            LoadIs::Own | LoadIs::Strings => control_watts = control_watts + volts * amps,
            LoadIs::Allowance => allowance_watts = allowance_watts + volts * amps,
        }
    }
    for (run, node, string, trace) in &gathered.strings {
        if *run != number {
            continue;
        }
        let mut string = string.clone();
        string.available_volts = control_part(job, index, &string)
            .and_then(|part| StringStudy::available(part, solution.volts[*node]));
        if string.counts {
            control_watts = control_watts - trace.volts.clone() * trace.amps.clone();
            for (&(ceiling, _), volts) in string.lights.iter().zip(&trace.lights) {
                let found = study.lights.iter().position(|l| l.at == string.at && l.ceiling == ceiling);
                if let Some(sum) = found.and_then(|found| lights.get_mut(found)) {
                    sum.add_string(volts, &trace.amps);
                }
            }
            add_to_cable(&study, loop_id(job, string.at), trace.amps.clone(), trace.wire_watts.clone());
        }
        study.strings.push(string);
    }
    for (light, sum) in study.lights.iter_mut().zip(lights) {
        let on = &job.boxes[light.at.control.wall_box].controls[light.at.control.control];
        let id = &on.loops[light.at.at].ceiling[light.ceiling].id;
        sum.read(light, &source_volts, |key| format!("fixture/{id}/{key}"), recorder);
    }
    let mut loss_watts = zero();
    for (cable, (amps, loss)) in study.cables.iter_mut().zip(sums) {
        let id = cable.id.clone();
        cable.amps =
            amps.map(|amps| recorder.figure(|| format!("cable/{id}/amps"), Quantity::Amps, amps).value());
        let loss =
            loss.map(|loss| recorder.figure(|| format!("cable/{id}/loss_watts"), Quantity::Watts, loss));
        cable.loss_watts = loss.as_ref().map(Number::value);
        loss_watts = loss_watts + loss.unwrap_or_else(zero);
    }
    let mut watts = |key: &str, watts| Some(recorder.figure(|| named(key), Quantity::Watts, watts).value());
    study.control_watts = watts("control_watts", control_watts);
    study.allowance_watts = watts("allowance_watts", allowance_watts);
    study.loss_watts = watts("loss_watts", loss_watts);
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

fn loop_id(job: &Job, at: LoopAt) -> &Id {
    &job.boxes[at.control.wall_box].controls[at.control.control].loops[at.at].id
}

/// What a figure of a run is called on the tape.
pub(super) fn name_of((job, _, network): Place<'_>, study: &RunStudy, of: Of) -> (String, Quantity) {
    let run = &network.runs[study.run];
    let of_run = |key: &str| format!("run/{}/{key}", run.id);
    let light = |at: usize, key: &str| {
        let light = &study.lights[at];
        let control = &job.boxes[light.at.control.wall_box].controls[light.at.control.control];
        format!("fixture/{}/{key}", control.loops[light.at.at].ceiling[light.ceiling].id)
    };
    match of {
        Of::SourceAmps => (of_run("source_amps"), Quantity::Amps),
        Of::SourceWatts => (of_run("source_watts"), Quantity::Watts),
        Of::LossWatts => (of_run("loss_watts"), Quantity::Watts),
        Of::ControlWatts => (of_run("control_watts"), Quantity::Watts),
        Of::FeedVolts(at) => {
            let feed = study.feed_volts[at].0;
            let id = &job.boxes[feed.wall_box].feeds[feed.feed].id;
            (format!("cable/{id}/volts"), Quantity::Volts)
        }
        Of::Volts(at) => (light(at, "volts"), Quantity::Volts),
        Of::Amps(at) => (light(at, "amps"), Quantity::Amps),
        Of::Watts(at) => (light(at, "watts"), Quantity::Watts),
        Of::DropVolts(at) => (light(at, "drop_volts"), Quantity::Volts),
        Of::DropPercent(at) => (light(at, "drop_percent"), Quantity::Percent),
        Of::CableAmps(at) => (format!("cable/{}/amps", study.cables[at].id), Quantity::Amps),
        Of::CableLoss(at) => (format!("cable/{}/loss_watts", study.cables[at].id), Quantity::Watts),
    }
}
