//! Whether weights fit so many equal bins, by completing one bin after another.

use super::bound::{count, fewest_bins};
use super::budget::Budget;
use std::collections::HashSet;

/// How an exact search ended.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) enum Fit {
    /// The bin of each weight.
    Fits(Vec<usize>),
    /// Proved: they do not fit.
    Never,
    /// The steps ran out.
    Unknown,
}

/// States remembered as failed.
const MOST_KNOWN: usize = 400_000;

/// Completions looked at for one bin.
const MOST_COMPLETIONS: usize = 20_000;

/// Packs weights, each with one wire, into bins of one capacity and so many terminals.
///
/// The heaviest weight left is in some bin: each way to complete that bin is tried, the fullest first, leaving out
/// those in which a weight could be added or exchanged for a heavier one (bin completion with dominance: Korf, "A new
/// algorithm for optimal bin packing", AAAI 2002, after Martello and Toth 1990). What is left empty in all bins is
/// known from the start and only ever shrinks; multisets that failed are remembered.
pub(super) fn complete(
    weights: &[u64],
    bins: usize,
    capacity: u64,
    terminals: usize,
    budget: &mut Budget<'_>,
    end: u64,
) -> Fit {
    let (n, total) = (weights.len(), weights.iter().sum::<u64>());
    if weights.iter().any(|&weight| weight > capacity) {
        return Fit::Never;
    }
    if fewest_bins(weights, capacity, count(n), count(terminals)) > bins {
        return Fit::Never;
    }
    let mut kinds: Vec<u64> = weights.to_vec();
    kinds.sort_unstable_by(|a, b| b.cmp(a));
    kinds.dedup();
    let mut left = vec![0_u16; kinds.len()];
    for weight in weights {
        if let Some(kind) = kinds.iter().position(|kind| kind == weight) {
            left[kind] += 1;
        }
    }
    let mut search = Completer {
        kinds: &kinds,
        capacity,
        terminals,
        known: HashSet::new(),
        done: Vec::new(),
        budget,
        end,
        ran_out: false,
    };
    let fits = search.fill(&mut left, bins, (count(bins) * capacity).saturating_sub(total), n);
    if !fits {
        return if search.ran_out { Fit::Unknown } else { Fit::Never };
    }
    // Hand the weights out to the bins that were filled.
    let mut waiting: Vec<Vec<usize>> = vec![Vec::new(); kinds.len()];
    for (item, weight) in weights.iter().enumerate().rev() {
        if let Some(kind) = kinds.iter().position(|kind| kind == weight) {
            waiting[kind].push(item);
        }
    }
    let mut at = vec![0; n];
    for (bin, filling) in search.done.iter().enumerate() {
        for &kind in filling {
            if let Some(item) = waiting[kind].pop() {
                at[item] = bin;
            }
        }
    }
    Fit::Fits(at)
}

struct Completer<'a, 'b, 'w> {
    kinds: &'a [u64],
    capacity: u64,
    terminals: usize,
    known: HashSet<Box<[u16]>>,
    done: Vec<Vec<usize>>,
    budget: &'b mut Budget<'w>,
    end: u64,
    ran_out: bool,
}

impl Completer<'_, '_, '_> {
    /// Fills the bins that are left; `waste` is what they may leave empty in all.
    fn fill(&mut self, left: &mut Vec<u16>, bins: usize, waste: u64, items: usize) -> bool {
        let Some(first) = left.iter().position(|&n| n > 0) else { return true };
        if items > bins * self.terminals || self.known.contains(left.as_slice()) {
            return false;
        }
        if !self.budget.within(self.end, 4) {
            self.ran_out = true;
            return false;
        }
        let rest: Vec<u64> = left
            .iter()
            .zip(self.kinds)
            .flat_map(|(&n, &weight)| std::iter::repeat_n(weight, usize::from(n)))
            .collect();
        if super::bound::l2(&rest, self.capacity) <= count(bins) {
            left[first] -= 1;
            let completions = self.completions(left, first, waste);
            for (filled, filling) in completions {
                for &kind in &filling {
                    left[kind] -= 1;
                }
                let items = items - 1 - filling.len();
                self.done.push([&[first][..], &filling].concat());
                if self.fill(left, bins - 1, waste - (self.capacity - filled), items) {
                    return true;
                }
                self.done.pop();
                for &kind in &filling {
                    left[kind] += 1;
                }
                if self.ran_out {
                    break;
                }
            }
            left[first] += 1;
        }
        if !self.ran_out && self.known.len() < MOST_KNOWN {
            self.known.insert(left.clone().into_boxed_slice());
        }
        false
    }

    /// Ways to complete a bin that holds the kind `first`, the fullest first.
    fn completions(&mut self, left: &mut [u16], first: usize, waste: u64) -> Vec<(u64, Vec<usize>)> {
        let mut found = Vec::new();
        let mut chosen = Vec::new();
        let least = self.capacity.saturating_sub(waste);
        // The most that the kinds from each one on can add, to give up early.
        let mut after = vec![0_u64; left.len() + 1];
        for kind in (0..left.len()).rev() {
            after[kind] = after[kind + 1] + u64::from(left[kind]) * self.kinds[kind];
        }
        self.extend(left, first, self.kinds[first], least, &after, &mut chosen, &mut found);
        found.sort_by(|(a, x), (b, y)| b.cmp(a).then_with(|| x.cmp(y)));
        found
    }

    #[expect(clippy::too_many_arguments, reason = "one recursion with what it builds")]
    fn extend(
        &mut self,
        left: &mut [u16],
        from: usize,
        filled: u64,
        least: u64,
        after: &[u64],
        chosen: &mut Vec<usize>,
        found: &mut Vec<(u64, Vec<usize>)>,
    ) {
        if self.ran_out || found.len() >= MOST_COMPLETIONS {
            self.ran_out = true;
            return;
        }
        if !self.budget.within(self.end, 1) {
            self.ran_out = true;
            return;
        }
        if filled >= least && self.undominated(left, filled, chosen) {
            found.push((filled, chosen.clone()));
        }
        if chosen.len() + 1 >= self.terminals {
            return;
        }
        let places = count(self.terminals - 1 - chosen.len());
        for kind in from..left.len() {
            if filled + after[kind] < least || filled + places.saturating_mul(self.kinds[kind]) < least {
                return;
            }
            if left[kind] == 0 || filled + self.kinds[kind] > self.capacity {
                continue;
            }
            left[kind] -= 1;
            chosen.push(kind);
            self.extend(left, kind, filled + self.kinds[kind], least, after, chosen, found);
            chosen.pop();
            left[kind] += 1;
        }
    }

    /// Whether nothing left can be added, or take the place of something lighter in it.
    fn undominated(&self, left: &[u16], filled: u64, chosen: &[usize]) -> bool {
        let room = self.capacity - filled;
        let kinds = self.kinds;
        let fits = |most: u64, than: u64| {
            left.iter().zip(kinds).any(|(&n, &weight)| n > 0 && weight <= most && weight > than)
        };
        if chosen.len() + 1 < self.terminals && fits(room, 0) {
            return false;
        }
        !chosen.iter().any(|&kind| fits(kinds[kind] + room, kinds[kind]))
    }
}
