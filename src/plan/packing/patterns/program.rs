//! The linear program over ways to fill bins, by the revised simplex method, with columns made as they are needed.
//!
//! Rows say that every kind is held as often as it is there, and that no class has more bins filled than it has. What
//! is not held costs its weight: nothing held at all is where it begins, and no cost is where it wants to end.

use super::knapsack::Knapsack;
use super::{Budget, Class, Kind, Pattern, shows_too_little};

/// What is taken for nothing.
const NOTHING: f64 = 1e-9;
/// A cost per bin that is taken for none.
const NO_COST: f64 = 1e-6;
/// Worths are whole multiples of one part of so many of the largest bin.
const PARTS: f64 = 16_777_216.0;

/// How the linear program ended.
#[derive(Debug)]
pub(super) enum Solved {
    /// Everything is held: how often each pattern is used.
    Held(Vec<(Pattern, f64)>),
    /// Proved, in whole numbers, that the bins cannot hold it.
    Never,
    /// By floating point alone it is not held.
    Unproved,
    /// The steps ran out.
    RanOut,
}

/// What a basic variable stands for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Basic {
    /// Some of a kind is not held.
    Missing(usize),
    /// Some of a kind is held too often.
    Surplus(usize),
    /// Bins of a class are not used.
    Unused(usize),
    /// A pattern, by its place in the pool.
    Pattern(usize),
}

/// The rows in which a variable stands, and how often.
type Column = Vec<(usize, f64)>;

pub(super) struct Program<'a> {
    kinds: &'a [Kind],
    classes: &'a [Class],
    /// Kinds that are there, in the rows.
    rows: Vec<usize>,
    row_of: Vec<Option<usize>>,
    inverse: Vec<f64>,
    value: Vec<f64>,
    basis: Vec<Basic>,
    price: Vec<f64>,
    largest: f64,
}

impl<'a> Program<'a> {
    pub(super) fn new(kinds: &'a [Kind], classes: &'a [Class]) -> Self {
        let rows: Vec<usize> = (0..kinds.len()).filter(|&kind| kinds[kind].left > 0).collect();
        let mut row_of = vec![None; kinds.len()];
        for (row, &kind) in rows.iter().enumerate() {
            row_of[kind] = Some(row);
        }
        let largest = classes.iter().map(|class| class.capacity).max().unwrap_or(1).max(1);
        let largest = float(largest);
        let all = rows.len() + classes.len();
        let mut inverse = vec![0.0; all * all];
        for row in 0..all {
            inverse[row * all + row] = 1.0;
        }
        // A touch less than is there, another for each row, keeps steps from standing still.
        let touch = |row: usize| 1e-7 * (1.0 + float(super::count(row * 7919 % 101)) / 101.0);
        let value = (rows.iter().enumerate())
            .map(|(row, &kind)| float(super::count(kinds[kind].left)) - touch(row))
            .chain(classes.iter().map(|class| float(super::count(class.bins))))
            .collect();
        let basis =
            (rows.iter().map(|&kind| Basic::Missing(kind))).chain((0..classes.len()).map(Basic::Unused));
        let basis = basis.collect();
        let price = (rows.iter().map(|&kind| float(kinds[kind].weight) / largest))
            .chain(classes.iter().map(|_| 0.0))
            .collect();
        Self { kinds, classes, rows, row_of, inverse, value, basis, price, largest }
    }

    fn size(&self) -> usize {
        self.value.len()
    }

    /// Solves it; patterns that are made are added to the pool.
    pub(super) fn solve(
        &mut self,
        pool: &mut Vec<Pattern>,
        knapsack: &mut Knapsack,
        budget: &mut Budget<'_>,
        end: u64,
    ) -> Solved {
        let usable: Vec<bool> = pool.iter().map(|pattern| self.fits(pattern)).collect();
        let mut usable = usable;
        for _ in 0..self.size() * 60 + 200 {
            if self.cost() < NO_COST {
                return Solved::Held(self.used(pool));
            }
            let pivot_steps = super::count(self.size() * self.size() / 300 + 2);
            if !budget.within(end, pivot_steps) {
                return Solved::RanOut;
            }
            if let Some((enters, column, gain)) = self.known(pool, &usable) {
                if !self.enter(enters, &column, gain) {
                    return Solved::Unproved;
                }
                continue;
            }
            if !budget.within(end, knapsack.steps(self.kinds)) {
                return Solved::RanOut;
            }
            let worth = self.worth();
            knapsack.fill(self.kinds, &worth);
            let best: Vec<u64> = self.classes.iter().map(|class| knapsack.best(class)).collect();
            if shows_too_little(&worth, self.kinds, &best, self.classes) {
                return Solved::Never;
            }
            let mut made = false;
            for (class, spec) in self.classes.iter().enumerate() {
                let pattern = Pattern { class, held: knapsack.filling(self.kinds, spec) };
                if self.gain(&pattern) > 1e-7 && !pool.contains(&pattern) {
                    pool.push(pattern);
                    usable.push(true);
                    made = true;
                }
            }
            if !made {
                return Solved::Unproved;
            }
        }
        Solved::RanOut
    }

