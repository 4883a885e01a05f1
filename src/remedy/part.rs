//! Other parts, other slots, other ways of landing a loop.

use super::{Remedy, Trials, feed, set};
use crate::format::Quantity;
use crate::job::catalogue::{BoxType, Load};
use crate::job::wiring::{CeilingBox, Loop};
use crate::job::{Kind, Spot};
use serde_json::json;

/// Cubic inches in a cubic metre.
pub(super) const CUBIC_INCHES: f64 = 1.0 / 0.000_016_387_064;

pub(super) fn remedies(trials: &mut Trials<'_>) -> Vec<Remedy> {
    let found = match trials.finding.code {
        "slot-overlap" | "slot-range" | "not-placed" => slot(trials),
        "gangs" | "box-fill" | "box-barrier" => another_box(trials),
        "volts-high" | "unfit" | "drive-amps" | "wet-volts" | "spacing" => another_fixture(trials),
        "dead-short" => {
            return [uncross(trials), path(trials, "cap and tag the return of", "ReturnedCapped")]
                .into_iter()
                .flatten()
                .collect();
        }
        "crossed" => uncross(trials),
        "keep-tunable" => path(trials, "bring back, cap and tag", "ReturnedCapped"),
        "unlike-outputs" => feed::home_again_of_like_volts(trials).or_else(|| home_again(trials)),
        "interconnected" | "double-feed" => home_again(trials),
        "plan-count" | "ground" => another_plan(trials),
        "cable-place" | "bus-cable" => another_cable(trials),
        _ => None,
    };
    found.into_iter().collect()
}

pub(super) fn loop_of<'a>(trials: &Trials<'a>) -> Option<&'a Loop> {
    match trials.spot()? {
        Spot::Loop { wall_box, control, at } => {
            Some(&trials.design.job.boxes[wall_box].controls[control].loops[at])
        }
        _ => None,
    }
}

pub(super) fn ceiling_of<'a>(trials: &Trials<'a>) -> Option<&'a CeilingBox> {
    match trials.spot()? {
        Spot::Ceiling { wall_box, control, at, ceiling } => {
            Some(&trials.design.job.boxes[wall_box].controls[control].loops[at].ceiling[ceiling])
        }
        _ => None,
    }
}

/// The first slots of the panel that are free and enough.
fn slot(trials: &mut Trials<'_>) -> Option<Remedy> {
    let Spot::Supply { panel, supply } = trials.spot()? else { return None };
    let design = trials.design;
    let panel = &design.job.panels[panel];
    let mine = &panel.supplies[supply];
    let wide = |part| design.index.supply_type(&design.job, part).map(|part| u16::from(part.slots.get()));
    let needs = wide(&mine.part)?;
    let taken: Vec<(u16, u16)> = panel
        .supplies
        .iter()
        .filter(|other| other.id != mine.id)
        .filter_map(|other| {
            let first = other.slot?.get();
            Some((first, first.saturating_add(wide(&other.part)? - 1)))
        })
        .collect();
    let first = (1..=panel.slots.get().checked_sub(needs - 1)?)
        .find(|&first| taken.iter().all(|&(from, to)| first + needs - 1 < from || first > to))?;
    trials.plain(format!("move {} to slot {first}", mine.id), set(Kind::Supply, &mine.id, "slot", first))
}

/// The smallest box of the catalogue that does.
fn another_box(trials: &mut Trials<'_>) -> Option<Remedy> {
    if trials.closed() {
        return None;
    }
    let subject = &trials.finding.subject;
    let mut boxes: Vec<&BoxType> = trials.design.job.catalogue.boxes.iter().collect();
    let volume = |part: &BoxType| part.volume.map_or(0.0, |volume| volume.si() * CUBIC_INCHES);
    boxes.sort_by(|a, b| {
        (a.gangs, volume(a)).partial_cmp(&(b.gangs, volume(b))).unwrap_or(std::cmp::Ordering::Equal)
    });
    let (kind, id) = (subject.kind, subject.id.clone());
    boxes.into_iter().find_map(|part| {
        let size = part.volume.map(|_| format!(", {}", Quantity::CubicInches.shown(Some(volume(part)))));
        let text = format!("use box {} for {id}{}", part.id, size.unwrap_or_default());
        trials.plain(text, set(kind, &id, "part", part.id.as_str()))
    })
}

/// The fixture of the catalogue nearest in watts that does; on all the loop, as the finding is about all of it.
fn another_fixture(trials: &mut Trials<'_>) -> Option<Remedy> {
    let design = trials.design;
    let now = design.index.fixture_type(&design.job, ceiling_of(trials)?.fixture.as_ref()?)?;
    let watts = |load: Load| match load {
        Load::Power { watts, .. } | Load::Resistance { watts, .. } => watts.get(),
        Load::Current { amps, .. } => amps.get() * 24.0,
        Load::String { volts, rated_amps, .. } => {
            volts.get() * rated_amps.map_or(0.5, crate::units::Amps::get)
        }
    };
    let mut others: Vec<_> = design
        .job
        .catalogue
        .fixtures
        .iter()
        .filter(|part| part.colour == now.colour && part.id != now.id)
        .collect();
    let off = |load: Load| (watts(load) - watts(now.load)).abs();
    others.sort_by(|a, b| off(a.load).total_cmp(&off(b.load)));
    let at = trials.of_cause();
    others.into_iter().take(8).find_map(|part| {
        let edits = at.iter().map(|id| set(Kind::Fixture, id, "fixture", part.id.as_str())).collect();
        let text = format!("hang fixture {} in {}", part.id, at.join(", "));
        trials.plain(text, crate::job::edit::Edit::Together(edits))
    })
}

fn uncross(trials: &mut Trials<'_>) -> Option<Remedy> {
    let id = &loop_of(trials)?.id;
    trials.plain(format!("land the return of {id} like to like"), set(Kind::Cable, id, "crossed", false))
}

fn path(trials: &mut Trials<'_>, verb: &str, path: &str) -> Option<Remedy> {
    let id = &loop_of(trials)?.id;
    trials.plain(format!("{verb} loop {id}"), set(Kind::Cable, id, "path", path))
}

/// A loop whose return lands on a control of another output comes back to its own.
fn home_again(trials: &mut Trials<'_>) -> Option<Remedy> {
    let wired = loop_of(trials)?;
    wired.returns_to.as_ref()?;
    let text = format!("bring loop {} back to the control it left from", wired.id);
    trials.plain(text, set(Kind::Cable, &wired.id, "returns_to", json!(null)))
}

fn another_plan(trials: &mut Trials<'_>) -> Option<Remedy> {
    let design = trials.design;
    let at = trials.of_cause();
    design.job.catalogue.plans.iter().find_map(|plan| {
        let edits = at.iter().map(|id| set(Kind::Cable, id, "plan", plan.id.as_str())).collect();
        let text = format!("use plan {} for {}", plan.id, at.join(", "));
        trials.plain(text, crate::job::edit::Edit::Together(edits))
    })
}

/// A type of cable of the catalogue that does, with the plan it has now.
fn another_cable(trials: &mut Trials<'_>) -> Option<Remedy> {
    let design = trials.design;
    if trials.finding.subject.kind != Kind::Cable || trials.closed() {
        return None;
    }
    let id = trials.finding.subject.id.clone();
    design.job.catalogue.cables.iter().find_map(|part| {
        trials.plain(format!("use {} for {id}", part.id), set(Kind::Cable, &id, "cable", part.id.as_str()))
    })
}
