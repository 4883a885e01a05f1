//! Against drop and collapse: heavier or doubled conductors, a shorter way, both ends, fewer lights.

use super::{Remedy, Trials, set};
use crate::design::Design;
use crate::format;
use crate::job::catalogue::{CableType, ConductorPlan, Function};
use crate::job::edit::Edit;
use crate::job::wiring::{Loop, LoopPath};
use crate::job::{Id, Kind, Spot, Stage, Subject};
use crate::network::{LoopAt, Run};
use crate::units::{Length, LengthUnit};
use serde_json::json;

/// The gauges of NEC chapter 9 table 8 from 18 AWG up, each heavier than the one before.
const GAUGES: [u8; 5] = [18, 16, 14, 12, 10];

/// A cable whose conductors might be changed.
struct Cable<'a> {
    id: &'a Id,
    part: &'a CableType,
    plan: Option<&'a ConductorPlan>,
    called: &'static str,
}

pub(super) fn remedies(trials: &mut Trials<'_>) -> Vec<Remedy> {
    let design = trials.design;
    let Some(run) = run_of(design, &trials.finding.subject) else { return Vec::new() };
    let mut found = Vec::new();
    if let Some(wired) = loop_of(design, &trials.finding.subject) {
        found.extend(both_ends(trials, run, wired));
    }
    if design.job.project.stage != Stage::Trim {
        let cables = cables(design, run, &trials.finding.subject);
        found.extend(cables.iter().find_map(|cable| doubled(trials, run, cable)));
        found.extend(cables.iter().find_map(|cable| heavier(trials, run, cable)));
        found.extend(shorter(trials, run));
    }
    found.extend(fewer_lights(trials));
    found
}

/// The run that a cable or a light belongs to.
fn run_of<'a>(design: &'a Design, subject: &Subject) -> Option<&'a Run> {
    let id = Id::new(&subject.id).ok()?;
    let run = match design.index.spot(subject.kind, &id)? {
        Spot::Feed { wall_box, feed } => {
            design.network.run_of_feed.get(&crate::network::FeedAt { wall_box, feed })?.0
        }
        Spot::Loop { wall_box, control, .. } | Spot::Ceiling { wall_box, control, .. } => {
            *design.network.run_of_control.get(&crate::network::ControlAt { wall_box, control })?
        }
        _ => return None,
    };
    design.network.runs.get(run)
}

/// The loop that a cable is or a light hangs on.
fn loop_of<'a>(design: &'a Design, subject: &Subject) -> Option<&'a Loop> {
    let id = Id::new(&subject.id).ok()?;
    match design.index.spot(subject.kind, &id)? {
        Spot::Loop { wall_box, control, at } | Spot::Ceiling { wall_box, control, at, .. } => {
            Some(&design.job.boxes[wall_box].controls[control].loops[at])
        }
        _ => None,
    }
}

/// The cables whose conductors matter: of a home run itself that one, of a light its home run and its loop.
fn cables<'a>(design: &'a Design, run: &Run, subject: &Subject) -> Vec<Cable<'a>> {
    let job = &design.job;
    let cable = |id, part: &Id, plan: Option<&Id>, called| {
        let part = design.index.cable_type(job, part)?;
        Some(Cable { id, part, plan: design.index.plan(job, plan.unwrap_or(&part.plan)), called })
    };
    let first = run.feeds.first().map(|at| &job.boxes[at.wall_box].feeds[at.feed]);
    let home = first.and_then(|feed| cable(&feed.id, &feed.cable, feed.plan.as_ref(), "home run"));
    let wired = loop_of(design, subject)
        .and_then(|wired| cable(&wired.id, &wired.cable, wired.plan.as_ref(), "loop"));
    home.into_iter().chain(wired).collect()
}

