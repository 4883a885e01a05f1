//! A few bins packed anew, exactly: what pairs of bins cannot do for each other, three or four often can.

use super::budget::Budget;
use super::state::{Ground, State};

/// Items that are shared out at once, at most.
const MOST_ITEMS: usize = 40;
/// Bins that are packed anew at once, at most.
const MOST_BINS: usize = 6;
/// Ways to fill the bins that are tried before giving up on rules that look beyond these bins.
const MOST_LEAVES: u32 = 40;

/// Shares what the bins hold out anew so that none holds more than its cap, by trying sets of items that leave no more
/// empty than there is to spare. Gives whether it found a way that breaks no more rules, and leaves no more groups on one
/// supply, than `allowed`.
///
/// `nodes` is how many sets are looked at before giving up.
pub(super) fn repack(
    state: &mut State<'_>,
    bins: &[usize],
    caps: &[u64],
    allowed: (u64, u64),
    nodes: u32,
    budget: &mut Budget<'_>,
) -> bool {
    let Some(mut search) = Repacker::new(state, bins, caps, allowed, nodes) else { return false };
    let (found, used) = {
        let found = search.fill(state, 0);
        (found, nodes - search.nodes)
    };
    budget.spend(u64::from(used) / 16 + 1);
    found
}

struct Repacker<'a> {
    bins: &'a [usize],
    caps: &'a [u64],
    /// Free items, the heaviest first, with the bins each may go to and its weight and wires.
    items: Vec<usize>,
    allowed: Vec<u32>,
    weight: Vec<u64>,
    wires: Vec<u64>,
    /// The bin of each item, by position among `bins`; none while it waits.
    to: Vec<Option<usize>>,
    load: Vec<u64>,
    taken: Vec<u64>,
    terminals: Vec<u64>,
    spare: u64,
    most: (u64, u64),
    nodes: u32,
    leaves: u32,
}

impl<'a> Repacker<'a> {
    fn new(
        state: &State<'_>,
        bins: &'a [usize],
        caps: &'a [u64],
        most: (u64, u64),
        nodes: u32,
    ) -> Option<Self> {
        let ground = state.ground;
        let mut load = vec![0; bins.len()];
        let mut taken = vec![0; bins.len()];
        let mut items = Vec::new();
        for (place, &bin) in bins.iter().enumerate() {
            for &item in &state.held[bin] {
                if ground.pins[item].is_some() {
                    load[place] += ground.instance.items[item].weight;
                    taken[place] += u64::from(ground.instance.items[item].wires);
                } else {
                    items.push(item);
                }
            }
        }
        if items.len() > MOST_ITEMS || items.is_empty() {
            return None;
        }
        items.sort_by_key(|&item| (std::cmp::Reverse(ground.instance.items[item].weight), item));
        let weight: Vec<u64> = items.iter().map(|&item| ground.instance.items[item].weight).collect();
        let wires: Vec<u64> = items.iter().map(|&item| ground.instance.items[item].wires.into()).collect();
        let room: u64 = caps.iter().sum();
        let spare = room.checked_sub(weight.iter().sum::<u64>() + load.iter().sum::<u64>())?;
        if load.iter().zip(caps).any(|(load, cap)| load > cap) {
            return None;
        }
        let may = |&item: &usize| {
            let held = ground.held_by_mates(item, &state.at, bins);
            let free = |bin: usize| {
                let mates = held.is_none_or(|supply| ground.bins[bin].supply == supply);
                let foe = |foe: &usize| state.at[*foe] == bin && ground.pins[*foe].is_some();
                mates && !ground.foes(item).iter().any(foe)
            };
            (0..bins.len()).filter(|&place| free(bins[place])).fold(0, |mask, place| mask | 1 << place)
        };
        let allowed: Vec<u32> = items.iter().map(may).collect();
        let terminals = bins.iter().map(|&bin| ground.bins[bin].terminals.into()).collect();
        let to = vec![None; items.len()];
        Some(Self {
            bins,
            caps,
            items,
            allowed,
            weight,
            wires,
            to,
            load,
            taken,
            terminals,
            spare,
            most,
            nodes,
            leaves: MOST_LEAVES,
        })
    }

    /// Fills the bins from the one at `place` on.
    fn fill(&mut self, state: &mut State<'_>, place: usize) -> bool {
        if place + 1 == self.bins.len() {
            return self.last(state, place);
        }
        let waiting: Vec<usize> = (0..self.items.len()).filter(|&n| self.to[n].is_none()).collect();
        // What the items from each one on could still add.
        let mut after = vec![0; waiting.len() + 1];
        for (at, &n) in waiting.iter().enumerate().rev() {
            after[at] = after[at + 1] + if self.allowed[n] >> place & 1 == 1 { self.weight[n] } else { 0 };
        }
        self.choose(state, place, &waiting, &after, 0)
    }

    fn choose(
        &mut self,
        state: &mut State<'_>,
        place: usize,
        waiting: &[usize],
        after: &[u64],
        at: usize,
    ) -> bool {
        let cap = self.caps[place];
        if self.nodes == 0 || self.leaves == 0 || self.load[place] + after[at] + self.spare < cap {
            return false;
        }
        self.nodes -= 1;
        let Some(&n) = waiting.get(at) else {
            let empty = cap - self.load[place];
            self.spare -= empty;
            let found = self.fill(state, place + 1);
            self.spare += empty;
            return found;
        };
        let takes = self.allowed[n] >> place & 1 == 1
            && self.load[place] + self.weight[n] <= cap
            && self.taken[place] + self.wires[n] <= self.terminals[place]
            && !self.foe_in(state, n, place);
        if takes {
            self.put(n, place);
            if self.choose(state, place, waiting, after, at + 1) {
                return true;
            }
            self.take_back(n, place);
        }
        // An item that may go nowhere later must go here.
        self.allowed[n] >> (place + 1) != 0 && self.choose(state, place, waiting, after, at + 1)
    }

