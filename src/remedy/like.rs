//! What a part would have to be, where the catalogue has none that does: tried with one like the present.

use super::cable::GAUGES;
use super::mend::control_of;
use super::{Remedy, Trials, part, set};
use crate::checks::box_fill;
use crate::format::{self, Quantity};
use crate::job::catalogue::{
    BoxType, CableType, ControlType, Drive, FixtureType, Function, Listing, Load, Metal,
};
use crate::job::edit::Edit;
use crate::job::wiring::Way;
use crate::job::{Id, Kind, Spot};
use crate::network::ControlAt;
use crate::units::{Amps, Volts, Volume, VolumeUnit};
use serde::Serialize;
use serde_json::json;
use std::num::NonZeroU16;

pub(super) fn remedies(trials: &mut Trials<'_>) -> Vec<Remedy> {
    let found = match trials.finding.code {
        "gangs" | "box-fill" | "box-barrier" => vec![bigger_box(trials)],
        "volts-high" => vec![bearing(trials)],
        "drive-amps" => vec![slower(trials), made_for(trials)],
        "string-volts" => vec![stronger(trials)],
        "lights" | "group-size" => vec![wider(trials)],
        "cable-place" => vec![listed(trials)],
        "metal" | "gauge" => vec![copper(trials)],
        "plan-count" => vec![counted(trials)],
        "ground" => vec![grounded(trials)],
        "bus-cable" => vec![signal_only(trials)],
        "green-wire" => vec![green_spared(trials)],
        "panel-heat" => vec![roomier(trials)],
        "interrupted" | "wet-volts" => vec![milder(trials)],
        "slot-range" | "slot-overlap" | "not-placed" => vec![longer_panel(trials)],
        _ => Vec::new(),
    };
    found.into_iter().flatten().collect()
}

/// The edit that adds a part like another to the catalogue, with the id it gets. What one is bought for goes with it.
pub(super) fn like<T: Serialize>(trials: &Trials<'_>, kind: Kind, part: &T) -> Option<(String, Edit)> {
    let mut value = serde_json::to_value(part).ok()?;
    let fields = value.as_object_mut()?;
    for of_the_other in ["name", "price", "pack", "bought", "reels"] {
        fields.remove(of_the_other);
    }
    let id = trials.free_id(kind, "like-");
    fields.insert("id".into(), json!(id));
    Some((id, Edit::Insert { kind, parent: None, at: usize::MAX, value }))
}

/// A part like another, put in for things that name it in a field.
fn instead<T: Serialize>(
    trials: &mut Trials<'_>,
    (kind, like_it): (Kind, &T),
    (of, ids, field): (Kind, &[String], &str),
    text: String,
) -> Option<Remedy> {
    let (id, insert) = like(trials, kind, like_it)?;
    let set = ids.iter().map(|thing| set(of, thing, field, id.as_str()));
    trials.plain(text, Edit::Together(std::iter::once(insert).chain(set).collect()))
}

/// The next half cubic inch.
fn half_up(cubic_inches: f64) -> f64 {
    (cubic_inches * 2.0 - 1e-9).ceil() / 2.0
}

