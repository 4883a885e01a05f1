//! The search, on whole numbers: it knows nothing of houses or of money.

use crate::plan::packing::{Budget, Instance, Item, Kind, Verdict, fewest_bins, holds};
use std::cmp::Reverse;
use std::collections::BinaryHeap;

/// Choices of reels that are looked at; in one cable there are a few hundred at most.
const MOST_CHOICES: usize = 60_000;
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

/// Finds the cheapest reels, and among as cheap ones those that leave the least; `None` where a cut is longer than
/// every reel, or no plan was found within the steps.
pub fn solve(problem: &Problem, budget: &mut Budget<'_>) -> Option<Answer> {
    if problem.cuts.is_empty() {
        return Some(Answer::default());
    }
    let instance = instance(problem);
    let (first, cost_bound) = cheapest(problem, &instance, budget)?;
    let (best, left_bound) = least_left(problem, &instance, first, budget);
    let best = longest_off_cut(problem, &instance, best, budget);
    let (choice, at) = best;
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
        let choice = Choice { length: choice.length + on_hand, on_hand: vec![true; problem.on_hand.len()], ..choice };
        match try_choice(problem, instance, &choice, budget, 10) {
            Verdict::Holds(found) => {
                let bound = open_from.unwrap_or(choice.cost).min(choice.cost);
                return Some(((choice, found.at), bound));
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
    let counts: Vec<usize> =
        choice.bought.iter().copied().chain(choice.on_hand.iter().map(|&on| usize::from(on))).collect();
    holds(instance, &counts, budget, percent)
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
    let on_hand = choice.on_hand.iter().zip(&problem.on_hand).filter(|(on, _)| **on).map(|(_, &length)| length);
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
    let mut all: Vec<Choice> = choices(problem).skip_while(|choice| choice.cost < cost).take_while(|choice| choice.cost == cost).collect();
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
        all.iter_mut().for_each(|choice| {
            choice.length += on_hand;
            choice.on_hand = vec![true; n];
        });
    }
    all.retain(|choice| choice.length >= need && choice.length < best.0.length);
    all.sort();
    let mut open_from = None;
    for choice in all {
        match try_choice(problem, instance, &choice, budget, 10) {
            Verdict::Holds(found) => {
                best = (choice, found.at);
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
    at.iter().for_each(|&bin| keep[bin] = true);
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
    let bought = choice.bought.iter().enumerate().flat_map(|(size, &n)| std::iter::repeat_n((Some(size), 0), n));
    let on_hand = choice.on_hand.iter().enumerate().filter(|(_, on)| **on).map(|(at, _)| (None, at));
    bought.chain(on_hand).collect()
}

/// Packs the other reels tighter, so that one off-cut is long rather than several short. Tried by halving, not proved.
fn longest_off_cut(
    problem: &Problem,
    instance: &Instance,
    best: (Choice, Vec<usize>),
    budget: &mut Budget<'_>,
) -> (Choice, Vec<usize>) {
    let (choice, mut at) = best;
    let reels = lengths(problem, &choice);
    let Some((bin, &length)) = reels.iter().enumerate().max_by_key(|(at, length)| (**length, Reverse(*at)))
    else {
        return (choice, at);
    };
    let slack: u64 = reels.iter().sum::<u64>() - total(problem);
    let left_on = |at: &[usize]| {
        let cut: u64 = at.iter().zip(&problem.cuts).filter(|(b, _)| **b == bin).map(|(_, cut)| cut).sum();
        length - cut
    };
    let mut counts: Vec<usize> =
        choice.bought.iter().copied().chain(choice.on_hand.iter().map(|&on| usize::from(on))).collect();
    let Some(kind) = counts.iter().enumerate().filter(|(_, n)| **n > 0).map(|(k, _)| k).find(|&k| instance.kinds[k].limit == length) else {
        return (choice, at);
    };
    // One reel of that size becomes a kind of its own, shorter by what is to stay on it.
    let mut shorter = instance.clone();
    let mut own = shorter.kinds[kind].clone();
    own.more = 1;
    shorter.kinds.push(own);
    counts[kind] -= 1;
    counts.push(1);
    let (mut low, mut high) = (left_on(&at), slack.min(length));
    for _ in 0..8 {
        if high <= low || reels.len() < 2 {
            break;
        }
        let want = low + (high - low).div_ceil(2);
        if let Some(last) = shorter.kinds.last_mut() {
            last.limit = length - want;
            last.target = length - want;
        }
        if want < length && let Verdict::Holds(found) = holds(&shorter, &counts, budget, 5) {
            // Back from the changed order of the bins: the own one is the last.
            let before: usize = counts[..kind].iter().sum();
            let last = reels.len() - 1;
            let back = |b: usize| if b == last { before } else if b >= before { b + 1 } else { b };
            at = found.at.into_iter().map(back).collect();
            low = want.max(left_of(&reels, &problem.cuts, &at, before));
        } else {
            high = want - 1;
        }
    }
    (choice, at)
}

fn left_of(reels: &[u64], cuts: &[u64], at: &[usize], bin: usize) -> u64 {
    let cut: u64 = at.iter().zip(cuts).filter(|(b, _)| **b == bin).map(|(_, cut)| cut).sum();
    reels[bin].saturating_sub(cut)
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
