//! The balance: laws of its search, held against trying everything.

use crate::balance_cases::{Numbers, house, wild};
use studbay::plan::packing::{Budget, Instance, Item, Kind, Packing, Shortage, solve};

/// Steps for instances of a few items.
const FEW: u64 = 300_000;

/// A bin as the instance has it: its supply, limit, target and terminals.
fn bins(instance: &Instance, packing: &Packing) -> Vec<(usize, u64, u64, u64)> {
    packing
        .bins
        .iter()
        .map(|bin| (bin.supply, bin.limit, bin.target, u64::from(bin.terminals)))
        .inspect(|(supply, ..)| assert!(packing.opened[*supply].kind < instance.kinds.len()))
        .collect()
}

/// Whether an assignment keeps every limit.
fn keeps_limits(instance: &Instance, packing: &Packing, at: &[usize]) -> bool {
    let bins = bins(instance, packing);
    let item = |i: usize| &instance.items[i];
    let filled = bins.iter().enumerate().all(|(bin, &(_, limit, target, terminals))| {
        let held: Vec<usize> = (0..at.len()).filter(|&i| at[i] == bin).collect();
        let load: u64 = held.iter().map(|&i| item(i).weight).sum();
        let wires: u64 = held.iter().map(|&i| u64::from(item(i).wires)).sum();
        load <= if held.len() > 1 { target } else { limit } && wires <= terminals
    });
    let apart = instance.apart.iter().all(|group| {
        group.iter().enumerate().all(|(nth, &a)| group[..nth].iter().all(|&b| a == b || at[a] != at[b]))
    });
    let share = instance
        .share
        .iter()
        .all(|group| group.windows(2).all(|pair| bins[at[pair[0]]].0 == bins[at[pair[1]]].0));
    let pinned = (0..at.len()).all(|i| !item(i).pinned || packing.homes[at[i]] == item(i).home);
    filled && apart && share && pinned
}

fn unspread(instance: &Instance, packing: &Packing, at: &[usize]) -> usize {
    let supply = |i: usize| packing.bins[at[i]].supply;
    instance.spread.iter().filter(|group| group.iter().all(|&i| supply(i) == supply(group[0]))).count()
}

fn highest(packing: &Packing, instance: &Instance, at: &[usize]) -> u64 {
    let height = |bin: usize| {
        let load: u64 = (0..at.len()).filter(|&i| at[i] == bin).map(|i| instance.items[i].weight).sum();
        (load * packing.scale).div_ceil(packing.bins[bin].limit)
    };
    (0..packing.bins.len()).map(height).max().unwrap_or(0)
}

fn moves(instance: &Instance, packing: &Packing, at: &[usize]) -> u32 {
    let stays = |i: usize| instance.items[i].home.is_some() && packing.homes[at[i]] == instance.items[i].home;
    (0..at.len()).filter(|&i| !stays(i)).map(|i| instance.items[i].landed).sum()
}

/// Checks that a packing is what it says it is.
fn verify(instance: &Instance, packing: &Packing) {
    assert!(packing.supplies_bound <= packing.opened.len());
    assert!(packing.unspread_bound <= packing.unspread);
    assert!(packing.height_bound <= packing.height);
    assert!(!packing.curve.is_empty());
    for point in &packing.curve {
        assert_eq!(point.at.len(), instance.items.len(), "an item is lost");
        assert!(keeps_limits(instance, packing, &point.at), "{instance:?} {point:?}");
        assert_eq!(unspread(instance, packing, &point.at), packing.unspread);
        assert_eq!(highest(packing, instance, &point.at), point.height);
        assert_eq!(moves(instance, packing, &point.at), point.moves);
        assert!(point.bound <= point.height);
        assert!(packing.height_bound <= point.bound);
    }
    for pair in packing.curve.windows(2) {
        assert!(pair[0].moves < pair[1].moves && pair[0].height > pair[1].height);
    }
    assert_eq!(packing.curve.last().map(|point| point.height), Some(packing.height));
}