/// The greatest drop on a run, or on one loop of it, in words.
fn drop_in(after: &Design, run: &Id, subject: &Subject) -> String {
    let number = after.network.run(run);
    let study = number.and_then(|number| after.study.run(&after.network, number));
    let Some(study) = study else { return String::new() };
    let on = |at: LoopAt| &after.job.boxes[at.control.wall_box].controls[at.control.control].loops[at.at];
    let one_loop = loop_of(after, subject);
    let lights = study.lights.iter().filter(|light| one_loop.is_none_or(|only| on(light.at).id == only.id));
    let drop = lights.filter_map(|light| light.drop_percent).reduce(f64::max);
    drop.map(|drop| format!(" (drop {})", format::percent(Some(drop)))).unwrap_or_default()
}

fn remedy(trials: &mut Trials<'_>, run: &Run, text: String, edit: Edit) -> Option<Remedy> {
    let after = trials.cleared(&edit)?;
    let text = text + &drop_in(&after, &run.id, &trials.finding.subject);
    Some(Remedy { text, edit })
}

fn both_ends(trials: &mut Trials<'_>, run: &Run, wired: &Loop) -> Option<Remedy> {
    if wired.path == LoopPath::Returned || wired.ceiling.is_empty() {
        return None;
    }
    let verb = if wired.path.returns() { "land the return of" } else { "bring back and land" };
    let text = format!("{verb} loop {}, like to like", wired.id);
    remedy(trials, run, text, set(Kind::Cable, &wired.id, "path", "Returned"))
}

/// The next heavier gauge that helps: a type of the catalogue if it has one, else one like the present by the table.
fn heavier(trials: &mut Trials<'_>, run: &Run, cable: &Cable<'_>) -> Option<Remedy> {
    let now = cable.part.gauge.get();
    let types = &trials.design.job.catalogue.cables;
    for gauge in GAUGES.into_iter().filter(|&gauge| gauge < now) {
        let like = |part: &&CableType| {
            part.gauge.get() == gauge
                && part.conductors == cable.part.conductors
                && part.metal == cable.part.metal
        };
        let known = types.iter().find(like);
        let plan = cable.plan.map_or_else(String::new, |plan| plan.id.to_string());
        let edit = if let Some(part) = known {
            Edit::Together(vec![
                set(Kind::Cable, cable.id, "plan", plan),
                set(Kind::Cable, cable.id, "cable", part.id.as_str()),
            ])
        } else {
            let mut part = cable.part.clone();
            part.id = Id::new(&format!("AWG{gauge}-{}", part.id)).ok()?;
            part.gauge = std::num::NonZeroU8::new(gauge)?;
            part.reels.clear();
            Edit::Together(vec![
                Edit::Insert {
                    kind: Kind::CableType,
                    parent: None,
                    at: types.len(),
                    value: serde_json::to_value(&part).ok()?,
                },
                set(Kind::Cable, cable.id, "cable", part.id.as_str()),
            ])
        };
        let text = format!("use {gauge} AWG for {} {}", cable.called, cable.id);
        if let Some(found) = remedy(trials, run, text, edit) {
            return Some(found);
        }
    }
    None
}

/// Spare conductors put to the side that has fewer, the positive first.
fn doubled(trials: &mut Trials<'_>, run: &Run, cable: &Cable<'_>) -> Option<Remedy> {
    let plan = cable.plan?;
    let mut more = plan.clone();
    let mut used = Vec::new();
    for at in 0..more.conductors.len() {
        if more.conductors[at].function == Function::Spare {
            let side = if more.count(Function::Positive) <= more.count(Function::Negative) {
                Function::Positive
            } else {
                Function::Negative
            };
            more.conductors[at].function = side;
            used.push(format!("{} as {}", more.conductors[at].name, side.word()));
        }
    }
    if used.is_empty() {
        return None;
    }
    more.id = Id::new(&format!("{}-doubled", plan.id)).ok()?;
    let edit = Edit::Together(vec![
        Edit::Insert {
            kind: Kind::ConductorPlan,
            parent: None,
            at: trials.design.job.catalogue.plans.len(),
            value: serde_json::to_value(&more).ok()?,
        },
        set(Kind::Cable, cable.id, "plan", more.id.as_str()),
    ]);
    let text = format!("use the spare conductors of {} {}, {}", cable.called, cable.id, used.join(" and "));
    remedy(trials, run, text, edit)
}

