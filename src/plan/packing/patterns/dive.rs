//! From fractions to whole bins: the ways used most are taken, what is left is solved anew.

use super::{Budget, Class, Kind, Knapsack, Pattern, Program, Solved};
use crate::plan::packing::bound::count;
use crate::plan::packing::complete::{Fit, complete};

/// How the search ended.
pub(super) enum End {
    /// What is in each bin.
    Packed(Vec<Pattern>),
    /// Proved: it does not fit.
    Never,
    /// Nothing was found.
    Unknown,
}

/// So many items left in bins that are alike are packed by trying.
const FEW: usize = 30;

/// What became of the items that are left.
enum Rest {
    Packed,
    Dead,
    /// In fractions they still fit.
    Held(Vec<(Pattern, f64)>),
}

pub(super) struct Diver<'a, 'b, 'w> {
    kinds: &'a [Kind],
    classes: &'a [Class],
    knapsack: Knapsack,
    pool: Vec<Pattern>,
    budget: &'b mut Budget<'w>,
    end: u64,
}

impl<'a, 'b, 'w> Diver<'a, 'b, 'w> {
    pub(super) fn new(
        kinds: &'a [Kind],
        classes: &'a [Class],
        knapsack: Knapsack,
        budget: &'b mut Budget<'w>,
        end: u64,
    ) -> Self {
        Self { kinds, classes, knapsack, pool: Vec::new(), budget, end }
    }

    pub(super) fn run(&mut self) -> End {
        let (kinds, classes) = (self.kinds.to_vec(), self.classes.to_vec());
        match self.solve(&kinds, &classes) {
            Solved::Never => End::Never,
            Solved::Held(used) => {
                let mut done = Vec::new();
                if self.down(&kinds, &classes, used.clone(), &mut done) {
                    return End::Packed(done);
                }
                for discrepancies in 1.. {
                    done.clear();
                    if self.branch(&kinds, &classes, &used, &mut done, discrepancies) {
                        return End::Packed(done);
                    }
                    if !self.left() {
                        break;
                    }
                }
                End::Unknown
            }
            Solved::Unproved | Solved::RanOut => End::Unknown,
        }
    }

    fn left(&self) -> bool {
        self.budget.left() > 0 && self.budget.progress().done < self.end
    }

    fn solve(&mut self, kinds: &[Kind], classes: &[Class]) -> Solved {
        Program::new(kinds, classes).solve(&mut self.pool, &mut self.knapsack, self.budget, self.end)
    }