/// A box with the gangs its controls take and the volume that what is in it takes.
fn bigger_box(trials: &mut Trials<'_>) -> Option<Remedy> {
    let design = trials.design;
    if trials.closed() {
        return None;
    }
    let subject = &trials.finding.subject;
    let wall_box = match trials.spot()? {
        Spot::WallBox(at) => Some(&design.job.boxes[at]),
        _ => None,
    };
    let now = match wall_box {
        Some(wall_box) => wall_box.part.as_ref(),
        None => part::ceiling_of(trials)?.part.as_ref(),
    };
    let known = now.and_then(|id| design.job.catalogue.boxes.iter().find(|entry| entry.id.same(id)));
    let none = || serde_json::from_value::<BoxType>(json!({"id": "none"})).ok();
    let mut entry = known.cloned().or_else(none)?;
    let widest = |control: &crate::job::wiring::Control| {
        let types = control.types().into_iter();
        types.filter_map(|id| design.index.control_type(&design.job, id)).map(|part| part.gangs.get()).max()
    };
    let gangs = wall_box.map_or(0, |of| of.controls.iter().filter_map(widest).fold(0, u8::saturating_add));
    entry.gangs = entry.gangs.max(gangs);
    let barrier = trials.finding.code == "box-barrier";
    let roomy = Volume::new(1e4, VolumeUnit::CubicInches)?;
    let of_volume = |trials: &Trials<'_>, volume: Volume| {
        let mut entry = entry.clone();
        entry.volume = if barrier { entry.volume } else { Some(volume) };
        entry.class_2_volume = if barrier || entry.class_2_volume.is_some() { Some(volume) } else { None };
        let (id, insert) = like(trials, Kind::BoxType, &entry)?;
        Some(Edit::Together(vec![insert, set(subject.kind, &subject.id, "part", id.as_str())]))
    };
    // What is in it is counted with a box that holds anything; then the box is made to hold that.
    let edit = of_volume(trials, roomy)?;
    let fill = trials.cleared(&edit, |after| {
        let fill = box_fill((&after.job, &after.index, &after.network, &after.study), subject)?;
        fill.cubic_inches(after.job.settings.code_edition)
    })??;
    let needs = half_up(fill);
    let edit = of_volume(trials, Volume::new(needs, VolumeUnit::CubicInches)?)?;
    if !trials.helps(&edit) {
        return None;
    }
    let volume = Quantity::CubicInches.shown(Some(needs));
    let gangs = if trials.finding.code == "gangs" { format!(" of {gangs} gangs and") } else { " of".into() };
    let text = if barrier {
        format!("use a box with a listed barrier and {volume} or more on its Class 2 side for {}", subject.id)
    } else {
        format!("use a box{gangs} {volume} or more for {}", subject.id)
    };
    Some(Remedy { text, edit })
}

/// The fixture type of what a finding is about.
fn fixture<'a>(trials: &Trials<'a>) -> Option<&'a FixtureType> {
    trials.design.index.fixture_type(&trials.design.job, part::ceiling_of(trials)?.fixture.as_ref()?)
}

/// A fixture for the highest volts.
fn bearing(trials: &mut Trials<'_>) -> Option<Remedy> {
    let mut entry = fixture(trials)?.clone();
    let most = (trials.finding.found? * 10.0 - 1e-9).ceil() / 10.0;
    let (Load::Power { volts: Some(range), .. } | Load::Current { volts: Some(range), .. }) = &mut entry.load
    else {
        return None;
    };
    range.most = Volts::new(most).ok()?;
    let at = trials.of_cause();
    let text = format!("hang fixtures that bear {most} V in {}", at.join(", "));
    instead(trials, (Kind::FixtureType, &entry), (Kind::Fixture, &at, "fixture"), text)
}

/// A control that drives no more amps than the fixture is made for.
fn slower(trials: &mut Trials<'_>) -> Option<Remedy> {
    let control = control_of(trials)?;
    let mut entry = control_type(trials)?.clone();
    let most = Amps::new(trials.finding.limit?).ok()?;
    let Drive::Current { amps, .. } = &mut entry.drive else { return None };
    *amps = most;
    let text = format!("use a control that drives {most} A for {}", control.id);
    instead(trials, (Kind::ControlType, &entry), (Kind::Control, &[control.id.to_string()], "part"), text)
}

/// A fixture made for the control's amps.
fn made_for(trials: &mut Trials<'_>) -> Option<Remedy> {
    let mut entry = fixture(trials)?.clone();
    let driven = Amps::new(trials.finding.found?).ok()?;
    let Load::String { rated_amps, .. } = &mut entry.load else { return None };
    *rated_amps = Some(driven);
    let at = trials.of_cause();
    let text = format!("hang fixtures made for {driven} A in {}", at.join(", "));
    instead(trials, (Kind::FixtureType, &entry), (Kind::Fixture, &at, "fixture"), text)
}

