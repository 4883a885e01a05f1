//! Gathers the circuit of one part of the network: its ohms and its loads, each with what it stands for.

use super::circuit::{Branch, Circuit, Draw, Load as CircuitLoad};
use super::reason::Reason;
use super::string::{StringStudy, Strings, strings};
use crate::format::Quantity;
use crate::job::catalogue::{ConductorPlan, ControlType, Drive, FixtureType, Function, Load, Metal};
use crate::job::wiring::{CeilingBox, Loop, LoopPath, WallBox};
use crate::job::{Id, Index, Job, open};
use crate::network::{Basis, ControlAt, FeedAt, Lengths, LoopAt, Network};
use crate::standards::conductor::ohms_per_metre_of;
use crate::units::Length;
use crate::working::{Input, Number, Origin, Recorder};
use hashbrown::HashMap;

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

/// What a load draws, with its working.
#[derive(Debug, Clone)]
pub(super) enum Drawn<N> {
    Watts(N),
    Amps(N),
    Siemens(N),
}

/// The volts of a string and the watts of its wire, with their working.
#[derive(Debug, Clone)]
pub(super) struct StringTrace<N> {
    pub volts: N,
    pub wire_watts: N,
    pub amps: N,
    /// The volts of each of its lights.
    pub lights: Vec<N>,
}

/// The circuit of a part, with what each branch and load stands for and the run it belongs to.
#[derive(Debug, Clone)]
pub(super) struct Gathered<N> {
    pub circuit: Circuit,
    /// Ohms of each branch, with their working.
    pub ohms: Vec<N>,
    /// What each load draws, with its working; none while it is open.
    pub draws: Vec<Option<Drawn<N>>>,
    pub branches: Vec<(usize, BranchIs)>,
    pub loads: Vec<(usize, LoadIs)>,
    /// Each run's strings with the node of their control.
    pub strings: Vec<(usize, usize, StringStudy, StringTrace<N>)>,
    /// The node at the end of each feed.
    pub feed_nodes: HashMap<FeedAt, usize>,
}

/// Gathers the circuit of a part, or says everything that is missing for it.
pub(super) fn gather<R: Recorder>(
    job: &Job,
    index: &Index,
    network: &Network,
    part: usize,
    recorder: &mut R,
) -> Result<Gathered<R::Number>, Vec<Reason>> {
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
        recorder,
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
            ohms: Vec::new(),
            draws: Vec::new(),
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

struct Gatherer<'a, R: Recorder> {
    recorder: &'a mut R,
    job: &'a Job,
    index: &'a Index,
    lengths: Lengths<'a>,
    reasons: Vec<Reason>,
    control_nodes: HashMap<ControlAt, usize>,
    gathered: Gathered<R::Number>,
}