/// A few items on two or three supplies of one or two outputs, with every rule there is.
fn small(seed: u64) -> Instance {
    let mut numbers = Numbers(seed);
    let mixed = numbers.pick(3) == 0;
    let mut kinds =
        vec![Kind { outputs: 2, limit: 100, target: 80, terminals: 3, price: 5, slots: 2, more: 0 }];
    if mixed {
        kinds.push(Kind { outputs: 1, limit: 60, target: 50, terminals: 2, price: 2, slots: 1, more: 0 });
    }
    let supplies: Vec<usize> = (0..2 + numbers.pick(2)).map(|_| numbers.pick(kinds.len())).collect();
    let all: usize = supplies.iter().map(|&kind| kinds[kind].outputs).sum();
    let n = 4 + numbers.pick(3);
    let items: Vec<Item> = (0..n)
        .map(|_| {
            let home = (numbers.pick(4) > 0).then(|| numbers.pick(all));
            let landed = u32::from(home.is_some() && numbers.pick(2) == 0);
            Item { weight: numbers.within(5, 55), wires: 1, home, landed, pinned: false }
        })
        .collect();
    let mut instance = Instance { items, kinds, supplies, ..Instance::default() };
    if numbers.pick(3) == 0 {
        instance.items[0].pinned = instance.items[0].home.is_some();
    }
    let mut group = |most: usize| {
        let mut group: Vec<usize> = (0..n).filter(|_| numbers.pick(3) == 0).take(most).collect();
        group.dedup();
        group
    };
    for (list, most) in [(&mut instance.apart, 3), (&mut instance.share, 2), (&mut instance.spread, 3)] {
        let members = group(most);
        if members.len() > 1 {
            list.push(members);
        }
    }
    instance
}

/// Every assignment of so many items to so many bins.
fn every(items: usize, bins: usize, mut look: impl FnMut(&[usize])) {
    let mut at = vec![0; items];
    loop {
        look(&at);
        let Some(next) = (0..items).find(|&i| at[i] + 1 < bins) else { return };
        at[next] += 1;
        at[..next].fill(0);
    }
}

/// A packing that opens every supply there is, to try assignments on.
fn all_open(instance: &Instance) -> Packing {
    let mut bins = Vec::new();
    let mut opened = Vec::new();
    for (supply, &kind) in instance.supplies.iter().enumerate() {
        let own = &instance.kinds[kind];
        opened.push(studbay::plan::packing::Opened { kind, present: Some(supply) });
        for _ in 0..own.outputs {
            bins.push(studbay::plan::packing::Bin {
                supply,
                limit: own.limit,
                target: own.target,
                terminals: own.terminals,
            });
        }
    }
    let homes = (0..bins.len()).map(Some).collect();
    Packing {
        opened,
        homes,
        supplies_bound: 0,
        unspread: 0,
        unspread_bound: 0,
        height: 0,
        height_bound: 0,
        scale: bins.iter().map(|bin| bin.limit).max().unwrap_or(1),
        bins,
        curve: Vec::new(),
        curve_bounds: Vec::new(),
    }
}

