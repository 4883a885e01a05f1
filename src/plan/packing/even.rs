//! The lowest highest bin, after what comes before it: limits, then spread.

use super::Instance;
use super::bound::{count, least_height};
use super::budget::Budget;
use super::complete::Fit;
use super::exhaust::fits_under;
use super::fewest::Found;
use super::pair::Divider;
use super::repack::{part, relieve};
use super::state::{Cost, Ground, State, height};
use super::ties::by_weight;

/// The evenest packing found, with what no packing into these bins can beat.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Even {
    /// The bin of each item.
    pub at: Vec<usize>,
    /// Groups on one supply after all.
    pub unspread: usize,
    /// No fewer groups can be.
    pub unspread_bound: usize,
    /// The highest bin.
    pub height: u64,
    /// No lower one is possible.
    pub bound: u64,
}

/// Evens out the bins of what [`super::fewest`] found.
pub fn even(instance: &Instance, found: &Found, budget: &mut Budget<'_>) -> Even {
    let ground = Ground::new(instance, &found.bins, |home| found.place(home));
    let mut bound = height_bound(&ground);
    let unspread_bound = unspread_bound(&ground);
    let mut divider = Divider::default();
    let mut best = State::new(&ground, found.at.clone(), bound);
    let end = budget.share(20);
    improve(&mut best, &mut divider, budget, end);
    let mut other = State::new(&ground, by_weight(&ground), bound);
    improve(&mut other, &mut divider, budget, end);
    if rank(&other) < rank(&best) {
        best = other;
    }
    let done = |state: &State<'_>, bound: u64| {
        state.highest() <= bound && state.cost.unspread <= count(unspread_bound)
    };
    let hard = |state: &State<'_>, bound: u64| state.highest() > bound;
    if hard(&best, bound) && instance.items.len() <= 6 * ground.bins.len() {
        // Small and plain ones are settled at once by the exact search.
        let end = budget.share(1);
        bound = close(&mut best, bound, &mut divider, budget, end);
    }
    if hard(&best, bound) && instance.items.len() <= 6 * ground.bins.len() {
        let end = budget.share(2);
        kick(&mut best, bound, unspread_bound, &mut divider, budget, end);
        let end = budget.share(60);
        bound = close(&mut best, bound, &mut divider, budget, end);
    }
    if !done(&best, bound) {
        let end = budget.share(70);
        kick(&mut best, bound, unspread_bound, &mut divider, budget, end);
    }
    Even {
        unspread: usize::try_from(best.cost.unspread).unwrap_or(usize::MAX),
        unspread_bound,
        height: best.highest(),
        bound: bound.min(best.highest()),
        at: best.at,
    }
}

/// Disturbances without anything better after which none is looked for.
const MOST_IDLE: u32 = 400;
/// Sets looked at for one repacking.
const NODES: u32 = 2_000;

/// What is compared between two packings.
pub(super) fn rank(state: &State<'_>) -> (u64, u64, u64, u64) {
    (state.cost.broken, state.cost.unspread, state.highest(), state.cost.squares)
}

/// Narrows the gap between bound and answer by exact searches, one height after the other, and gives the bound.
fn close(
    best: &mut State<'_>,
    mut bound: u64,
    divider: &mut Divider,
    budget: &mut Budget<'_>,
    end: u64,
) -> u64 {
    let ground = best.ground;
    let mut tried = bound;
    while tried < best.highest() && budget.within(end, 1) {
        // Wide gaps are halved, narrow ones climbed: near the bound each search is short.
        let gap = best.highest() - tried;
        let middle = if gap > 4 { tried + gap / 2 } else { tried };
        let part = (end.saturating_sub(budget.progress().done) / 3).max(1);
        match fits_under(ground, middle, budget, budget.progress().done + part) {
            Fit::Fits(at) => {
                let mut state = State::new(ground, at, best.level);
                // Whole bins first: that keeps the heights.
                while state.cost.unspread > 0 && exchange_bins(&mut state, budget, end) {}
                improve(&mut state, divider, budget, end);
                if rank(&state) < rank(best) {
                    *best = state;
                } else {
                    // It fits, but not with the runs spread as well: the bound stands.
                    break;
                }
            }
            Fit::Never => {
                tried = middle + 1;
                bound = tried;
            }
            Fit::Unknown => tried = middle + 1,
        }
    }
    bound
}

