//! Gathers the circuit of one part of the network: its ohms and its loads, each with what it stands for.

use super::circuit::{Branch, Circuit, Draw, Load as CircuitLoad};
use super::reason::Reason;
use super::string::{StringStudy, strings};
use crate::job::catalogue::{ConductorPlan, ControlType, Drive, FixtureType, Function, Load, Metal};
use crate::job::wiring::{CeilingBox, Loop, LoopPath};
use crate::job::{Id, Index, Job};
use crate::network::{ControlAt, FeedAt, Lengths, LoopAt, Network};
use crate::standards::conductor::ohms_per_metre;
use crate::units::Length;
use std::collections::HashMap;

/// What a branch of the circuit stands for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum BranchIs {
    Feed(FeedAt),
    Leg(LoopAt),
}

/// What a load of the circuit stands for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum LoadIs {
    Light(LoopAt, usize),
    /// A control's own draw.
    Own,
    /// What a current drive takes for its strings.
    Strings,
    Allowance,
}

/// The circuit of a part, with what each branch and load stands for and the run it belongs to.
#[derive(Debug, Clone)]
pub(super) struct Gathered {
    pub circuit: Circuit,
    pub branches: Vec<(usize, BranchIs)>,
    pub loads: Vec<(usize, LoadIs)>,
    /// Each run's strings with the node of their control.
    pub strings: Vec<(usize, usize, StringStudy)>,
    /// The node at the end of each feed.
    pub feed_nodes: HashMap<FeedAt, usize>,
}

/// Gathers the circuit of a part, or says everything that is missing for it.
pub(super) fn gather(
    job: &Job,
    index: &Index,
    network: &Network,
    part: usize,
) -> Result<Gathered, Vec<Reason>> {
    let Some(part) = network.parts.get(part) else { return Err(Vec::new()) };
    if part.interconnected {
        return Err(vec![Reason::Interconnected]);
    }
    let output = part.runs.first().and_then(|&run| network.runs[run].output.as_ref());
    let supply = output.and_then(|output| index.supply(job, &output.supply));
    let Some(supply) = supply.and_then(|(_, supply)| index.supply_type(job, &supply.part)) else {
        return Err(vec![Reason::OnNoOutput]);
    };
    let mut gatherer = Gatherer {
        job,
        index,
        lengths: Lengths::new(job, index),
        reasons: Vec::new(),
        control_nodes: HashMap::new(),
        gathered: Gathered {
            circuit: Circuit {
                source_volts: supply.volts.get(),
                nodes: 1,
                branches: Vec::new(),
                loads: Vec::new(),
            },
            branches: Vec::new(),
            loads: Vec::new(),
            strings: Vec::new(),
            feed_nodes: HashMap::new(),
        },
    };
    for &run in &part.runs {
        gatherer.feeds(network, run);
    }
    for &run in &part.runs {
        for &(_, control) in &network.runs[run].controls {
            gatherer.control(run, control);
        }
    }
    if gatherer.reasons.is_empty() { Ok(gatherer.gathered) } else { Err(gatherer.reasons) }
}

struct Gatherer<'a> {
    job: &'a Job,
    index: &'a Index,
    lengths: Lengths<'a>,
    reasons: Vec<Reason>,
    control_nodes: HashMap<ControlAt, usize>,
    gathered: Gathered,
}