fn control_type<'a>(trials: &Trials<'a>) -> Option<&'a ControlType> {
    trials.design.index.control_type(&trials.design.job, &control_of(trials)?.part)
}

/// A control with the volts that its string takes.
fn stronger(trials: &mut Trials<'_>) -> Option<Remedy> {
    let control = control_of(trials)?;
    let mut entry = control_type(trials)?.clone();
    let needs = (trials.finding.found? * 10.0 - 1e-9).ceil() / 10.0;
    let Drive::Current { most_volts, .. } = &mut entry.drive else { return None };
    *most_volts = Some(Volts::new(needs).ok()?);
    let text = format!("use a control that gives {needs} V or more for {}", control.id);
    instead(trials, (Kind::ControlType, &entry), (Kind::Control, &[control.id.to_string()], "part"), text)
}

/// A control for so many lights, or that works in step with so many.
fn wider(trials: &mut Trials<'_>) -> Option<Remedy> {
    let control = control_of(trials)?;
    let mut entry = control_type(trials)?.clone();
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "a count of things in a house"
    )]
    let count = trials.finding.found? as u16;
    let of = if trials.finding.code == "group-size" {
        entry.most_in_step = Some(count);
        format!("that works in step with {} others", count.saturating_sub(1))
    } else {
        for most in [&mut entry.most_fixed_lights, &mut entry.most_tunable_lights] {
            *most = most.map(|most| most.max(count));
        }
        format!("for {count} lights")
    };
    let text = format!("use a control {of} for {}", control.id);
    instead(trials, (Kind::ControlType, &entry), (Kind::Control, &[control.id.to_string()], "part"), text)
}

/// A cable as drawn: its type, the plan it is drawn with, and its way.
fn drawn<'a>(trials: &Trials<'a>) -> Option<(&'a CableType, Option<&'a Id>, &'a [Way])> {
    let job = &trials.design.job;
    let (cable, plan, way) = match trials.spot()? {
        Spot::Feed { wall_box, feed } => {
            let feed = job.boxes.get(wall_box)?.feeds.get(feed)?;
            (&feed.cable, &feed.plan, &feed.way)
        }
        Spot::Loop { wall_box, control, at } => {
            let wired = job.boxes.get(wall_box)?.controls.get(control)?.loops.get(at)?;
            (&wired.cable, &wired.plan, &wired.way)
        }
        Spot::Link { group, link } => {
            let link = job.groups.get(group)?.links.get(link)?;
            (&link.cable, &link.plan, &link.way)
        }
        _ => return None,
    };
    Some((trials.design.index.cable_type(job, cable)?, plan.as_ref(), way))
}

/// The same cable, listed for every place on its way.
fn listed(trials: &mut Trials<'_>) -> Option<Remedy> {
    if trials.closed() {
        return None;
    }
    let (now, _, way) = drawn(trials)?;
    let mut entry = now.clone();
    let mut words = Vec::new();
    let has = |place: Way| way.contains(&place);
    let least = if has(Way::Plenum) { Some((Listing::Plenum, "plenum")) } else { None };
    let least = least.or_else(|| has(Way::Riser).then_some((Listing::Riser, "riser")));
    if let Some((least, word)) = least {
        entry.listing = entry.listing.max(Some(least));
        words.push(format!("as {word} cable"));
    }
    if has(Way::Wet) {
        entry.wet = true;
        words.push("for wet places".into());
    }
    if has(Way::Sunlight) {
        entry.sunlight = true;
        words.push("for sunlight".into());
    }
    let id = trials.finding.subject.id.clone();
    let (gauge, count) = (now.gauge, now.conductors);
    let text = format!("use a {gauge}/{count} cable listed {} for {id}", words.join(" and "));
    instead(trials, (Kind::CableType, &entry), (Kind::Cable, &[id], "cable"), text)
}

