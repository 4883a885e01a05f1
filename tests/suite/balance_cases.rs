//! Instances for the balance by published rules, and houses made up at random, the same on every machine.

use studbay::plan::packing::{Instance, Item, Kind};

/// What an instance is a sample of.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum Family {
    House,
    Uniform,
    Triplet,
    Machines,
    HardBand,
}

/// An instance with its name.
#[derive(Debug, Clone)]
pub(crate) struct Case {
    pub(crate) id: String,
    pub(crate) family: Family,
    pub(crate) instance: Instance,
}

/// Numbers that are the same everywhere (splitmix64: Steele, Lea, Flood, OOPSLA 2014).
#[derive(Debug)]
pub(crate) struct Numbers(pub(crate) u64);

impl Numbers {
    pub(crate) fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        z ^ (z >> 31)
    }

    /// From `least` to `most`, both included.
    pub(crate) fn within(&mut self, least: u64, most: u64) -> u64 {
        least + self.next() % (most - least + 1)
    }

    pub(crate) fn pick(&mut self, n: usize) -> usize {
        usize::try_from(self.within(0, n as u64 - 1)).unwrap()
    }
}

fn items(weights: &[u64]) -> Vec<Item> {
    weights.iter().map(|&weight| Item { weight, wires: 1, ..Item::default() }).collect()
}

/// One-dimensional bin packing: each bin is a supply of one output.
fn bins(weights: &[u64], capacity: u64) -> Instance {
    let most = weights.len();
    let kind =
        Kind { outputs: 1, limit: capacity, target: capacity, terminals: 99, price: 1, slots: 1, more: most };
    Instance { items: items(weights), kinds: vec![kind], ..Instance::default() }
}

/// Identical machines: one supply with as many outputs, each able to hold everything.
fn machines(weights: &[u64], machines: usize) -> Instance {
    let all = weights.iter().sum();
    let kind =
        Kind { outputs: machines, limit: all, target: all, terminals: 999, price: 1, slots: 1, more: 1 };
    Instance { items: items(weights), kinds: vec![kind], ..Instance::default() }
}

/// A house: supplies of four outputs of 96 W to 80 %, some runs landed, pinned, kept apart or on one supply.
pub(crate) fn house(seed: u64, runs: usize, supplies: usize, ties: bool) -> Instance {
    let mut numbers = Numbers(seed);
    // The mean that fills the outputs to about two thirds of their target; runs from a third to five thirds of it.
    let mean = supplies as u64 * 4 * 768 * 2 / 3 / runs as u64;
    let least = mean / 3;
    let mut items: Vec<Item> = (0..runs)
        .map(|_| Item {
            weight: numbers.within(least.max(1), (mean * 5 / 3).min(760)),
            wires: 1,
            ..Item::default()
        })
        .collect();
    let kind = Kind { outputs: 4, limit: 960, target: 768, terminals: 8, price: 26800, slots: 2, more: 2 };
    let mut instance = Instance { kinds: vec![kind], supplies: vec![0; supplies], ..Instance::default() };
    if ties {
        for item in &mut items {
            item.home = Some(numbers.pick(supplies * 4));
            item.landed = u32::try_from(numbers.within(0, 1)).unwrap();
        }
        let mut pinned_on = vec![false; supplies * 4];
        for item in items.iter_mut().take(runs / 10) {
            let home = item.home.unwrap();
            item.pinned = !std::mem::replace(&mut pinned_on[home], true);
        }
        for _ in 0..runs / 12 {
            let (a, b) = (numbers.pick(runs), numbers.pick(runs));
            if a != b && !items[a].pinned && !items[b].pinned {
                instance.apart.push(vec![a, b]);
            }
            let (a, b) = (numbers.pick(runs), numbers.pick(runs));
            if a != b && !items[a].pinned && !items[b].pinned {
                instance.share.push(vec![a, b]);
            }
        }
        let mut next = 0;
        while next + 3 < runs {
            let size = numbers.pick(3) + 2;
            instance.spread.push((next..(next + size).min(runs)).collect());
            next += size;
        }
    }
    instance.items = items;
    instance
}

