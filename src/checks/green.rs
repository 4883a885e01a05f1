//! Green conductors: whose color is the ground's, but for cables of few volts.

use super::finding::Unit;
use super::place::highest_volts;
use super::{Finding, Seen, list};
use crate::format;
use crate::job::catalogue::{CableType, Function};
use crate::job::{Edition, Id, Kind, Subject};
use crate::study::RunStudy;

/// The volts below which a Class 2 cable may use green for any purpose, on equipment that needs no ground: NEC 250.119
/// exception 1, 50 V in 2017 (2020 the same, from memory), 60 V dc in 2023.
pub(super) const fn free_below(edition: Edition) -> f64 {
    match edition {
        Edition::Nec2017 | Edition::Nec2020 => 50.0,
        Edition::Nec2023 => 60.0,
    }
}

/// The home run and the loops of a run by the colors of their conductors.
pub(super) fn check(seen: Seen<'_>, study: &RunStudy, findings: &mut Vec<Finding>) {
    let Some(supply) = seen.supply_of(study).map(highest_volts) else { return };
    let run = &seen.network.runs[study.run];
    for at in &run.feeds {
        let feed = &seen.job.boxes[at.wall_box].feeds[at.feed];
        cable(seen, &feed.id, (&feed.cable, feed.plan.as_ref()), supply, findings);
    }
    for &(_, at) in &run.controls {
        for wired in &seen.control_at(at).loops {
            let strings = study.strings.iter().filter(|string| seen.loop_at(string.at).id == wired.id);
            let volts = strings.map(|string| string.volts).fold(supply, f64::max);
            cable(seen, &wired.id, (&wired.cable, wired.plan.as_ref()), volts, findings);
        }
    }
}

fn cable(seen: Seen<'_>, id: &Id, (part, plan): (&Id, Option<&Id>), volts: f64, findings: &mut Vec<Finding>) {
    let limit = free_below(seen.job.settings.code_edition);
    if volts < limit {
        return;
    }
    let part: Option<&CableType> = seen.index.cable_type(seen.job, part);
    let Some(plan) = part.and_then(|part| seen.index.plan(seen.job, plan.unwrap_or(&part.plan))) else {
        return;
    };
    let is_green = |name: &str| name.split_whitespace().any(|word| word.eq_ignore_ascii_case("green"));
    let used = |function: Function| !matches!(function, Function::Ground | Function::Spare);
    for conductor in plan.conductors.iter().filter(|c| is_green(&c.name) && used(c.function)) {
        findings.push(
            seen.find(
                &list::GREEN_WIRE,
                Subject::new(Kind::Cable, id),
                format!(
                    "the green conductor of {id} is its {} at up to {}",
                    conductor.function.word(),
                    format::volts(Some(volts))
                ),
                format!("use another conductor, or less than {} at no load", format::volts(Some(limit))),
            )
            .figures(volts, limit, Unit::Volts)
            .caused_by(Subject::new(Kind::ConductorPlan, &plan.id)),
        );
    }
}