/// The longest home run that helps, rounded down to a foot or a tenth of a metre.
fn shorter(trials: &mut Trials<'_>, run: &Run) -> Option<Remedy> {
    let design = trials.design;
    let at = run.feeds.first()?;
    let wall_box = &design.job.boxes[at.wall_box];
    let feed = &wall_box.feeds[at.feed];
    let now = crate::network::Lengths::new(&design.job, &design.index).feed(wall_box, feed)?.length;
    let units = design.job.project.units;
    let step = match units {
        LengthUnit::Feet => 3_048_000,
        LengthUnit::Metres => 1_000_000,
    };
    let edit = |steps: i64| {
        set(Kind::Cable, &feed.id, "measured", json!(Length::from_ticks(steps * step, units).written()))
    };
    // Up to `low` steps it helps, from `high` on it doesn't: a shorter home run never raises a drop.
    let (mut low, mut high) = (0, (now.ticks() - 1) / step + 1);
    while high - low > 1 {
        let middle = i64::midpoint(low, high);
        let helps = trials.cleared(&edit(middle)).is_some();
        *(if helps { &mut low } else { &mut high }) = middle;
    }
    if low == 0 {
        return None;
    }
    let text =
        format!("shorten home run {} to {}", feed.id, Length::from_ticks(low * step, units).shown(units));
    remedy(trials, run, text, edit(low))
}

/// The last lights of a loop, or of the run's longest loop, taken off one by one until it helps.
pub(super) fn fewer_lights(trials: &mut Trials<'_>) -> Option<Remedy> {
    let design = trials.design;
    let run = run_of(design, &trials.finding.subject)?;
    let wired = loop_of(design, &trials.finding.subject).or_else(|| {
        let controls = run.controls.iter();
        let loops = controls.flat_map(|(_, at)| &design.job.boxes[at.wall_box].controls[at.control].loops);
        loops.max_by_key(|wired| wired.ceiling.len())
    })?;
    let held: Vec<_> = wired.ceiling.iter().rev().filter(|c| c.fixture.is_some()).collect();
    let edit = |count: usize| {
        Edit::Together(
            held.iter().take(count).map(|c| set(Kind::Fixture, &c.id, "fixture", json!(null))).collect(),
        )
    };
    // Fewer lights never raise a drop or the volts of a string; all of them off is no remedy.
    let (mut low, mut high) = (0, held.len());
    while high - low > 1 {
        let middle = usize::midpoint(low, high);
        let helps = trials.cleared(&edit(middle)).is_some();
        *(if helps { &mut high } else { &mut low }) = middle;
    }
    if high == held.len() || high == 0 {
        return None;
    }
    let names: Vec<String> = held.iter().take(high).map(|c| c.id.to_string()).collect();
    let watts: f64 = held
        .iter()
        .take(high)
        .filter_map(|c| design.index.fixture_type(&design.job, c.fixture.as_ref()?))
        .map(|part| match part.load {
            crate::job::catalogue::Load::Power { watts, .. }
            | crate::job::catalogue::Load::Resistance { watts, .. } => watts.get(),
            _ => 0.0,
        })
        .sum();
    let off = if watts > 0.0 { format!("{} ", format::watts(Some(watts))) } else { String::new() };
    let many = if names.len() > 3 {
        format!("{} to {}", names[0], names[names.len() - 1])
    } else {
        names.join(", ")
    };
    remedy(trials, run, format!("move {off}off loop {}: {many}", wired.id), edit(high))
}