    /// Whether a pattern holds no more than there is.
    fn fits(&self, pattern: &Pattern) -> bool {
        self.classes[pattern.class].bins > 0
            && pattern.held.iter().all(|&(kind, n)| n <= self.kinds[kind].left)
    }

    fn cost(&self) -> f64 {
        let missing = self.basis.iter().zip(&self.value);
        missing
            .map(|(basic, value)| match basic {
                Basic::Missing(kind) => float(self.kinds[*kind].weight) / self.largest * value,
                _ => 0.0,
            })
            .sum()
    }

    /// What a unit of each kind is worth, in whole parts, rounded down.
    fn worth(&self) -> Vec<u64> {
        let part = |kind: usize| self.row_of[kind].map_or(0.0, |row| self.price[row].max(0.0) * PARTS);
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "small and not negative")]
        (0..self.kinds.len()).map(|kind| part(kind) as u64).collect()
    }

    /// What a pattern would save.
    fn gain(&self, pattern: &Pattern) -> f64 {
        let held = pattern
            .held
            .iter()
            .map(|&(kind, n)| self.row_of[kind].map_or(0.0, |row| self.price[row] * float(super::count(n))));
        held.sum::<f64>() + self.price[self.rows.len() + pattern.class]
    }

    /// The best column of those already known, with what it saves.
    fn known(&self, pool: &[Pattern], usable: &[bool]) -> Option<(Basic, Column, f64)> {
        let mut best: Option<(Basic, f64)> = None;
        let mut offer = |basic: Basic, gain: f64| {
            if gain > 1e-7 && best.is_none_or(|(_, most)| gain > most) {
                best = Some((basic, gain));
            }
        };
        for (row, &kind) in self.rows.iter().enumerate() {
            offer(Basic::Surplus(kind), -self.price[row]);
            offer(Basic::Missing(kind), self.price[row] - float(self.kinds[kind].weight) / self.largest);
        }
        for class in 0..self.classes.len() {
            offer(Basic::Unused(class), self.price[self.rows.len() + class]);
        }
        for (at, pattern) in pool.iter().enumerate() {
            if usable[at] {
                offer(Basic::Pattern(at), self.gain(pattern));
            }
        }
        let (basic, gain) = best?;
        Some((basic, self.column(basic, pool), gain))
    }

    fn column(&self, basic: Basic, pool: &[Pattern]) -> Column {
        let row = |kind: usize| self.row_of[kind].unwrap_or(0);
        match basic {
            Basic::Missing(kind) => vec![(row(kind), 1.0)],
            Basic::Surplus(kind) => vec![(row(kind), -1.0)],
            Basic::Unused(class) => vec![(self.rows.len() + class, 1.0)],
            Basic::Pattern(at) => {
                let pattern = &pool[at];
                let held = pattern.held.iter().map(|&(kind, n)| (row(kind), float(super::count(n))));
                held.chain([(self.rows.len() + pattern.class, 1.0)]).collect()
            }
        }
    }

    /// Lets a column into the basis for the one that reaches nothing first; says whether there is one.
    fn enter(&mut self, enters: Basic, column: &[(usize, f64)], gain: f64) -> bool {
        let all = self.size();
        let direction: Vec<f64> = (0..all)
            .map(|row| column.iter().map(|&(at, n)| self.inverse[row * all + at] * n).sum())
            .collect();
        let mut leaves: Option<(usize, f64)> = None;
        for (row, &step) in direction.iter().enumerate().filter(|&(_, &step)| step > NOTHING) {
            let ratio = self.value[row].max(0.0) / step;
            let better = leaves.is_none_or(|(best, least)| {
                ratio < least - 1e-12 || (ratio < least + 1e-12 && step > direction[best])
            });
            if better {
                leaves = Some((row, ratio));
            }
        }
        let Some((out, ratio)) = leaves else { return false };
        let by = 1.0 / direction[out];
        for (price, own) in self.price.iter_mut().zip(&self.inverse[out * all..(out + 1) * all]) {
            *price -= gain * by * own;
        }
        let pivot: Vec<f64> = self.inverse[out * all..(out + 1) * all].iter().map(|own| own * by).collect();
        for (row, &factor) in direction.iter().enumerate() {
            if row == out || factor.abs() < 1e-13 {
                continue;
            }
            self.value[row] -= ratio * factor;
            for (own, pivot) in self.inverse[row * all..(row + 1) * all].iter_mut().zip(&pivot) {
                *own -= factor * pivot;
            }
        }
        self.inverse[out * all..(out + 1) * all].copy_from_slice(&pivot);
        self.value[out] = ratio;
        self.basis[out] = enters;
        true
    }

    fn used(&self, pool: &[Pattern]) -> Vec<(Pattern, f64)> {
        let patterns = self.basis.iter().zip(&self.value).filter_map(|(basic, &value)| match basic {
            Basic::Pattern(at) if value > 1e-6 => Some((pool[*at].clone(), value)),
            _ => None,
        });
        patterns.collect()
    }
}

#[expect(clippy::cast_precision_loss, reason = "only proposes")]
pub(super) fn float(n: u64) -> f64 {
    n as f64
}
