//! From a studied job to instances of the search: one for each panel and class of volts, as no run goes from one to
//! another.

use super::Problem;
use super::groups::Groups;
use super::unlanded::{self, Guess};
use crate::design::Design;
use crate::job::catalogue::{OutputKind, SupplyType, each};
use crate::job::wiring::{CeilingBox, OutputRef};
use crate::job::{Fewest, Id, Kind as Thing, Spot, open};
use crate::plan::packing::{Instance, Item, Kind};
use crate::plan::slots;
use crate::standards::class2;
use crate::study::Outcome;
use rust_decimal::prelude::ToPrimitive;
use std::collections::BTreeMap;

/// A price that nobody entered: more than any other.
const UNKNOWN_PRICE: u64 = 1_000_000_000_000;

/// Outputs that a run may be on: those of one panel, of the same volts, and all Class 2 or none.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) struct Class {
    /// The panel by position.
    pub panel: usize,
    pub millivolts: u64,
    pub class2: bool,
}

impl Class {
    pub(super) fn takes(self, part: &SupplyType) -> bool {
        millivolts(part.volts.get()) == self.millivolts && is_class2(part) == self.class2
    }

    pub(super) fn volts(self) -> f64 {
        tenths_to_unit(self.millivolts) / 100.0
    }
}

/// A run that is placed, or one made up for a question.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Load {
    /// Its id, or what a made-up one is called.
    pub name: String,
    /// Its position in the network; none for a made-up one.
    pub run: Option<usize>,
    pub class: Class,
    /// Tenths of a watt, rounded up.
    pub weight: u64,
    pub output: Option<OutputRef>,
    pub landed: bool,
    pub pinned: bool,
    /// The rooms and levels it lights, as `room` positions and level positions.
    pub rooms: Vec<(usize, usize)>,
}

/// One class with all that the search needs and the way back to the job.
#[derive(Debug, Clone)]
pub(super) struct Zone {
    pub class: Class,
    pub instance: Instance,
    /// For each item its loads, by position in the gathered list.
    pub members: Vec<Vec<usize>>,
    /// For each kind its catalogue entry by position.
    pub parts: Vec<usize>,
    /// For each supply that is there its position in the panel.
    pub supplies: Vec<usize>,
}

impl Zone {
    /// The kind of the supply that a bin of those present belongs to.
    pub(super) fn kind_of(&self, bin: usize) -> Option<&Kind> {
        let supply = self.instance.bins_of().iter().position(|bins| bins.contains(&bin))?;
        Some(&self.instance.kinds[self.instance.supplies[supply]])
    }
}

/// Everything that is balanced.
#[derive(Debug, Clone)]
pub(super) struct Gathered {
    pub loads: Vec<Load>,
    pub zones: Vec<Zone>,
}

/// A supply that is left out, for the question what happens when it fails.
pub(super) type Without<'a> = Option<&'a Id>;

pub(super) fn millivolts(volts: f64) -> u64 {
    whole(volts * 1000.0)
}

pub(super) fn is_class2(part: &SupplyType) -> bool {
    part.kind != OutputKind::NotClass2
}

/// Watts in whole tenths, rounded up; what is a hair above a tenth by the last bits of a sum is not.
pub(super) fn tenths_up(watts: f64) -> u64 {
    whole((watts * 10.0 - 1e-6).ceil())
}

/// A limit in whole tenths, rounded down.
pub(super) fn tenths_down(watts: f64) -> u64 {
    whole((watts * 10.0 + 1e-6).floor())
}

#[expect(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "a cast of floats saturates, and figures of a job are far below 2^53"
)]
fn whole(figure: f64) -> u64 {
    figure.round() as u64
}

/// Tenths of a watt as watts.
#[expect(clippy::cast_precision_loss, reason = "sums of a job are far below 2^53 tenths")]
pub(super) fn tenths_to_unit(tenths: u64) -> f64 {
    tenths as f64 / 10.0
}