    fn last(&mut self, state: &mut State<'_>, place: usize) -> bool {
        let mut put = Vec::new();
        let mut fits = true;
        for n in 0..self.items.len() {
            if self.to[n].is_some() {
                continue;
            }
            let takes = self.allowed[n] >> place & 1 == 1
                && self.load[place] + self.weight[n] <= self.caps[place]
                && self.taken[place] + self.wires[n] <= self.terminals[place]
                && !self.foe_in(state, n, place);
            if !takes {
                fits = false;
                break;
            }
            self.put(n, place);
            put.push(n);
        }
        if fits && self.accept(state) {
            return true;
        }
        for n in put {
            self.take_back(n, place);
        }
        false
    }

    /// Makes the change unless rules beyond these bins are against it.
    fn accept(&mut self, state: &mut State<'_>) -> bool {
        self.leaves -= 1;
        let moves: Vec<(usize, usize)> = (self.items.iter().zip(&self.to))
            .filter_map(|(&item, to)| to.map(|place| (item, self.bins[place])))
            .filter(|&(item, bin)| state.at[item] != bin)
            .collect();
        let back: Vec<(usize, usize)> = moves.iter().map(|&(item, _)| (item, state.at[item])).collect();
        let before = state.cost;
        let after = state.shift(&moves);
        if (after.broken, after.unspread) <= self.most {
            return true;
        }
        state.shift(&back);
        state.cost = before;
        false
    }

    fn foe_in(&self, state: &State<'_>, n: usize, place: usize) -> bool {
        let foes = state.ground.foes(self.items[n]);
        !foes.is_empty()
            && (0..self.items.len()).any(|m| self.to[m] == Some(place) && foes.contains(&self.items[m]))
    }

    fn put(&mut self, n: usize, place: usize) {
        self.to[n] = Some(place);
        self.load[place] += self.weight[n];
        self.taken[place] += self.wires[n];
    }

    fn take_back(&mut self, n: usize, place: usize) {
        self.to[n] = None;
        self.load[place] -= self.weight[n];
        self.taken[place] -= self.wires[n];
    }
}

/// The most that a bin may hold of several items, and at most a height.
pub(super) fn cap_of(ground: &Ground<'_>, bin: usize, most: u64) -> u64 {
    let spec = &ground.bins[bin];
    let by_height = if spec.limit == ground.scale {
        most
    } else {
        // Heights are rounded up, so this rounds down.
        let share = u128::from(most) * u128::from(spec.limit) / u128::from(ground.scale);
        share.try_into().unwrap_or(u64::MAX)
    };
    spec.target.min(by_height)
}

/// What the bins could hold more in all, or how much they hold too much.
pub(super) fn slack(state: &State<'_>, bins: &[usize], most: u64) -> i128 {
    let room: u64 = bins.iter().map(|&bin| cap_of(state.ground, bin, most)).sum();
    let load: u64 = bins.iter().map(|&bin| state.load[bin]).sum();
    i128::from(room) - i128::from(load)
}

/// Tries to bring the bin `high` under a height together with a few others that have room, drawn by `roll`.
pub(super) fn relieve(
    state: &mut State<'_>,
    high: usize,
    most: u64,
    nodes: u32,
    budget: &mut Budget<'_>,
    roll: &mut dyn FnMut(usize) -> usize,
) -> bool {
    let bins = state.load.len();
    let with = 2 + roll(4);
    let mut chosen = vec![high];
    for _ in 0..with * 4 {
        // The lower of two; more of them as long as all together have too little room.
        let (one, two) = (roll(bins), roll(bins));
        let other = if state.load[one] <= state.load[two] { one } else { two };
        let wanted = chosen.len() <= with || (chosen.len() < MOST_BINS && slack(state, &chosen, most) < 0);
        if wanted && !chosen.contains(&other) {
            chosen.push(other);
        }
    }
    if slack(state, &chosen, most) < 0 {
        return false;
    }
    // One item alone may be heavier than the target; such bins are left to themselves.
    let caps: Vec<u64> = chosen.iter().map(|&bin| cap_of(state.ground, bin, most)).collect();
    let allowed = (state.cost.broken, state.cost.unspread);
    repack(state, &chosen, &caps, allowed, nodes, budget)
}

/// Tries to spread one more group: the bins of its items on one supply, with others of other supplies, drawn by `roll`.
pub(super) fn part(
    state: &mut State<'_>,
    most: u64,
    nodes: u32,
    budget: &mut Budget<'_>,
    roll: &mut dyn FnMut(usize) -> usize,
) -> bool {
    let groups: Vec<usize> = state.unspread_groups();
    if groups.is_empty() {
        return false;
    }
    let group = &state.ground.instance.spread[groups[roll(groups.len())]];
    let mut chosen = vec![state.at[group[roll(group.len())]]];
    for _ in 0..9 {
        let other = roll(state.load.len());
        if chosen.len() < 4 && !chosen.contains(&other) {
            chosen.push(other);
        }
    }
    if slack(state, &chosen, most) < 0 {
        return false;
    }
    let caps: Vec<u64> = chosen.iter().map(|&bin| cap_of(state.ground, bin, most)).collect();
    let allowed = (state.cost.broken, state.cost.unspread.saturating_sub(1));
    repack(state, &chosen, &caps, allowed, nodes, budget)
}
