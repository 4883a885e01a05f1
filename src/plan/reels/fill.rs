//! Plain rules that nearly always find a plan: the search comes after them.

use std::cmp::Reverse;

/// Subsets looked at for one reel.
const MOST_TRIED: u32 = 4_000;

/// The reel of each cut by one of several rules, or none where they all fail.
pub(super) fn quickly(cuts: &[u64], reels: &[u64], apart: &[Vec<usize>]) -> Option<Vec<usize>> {
    let mut order: Vec<usize> = (0..reels.len()).collect();
    order.sort_by_key(|&reel| (reels[reel], reel));
    best_fit(cuts, reels, apart).or_else(|| one_by_one(cuts, reels, apart, &order)).or_else(|| {
        order.reverse();
        one_by_one(cuts, reels, apart, &order)
    })
}

/// The group of each cut, of which no two come from one reel.
fn groups(cuts: usize, apart: &[Vec<usize>]) -> Vec<Vec<usize>> {
    let mut of = vec![Vec::new(); cuts];
    for (at, group) in apart.iter().enumerate() {
        for &cut in group {
            of[cut].push(at);
        }
    }
    of
}

fn falling(cuts: &[u64]) -> Vec<usize> {
    let mut order: Vec<usize> = (0..cuts.len()).collect();
    order.sort_by_key(|&cut| (Reverse(cuts[cut]), cut));
    order
}

/// The longest cut first, each from the reel on which the least would be left.
fn best_fit(cuts: &[u64], reels: &[u64], apart: &[Vec<usize>]) -> Option<Vec<usize>> {
    let groups = groups(cuts.len(), apart);
    let mut left = reels.to_vec();
    let mut taken = vec![vec![false; apart.len()]; reels.len()];
    let mut at = vec![0; cuts.len()];
    for cut in falling(cuts) {
        let free =
            |reel: &usize| left[*reel] >= cuts[cut] && !groups[cut].iter().any(|&group| taken[*reel][group]);
        let reel = (0..reels.len()).filter(free).min_by_key(|&reel| (left[reel], reel))?;
        left[reel] -= cuts[cut];
        for &group in &groups[cut] {
            taken[reel][group] = true;
        }
        at[cut] = reel;
    }
    Some(at)
}

/// One reel after the other: the longest cut that is left and fits, then those with which the least is left over (the
/// minimum bin slack rule: Gupta and Ho, "A new heuristic algorithm for the one-dimensional bin-packing problem",
/// Production Planning & Control 10 (1999)).
pub(super) fn one_by_one(
    cuts: &[u64],
    reels: &[u64],
    apart: &[Vec<usize>],
    order: &[usize],
) -> Option<Vec<usize>> {
    let groups = groups(cuts.len(), apart);
    let mut waiting = falling(cuts);
    let mut at = vec![0; cuts.len()];
    for &reel in order {
        let Some(first) = waiting.iter().position(|&cut| cuts[cut] <= reels[reel]) else { continue };
        let mut filler = Filler {
            cuts,
            groups: &groups,
            waiting: &waiting,
            taken: vec![false; apart.len()],
            chosen: Vec::new(),
            best: Vec::new(),
            least: u64::MAX,
            tries: MOST_TRIED,
        };
        filler.take(first);
        filler.extend(first + 1, reels[reel] - cuts[waiting[first]]);
        let chosen = filler.best;
        for &place in &chosen {
            at[waiting[place]] = reel;
        }
        let mut place = 0;
        waiting.retain(|_| {
            place += 1;
            !chosen.contains(&(place - 1))
        });
    }
    waiting.is_empty().then_some(at)
}

struct Filler<'a> {
    cuts: &'a [u64],
    groups: &'a [Vec<usize>],
    /// Cuts that have no reel yet, the longest first.
    waiting: &'a [usize],
    taken: Vec<bool>,
    chosen: Vec<usize>,
    best: Vec<usize>,
    least: u64,
    tries: u32,
}

impl Filler<'_> {
    fn take(&mut self, place: usize) {
        self.chosen.push(place);
        for &group in &self.groups[self.waiting[place]] {
            self.taken[group] = true;
        }
    }

    fn give_back(&mut self) {
        if let Some(place) = self.chosen.pop() {
            for &group in &self.groups[self.waiting[place]] {
                self.taken[group] = false;
            }
        }
    }

    /// Tries what can be added from a place on, with so much left.
    fn extend(&mut self, from: usize, left: u64) {
        if left < self.least {
            self.least = left;
            self.best.clone_from(&self.chosen);
        }
        let mut before = None;
        for place in from..self.waiting.len() {
            if self.least == 0 || self.tries == 0 {
                return;
            }
            let cut = self.waiting[place];
            let length = self.cuts[cut];
            // A cut as long as the one just tried would give the same again.
            if length > left || before == Some(length) {
                continue;
            }
            if self.groups[cut].iter().any(|&group| self.taken[group]) {
                continue;
            }
            before = Some(length);
            self.tries -= 1;
            self.take(place);
            self.extend(place + 1, left - length);
            self.give_back();
        }
    }
}