/// Every run with its watts, or why some cannot be placed.
pub(super) fn loads(design: &Design) -> Result<Vec<Load>, Vec<Problem>> {
    let (mut loads, mut problems) = (Vec::new(), Vec::new());
    let guesses = unlanded::guesses(design);
    for (number, run) in design.network.runs.iter().enumerate() {
        let known = match &run.output {
            Some(output) => on_output(design, number, output),
            None => match guesses.get(&number) {
                Some(Guess::Is { class, watts }) => Ok((*class, *watts)),
                Some(Guess::Unclear(problem)) => Err(problem.clone()),
                None => continue,
            },
        };
        let Some(home_run) = run.feeds.first() else { continue };
        let feed = &design.job.boxes[home_run.wall_box].feeds[home_run.feed];
        match known {
            Ok((class, watts)) => loads.push(Load {
                name: run.id.to_string(),
                run: Some(number),
                class,
                weight: tenths_up(watts),
                output: run.output.clone(),
                landed: feed.landed && run.output.is_some(),
                pinned: feed.pinned && run.output.is_some(),
                rooms: rooms_of(design, number),
            }),
            Err(problem) => problems.push(problem),
        }
    }
    if problems.is_empty() { Ok(loads) } else { Err(problems) }
}

fn on_output(design: &Design, number: usize, output: &OutputRef) -> Result<(Class, f64), Problem> {
    let run = &design.network.runs[number];
    let study = design.study.run(&design.network, number);
    let class = class_of(design, output);
    match (class, study.and_then(|study| study.source_watts)) {
        (Some(class), Some(watts)) => Ok((class, watts)),
        _ => Err(unknown(&run.id, study.map(|study| &study.outcome))),
    }
}

/// Why a run without watts cannot be placed.
pub(super) fn unknown(run: &Id, outcome: Option<&Outcome>) -> Problem {
    let why = match outcome {
        Some(Outcome::Unknown(reasons)) => {
            reasons.iter().map(ToString::to_string).collect::<Vec<_>>().join("; ")
        }
        Some(Outcome::NoSolution) => "its cables cannot carry its load: shorten or thicken them".to_owned(),
        Some(Outcome::Solved) | None => "it is in no study".to_owned(),
    };
    Problem {
        what: format!("the watts of run {run} are unknown: {why}"),
        remedy: "clear that, then balance".into(),
        runs: vec![run.to_string()],
    }
}

pub(super) fn class_of(design: &Design, output: &OutputRef) -> Option<Class> {
    let Spot::Supply { panel, supply } = design.index.spot(Thing::Supply, &output.supply)? else {
        return None;
    };
    let part = design.index.supply_type(&design.job, &design.job.panels[panel].supplies[supply].part)?;
    Some(Class { panel, millivolts: millivolts(part.volts.get()), class2: is_class2(part) })
}

/// The rooms a run lights, as level and room; those of its wall boxes where it lights nothing yet.
pub(in crate::plan) fn rooms_of(design: &Design, number: usize) -> Vec<(usize, usize)> {
    let run = &design.network.runs[number];
    let mut rooms: Vec<&Id> = Vec::new();
    for (_, control) in &run.controls {
        let wall_box = &design.job.boxes[control.wall_box];
        for wired in &wall_box.controls[control.control].loops {
            let lit = |c: &&CeilingBox| open::lit(&design.job, &design.index, wall_box, wired, c);
            let lit = wired.ceiling.iter().filter(lit);
            rooms.extend(lit.map(|ceiling| ceiling.room.as_ref().unwrap_or(&wall_box.room)));
        }
    }
    if rooms.is_empty() {
        rooms = run.feeds.iter().map(|at| &design.job.boxes[at.wall_box].room).collect();
    }
    let mut spots: Vec<(usize, usize)> = rooms
        .into_iter()
        .filter_map(|id| match design.index.spot(Thing::Room, id) {
            Some(Spot::Room { level, room }) => Some((level, room)),
            _ => None,
        })
        .collect();
    spots.sort_unstable();
    spots.dedup();
    spots
}

/// Builds the instances.
pub(super) fn gather(design: &Design, loads: Vec<Load>, without: Without<'_>) -> Gathered {
    let mut classes: Vec<Class> = loads.iter().map(|load| load.class).collect();
    classes.sort_unstable();
    classes.dedup();
    let groups = Groups::new(design, &loads);
    let mut room_left: BTreeMap<usize, slots::Room> = BTreeMap::new();
    let zones = classes
        .into_iter()
        .map(|class| {
            let room = room_left
                .entry(class.panel)
                .or_insert_with(|| slots::Room::of(design, &design.job.panels[class.panel]));
            zone(design, class, &loads, &groups, room, without)
        })
        .collect();
    Gathered { loads, zones }
}