/// A house of 50 to 200 runs of any kind: from two runs on an output to seven, light or heavy ones, few ties or many,
/// wires landed or not; in every third one the supplies are filled to within a thousandth.
pub(crate) fn wild(seed: u64) -> Instance {
    let mut numbers = Numbers(seed.wrapping_mul(0x2545_F491_4F6C_DD1D));
    let runs = numbers.pick(151) + 50;
    // Runs on a full output, in tenths.
    let each = numbers.within(22, 70);
    let mean = 7680 / each;
    let (least, most) = match numbers.pick(3) {
        0 => (mean / 3, (mean * 5 / 3).min(768)),
        1 => (mean * 2 / 3, (mean * 4 / 3).min(768)),
        // Two sorts, as bedrooms and halls.
        _ => (mean / 5, (mean * 6 / 5).min(768)),
    };
    let mut weights: Vec<u64> = (0..runs).map(|_| numbers.within(least.max(1), most)).collect();
    if seed.is_multiple_of(3) {
        fill_up(&mut weights, 4 * 768, &mut numbers);
    }
    let supplies = usize::try_from(weights.iter().sum::<u64>() / (4 * 768)).unwrap() + 1 + numbers.pick(3);
    let outputs = supplies * 4;
    let kind = Kind { outputs: 4, limit: 960, target: 768, terminals: 8, price: 26800, slots: 2, more: 4 };
    let mut instance = Instance { kinds: vec![kind], supplies: vec![0; supplies], ..Instance::default() };
    let landed = numbers.pick(3);
    let mut items: Vec<Item> =
        weights.iter().map(|&weight| Item { weight, wires: 1, ..Item::default() }).collect();
    if landed > 0 {
        for item in &mut items {
            item.home = Some(numbers.pick(outputs));
            item.landed = u32::try_from(numbers.within(0, 1)).unwrap() * u32::try_from(landed).unwrap();
        }
    }
    let mut pinned = vec![(0, 0); outputs];
    let pins = [0, 5, 10, 20][numbers.pick(4)];
    for item in items.iter_mut().take(runs * pins / 100) {
        let Some(home) = item.home else { break };
        let (weight, wires) = &mut pinned[home];
        if *weight + item.weight <= 768 && *wires < 8 {
            (*weight, *wires) = (*weight + item.weight, *wires + 1);
            item.pinned = true;
        }
    }
    let ties = [0, 24, 12, 6][numbers.pick(4)];
    for _ in 0..runs.checked_div(ties).unwrap_or(0) {
        let (a, b) = (numbers.pick(runs), numbers.pick(runs));
        if a != b && !items[a].pinned && !items[b].pinned {
            instance.apart.push(vec![a, b]);
        }
        let group: Vec<usize> = (0..2 + numbers.pick(2)).map(|_| numbers.pick(runs)).collect();
        let twice = (1..group.len()).any(|at| group[..at].contains(&group[at]));
        if !twice && group.iter().all(|&item| !items[item].pinned) {
            instance.share.push(group);
        }
    }
    if numbers.pick(4) > 0 {
        let mut next = 0;
        while next + 3 < runs {
            let size = numbers.pick(3) + 2;
            instance.spread.push((next..(next + size).min(runs)).collect());
            next += size;
        }
    }
    instance.items = items;
    instance
}

/// Makes the weights fill a whole number of supplies but for a thousandth.
fn fill_up(weights: &mut [u64], supply: u64, numbers: &mut Numbers) {
    let total: u64 = weights.iter().sum();
    let aim = total.div_ceil(supply) * supply * 999 / 1000;
    let mut short = aim.saturating_sub(total);
    while short > 0 {
        let at = numbers.pick(weights.len());
        let more = numbers.within(1, 20).min(short).min(768 - weights[at]);
        weights[at] += more;
        short -= more;
    }
}

/// Falkenauer, "A hybrid grouping genetic algorithm for bin packing", Journal of Heuristics 2 (1996): three weights
/// that fill a bin of 1000 exactly, the first from 380 to 490, the second from 250 to half of what is left.
fn triplets(seed: u64, bins_wanted: usize) -> Instance {
    let mut numbers = Numbers(seed);
    let mut weights = Vec::new();
    for _ in 0..bins_wanted {
        let first = numbers.within(380, 490);
        let second = numbers.within(250, (1000 - first) / 2);
        weights.extend([first, second, 1000 - first - second]);
    }
    bins(&weights, 1000)
}

fn drawn(seed: u64, n: usize, least: u64, most: u64) -> Vec<u64> {
    let mut numbers = Numbers(seed);
    (0..n).map(|_| numbers.within(least, most)).collect()
}

/// Every instance that is compared.
pub(crate) fn cases() -> Vec<Case> {
    let mut all = Vec::new();
    let mut add = |family: Family, id: String, instance| all.push(Case { id, family, instance });
    for (nth, (runs, supplies)) in [
        (6, 1),
        (7, 1),
        (8, 1),
        (9, 1),
        (10, 1),
        (10, 2),
        (11, 2),
        (12, 2),
        (14, 2),
        (16, 2),
        (20, 2),
        (30, 3),
        (40, 4),
        (80, 5),
        (13, 2),
        (15, 2),
        (18, 3),
    ]
    .iter()
    .enumerate()
    {
        let seed = 100 + nth as u64;
        add(Family::House, format!("house-{runs}-{supplies}"), house(seed, *runs, *supplies, false));
        add(Family::House, format!("house-{runs}-{supplies}-ties"), house(seed + 50, *runs, *supplies, true));
    }
    for (nth, n) in [16, 18, 20, 22, 24, 26, 30, 40, 60, 120, 14, 28].into_iter().enumerate() {
        // Falkenauer 1996: whole sizes uniform on 20 to 100, bins of 150.
        add(Family::Uniform, format!("uniform-{n}-{nth}"), bins(&drawn(300 + nth as u64, n, 20, 100), 150));
    }
    for (nth, bins) in [4, 5, 6, 7, 8, 10, 20, 40, 3].iter().enumerate() {
        add(Family::Triplet, format!("triplet-{}", bins * 3), triplets(400 + nth as u64, *bins));
    }
    for (nth, (n, m)) in [
        (20, 4),
        (24, 4),
        (25, 5),
        (30, 5),
        (30, 6),
        (36, 6),
        (40, 8),
        (40, 10),
        (50, 10),
        (60, 10),
        (50, 8),
        (45, 9),
    ]
    .iter()
    .enumerate()
    {
        let weights = drawn(500 + nth as u64, *n, 1, 100);
        add(Family::Machines, format!("machines-{n}-{m}"), machines(&weights, *m));
    }
    for (nth, (n, m)) in [
        (9, 4),
        (10, 4),
        (11, 5),
        (13, 5),
        (14, 6),
        (16, 6),
        (17, 7),
        (18, 8),
        (20, 8),
        (22, 8),
        (23, 10),
        (25, 10),
        (27, 10),
        (28, 12),
        (30, 12),
        (33, 12),
    ]
    .iter()
    .enumerate()
    {
        let weights = drawn(600 + nth as u64, *n, 1, 100);
        add(Family::HardBand, format!("hard-{n}-{m}"), machines(&weights, *m));
    }
    all
}
