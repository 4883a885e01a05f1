//! The corners of open choices that hold the ends of figures, found without trying all of them.

use super::choice::{self, Choice, MOST_CORNERS};
use super::circuit::{Draw, Unsolved, solve};
use super::gather::{Gathered, LoadIs, gather, held};
use super::open::{Failed, Opened};
use super::part::{Outcome, Place};
use super::reason::Reason;
use crate::job::catalogue::{Drive, Load};
use crate::job::wiring::LoopPath;
use crate::job::{Id, Job};
use crate::network::LoopAt;
use crate::working::Off;

/// The heaviest and the lightest corner, where these two hold the ends of every figure; see [`open`](super::open).
pub(super) fn steady(place: Place<'_>, part: usize, choices: &[Choice]) -> Option<(Vec<usize>, Vec<usize>)> {
    let (job, index, network) = place;
    let runs = &network.parts.get(part)?.runs;
    let [run] = runs.as_slice() else { return None };
    for &(_, at) in &network.runs.get(*run)?.controls {
        let wall_box = &job.boxes[at.wall_box];
        let control = &wall_box.controls[at.control];
        let drive = index.control_type(job, &control.part)?.drive;
        for wired in &control.loops {
            let meshed = wired.path == LoopPath::Returned && !wired.ceiling.is_empty();
            if meshed && drive == Drive::Voltage {
                return None;
            }
            let mut fixtures = wired.ceiling.iter().flat_map(|c| held(job, index, (wall_box, wired), c));
            if fixtures.any(|part| matches!(part.load, Load::Resistance { .. })) {
                return None;
            }
        }
    }
    let watts = |id: &Id| match index.fixture_type(job, id)?.load {
        Load::Power { watts, .. } => Some(watts.get()),
        _ => None,
    };
    let (mut heavy, mut light) = (Vec::new(), Vec::new());
    for choice in choices {
        if !choice.controls.is_empty() {
            return None;
        }
        let watts: Vec<f64> = choice.options.iter().map(watts).collect::<Option<_>>()?;
        heavy.push(first_by(&watts, |a, b| a > b));
        light.push(first_by(&watts, |a, b| a < b));
    }
    Some((heavy, light))
}

/// The first of the figures that none is better than.
fn first_by(figures: &[f64], better: impl Fn(f64, f64) -> bool) -> usize {
    (1..figures.len()).fold(0, |best, at| if better(figures[at], figures[best]) { at } else { best })
}

/// The corners with the pointwise largest and smallest currents for one combination of the open controls.
pub(super) struct Extremes {
    pub corners: Vec<Vec<usize>>,
    /// Whether every light of every choice takes its own largest and smallest current in them.
    pub reached: bool,
}

/// The extremes of a part for every combination of its open controls.
pub(super) fn pointwise(opened: &mut Opened<'_>) -> Result<Vec<Extremes>, Failed> {
    let too_many = || (Outcome::Unknown(vec![Reason::TooManyChoices]), Vec::new());
    let choices = opened.choices.clone();
    let controls: Vec<usize> = (0..choices.len()).filter(|&at| !choices[at].controls.is_empty()).collect();
    let of_controls: Vec<Choice> = controls.iter().map(|&at| choices[at].clone()).collect();
    let combinations = choice::corners(&of_controls).filter(|&many| many <= MOST_CORNERS);
    let mut all = Vec::new();
    for number in 0..combinations.ok_or_else(too_many)? {
        let options = choice::corner(number, &of_controls);
        let mut extremes = Extremes { corners: Vec::new(), reached: true };
        for largest in [true, false] {
            let mut corner = vec![0; choices.len()];
            controls.iter().zip(&options).for_each(|(&at, &option)| corner[at] = option);
            strings(opened.place, &choices, largest, &mut corner).ok_or_else(too_many)?;
            let reached = lights(opened, &choices, largest, &mut corner)?;
            extremes.reached &= reached;
            extremes.corners.push(corner);
        }
        if !extremes.reached {
            return Err(too_many());
        }
        all.push(extremes);
    }
    Ok(all)
}

/// The lights of strings: the volts of each add up, so those with the most volts weigh most. None where a second string
/// makes that ambiguous.
fn strings(place: Place<'_>, choices: &[Choice], largest: bool, corner: &mut [usize]) -> Option<()> {
    let (job, index, _) = place;
    for (choice, slot) in choices.iter().zip(corner) {
        let loads = choice.options.iter().filter(|_| choice.controls.is_empty());
        let loads: Vec<Load> = loads.filter_map(|id| Some(index.fixture_type(job, id)?.load)).collect();
        if loads.iter().any(|load| matches!(load, Load::String { second_volts: Some(_), .. })) {
            return None;
        }
        let volts = |load: &Load| match load {
            Load::String { volts, .. } => Some(volts.get()),
            _ => None,
        };
        if let Some(volts) = loads.iter().map(volts).collect::<Option<Vec<f64>>>()
            && !volts.is_empty()
        {
            *slot = first_by(&volts, |a, b| if largest { a > b } else { a < b });
        }
    }
    Some(())
}

