//! Panels and supplies: another panel, a second circuit, a breaker, one supply more, a supply of another type.

use super::{Remedy, Trials, set};
use crate::design::Design;
use crate::format;
use crate::job::catalogue::SupplyType;
use crate::job::edit::Edit;
use crate::job::panel::Panel;
use crate::job::value::held;
use crate::job::{Id, Kind, Spot, Subject};
use crate::network::ControlAt;
use serde_json::{Value, json};
use std::cmp::Reverse;

/// The ratings of breakers that a Class 2 supply may be behind (NEC 240.6(A) and 725.127, 2017), in amps, with the
/// lightest copper each may feed (NEC 240.4(D), from memory).
const BREAKERS: [(f64, u8); 2] = [(15.0, 14), (20.0, 12)];

/// As many supplies, panels or types as are tried of each.
const MOST_TRIED: usize = 6;

/// Another breaker. A larger one asks for conductors that it may feed, which the job does not know; a smaller one may
/// feed what the larger one did.
pub(super) fn another_breaker(trials: &mut Trials<'_>) -> Option<Remedy> {
    let Spot::Panel(at) = trials.spot()? else { return None };
    let panel = trials.design.job.panels.get(at)?;
    let feed = panel.feed?;
    let now = feed.breaker_amps.get();
    let mut breakers = BREAKERS;
    breakers.sort_by_key(|(amps, _)| Reverse(*amps < now));
    // The nearest to the present one: the smallest that is larger, or the largest that is smaller.
    breakers.sort_by(|a, b| (a.0 - now).abs().total_cmp(&(b.0 - now).abs()));
    breakers.into_iter().find_map(|(amps, gauge)| {
        let wire = if amps > now {
            format!("if its conductors are {gauge} AWG copper or heavier (NEC 240.4(D), from memory)")
        } else {
            "for which its conductors are heavy enough".to_owned()
        };
        let value = json!({"volts": feed.volts.get(), "breaker_amps": amps});
        let text = format!("feed panel {} by a {amps} A breaker, {wire}", panel.id);
        trials.plain(text, set(Kind::Panel, &panel.id, "feed", value))
    })
}

/// What the outputs of a supply carry, as far as that is known.
fn load(design: &Design, supply: &Id) -> f64 {
    let mine = design.study.outputs.iter().filter(|output| output.output.supply.same(supply));
    mine.filter_map(|output| output.watts).sum()
}

fn supply_type<'a>(design: &'a Design, part: &Id) -> Option<&'a SupplyType> {
    design.index.supply_type(&design.job, part)
}

/// The first slot of a panel from which so many are free.
fn free_slot(design: &Design, panel: &Panel, wide: u16, taken: &[(u16, u16)]) -> Option<u16> {
    let held = panel.supplies.iter().filter_map(|supply| {
        let first = supply.slot?.get();
        Some((first, first.saturating_add(u16::from(supply_type(design, &supply.part)?.slots.get()) - 1)))
    });
    let taken: Vec<(u16, u16)> = held.chain(taken.iter().copied()).collect();
    let last = |first: u16| first.saturating_add(wide.saturating_sub(1));
    (1..=panel.slots.get()).find(|&first| {
        last(first) <= panel.slots.get() && taken.iter().all(|&(a, b)| last(first) < a || first > b)
    })
}

/// The sets of supplies whose move may be enough: each alone, the one with the least load first, then the heaviest ones
/// together. One of them stays.
fn movable(design: &Design, panel: &Panel, only: Option<usize>) -> Vec<Vec<Id>> {
    if let Some(only) = only.and_then(|only| panel.supplies.get(only)) {
        return vec![vec![only.id.clone()]];
    }
    let mut supplies: Vec<(&Id, f64)> =
        panel.supplies.iter().map(|supply| (&supply.id, load(design, &supply.id))).collect();
    supplies.sort_by(|a, b| a.1.total_cmp(&b.1));
    let alone = supplies.iter().take(MOST_TRIED).map(|(id, _)| vec![(*id).clone()]);
    let together = (2..supplies.len()).take(MOST_TRIED).map(|count| {
        let heaviest = supplies.iter().rev().take(count);
        heaviest.map(|(id, _)| (*id).clone()).collect()
    });
    alone.chain(together).collect()
}

