//! Which rule stands in the way: what does not fit is tried again with one rule less.

use crate::plan::packing::{Budget, Instance, Shortage, fewest};

/// Steps for each trial.
const STEPS: u64 = 100_000;
/// Groups that are tried one by one; of more only the whole kind of rule is named.
const MOST_GROUPS: usize = 24;

/// A rule without which everything fits.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) enum Rule {
    /// These items are on one supply.
    Share(Vec<usize>),
    /// These items are on different outputs.
    Apart(Vec<usize>),
    /// These items stay where they are pinned.
    Pins(Vec<usize>),
}

/// The rules of which each alone stands in the way; none where it takes more than one rule less, or more supplies.
pub(super) fn in_the_way(instance: &Instance) -> Vec<Rule> {
    let limits = instance.at_limits();
    let mut found = Vec::new();
    let groups =
        |all: &[Vec<usize>], rule: fn(Vec<usize>) -> Rule, without: &dyn Fn(Option<usize>) -> Instance| {
            if all.is_empty() || !fits(&without(None)) {
                return Vec::new();
            }
            let each = (0..all.len()).take(if all.len() > MOST_GROUPS { 0 } else { all.len() });
            let single: Vec<Rule> =
                each.filter(|&at| fits(&without(Some(at)))).map(|at| rule(all[at].clone())).collect();
            if single.is_empty() { vec![rule(all.concat())] } else { single }
        };
    found.extend(groups(&limits.share, Rule::Share, &|at| {
        let mut less = limits.clone();
        drop_group(&mut less.share, at);
        less
    }));
    found.extend(groups(&limits.apart, Rule::Apart, &|at| {
        let mut less = limits.clone();
        drop_group(&mut less.apart, at);
        less
    }));
    let pinned: Vec<usize> = (0..limits.items.len()).filter(|&item| limits.items[item].pinned).collect();
    if !pinned.is_empty() {
        let mut less = limits.clone();
        for item in &mut less.items {
            item.pinned = false;
        }
        if fits(&less) {
            found.push(Rule::Pins(pinned));
        }
    }
    found
}

fn drop_group(groups: &mut Vec<Vec<usize>>, at: Option<usize>) {
    match at {
        Some(at) => {
            groups.remove(at);
        }
        None => groups.clear(),
    }
}

fn fits(instance: &Instance) -> bool {
    let found: Result<_, Shortage> = fewest(instance, &mut Budget::new(STEPS));
    found.is_ok()
}
