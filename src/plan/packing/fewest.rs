//! The fewest supplies that hold everything, and why there are none.

use super::bound::{count, fewest_bins};
use super::budget::Budget;
use super::complete::Fit;
use super::even::improve;
use super::exhaust::{equal_bins, fits_under};
use super::pair::Divider;
use super::recast::recast;
use super::state::{Ground, State};
use super::ties::{by_weight, clans};
use super::{Bin, Instance};
use std::cmp::Reverse;

/// A supply that is used.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Opened {
    /// Its kind.
    pub kind: usize,
    /// Which of those present it is; none for one to be added.
    pub present: Option<usize>,
}

/// Supplies that hold everything.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Found {
    /// The supplies, those present first.
    pub opened: Vec<Opened>,
    /// Their bins.
    pub bins: Vec<Bin>,
    /// For each of the bins, the bin among those present that it is.
    pub homes: Vec<Option<usize>>,
    /// A packing into them, by item.
    pub at: Vec<usize>,
    /// No fewer supplies can do.
    pub bound: usize,
}

impl Found {
    /// Where a bin of those present stands among the bins used.
    pub fn place(&self, home: usize) -> Option<usize> {
        self.homes.iter().position(|&own| own == Some(home))
    }
}

/// Why no supplies that may be had hold the items.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Shortage {
    /// Items heavier than any output's limit.
    TooHeavy(Vec<usize>),
    /// Items with more wires than any output has terminals.
    TooManyWires(Vec<usize>),
    /// Pinned items overload the bin they are pinned to, by number among those present.
    Pinned(usize),
    /// Items that must be apart are pinned together.
    PinnedTogether(Vec<usize>),
    /// Items that must be on one supply, directly or by others between them, are too much for any.
    TooMuchTogether(Vec<usize>),
    /// There is no kind of supply at all.
    NoKind,
    /// All that may be had is too little.
    TooFew {
        /// Supplies that may be had.
        had: usize,
        /// The fewest that could do, of the largest kind, by the bounds.
        needed: usize,
        /// Whether it is proved, not only that nothing was found.
        proved: bool,
    },
}

/// Percent of the steps left that one number of supplies may take: one that is just too tight leaves some for the next.
const SHARE: u64 = 25;

/// Steps for one choice of supplies with many items in each bin, times the items: with more of them each step takes as
/// much longer. No exact search ends there, and what the moves find, they find early.
const OF_MANY: u64 = 15_000_000;

/// Choices of kinds looked at for one number of supplies.
const MOST_CHOICES: usize = 2_000;

/// Finds the fewest supplies that hold all items within targets; among as many the cheapest, then the narrowest.
///
/// # Errors
/// [`Shortage`] when all that may be had do not, or nothing was found within the budget.
pub fn fewest(instance: &Instance, budget: &mut Budget<'_>) -> Result<Found, Shortage> {
    plain_shortage(instance)?;
    let present = |kind: usize| instance.supplies.iter().filter(|&&own| own == kind).count();
    let most: Vec<usize> =
        instance.kinds.iter().enumerate().map(|(at, kind)| present(at) + kind.more).collect();
    let forced = forced(instance);
    let least: Vec<usize> = (0..most.len())
        .map(|kind| forced.iter().filter(|&&supply| instance.supplies[supply] == kind).count())
        .collect();
    let (all, first): (usize, usize) = (most.iter().sum(), least.iter().sum());
    let start = first.max(usize::from(!instance.items.is_empty()));
    let mut bound = start;
    let mut ruled_out_so_far = true;
    for total in start..=all {
        let mut ruled_out = true;
        for choice in choices(instance, &least, &most, total) {
            if bounds_rule_out(instance, &choice) {
                continue;
            }
            // Each number gets its share, so that one that is just too tight leaves steps for the next.
            let end = budget.share(SHARE);
            match attempt(instance, &choice, &forced, budget, end) {
                Ok(found) => {
                    let bound = if ruled_out_so_far { total } else { bound };
                    let found = Found { bound, ..found };
                    return Ok(if instance.fewest_bins {
                        fewer_bins(instance, found, budget)
                    } else {
                        found
                    });
                }
                Err(proved) => ruled_out &= proved,
            }
        }
        if ruled_out && ruled_out_so_far {
            bound = total + 1;
        } else {
            ruled_out_so_far = false;
        }
    }
    if instance.items.is_empty() {
        return Ok(Found { opened: vec![], bins: vec![], homes: vec![], at: vec![], bound: 0 });
    }
    Err(Shortage::TooFew {
        had: all,
        needed: needed(instance).max(bound.min(all + 1)),
        proved: ruled_out_so_far,
    })
}

