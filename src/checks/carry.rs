//! What conductors carry, loops with an end off, and lights in wet places.

use super::electrical::drop_limit;
use super::finding::{Finding, Unit};
use super::place::highest_volts;
use super::{Seen, Severity, list};
use crate::format;
use crate::job::catalogue::{CableType, Function, Load};
use crate::job::house::Exposure;
use crate::job::open::held;
use crate::job::wiring::{Loop, LoopPath};
use crate::job::{Id, Job, Kind, Spot, Subject};
use crate::network::ControlAt;
use crate::standards::{ampacity, class2};
use crate::study::{EndOff, Of, Pick, RunStudy, either_end};

/// Amps in each conductor of a cable against those of a fixture wire.
pub(super) fn amps(seen: Seen<'_>, study: &RunStudy, findings: &mut Vec<Finding>) {
    let share = seen.job.settings.conductor_amps_percent.get() / 100.0;
    for (at, cable) in study.cables.iter().enumerate() {
        let (Some(amps), Some((part, plan))) = (cable.amps, cable_of(seen, &cable.id)) else { continue };
        let plan = plan.and_then(|plan| seen.index.plan(seen.job, plan));
        let sides = plan.map(|plan| plan.count(Function::Positive).min(plan.count(Function::Negative)));
        #[expect(clippy::cast_precision_loss, reason = "a count of conductors is small")]
        let each = amps / sides.unwrap_or(1).max(1) as f64;
        // A gauge below the table has no limit that anyone published for it; nothing is claimed about it.
        let Some(limit) = ampacity::fixture_wire_amps(part.gauge.get()).map(|limit| limit * share) else {
            continue;
        };
        if each > limit {
            findings.push(
                seen.find(
                    &list::CONDUCTOR_AMPS,
                    Subject::new(Kind::Cable, &cable.id),
                    format!(
                        "a {} AWG conductor of {} carries {}",
                        part.gauge,
                        cable.id,
                        format::amps(Some(each))
                    ),
                    "double its conductors, use a heavier cable, or move lights off it",
                )
                .figures(each, limit, Unit::Amps)
                .over(study.range(Of::CableAmps(at)), false),
            );
        }
    }
}

/// The type and the plan of a feed or a loop.
fn cable_of<'a>(seen: Seen<'a>, id: &Id) -> Option<(&'a CableType, Option<&'a Id>)> {
    let (cable, plan) = if let Some((_, feed)) = seen.index.feed(seen.job, id) {
        (&feed.cable, &feed.plan)
    } else {
        let Spot::Loop { wall_box, control, at } = seen.index.spot(Kind::Cable, id)? else { return None };
        let wired = &seen.job.boxes[wall_box].controls[control].loops[at];
        (&wired.cable, &wired.plan)
    };
    let part = seen.index.cable_type(seen.job, cable)?;
    Some((part, Some(plan.as_ref().unwrap_or(&part.plan))))
}

/// Loops fed from both ends hide a break: their lowest light with either end off.
pub(super) fn ends(seen: Seen<'_>, study: &RunStudy, findings: &mut Vec<Finding>) {
    let has_both = |&&(_, at): &&(usize, ControlAt)| {
        let both = |wired: &Loop| wired.path == LoopPath::Returned && !wired.ceiling.is_empty();
        seen.control_at(at).loops.iter().any(both)
    };
    if seen.network.runs[study.run].controls.iter().find(has_both).is_none() {
        return;
    }
    let mut worst: Vec<Finding> = Vec::new();
    let mut see = |job: &Job, choice: &dyn Fn() -> Vec<Pick>| {
        for end in either_end(job, seen.index, seen.network, study.run) {
            let Some(finding) = one_end(seen, study, job, end) else { continue };
            let off = |known: &Finding| (known.subject == finding.subject) && known.remedy == finding.remedy;
            // Of each end the choice that is farthest beyond its limit speaks; none is worse than no solution.
            let beyond = |finding: &Finding| finding.found.map_or(f64::INFINITY, |_| finding.excess());
            let rank = |finding: &Finding| (std::cmp::Reverse(finding.severity), beyond(finding));
            match worst.iter_mut().find(|known| off(known)) {
                Some(known) if rank(known) < rank(&finding) => *known = finding.with(&choice()),
                Some(_) => {}
                None => worst.push(finding.with(&choice())),
            }
        }
    };
    match seen.open_of(study) {
        Some(open) => open.each(seen.job, see),
        None => see(seen.job, &Vec::new),
    }
    findings.append(&mut worst);
}

