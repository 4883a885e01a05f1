//! Whether items fit bins up to a height, with every rule between them: by trying, item after item.

use super::bound::count;
use super::budget::Budget;
use super::complete::{Fit, complete};
use super::patterns::Class;
use super::patterns::pack;
use super::state::{Ground, height};
use super::ways::classes;

/// Decides whether the items fit the bins with no bin above a height, spread left aside.
///
/// Equal bins without ties go by completion, then by ways to fill a bin; anything else by these ways, which know
/// nothing of ties and so can only say no, then item by item.
pub(super) fn fits_under(ground: &Ground<'_>, most: u64, budget: &mut Budget<'_>, end: u64) -> Fit {
    let instance = ground.instance;
    let third = budget.progress().done + end.saturating_sub(budget.progress().done) / 3;
    if let Some(bin) = equal_bins(ground) {
        let capacity = most.min(bin.target);
        // A weight over the target stands alone: it fills its bin.
        let clipped: Option<Vec<u64>> = instance
            .items
            .iter()
            .map(|item| (item.weight <= most.min(bin.limit)).then_some(item.weight.min(capacity)))
            .collect();
        let terminals = usize::try_from(bin.terminals).unwrap_or(usize::MAX);
        let Some(weights) = clipped else { return Fit::Never };
        return match complete(&weights, ground.bins.len(), capacity, terminals, budget, third) {
            Fit::Unknown => {
                pack(&weights, &[Class { capacity, terminals, bins: ground.bins.len() }], budget, end)
            }
            decided => decided,
        };
    }
    let by_ways = classes(ground, most);
    if let Some(ways) = by_ways {
        match pack(&ways.weights, &ways.classes, budget, third) {
            Fit::Fits(at) if ways.without_ties => return Fit::Fits(ways.placed(ground, &at)),
            Fit::Never => return Fit::Never,
            Fit::Fits(_) | Fit::Unknown => {}
        }
    }
    exhaust(ground, most, budget, end)
}

fn exhaust(ground: &Ground<'_>, most: u64, budget: &mut Budget<'_>, end: u64) -> Fit {
    let instance = ground.instance;
    let mut order: Vec<usize> = (0..instance.items.len()).collect();
    order.sort_by_key(|&item| (ground.pins[item].is_none(), std::cmp::Reverse(instance.items[item].weight)));
    let mut foes = vec![Vec::new(); instance.items.len()];
    for group in &instance.apart {
        for &one in group {
            foes[one].extend(group.iter().copied().filter(|&other| other != one));
        }
    }
    let mut share_of = vec![Vec::new(); instance.items.len()];
    for group in &instance.share {
        for &item in group {
            share_of[item].extend(group.iter().copied());
        }
    }
    let mut search = Exhauster {
        ground,
        most,
        order: &order,
        foes: &foes,
        share_of: &share_of,
        at: vec![None; instance.items.len()],
        load: vec![0; ground.bins.len()],
        wires: vec![0; ground.bins.len()],
        held: vec![0; ground.bins.len()],
        budget,
        end,
        ran_out: false,
    };
    match (search.place(0), search.ran_out) {
        (true, _) => Fit::Fits(search.at.iter().map(|at| at.unwrap_or(0)).collect()),
        (false, true) => Fit::Unknown,
        (false, false) => Fit::Never,
    }
}

/// The bin that all are like, where nothing but weights and wires counts.
pub(super) fn equal_bins(ground: &Ground<'_>) -> Option<super::Bin> {
    let first = *ground.bins.first()?;
    let alike = ground
        .bins
        .iter()
        .all(|bin| (bin.limit, bin.target, bin.terminals) == (first.limit, first.target, first.terminals));
    let instance = ground.instance;
    let plain = instance.apart.is_empty()
        && instance.share.is_empty()
        && ground.pins.iter().all(Option::is_none)
        && instance.items.iter().all(|item| item.wires == 1);
    (alike && plain).then_some(first)
}

struct Exhauster<'a, 'b, 'w> {
    ground: &'a Ground<'a>,
    most: u64,
    order: &'a [usize],
    foes: &'a [Vec<usize>],
    share_of: &'a [Vec<usize>],
    at: Vec<Option<usize>>,
    load: Vec<u64>,
    wires: Vec<u64>,
    held: Vec<usize>,
    budget: &'b mut Budget<'w>,
    end: u64,
    ran_out: bool,
}

impl Exhauster<'_, '_, '_> {
    fn place(&mut self, nth: usize) -> bool {
        let Some(&item) = self.order.get(nth) else { return true };
        if !self.budget.within(self.end, 1 + count(self.load.len()) / 8) {
            self.ran_out = true;
            return false;
        }
        let held = &self.ground.instance.items[item];
        let (weight, wires) = (held.weight, u64::from(held.wires));
        let mut bins: Vec<usize> =
            (0..self.load.len()).filter(|&bin| self.takes(item, bin, weight, wires)).collect();
        // The fullest first: what fits tightly leaves the most room elsewhere.
        bins.sort_by_key(|&bin| std::cmp::Reverse(self.load[bin]));
        for bin in bins {
            self.at[item] = Some(bin);
            self.load[bin] += weight;
            self.wires[bin] += wires;
            self.held[bin] += 1;
            if self.place(nth + 1) {
                return true;
            }
            self.at[item] = None;
            self.load[bin] -= weight;
            self.wires[bin] -= wires;
            self.held[bin] -= 1;
            if self.ran_out {
                return false;
            }
        }
        false
    }

    fn takes(&self, item: usize, bin: usize, weight: u64, wires: u64) -> bool {
        let ground = self.ground;
        let spec = &ground.bins[bin];
        let load = self.load[bin] + weight;
        let cap = if self.held[bin] == 0 { spec.limit } else { spec.target };
        load <= cap
            && height(load, spec.limit, ground.scale) <= self.most
            && self.wires[bin] + wires <= u64::from(spec.terminals)
            && ground.pins[item].is_none_or(|pin| pin == bin)
            && !self.foes[item].iter().any(|&foe| self.at[foe] == Some(bin))
            && self.share_of[item]
                .iter()
                .filter_map(|&other| self.at[other])
                .all(|at| ground.bins[at].supply == spec.supply)
            // Pinned items come first and have no choice.
            && (ground.pins[item].is_some() || !self.same_as_earlier(bin))
    }

    /// Whether an earlier bin is empty in just the same way, so that this one need not be tried.
    fn same_as_earlier(&self, bin: usize) -> bool {
        let ground = self.ground;
        let spec = &ground.bins[bin];
        if self.held[bin] > 0 {
            return false;
        }
        let mates = &ground.supply_bins[spec.supply];
        let same =
            |a: &super::Bin| (a.limit, a.target, a.terminals) == (spec.limit, spec.target, spec.terminals);
        if mates.iter().any(|&mate| mate < bin && self.held[mate] == 0 && same(&ground.bins[mate])) {
            return true;
        }
        mates.iter().all(|&mate| self.held[mate] == 0)
            && ground.supply_bins[..spec.supply].iter().any(|others| {
                others.len() == mates.len()
                    && others.iter().all(|&other| self.held[other] == 0 && same(&ground.bins[other]))
            })
    }
}
