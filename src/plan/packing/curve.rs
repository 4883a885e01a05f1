//! The lowest highest bin for each number of landed wires that are moved.

use super::Instance;
use super::budget::Budget;
use super::even::{Even, improve, rank};
use super::fewest::Found;
use super::pair::Divider;
use super::state::{Cost, Ground, State, height};

/// A point of the curve.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Point {
    /// Landed wires moved.
    pub moves: u32,
    /// The highest bin.
    pub height: u64,
    /// With so many moves no packing's highest bin is lower.
    pub bound: u64,
    /// The bin of each item.
    pub at: Vec<usize>,
}

/// Points from the fewest moves that keep limits, supplies and spread, to the evenest packing.
pub(super) fn curve(
    instance: &Instance,
    found: &Found,
    even: &Even,
    budget: &mut Budget<'_>,
) -> (Vec<Point>, Vec<u64>) {
    let ground = Ground::new(instance, &found.bins, |home| found.place(home));
    let homes: Vec<Option<usize>> =
        instance.items.iter().map(|item| item.home.and_then(|home| found.place(home))).collect();
    let tracer = Tracer { ground: &ground, homes: &homes };
    let mut points: Vec<Point> = Vec::new();
    let mut best = State::new(&ground, even.at.clone(), even.bound);
    tracer.relabel(&mut best);
    let end = budget.share(50);
    tracer.homeward(&mut best, &mut points, budget, end);
    // From today's places upward, one improvement after another, once they keep what comes first.
    let end = budget.share(90);
    tracer.outward(even, &mut points, budget, end);
    points.sort_by_key(|point| (point.moves, point.height));
    let mut kept: Vec<Point> = Vec::new();
    for mut point in points {
        if kept.last().is_none_or(|last| point.height < last.height) {
            point.bound = tracer.bound(even.bound, point.moves).min(point.height);
            kept.push(point);
        }
    }
    let most = kept.last().map_or(0, |point| point.moves);
    let bounds = (0..=most).map(|moves| tracer.bound(even.bound, moves)).collect();
    (kept, bounds)
}

/// Items and where they go.
type Change = Vec<(usize, usize)>;

/// What two packings are compared by.
type Rank = (u64, u64, u64, u64);

struct Tracer<'g> {
    ground: &'g Ground<'g>,
    homes: &'g [Option<usize>],
}

impl<'g> Tracer<'g> {
    fn landed(&self, item: usize) -> u32 {
        // A wire whose supply goes is moved whatever is done.
        self.ground.instance.items[item].landed
    }

    fn moved(&self, state: &State<'_>, item: usize) -> u32 {
        if self.homes[item] == Some(state.at[item]) { 0 } else { self.landed(item) }
    }

    fn moves(&self, state: &State<'_>) -> u32 {
        (0..state.at.len()).map(|item| self.moved(state, item)).sum()
    }

    /// Exchanges what whole bins hold, as long as that brings wires home and costs nothing else.
    fn relabel(&self, state: &mut State<'g>) {
        loop {
            let mut helped = false;
            for a in 0..state.load.len() {
                for b in a + 1..state.load.len() {
                    let over = state.held[a].iter().map(|&item| (item, b));
                    let swap: Vec<(usize, usize)> =
                        over.chain(state.held[b].iter().map(|&item| (item, a))).collect();
                    helped |= self.try_homeward(state, &swap);
                }
            }
            if !helped {
                return;
            }
        }
    }

    /// Makes a change if it brings wires home without costing more.
    fn try_homeward(&self, state: &mut State<'g>, change: &[(usize, usize)]) -> bool {
        if change.iter().any(|&(item, to)| self.ground.pins[item].is_some_and(|pin| pin != to)) {
            return false;
        }
        let away = |item: usize, at: usize| {
            // Not landed counts a little too: what need not move stays.
            if self.homes[item] == Some(at) { 0 } else { u64::from(self.landed(item)) * 1000 + 1 }
        };
        let before: u64 = change.iter().map(|&(item, _)| away(item, state.at[item])).sum();
        let after: u64 = change.iter().map(|&(item, to)| away(item, to)).sum();
        if after >= before {
            return false;
        }
        let back: Vec<(usize, usize)> = change.iter().map(|&(item, _)| (item, state.at[item])).collect();
        let (cost, highest) = (state.cost, state.highest());
        state.shift(change);
        if key(state.cost) <= key(cost) && state.highest() <= highest {
            return true;
        }
        state.shift(&back);
        state.cost = cost;
        false
    }