/// No packing's highest bin is lower.
fn height_bound(ground: &Ground<'_>) -> u64 {
    let items = &ground.instance.items;
    if items.is_empty() {
        return 0;
    }
    let mut low = 0;
    let mut pinned = vec![0; ground.bins.len()];
    for (item, pin) in items.iter().zip(&ground.pins) {
        let own = ground.bins.iter().map(|bin| height(item.weight, bin.limit, ground.scale)).min();
        low = low.max(own.unwrap_or(0));
        if let Some(pin) = *pin {
            pinned[pin] += item.weight;
        }
    }
    for (bin, load) in ground.bins.iter().zip(&pinned) {
        low = low.max(height(*load, bin.limit, ground.scale));
    }
    let total: u64 = ground.instance.total();
    let holds = |most: u64| -> u64 { ground.bins.iter().map(|bin| most * bin.limit / ground.scale).sum() };
    let mean = total * ground.scale / ground.bins.iter().map(|bin| bin.limit).sum::<u64>().max(1);
    low = low.max(mean);
    while holds(low) < total {
        low += 1;
    }
    let first = ground.bins.first();
    let alike = first.is_some_and(|first| ground.bins.iter().all(|bin| bin.limit == first.limit));
    if alike {
        let weights: Vec<u64> = items.iter().map(|item| item.weight).collect();
        let wires = items.iter().map(|item| u64::from(item.wires)).sum();
        let terminals = ground.bins.iter().map(|bin| u64::from(bin.terminals)).max().unwrap_or(1);
        low = low.max(least_height(&weights, ground.bins.len(), wires, terminals));
    }
    low
}

/// Groups that no packing can spread.
fn unspread_bound(ground: &Ground<'_>) -> usize {
    let instance = ground.instance;
    let hopeless = |group: &&Vec<usize>| {
        let supply = |&item: &usize| ground.pins[item].map(|pin| ground.bins[pin].supply);
        let pinned = group.first().and_then(supply);
        ground.supply_bins.len() <= 1
            || group.windows(2).all(|pair| pair[0] == pair[1])
            || (pinned.is_some() && group.iter().all(|item| supply(item) == pinned))
            || instance.share.iter().any(|share| group.iter().all(|item| share.contains(item)))
    };
    instance.spread.iter().filter(hopeless).count()
}

/// Divides pairs of bins anew, and moves and exchanges items, until nothing of that kind helps.
pub(super) fn improve(state: &mut State<'_>, divider: &mut Divider, budget: &mut Budget<'_>, end: u64) {
    let bins = state.load.len();
    let mut changed = vec![1_u32; bins];
    let mut tried = vec![0_u32; bins * bins];
    let mut stamp = 1;
    if state.cost.broken > 0 {
        // Before the pairs, which in a large house may use up all steps.
        mend(state, budget, end);
    }
    loop {
        let before = state.cost;
        let mut order: Vec<usize> = (0..bins).collect();
        order.sort_by_key(|&bin| std::cmp::Reverse(state.height(bin)));
        for (rank, &a) in order.iter().enumerate() {
            for &b in order[rank + 1..].iter().rev() {
                let key = a.min(b) * bins + a.max(b);
                if tried[key] >= changed[a].max(changed[b]) {
                    continue;
                }
                tried[key] = stamp;
                if !budget.within(end, 20) {
                    return;
                }
                if divider.divide(state, a, b) {
                    stamp += 1;
                    (changed[a], changed[b]) = (stamp, stamp);
                }
            }
        }
        if state.cost.broken > 0 || state.cost.unspread > 0 {
            mend(state, budget, end);
            stamp += 1;
            changed.fill(stamp);
        }
        if state.cost >= before {
            return;
        }
    }
}

/// Moves and exchanges single items, then whole bins, where rules are broken or groups not spread.
pub(super) fn mend(state: &mut State<'_>, budget: &mut Budget<'_>, end: u64) {
    let (items, bins) = (state.at.len(), state.load.len());
    let mut again = true;
    while again && (state.cost.broken > 0 || state.cost.unspread > 0) {
        again = false;
        for item in 0..items {
            if !state.suspect(item) {
                continue;
            }
            if !budget.within(end, count(bins + items) / 4 + 1) {
                return;
            }
            for bin in 0..bins {
                again |= bin != state.at[item] && state.shift_if_better(&[(item, bin)]);
            }
            for other in (0..items).filter(|&other| other != item) {
                if !state.suspect(item) {
                    break;
                }
                let (from, to) = (state.at[item], state.at[other]);
                again |= from != to && state.shift_if_better(&[(item, to), (other, from)]);
            }
        }
        if state.cost.unspread > 0 {
            again |= exchange_bins(state, budget, end);
        }
    }
}

fn exchange_bins(state: &mut State<'_>, budget: &mut Budget<'_>, end: u64) -> bool {
    let mut helped = false;
    for a in 0..state.load.len() {
        for b in a + 1..state.load.len() {
            if state.ground.bins[a].supply == state.ground.bins[b].supply {
                continue;
            }
            if !budget.within(end, 4) {
                return helped;
            }
            let over = state.held[a].iter().map(|&item| (item, b));
            let moves: Vec<(usize, usize)> =
                over.chain(state.held[b].iter().map(|&item| (item, a))).collect();
            helped |= state.shift_if_better(&moves);
        }
    }
    helped
}

