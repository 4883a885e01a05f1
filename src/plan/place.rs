//! Gives a thing another place: in another list, or further up or down in its own.

use super::transfer::{PlanError, move_to};
use crate::job::edit::{Edit, apply};
use crate::job::value::{Held, held};
use crate::job::{Id, Index, Job, Kind, Subject};
use serde_json::Value;

/// The kind of thing whose list a thing can be moved to; `None` where its list is the job's own.
pub fn holder(job: &Job, subject: &Subject) -> Option<Kind> {
    match subject.kind {
        // The job holds the boxes, each in a room.
        Kind::WallBox => Some(Kind::Room),
        _ => held(job, &Index::new(job).0, subject)?.parent.map(|parent| parent.kind),
    }
}

/// What a thing stands in and its place there, from 1: a wall box's place is among the boxes of its room.
pub fn stands_in(job: &Job, subject: &Subject) -> Option<(Option<Subject>, usize)> {
    let thing = held(job, &Index::new(job).0, subject)?;
    if subject.kind != Kind::WallBox {
        return Some((thing.parent, thing.at + 1));
    }
    let room = room_of(&thing)?;
    let at = boxes_of(job, &room, None).iter().position(|at| *at == thing.at)?;
    Some((Some(Subject::new(Kind::Room, &room)), at + 1))
}

/// Moves things, one after the other, to a place in the list of another thing, or in the job's own list. A place is
/// counted from 1; beyond the end, or `None`, is the end.
///
/// # Errors
/// [`PlanError`] when a thing is not there, does not belong there, or the job would no longer hang together.
pub fn move_all(
    job: &Job,
    subjects: &[Subject],
    to: Option<&Subject>,
    place: Option<usize>,
) -> Result<Edit, PlanError> {
    let mut trial = job.clone();
    let mut edits = Vec::new();
    for (nth, subject) in subjects.iter().enumerate() {
        let place = place.map(|place| place.saturating_add(nth));
        let edit = one(&trial, subject, to, place)?;
        apply(&mut trial, edit.clone()).map_err(|error| PlanError::Value(error.to_string()))?;
        edits.push(edit);
    }
    Ok(Edit::Together(edits))
}

/// Moves a thing one place up or down in its list.
///
/// # Errors
/// As [`move_all`].
///
/// Gives `None` where it is the first or the last already.
pub fn step(job: &Job, subject: &Subject, down: bool) -> Result<Option<Edit>, PlanError> {
    let missing = || PlanError::Missing(subject.clone());
    let (parent, place) = stands_in(job, subject).ok_or_else(missing)?;
    let next = if down { place.checked_add(1) } else { place.checked_sub(1).filter(|place| *place > 0) };
    let Some(next) = next.filter(|next| *next <= count(job, subject, parent.as_ref())) else {
        return Ok(None);
    };
    move_all(job, std::slice::from_ref(subject), parent.as_ref(), Some(next)).map(Some)
}

fn one(job: &Job, subject: &Subject, to: Option<&Subject>, place: Option<usize>) -> Result<Edit, PlanError> {
    let index = Index::new(job).0;
    let thing = held(job, &index, subject).ok_or_else(|| PlanError::Missing(subject.clone()))?;
    let at = place.map_or(usize::MAX, |place| place.saturating_sub(1));
    match (subject.kind, to) {
        (Kind::WallBox, Some(room)) if room.kind == Kind::Room => {
            if Id::new(&room.id).ok().and_then(|id| index.spot(Kind::Room, &id)).is_none() {
                return Err(PlanError::Missing(room.clone()));
            }
            Ok(wall_box(job, subject, &thing, room, at))
        }
        (_, Some(parent)) if thing.parent.as_ref() == Some(parent) => Ok(again(subject, thing, at)),
        (_, Some(parent)) => move_to(job, subject, parent, at),
        (_, None) => Ok(again(subject, thing, at)),
    }
}

/// Puts a thing elsewhere in the list that holds it.
fn again(subject: &Subject, thing: Held, at: usize) -> Edit {
    let insert = Edit::Insert { kind: subject.kind, parent: thing.parent, at, value: thing.value };
    Edit::Together(vec![Edit::Remove { subject: subject.clone() }, insert])
}

/// Moves a wall box, with all that is in it, to a place among the boxes of a room.
fn wall_box(job: &Job, subject: &Subject, thing: &Held, room: &Subject, at: usize) -> Edit {
    let mut value = thing.value.clone();
    if let Some(fields) = value.as_object_mut() {
        fields.insert("room".into(), Value::String(room.id.clone()));
    }
    // Places in the list of the job, once this box is out of it.
    let others = boxes_of(job, &room.id, Some(thing.at));
    let out = |place: usize| place - usize::from(place > thing.at);
    let at = match (others.get(at), others.last()) {
        (Some(before), _) => out(*before),
        (None, Some(last)) => out(*last) + 1,
        (None, None) => thing.at,
    };
    let insert = Edit::Insert { kind: Kind::WallBox, parent: None, at, value };
    Edit::Together(vec![Edit::Remove { subject: subject.clone() }, insert])
}

fn room_of(thing: &Held) -> Option<String> {
    thing.value.get("room")?.as_str().map(str::to_owned)
}

/// Where the boxes of a room stand in the job's list, but for one.
fn boxes_of(job: &Job, room: &str, but: Option<usize>) -> Vec<usize> {
    let of_room = |(_, wall_box): &(usize, &crate::job::wiring::WallBox)| {
        wall_box.room.as_str().eq_ignore_ascii_case(room)
    };
    let all = job.boxes.iter().enumerate().filter(of_room).map(|(at, _)| at);
    all.filter(|at| Some(*at) != but).collect()
}

/// How many things stand in the list that holds a thing.
fn count(job: &Job, subject: &Subject, parent: Option<&Subject>) -> usize {
    let parts = &job.catalogue;
    let Some(parent) = parent else {
        return match subject.kind {
            Kind::ConductorPlan => parts.plans.len(),
            Kind::CableType => parts.cables.len(),
            Kind::FixtureType => parts.fixtures.len(),
            Kind::SupplyType => parts.supplies.len(),
            Kind::ControlType => parts.controls.len(),
            Kind::BoxType => parts.boxes.len(),
            Kind::Meter => parts.meters.len(),
            Kind::Level => job.levels.len(),
            Kind::Panel => job.panels.len(),
            Kind::Group => job.groups.len(),
            _ => 0,
        };
    };
    if subject.kind == Kind::WallBox {
        return boxes_of(job, &parent.id, None).len();
    }
    let list = match (subject.kind, parent.kind) {
        (Kind::Room, _) => "rooms",
        (Kind::Supply, _) => "supplies",
        (Kind::Control, _) => "controls",
        (Kind::Fixture, _) => "ceiling",
        (Kind::Cable, Kind::Control) => "loops",
        (Kind::Cable, Kind::WallBox) => "feeds",
        _ => "links",
    };
    let parent = held(job, &Index::new(job).0, parent);
    parent.and_then(|parent| Some(parent.value.get(list)?.as_array()?.len())).unwrap_or(0)
}
