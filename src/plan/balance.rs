//! Balancing: which run goes on which output. It takes a studied job and gives a proposal with its proof.
//!
//! Watts are those at the output, cable loss included, at full load, in whole tenths rounded up. A run's watts depend
//! on nothing of its output but the volts, so that they are fixed weights among outputs of the same volts. In order:
//! every limit holds (the target; where that is impossible the limit, and it is said); the fewest supplies; rooms,
//! levels and ways out spread over supplies; the lowest highest output in percent of its limit, against the number of
//! landed wires that are moved. No proposal changes the job: [`Proposal::edit`] is what accepting it would do.

mod gather;
mod groups;
mod propose;
mod relax;
mod search;
mod shortage;
mod unlanded;
mod what_if;

pub use search::{News, search};
pub use what_if::{Asked, Both, Dark, Question, WhatIf, asked, move_run, outputs_for, what_if};

use super::packing::{Budget, Packing, Progress};
use crate::design::Design;
use crate::job::Id;
use crate::job::edit::Edit;
use crate::job::wiring::OutputRef;
pub(super) use gather::rooms_of;
use gather::{Gathered, Load};
use serde::Serialize;

/// Steps of the search for all that the command line proposes.
const STEPS: u64 = 3_000_000;

/// How a balance is made.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Options {
    /// Landed wires that may be moved at most; by default the fewest that come within 2 % of the best.
    pub moves: Option<u32>,
    /// Steps that the search may take, for all panels together.
    pub steps: u64,
    /// Whether supplies that end up with no run are taken out of their panels; pinned ones stay in any case.
    pub take_out: bool,
}

impl Default for Options {
    fn default() -> Self {
        Self { moves: None, steps: STEPS, take_out: false }
    }
}

/// A run that changes its output.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Move {
    /// The home run's cable.
    pub run: String,
    /// Its output today; null if it is on none.
    pub from: Option<String>,
    /// Its output then.
    pub to: String,
    /// Whether a landed wire has to be moved for it.
    pub landed: bool,
}

/// An output as it would be.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct OutputLoad {
    /// Which output.
    pub output: String,
    /// Watts taken from it.
    pub watts: f64,
    /// The same in percent of its limit.
    pub percent: f64,
    /// The most watts it gives.
    pub limit_watts: f64,
    /// Watts taken from it today; null if they are unknown or it is not there.
    pub today_watts: Option<f64>,
    /// The same in percent of its limit.
    pub today_percent: Option<f64>,
    /// Its runs, in the order of the job.
    pub runs: Vec<String>,
}

/// A supply that would be added.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct NewSupply {
    /// Its id.
    pub supply: String,
    /// Its entry in the catalogue.
    pub part: String,
    /// The panel it goes into.
    pub panel: String,
    /// Its first slot.
    pub slot: Option<u16>,
}

/// A supply that no run would be on.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct FreeSupply {
    /// Its id.
    pub supply: String,
    /// Its panel.
    pub panel: String,
    /// Its first slot; null if it is in none.
    pub slot: Option<u16>,
    /// Its last slot; null if it is in none.
    pub last_slot: Option<u16>,
    /// Whether runs are on it today.
    pub emptied: bool,
    /// Whether the proposal takes it out of its panel.
    pub taken_out: bool,
}

/// A point of the curve: for so many moves of landed wires, the highest output and what it cannot be below.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct CurvePoint {
    /// Landed wires moved.
    pub moves: u32,
    /// The highest output in percent of its limit.
    pub max_percent: f64,
    /// No assignment with so many moves has a lower one.
    pub bound_percent: f64,
}

/// Why there is no proposal, in the user's terms.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Problem {
    /// What is wrong.
    pub what: String,
    /// What would make it fit.
    pub remedy: String,
    /// The runs it is about.
    pub runs: Vec<String>,
}

/// What a balance proposes. As JSON it is the document of `studbay balance`.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Proposal {
    /// Whether everything fits.
    pub feasible: bool,
    /// Whether it is proved that nothing better exists: no fewer supplies, no better spread, and with as many moves
    /// the highest output is not lower by more than 0.1 W.
    pub optimal: bool,
    /// How far `max_percent` may be from the best with as many moves, in percent of it; null if nothing fits.
    pub gap_percent: Option<f64>,
    /// Supplies used; null if nothing fits.
    pub supplies: Option<usize>,
    /// No fewer supplies can do; null if nothing fits.
    pub supplies_bound: Option<usize>,
    /// The highest output in percent of its limit; null if nothing fits.
    pub max_percent: Option<f64>,
    /// No assignment with as many moves has a lower one.
    pub bound_percent: Option<f64>,
    /// Rooms, levels and ways out that hang on one supply all the same.
    pub unspread: usize,
    /// No fewer can.
    pub unspread_bound: usize,
    /// Panels where the target had to be given up for the limit.
    pub over_target: Vec<String>,
    /// Landed wires that are moved.
    pub landed_moves: u32,
    /// The runs that change their output.
    pub moves: Vec<Move>,
    /// Every output that is used, or is today.
    pub outputs: Vec<OutputLoad>,
    /// Supplies that are added.
    pub new_supplies: Vec<NewSupply>,
    /// Supplies that nothing is on then.
    pub free_supplies: Vec<FreeSupply>,
    /// The highest output against moves of landed wires.
    pub curve: Vec<CurvePoint>,
    /// Why nothing is proposed.
    pub problems: Vec<Problem>,
    /// What accepting it does to the job; none if it changes nothing or nothing fits.
    #[serde(skip)]
    pub edit: Option<Edit>,
}