/// A generator that is the same everywhere (Marsaglia, "Xorshift RNGs", Journal of Statistical Software 8 (2003)).
#[derive(Debug)]
pub(super) struct Dice(u64);

impl Dice {
    pub(super) const fn new() -> Self {
        Self(0x9E37_79B9_7F4A_7C15)
    }

    /// A number below `sides`.
    pub(super) fn roll(&mut self, sides: usize) -> usize {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        usize::try_from(self.0 % count(sides.max(1))).unwrap_or(0)
    }
}

/// Disturbs the packing at its highest bin and improves it again, keeping what is better.
fn kick(
    best: &mut State<'_>,
    bound: u64,
    unspread_bound: usize,
    divider: &mut Divider,
    budget: &mut Budget<'_>,
    end: u64,
) {
    let bins = best.load.len();
    let mut dice = Dice::new();
    if bins < 2 {
        return;
    }
    let mut state = best.clone();
    let mut idle = 0;
    while idle < MOST_IDLE && budget.within(end, 10) {
        idle += 1;
        if best.cost.broken == 0 && best.highest() <= bound && best.cost.unspread <= count(unspread_bound) {
            return;
        }
        if repacked(&mut state, bound, unspread_bound, budget, end, &mut dice) {
            if rank(&state) < rank(best) {
                *best = state.clone();
                idle = 0;
            }
            continue;
        }
        let highest = (0..bins).max_by_key(|&bin| (state.height(bin), bin)).unwrap_or(0);
        let mut touched = vec![highest];
        for _ in 0..2 + dice.roll(3) {
            let a = touched[dice.roll(touched.len())];
            let b = dice.roll(bins);
            if a == b || state.held[a].is_empty() || state.held[b].is_empty() {
                continue;
            }
            let (one, two) = (
                state.held[a][dice.roll(state.held[a].len())],
                state.held[b][dice.roll(state.held[b].len())],
            );
            let free = |item: usize| state.ground.pins[item].is_none();
            if free(one) && free(two) {
                state.shift(&[(one, b), (two, a)]);
                touched.push(b);
            }
        }
        settle(&mut state, &mut touched, divider, budget, end, &mut dice);
        if state.cost.broken > 0 || state.cost.unspread > count(unspread_bound) {
            mend(&mut state, budget, end);
        }
        if rank(&state) < rank(best) {
            *best = state.clone();
            idle = 0;
        } else if worse(&state, best) {
            state = best.clone();
        }
    }
}

/// Spreads a group more, or lowers the highest bin, by packing a few bins anew; says whether it did.
fn repacked(
    state: &mut State<'_>,
    bound: u64,
    unspread_bound: usize,
    budget: &mut Budget<'_>,
    end: u64,
    dice: &mut Dice,
) -> bool {
    for _ in 0..6 {
        if !budget.within(end, 4) {
            return false;
        }
        let highest = (0..state.load.len()).max_by_key(|&bin| (state.height(bin), bin)).unwrap_or(0);
        let most = state.height(highest);
        let mut roll = |sides: usize| dice.roll(sides);
        if state.cost.unspread > count(unspread_bound) && part(state, most, NODES, budget, &mut roll) {
            return true;
        }
        if most <= bound {
            continue;
        }
        // All the way down if that can be, else a little.
        if relieve(state, highest, bound, NODES, budget, &mut roll)
            || relieve(state, highest, most - 1, NODES, budget, &mut roll)
        {
            return true;
        }
    }
    false
}

/// Far enough from the best to go back to it.
fn worse(state: &State<'_>, best: &State<'_>) -> bool {
    let (now, then): (Cost, Cost) = (state.cost, best.cost);
    (now.broken, now.unspread) > (then.broken, then.unspread)
        || state.highest() > best.highest() + best.highest() / 100
}

/// Divides the touched bins against all others until they are settled.
fn settle(
    state: &mut State<'_>,
    touched: &mut Vec<usize>,
    divider: &mut Divider,
    budget: &mut Budget<'_>,
    end: u64,
    dice: &mut Dice,
) {
    let bins = state.load.len();
    let mut rounds = 0;
    while let Some(a) = touched.pop() {
        rounds += 1;
        if rounds > 60 {
            return;
        }
        let offset = dice.roll(bins);
        for step in 0..bins {
            let b = (offset + step) % bins;
            if a == b {
                continue;
            }
            if !budget.within(end, 20) {
                return;
            }
            if divider.divide(state, a, b) && !touched.contains(&b) {
                touched.push(b);
            }
        }
    }
}