impl<R: Recorder> Gatherer<'_, R> {
    fn new_node(&mut self) -> usize {
        self.gathered.circuit.nodes += 1;
        self.gathered.circuit.nodes - 1
    }

    fn branch(
        &mut self,
        run: usize,
        (a, b): (usize, usize),
        ohms: Result<R::Number, Reason>,
        is: BranchIs,
        name: impl FnOnce() -> String,
    ) {
        match ohms {
            Ok(ohms) => {
                let ohms = self.recorder.figure(name, Quantity::Ohms, ohms);
                self.gathered.circuit.branches.push(Branch { a, b, ohms: ohms.value() });
                self.gathered.ohms.push(ohms);
                self.gathered.branches.push((run, is));
            }
            Err(reason) => self.miss(reason),
        }
    }

    fn load(&mut self, run: usize, node: usize, draws: Draw, is: LoadIs, amount: Option<Drawn<R::Number>>) {
        self.gathered.draws.push(amount);
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
                Some(length) => Pair::new(job, self.index, &feed.id, (&feed.cable, feed.plan.as_ref()))
                    .map(|pair| pair.ohms(job, (length.length.ticks(), length.basis))),
                None => Err(Reason::NoLength(feed.id.clone())),
            };
            self.branch(number, (from, node), ohms, BranchIs::Feed(at), || format!("cable/{}/ohms", feed.id));
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
                let amount = R::Number::input(watts.get(), || {
                    let id = &job.boxes[wall_box].id;
                    Input::new(
                        format!("allowance of {id}"),
                        Quantity::Watts,
                        Origin::Job(format!("box/{id} allowance_watts")),
                    )
                });
                let draws = Draw::Power { watts: watts.get() };
                self.load(number, node, draws, LoadIs::Allowance, Some(Drawn::Watts(amount)));
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
            let amount = R::Number::input(part.own_watts.get(), || {
                Input::new(
                    format!("own draw of {}", wired.id),
                    Quantity::Watts,
                    Origin::Catalogue(format!("{} own_watts", part.id)),
                )
            });
            let draws = Draw::Power { watts: part.own_watts.get() };
            self.load(run, node, draws, LoadIs::Own, Some(Drawn::Watts(amount)));
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
        let pair = Pair::new(job, index, &run.id, (&run.cable, run.plan.as_ref()));
        let ohms = |leg: usize| match lengths.legs.get(leg).copied().flatten() {
            Some(ticks) => {
                let leg = run.ceiling.get(leg).map_or(run.return_leg, |c| c.leg);
                let whole = lengths.whole.map_or(Basis::Estimated, |whole| whole.basis);
                let basis = if leg.is_some() && whole == Basis::Estimated { Basis::Measured } else { whole };
                pair.as_ref().map(|pair| pair.ohms(job, (ticks, basis))).map_err(Clone::clone)
            }
            None => Err(Reason::NoLength(run.id.clone())),
        };
        let mut before = start;
        for (position, ceiling) in run.ceiling.iter().enumerate() {
            let node = self.new_node();
            let name = || format!("cable/{}/leg_{}_ohms", run.id, position + 1);
            self.branch(number, (before, node), ohms(position), BranchIs::Leg(at), name);
            self.light(number, node, at, position, ceiling);
            before = node;
        }
        if run.path == LoopPath::Returned && !run.ceiling.is_empty() {
            let home = match &run.returns_to {
                Some(control) => self.control_node(control).unwrap_or(start),
                None => start,
            };
            let name = || format!("cable/{}/leg_{}_ohms", run.id, run.ceiling.len() + 1);
            self.branch(number, (before, home), ohms(run.ceiling.len()), BranchIs::Leg(at), name);
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
        let wall_box = &self.job.boxes[at.control.wall_box];
        let wired = &wall_box.controls[at.control.control].loops[at.at];
        let mut draws = Vec::new();
        let mut amount = None;
        let input = |value: f64, unit, what: &str, fixture: &FixtureType| {
            R::Number::input(value, || {
                Input::new(
                    format!("{what} of {}", ceiling.id),
                    unit,
                    Origin::Catalogue(format!("{} {what}", fixture.id)),
                )
            })
        };
        for fixture in held(self.job, self.index, (wall_box, wired), ceiling) {
            match fixture.load {
                Load::Power { watts, .. } => {
                    amount = Some(Drawn::Watts(input(watts.get(), Quantity::Watts, "watts", fixture)));
                    draws.push(Draw::Power { watts: watts.get() });
                }
                Load::Current { amps, .. } => {
                    amount = Some(Drawn::Amps(input(amps.get(), Quantity::Amps, "amps", fixture)));
                    draws.push(Draw::Current { amps: amps.get() });
                }
                Load::Resistance { watts, at_volts } => {
                    let at = input(at_volts.get(), Quantity::Volts, "at_volts", fixture);
                    let ohms = at.clone() * at / input(watts.get(), Quantity::Watts, "watts", fixture);
                    draws.push(Draw::Resistance { ohms: ohms.value() });
                    amount = Some(Drawn::Siemens(R::Number::constant(1.0) / ohms));
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
            _ => {
                amount = None;
                Draw::Worst(draws)
            }
        };
        self.load(run, node, draws, LoadIs::Light(at, position), amount);
    }

    /// A loop of fixtures in series: to the home run it is one load of constant power.
    fn series(&mut self, number: usize, node: usize, at: LoopAt, run: &Loop, part: &ControlType) {
        let lengths = self.lengths.wired_loop(&self.job.boxes[at.control.wall_box], run);
        match strings(self.job, self.index, at, run, part, &lengths, self.recorder) {
            Ok(Strings { strings, watts }) => {
                let draws = Draw::Power { watts: watts.value() };
                if watts.value() > 0.0 {
                    self.load(number, node, draws, LoadIs::Strings, Some(Drawn::Watts(watts)));
                }
                let strings = strings.into_iter().map(|(string, trace)| (number, node, string, trace));
                self.gathered.strings.extend(strings);
            }
            Err(reasons) => reasons.into_iter().for_each(|reason| self.miss(reason)),
        }
    }
}

/// The fixture a ceiling box holds, or those it may yet hold.
pub(super) fn held<'a>(
    job: &'a Job,
    index: &'a Index,
    (wall_box, wired): (&WallBox, &'a Loop),
    ceiling: &'a CeilingBox,
) -> impl Iterator<Item = &'a FixtureType> {
    open::held(job, index, wall_box, wired, ceiling).filter_map(|id| index.fixture_type(job, id))
}

