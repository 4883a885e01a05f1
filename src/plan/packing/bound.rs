//! Bounds: what no packing can beat.

/// The fewest bins of one capacity that can hold the weights, by bounds alone.
///
/// The largest of: all weights over the capacity, all wires over the terminals, and the dual feasible functions of
/// Fekete and Schepers, "New classes of fast lower bounds for bin packing problems", Mathematical Programming 91
/// (2001), here u(k) and U(ε), the latter being bound L2 of Martello and Toth, "Knapsack Problems" (1990), 8.3.
/// A dual feasible function f gives every set of weights that fits one bin a sum of at most f(capacity).
pub fn fewest_bins(weights: &[u64], capacity: u64, wires: u64, terminals: u64) -> usize {
    if weights.is_empty() {
        return 0;
    }
    if capacity == 0 || terminals == 0 {
        return usize::MAX;
    }
    let mut sorted = weights.to_vec();
    sorted.sort_unstable_by(|a, b| b.cmp(a));
    let by_wires = wires.div_ceil(terminals);
    let most = by_wires.max(l2(&sorted, capacity)).max(steps(&sorted, capacity));
    usize::try_from(most).unwrap_or(usize::MAX)
}

/// U(ε) for every ε that matters; the weights fall.
pub(super) fn l2(sorted: &[u64], capacity: u64) -> u64 {
    let total: u64 = sorted.iter().sum();
    let mut best = total.div_ceil(capacity);
    // Weights over half stand alone; beside a weight over capacity - ε nothing of ε or more fits.
    let halves = sorted.partition_point(|&w| 2 * w > capacity);
    let mut alone = 0;
    let (mut small_end, mut small_sum) = (sorted.len(), sorted[halves..].iter().sum::<u64>());
    let mut candidates: Vec<u64> = sorted[halves..].to_vec();
    candidates.push(0);
    candidates.dedup();
    let large_prefix: Vec<u64> = std::iter::once(0)
        .chain(sorted[..halves].iter().scan(0, |sum, &w| {
            *sum += w;
            Some(*sum)
        }))
        .collect();
    // ε rises as the candidates are taken from the end.
    for &epsilon in candidates.iter().rev() {
        while small_end > halves && sorted[small_end - 1] < epsilon {
            small_end -= 1;
            small_sum -= sorted[small_end];
        }
        while alone < halves && sorted[alone] > capacity - epsilon {
            alone += 1;
        }
        // As ε rises more stand alone, so that `alone` only grows.
        let pairs = halves - alone;
        let beside = large_prefix[halves] - large_prefix[alone];
        let room = count(pairs) * capacity - beside;
        let more = small_sum.saturating_sub(room).div_ceil(capacity);
        best = best.max(count(halves) + more);
    }
    best
}

/// u(k) for k from 2: a weight counts its whole parts of capacity/(k+1), or k-fold exactly where it is such a part.
fn steps(sorted: &[u64], capacity: u64) -> u64 {
    let mut best = 0;
    for k in 2..=12_u64 {
        let sum: u64 = sorted
            .iter()
            .map(|&w| {
                let parts = (k + 1) * w;
                // In units of capacity / k, each whole unit capacity: exact parts keep their weight.
                if parts.is_multiple_of(capacity) { k * w } else { parts / capacity * capacity }
            })
            .sum();
        best = best.max(sum.div_ceil(k * capacity));
    }
    best
}

/// The lowest highest bin that so many equal bins can have, by bounds alone.
///
/// From below: the mean; the heaviest weight; of the h·m+1 heaviest some bin takes h+1 (Dell'Amico and Martello,
/// "Optimal scheduling of tasks on identical parallel processors", ORSA Journal on Computing 7 (1995)); then any
/// height at which [`fewest_bins`] asks for more bins than there are is ruled out.
pub fn least_height(weights: &[u64], bins: usize, wires: u64, terminals: u64) -> u64 {
    if weights.is_empty() || bins == 0 {
        return 0;
    }
    let mut sorted = weights.to_vec();
    sorted.sort_unstable_by(|a, b| b.cmp(a));
    let total: u64 = sorted.iter().sum();
    let mut low = total.div_ceil(count(bins)).max(sorted[0]);
    for h in 1..=(sorted.len() - 1) / bins {
        let last = h * bins;
        low = low.max(sorted[last - h..=last].iter().sum());
    }
    // The bound on bins need not fall steadily with the height, so it is climbed only while it rules out.
    let mut step = 1;
    let ruled_out = |height: u64| fewest_bins(&sorted, height, wires, terminals) > bins;
    if wires > count(bins) * terminals {
        return low;
    }
    while ruled_out(low) {
        while ruled_out(low + step) && step < low {
            step *= 2;
        }
        let mut ruled = 0;
        // Between a height that is ruled out and one that is not.
        while ruled + 1 < step {
            let middle = ruled.midpoint(step);
            if ruled_out(low + middle) { ruled = middle } else { step = middle }
        }
        low += ruled + 1;
        step = 1;
    }
    low
}

/// A count as a weight.
pub(super) fn count(n: usize) -> u64 {
    u64::try_from(n).unwrap_or(u64::MAX)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn bounds_of_small_sets() {
        // Three halves and a bit: each alone.
        assert_eq!(fewest_bins(&[51, 51, 51], 100, 3, 9), 3);
        // 50, 50 fit; weights just over a third: two to a bin.
        assert_eq!(fewest_bins(&[34, 34, 34, 34, 34], 100, 5, 9), 3);
        assert_eq!(fewest_bins(&[10, 10, 10, 10, 10], 100, 5, 2), 3);
        assert_eq!(least_height(&[7, 7, 7], 2, 3, 9), 14);
        assert_eq!(least_height(&[], 2, 0, 9), 0);
    }
}