    /// Takes all that is used nearly whole times, or what is used most, and solves the rest, until nothing is left.
    fn down(
        &mut self,
        kinds: &[Kind],
        classes: &[Class],
        mut used: Vec<(Pattern, f64)>,
        done: &mut Vec<Pattern>,
    ) -> bool {
        let (mut kinds, mut classes) = (kinds.to_vec(), classes.to_vec());
        loop {
            used.sort_by(|a, b| b.1.total_cmp(&a.1).then_with(|| a.0.held.cmp(&b.0.held)));
            let before = done.len();
            for (nth, (pattern, times)) in used.iter().enumerate() {
                #[expect(
                    clippy::cast_possible_truncation,
                    clippy::cast_sign_loss,
                    reason = "small, not negative"
                )]
                let times = ((times + 0.3) as usize).max(usize::from(nth == 0));
                for _ in 0..times {
                    if take(&mut kinds, &mut classes, pattern) {
                        done.push(pattern.clone());
                    }
                }
            }
            if done.len() == before || !self.left() {
                return false;
            }
            match self.rest(&kinds, &classes, done) {
                Rest::Packed => return true,
                Rest::Dead => return false,
                Rest::Held(next) => used = next,
            }
        }
    }

    /// Takes one way after the other to hold the kind that has the fewest, the one used most first; each way that is
    /// passed over counts as a discrepancy (limited discrepancy search: Harvey and Ginsberg, IJCAI 1995).
    fn branch(
        &mut self,
        kinds: &[Kind],
        classes: &[Class],
        used: &[(Pattern, f64)],
        done: &mut Vec<Pattern>,
        discrepancies: usize,
    ) -> bool {
        let ways = self.ways(kinds, classes, used);
        for (rank, pattern) in ways.into_iter().enumerate().take(discrepancies + 1) {
            if !self.left() {
                return false;
            }
            let (mut kinds, mut classes) = (kinds.to_vec(), classes.to_vec());
            if !take(&mut kinds, &mut classes, &pattern) {
                continue;
            }
            done.push(pattern);
            let found = match self.rest(&kinds, &classes, done) {
                Rest::Packed => true,
                Rest::Dead => false,
                Rest::Held(next) => self.branch(&kinds, &classes, &next, done, discrepancies - rank),
            };
            if found {
                return true;
            }
            done.pop();
        }
        false
    }

    /// The ways to hold the kind of which the fewest are known, the one used most first.
    fn ways(&mut self, kinds: &[Kind], classes: &[Class], used: &[(Pattern, f64)]) -> Vec<Pattern> {
        let _ = self.budget.within(self.end, count(self.pool.len() / 8));
        let usable = |pattern: &&Pattern| {
            classes[pattern.class].bins > 0 && pattern.held.iter().all(|&(kind, n)| n <= kinds[kind].left)
        };
        let usable: Vec<&Pattern> = self.pool.iter().filter(usable).collect();
        let mut known = vec![0_usize; kinds.len()];
        for pattern in &usable {
            for &(kind, _) in &pattern.held {
                known[kind] += 1;
            }
        }
        let there = (0..kinds.len()).filter(|&kind| kinds[kind].left > 0 && known[kind] > 0);
        let Some(fewest) = there.min_by_key(|&kind| (known[kind], kind)) else { return Vec::new() };
        let times = |pattern: &Pattern| {
            used.iter().find(|(other, _)| other == pattern).map_or(0.0, |&(_, times)| times)
        };
        let weight = |pattern: &Pattern| -> u64 {
            let held = pattern.held.iter().map(|&(kind, n)| kinds[kind].weight * count(n));
            classes[pattern.class].capacity.saturating_sub(held.sum())
        };
        let holding =
            usable.into_iter().filter(|pattern| pattern.held.iter().any(|&(kind, _)| kind == fewest));
        let mut ways: Vec<(f64, u64, Pattern)> =
            holding.map(|pattern| (times(pattern), weight(pattern), pattern.clone())).collect();
        ways.sort_by(|a, b| b.0.total_cmp(&a.0).then_with(|| (a.1, &a.2.held).cmp(&(b.1, &b.2.held))));
        ways.into_iter().map(|(.., pattern)| pattern).collect()
    }

    fn rest(&mut self, kinds: &[Kind], classes: &[Class], done: &mut Vec<Pattern>) -> Rest {
        let items: usize = kinds.iter().map(|kind| kind.left).sum();
        if items == 0 {
            return Rest::Packed;
        }
        if items <= FEW
            && let Some(fits) = self.few(kinds, classes, done)
        {
            return if fits { Rest::Packed } else { Rest::Dead };
        }
        match self.solve(kinds, classes) {
            Solved::Held(used) => Rest::Held(used),
            Solved::Never | Solved::Unproved | Solved::RanOut => Rest::Dead,
        }
    }

    /// A few items into bins of one class, exactly; none where there are several classes, or steps ran out.
    fn few(&mut self, kinds: &[Kind], classes: &[Class], done: &mut Vec<Pattern>) -> Option<bool> {
        let mut open = classes.iter().enumerate().filter(|(_, class)| class.bins > 0);
        let Some((number, class)) = open.next() else { return Some(false) };
        if open.next().is_some() {
            return None;
        }
        let items: Vec<usize> =
            (0..kinds.len()).flat_map(|kind| std::iter::repeat_n(kind, kinds[kind].left)).collect();
        let weights: Vec<u64> = items.iter().map(|&kind| kinds[kind].weight).collect();
        let end = (self.budget.progress().done + 20_000).min(self.end);
        match complete(&weights, class.bins, class.capacity, class.terminals, self.budget, end) {
            Fit::Fits(at) => {
                for bin in 0..class.bins {
                    let held: Vec<usize> =
                        (0..items.len()).filter(|&n| at[n] == bin).map(|n| items[n]).collect();
                    let mut pattern = Pattern { class: number, held: Vec::new() };
                    for kind in held {
                        match pattern.held.last_mut() {
                            Some((last, n)) if *last == kind => *n += 1,
                            _ => pattern.held.push((kind, 1)),
                        }
                    }
                    done.push(pattern);
                }
                Some(true)
            }
            Fit::Never => Some(false),
            Fit::Unknown => None,
        }
    }
}

/// Takes what a pattern holds, and the bin; leaves all as it is where something is missing.
fn take(kinds: &mut [Kind], classes: &mut [Class], pattern: &Pattern) -> bool {
    let enough = pattern.held.iter().all(|&(kind, n)| kinds[kind].left >= n);
    if !enough || classes[pattern.class].bins == 0 || pattern.held.is_empty() {
        return false;
    }
    for &(kind, n) in &pattern.held {
        kinds[kind].left -= n;
    }
    classes[pattern.class].bins -= 1;
    true
}
