//! An assignment of items to bins, with what is wrong with it kept up to date through each change.

use super::{Bin, Instance};

/// What an assignment costs; less is better, the first component before the next.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Default)]
pub(super) struct Cost {
    /// How far limits are broken.
    pub broken: u64,
    /// Groups on one supply.
    pub unspread: u64,
    /// Heights above the level, squared and summed.
    pub over: u64,
    /// Heights squared and summed.
    pub squares: u64,
}

impl Cost {
    fn add(&mut self, other: Self) {
        self.broken += other.broken;
        self.unspread += other.unspread;
        self.over += other.over;
        self.squares += other.squares;
    }
}

/// A broken rule weighs as much as so many tenths of a watt over a target.
const RULE: u64 = 10_000;

/// The largest limit, of which heights are a share.
pub(super) fn scale(bins: &[Bin]) -> u64 {
    bins.iter().map(|bin| bin.limit).max().unwrap_or(1).max(1)
}

/// A load as a height: its share of its bin's limit, in tenths of a watt on the largest limit, rounded up.
pub(super) fn height(load: u64, limit: u64, scale: u64) -> u64 {
    if limit == scale { load } else { (load * scale).div_ceil(limit.max(1)) }
}

/// What does not change while items are moved about.
#[derive(Debug)]
pub(super) struct Ground<'a> {
    pub instance: &'a Instance,
    pub bins: &'a [Bin],
    pub scale: u64,
    /// The bin each item must stay in, by position among `bins`.
    pub pins: Vec<Option<usize>>,
    /// For each item the others it must be apart from.
    foes: Vec<Vec<usize>>,
    /// For each item the groups it is in: first those that share, then those that spread.
    share_of: Vec<Vec<usize>>,
    spread_of: Vec<Vec<usize>>,
    /// The bins of each supply.
    pub supply_bins: Vec<Vec<usize>>,
    /// Items that share a supply with each other, and for each item which of these clans it is in.
    pub clans: Vec<Vec<usize>>,
    pub clan_of: Vec<usize>,
}

impl<'a> Ground<'a> {
    /// `place` gives for a bin among those present its position among `bins`.
    pub(super) fn new(
        instance: &'a Instance,
        bins: &'a [Bin],
        place: impl Fn(usize) -> Option<usize>,
    ) -> Self {
        let n = instance.items.len();
        let mut foes = vec![Vec::new(); n];
        for group in &instance.apart {
            for &one in group {
                foes[one].extend(group.iter().copied().filter(|&other| other != one));
            }
        }
        let of = |groups: &[Vec<usize>]| {
            let mut of = vec![Vec::new(); n];
            for (number, group) in groups.iter().enumerate() {
                for &item in group {
                    of[item].push(number);
                }
            }
            of
        };
        let mut supply_bins = vec![Vec::new(); bins.iter().map(|bin| bin.supply + 1).max().unwrap_or(0)];
        for (number, bin) in bins.iter().enumerate() {
            supply_bins[bin.supply].push(number);
        }
        let (mut clans, clan_of) = super::ties::clans(n, &instance.share);
        for clan in &mut clans {
            clan.sort_by_key(|&item| (std::cmp::Reverse(instance.items[item].weight), item));
        }
        Self {
            instance,
            bins,
            clans,
            clan_of,
            scale: scale(bins),
            pins: instance
                .items
                .iter()
                .map(|item| item.home.filter(|_| item.pinned).and_then(&place))
                .collect(),
            foes,
            share_of: of(&instance.share),
            spread_of: of(&instance.spread),
            supply_bins,
        }
    }

    fn weight(&self, item: usize) -> u64 {
        self.instance.items[item].weight
    }

    /// The items that this one must be apart from.
    pub(super) fn foes(&self, item: usize) -> &[usize] {
        &self.foes[item]
    }

    /// The supply that the item is held on by those it shares it with, if they are not in these bins.
    pub(super) fn held_by_mates(&self, item: usize, at: &[usize], bins: &[usize]) -> Option<usize> {
        let clan = &self.clans[self.clan_of[item]];
        let outside =
            |mate: &&usize| **mate != item && (!bins.contains(&at[**mate]) || self.pins[**mate].is_some());
        clan.iter().find(outside).map(|&mate| self.bins[at[mate]].supply)
    }

