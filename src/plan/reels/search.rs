//! The search, on whole numbers: it knows nothing of houses or of money.

use super::fill;
use crate::plan::packing::Verdict as Packed;
use crate::plan::packing::{Budget, Instance, Item, Kind, fewest_bins, holds};
use std::cmp::Reverse;
use std::collections::BinaryHeap;

/// Choices of reels that are looked at; in one cable there are a few hundred at most.
const MOST_CHOICES: usize = 60_000;
/// Percent of the steps left that one choice of reels may take.
const SHARE: u64 = 40;
/// With more reels on hand than this, which of them are left alone is not searched through.
const MOST_ON_HAND: usize = 8;
/// Rooms of more than this many wires there are none: any number of cuts may come from one reel.
const ANY: u32 = u32::MAX / 4;

/// A size of reel that can be bought, any number of it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Size {
    /// Cable on it.
    pub length: u64,
    /// What it costs.
    pub price: u64,
}

/// Cuts and the reels they may come from. Lengths are in one unit, prices in another, both whole.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Problem {
    /// The cuts.
    pub cuts: Vec<u64>,
    /// Reels that can be bought.
    pub sizes: Vec<Size>,
    /// Reels on hand, which cost nothing.
    pub on_hand: Vec<u64>,
    /// Cuts of a group come from different reels.
    pub apart: Vec<Vec<usize>>,
}

/// A reel that is cut into.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Used {
    /// Its size, by position; `None` for one on hand.
    pub size: Option<usize>,
    /// Which of those on hand it is.
    pub on_hand: Option<usize>,
    /// Cable on it before.
    pub length: u64,
    /// The cuts that come from it, the longest first.
    pub cuts: Vec<usize>,
    /// What is left on it.
    pub left: u64,
}

/// The reels that hold all cuts.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Answer {
    /// The reels, those on hand first, then the longest first.
    pub used: Vec<Used>,
    /// What the reels to buy cost.
    pub cost: u64,
    /// No plan costs less.
    pub cost_bound: u64,
    /// What is left on all reels that are cut into.
    pub left: u64,
    /// No plan of that cost leaves less.
    pub left_bound: u64,
}

impl Answer {
    /// Whether nothing better exists.
    pub fn proved(&self) -> bool {
        self.cost <= self.cost_bound && self.left <= self.left_bound
    }
}

/// Reels to buy and those on hand that may be cut into.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
struct Choice {
    cost: u64,
    length: u64,
    /// How many of each size.
    bought: Vec<usize>,
    /// Whether each on hand may be used.
    on_hand: Vec<bool>,
}

/// Whether a choice holds all cuts.
enum Verdict {
    /// It does: the reel of each cut.
    Holds(Vec<usize>),
    /// Proved: it does not.
    Never,
    /// The steps ran out.
    Unknown,
}

/// Finds the cheapest reels, and among as cheap ones those that leave the least; `None` where a cut is longer than
/// every reel, or no plan was found within the steps.
pub fn solve(problem: &Problem, budget: &mut Budget<'_>) -> Option<Answer> {
    if problem.cuts.is_empty() {
        return Some(Answer::default());
    }
    let instance = instance(problem);
    let (first, cost_bound) = cheapest(problem, &instance, budget)?;
    let (best, left_bound) = least_left(problem, &instance, first, budget);
    let (choice, at) = longest_off_cut(problem, best);
    let mut answer = Answer { cost: choice.cost, cost_bound, left_bound, ..Answer::default() };
    answer.used = used(problem, &choice, &at);
    answer.left = answer.used.iter().map(|used| used.left).sum();
    answer.left_bound = answer.left_bound.min(answer.left);
    Some(answer)
}

/// The kinds are the sizes, then each reel on hand as a kind of its own.
fn instance(problem: &Problem) -> Instance {
    let kind = |length: u64, price: u64| Kind {
        outputs: 1,
        limit: length,
        target: length,
        terminals: ANY,
        price,
        slots: 0,
        more: problem.cuts.len(),
    };
    let sizes = problem.sizes.iter().map(|size| kind(size.length, size.price));
    let item = |&weight: &u64| Item { weight, wires: 1, ..Item::default() };
    Instance {
        items: problem.cuts.iter().map(item).collect(),
        kinds: sizes.chain(problem.on_hand.iter().map(|&length| kind(length, 0))).collect(),
        apart: problem.apart.clone(),
        ..Instance::default()
    }
}

fn total(problem: &Problem) -> u64 {
    problem.cuts.iter().sum()
}