/// Whether so many supplies of each kind hold everything.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Verdict {
    /// They do, like this.
    Holds(Found),
    /// Proved: they do not.
    Never,
    /// The steps ran out.
    Unknown,
}

/// Whether a choice of supplies, so many of each kind, holds all items within targets. It takes at most so many percent
/// of the steps that are left.
pub fn holds(instance: &Instance, choice: &[usize], budget: &mut Budget<'_>, percent: u64) -> Verdict {
    if instance.items.is_empty() {
        return Verdict::Holds(open(instance, choice, &[]));
    }
    if bounds_rule_out(instance, choice) {
        return Verdict::Never;
    }
    let end = budget.share(percent);
    match attempt(instance, choice, &[], budget, end) {
        Ok(found) => Verdict::Holds(found),
        Err(true) => Verdict::Never,
        Err(false) => Verdict::Unknown,
    }
}

fn plain_shortage(instance: &Instance) -> Result<(), Shortage> {
    if instance.items.is_empty() {
        return Ok(());
    }
    let Some(limit) = instance.kinds.iter().map(|kind| kind.limit).max() else {
        return Err(Shortage::NoKind);
    };
    let terminals = instance.kinds.iter().map(|kind| kind.terminals).max().unwrap_or(0);
    let which = |bad: &dyn Fn(&super::Item) -> bool| -> Vec<usize> {
        (0..instance.items.len()).filter(|&item| bad(&instance.items[item])).collect()
    };
    let heavy = which(&|item| item.weight > limit);
    if !heavy.is_empty() {
        return Err(Shortage::TooHeavy(heavy));
    }
    let crowded = which(&|item| item.wires > terminals);
    if !crowded.is_empty() {
        return Err(Shortage::TooManyWires(crowded));
    }
    let (clans, _) = clans(instance.items.len(), &instance.share);
    if let Some(clan) = clans.into_iter().find(|clan| clan.len() > 1 && !held_by_one(instance, clan)) {
        return Err(Shortage::TooMuchTogether(clan));
    }
    for (supply, bins) in instance.bins_of().into_iter().enumerate() {
        let kind = &instance.kinds[instance.supplies[supply]];
        for bin in bins {
            let pinned = which(&|item| item.pinned && item.home == Some(bin));
            let weight: u64 = pinned.iter().map(|&item| instance.items[item].weight).sum();
            let wires: u32 = pinned.iter().map(|&item| instance.items[item].wires).sum();
            let cap = if pinned.len() > 1 { kind.target } else { kind.limit };
            if weight > cap || wires > kind.terminals {
                return Err(Shortage::Pinned(bin));
            }
            if let Some(group) = instance
                .apart
                .iter()
                .find(|group| group.iter().filter(|item| pinned.contains(item)).count() > 1)
            {
                return Err(Shortage::PinnedTogether(group.clone()));
            }
        }
    }
    Ok(())
}

/// Whether the bounds let some kind of supply hold the items by itself.
fn held_by_one(instance: &Instance, items: &[usize]) -> bool {
    instance.kinds.iter().any(|kind| {
        let own = || items.iter().map(|&item| &instance.items[item]);
        let weights: Vec<u64> = own().map(|item| item.weight.min(kind.target)).collect();
        let wires = own().map(|item| u64::from(item.wires)).sum();
        own().all(|item| item.weight <= kind.limit)
            && fewest_bins(&weights, kind.target, wires, kind.terminals.into()) <= kind.outputs
    })
}

/// The fewest supplies of the largest kind that could do.
fn needed(instance: &Instance) -> usize {
    let by_kind = |kind: &super::Kind| {
        let weights: Vec<u64> = instance.items.iter().map(|item| item.weight.min(kind.target)).collect();
        let wires = instance.items.iter().map(|item| u64::from(item.wires)).sum();
        let bins = fewest_bins(&weights, kind.target, wires, kind.terminals.into());
        let apart = instance.apart.iter().map(Vec::len).max().unwrap_or(0);
        bins.max(apart).div_ceil(kind.outputs.max(1))
    };
    instance.kinds.iter().map(by_kind).min().unwrap_or(0)
}