#[test]
fn trying_everything_finds_nothing_better_and_no_bound_is_broken() {
    let (mut solved, mut refused, mut curves) = (0, 0, 0);
    for seed in 0..150 {
        let instance = small(seed);
        let open = all_open(&instance);
        let mut fewest = usize::MAX;
        every(instance.items.len(), open.bins.len(), |at| {
            if keeps_limits(&instance, &open, at) {
                let mut used: Vec<usize> = at.iter().map(|&bin| open.bins[bin].supply).collect();
                used.sort_unstable();
                used.dedup();
                fewest = fewest.min(used.len());
            }
        });
        let packing = match solve(&instance, &mut Budget::new(FEW)) {
            Ok(packing) => packing,
            Err(shortage) => {
                assert_eq!(fewest, usize::MAX, "seed {seed}: {shortage:?}, but {fewest} supplies do");
                refused += 1;
                continue;
            }
        };
        verify(&instance, &packing);
        assert_eq!((packing.opened.len(), packing.supplies_bound), (fewest, fewest), "seed {seed}");
        let mut best = (usize::MAX, u64::MAX);
        let mut by_moves = vec![u64::MAX; packing.curve_bounds.len()];
        let look = |best: &mut (usize, u64), by_moves: &mut Vec<u64>, spread: Option<usize>| {
            every(instance.items.len(), packing.bins.len(), |at| {
                if !keeps_limits(&instance, &packing, at) {
                    return;
                }
                let own = (unspread(&instance, &packing, at), highest(&packing, &instance, at));
                *best = (*best).min(own);
                if spread == Some(own.0) {
                    let moved = moves(&instance, &packing, at) as usize;
                    for least in by_moves.iter_mut().skip(moved) {
                        *least = (*least).min(own.1);
                    }
                }
            });
        };
        look(&mut best, &mut by_moves, None);
        assert_eq!((packing.unspread, packing.height), best, "seed {seed}: {instance:?}");
        let spread = Some(best.0);
        look(&mut best, &mut by_moves, spread);
        for (moved, (&least, &bound)) in by_moves.iter().zip(&packing.curve_bounds).enumerate() {
            assert!(bound <= least, "seed {seed}: with {moved} moves {least} is possible, bound {bound}");
        }
        for point in &packing.curve {
            curves += usize::from(by_moves[point.moves as usize] == point.height);
        }
        solved += 1;
    }
    assert!(
        solved > 60 && refused > 10 && curves > 60,
        "{solved} solved, {refused} refused, {curves} exact points"
    );
}

#[test]
fn houses_are_packed_within_every_limit_and_always_the_same_way() {
    for seed in 0..12 {
        let instance = house(seed, 20 + usize::try_from(seed).unwrap() * 3, 3, true);
        let once = solve(&instance, &mut Budget::new(200_000));
        assert_eq!(once, solve(&instance, &mut Budget::new(200_000)));
        match once {
            Ok(packing) => verify(&instance, &packing),
            Err(shortage) => assert!(matches!(shortage, Shortage::TooFew { .. }), "{shortage:?}"),
        }
    }
}

#[test]
fn houses_of_any_kind_are_packed_within_every_limit() {
    let (mut packed, mut proved) = (0, 0);
    for seed in 0..16 {
        let instance = wild(seed);
        match solve(&instance, &mut Budget::new(50_000)) {
            Ok(packing) => {
                verify(&instance, &packing);
                packed += 1;
                proved += usize::from(packing.opened.len() == packing.supplies_bound);
            }
            Err(Shortage::TooMuchTogether(clan)) => {
                let together: u64 = clan.iter().map(|&item| instance.items[item].weight).sum();
                assert!(together > 4 * 768, "{together}");
            }
            // Too many ties for so few steps: then nothing is said to be proved.
            Err(shortage) => {
                assert!(matches!(shortage, Shortage::TooFew { proved: false, .. }), "{shortage:?}");
            }
        }
    }
    assert!(packed >= 14 && proved >= 11, "{packed} packed, {proved} proved");
}

#[test]
fn a_stopped_search_still_keeps_every_limit() {
    let instance = house(3, 60, 5, false);
    let mut calls = 0;
    let mut stop = |_| {
        calls += 1;
        calls < 2
    };
    let packing = solve(&instance, &mut Budget::new(10_000_000).watched(&mut stop)).unwrap();
    verify(&instance, &packing);
}

#[test]
fn a_run_over_the_target_stands_alone() {
    let kind = Kind { outputs: 2, limit: 100, target: 80, terminals: 4, price: 1, slots: 1, more: 2 };
    let weights = [90, 40, 40, 10];
    let items = weights.iter().map(|&weight| Item { weight, wires: 1, ..Item::default() }).collect();
    let instance = Instance { items, kinds: vec![kind], ..Instance::default() };
    let packing = solve(&instance, &mut Budget::new(FEW)).unwrap();
    verify(&instance, &packing);
    assert_eq!((packing.opened.len(), packing.height), (2, 90));
    let too_heavy =
        instance.items.iter().map(|item| Item { weight: item.weight + 11, ..item.clone() }).collect();
    let refused = solve(&Instance { items: too_heavy, ..instance }, &mut Budget::new(FEW));
    assert_eq!(refused, Err(Shortage::TooHeavy(vec![0])));
}