/// The lights across the pair: what each draws at the volts it has with the pointwise extreme currents. Gives whether all
/// lights of a choice agree.
fn lights(
    opened: &mut Opened<'_>,
    choices: &[Choice],
    largest: bool,
    corner: &mut [usize],
) -> Result<bool, Failed> {
    let (job, index, network) = opened.place;
    let mut fixed: Job = job.clone();
    for (choice, &option) in choices.iter().zip(&*corner) {
        let part = index.fixture_type(job, &choice.options[option]);
        if !choice.controls.is_empty() || part.is_some_and(|part| matches!(part.load, Load::String { .. })) {
            choice::close(&mut fixed, std::slice::from_ref(choice), &[option]);
        }
    }
    let mut gathered = gather(&fixed, index, network, opened.part, &mut Off)
        .map_err(|reasons| (Outcome::Unknown(reasons), corner.to_vec()))?;
    for load in &mut gathered.circuit.loads {
        if let (Draw::Worst(members), false) = (&load.draws, largest) {
            load.draws = Draw::Least(members.clone());
        }
    }
    let volts = match solve(&gathered.circuit) {
        Ok(solution) => solution.volts,
        Err(Unsolved::NoSolution) => return Err(collapsing(opened, choices, &gathered, corner)),
        Err(Unsolved::Malformed(what)) => {
            return Err((Outcome::Unknown(vec![Reason::Circuit(what)]), corner.to_vec()));
        }
    };
    let mut agree = true;
    for (choice, slot) in choices.iter().zip(corner) {
        let at = |light: &(LoopAt, usize)| {
            let is = LoadIs::Light(light.0, light.1);
            let load = gathered.loads.iter().position(|(_, other)| *other == is)?;
            Some(volts[gathered.circuit.loads[load].node])
        };
        let mut mine = choice.lights.iter().filter_map(at).map(|volts| {
            let amps: Vec<f64> = choice.options.iter().map(|id| amps(opened.place, id, volts)).collect();
            first_by(&amps, |a, b| if largest { a > b } else { a < b })
        });
        if let Some(first) = mine.next() {
            *slot = first;
            agree &= mine.all(|other| other == first);
        }
    }
    Ok(agree)
}

/// Amps that a fixture draws at some volts.
pub(super) fn amps((job, index, _): Place<'_>, id: &Id, volts: f64) -> f64 {
    match index.fixture_type(job, id).map(|part| part.load) {
        Some(Load::Power { watts, .. }) => watts.get() / volts,
        Some(Load::Current { amps, .. }) => amps.get(),
        Some(Load::Resistance { watts, at_volts }) => volts * watts.get() / (at_volts.get() * at_volts.get()),
        Some(Load::String { .. }) | None => 0.0,
    }
}

/// The pointwise largest currents have no solution. With fixtures of one kind a corner has none then; with several kinds
/// it may be that each corner has one. A corner that has none is looked for; where none is found that is not known.
fn collapsing(
    opened: &mut Opened<'_>,
    choices: &[Choice],
    gathered: &Gathered<f64>,
    corner: &[usize],
) -> Failed {
    for percent in [100.0, 80.0, 60.0, 40.0, 20.0] {
        let volts = gathered.circuit.source_volts * percent / 100.0;
        let mut tried = corner.to_vec();
        for (choice, slot) in choices.iter().zip(&mut tried) {
            let amps: Vec<f64> = choice.options.iter().map(|id| amps(opened.place, id, volts)).collect();
            if choice.controls.is_empty() && amps.iter().any(|&amps| amps > 0.0) {
                *slot = first_by(&amps, |a, b| a > b);
            }
        }
        let part = opened.part;
        let (index, network) = (opened.place.1, opened.place.2);
        let solved = gather(opened.job_at(&tried), index, network, part, &mut Off);
        if solved.is_ok_and(|gathered| solve(&gathered.circuit) == Err(Unsolved::NoSolution)) {
            return (Outcome::NoSolution, tried);
        }
    }
    (Outcome::Unknown(vec![Reason::MayCollapse]), corner.to_vec())
}
