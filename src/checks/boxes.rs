//! Boxes: gangs, fill, and line voltage beside Class 2.

use super::finding::{Finding, Unit};
use super::{Seen, Severity, list};
use crate::format::Quantity;
use crate::job::catalogue::{BoxType, Function};
use crate::job::wiring::{Control, Feed, Loop, Source, WallBox};
use crate::job::{Id, Index, Job, Kind, Spot, Subject};
use crate::network::{FeedAt, Network};
use crate::standards::box_fill::Fill;
use crate::study::Study;

/// Cubic inches in a cubic metre: 0.0254 m is an inch exactly.
const CUBIC_INCHES: f64 = 1.0 / 0.000_016_387_064;

/// A wall box and the ceiling boxes of its loops.
pub(super) fn check(seen: Seen<'_>, at: usize, findings: &mut Vec<Finding>) {
    let Some(wall_box) = seen.job.boxes.get(at) else { return };
    let part = |id: &Option<Id>| {
        let id = id.as_ref()?;
        seen.job.catalogue.boxes.iter().find(|entry| entry.id.same(id))
    };
    let subject = Subject::new(Kind::WallBox, &wall_box.id);
    let part_of = part(&wall_box.part);
    if wall_box.line.is_some() && part_of.is_none_or(|part| part.class_2_volume.is_none()) {
        findings.push(seen.find(
            &list::BOX_BARRIER,
            subject.clone(),
            format!("line voltage and Class 2 share wall box {}, and nothing fixed parts them", wall_box.id),
            "use a box with a listed barrier and enter its class_2_volume, or a box for each",
        ));
    }
    if let Some(part) = part_of {
        gangs(seen, wall_box, part, &subject, findings);
        let shared = wall_box.line.is_some() && part.class_2_volume.is_none();
        let severity = if shared { Severity::Error } else { Severity::Advice };
        if let Some(fill) = wall_fill(seen, wall_box, part) {
            judge(seen, &fill, part, &subject, severity, findings);
        }
    }
    for wired in wall_box.controls.iter().flat_map(|control| &control.loops) {
        for (at, ceiling) in wired.ceiling.iter().enumerate() {
            let Some(part) = part(&ceiling.part) else { continue };
            let Some(fill) = ceiling_fill(seen, wired, at, part) else { continue };
            let subject = Subject::new(Kind::Fixture, &ceiling.id);
            judge(seen, &fill, part, &subject, Severity::Advice, findings);
        }
    }
}

/// What is in a wall box or a ceiling box, as it is counted for its fill.
pub fn box_fill(
    (job, index, network, study): (&Job, &Index, &Network, &Study),
    subject: &Subject,
) -> Option<Fill> {
    let seen = Seen { job, index, network, study };
    let part = |id: &Option<Id>| {
        let id = id.as_ref()?;
        job.catalogue.boxes.iter().find(|entry| entry.id.same(id))
    };
    match index.spot(subject.kind, &Id::new(&subject.id).ok()?)? {
        Spot::WallBox(at) => {
            let wall_box = job.boxes.get(at)?;
            wall_fill(seen, wall_box, part(&wall_box.part)?)
        }
        Spot::Ceiling { wall_box, control, at, ceiling } => {
            let wired = job.boxes.get(wall_box)?.controls.get(control)?.loops.get(at)?;
            ceiling_fill(seen, wired, ceiling, part(&wired.ceiling.get(ceiling)?.part)?)
        }
        _ => None,
    }
}

fn gangs(seen: Seen<'_>, wall_box: &WallBox, part: &BoxType, subject: &Subject, findings: &mut Vec<Finding>) {
    // What is still open is reckoned with the widest.
    let widest = |control: &Control| seen.types(control).iter().map(|part| part.gangs.get()).max();
    let taken: usize = wall_box.controls.iter().filter_map(widest).map(usize::from).sum();
    if taken > usize::from(part.gangs) {
        findings.push(
            seen.find(
                &list::GANGS,
                subject.clone(),
                format!("the controls of wall box {} take {taken} gangs; it has {}", wall_box.id, part.gangs),
                "use a wider box, or split the controls over two",
            )
            .counts(taken, usize::from(part.gangs)),
        );
    }
}

fn judge(
    seen: Seen<'_>,
    fill: &Fill,
    part: &BoxType,
    subject: &Subject,
    severity: Severity,
    findings: &mut Vec<Finding>,
) {
    let volume = part.class_2_volume.or(part.volume).map(|volume| volume.si() * CUBIC_INCHES);
    let taken = fill.cubic_inches(seen.job.settings.code_edition);
    let Some((taken, volume)) = taken.zip(volume) else { return };
    // A volume in cm³ comes back from m³ with its last bits astray.
    if taken > volume * (1.0 + 1e-9) {
        let shown = Quantity::CubicInches.shown(Some(taken));
        let has = Quantity::CubicInches.shown(Some(volume));
        let binding =
            if severity == Severity::Advice { "; good practice where only Class 2 is in it" } else { "" };
        findings.push(
            seen.find(
                &list::BOX_FILL,
                subject.clone(),
                format!("{subject} holds {shown} as counted; its box has {has}{binding}"),
                format!("use a box of {shown} or more"),
            )
            .rated(severity)
            .figures(taken, volume, Unit::CubicInches),
        );
    }
}