/// Supplies that something is pinned to.
fn forced(instance: &Instance) -> Vec<usize> {
    let pinned = |bin: usize| instance.items.iter().any(|item| item.pinned && item.home == Some(bin));
    let ranges = instance.bins_of();
    (0..ranges.len()).filter(|&supply| ranges[supply].clone().any(pinned)).collect()
}

/// How many of each kind, for a total; the cheapest first, then the narrowest.
fn choices(instance: &Instance, least: &[usize], most: &[usize], total: usize) -> Vec<Vec<usize>> {
    let mut found: Vec<Vec<usize>> = vec![Vec::new()];
    for kind in 0..most.len() {
        let mut longer = Vec::new();
        for choice in &found {
            let taken: usize = choice.iter().sum();
            let (later_least, later_most): (usize, usize) =
                (least[kind + 1..].iter().sum(), most[kind + 1..].iter().sum());
            for n in least[kind]..=most[kind] {
                let sum = taken + n;
                if sum + later_least <= total && sum + later_most >= total && longer.len() < MOST_CHOICES {
                    longer.push([choice.as_slice(), &[n]].concat());
                }
            }
        }
        found = longer;
    }
    let cost = |choice: &Vec<usize>| {
        let mut sum = (0, 0, 0);
        for (kind, &n) in choice.iter().enumerate() {
            let present = instance.supplies.iter().filter(|&&own| own == kind).count();
            let new = n.saturating_sub(present);
            sum.0 += count(new) * instance.kinds[kind].price;
            sum.1 += count(new) * u64::from(instance.kinds[kind].slots);
            sum.2 += new;
        }
        sum
    };
    found.sort_by_key(|choice| (cost(choice), Reverse(choice.clone())));
    found
}

/// Whether bounds alone say that so many of each kind cannot hold everything.
fn bounds_rule_out(instance: &Instance, choice: &[usize]) -> bool {
    let used = || choice.iter().zip(&instance.kinds).filter(|(n, _)| **n > 0);
    let bins = |n: usize, kind: &super::Kind| count(n * kind.outputs);
    let target = used().map(|(_, kind)| kind.target).max().unwrap_or(0);
    let limit = used().map(|(_, kind)| kind.limit).max().unwrap_or(0);
    let weights: Vec<u64> = instance.items.iter().map(|item| item.weight.min(target)).collect();
    let wires: u64 = instance.items.iter().map(|item| u64::from(item.wires)).sum();
    let room: u64 = used().map(|(&n, kind)| bins(n, kind) * kind.target).sum();
    let places: u64 = used().map(|(&n, kind)| bins(n, kind) * u64::from(kind.terminals)).sum();
    let terminals = used().map(|(_, kind)| u64::from(kind.terminals)).max().unwrap_or(0);
    let all: u64 = used().map(|(&n, kind)| bins(n, kind)).sum();
    // Where kinds differ, all bins are taken to be as large as the largest: still a bound.
    weights.iter().sum::<u64>() > room
        || wires > places
        || instance.items.iter().any(|item| item.weight > limit)
        || count(fewest_bins(&weights, target, wires, terminals)) > all
        || instance.apart.iter().any(|group| count(group.len()) > all)
}

/// Opens supplies by a choice of kinds and looks for a packing; else says whether there is proof against it.
fn attempt(
    instance: &Instance,
    choice: &[usize],
    forced: &[usize],
    budget: &mut Budget<'_>,
    end: u64,
) -> Result<Found, bool> {
    let found = open(instance, choice, forced);
    let ground = Ground::new(instance, &found.bins, |home| found.place(home));
    let mut divider = Divider::default();
    let mut state = State::new(&ground, by_weight(&ground), 0);
    if state.cost.broken > 0 {
        // Where few items are in a bin the exact searches are short, and can prove the contrary.
        let few = instance.items.len() <= 6 * found.bins.len();
        let end = if few {
            end
        } else {
            end.min(budget.progress().done + OF_MANY / count(instance.items.len().max(100)))
        };
        if few && equal_bins(&ground).is_some() {
            let part = until(budget, end, 5);
            if let Some(answer) = decide(&found, &ground, budget, part) {
                return answer;
            }
        }
        let part = until(budget, end, 3);
        improve(&mut state, &mut divider, budget, part);
        if state.cost.broken > 0 && few {
            let part = until(budget, end, 2);
            if let Some(answer) = decide(&found, &ground, budget, part) {
                return answer;
            }
        }
        recast(&mut state, &mut divider, budget, end);
    }
    if state.cost.broken == 0 {
        return Ok(Found { at: state.at, ..found });
    }
    Err(false)
}

