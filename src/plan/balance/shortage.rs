//! Why nothing fits, in the words of the person who wires it, and what would make it fit.

use super::Problem;
use super::gather::{Gathered, tenths_to_unit};
use super::relax::{self, Rule};
use crate::design::Design;
use crate::format;
use crate::plan::packing::{Kind, Shortage};
use crate::plan::slots;

pub(super) fn say(design: &Design, gathered: &Gathered, at: usize, shortage: &Shortage) -> Vec<Problem> {
    let zone = &gathered.zones[at];
    let panel = &design.job.panels[zone.class.panel];
    let volts = format::volts(Some(zone.class.volts()));
    let watts = |tenths: u64| format::watts(Some(tenths_to_unit(tenths)));
    let runs = |items: &[usize]| -> Vec<String> {
        let loads = items.iter().flat_map(|&item| &zone.members[item]);
        loads.map(|&load| gathered.loads[load].name.clone()).collect()
    };
    let kinds = &zone.instance.kinds;
    let largest = kinds.iter().map(|kind| kind.limit).max().unwrap_or(0);
    match shortage {
        Shortage::TooHeavy(items) => items
            .iter()
            .map(|&item| {
                let own = runs(&[item]);
                let weight = zone.instance.items[item].weight;
                let several = if own.len() > 1 { ", which must stay on one output, take" } else { " takes" };
                Problem {
                    what: format!(
                        "run {}{several} {}; no output of {volts} for panel {} gives more than {}",
                        own.join(" and "),
                        watts(weight),
                        panel.id,
                        watts(largest)
                    ),
                    remedy: format!(
                        "split it into two home runs, or take {} off it",
                        watts(weight - largest)
                    ),
                    runs: own,
                }
            })
            .collect(),
        Shortage::TooManyWires(items) => vec![Problem {
            what: format!(
                "runs {} must stay on one output, and no output has as many terminals",
                runs(items).join(", ")
            ),
            remedy: "part them, or enter a supply type with more terminals".into(),
            runs: runs(items),
        }],
        Shortage::Pinned(bin) => {
            let pinned: Vec<usize> = (0..zone.instance.items.len())
                .filter(|&item| {
                    zone.instance.items[item].pinned && zone.instance.items[item].home == Some(*bin)
                })
                .collect();
            let weight = pinned.iter().map(|&item| zone.instance.items[item].weight).sum();
            let mut loads = pinned.iter().flat_map(|&item| &zone.members[item]);
            let output = loads.find_map(|&load| gathered.loads[load].output.as_ref());
            let name = output.map_or_else(|| "one output".to_owned(), ToString::to_string);
            let wires: u32 = pinned.iter().map(|&item| zone.instance.items[item].wires).sum();
            let kind = zone.kind_of(*bin);
            let gives = kind.map_or_else(String::new, |kind| {
                format!("; it gives {} and has {} terminals", watts(kind.limit), kind.terminals)
            });
            vec![Problem {
                what: format!(
                    "runs {} are pinned to {name}, take {} and need {wires} terminals{gives}",
                    runs(&pinned).join(", "),
                    watts(weight)
                ),
                remedy: "unpin one of them".into(),
                runs: runs(&pinned),
            }]
        }
        Shortage::PinnedTogether(group) => vec![Problem {
            what: format!(
                "runs {} must not share an output, and two of them are pinned to one",
                runs(group).join(", ")
            ),
            remedy: "unpin one of them, or let them share".into(),
            runs: runs(group),
        }],
        Shortage::TooMuchTogether(items) => {
            let weight = items.iter().map(|&item| zone.instance.items[item].weight).sum();
            let id = panel.id.as_str();
            vec![too_much_together(&runs(items), &watts(weight), &volts, id, &watts(most_on_one(kinds)))]
        }
        Shortage::NoKind => vec![Problem {
            what: format!("there is no supply type of {volts} for panel {}", panel.id),
            remedy: "enter one in the catalogue".into(),
            runs: runs(&(0..zone.members.len()).collect::<Vec<_>>()),
        }],
        Shortage::TooFew { had, needed, proved } => {
            let rules = relax::in_the_way(&zone.instance);
            if !rules.is_empty() {
                let id = panel.id.as_str();
                return rules.iter().map(|rule| broken_rule(rule, id, &runs)).collect();
            }
            vec![too_few(design, gathered, at, (*had, *needed, *proved))]
        }
    }
}