/// The edits that move supplies, each into its slot.
fn moves(
    trials: &Trials<'_>,
    supplies: &[Id],
    to: &Id,
    mut slot: impl FnMut(u16) -> Option<u16>,
) -> Option<Vec<Edit>> {
    let design = trials.design;
    let mut edits = Vec::new();
    for supply in supplies {
        let subject = Subject::new(Kind::Supply, supply);
        let mut value = held(&design.job, &design.index, &subject)?.value;
        let (_, of) = design.index.supply(&design.job, supply)?;
        let wide = u16::from(supply_type(design, &of.part)?.slots.get());
        value.as_object_mut()?.insert("slot".into(), json!(slot(wide)?));
        edits.push(Edit::Remove { subject });
        edits.push(Edit::Insert {
            kind: Kind::Supply,
            parent: Some(Subject::new(Kind::Panel, to)),
            at: usize::MAX,
            value,
        });
    }
    Some(edits)
}

fn named(design: &Design, supplies: &[Id]) -> String {
    let one = |id: &Id| format!("{id} ({})", format::watts(Some(load(design, id))));
    let word = if supplies.len() == 1 { "supply" } else { "supplies" };
    format!("{word} {}", supplies.iter().map(one).collect::<Vec<_>>().join(", "))
}

/// The panel that a finding is about, and the supply of it if it is about one.
fn about<'a>(trials: &Trials<'a>) -> Option<(&'a Panel, Option<usize>)> {
    let panels = &trials.design.job.panels;
    match trials.spot()? {
        Spot::Panel(at) => Some((panels.get(at)?, None)),
        Spot::Supply { panel, supply } => Some((panels.get(panel)?, Some(supply))),
        _ => None,
    }
}

/// The supplies whose move to another panel with room for them is enough.
pub(super) fn another_panel(trials: &mut Trials<'_>) -> Option<Remedy> {
    let design = trials.design;
    let (panel, only) = about(trials)?;
    let others: Vec<&Panel> =
        design.job.panels.iter().filter(|other| other.id != panel.id).take(MOST_TRIED).collect();
    movable(design, panel, only).into_iter().find_map(|supplies| {
        others.iter().find_map(|&to| {
            let mut taken = Vec::new();
            let edits = moves(trials, &supplies, &to.id, |wide| {
                let first = free_slot(design, to, wide, &taken)?;
                taken.push((first, first + wide - 1));
                Some(first)
            })?;
            let slots: Vec<String> = taken.iter().map(|(first, _)| first.to_string()).collect();
            let text =
                format!("move {} to panel {}, slot {}", named(design, &supplies), to.id, slots.join(", "));
            trials.plain(text, Edit::Together(edits))
        })
    })
}

/// The supplies that need a circuit and an enclosure of their own, beside the panel.
pub(super) fn second_feed(trials: &mut Trials<'_>) -> Option<Remedy> {
    let design = trials.design;
    let (panel, only) = about(trials)?;
    let id = trials.free_id(Kind::Panel, "P");
    let mut beside = held(&design.job, &design.index, &Subject::new(Kind::Panel, &panel.id))?.value;
    let fields = beside.as_object_mut()?;
    fields.insert("id".into(), json!(id));
    fields.insert("supplies".into(), Value::Array(Vec::new()));
    let new = Id::new(&id).ok()?;
    movable(design, panel, only).into_iter().find_map(|supplies| {
        let mut next = 1_u16;
        let moved = moves(trials, &supplies, &new, |wide| {
            let first = next;
            next = next.saturating_add(wide);
            (next - 1 <= panel.slots.get()).then_some(first)
        })?;
        let mut edits =
            vec![Edit::Insert { kind: Kind::Panel, parent: None, at: usize::MAX, value: beside.clone() }];
        edits.extend(moved);
        let circuit = match panel.feed {
            Some(feed) => format!("on a {} A circuit of its own, ", feed.breaker_amps),
            None => String::new(),
        };
        let text = format!("put {} {circuit}in an enclosure beside {}", named(design, &supplies), panel.id);
        trials.plain(text, Edit::Together(edits))
    })
}