    /// Whether the item cannot leave one of two bins for the other without taking others along.
    pub(super) fn bound_to(&self, item: usize, at: &[usize], a: usize, b: usize) -> bool {
        let other = if at[item] == a { b } else { a };
        let parts = self.bins[a].supply != self.bins[b].supply && self.clans[self.clan_of[item]].len() > 1;
        (parts && self.bins[at[item]].supply == self.home_of_clan(item, at))
            || self.foes[item].iter().any(|&foe| at[foe] == other)
    }

    /// The supply on which most of the clan is.
    fn home_of_clan(&self, item: usize, at: &[usize]) -> usize {
        let clan = &self.clans[self.clan_of[item]];
        let on = |supply: usize| clan.iter().filter(|&&mate| self.bins[at[mate]].supply == supply).count();
        let supplies = clan.iter().map(|&mate| self.bins[at[mate]].supply);
        supplies.max_by_key(|&supply| (on(supply), std::cmp::Reverse(supply))).unwrap_or(0)
    }
}

/// Items in bins.
#[derive(Debug, Clone)]
pub(super) struct State<'g> {
    pub ground: &'g Ground<'g>,
    /// The bin of each item.
    pub at: Vec<usize>,
    pub load: Vec<u64>,
    pub wires: Vec<u64>,
    pub held: Vec<Vec<usize>>,
    /// Heights above this one count as over.
    pub level: u64,
    pub cost: Cost,
}

impl<'g> State<'g> {
    /// The assignment `at`, reckoned anew.
    pub(super) fn new(ground: &'g Ground<'g>, at: Vec<usize>, level: u64) -> Self {
        let mut state = Self {
            ground,
            load: vec![0; ground.bins.len()],
            wires: vec![0; ground.bins.len()],
            held: vec![Vec::new(); ground.bins.len()],
            at,
            level,
            cost: Cost::default(),
        };
        for (item, &bin) in state.at.iter().enumerate() {
            state.load[bin] += ground.weight(item);
            state.wires[bin] += u64::from(ground.instance.items[item].wires);
            state.held[bin].push(item);
        }
        state.recount();
        state
    }

    fn recount(&mut self) {
        let mut cost = Cost::default();
        for bin in 0..self.load.len() {
            cost.add(self.bin_cost(bin));
            let held = &self.held[bin];
            let enemies: usize = held.iter().map(|&item| self.foes_at(item, bin)).sum();
            cost.broken += super::bound::count(enemies) / 2 * RULE;
        }
        for group in 0..self.ground.instance.share.len() {
            cost.broken += self.share_cost(group);
        }
        for group in 0..self.ground.instance.spread.len() {
            cost.unspread += self.spread_cost(group);
        }
        self.cost = cost;
    }

    pub(super) fn height(&self, bin: usize) -> u64 {
        height(self.load[bin], self.ground.bins[bin].limit, self.ground.scale)
    }

    pub(super) fn highest(&self) -> u64 {
        (0..self.load.len()).map(|bin| self.height(bin)).max().unwrap_or(0)
    }

    fn bin_cost(&self, bin: usize) -> Cost {
        let spec = &self.ground.bins[bin];
        // A single item may reach the limit; several together only the target.
        let cap = if self.held[bin].len() <= 1 { spec.limit } else { spec.target };
        let height = self.height(bin);
        let over = height.saturating_sub(self.level);
        Cost {
            broken: self.load[bin].saturating_sub(cap)
                + self.wires[bin].saturating_sub(u64::from(spec.terminals)) * RULE,
            unspread: 0,
            over: over * over,
            squares: height * height,
        }
    }

    fn foes_at(&self, item: usize, bin: usize) -> usize {
        self.ground.foes[item].iter().filter(|&&foe| self.at[foe] == bin).count()
    }

    fn share_cost(&self, group: usize) -> u64 {
        let supply = |&item: &usize| self.ground.bins[self.at[item]].supply;
        let group = &self.ground.instance.share[group];
        let Some(first) = group.first().map(supply) else { return 0 };
        super::bound::count(group.iter().filter(|item| supply(item) != first).count()) * RULE
    }

    fn spread_cost(&self, group: usize) -> u64 {
        let supply = |&item: &usize| self.ground.bins[self.at[item]].supply;
        let group = &self.ground.instance.spread[group];
        let Some(first) = group.first().map(supply) else { return 0 };
        u64::from(group.iter().all(|item| supply(item) == first))
    }

