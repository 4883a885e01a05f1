//! Items that must share a supply, taken as one: where they go together, and how they are placed at first.

use super::bound::count;
use super::state::{Ground, height};
use std::cmp::Reverse;

/// Joins items that share groups: the items of each clan, and the clan of each item.
pub(super) fn clans(items: usize, share: &[Vec<usize>]) -> (Vec<Vec<usize>>, Vec<usize>) {
    let mut of: Vec<usize> = (0..items).collect();
    for group in share {
        for pair in group.windows(2) {
            let (a, b) = (root(&of, pair[0]), root(&of, pair[1]));
            of[a.max(b)] = a.min(b);
        }
    }
    let mut clans: Vec<Vec<usize>> = Vec::new();
    let mut number = vec![usize::MAX; items];
    for item in 0..items {
        let root = root(&of, item);
        if root == item {
            number[item] = clans.len();
            clans.push(Vec::new());
        }
        number[item] = number[root];
        clans[number[item]].push(item);
    }
    (clans, number)
}

fn root(of: &[usize], mut item: usize) -> usize {
    while of[item] != item {
        item = of[item];
    }
    item
}

/// Loads and rules of bins that are being filled.
#[derive(Debug)]
pub(super) struct Filling<'g> {
    ground: &'g Ground<'g>,
    /// The bin of each item; none while it waits.
    pub at: Vec<Option<usize>>,
    load: Vec<u64>,
    wires: Vec<u64>,
    held: Vec<u32>,
}

/// How badly a place suits: rules broken, weight over the target, then the height.
type Badness = (u64, u64, u64);

impl<'g> Filling<'g> {
    pub(super) fn new(ground: &'g Ground<'g>, at: Vec<Option<usize>>) -> Self {
        let bins = ground.bins.len();
        let mut filling = Self { ground, at, load: vec![0; bins], wires: vec![0; bins], held: vec![0; bins] };
        for item in 0..filling.at.len() {
            if let Some(bin) = filling.at[item].take() {
                filling.put(item, bin);
            }
        }
        filling
    }

    fn put(&mut self, item: usize, bin: usize) {
        let own = &self.ground.instance.items[item];
        self.at[item] = Some(bin);
        self.load[bin] += own.weight;
        self.wires[bin] += u64::from(own.wires);
        self.held[bin] += 1;
    }

    fn take(&mut self, item: usize) {
        if let Some(bin) = self.at[item].take() {
            let own = &self.ground.instance.items[item];
            self.load[bin] -= own.weight;
            self.wires[bin] -= u64::from(own.wires);
            self.held[bin] -= 1;
        }
    }

    fn badness(&self, item: usize, bin: usize, full: bool) -> Badness {
        let (own, spec) = (&self.ground.instance.items[item], &self.ground.bins[bin]);
        let foes = self.ground.foes(item).iter().filter(|&&foe| self.at[foe] == Some(bin)).count();
        let crowded = (self.wires[bin] + u64::from(own.wires)).saturating_sub(spec.terminals.into());
        let load = self.load[bin] + own.weight;
        let cap = if self.held[bin] == 0 { spec.limit } else { spec.target };
        let high = height(load, spec.limit, self.ground.scale);
        // The fullest that takes it, or the lowest.
        let high = if full && load <= cap { u64::MAX - high } else { high };
        (count(foes) + crowded, load.saturating_sub(cap), high)
    }

    /// Places the items of a clan on one of the supplies, where they suit best; the items are in order of weight.
    pub(super) fn place(&mut self, clan: &[usize], supplies: &[usize], full: bool) {
        let ground = self.ground;
        let waiting: Vec<usize> = clan.iter().copied().filter(|&item| self.at[item].is_none()).collect();
        let kept = clan.iter().find_map(|&item| self.at[item]).map(|bin| ground.bins[bin].supply);
        let mut best: Option<(Badness, Vec<usize>)> = None;
        let all = kept.map_or_else(|| supplies.to_vec(), |supply| vec![supply]);
        for supply in all {
            let mut sum: Badness = (0, 0, 0);
            let mut places = Vec::new();
            for &item in &waiting {
                let bins = &ground.supply_bins[supply];
                let Some((bad, bin)) = bins.iter().map(|&bin| (self.badness(item, bin, full), bin)).min()
                else {
                    break;
                };
                sum = (sum.0 + bad.0, sum.1 + bad.1, sum.2.max(bad.2));
                places.push(bin);
                self.put(item, bin);
            }
            for &item in &waiting {
                self.take(item);
            }
            if places.len() == waiting.len() && best.as_ref().is_none_or(|(least, _)| sum < *least) {
                best = Some((sum, places));
            }
        }
        if let Some((_, places)) = best {
            for (&item, bin) in waiting.iter().zip(places) {
                self.put(item, bin);
            }
        }
    }
}

/// The heaviest first, each where it stands lowest (longest processing time first: Graham, "Bounds on multiprocessing
/// timing anomalies", SIAM Journal on Applied Mathematics 17 (1969)), items that share a supply together.
pub(super) fn by_weight(ground: &Ground<'_>) -> Vec<usize> {
    let items = &ground.instance.items;
    let mut filling = Filling::new(ground, ground.pins.clone());
    let mut order: Vec<usize> = (0..ground.clans.len()).collect();
    let weight = |clan: &usize| ground.clans[*clan].iter().map(|&item| items[item].weight).sum::<u64>();
    let wires = |clan: &usize| ground.clans[*clan].iter().map(|&item| items[item].wires).max();
    order.sort_by_key(|clan| {
        (ground.clans[*clan].len() == 1, Reverse(wires(clan)), Reverse(weight(clan)), *clan)
    });
    let supplies: Vec<usize> = (0..ground.supply_bins.len()).collect();
    for clan in order {
        filling.place(&ground.clans[clan], &supplies, false);
    }
    filling.at.into_iter().map(|at| at.unwrap_or(0)).collect()
}