/// A part of the steps that are left until `end`.
fn until(budget: &Budget<'_>, end: u64, part: u64) -> u64 {
    let done = budget.progress().done;
    done + end.saturating_sub(done) / part
}

fn decide(
    found: &Found,
    ground: &Ground<'_>,
    budget: &mut Budget<'_>,
    end: u64,
) -> Option<Result<Found, bool>> {
    match fits_under(ground, u64::MAX, budget, end) {
        Fit::Fits(at) => Some(Ok(Found { at, ..found.clone() })),
        Fit::Never => Some(Err(true)),
        Fit::Unknown => None,
    }
}

/// The supplies of a choice: of those present the forced ones, then those with the most landed wires.
fn open(instance: &Instance, choice: &[usize], forced: &[usize]) -> Found {
    let ranges = instance.bins_of();
    let landed = |supply: usize| -> (u32, usize) {
        let home =
            instance.items.iter().filter(|item| item.home.is_some_and(|home| ranges[supply].contains(&home)));
        home.fold((0, 0), |(wires, items), item| (wires + item.landed, items + 1))
    };
    let mut opened = Vec::new();
    let mut new = Vec::new();
    for (kind, &n) in choice.iter().enumerate() {
        let mut own: Vec<usize> =
            (0..ranges.len()).filter(|&supply| instance.supplies[supply] == kind).collect();
        own.sort_by_key(|&supply| (!forced.contains(&supply), Reverse(landed(supply)), supply));
        let kept = own.len().min(n);
        opened.extend(own.into_iter().take(n));
        new.extend(std::iter::repeat_n(Opened { kind, present: None }, n - kept));
    }
    opened.sort_unstable();
    let mut all: Vec<Opened> = opened
        .into_iter()
        .map(|supply| Opened { kind: instance.supplies[supply], present: Some(supply) })
        .collect();
    all.extend(new);
    let (mut bins, mut homes) = (Vec::new(), Vec::new());
    for (supply, opened) in all.iter().enumerate() {
        let kind = &instance.kinds[opened.kind];
        for output in 0..kind.outputs {
            bins.push(Bin { supply, limit: kind.limit, target: kind.target, terminals: kind.terminals });
            homes.push(opened.present.map(|supply| ranges[supply].start + output));
        }
    }
    Found { opened: all, bins, homes, at: Vec::new(), bound: 0 }
}

/// Leaves out as many bins as can be, those without landed wires first.
fn fewer_bins(instance: &Instance, found: Found, budget: &mut Budget<'_>) -> Found {
    let mut best = found;
    loop {
        let pinned = |bin: usize| {
            let home = best.homes[bin];
            home.is_some() && instance.items.iter().any(|item| item.pinned && item.home == home)
        };
        let landed = |bin: usize| -> u32 {
            let home = best.homes[bin];
            let items = instance.items.iter().filter(|item| home.is_some() && item.home == home);
            items.map(|item| item.landed).sum()
        };
        let alone = |bin: usize| best.bins.iter().filter(|b| b.supply == best.bins[bin].supply).count() == 1;
        let free = (0..best.bins.len()).filter(|&bin| !pinned(bin) && !alone(bin));
        let Some(drop) = free.min_by_key(|&bin| (landed(bin), Reverse(bin))) else { return best };
        let mut fewer = best.clone();
        fewer.bins.remove(drop);
        fewer.homes.remove(drop);
        let ground = Ground::new(instance, &fewer.bins, |home| fewer.place(home));
        let mut state = State::new(&ground, by_weight(&ground), 0);
        let end = budget.share(20);
        improve(&mut state, &mut Divider::default(), budget, end);
        if state.cost.broken > 0 {
            let end = budget.share(20);
            let Some(Ok(packed)) = decide(&fewer, &ground, budget, end) else { return best };
            fewer.at = packed.at;
        } else {
            fewer.at = state.at;
        }
        best = fewer;
    }
}
