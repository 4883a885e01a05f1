//! The most that a bin can hold of what weights are worth.

use super::{Class, Kind};

/// The table of a knapsack over all capacities up to the largest, kept to save making it again.
#[derive(Debug)]
pub(super) struct Knapsack {
    /// The largest capacity, and one.
    width: usize,
    /// Layers of the table: one, or one for each number of items where terminals may run out.
    layers: usize,
    most: Vec<u64>,
    taken: Vec<u64>,
    /// The kind of each item tried, in order.
    tried: Vec<usize>,
}

impl Knapsack {
    /// A table for the kinds; none if filling it takes more work than `most`.
    pub(super) fn new(kinds: &[Kind], classes: &[Class], most: usize) -> Option<Self> {
        let largest = classes.iter().map(|class| class.capacity).max()?;
        let width = usize::try_from(largest).ok()?.checked_add(1)?;
        let terminals = classes.iter().map(|class| class.terminals).min()?;
        // The lightest items: do more of them fit than there are terminals?
        let mut lightest: u64 = 0;
        let mut items = 0;
        for kind in kinds.iter().rev() {
            for _ in 0..kind.left {
                if items <= terminals {
                    lightest = lightest.saturating_add(kind.weight);
                }
                items += 1;
            }
        }
        let binding = items > terminals && lightest <= largest;
        let most_terminals = classes.iter().map(|class| class.terminals).max()?;
        let layers = if binding { most_terminals.min(items) + 1 } else { 1 };
        let work = width.checked_mul(layers)?.checked_mul(items)?;
        (work <= most).then(|| Self {
            width,
            layers,
            most: vec![0; width * layers],
            taken: Vec::new(),
            tried: Vec::new(),
        })
    }

    /// What filling the table takes, in steps of the search.
    pub(super) fn steps(&self, kinds: &[Kind]) -> u64 {
        let items: usize = kinds.iter().map(|kind| kind.left).sum();
        super::count(self.width * self.layers * items / 400 + 1)
    }

    /// Fills the table for these worths.
    pub(super) fn fill(&mut self, kinds: &[Kind], worth: &[u64]) {
        let (width, layers) = (self.width, self.layers);
        self.most.fill(0);
        self.tried.clear();
        self.taken.clear();
        let words = (width * layers).div_ceil(64);
        for (number, kind) in kinds.iter().enumerate() {
            let Ok(weight) = usize::try_from(kind.weight) else { continue };
            if worth[number] == 0 || weight >= width || weight == 0 {
                continue;
            }
            for _ in 0..kind.left.min((width - 1) / weight) {
                self.tried.push(number);
                let base = self.taken.len();
                self.taken.resize(base + words, 0);
                let taken = &mut self.taken[base..];
                for layer in (usize::from(layers > 1)..layers).rev() {
                    let (to, from) = (layer * width, layer.saturating_sub(1) * width);
                    for at in (weight..width).rev() {
                        let sum = self.most[from + at - weight] + worth[number];
                        if sum > self.most[to + at] {
                            self.most[to + at] = sum;
                            taken[(to + at) / 64] |= 1 << ((to + at) % 64);
                        }
                    }
                }
            }
        }
    }

    fn layer(&self, class: &Class) -> usize {
        if self.layers > 1 { class.terminals.min(self.layers - 1) } else { 0 }
    }

    /// The most that a bin of the class can hold.
    pub(super) fn best(&self, class: &Class) -> u64 {
        let capacity = usize::try_from(class.capacity).unwrap_or(0).min(self.width - 1);
        self.most[self.layer(class) * self.width + capacity]
    }

    /// What it holds then.
    pub(super) fn filling(&self, kinds: &[Kind], class: &Class) -> Vec<(usize, usize)> {
        let words = (self.width * self.layers).div_ceil(64);
        let mut layer = self.layer(class);
        let mut at = usize::try_from(class.capacity).unwrap_or(0).min(self.width - 1);
        let mut held: Vec<(usize, usize)> = Vec::new();
        for (nth, &kind) in self.tried.iter().enumerate().rev() {
            let bit = layer * self.width + at;
            if self.taken[nth * words + bit / 64] >> (bit % 64) & 1 == 0 {
                continue;
            }
            at -= usize::try_from(kinds[kind].weight).unwrap_or(0).min(at);
            layer = layer.saturating_sub(1);
            match held.last_mut() {
                Some((last, n)) if *last == kind => *n += 1,
                _ => held.push((kind, 1)),
            }
        }
        held.reverse();
        held
    }
}