/// A loop with one end off, where that is too much for it and it is not with both on.
fn one_end(seen: Seen<'_>, study: &RunStudy, job: &Job, end: EndOff) -> Option<Finding> {
    let (wall_box, wired) = seen.on(end.at);
    let subject = Subject::new(Kind::Cable, &wired.id);
    let off = if end.out_off { "OUT" } else { "returning" };
    let remedy =
        format!("size it to hold with its {off} end off, or cap the return and feed it from one end");
    let Some((light, percent)) = end.lowest else {
        let what = format!("loop {} carries its load no more once its {off} end is off", wired.id);
        return Some(seen.find(&list::EITHER_END, subject, what, remedy));
    };
    let on = &job.boxes[end.at.control.wall_box].controls[end.at.control.control].loops[end.at.at];
    let held = || held(job, seen.index, wall_box, on, &on.ceiling[light]);
    let held = || held().filter_map(|id| seen.index.fixture_type(job, id));
    let limit = held().map(|part| drop_limit(seen, part)).reduce(f64::min)?;
    // With an end off by a fault it is enough that every light still has its volts; more drop than planned is advice.
    let volts = study.source_volts.map(|source| source * (1.0 - percent / 100.0));
    let least = held().filter_map(|part| match part.load {
        Load::Power { volts: Some(range), .. } | Load::Current { volts: Some(range), .. } => {
            Some(range.least.get())
        }
        _ => None,
    });
    let starved = volts.zip(least.reduce(f64::max)).is_some_and(|(volts, least)| volts < least);
    let severity = if starved { Severity::Warning } else { Severity::Advice };
    // What is too much with both ends on is reported as that.
    if percent <= limit || end.with_both.is_none_or(|both| both > limit) {
        return None;
    }
    let what = format!(
        "with the {off} end of loop {} off, {} loses {}",
        wired.id,
        wired.ceiling[light].id,
        format::percent(Some(percent))
    );
    Some(seen.find(&list::EITHER_END, subject, what, remedy).rated(severity).figures(
        percent,
        limit,
        Unit::Percent,
    ))
}

/// Lights in wet places see at most the volts that may be touched there.
pub(super) fn wet(seen: Seen<'_>, study: &RunStudy, id: &Id, findings: &mut Vec<Finding>) {
    let Some(part) = seen.supply_of(study) else { return };
    let limit = if part.interrupted { class2::WET_INTERRUPTED_VOLTS } else { class2::WET_DC_VOLTS };
    let highest = highest_volts(part);
    for &(_, at) in &seen.network.runs[study.run].controls {
        let wall_box = &seen.job.boxes[at.wall_box];
        for wired in &seen.control_at(at).loops {
            let string = study.strings.iter().filter(|s| seen.loop_at(s.at).id == wired.id);
            let highest = string.map(|s| s.volts).fold(highest, f64::max);
            for ceiling in &wired.ceiling {
                let room = ceiling.room.as_ref().unwrap_or(&wall_box.room);
                let wet = seen.index.room(seen.job, room).is_some_and(|(_, r)| r.exposure == Exposure::Wet);
                let lit = seen.lit(wall_box, wired, ceiling);
                if wet && lit && highest > limit {
                    findings.push(
                        seen.find(
                            &list::WET_VOLTS,
                            Subject::new(Kind::Fixture, &ceiling.id),
                            format!(
                                "{} is in a wet place on {} of run {id}",
                                ceiling.id,
                                format::volts(Some(highest))
                            ),
                            "put it on an output of fewer volts, or wire it by the rules of Class 3",
                        )
                        .figures(highest, limit, Unit::Volts)
                        .caused_by(Subject::new(Kind::Cable, &wired.id)),
                    );
                }
            }
        }
    }
}