impl Gatherer<'_> {
    fn new_node(&mut self) -> usize {
        self.gathered.circuit.nodes += 1;
        self.gathered.circuit.nodes - 1
    }

    fn branch(&mut self, run: usize, a: usize, b: usize, ohms: Result<f64, Reason>, is: BranchIs) {
        match ohms {
            Ok(ohms) => {
                self.gathered.circuit.branches.push(Branch { a, b, ohms });
                self.gathered.branches.push((run, is));
            }
            Err(reason) => self.miss(reason),
        }
    }

    fn load(&mut self, run: usize, node: usize, draws: Draw, is: LoadIs) {
        self.gathered.circuit.loads.push(CircuitLoad { node, draws });
        self.gathered.loads.push((run, is));
    }

    fn miss(&mut self, reason: Reason) {
        if !self.reasons.contains(&reason) {
            self.reasons.push(reason);
        }
    }

    fn feeds(&mut self, network: &Network, number: usize) {
        let job = self.job;
        let run = &network.runs[number];
        for (position, &at) in run.feeds.iter().enumerate() {
            let wall_box = &job.boxes[at.wall_box];
            let feed = &wall_box.feeds[at.feed];
            let from = match &feed.from {
                crate::job::wiring::Source::Onward(from) if position > 0 => run
                    .feeds
                    .iter()
                    .take(position)
                    .find(|at| job.boxes[at.wall_box].feeds[at.feed].id.same(from))
                    .and_then(|at| self.gathered.feed_nodes.get(at))
                    .copied()
                    .unwrap_or(0),
                _ => 0,
            };
            let node = self.new_node();
            self.gathered.feed_nodes.insert(at, node);
            let ohms = match self.lengths.feed(wall_box, feed) {
                Some(length) => pair_ohms(
                    job,
                    self.index,
                    &feed.id,
                    (&feed.cable, feed.plan.as_ref()),
                    length.length.ticks(),
                ),
                None => Err(Reason::NoLength(feed.id.clone())),
            };
            self.branch(number, from, node, ohms, BranchIs::Feed(at));
            // A box with several feeds and something that doesn't say which it is on may load any of them.
            let unsaid = wall_box.controls.iter().any(|control| control.on.is_none())
                || wall_box.allowance_watts.is_some();
            if wall_box.feeds.len() > 1 && unsaid {
                self.miss(Reason::FeedNotNamed(wall_box.id.clone()));
            }
        }
        for &(feed, wall_box) in &run.allowances {
            if let (Some(watts), Some(&node)) =
                (job.boxes[wall_box].allowance_watts, self.gathered.feed_nodes.get(&run.feeds[feed]))
            {
                self.load(number, node, Draw::Power { watts: watts.get() }, LoadIs::Allowance);
            }
        }
        for &(feed, control) in &run.controls {
            if let Some(&node) = self.gathered.feed_nodes.get(&run.feeds[feed]) {
                self.control_nodes.insert(control, node);
            }
        }
    }

    fn control(&mut self, run: usize, at: ControlAt) {
        let job = self.job;
        let wired = &job.boxes[at.wall_box].controls[at.control];
        let Some(part) = self.index.control_type(job, &wired.part) else { return };
        let Some(&node) = self.control_nodes.get(&at) else { return };
        if part.own_watts.get() > 0.0 {
            self.load(run, node, Draw::Power { watts: part.own_watts.get() }, LoadIs::Own);
        }
        for (number, wired_loop) in wired.loops.iter().enumerate() {
            let at = LoopAt { control: at, at: number };
            match part.drive {
                Drive::Voltage => self.parallel(run, node, at, wired_loop),
                Drive::Current { .. } => self.series(run, node, at, wired_loop, part),
            }
        }
    }

    /// A loop of fixtures in parallel across its pair.
    fn parallel(&mut self, number: usize, start: usize, at: LoopAt, run: &Loop) {
        let (job, index) = (self.job, self.index);
        if run.crossed && run.path == LoopPath::Returned {
            self.miss(Reason::DeadShort(run.id.clone()));
        }
        let lengths = self.lengths.wired_loop(&job.boxes[at.control.wall_box], run);
        if lengths.legs_exceed_whole {
            self.miss(Reason::LegsExceedWhole(run.id.clone()));
            return;
        }
        let ohms = |leg: usize| match lengths.legs.get(leg).copied().flatten() {
            Some(ticks) => pair_ohms(job, index, &run.id, (&run.cable, run.plan.as_ref()), ticks),
            None => Err(Reason::NoLength(run.id.clone())),
        };
        let mut before = start;
        for (position, ceiling) in run.ceiling.iter().enumerate() {
            let node = self.new_node();
            self.branch(number, before, node, ohms(position), BranchIs::Leg(at));
            self.light(number, node, at, position, ceiling);
            before = node;
        }
        if run.path == LoopPath::Returned && !run.ceiling.is_empty() {
            let home = match &run.returns_to {
                Some(control) => self.control_node(control).unwrap_or(start),
                None => start,
            };
            self.branch(number, before, home, ohms(run.ceiling.len()), BranchIs::Leg(at));
        }
    }

    fn control_node(&self, id: &Id) -> Option<usize> {
        let found = self
            .control_nodes
            .iter()
            .find(|(at, _)| self.job.boxes[at.wall_box].controls[at.control].id.same(id));
        found.map(|(_, &node)| node)
    }

    fn light(&mut self, run: usize, node: usize, at: LoopAt, position: usize, ceiling: &CeilingBox) {
        let mut draws = Vec::new();
        for fixture in held(self.job, self.index, ceiling) {
            match fixture.load {
                Load::Power { watts, .. } => draws.push(Draw::Power { watts: watts.get() }),
                Load::Current { amps, .. } => draws.push(Draw::Current { amps: amps.get() }),
                Load::Resistance { watts, at_volts } => {
                    draws.push(Draw::Resistance { ohms: at_volts.get() * at_volts.get() / watts.get() });
                }
                Load::String { .. } => {
                    self.miss(Reason::DoesNotFit {
                        ceiling: ceiling.id.clone(),
                        fixture: fixture.id.clone(),
                    });
                }
            }
        }
        let draws = match draws.len() {
            0 => return,
            1 => draws.remove(0),
            _ => Draw::Worst(draws),
        };
        self.load(run, node, draws, LoadIs::Light(at, position));
    }

    /// A loop of fixtures in series: to the home run it is one load of constant power.
    fn series(&mut self, number: usize, node: usize, at: LoopAt, run: &Loop, part: &ControlType) {
        let lengths = self.lengths.wired_loop(&self.job.boxes[at.control.wall_box], run);
        match strings(self.job, self.index, at, run, part, &lengths) {
            Ok((strings, watts)) => {
                if watts > 0.0 {
                    self.load(number, node, Draw::Power { watts }, LoadIs::Strings);
                }
                self.gathered.strings.extend(strings.into_iter().map(|string| (number, node, string)));
            }
            Err(reasons) => reasons.into_iter().for_each(|reason| self.miss(reason)),
        }
    }
}

