//! Bins that hold what is pinned to them, as classes of bins that are alike, for the search by ways to fill a bin.

use super::patterns::Class;
use super::repack::cap_of;
use super::state::Ground;

/// Items that are free, and the bins as classes of what they can still take.
#[derive(Debug)]
pub(super) struct Ways {
    /// The free items and their weights.
    items: Vec<usize>,
    pub weights: Vec<u64>,
    pub classes: Vec<Class>,
    /// The bins in the order of the classes.
    bins: Vec<usize>,
    /// Whether a packing of the weights is one of the instance: nothing is tied and terminals are counted.
    pub without_ties: bool,
}

/// The free items, and what the bins can take of them with none above a height; none where a single item may reach
/// farther in some bin than several.
pub(super) fn classes(ground: &Ground<'_>, most: u64) -> Option<Ways> {
    let instance = ground.instance;
    let mut pinned = vec![(0_u64, 0_u64); ground.bins.len()];
    let mut items = Vec::new();
    for (item, pin) in ground.pins.iter().enumerate() {
        let own = &instance.items[item];
        match *pin {
            Some(bin) => pinned[bin] = (pinned[bin].0 + own.weight, pinned[bin].1 + u64::from(own.wires)),
            None => items.push(item),
        }
    }
    let weights: Vec<u64> = items.iter().map(|&item| instance.items[item].weight).collect();
    let alone = |weight: u64| ground.bins.iter().any(|bin| weight > bin.target && weight <= bin.limit);
    if weights.iter().any(|&weight| weight == 0 || alone(weight)) {
        return None;
    }
    // Where items take several terminals, these are left out of account.
    let single = instance.items.iter().all(|item| item.wires == 1);
    let mut keyed: Vec<(u64, usize, usize)> = Vec::new();
    for (bin, spec) in ground.bins.iter().enumerate() {
        let left = if single { u64::from(spec.terminals).saturating_sub(pinned[bin].1) } else { u64::MAX };
        let left = usize::try_from(left).unwrap_or(usize::MAX);
        keyed.push((cap_of(ground, bin, most).saturating_sub(pinned[bin].0), left, bin));
    }
    keyed.sort_unstable_by(|a, b| b.cmp(a));
    let mut classes: Vec<Class> = Vec::new();
    for &(capacity, terminals, _) in &keyed {
        match classes.last_mut() {
            Some(last) if (last.capacity, last.terminals) == (capacity, terminals) => last.bins += 1,
            _ => classes.push(Class { capacity, terminals, bins: 1 }),
        }
    }
    let without_ties = single && instance.apart.is_empty() && instance.share.is_empty();
    Some(Ways { items, weights, classes, bins: keyed.iter().map(|&(.., bin)| bin).collect(), without_ties })
}

impl Ways {
    /// The bin of every item, from the place of each free one.
    pub(super) fn placed(&self, ground: &Ground<'_>, at: &[usize]) -> Vec<usize> {
        let mut all: Vec<usize> = ground.pins.iter().map(|pin| pin.unwrap_or(0)).collect();
        for (&item, &place) in self.items.iter().zip(at) {
            all[item] = self.bins[place];
        }
        all
    }
}