/// Adds the conductors of one end of a cable. A spare one counts: it enters the box too.
fn add_cable(seen: Seen<'_>, fill: &mut Fill, cable: &Id, plan: Option<&Id>, ends: u32) -> Option<u8> {
    let part = seen.index.cable_type(seen.job, cable)?;
    let gauge = part.gauge.get();
    let plan = seen.index.plan(seen.job, plan.unwrap_or(&part.plan));
    let grounds = plan.map_or(0, |plan| plan.count(Function::Ground));
    let grounds = u32::try_from(grounds).unwrap_or(0).min(u32::from(part.conductors.get()));
    let others = u32::from(part.conductors.get()) - grounds;
    fill.conductors.push((gauge, others * ends));
    if grounds > 0 {
        fill.grounds.push((gauge, grounds * ends));
    }
    Some(gauge)
}

fn base(part: &BoxType) -> Fill {
    Fill { internal_clamps: part.internal_clamps, stud_kinds: u32::from(part.stud_kinds), ..Fill::default() }
}

/// The feeds that go onward from a feed. They are part of its run; only where it is of none the whole job is gone through.
fn onward<'a>(seen: Seen<'a>, feed: &'a Id) -> impl Iterator<Item = &'a Feed> {
    let at = match seen.index.spot(Kind::Cable, feed) {
        Some(Spot::Feed { wall_box, feed }) => seen.network.run_of_feed.get(&FeedAt { wall_box, feed }),
        _ => None,
    };
    let run = at.and_then(|&(run, _)| seen.network.runs.get(run));
    let of_run = run.map(|run| run.feeds.as_slice()).unwrap_or_default();
    let of_run = of_run.iter().filter_map(|at| seen.job.boxes.get(at.wall_box)?.feeds.get(at.feed));
    let everywhere = seen.job.boxes.iter().filter(move |_| run.is_none()).flat_map(|other| &other.feeds);
    let from_it = |further: &&Feed| matches!(&further.from, Source::Onward(from) if from.same(feed));
    of_run.chain(everywhere).filter(from_it)
}

/// What is in a wall box, or on its Class 2 side; `None` if a cable type is missing.
fn wall_fill(seen: Seen<'_>, wall_box: &WallBox, part: &BoxType) -> Option<Fill> {
    let mut fill = base(part);
    for feed in &wall_box.feeds {
        add_cable(seen, &mut fill, &feed.cable, feed.plan.as_ref(), 1)?;
        // What goes onward from it to other boxes is spliced here.
        for further in onward(seen, &feed.id) {
            add_cable(seen, &mut fill, &further.cable, further.plan.as_ref(), 1)?;
        }
    }
    for control in &wall_box.controls {
        let mut gauge: Option<u8> = None;
        for wired in &control.loops {
            let ends = if wired.path.returns() { 2 } else { 1 };
            let wire = add_cable(seen, &mut fill, &wired.cable, wired.plan.as_ref(), ends)?;
            gauge = Some(gauge.map_or(wire, |largest| largest.min(wire)));
        }
        for link in seen.job.groups.iter().flat_map(|group| &group.links) {
            if link.from.same(&control.id) || link.to.same(&control.id) {
                add_cable(seen, &mut fill, &link.cable, link.plan.as_ref(), 1)?;
            }
        }
        let gangs = seen.types(control).iter().map(|part| part.gangs.get()).max()?;
        // The feed lands on the control too; the lower gauge number is the larger conductor.
        let feed = wall_box.feeds.first().and_then(|feed| seen.index.cable_type(seen.job, &feed.cable));
        let largest = gauge.into_iter().chain(feed.map(|part| part.gauge.get())).min();
        fill.yokes.push((largest.unwrap_or(18), u32::from(gangs)));
    }
    // Behind a barrier the line side is a box of its own.
    if let Some(line) = wall_box.line.filter(|_| part.class_2_volume.is_none()) {
        fill.conductors.push((line.gauge.get(), u32::from(line.conductors)));
        fill.grounds.push((line.gauge.get(), u32::from(line.grounds)));
        fill.yokes.push((line.gauge.get(), u32::from(line.yokes)));
    }
    Some(fill)
}

/// What is in a ceiling box: the loop's tail in, and its tail onward or back. The fixture's own leads are not counted:
/// a box with a canopy may leave out up to four that are smaller than 14 AWG (314.16(B)(1), exception).
fn ceiling_fill(seen: Seen<'_>, wired: &Loop, at: usize, part: &BoxType) -> Option<Fill> {
    let mut fill = base(part);
    let last = at + 1 == wired.ceiling.len() && !wired.path.returns();
    add_cable(seen, &mut fill, &wired.cable, wired.plan.as_ref(), if last { 1 } else { 2 })?;
    Some(fill)
}