/// One supply more, of a type that the panel has, in a slot that is free.
pub(super) fn another_supply(trials: &mut Trials<'_>) -> Option<Remedy> {
    let design = trials.design;
    let (panel, _) = about(trials)?;
    let mut parts: Vec<&Id> = panel.supplies.iter().map(|supply| &supply.part).collect();
    parts.dedup();
    parts.into_iter().take(MOST_TRIED).find_map(|part| {
        let wide = u16::from(supply_type(design, part)?.slots.get());
        let slot = free_slot(design, panel, wide, &[])?;
        let id = trials.free_id(Kind::Supply, "PS");
        let edit = Edit::Insert {
            kind: Kind::Supply,
            parent: Some(Subject::new(Kind::Panel, &panel.id)),
            at: usize::MAX,
            value: json!({"id": id, "part": part.as_str(), "slot": slot}),
        };
        trials.told(edit, |after| {
            let outputs = after.study.outputs.iter().filter(|output| output.panel.same(&panel.id));
            let capacity: Option<f64> = outputs.map(|output| output.limit_watts).sum();
            let study = after.study.panels.iter().find(|study| study.panel.same(&panel.id));
            let taken = study.and_then(|study| study.output_watts);
            let free = capacity.zip(taken).map(|(all, taken)| (all - taken) / all * 100.0);
            format!("add a supply {part} in slot {slot} ({} to spare)", format::percent(free))
        })
    })
}

/// The supplies behind a finding: all of a type, or the one that a light hangs on.
fn behind(trials: &Trials<'_>) -> Option<(Id, Vec<Id>)> {
    let design = trials.design;
    let supplies = || design.job.panels.iter().flat_map(|panel| &panel.supplies);
    match trials.spot()? {
        Spot::SupplyType(at) => {
            let part = &design.job.catalogue.supplies.get(at)?.id;
            let mine = supplies().filter(|supply| supply.part.same(part)).map(|supply| supply.id.clone());
            Some((part.clone(), mine.collect()))
        }
        Spot::Ceiling { wall_box, control, .. } => {
            let run = *design.network.run_of_control.get(&ControlAt { wall_box, control })?;
            let id = design.network.runs.get(run)?.output.as_ref()?.supply.clone();
            let (_, supply) = design.index.supply(&design.job, &id)?;
            Some((supply.part.clone(), vec![id]))
        }
        _ => None,
    }
}

/// Supplies of another type of the catalogue, that of the nearest volts first.
pub(super) fn another_type(trials: &mut Trials<'_>) -> Option<Remedy> {
    let design = trials.design;
    let (now, supplies) = behind(trials)?;
    let volts = supply_type(design, &now)?.volts.get();
    let mut others: Vec<&SupplyType> =
        design.job.catalogue.supplies.iter().filter(|part| !part.id.same(&now)).collect();
    let off = |part: &SupplyType| (part.volts.get() - volts).abs();
    others.sort_by(|a, b| off(a).total_cmp(&off(b)));
    let names: Vec<&str> = supplies.iter().map(Id::as_str).collect();
    others.into_iter().take(MOST_TRIED).find_map(|part| {
        let edits = names.iter().map(|id| set(Kind::Supply, id, "part", part.id.as_str())).collect();
        let text = format!("use supply type {} ({} V) for {}", part.id, part.volts, names.join(", "));
        trials.plain(text, Edit::Together(edits))
    })
}