/// Copper of the same gauge, or of the next heavier one that a table has.
fn copper(trials: &mut Trials<'_>) -> Option<Remedy> {
    let Spot::CableType(at) = trials.spot()? else { return None };
    if trials.closed() {
        return None;
    }
    let now = trials.design.job.catalogue.cables.get(at)?;
    let gauge = now.gauge.get();
    let table = GAUGES.into_iter().find(|&heavier| heavier < gauge);
    let gauges = std::iter::once(gauge).chain(table);
    gauges.into_iter().find_map(|gauge| {
        // In place, so that all that is drawn with it gets it.
        let id = now.id.as_str();
        let edit = Edit::Together(vec![
            set(Kind::CableType, id, "metal", json!(Metal::Copper)),
            set(Kind::CableType, id, "gauge", json!(gauge)),
        ]);
        trials.plain(format!("use {gauge} AWG copper for all that is drawn with {id}"), edit)
    })
}

/// A plan like the present one with as many conductors as the cable has: spare ones more, or spare ones less.
fn counted(trials: &mut Trials<'_>) -> Option<Remedy> {
    let (design, (part, plan, _)) = (trials.design, drawn(trials)?);
    let mut plan = design.index.plan(&design.job, plan.unwrap_or(&part.plan))?.clone();
    let has = usize::from(part.conductors.get());
    let mut words = Vec::new();
    while plan.conductors.len() > has {
        let at = plan.conductors.iter().rposition(|conductor| conductor.function == Function::Spare)?;
        words.push(format!("without {}", plan.conductors.remove(at).name));
    }
    while plan.conductors.len() < has {
        let mut spare = plan.conductors.last()?.clone();
        spare.name = (plan.conductors.len() + 1).to_string();
        spare.function = Function::Spare;
        words.push(format!("with {} as spare", spare.name));
        plan.conductors.push(spare);
    }
    let at = trials.of_cause();
    let text = format!("give {} a plan like {} {}", at.join(", "), plan.id, words.join(" and "));
    instead(trials, (Kind::ConductorPlan, &plan), (Kind::Cable, &at, "plan"), text)
}

/// A plan like the present one whose last spare conductor is the ground; where it has none, one of those that are doubled.
fn grounded(trials: &mut Trials<'_>) -> Option<Remedy> {
    let (design, (part, plan, _)) = (trials.design, drawn(trials)?);
    let plan = design.index.plan(&design.job, plan.unwrap_or(&part.plan))?;
    let at = trials.of_cause();
    let many = |function: Function| plan.count(function) > 1;
    let free = |at: &usize| match plan.conductors[*at].function {
        Function::Spare => true,
        Function::Positive | Function::Negative => many(plan.conductors[*at].function),
        _ => false,
    };
    let mut places: Vec<usize> = (0..plan.conductors.len()).rev().filter(free).collect();
    places.sort_by_key(|&place| plan.conductors[place].function != Function::Spare);
    places.into_iter().take(2).find_map(|place| {
        let mut with = plan.clone();
        let conductor = &mut with.conductors[place];
        let now = conductor.function.word();
        conductor.function = Function::Ground;
        let text = format!("give conductor {} of {}, now {now}, to ground", conductor.name, at.join(", "));
        instead(trials, (Kind::ConductorPlan, &with), (Kind::Cable, &at, "plan"), text)
    })
}

/// A plan like the present one in which the green conductor is the ground or spare, and another does what it did.
fn green_spared(trials: &mut Trials<'_>) -> Option<Remedy> {
    let (design, (part, plan, _)) = (trials.design, drawn(trials)?);
    let mut plan = design.index.plan(&design.job, plan.unwrap_or(&part.plan))?.clone();
    let at = trials.of_cause();
    let idle = |function: Function| matches!(function, Function::Spare | Function::Ground);
    let green = |name: &str| name.split_whitespace().any(|word| word.eq_ignore_ascii_case("green"));
    let (green, other) = (
        plan.conductors.iter().position(|c| green(&c.name) && !idle(c.function))?,
        plan.conductors.iter().position(|c| !green(&c.name) && idle(c.function))?,
    );
    let (was, now) = (plan.conductors[green].function, plan.conductors[other].function);
    (plan.conductors[green].function, plan.conductors[other].function) = (now, was);
    let text = format!(
        "in {} let {} be {} and green {}",
        at.join(", "),
        plan.conductors[other].name,
        was.word(),
        now.word()
    );
    instead(trials, (Kind::ConductorPlan, &plan), (Kind::Cable, &at, "plan"), text)
}