    /// From the evenest packing back home: first what costs nothing, then what raises the highest bin least.
    fn homeward(&self, state: &mut State<'g>, points: &mut Vec<Point>, budget: &mut Budget<'_>, end: u64) {
        loop {
            while self.free_way_home(state, budget, end) {}
            self.note(state, points);
            let mut best: Option<(Rank, Change)> = None;
            for item in 0..state.at.len() {
                let Some(home) = self.homes[item] else { continue };
                if self.moved(state, item) == 0 {
                    continue;
                }
                let from = state.at[item];
                let mut changes = vec![vec![(item, home)]];
                changes.extend(state.held[home].iter().map(|&other| vec![(item, home), (other, from)]));
                for change in changes {
                    if !budget.within(end, 8) {
                        return;
                    }
                    let saved: i64 = change.iter().map(|&(item, to)| self.saved(state, item, to)).sum();
                    let Some(found) = (saved > 0).then(|| self.tried(state, &change)).flatten() else {
                        continue;
                    };
                    if (found.0, found.1) <= key(state.cost)
                        && best.as_ref().is_none_or(|(rank, _)| found < *rank)
                    {
                        best = Some((found, change));
                    }
                }
            }
            let Some((_, change)) = best else { return };
            state.shift(&change);
        }
    }

    /// Brings home what can come home without raising anything; says whether something did.
    fn free_way_home(&self, state: &mut State<'g>, budget: &mut Budget<'_>, end: u64) -> bool {
        let mut helped = false;
        for item in 0..state.at.len() {
            let Some(home) = self.homes[item] else { continue };
            if home == state.at[item] || !budget.within(end, 4) {
                continue;
            }
            helped |= self.try_homeward(state, &[(item, home)]);
            let from = state.at[item];
            for other in state.held[home].clone() {
                if state.at[item] == home {
                    break;
                }
                helped |= self.try_homeward(state, &[(item, home), (other, from)]);
            }
        }
        helped
    }

    /// Wires that need not be moved any more if the item goes there.
    fn saved(&self, state: &State<'_>, item: usize, to: usize) -> i64 {
        let after = if self.homes[item] == Some(to) { 0 } else { self.landed(item) };
        i64::from(self.moved(state, item)) - i64::from(after)
    }

    /// How the packing would stand after a change; none if something pinned is in it.
    fn tried(&self, state: &mut State<'g>, change: &[(usize, usize)]) -> Option<Rank> {
        if change.iter().any(|&(item, to)| self.ground.pins[item].is_some_and(|pin| pin != to)) {
            return None;
        }
        let back: Change = change.iter().map(|&(item, _)| (item, state.at[item])).collect();
        let before = state.cost;
        state.shift(change);
        let found = rank(state);
        state.shift(&back);
        state.cost = before;
        Some(found)
    }

    /// From today's places, if they keep what comes first: each step the best move or exchange.
    fn outward(&self, even: &Even, points: &mut Vec<Point>, budget: &mut Budget<'_>, end: u64) {
        let landed = |item: usize| self.homes[item].is_some() && self.landed(item) > 0;
        let start: Vec<usize> = (0..self.homes.len())
            .map(|item| if landed(item) { self.homes[item].unwrap_or(0) } else { even.at[item] })
            .collect();
        let mut state = State::new(self.ground, start, even.bound);
        self.polish_free(&mut state, budget, end);
        for _ in 0..state.at.len() {
            if state.cost.broken == 0 && usize::try_from(state.cost.unspread) == Ok(even.unspread) {
                self.note(&state, points);
                if state.highest() <= even.height {
                    return;
                }
            }
            if !self.step(&mut state, budget, end) {
                return;
            }
            self.polish_free(&mut state, budget, end);
        }
    }

    /// The move or exchange that helps the most for each landed wire it moves.
    fn step(&self, state: &mut State<'g>, budget: &mut Budget<'_>, end: u64) -> bool {
        let highest = (0..state.load.len()).max_by_key(|&bin| (state.height(bin), bin)).unwrap_or(0);
        let mut sources: Vec<usize> = state.held[highest].clone();
        if state.cost.broken > 0 || state.cost.unspread > 0 {
            sources = (0..state.at.len()).collect();
        }
        let mut best: Option<(Rank, Change)> = None;
        let before = rank(state);
        for item in sources {
            if self.ground.pins[item].is_some() {
                continue;
            }
            let from = state.at[item];
            let moves = (0..state.load.len()).filter(|&bin| bin != from).map(|bin| vec![(item, bin)]);
            let exchanges = (0..state.at.len())
                .filter(|&other| state.at[other] != from && self.ground.pins[other].is_none())
                .map(|other| vec![(item, state.at[other]), (other, from)]);
            for change in moves.chain(exchanges).collect::<Vec<_>>() {
                if !budget.within(end, 6) {
                    return false;
                }
                let Some(found) = self.tried(state, &change) else { continue };
                if found < before && best.as_ref().is_none_or(|(rank, _)| found < *rank) {
                    best = Some((found, change));
                }
            }
        }
        let Some((_, change)) = best else { return false };
        state.shift(&change);
        true
    }

    /// Moves what costs no wire, where that helps.
    fn polish_free(&self, state: &mut State<'g>, budget: &mut Budget<'_>, end: u64) {
        let free: Vec<usize> = (0..state.at.len())
            .filter(|&item| self.landed(item) == 0 && self.ground.pins[item].is_none())
            .collect();
        if free.is_empty() {
            return;
        }
        if free.len() == state.at.len() {
            improve(state, &mut Divider::default(), budget, end);
            return;
        }
        let mut helped = true;
        while helped {
            helped = false;
            for (nth, &item) in free.iter().enumerate() {
                if !budget.within(end, 8) {
                    return;
                }
                for bin in 0..state.load.len() {
                    helped |= bin != state.at[item] && state.shift_if_better(&[(item, bin)]);
                }
                for &other in &free[nth + 1..] {
                    let (from, to) = (state.at[item], state.at[other]);
                    helped |= from != to && state.shift_if_better(&[(item, to), (other, from)]);
                }
            }
        }
    }

