//! Rooms: brighter fixtures, more of them, some where there are none, and lights of a loop alike.

use super::cable::drop_in;
use super::{Remedy, Trials, set};
use crate::design::Design;
use crate::format::{self, Quantity};
use crate::job::catalogue::{FixtureColour, FixtureType, Load};
use crate::job::edit::Edit;
use crate::job::house::{Place, Room};
use crate::job::wiring::{CeilingBox, Loop};
use crate::job::{Id, Kind, Spot, Subject};
use crate::network::{ControlAt, LoopAt};
use crate::standards::light;
use crate::study::RoomStudy;
use crate::units::{Length, Lumens};
use serde_json::json;

/// As many lights as are tried to be added.
const MOST_MORE: usize = 12;

/// As many fixture types or loops as are tried of each.
const MOST_TRIED: usize = 6;

pub(super) fn remedies(trials: &mut Trials<'_>) -> Vec<Remedy> {
    let found = match trials.finding.code {
        "light-level" => vec![brighter(trials), more(trials)],
        "spacing" => vec![more(trials)],
        "room-dark" => vec![some(trials)],
        _ => Vec::new(),
    };
    found.into_iter().flatten().collect()
}

/// The room that a finding is about, or whose lights it is about.
fn room_of<'a>(trials: &Trials<'a>) -> Option<(&'a Room, &'a RoomStudy)> {
    let design = trials.design;
    let id = &trials.finding.cause.id;
    let id = if trials.finding.cause.kind == Kind::Room { id } else { &trials.finding.subject.id };
    let (_, room) = design.index.room(&design.job, &Id::new(id).ok()?)?;
    Some((room, design.study.rooms.iter().find(|study| study.room.same(&room.id))?))
}

fn loop_at(design: &Design, at: LoopAt) -> &Loop {
    &design.job.boxes[at.control.wall_box].controls[at.control.control].loops[at.at]
}

/// How light a room is in a design, in words.
fn lux_in(after: &Design, room: &Id) -> Option<String> {
    let study = after.study.rooms.iter().find(|study| study.room.same(room));
    Some(Quantity::Lux.shown(Some(study?.lux?)))
}

/// Several figures in brackets, those that are known.
fn bracketed(figures: [Option<String>; 3]) -> String {
    let known: Vec<String> = figures.into_iter().flatten().collect();
    if known.is_empty() { String::new() } else { format!(" ({})", known.join(", ")) }
}

/// The greatest drop on a loop in a design, in words.
fn drop_on(after: &Design, wired: &Id) -> Option<String> {
    let run = match after.index.spot(Kind::Cable, wired) {
        Some(Spot::Loop { wall_box, control, .. }) => {
            after.network.run_of_control.get(&ControlAt { wall_box, control })
        }
        _ => None,
    };
    let run = run.and_then(|&run| after.network.runs.get(run));
    let drop = drop_in(after, &run?.id, &Subject::new(Kind::Cable, wired));
    Some(drop.trim_matches([' ', '(', ')']).to_owned()).filter(|drop| !drop.is_empty())
}

/// The fixture with the fewest lumens of those that are enough, in all boxes of the room that hold one.
fn brighter(trials: &mut Trials<'_>) -> Option<Remedy> {
    let design = trials.design;
    let (room, study) = room_of(trials)?;
    let boxes: Vec<&CeilingBox> = study
        .lights
        .iter()
        .map(|&(at, ceiling)| &loop_at(design, at).ceiling[ceiling])
        .filter(|held| held.fixture.is_some())
        .collect();
    if boxes.is_empty() {
        return None;
    }
    let tunable = |id: &Id| {
        design.index.fixture_type(&design.job, id).is_some_and(|part| part.colour == FixtureColour::Tunable)
    };
    let all_tunable = boxes.iter().filter_map(|held| held.fixture.as_ref()).any(tunable);
    let fits =
        |part: &&FixtureType| part.lumens.is_some() && (part.colour == FixtureColour::Tunable) == all_tunable;
    let mut others: Vec<_> = design.job.catalogue.fixtures.iter().filter(fits).collect();
    let lumens = |part: &FixtureType| part.lumens.map_or(0.0, Lumens::get);
    others.sort_by(|a, b| lumens(a).total_cmp(&lumens(b)));
    others.into_iter().take(12).find_map(|part| {
        let edits = boxes.iter().map(|held| set(Kind::Fixture, &held.id, "fixture", part.id.as_str()));
        trials.told(Edit::Together(edits.collect()), |after| {
            let lux = bracketed([lux_in(after, &room.id), None, None]);
            format!("hang fixture {} in the {} lights of {}{lux}", part.id, boxes.len(), room.id)
        })
    })
}