/// The bus in a cable of its own: the plan's pair is for signal alone.
fn signal_only(trials: &mut Trials<'_>) -> Option<Remedy> {
    let (design, (part, plan, _)) = (trials.design, drawn(trials)?);
    let mut plan = design.index.plan(&design.job, plan.unwrap_or(&part.plan))?.clone();
    for conductor in &mut plan.conductors {
        if !matches!(conductor.function, Function::Spare | Function::Ground | Function::Signal) {
            conductor.function = Function::Signal;
        }
    }
    let at = trials.of_cause();
    let text =
        format!("let {} carry nothing but the bus, in a cable insulated for line voltage", at.join(", "));
    instead(trials, (Kind::ConductorPlan, &plan), (Kind::Cable, &at, "plan"), text)
}

/// An enclosure that sheds what the supplies in it lose.
fn roomier(trials: &mut Trials<'_>) -> Option<Remedy> {
    let heat = (trials.finding.found? * 10.0 - 1e-9).ceil() / 10.0;
    let text = format!("use an enclosure that sheds {} or more, or air it", format::watts(Some(heat)));
    let id = trials.finding.subject.id.clone();
    trials.plain(text, set(Kind::Panel, id, "heat_allowance_watts", heat))
}

/// A supply like the present one of continuous dc, or of no more volts than may be touched in a wet place.
fn milder(trials: &mut Trials<'_>) -> Option<Remedy> {
    let design = trials.design;
    let limit = trials.finding.limit?;
    let part = match trials.spot()? {
        Spot::SupplyType(at) => design.job.catalogue.supplies.get(at)?,
        Spot::Ceiling { wall_box, control, .. } => {
            let run = *design.network.run_of_control.get(&ControlAt { wall_box, control })?;
            let output = design.network.runs.get(run)?.output.as_ref()?;
            let (_, supply) = design.index.supply(&design.job, &output.supply)?;
            design.index.supply_type(&design.job, &supply.part)?
        }
        _ => return None,
    };
    let volts = format::volts(Some(limit));
    if trials.finding.code == "interrupted" {
        let text = format!("use a supply of continuous dc in place of {}", part.id);
        return trials.plain(text, set(Kind::SupplyType, &part.id, "interrupted", false));
    }
    let text = format!("use a supply of {volts} or less at no load in place of {}", part.id);
    trials.plain(text, set(Kind::SupplyType, &part.id, "no_load_volts", limit))
}

/// A panel with a place for the supply behind the last one.
fn longer_panel(trials: &mut Trials<'_>) -> Option<Remedy> {
    let Spot::Supply { panel, supply } = trials.spot()? else { return None };
    let design = trials.design;
    let panel = design.job.panels.get(panel)?;
    let supply = panel.supplies.get(supply)?;
    let wide =
        |part: &Id| design.index.supply_type(&design.job, part).map(|part| u16::from(part.slots.get()));
    let last = panel.supplies.iter().filter(|other| other.id != supply.id).filter_map(|other| {
        let first = other.slot.map(NonZeroU16::get)?;
        Some(first.saturating_add(wide(&other.part)?).saturating_sub(1))
    });
    let first = last.max().unwrap_or(0).checked_add(1)?;
    let slots = first.checked_add(wide(&supply.part)?)?.checked_sub(1)?.max(panel.slots.get());
    let edit = Edit::Together(vec![
        set(Kind::Panel, &panel.id, "slots", slots),
        set(Kind::Supply, &supply.id, "slot", first),
    ]);
    trials.plain(
        format!("use a panel of {slots} slots for {}, and put {} into slot {first}", panel.id, supply.id),
        edit,
    )
}