/// A solved balance, from which a proposal is read for any point of its curve.
#[derive(Debug, Clone)]
pub struct Plan {
    gathered: Gathered,
    solved: Vec<Solved>,
    problems: Vec<Problem>,
}

impl Plan {
    /// Whether nothing better exists anywhere: fewest supplies, best spread, and the evenest outputs within 0.1 W.
    pub fn proved(&self) -> bool {
        self.problems.is_empty() && self.solved.iter().all(|solved| solved.packing.proved())
    }

    /// Whether something does not fit, or was not found to fit.
    pub fn is_short(&self) -> bool {
        !self.problems.is_empty()
    }

    /// What plans of one question are compared by: less is better.
    fn rank(&self) -> (bool, usize, usize, f64) {
        let packings = || self.solved.iter().map(|solved| &solved.packing);
        let heights = packings().map(|packing| propose::percent(packing.height, packing.scale));
        (
            self.is_short(),
            packings().map(|packing| packing.opened.len()).sum(),
            packings().map(|packing| packing.unspread).sum(),
            heights.fold(0.0, f64::max),
        )
    }
}

/// A zone's answer.
#[derive(Debug, Clone)]
struct Solved {
    packing: Packing,
    over_target: bool,
}

/// Solves and proposes: the same job gives the same proposal on any machine.
pub fn propose(design: &Design, options: &Options) -> Proposal {
    plan(design, options, None).proposal(design, options)
}

/// Each run that is placed with the position of its panel and its watts; none while those of some are not known.
pub(super) fn watts_of_runs(design: &Design) -> Option<Vec<(usize, usize, f64)>> {
    let loads = gather::loads(design).ok()?.into_iter();
    Some(
        loads
            .filter_map(|load| Some((load.run?, load.class.panel, gather::tenths_to_unit(load.weight))))
            .collect(),
    )
}

/// Solves; `watch` is told of the progress and may end the search early, with the best it has, by saying `false`.
pub fn plan(design: &Design, options: &Options, watch: Option<&mut dyn FnMut(Progress) -> bool>) -> Plan {
    match gather::loads(design) {
        Ok(loads) => plan_of(design, loads, None, options, watch),
        Err(problems) => {
            Plan { gathered: Gathered { loads: Vec::new(), zones: Vec::new() }, solved: Vec::new(), problems }
        }
    }
}

fn plan_of(
    design: &Design,
    loads: Vec<Load>,
    without: Option<&Id>,
    options: &Options,
    mut watch: Option<&mut dyn FnMut(Progress) -> bool>,
) -> Plan {
    let gathered = gather::gather(design, loads, without);
    let zones = u64::try_from(gathered.zones.len()).unwrap_or(u64::MAX).max(1);
    let share = options.steps / zones;
    let mut plan = Plan { gathered, solved: Vec::new(), problems: Vec::new() };
    let mut done = 0;
    for at in 0..plan.gathered.zones.len() {
        let mut tell = |progress: Progress| {
            let progress = Progress { done: done + progress.done, most: options.steps };
            watch.as_mut().is_none_or(|watch| watch(progress))
        };
        let mut budget = Budget::new(share).watched(&mut tell);
        match propose::solve_zone(&plan.gathered.zones[at].instance, &mut budget) {
            Ok(solved) => plan.solved.push(solved),
            Err(shortage) => plan.problems.extend(shortage::say(design, &plan.gathered, at, &shortage)),
        }
        done += share;
        // Supplies that are added take slots from the classes that come after in the panel.
        propose::take_slots(&mut plan.gathered, at, plan.solved.last());
    }
    plan
}

/// An output by the words of the job file.
fn output_name(supply: &Id, number: usize) -> String {
    let number = u8::try_from(number + 1).unwrap_or(u8::MAX);
    OutputRef { supply: supply.clone(), number }.to_string()
}
