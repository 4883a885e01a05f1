//! Against drop and collapse: heavier or doubled conductors, a shorter way, both ends, fewer lights.

use super::{Remedy, Trials, set};
use crate::design::Design;
use crate::format;
use crate::job::catalogue::{CableType, ConductorPlan, Function, Load};
use crate::job::edit::Edit;
use crate::job::wiring::{Loop, LoopPath};
use crate::job::{Id, Kind, Spot, Subject};
use crate::network::{ControlAt, FeedAt, LoopAt, Run};
use crate::units::{Length, LengthUnit};
use serde_json::json;

/// The gauges of NEC chapter 9 table 8 from 18 AWG up, each heavier than the one before.
pub(super) const GAUGES: [u8; 5] = [18, 16, 14, 12, 10];

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
    if !trials.closed() {
        let cables = cables(design, run, &trials.finding.subject);
        found.extend(cables.iter().find_map(|cable| doubled(trials, run, cable)));
        let one = cables.iter().find_map(|cable| heavier(trials, run, cable));
        found.extend(one.or_else(|| all_heavier(trials, run, &cables)));
        found.extend(shorter(trials, run));
    }
    found.extend(fewer_lights(trials));
    found
}

/// The run that a cable or a light belongs to.
pub(super) fn run_of<'a>(design: &'a Design, subject: &Subject) -> Option<&'a Run> {
    let id = Id::new(&subject.id).ok()?;
    let run = match design.index.spot(subject.kind, &id)? {
        Spot::Feed { wall_box, feed } => design.network.run_of_feed.get(&FeedAt { wall_box, feed })?.0,
        Spot::Control { wall_box, control }
        | Spot::Loop { wall_box, control, .. }
        | Spot::Ceiling { wall_box, control, .. } => {
            *design.network.run_of_control.get(&ControlAt { wall_box, control })?
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
pub(super) fn drop_in(after: &Design, run: &Id, subject: &Subject) -> String {
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
    let subject = &trials.finding.subject;
    trials.told(edit, |after| text + &drop_in(after, &run.id, subject))
}

fn both_ends(trials: &mut Trials<'_>, run: &Run, wired: &Loop) -> Option<Remedy> {
    if wired.path == LoopPath::Returned || wired.ceiling.is_empty() {
        return None;
    }
    let verb = if wired.path.returns() { "land the return of" } else { "bring back and land" };
    let text = format!("{verb} loop {}, like to like", wired.id);
    remedy(trials, run, text, set(Kind::Cable, &wired.id, "path", "Returned"))
}

/// The next heavier gauge that helps.
fn heavier(trials: &mut Trials<'_>, run: &Run, cable: &Cable<'_>) -> Option<Remedy> {
    let now = cable.part.gauge.get();
    GAUGES.into_iter().filter(|&gauge| gauge < now).find_map(|gauge| {
        let edits = of_gauge(trials.design, cable, gauge)?;
        let text = format!("use {gauge} AWG for {} {}", cable.called, cable.id);
        remedy(trials, run, text, Edit::Together(edits))
    })
}

/// A type like the cable's of another gauge: one of the catalogue if it has one, else one by the table; with the edits
/// that lay it.
fn of_gauge(design: &Design, cable: &Cable<'_>, gauge: u8) -> Option<Vec<Edit>> {
    let types = &design.job.catalogue.cables;
    let like = |part: &&CableType| {
        part.gauge.get() == gauge
            && part.conductors == cable.part.conductors
            && part.metal == cable.part.metal
    };
    if let Some(part) = types.iter().find(like) {
        let plan = cable.plan.map_or_else(String::new, |plan| plan.id.to_string());
        return Some(vec![
            set(Kind::Cable, cable.id, "plan", plan),
            set(Kind::Cable, cable.id, "cable", part.id.as_str()),
        ]);
    }
    let mut part = cable.part.clone();
    part.id = Id::new(&format!("AWG{gauge}-{}", part.id)).ok()?;
    part.gauge = std::num::NonZeroU8::new(gauge)?;
    part.reels.clear();
    let insert = Edit::Insert {
        kind: Kind::CableType,
        parent: None,
        at: types.len(),
        value: serde_json::to_value(&part).ok()?,
    };
    Some(vec![insert, set(Kind::Cable, cable.id, "cable", part.id.as_str())])
}

/// The next heavier gauge that helps for the home run and the longest loops together.
fn all_heavier(trials: &mut Trials<'_>, run: &Run, cables: &[Cable<'_>]) -> Option<Remedy> {
    let design = trials.design;
    let mut all: Vec<Cable<'_>> = Vec::new();
    let loops =
        run.controls.iter().flat_map(|(_, at)| &design.job.boxes[at.wall_box].controls[at.control].loops);
    let home = cables.first()?;
    for wired in loops {
        if let Some(part) = design.index.cable_type(&design.job, &wired.cable) {
            let plan = design.index.plan(&design.job, wired.plan.as_ref().unwrap_or(&part.plan));
            all.push(Cable { id: &wired.id, part, plan, called: "loop" });
        }
    }
    let now = home.part.gauge.get();
    GAUGES.into_iter().filter(|&gauge| gauge < now).find_map(|gauge| {
        let mut edits = of_gauge(design, home, gauge)?;
        for cable in all.iter().filter(|cable| cable.part.gauge.get() > gauge) {
            // A type that is put into the catalogue is put there once.
            for edit in of_gauge(design, cable, gauge)? {
                if !edits.contains(&edit) {
                    edits.push(edit);
                }
            }
        }
        let text = format!("use {gauge} AWG for {} {} and its loops", home.called, home.id);
        remedy(trials, run, text, Edit::Together(edits))
    })
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
        let helps = trials.helps(&edit(middle));
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
    trials.moving = true;
    let found = fewest_off(trials);
    trials.moving = false;
    found
}

fn fewest_off(trials: &mut Trials<'_>) -> Option<Remedy> {
    let design = trials.design;
    let wired = loop_of(design, &trials.finding.subject);
    let alone = wired.and_then(|wired| off(trials, &[wired], &format!("loop {}", wired.id)));
    if wired.is_some() {
        return alone;
    }
    let one_control = match trials.spot() {
        Some(Spot::Control { wall_box, control }) => Some(ControlAt { wall_box, control }),
        _ => None,
    };
    let mine = |at: &ControlAt| one_control.is_none_or(|control| *at == control);
    for run in runs_of(design, &trials.finding.subject) {
        let controls = run.controls.iter().filter(|(_, at)| mine(at));
        let mut loops: Vec<&Loop> =
            controls.flat_map(|(_, at)| &design.job.boxes[at.wall_box].controls[at.control].loops).collect();
        loops.sort_by_key(|wired| std::cmp::Reverse(wired.ceiling.len()));
        let longest = *loops.first()?;
        // One loop shorter is less work than several.
        let found = off(trials, &[longest], &format!("loop {}", longest.id));
        if let Some(found) = found.or_else(|| off(trials, &loops, &format!("home run {}", run.id))) {
            return Some(found);
        }
    }
    None
}

/// The runs that a finding is about: of an output those on it, the heaviest first.
fn runs_of<'a>(design: &'a Design, subject: &Subject) -> Vec<&'a Run> {
    let mut outputs = design.study.outputs.iter().filter(|_| subject.kind == Kind::Output);
    let Some(output) = outputs.find(|study| study.output.to_string() == subject.id) else {
        return run_of(design, subject).into_iter().collect();
    };
    let watts = |run: usize| design.study.run(&design.network, run).and_then(|study| study.source_watts);
    let mut runs = output.runs.clone();
    runs.sort_by(|&a, &b| watts(b).unwrap_or(0.0).total_cmp(&watts(a).unwrap_or(0.0)));
    runs.into_iter().take(2).filter_map(|run| design.network.runs.get(run)).collect()
}