fn zone(
    design: &Design,
    class: Class,
    loads: &[Load],
    groups: &Groups,
    room: &slots::Room,
    without: Without<'_>,
) -> Zone {
    let job = &design.job;
    let panel = &job.panels[class.panel];
    let mut parts = Vec::new();
    let mut kinds = Vec::new();
    let target = job.settings.target_load_percent.get() / 100.0;
    for (at, part) in job.catalogue.supplies.iter().enumerate() {
        let used = panel.supplies.iter().any(|supply| supply.part.same(&part.id));
        if !class.takes(part) || !(used || buyable(part)) {
            continue;
        }
        let price = each(part.price, part.pack);
        let price = price.and_then(|price| (price * rust_decimal::Decimal::from(100)).ceil().to_u64());
        parts.push(at);
        kinds.push(Kind {
            outputs: part.outputs.get().into(),
            limit: tenths_down(part.output_watts.get()),
            target: tenths_down(part.output_watts.get() * target),
            terminals: part.terminals.get().into(),
            price: price.unwrap_or(UNKNOWN_PRICE),
            slots: part.slots.get().into(),
            more: if buyable(part) { room.more(part.slots.get().into()) } else { 0 },
        });
    }
    let (mut supplies, mut supply_kinds, mut first_bin) = (Vec::new(), Vec::new(), BTreeMap::new());
    let mut next = 0;
    for (at, supply) in panel.supplies.iter().enumerate() {
        let kind = parts.iter().position(|&part| job.catalogue.supplies[part].id.same(&supply.part));
        let Some(kind) = kind.filter(|_| without.is_none_or(|lost| !lost.same(&supply.id))) else { continue };
        supplies.push(at);
        supply_kinds.push(kind);
        first_bin.insert(supply.id.folded(), next);
        next += kinds[kind].outputs;
    }
    let home = |load: &Load| {
        let output = load.output.as_ref()?;
        Some(first_bin.get(&output.supply.folded())? + usize::from(output.number) - 1)
    };
    let mut members: Vec<Vec<usize>> = Vec::new();
    let mut item_of: BTreeMap<usize, usize> = BTreeMap::new();
    for number in (0..loads.len()).filter(|&number| loads[number].class == class) {
        let bond = groups.bond[number];
        let item = *item_of.entry(bond).or_insert_with(|| {
            members.push(Vec::new());
            members.len() - 1
        });
        members[item].push(number);
    }
    let items = members.iter().map(|own| {
        let home = own.iter().find_map(|&load| home(&loads[load]));
        Item {
            weight: own.iter().map(|&load| loads[load].weight).sum(),
            wires: u32::try_from(own.len()).unwrap_or(u32::MAX),
            home,
            landed: u32::try_from(own.iter().filter(|&&load| loads[load].landed).count()).unwrap_or(u32::MAX),
            pinned: home.is_some() && own.iter().any(|&load| loads[load].pinned),
        }
    });
    let items: Vec<Item> = items.collect();
    let of = |load: &usize| members.iter().position(|own| own.contains(load));
    let inside = |lists: &[Vec<usize>], whole: bool| -> Vec<Vec<usize>> {
        let mut found: Vec<Vec<usize>> = Vec::new();
        for list in lists {
            let here: Vec<usize> = list.iter().filter_map(of).collect();
            // A group that reaches into another panel or class is on several supplies anyway.
            if here.len() < 2 || (whole && here.len() < list.len()) {
                continue;
            }
            if !found.contains(&here) {
                found.push(here);
            }
        }
        found
    };
    let instance = Instance {
        apart: inside(&groups.apart, false).into_iter().map(deduped).filter(|g| g.len() > 1).collect(),
        share: inside(&groups.together, false).into_iter().map(deduped).filter(|g| g.len() > 1).collect(),
        spread: inside(&groups.spread, true),
        fewest_bins: job.settings.balance.fewest == Fewest::Outputs,
        items,
        kinds,
        supplies: supply_kinds,
    };
    Zone { class, instance, members, parts, supplies }
}

fn deduped(mut group: Vec<usize>) -> Vec<usize> {
    group.sort_unstable();
    group.dedup();
    group
}

/// Whether it may be added: its outputs are what they say by their class.
fn buyable(part: &SupplyType) -> bool {
    let highest = part.no_load_volts.unwrap_or(part.volts).get().max(part.volts.get());
    class2::most_volt_amps(part.kind, highest).is_none_or(|most| part.output_watts.get() <= most)
}
