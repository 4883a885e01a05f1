//! Why nothing fits, in the words of the person who wires it, and what would make it fit.

use super::Problem;
use super::gather::{Gathered, tenths_to_unit};
use crate::design::Design;
use crate::format;
use crate::plan::packing::Shortage;
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
            vec![Problem {
                what: format!(
                    "runs {} are pinned to one output and take {}: more than it takes",
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
        Shortage::NoKind => vec![Problem {
            what: format!("there is no supply type of {volts} for panel {}", panel.id),
            remedy: "enter one in the catalogue".into(),
            runs: runs(&(0..zone.members.len()).collect::<Vec<_>>()),
        }],
        Shortage::TooFew { had, needed, proved } => {
            let total = watts(zone.instance.total());
            let missing = needed.saturating_sub(*had).max(1);
            let slots = kinds.iter().map(|kind| kind.slots).min().unwrap_or(1);
            let free = slots::Room::of(design, panel).free();
            let wanted = slots * u32::try_from(missing).unwrap_or(u32::MAX);
            let sure = if *proved { "" } else { " (none was found; it is not proved that there is none)" };
            vec![Problem {
                what: format!(
                    "panel {}: {} runs at {volts} take {total} and need at least {needed} supplies; it can have {had}{sure}",
                    panel.id,
                    zone.members.iter().map(Vec::len).sum::<usize>(),
                ),
                remedy: format!(
                    "make room for {missing} more: {wanted} slots, where {free} can be used; or move runs to another panel"
                ),
                runs: runs(&(0..zone.members.len()).collect::<Vec<_>>()),
            }]
        }
    }
}