/// The fewest last lights off loops that help; not all of them.
fn off(trials: &mut Trials<'_>, loops: &[&Loop], of: &str) -> Option<Remedy> {
    let design = trials.design;
    let held: Vec<_> =
        loops.iter().flat_map(|wired| wired.ceiling.iter().rev()).filter(|c| c.fixture.is_some()).collect();
    let edit = |count: usize| {
        Edit::Together(
            held.iter().take(count).map(|c| set(Kind::Fixture, &c.id, "fixture", json!(null))).collect(),
        )
    };
    // Fewer lights never raise a drop or the volts of a string; all of them off is no remedy.
    let (mut low, mut high) = (0, held.len());
    while high - low > 1 {
        let middle = usize::midpoint(low, high);
        let helps = trials.helps(&edit(middle));
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
            Load::Power { watts, .. } | Load::Resistance { watts, .. } => watts.get(),
            _ => 0.0,
        })
        .sum();
    let off = if watts > 0.0 { format::watts(Some(watts)) } else { "lights".into() };
    let many = match names.as_slice() {
        [first, .., last] if names.len() > 3 => format!("{first} to {last}, {} lights", names.len()),
        _ => names.join(", "),
    };
    let subject = &trials.finding.subject;
    let run = run_of(design, subject).or_else(|| runs_of(design, subject).first().copied());
    let text = format!("move {off} off {of}: {many}");
    trials
        .told(edit(high), |after| text + &run.map(|run| drop_in(after, &run.id, subject)).unwrap_or_default())
}

/// Less lost in the home run, or in those of an output, the one with the most watts first.
pub(super) fn less_loss(trials: &mut Trials<'_>) -> Option<Remedy> {
    let design = trials.design;
    if trials.closed() {
        return None;
    }
    runs_of(design, &trials.finding.subject).into_iter().find_map(|run| {
        let cables = cables(design, run, &trials.finding.subject);
        let home = cables.first()?;
        doubled(trials, run, home).or_else(|| heavier(trials, run, home))
    })
}