    fn note(&self, state: &State<'_>, points: &mut Vec<Point>) {
        if state.cost.broken == 0 {
            points.push(Point {
                moves: self.moves(state),
                height: state.highest(),
                bound: 0,
                at: state.at.clone(),
            });
        }
    }

    /// With so many moves no packing is lower: a bin that is too high must lose wires, and the heaviest go first.
    fn bound(&self, low: u64, moves: u32) -> u64 {
        let mut at_home: Vec<Vec<u64>> = vec![Vec::new(); self.ground.bins.len()];
        for (item, home) in self.homes.iter().enumerate() {
            let held = &self.ground.instance.items[item];
            if let Some(home) = *home
                && (held.landed > 0 || held.pinned)
            {
                at_home[home].push(held.weight);
            }
        }
        for weights in &mut at_home {
            weights.sort_unstable_by(|a, b| b.cmp(a));
        }
        // Wires of supplies that are not used are moved in any case.
        let gone = (0..self.homes.len()).filter(|&item| self.homes[item].is_none());
        let gone: u64 = gone.map(|item| u64::from(self.landed(item))).sum();
        let needs = |most: u64| -> u64 {
            let lost = |(bin, weights): (usize, &Vec<u64>)| {
                let mut load: u64 = weights.iter().sum();
                let mut lost = 0;
                for weight in weights {
                    if height(load, self.ground.bins[bin].limit, self.ground.scale) <= most {
                        break;
                    }
                    load -= weight;
                    lost += 1;
                }
                lost
            };
            gone + at_home.iter().enumerate().map(lost).sum::<u64>()
        };
        let highest = |(bin, weights): (usize, &Vec<u64>)| {
            height(weights.iter().sum(), self.ground.bins[bin].limit, self.ground.scale)
        };
        // Whatever stays at home, none is below what no packing can beat.
        let mut high = at_home.iter().enumerate().map(highest).max().unwrap_or(0).max(low);
        if needs(low) <= u64::from(moves) {
            return low;
        }
        let mut low = low;
        while low + 1 < high {
            let middle = low.midpoint(high);
            if needs(middle) <= u64::from(moves) { high = middle } else { low = middle }
        }
        high
    }
}

const fn key(cost: Cost) -> (u64, u64) {
    (cost.broken, cost.unspread)
}

/// The curve of one packing, in shares of a scale that all have in common.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Curve {
    /// Moves and the height they reach; moves rise, heights fall.
    pub points: Vec<(u32, f64)>,
    /// For each number of moves from 0 the height that none can beat; those beyond count as the last.
    pub bounds: Vec<f64>,
}

/// Joins the curves of packings that are independent of each other: for each number of moves in all, the highest of
/// their heights when the moves go where they help most, and the bound on it.
pub fn merge(curves: &[Curve]) -> Vec<(u32, f64, f64)> {
    let mut heights: Vec<f64> = curves.iter().flat_map(|curve| &curve.points).map(|point| point.1).collect();
    let mut bounds: Vec<f64> = curves.iter().flat_map(|curve| curve.bounds.iter().copied()).collect();
    for levels in [&mut heights, &mut bounds] {
        levels.sort_by(|a, b| b.total_cmp(a));
        levels.dedup();
    }
    let reach = |level: f64| -> Option<u32> {
        let moves = |curve: &Curve| curve.points.iter().find(|point| point.1 <= level).map(|point| point.0);
        curves.iter().map(moves).sum()
    };
    let least = |level: f64| -> Option<u32> {
        let moves = |curve: &Curve| {
            let first = curve.bounds.iter().position(|&bound| bound <= level);
            first.and_then(|moves| u32::try_from(moves).ok())
        };
        curves.iter().map(moves).sum()
    };
    let mut joined: Vec<(u32, f64, f64)> = Vec::new();
    for &level in &heights {
        let Some(moves) = reach(level) else { continue };
        match joined.last_mut() {
            Some(newest) if newest.0 == moves => newest.1 = level,
            _ => joined.push((moves, level, 0.0)),
        }
    }
    for point in &mut joined {
        let allowed = bounds.iter().filter(|&&level| least(level).is_some_and(|moves| moves <= point.0));
        point.2 = allowed.copied().fold(point.1, f64::min);
    }
    joined
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn moves_go_where_they_help_most() {
        let one = Curve { points: vec![(0, 90.0), (2, 70.0)], bounds: vec![90.0, 75.0, 70.0] };
        let two = Curve { points: vec![(1, 80.0)], bounds: vec![60.0] };
        let joined = merge(&[one, two]);
        assert_eq!(joined, [(1, 90.0, 75.0), (3, 80.0, 70.0)]);
    }
}