/// The fixture a ceiling box holds, or those it may yet hold.
pub(super) fn held<'a>(
    job: &'a Job,
    index: &'a Index,
    ceiling: &'a CeilingBox,
) -> impl Iterator<Item = &'a FixtureType> {
    ceiling.fixture.iter().chain(&ceiling.open).filter_map(|id| index.fixture_type(job, id))
}

/// Ohms of one conductor of a cable type over a length in ticks.
pub(super) fn conductor_ohms(job: &Job, index: &Index, cable: &Id, ticks: i64) -> Result<f64, Reason> {
    let unknown = || Reason::NoResistance(cable.clone());
    let part = index.cable_type(job, cable).filter(|part| part.metal == Metal::Copper).ok_or_else(unknown)?;
    let celsius = job.settings.conductor_celsius.get();
    let per_metre = ohms_per_metre(part.gauge.get(), part.stranding, celsius).ok_or_else(unknown)?;
    Ok(per_metre * Length::from_ticks(ticks, job.project.units).metres())
}

/// Ohms out and back of the pair that a cable's plan makes, doubled conductors side by side.
pub(super) fn pair_ohms(
    job: &Job,
    index: &Index,
    id: &Id,
    (cable, plan): (&Id, Option<&Id>),
    ticks: i64,
) -> Result<f64, Reason> {
    let one = conductor_ohms(job, index, cable, ticks)?;
    let plan = plan_of(job, index, cable, plan).ok_or_else(|| Reason::NoPair(id.clone()))?;
    match (plan.count(Function::Positive), plan.count(Function::Negative)) {
        (0, _) | (_, 0) => Err(Reason::NoPair(id.clone())),
        #[expect(clippy::cast_precision_loss, reason = "a count of conductors is small")]
        (positive, negative) => Ok(one / positive as f64 + one / negative as f64),
    }
}

/// The plan that holds for a cable: its own, or its type's.
fn plan_of<'a>(job: &'a Job, index: &Index, cable: &Id, plan: Option<&Id>) -> Option<&'a ConductorPlan> {
    match plan {
        Some(plan) => index.plan(job, plan),
        None => index.plan(job, &index.cable_type(job, cable)?.plan),
    }
}