/// The cheapest choice that holds the cuts, all reels on hand allowed, with the cost that no plan beats.
fn cheapest(
    problem: &Problem,
    instance: &Instance,
    budget: &mut Budget<'_>,
) -> Option<((Choice, Vec<usize>), u64)> {
    let on_hand: u64 = problem.on_hand.iter().sum();
    let mut open_from: Option<u64> = None;
    for choice in choices(problem) {
        let choice =
            Choice { length: choice.length + on_hand, on_hand: vec![true; problem.on_hand.len()], ..choice };
        match try_choice(problem, instance, &choice, budget, SHARE) {
            Verdict::Holds(found) => {
                let bound = open_from.unwrap_or(choice.cost).min(choice.cost);
                return Some(((choice, found), bound));
            }
            Verdict::Never => {}
            Verdict::Unknown => open_from = open_from.or(Some(choice.cost)),
        }
    }
    None
}

/// Choices of reels to buy whose cable, with that on hand, would reach, the cheapest first, then the shortest.
fn choices(problem: &Problem) -> impl Iterator<Item = Choice> {
    let need = total(problem).saturating_sub(problem.on_hand.iter().sum());
    let sizes = problem.sizes.clone();
    let most = problem.cuts.len();
    let nothing = Choice { cost: 0, length: 0, bought: vec![0; sizes.len()], on_hand: Vec::new() };
    let mut heap = BinaryHeap::from([Reverse(nothing)]);
    let mut seen = 0;
    std::iter::from_fn(move || {
        loop {
            let Reverse(choice) = heap.pop()?;
            seen += 1;
            if seen > MOST_CHOICES {
                return None;
            }
            // Each choice is reached once: by adding sizes in their order.
            let from = choice.bought.iter().rposition(|&n| n > 0).unwrap_or(0);
            if choice.bought.iter().sum::<usize>() < most {
                for (at, size) in sizes.iter().enumerate().skip(from) {
                    let mut more = choice.clone();
                    more.bought[at] += 1;
                    more.cost = more.cost.saturating_add(size.price);
                    more.length = more.length.saturating_add(size.length);
                    heap.push(Reverse(more));
                }
            }
            if choice.length >= need {
                return Some(choice);
            }
        }
    })
}

fn try_choice(
    problem: &Problem,
    instance: &Instance,
    choice: &Choice,
    budget: &mut Budget<'_>,
    percent: u64,
) -> Verdict {
    if ruled_out(problem, choice) {
        return Verdict::Never;
    }
    // Nearly always there is room enough for a plain rule to find a plan.
    if let Some(at) = fill::quickly(&problem.cuts, &lengths(problem, choice), &problem.apart) {
        return Verdict::Holds(at);
    }
    let counts: Vec<usize> =
        choice.bought.iter().copied().chain(choice.on_hand.iter().map(|&on| usize::from(on))).collect();
    match holds(instance, &counts, budget, percent) {
        Packed::Holds(found) => Verdict::Holds(found.at),
        Packed::Never => Verdict::Never,
        Packed::Unknown => Verdict::Unknown,
    }
}

/// Whether bounds alone say that the cuts longer than the reels of some size do not fit the larger ones.
fn ruled_out(problem: &Problem, choice: &Choice) -> bool {
    let mut reels: Vec<u64> = lengths(problem, choice);
    reels.sort_unstable();
    let mut floors = vec![0];
    floors.extend(&reels);
    floors.dedup();
    floors.iter().any(|&floor| {
        let larger = &reels[reels.partition_point(|&length| length <= floor)..];
        let cuts: Vec<u64> = problem.cuts.iter().copied().filter(|&cut| cut > floor).collect();
        let most = larger.last().copied().unwrap_or(0);
        let any = u64::from(ANY);
        let n = u64::try_from(cuts.len()).unwrap_or(any);
        !cuts.is_empty()
            && (cuts.iter().sum::<u64>() > larger.iter().sum()
                || fewest_bins(&cuts, most, n, any) > larger.len())
    })
}

fn lengths(problem: &Problem, choice: &Choice) -> Vec<u64> {
    let bought =
        choice.bought.iter().zip(&problem.sizes).flat_map(|(&n, size)| std::iter::repeat_n(size.length, n));
    let on_hand =
        choice.on_hand.iter().zip(&problem.on_hand).filter(|(on, _)| **on).map(|(_, &length)| length);
    bought.chain(on_hand).collect()
}

