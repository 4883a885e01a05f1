//! Supplies emptied and filled anew, over and over, until no rule is broken.

use super::budget::Budget;
use super::even::{Dice, mend};
use super::pair::Divider;
use super::repack::{relieve, slack};
use super::state::State;
use super::ties::Filling;
use std::cmp::Reverse;

/// Sets looked at for one repacking.
const NODES: u32 = 3_000;

/// Empties two or three supplies, one of them with something wrong, fills them again in another order, settles them by
/// pairs and by threes and fours, and keeps what is no worse (ruin and recreate: Schrimpf and others, "Record breaking
/// optimization results using the ruin and recreate principle", Journal of Computational Physics 159 (2000)).
pub(super) fn recast(state: &mut State<'_>, divider: &mut Divider, budget: &mut Budget<'_>, end: u64) {
    let mut dice = Dice::new();
    let mut best = state.clone();
    let mut idle = 0;
    while best.cost.broken > 0 && budget.within(end, 10) {
        if tight(state, budget, end, &mut dice) {
            idle = 0;
        } else {
            let before = state.clone();
            refill(state, &mut dice, budget);
            let all: Vec<usize> = (0..state.load.len())
                .filter(|&bin| state.at != before.at && touched(state, &before, bin))
                .collect();
            settle(state, &all, divider, budget, end);
            mend(state, budget, end);
            // Somewhat worse is kept for a while: what is best lies beyond it.
            if state.cost.broken > before.cost.broken + before.cost.broken / 8 {
                *state = before;
            }
        }
        if state.cost < best.cost {
            best = state.clone();
            idle = 0;
        } else {
            idle += 1;
            if idle > 60 {
                *state = best.clone();
                idle = 0;
            }
        }
    }
    *state = best;
}

fn touched(now: &State<'_>, before: &State<'_>, bin: usize) -> bool {
    now.load[bin] != before.load[bin] || now.held[bin] != before.held[bin]
}

/// Relieves bins that hold too much by threes and fours; says whether one was.
fn tight(state: &mut State<'_>, budget: &mut Budget<'_>, end: u64, dice: &mut Dice) -> bool {
    let over: Vec<usize> = (0..state.load.len()).filter(|&bin| state.overloaded(bin)).collect();
    let mut helped = false;
    for bin in over {
        for _ in 0..12 {
            if !budget.within(end, 4) {
                return helped;
            }
            if state.overloaded(bin) && slack(state, &[bin], u64::MAX) < 0 {
                let before = state.cost.broken;
                relieve(state, bin, u64::MAX, NODES, budget, &mut |sides| dice.roll(sides));
                helped |= state.cost.broken < before;
            }
        }
    }
    helped
}

/// Empties some supplies and fills them again.
fn refill(state: &mut State<'_>, dice: &mut Dice, budget: &mut Budget<'_>) {
    let ground = state.ground;
    let bad: Vec<usize> = (0..state.at.len()).filter(|&item| state.wrong(item)).collect();
    if bad.is_empty() {
        return;
    }
    let supply = |item: usize| ground.bins[state.at[item]].supply;
    let mut emptied = vec![supply(bad[dice.roll(bad.len())])];
    for _ in 0..=dice.roll(2) {
        let other = dice.roll(ground.supply_bins.len());
        if !emptied.contains(&other) {
            emptied.push(other);
        }
    }
    let freed = |item: usize| ground.pins[item].is_none() && emptied.contains(&supply(item));
    let at: Vec<Option<usize>> =
        (0..state.at.len()).map(|item| (!freed(item)).then_some(state.at[item])).collect();
    let items = &ground.instance.items;
    let mut order: Vec<(u64, usize)> = Vec::new();
    for (number, clan) in ground.clans.iter().enumerate() {
        if clan.iter().any(|&item| at[item].is_none()) {
            let weight: u64 = clan.iter().map(|&item| items[item].weight).sum();
            // Between four fifths and six fifths of its weight.
            let noise = 80 + super::bound::count(dice.roll(41));
            order.push((weight * noise / 100, number));
        }
    }
    order.sort_by_key(|&(weight, number)| (Reverse(weight), number));
    budget.spend(super::bound::count(order.len() * emptied.len()));
    let mut filling = Filling::new(ground, at);
    let full = dice.roll(2) == 0;
    for (_, number) in order {
        filling.place(&ground.clans[number], &emptied, full);
    }
    let moves: Vec<(usize, usize)> = (0..state.at.len())
        .filter_map(|item| filling.at[item].filter(|&bin| bin != state.at[item]).map(|bin| (item, bin)))
        .collect();
    if !moves.is_empty() {
        state.shift(&moves);
    }
}

/// Divides pairs of the bins until none helps.
fn settle(state: &mut State<'_>, bins: &[usize], divider: &mut Divider, budget: &mut Budget<'_>, end: u64) {
    for _ in 0..4 {
        let mut helped = false;
        for (nth, &a) in bins.iter().enumerate() {
            for &b in &bins[nth + 1..] {
                if !budget.within(end, 20) {
                    return;
                }
                helped |= divider.divide(state, a, b);
            }
        }
        if !helped {
            return;
        }
    }
}