    /// What the item adds by its groups and its foes where it stands.
    fn ties_cost(&self, items: &[usize]) -> Cost {
        let mut cost = Cost::default();
        if items.iter().all(|&item| self.free_of_ties(item)) {
            return cost;
        }
        let (mut shares, mut spreads) = (Vec::new(), Vec::new());
        for (nth, &item) in items.iter().enumerate() {
            let bin = self.at[item];
            let earlier = &items[..nth];
            let foes = &self.ground.foes[item];
            let enemies = foes.iter().filter(|foe| self.at[**foe] == bin && !earlier.contains(foe)).count();
            cost.broken += super::bound::count(enemies) * RULE;
            shares.extend_from_slice(&self.ground.share_of[item]);
            spreads.extend_from_slice(&self.ground.spread_of[item]);
        }
        for groups in [&mut shares, &mut spreads] {
            groups.sort_unstable();
            groups.dedup();
        }
        cost.broken += shares.iter().map(|&group| self.share_cost(group)).sum::<u64>();
        cost.unspread += spreads.iter().map(|&group| self.spread_cost(group)).sum::<u64>();
        cost
    }

    /// Whether the item has a part in a rule that is broken or a group that is not spread.
    pub(super) fn suspect(&self, item: usize) -> bool {
        let bin = self.at[item];
        self.bin_cost(bin).broken > 0
            || self.foes_at(item, bin) > 0
            || self.ground.share_of[item].iter().any(|&group| self.share_cost(group) > 0)
            || self.ground.spread_of[item].iter().any(|&group| self.spread_cost(group) > 0)
    }

    /// Whether the bin breaks a limit.
    pub(super) fn overloaded(&self, bin: usize) -> bool {
        self.bin_cost(bin).broken > 0
    }

    /// Whether the item has a part in a rule that is broken.
    pub(super) fn wrong(&self, item: usize) -> bool {
        let bin = self.at[item];
        self.overloaded(bin)
            || self.foes_at(item, bin) > 0
            || self.ground.share_of[item].iter().any(|&group| self.share_cost(group) > 0)
    }

    /// Groups that are on one supply.
    pub(super) fn unspread_groups(&self) -> Vec<usize> {
        (0..self.ground.instance.spread.len()).filter(|&group| self.spread_cost(group) > 0).collect()
    }

    fn free_of_ties(&self, item: usize) -> bool {
        let ground = self.ground;
        ground.foes[item].is_empty() && ground.share_of[item].is_empty() && ground.spread_of[item].is_empty()
    }

    /// Moves items, and gives the cost there is then.
    pub(super) fn shift(&mut self, moves: &[(usize, usize)]) -> Cost {
        let mut bins: Vec<usize> = moves.iter().flat_map(|&(item, to)| [self.at[item], to]).collect();
        bins.sort_unstable();
        bins.dedup();
        let items: Vec<usize> = moves.iter().map(|&(item, _)| item).collect();
        let mut before = self.ties_cost(&items);
        for &bin in &bins {
            before.add(self.bin_cost(bin));
        }
        for &(item, to) in moves {
            self.put(item, to);
        }
        let mut after = self.ties_cost(&items);
        for &bin in &bins {
            after.add(self.bin_cost(bin));
        }
        self.cost = Cost {
            broken: self.cost.broken + after.broken - before.broken,
            unspread: self.cost.unspread + after.unspread - before.unspread,
            over: self.cost.over + after.over - before.over,
            squares: self.cost.squares + after.squares - before.squares,
        };
        self.cost
    }

    fn put(&mut self, item: usize, to: usize) {
        let from = self.at[item];
        let (weight, wires) = (self.ground.weight(item), u64::from(self.ground.instance.items[item].wires));
        self.load[from] -= weight;
        self.wires[from] -= wires;
        self.held[from].retain(|&held| held != item);
        self.load[to] += weight;
        self.wires[to] += wires;
        self.held[to].push(item);
        self.at[item] = to;
    }

    /// Moves items if that costs less; says whether it did.
    pub(super) fn shift_if_better(&mut self, moves: &[(usize, usize)]) -> bool {
        if moves.iter().any(|&(item, to)| self.ground.pins[item].is_some_and(|pin| pin != to)) {
            return false;
        }
        let before = self.cost;
        let back: Vec<(usize, usize)> = moves.iter().map(|&(item, _)| (item, self.at[item])).collect();
        if self.shift(moves) < before {
            return true;
        }
        self.shift(&back);
        self.cost = before;
        false
    }
}
