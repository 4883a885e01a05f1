//! What has to be entered for a figure to be known, each tried with a figure that could stand there.

use super::mend::control_of;
use super::{Remedy, Trials, set};
use crate::format;
use crate::job::catalogue::{Drive, LinkKind, SupplyType};
use crate::job::edit::Edit;
use crate::job::wiring::CeilingBox;
use crate::job::{Kind, Spot};
use crate::units::Volts;

pub(super) fn remedies(trials: &mut Trials<'_>) -> Vec<Remedy> {
    let found = match trials.finding.code {
        "ac-unknown" => supplies(trials),
        "light-unknown" => light(trials),
        "string-unknown" => volts(trials),
        "isolation" => isolated(trials),
        "class-2-output" => rated(trials),
        _ => None,
    };
    found.into_iter().collect()
}

/// The fields of the panel's supply types that are missing.
fn supplies(trials: &mut Trials<'_>) -> Option<Remedy> {
    let Spot::Panel(at) = trials.spot()? else { return None };
    let design = trials.design;
    let panel = design.job.panels.get(at)?;
    let of = |part: &&SupplyType| panel.supplies.iter().any(|supply| supply.part.same(&part.id));
    let (mut edits, mut words) = (Vec::new(), Vec::new());
    for part in design.job.catalogue.supplies.iter().filter(of) {
        let missing = [
            ("efficiency_percent", "efficiency", part.efficiency_percent.is_none(), 100.0),
            ("power_factor", "power factor", part.power_factor.is_none(), 1.0),
        ];
        for (field, word, _, stand_in) in missing.into_iter().filter(|(_, _, missing, _)| *missing) {
            edits.push(set(Kind::SupplyType, &part.id, field, stand_in));
            words.push(format!("the {word} of {}", part.id));
        }
    }
    if words.is_empty() {
        return None;
    }
    trials.plain(format!("enter {} from the data sheet", words.join(" and ")), Edit::Together(edits))
}

/// The room's area, and the lumens of its fixtures.
fn light(trials: &mut Trials<'_>) -> Option<Remedy> {
    let Spot::Room { level, room } = trials.spot()? else { return None };
    let design = trials.design;
    let room = design.job.levels.get(level)?.rooms.get(room)?;
    let study = design.study.rooms.iter().find(|study| study.room.same(&room.id))?;
    let (mut edits, mut words) = (Vec::new(), Vec::new());
    // Stand-ins that make any room light enough.
    if room.square_metres().is_none() {
        edits.push(set(Kind::Room, &room.id, "area", "0.0001 m2"));
        words.push(format!("the area of {}", room.id));
    }
    let held = study.lights.iter().map(|&(at, ceiling)| -> (&crate::job::wiring::WallBox, _, &CeilingBox) {
        let wall_box = &design.job.boxes[at.control.wall_box];
        let wired = &wall_box.controls[at.control.control].loops[at.at];
        (wall_box, wired, &wired.ceiling[ceiling])
    });
    let mut parts: Vec<_> = held
        .flat_map(|(wall_box, wired, held)| {
            crate::job::open::held(&design.job, &design.index, wall_box, wired, held).collect::<Vec<_>>()
        })
        .filter_map(|id| design.index.fixture_type(&design.job, id))
        .filter(|part| part.lumens.is_none())
        .map(|part| &part.id)
        .collect();
    parts.sort();
    parts.dedup();
    for part in parts {
        edits.push(set(Kind::FixtureType, part, "lumens", 1e6));
        words.push(format!("the lumens of {part} from its data sheet"));
    }
    trials.plain(format!("enter {}", words.join(" and ")), Edit::Together(edits))
}

/// The volts that the control would have to give.
fn volts(trials: &mut Trials<'_>) -> Option<Remedy> {
    let design = trials.design;
    let control = control_of(trials)?;
    let part = design.index.control_type(&design.job, &control.part)?;
    let Drive::Current { most_volts: None, .. } = part.drive else { return None };
    let mine = |string: &&crate::study::StringStudy| {
        let at = string.control;
        design.job.boxes[at.wall_box].controls[at.control].part.same(&part.id)
    };
    let strings = design.study.parts.iter().flat_map(|part| &part.runs).flat_map(|run| &run.strings);
    let needs = strings.filter(mine).map(|string| string.volts).reduce(f64::max)?;
    let needs = (needs * 10.0 - 1e-9).ceil() / 10.0;
    let mut drive = part.drive;
    let Drive::Current { most_volts, .. } = &mut drive else { return None };
    *most_volts = Some(Volts::new(needs).ok()?);
    let text = format!(
        "enter most_volts or headroom_volts of {} from its data sheet: {} or more is enough",
        part.id,
        format::volts(Some(needs))
    );
    trials.plain(text, set(Kind::ControlType, &part.id, "drive", serde_json::to_value(drive).ok()?))
}

/// That the link of the controls at its ends is isolated, if it is.
fn isolated(trials: &mut Trials<'_>) -> Option<Remedy> {
    let Spot::Link { group, link } = trials.spot()? else { return None };
    let design = trials.design;
    let link = design.job.groups.get(group)?.links.get(link)?;
    let part = |end| {
        let (_, control) = design.index.control(&design.job, end)?;
        design.index.control_type(&design.job, &control.part)
    };
    let mut unsaid: Vec<_> = [&link.from, &link.to]
        .into_iter()
        .filter_map(part)
        .filter(|part| part.link.is_none())
        .map(|part| &part.id)
        .collect();
    unsaid.dedup();
    unsaid.into_iter().find_map(|id| {
        let edit = set(Kind::ControlType, id, "link", serde_json::to_value(LinkKind::Isolated).ok()?);
        trials.plain(format!("state that the link of {id} is isolated, if its data sheet says so"), edit)
    })
}

/// What the nameplate may say at most.
fn rated(trials: &mut Trials<'_>) -> Option<Remedy> {
    let limit = trials.finding.limit?;
    let id = trials.finding.subject.id.clone();
    let text = format!(
        "use a supply whose nameplate says {} or less, or enter that of {id}",
        format::watts(Some(limit))
    );
    trials.plain(text, set(Kind::SupplyType, id, "output_watts", limit))
}
