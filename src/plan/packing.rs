//! The search that proposals share: weights into bins, the fewest supplies first, then spread, then evenness, then the
//! fewest wires moved. It knows nothing of houses.
//!
//! Weights are whole tenths of a watt, so that a bound and an answer can meet. What is found is always valid; how good
//! it is, is said by the bound beside it, which no answer can beat. The search stops on a count of steps, never on a
//! clock: the same instance gives the same answer on any machine.

mod bound;
mod budget;
mod complete;
mod curve;
mod even;
mod exhaust;
mod fewest;
mod pair;
mod patterns;
mod recast;
mod repack;
mod state;
mod ties;
mod ways;

pub use bound::{fewest_bins, least_height};
pub use budget::{Budget, Progress};
pub use curve::{Curve, Point, merge};
pub use even::{Even, even};
pub use fewest::{Found, Opened, Shortage, Verdict, fewest, holds};

use std::ops::Range;

/// What is placed: a run, or runs that must stay on one output.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Item {
    /// Its weight in tenths of a watt.
    pub weight: u64,
    /// The terminals it takes.
    pub wires: u32,
    /// The bin it is in today.
    pub home: Option<usize>,
    /// How many wires have to be moved if it leaves its home: the landed ones.
    pub landed: u32,
    /// Whether it stays in its home.
    pub pinned: bool,
}

/// A kind of supply.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Kind {
    /// Its outputs, each a bin.
    pub outputs: usize,
    /// The most weight in a bin.
    pub limit: u64,
    /// The most weight in a bin with more than one item; a single item may reach the limit.
    pub target: u64,
    /// The terminals of a bin.
    pub terminals: u32,
    /// What one costs, in any unit; decides between kinds of which as many are needed.
    pub price: u64,
    /// Slots that one takes; decides after the price.
    pub slots: u32,
    /// How many more of it than are present may be had.
    pub more: usize,
}

/// Items, supplies and what holds between them.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Instance {
    /// The items.
    pub items: Vec<Item>,
    /// The kinds of supply.
    pub kinds: Vec<Kind>,
    /// The kind of each supply that is there; their bins are counted in this order.
    pub supplies: Vec<usize>,
    /// Items of a group are in different bins.
    pub apart: Vec<Vec<usize>>,
    /// Items of a group are on one supply.
    pub share: Vec<Vec<usize>>,
    /// Items of a group should not all be on one supply.
    pub spread: Vec<Vec<usize>>,
    /// Whether as few bins as possible are used, not only as few supplies.
    pub fewest_bins: bool,
}

/// A bin that may be used.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Bin {
    /// The supply it belongs to, by position among those opened.
    pub supply: usize,
    /// The most weight.
    pub limit: u64,
    /// The most weight of several items.
    pub target: u64,
    /// Its terminals.
    pub terminals: u32,
}

impl Instance {
    /// The bins of each supply that is there.
    pub fn bins_of(&self) -> Vec<Range<usize>> {
        let mut next = 0;
        let range = |&kind: &usize| {
            let first = next;
            next += self.kinds[kind].outputs;
            first..next
        };
        self.supplies.iter().map(range).collect()
    }

    /// The sum of all weights.
    pub fn total(&self) -> u64 {
        self.items.iter().map(|item| item.weight).sum()
    }

    /// The same with limits in place of targets.
    #[must_use]
    pub fn at_limits(&self) -> Self {
        let mut all = self.clone();
        for kind in &mut all.kinds {
            kind.target = kind.limit;
        }
        all
    }
}

/// The answer to an instance.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Packing {
    /// The supplies used, in order: the kind of each, and which of those present it is.
    pub opened: Vec<Opened>,
    /// The bins of the supplies used, in their order.
    pub bins: Vec<Bin>,
    /// For each of the bins, the bin among those present that it is.
    pub homes: Vec<Option<usize>>,
    /// No fewer supplies can do.
    pub supplies_bound: usize,
    /// How many groups are on one supply after all.
    pub unspread: usize,
    /// No fewer groups can be.
    pub unspread_bound: usize,
    /// The highest bin in tenths of a watt on the largest limit among the bins.
    pub height: u64,
    /// No lower one is possible with these supplies.
    pub height_bound: u64,
    /// The largest limit among the bins, of which heights are a share.
    pub scale: u64,
    /// The curve from the fewest moves to the lowest height; the bin of each item in each point.
    pub curve: Vec<Point>,
    /// For each number of moves from 0 the height that no packing can beat.
    pub curve_bounds: Vec<u64>,
}

impl Packing {
    /// Whether nothing better exists, the height to within one tenth of a watt.
    pub fn proved(&self) -> bool {
        self.opened.len() <= self.supplies_bound
            && self.unspread <= self.unspread_bound
            && self.height <= self.height_bound + 1
    }
}

/// Solves an instance: fewest supplies, then spread, then evenness, then the curve over moves.
///
/// # Errors
/// [`Shortage`] when no supplies that may be had can hold the items.
pub fn solve(instance: &Instance, budget: &mut Budget<'_>) -> Result<Packing, Shortage> {
    let found = fewest(instance, budget)?;
    let even = even(instance, &found, budget);
    let (curve, curve_bounds) = curve::curve(instance, &found, &even, budget);
    Ok(Packing {
        supplies_bound: found.bound,
        unspread: even.unspread,
        unspread_bound: even.unspread_bound,
        // What was tried for the curve may have come out lower still.
        height: curve.last().map_or(even.height, |point| point.height.min(even.height)),
        height_bound: even.bound,
        scale: state::scale(&found.bins),
        opened: found.opened,
        bins: found.bins,
        homes: found.homes,
        curve,
        curve_bounds,
    })
}