/// Among choices of the same cost the one whose reels are the shortest together, with what no such choice leaves less of.
fn least_left(
    problem: &Problem,
    instance: &Instance,
    first: (Choice, Vec<usize>),
    budget: &mut Budget<'_>,
) -> ((Choice, Vec<usize>), u64) {
    let need = total(problem);
    let cost = first.0.cost;
    let mut best = shrunk(problem, first);
    let n = problem.on_hand.len();
    let mut all: Vec<Choice> = choices(problem)
        .skip_while(|choice| choice.cost < cost)
        .take_while(|choice| choice.cost == cost)
        .collect();
    if n <= MOST_ON_HAND {
        let subsets = |choice: Choice| {
            (0..1_usize << n).map(move |bits| {
                let on_hand: Vec<bool> = (0..n).map(|at| bits >> at & 1 == 1).collect();
                let usable = on_hand.iter().zip(&problem.on_hand).filter(|(on, _)| **on).map(|(_, l)| l);
                Choice { length: choice.length + usable.sum::<u64>(), on_hand, ..choice.clone() }
            })
        };
        all = all.into_iter().flat_map(subsets).collect();
    } else {
        let on_hand: u64 = problem.on_hand.iter().sum();
        for choice in &mut all {
            choice.length += on_hand;
            choice.on_hand = vec![true; n];
        }
    }
    all.retain(|choice| choice.length >= need && choice.length < best.0.length);
    all.sort();
    let mut open_from = None;
    for choice in all {
        match try_choice(problem, instance, &choice, budget, SHARE) {
            Verdict::Holds(found) => {
                best = (choice, found);
                break;
            }
            Verdict::Never => {}
            Verdict::Unknown => open_from = open_from.or(Some(choice.length)),
        }
    }
    let proved_to = if n <= MOST_ON_HAND { open_from.unwrap_or(best.0.length) } else { need };
    let bound = proved_to.min(best.0.length).saturating_sub(need);
    (best, bound)
}

/// Without the reels from which nothing comes.
fn shrunk(problem: &Problem, (mut choice, at): (Choice, Vec<usize>)) -> (Choice, Vec<usize>) {
    let order = reels_of(&choice);
    let mut keep = vec![false; order.len()];
    for &bin in &at {
        keep[bin] = true;
    }
    for (bin, reel) in order.iter().enumerate().filter(|(bin, _)| !keep[*bin]) {
        let _ = bin;
        match *reel {
            (Some(size), _) => choice.bought[size] -= 1,
            (None, on_hand) => choice.on_hand[on_hand] = false,
        }
    }
    choice.length = lengths(problem, &choice).iter().sum();
    choice.cost = choice.bought.iter().zip(&problem.sizes).map(|(&n, size)| n as u64 * size.price).sum();
    let mut next = 0;
    let places: Vec<usize> = keep
        .iter()
        .map(|&kept| {
            let place = next;
            next += usize::from(kept);
            place
        })
        .collect();
    let at = at.into_iter().map(|bin| places[bin]).collect();
    (choice, at)
}

/// The reels of a choice in the order in which they are bins: size, or which of those on hand.
fn reels_of(choice: &Choice) -> Vec<(Option<usize>, usize)> {
    let bought =
        choice.bought.iter().enumerate().flat_map(|(size, &n)| std::iter::repeat_n((Some(size), 0), n));
    let on_hand = choice.on_hand.iter().enumerate().filter(|(_, on)| **on).map(|(at, _)| (None, at));
    bought.chain(on_hand).collect()
}

/// Packs the other reels tighter, so that one off-cut is long rather than several short. Tried, not proved.
fn longest_off_cut(problem: &Problem, best: (Choice, Vec<usize>)) -> (Choice, Vec<usize>) {
    let (choice, at) = best;
    let reels = lengths(problem, &choice);
    let left = |at: &[usize]| {
        let mut left = reels.clone();
        for (&bin, cut) in at.iter().zip(&problem.cuts) {
            left[bin] = left[bin].saturating_sub(*cut);
        }
        left.into_iter().max().unwrap_or(0)
    };
    let mut order: Vec<usize> = (0..reels.len()).collect();
    // The longest one is filled last and keeps what is left.
    order.sort_by_key(|&bin| (reels[bin], bin));
    match fill::one_by_one(&problem.cuts, &reels, &problem.apart, &order) {
        Some(tighter) if left(&tighter) > left(&at) => (choice, tighter),
        _ => (choice, at),
    }
}

fn used(problem: &Problem, choice: &Choice, at: &[usize]) -> Vec<Used> {
    let lengths = lengths(problem, choice);
    let mut all: Vec<Used> = reels_of(choice)
        .into_iter()
        .zip(&lengths)
        .enumerate()
        .map(|(bin, ((size, on_hand), &length))| {
            let mut cuts: Vec<usize> = (0..at.len()).filter(|&cut| at[cut] == bin).collect();
            cuts.sort_by_key(|&cut| (Reverse(problem.cuts[cut]), cut));
            let cut: u64 = cuts.iter().map(|&cut| problem.cuts[cut]).sum();
            let on_hand = size.is_none().then_some(on_hand);
            Used { size, on_hand, length, cuts, left: length.saturating_sub(cut) }
        })
        .filter(|used| !used.cuts.is_empty())
        .collect();
    all.sort_by_key(|used| (used.on_hand.is_none(), used.on_hand, Reverse(used.length), used.left));
    all
}