/// The id of the nth ceiling box that is added.
fn nth_id(trials: &Trials<'_>, nth: usize) -> String {
    trials.free_id(Kind::Fixture, &format!("NEW{}-", nth + 1))
}

/// A ceiling box put into a loop.
fn added(wired: &Loop, at: usize, value: serde_json::Value) -> Edit {
    let parent = Some(Subject::new(Kind::Cable, &wired.id));
    Edit::Insert { kind: Kind::Fixture, parent, at, value }
}

fn middle(one: Place, other: Place) -> Place {
    let half = |a: Length, b: Length| a.shifted((b.ticks() - a.ticks()) / 2).unwrap_or(a);
    Place { x: half(one.x, other.x), y: half(one.y, other.y), height: one.height }
}

/// More lights of the kind that a loop of the room has, each halfway between two of them, the widest gaps first.
fn more(trials: &mut Trials<'_>) -> Option<Remedy> {
    let design = trials.design;
    if trials.closed() {
        return None;
    }
    let (room, study) = room_of(trials)?;
    let count = |wanted: LoopAt| study.lights.iter().filter(|(at, _)| *at == wanted).count();
    let at = study.lights.iter().map(|(at, _)| *at).max_by_key(|at| count(*at))?;
    let wired = loop_at(design, at);
    let mine: Vec<usize> = study.lights.iter().filter(|(on, _)| *on == at).map(|(_, held)| *held).collect();
    let mut gaps: Vec<(f64, usize, Place)> = mine
        .windows(2)
        .filter_map(|pair| {
            let [one, other] = [wired.ceiling[pair[0]].place?, wired.ceiling[pair[1]].place?];
            let across = [one.x.metres() - other.x.metres(), one.y.metres() - other.y.metres()];
            (pair[1] == pair[0] + 1).then(|| (across[0].hypot(across[1]), pair[1], middle(one, other)))
        })
        .collect();
    gaps.sort_by(|a, b| b.0.total_cmp(&a.0));
    let fixture = wired.ceiling[*mine.first()?].fixture.as_ref()?;
    (1..=gaps.len().min(MOST_MORE)).find_map(|count| {
        let mut places: Vec<&(f64, usize, Place)> = gaps.iter().take(count).collect();
        // From the end of the loop, so that each place in the list holds until it is its turn.
        places.sort_by_key(|(_, before, _)| std::cmp::Reverse(*before));
        let edits = places.iter().enumerate().map(|(nth, (_, before, place))| {
            let value = json!({
                "id": nth_id(trials, nth),
                "room": room.id.as_str(),
                "place": place,
                "fixture": fixture.as_str(),
            });
            added(wired, *before, value)
        });
        trials.told(Edit::Together(edits.collect()), |after| {
            let figures = bracketed([lux_in(after, &room.id), drop_on(after, &wired.id), None]);
            format!("hang {count} more {fixture} between those of loop {}{figures}", wired.id)
        })
    })
}

/// The fixture that hangs most often in the house, of those with lumens first; by its place in the catalogue.
pub(super) fn usual(design: &Design) -> Option<usize> {
    let boxes =
        design.job.boxes.iter().flat_map(|b| &b.controls).flat_map(|c| &c.loops).flat_map(|l| &l.ceiling);
    let held: Vec<&Id> = boxes.filter_map(|held| held.fixture.as_ref()).collect();
    let count = |part: &FixtureType| held.iter().filter(|id| id.same(&part.id)).count();
    let parts = design.job.catalogue.fixtures.iter().enumerate().filter(|(_, part)| part.lumens.is_some());
    let counted = parts.map(|(at, part)| (at, count(part))).filter(|(_, count)| *count > 0);
    counted.max_by_key(|(_, count)| *count).map(|(at, _)| at)
}

