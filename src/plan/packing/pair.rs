//! The best division of what two bins hold, by sums that can be reached.

use super::state::{State, height};

/// Reachable sums by number of wires, one bit each.
#[derive(Debug, Default)]
pub(super) struct Divider {
    words: Vec<u64>,
    layers: usize,
    width: usize,
}

impl Divider {
    /// Divides what two bins hold anew, if that costs less. Says whether it did.
    ///
    /// Sums of subsets are found as for the subset-sum problem (Martello and Toth, "Knapsack Problems" (1990),
    /// chapter 4), one set of sums for each number of wires; the best is then taken apart again from the last item.
    pub(super) fn divide(&mut self, state: &mut State<'_>, a: usize, b: usize) -> bool {
        let ground = state.ground;
        let weight = |item: usize| ground.instance.items[item].weight;
        let wires = |item: usize| u64::from(ground.instance.items[item].wires);
        let mut free: Vec<usize> = Vec::new();
        let (mut base_a, mut base_b, mut wires_a, mut wires_b) = (0, 0, 0, 0);
        for &item in state.held[a].iter().chain(&state.held[b]) {
            match ground.pins[item] {
                Some(pin) if pin == a => (base_a, wires_a) = (base_a + weight(item), wires_a + wires(item)),
                Some(_) => (base_b, wires_b) = (base_b + weight(item), wires_b + wires(item)),
                None if ground.bound_to(item, &state.at, a, b) => {
                    let (base, taken) = if state.at[item] == a {
                        (&mut base_a, &mut wires_a)
                    } else {
                        (&mut base_b, &mut wires_b)
                    };
                    *base += weight(item);
                    *taken += wires(item);
                }
                None => free.push(item),
            }
        }
        free.sort_unstable();
        let total: u64 = free.iter().map(|&item| weight(item)).sum();
        let all_wires: u64 = free.iter().map(|&item| wires(item)).sum();
        let (bin_a, bin_b) = (&ground.bins[a], &ground.bins[b]);
        let most_a = u64::from(bin_a.terminals).saturating_sub(wires_a).min(all_wires);
        let least_a = all_wires.saturating_sub(u64::from(bin_b.terminals).saturating_sub(wires_b));
        if least_a > most_a || free.len() < 2 || total > 200_000 || free.len() > 64 {
            return false;
        }
        let index = |n: u64| usize::try_from(n).unwrap_or(usize::MAX);
        self.reach(&free, index(most_a) + 1, index(total) / 64 + 1, weight, wires);
        let higher = |sum: u64| {
            height(base_a + sum, bin_a.limit, ground.scale).max(height(
                base_b + total - sum,
                bin_b.limit,
                ground.scale,
            ))
        };
        let now = state.height(a).max(state.height(b));
        // The sum at which both would be equally high, and outward from it.
        let all = base_a + base_b + total;
        let even = (all * bin_a.limit / (bin_a.limit + bin_b.limit).max(1)).saturating_sub(base_a).min(total);
        let mut best: Option<(u64, u64, u64)> = None;
        for distance in 0..=total {
            let below = even.checked_sub(distance);
            let above = (even + distance <= total && distance > 0).then_some(even + distance);
            let near = [below, above];
            if near.into_iter().flatten().all(|sum| higher(sum) > best.map_or(now, |(best, _, _)| best)) {
                break;
            }
            for sum in near.into_iter().flatten() {
                let count = (least_a..=most_a).find(|&c| self.has(free.len(), index(c), index(sum)));
                if let Some(count) = count {
                    let found = (higher(sum), sum, count);
                    best = Some(best.map_or(found, |best| best.min(found)));
                }
            }
        }
        let Some((_, mut sum, mut count)) = best else { return false };
        let mut moves = Vec::new();
        for (layer, &item) in free.iter().enumerate().rev() {
            let to = if self.has(layer, index(count), index(sum)) {
                b
            } else {
                sum -= weight(item);
                count -= wires(item);
                a
            };
            if state.at[item] != to {
                moves.push((item, to));
            }
        }
        !moves.is_empty() && state.shift_if_better(&moves)
    }

    fn reach(
        &mut self,
        free: &[usize],
        layers: usize,
        width: usize,
        weight: impl Fn(usize) -> u64,
        wires: impl Fn(usize) -> u64,
    ) {
        (self.layers, self.width) = (layers, width);
        let block = layers * width;
        self.words.clear();
        self.words.resize((free.len() + 1) * block, 0);
        self.words[0] = 1;
        for (nth, &item) in free.iter().enumerate() {
            let (done, next) = self.words.split_at_mut((nth + 1) * block);
            let (from, to) = (&done[nth * block..], &mut next[..block]);
            to.copy_from_slice(from);
            let step = usize::try_from(wires(item)).unwrap_or(usize::MAX);
            let by = usize::try_from(weight(item)).unwrap_or(usize::MAX);
            let (word, bit) = (by / 64, by % 64);
            for layer in step..layers {
                let source = &from[(layer - step) * width..(layer - step + 1) * width];
                let target = &mut to[layer * width..(layer + 1) * width];
                for at in word..width {
                    let mut moved = source[at - word] << bit;
                    if bit > 0 && at > word {
                        moved |= source[at - word - 1] >> (64 - bit);
                    }
                    target[at] |= moved;
                }
            }
        }
    }

    fn has(&self, items: usize, layer: usize, sum: usize) -> bool {
        if layer >= self.layers || sum / 64 >= self.width {
            return false;
        }
        let word = self.words[(items * self.layers + layer) * self.width + sum / 64];
        word >> (sum % 64) & 1 == 1
    }
}
