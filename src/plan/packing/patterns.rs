//! Whether weights fit bins of several capacities, by ways to fill a bin: a bound with proof, and a search by it.
//!
//! How often each way to fill a bin is used is first let be any fraction (Gilmore and Gomory, "A linear programming
//! approach to the cutting-stock problem", Operations Research 9 (1961) and 11 (1963)); ways are made as they are
//! needed, by a knapsack over what a unit of each weight is worth. The linear program is reckoned in floating point
//! and only ever proposes: what says no is a worth of each weight, in whole numbers, of which all weights together have
//! more than the bins can hold (a dual feasible function), and that is counted exactly.

mod dive;
mod knapsack;
mod program;

use super::bound::count;
use super::budget::Budget;
use super::complete::Fit;
use knapsack::Knapsack;
use program::{Program, Solved};

/// Bins that are alike.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Class {
    /// The most weight in one.
    pub capacity: u64,
    /// The most items in one.
    pub terminals: usize,
    /// How many there are.
    pub bins: usize,
}

/// Weights that are alike.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
struct Kind {
    weight: u64,
    left: usize,
}

/// A way to fill a bin: how many of each kind, by position, and of which class the bin is.
#[derive(Debug, Clone, PartialEq, Eq)]
struct Pattern {
    class: usize,
    held: Vec<(usize, usize)>,
}

/// Work for one knapsack that is too much to be worth it.
const MOST_WORK: usize = 8_000_000;

/// Packs weights into the bins of the classes, in their order, or proves that they do not fit.
pub(super) fn pack(weights: &[u64], classes: &[Class], budget: &mut Budget<'_>, end: u64) -> Fit {
    if weights.is_empty() {
        return Fit::Fits(Vec::new());
    }
    let mut kinds: Vec<Kind> = Vec::new();
    let mut sorted = weights.to_vec();
    sorted.sort_unstable_by(|a, b| b.cmp(a));
    for weight in sorted {
        match kinds.last_mut() {
            Some(kind) if kind.weight == weight => kind.left += 1,
            _ => kinds.push(Kind { weight, left: 1 }),
        }
    }
    let Some(knapsack) = Knapsack::new(&kinds, classes, MOST_WORK) else { return Fit::Unknown };
    let mut search = dive::Diver::new(&kinds, classes, knapsack, budget, end);
    let filled = match search.run() {
        dive::End::Packed(filled) => filled,
        dive::End::Never => return Fit::Never,
        dive::End::Unknown => return Fit::Unknown,
    };
    hand_out(weights, &kinds, classes, &filled).map_or(Fit::Unknown, Fit::Fits)
}

/// The bin of each weight, from the ways in which bins are filled.
fn hand_out(weights: &[u64], kinds: &[Kind], classes: &[Class], filled: &[Pattern]) -> Option<Vec<usize>> {
    let mut waiting: Vec<Vec<usize>> = vec![Vec::new(); kinds.len()];
    for (item, weight) in weights.iter().enumerate().rev() {
        waiting[kinds.iter().position(|kind| kind.weight == *weight)?].push(item);
    }
    let mut next: Vec<usize> = Vec::new();
    let mut first = 0;
    for class in classes {
        next.push(first);
        first += class.bins;
    }
    let mut at = vec![usize::MAX; weights.len()];
    for pattern in filled {
        let bin = next[pattern.class];
        next[pattern.class] += 1;
        for &(kind, n) in &pattern.held {
            for _ in 0..n {
                at[waiting[kind].pop()?] = bin;
            }
        }
    }
    let complete = at.iter().all(|&bin| bin != usize::MAX);
    let enough = classes.iter().scan(0, |end, class| {
        *end += class.bins;
        Some(*end)
    });
    (complete && next.iter().zip(enough).all(|(&used, end)| used <= end)).then_some(at)
}

/// Whether worths in whole numbers show that the bins cannot hold the kinds: no bin holds more than the best filling of
/// its class is worth.
fn shows_too_little(worth: &[u64], kinds: &[Kind], best: &[u64], classes: &[Class]) -> bool {
    let wide = |n: usize| u128::from(count(n));
    let all: u128 = worth.iter().zip(kinds).map(|(&worth, kind)| u128::from(worth) * wide(kind.left)).sum();
    let most: u128 = best.iter().zip(classes).map(|(&best, class)| u128::from(best) * wide(class.bins)).sum();
    all > most
}

#[cfg(test)]
mod tests {
    use super::*;

    fn fits(weights: &[u64], capacity: u64, bins: usize) -> Fit {
        let mut budget = Budget::new(1_000_000);
        pack(weights, &[Class { capacity, terminals: 9, bins }], &mut budget, 1_000_000)
    }

    #[test]
    fn what_fits_is_packed_and_what_does_not_is_proved() {
        assert!(matches!(fits(&[6, 5, 4, 4, 3, 2], 12, 2), Fit::Fits(_)));
        assert_eq!(fits(&[6, 5, 4, 4, 3, 3], 12, 2), Fit::Never);
        // Seven weights just over a third: two to a bin, so four bins.
        assert_eq!(fits(&[35; 7], 100, 3), Fit::Never);
        assert!(matches!(fits(&[35; 7], 100, 4), Fit::Fits(_)));
    }

    #[test]
    fn terminals_count() {
        let class = Class { capacity: 100, terminals: 2, bins: 2 };
        let mut budget = Budget::new(1_000_000);
        assert_eq!(pack(&[1; 5], &[class], &mut budget, 1_000_000), Fit::Never);
    }
}