/// As many lights as the room's wish takes by the lumen method, on the loop of the level that has the most to spare.
///
/// Where its lights are to hang is not known, so that each is reckoned with a side of the room in cable, and the first
/// with the way back too.
fn some(trials: &mut Trials<'_>) -> Option<Remedy> {
    let design = trials.design;
    if trials.closed() {
        return None;
    }
    let (room, _) = room_of(trials)?;
    let (part, rule) = (trials.usual_fixture()?, &design.job.settings.light);
    let area = room.square_metres()?;
    let wish = room.illuminance.or(rule.illuminance).map(crate::units::Illuminance::si);
    let needs = wish.map(|lux| light::lumens(lux, rule.utilization.get(), rule.light_loss.get(), area));
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "held to what is tried, below"
    )]
    let count = needs.zip(part.lumens).map_or(1, |(needs, each)| (needs / each.get() - 1e-9).ceil() as usize);
    if count > MOST_MORE {
        return None;
    }
    let count = count.max(1);
    #[expect(clippy::cast_possible_truncation, reason = "a side of a room is far below 2^53 ticks")]
    let side = Length::round_up((area.sqrt() * 1e7) as i64, design.job.project.units);
    loops_near(design, room).into_iter().take(MOST_TRIED).find_map(|wired| {
        let last = wired.ceiling.last()?;
        let edits = (0..count).map(|nth| {
            let legs = if nth == 0 && wired.path.returns() { side.shifted(side.ticks()) } else { None };
            let value = json!({
                "id": nth_id(trials, nth),
                "room": room.id.as_str(),
                "place": last.place,
                "leg": legs.unwrap_or(side).written(),
                "fixture": part.id.as_str(),
            });
            added(wired, usize::MAX, value)
        });
        trials.told(Edit::Together(edits.collect()), |after| {
            let study = after.study.rooms.iter().find(|study| study.room.same(&room.id));
            let watts = study.and_then(|study| study.watts).map(|watts| format::watts(Some(watts)));
            let figures = bracketed([watts, lux_in(after, &room.id), drop_on(after, &wired.id)]);
            let side = side.shown(design.job.project.units);
            let what = format!("hang {count} {} in {}", part.id, room.id);
            format!("{what} on loop {}, with {side} of cable to each{figures}", wired.id)
        })
    })
}

/// Loops of the room's level that have lights, those of the run with the fewest watts first.
fn loops_near<'a>(design: &'a Design, room: &Room) -> Vec<&'a Loop> {
    let level = |id: &Id| design.index.room(&design.job, id).map(|(level, _)| level.id.clone());
    let here = level(&room.id);
    let mut found: Vec<(f64, &Loop)> = Vec::new();
    for (wall_box, of) in design.job.boxes.iter().enumerate().filter(|(_, of)| level(&of.room) == here) {
        for (control, entry) in of.controls.iter().enumerate() {
            let run = design.network.run_of_control.get(&ControlAt { wall_box, control });
            let study = run.and_then(|&run| design.study.run(&design.network, run));
            let Some(watts) = study.and_then(|study| study.source_watts) else { continue };
            let loops = entry.loops.iter().filter(|wired| !wired.ceiling.is_empty());
            found.extend(loops.map(|wired| (watts, wired)));
        }
    }
    found.sort_by(|a, b| a.0.total_cmp(&b.0));
    found.into_iter().map(|(_, wired)| wired).collect()
}

/// One fixture for all lights of a loop that are of another kind than it: one that hangs there already, the one that
/// changes the fewest first, or one of the catalogue.
pub(super) fn alike(trials: &mut Trials<'_>) -> Option<Remedy> {
    let design = trials.design;
    let Spot::Loop { wall_box, control, at } = trials.spot()? else { return None };
    let wired = loop_at(design, LoopAt { control: ControlAt { wall_box, control }, at });
    let colour = trials.finding.code == "mixed-colour";
    let kind = |part: &FixtureType| {
        if colour {
            part.colour == FixtureColour::Tunable
        } else {
            matches!(part.load, Load::Resistance { .. })
        }
    };
    let part_of = |held: &CeilingBox| design.index.fixture_type(&design.job, held.fixture.as_ref()?);
    let others = |part: &FixtureType| -> Vec<&Id> {
        let unlike = |held: &&CeilingBox| part_of(held).is_some_and(|held| kind(held) != kind(part));
        wired.ceiling.iter().filter(unlike).map(|held| &held.id).collect()
    };
    let hangs =
        |part: &FixtureType| wired.ceiling.iter().any(|held| part_of(held).is_some_and(|p| p.id == part.id));
    let mut parts: Vec<&FixtureType> = design.job.catalogue.fixtures.iter().collect();
    parts.sort_by_key(|part| (!hangs(part), others(part).len()));
    parts.into_iter().take(MOST_TRIED).find_map(|part| {
        let ids: Vec<String> = others(part).into_iter().map(Id::to_string).collect();
        let edits = ids.iter().map(|id| set(Kind::Fixture, id, "fixture", part.id.as_str()));
        trials
            .plain(format!("hang fixture {} in {}", part.id, ids.join(", ")), Edit::Together(edits.collect()))
    })
}