/// Ohms of one conductor of a cable type over a length in ticks.
pub(super) fn conductor_ohms<N: Number>(
    job: &Job,
    index: &Index,
    (id, cable): (&Id, &Id),
    length: (i64, Basis),
) -> Result<N, Reason> {
    Ok(ohms_per_metre::<N>(job, index, cable)? * metres(job, id, length))
}

fn ohms_per_metre<N: Number>(job: &Job, index: &Index, cable: &Id) -> Result<N, Reason> {
    let unknown = || Reason::NoResistance(cable.clone());
    let part = index.cable_type(job, cable).filter(|part| part.metal == Metal::Copper).ok_or_else(unknown)?;
    let celsius = job.settings.conductor_celsius.get();
    ohms_per_metre_of(part.gauge.get(), part.stranding, celsius).ok_or_else(unknown)
}

fn metres<N: Number>(job: &Job, id: &Id, (ticks, basis): (i64, Basis)) -> N {
    N::input(Length::from_ticks(ticks, job.project.units).metres(), || {
        let origin = match basis {
            Basis::Pulled => Origin::Job(format!("{id}, pulled")),
            Basis::Measured => Origin::Job(format!("{id}, measured")),
            Basis::Estimated => Origin::Estimate(format!("{id}, from places, with allowance and make-up")),
        };
        Input::new("length", Quantity::Metres, origin)
    })
}

/// The pair that the plan of a cable makes, doubled conductors side by side.
struct Pair<'a, N> {
    id: &'a Id,
    /// Ohms of a metre of one conductor.
    per_metre: N,
    plan: &'a Id,
    positive: usize,
    negative: usize,
}

impl<'a, N: Number> Pair<'a, N> {
    fn new(
        job: &'a Job,
        index: &Index,
        id: &'a Id,
        (cable, plan): (&Id, Option<&Id>),
    ) -> Result<Self, Reason> {
        let per_metre = ohms_per_metre(job, index, cable)?;
        let plan = plan_of(job, index, cable, plan).ok_or_else(|| Reason::NoPair(id.clone()))?;
        match (plan.count(Function::Positive), plan.count(Function::Negative)) {
            (0, _) | (_, 0) => Err(Reason::NoPair(id.clone())),
            (positive, negative) => Ok(Self { id, per_metre, plan: &plan.id, positive, negative }),
        }
    }

    /// Ohms out and back over a length in ticks.
    fn ohms(&self, job: &Job, length: (i64, Basis)) -> N {
        let one: N = self.per_metre.clone() * metres(job, self.id, length);
        #[expect(clippy::cast_precision_loss, reason = "a count of conductors is small")]
        let count = |n: usize, side: &str| {
            N::input(n as f64, || {
                let origin = Origin::Catalogue(format!("plan {}", self.plan));
                Input::new(format!("{side} conductors"), Quantity::Count, origin)
            })
        };
        one.clone() / count(self.positive, "+") + one / count(self.negative, "-")
    }
}

/// The plan that holds for a cable: its own, or its type's.
fn plan_of<'a>(job: &'a Job, index: &Index, cable: &Id, plan: Option<&Id>) -> Option<&'a ConductorPlan> {
    match plan {
        Some(plan) => index.plan(job, plan),
        None => index.plan(job, &index.cable_type(job, cable)?.plan),
    }
}