/// What the outputs of the largest supply give in all: what does not fit within targets was tried within limits too.
fn most_on_one(kinds: &[Kind]) -> u64 {
    let all = |kind: &Kind| kind.limit.saturating_mul(u64::try_from(kind.outputs).unwrap_or(u64::MAX));
    kinds.iter().map(all).max().unwrap_or(0)
}

fn too_much_together(runs: &[String], watts: &str, volts: &str, panel: &str, most: &str) -> Problem {
    Problem {
        what: format!(
            "runs {} must be on one supply and take {watts} together; no supply of {volts} for panel {panel} holds \
             them all: the largest gives {most} on all outputs",
            runs.join(", ")
        ),
        remedy: "take one of them out of the rule that they share a supply".into(),
        runs: runs.to_vec(),
    }
}

/// A rule without which everything fits.
fn broken_rule(rule: &Rule, panel: &str, runs: &dyn Fn(&[usize]) -> Vec<String>) -> Problem {
    let (what, remedy, items) = match rule {
        Rule::Share(items) => {
            ("must be on one supply", "take one of them out of that rule, or unpin it", items)
        }
        Rule::Apart(items) => ("must be on different outputs", "take one of them out of that rule", items),
        Rule::Pins(items) => ("are pinned to their outputs", "unpin some of them", items),
    };
    let mut own = runs(items);
    own.sort();
    own.dedup();
    Problem {
        what: format!(
            "runs {} {what}, and with that the runs of panel {panel} do not fit; without it they do",
            own.join(", ")
        ),
        remedy: remedy.into(),
        runs: own,
    }
}

/// There are too few supplies, whatever rule is dropped.
fn too_few(design: &Design, gathered: &Gathered, at: usize, found: (usize, usize, bool)) -> Problem {
    let (had, needed, proved) = found;
    let zone = &gathered.zones[at];
    let panel = &design.job.panels[zone.class.panel];
    let watts = |tenths: u64| format::watts(Some(tenths_to_unit(tenths)));
    let instance = &zone.instance;
    let kinds = &instance.kinds;
    let missing = needed.saturating_sub(had).max(1);
    let slots = kinds.iter().map(|kind| kind.slots).min().unwrap_or(1);
    let free = slots::Room::of(design, panel).free();
    let wanted = slots * u32::try_from(missing).unwrap_or(u32::MAX);
    let names: Vec<String> =
        zone.members.iter().flatten().map(|&load| gathered.loads[load].name.clone()).collect();
    let most = u64::try_from(had).unwrap_or(u64::MAX);
    let best = |of: &dyn Fn(&Kind) -> u64| kinds.iter().map(of).max().unwrap_or(0).saturating_mul(most);
    let outputs = |kind: &Kind| u64::try_from(kind.outputs).unwrap_or(u64::MAX);
    let (total, gives) = (instance.total(), best(&|kind| kind.limit.saturating_mul(outputs(kind))));
    let wires: u64 = instance.items.iter().map(|item| u64::from(item.wires)).sum();
    let terminals = best(&|kind| u64::from(kind.terminals).saturating_mul(outputs(kind)));
    let sure = if proved { "" } else { " (none was found; it is not proved that there is none)" };
    let (mut why, mut less) = (String::new(), "runs".to_owned());
    if wires > terminals {
        why = format!("; they have {terminals} terminals for {wires} home runs");
        less = format!("{} home runs or more", wires - terminals);
    } else if total > gives {
        why = format!("; they give {}", watts(gives));
        less = format!("runs of {} or more", watts(total - gives));
    }
    Problem {
        what: format!(
            "panel {}: {} runs at {} take {} and need at least {needed} supplies; it can have {had}{why}{sure}",
            panel.id,
            names.len(),
            format::volts(Some(zone.class.volts())),
            watts(total)
        ),
        remedy: format!(
            "make room for {missing} more: {wanted} slots, where {free} can be used; or move {less} to another panel"
        ),
        runs: names,
    }
}
