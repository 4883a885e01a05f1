//! Copies anything with everything in it under new ids, beside itself or into other rooms, levels, boxes.
//!
//! Ids and names of copies follow the rule in `job::ids`; in another room a wall box and its lights take the letters
//! of that room and the box keeps its name. Places shift by the offset, once more for each copy; into another room by
//! what lies between the corners of both, and where a corner is not known the copy has no place. What was measured,
//! what stands on flags and what happened on site stays with the original. What goes onward from, or lands on, something
//! that is copied too goes to the copy. A home run of a copy comes from the same panel; it is on no output yet, or on the
//! next free one if that is asked for: what is copied does not load an output unseen. A control group is copied where all
//! its controls are; copied by itself it takes its controls along.

mod copier;
mod house;
mod wiring;

use super::next::Outlets;
use super::place::holder;
use super::transfer::PlanError;
use crate::job::edit::{Edit, contents};
use crate::job::house::Room;
use crate::job::ids::{Ids, prefix};
use crate::job::value::held;
use crate::job::{Id, Index, Job, Kind, Spot, Subject};
use copier::{Copier, Fault};
use std::collections::{HashMap, HashSet};

/// Most copies made at once.
pub const MOST_COPIES: usize = 200;
/// Most things in them, with all that these contain: a floor of 250 things twenty times.
pub const MOST_THINGS: usize = 5_000;

/// How far a copy stands from the one before, in ticks of 100 nm; negative is left or down.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Offset {
    /// Across the plan.
    pub x: i64,
    /// Up the plan.
    pub y: i64,
}

/// How something is copied.
#[derive(Debug, Clone, Default)]
pub struct How {
    /// How many copies, in each place.
    pub count: usize,
    /// How far apart.
    pub offset: Offset,
    /// How much higher each copied level is than the one before; without that the height of a copy is not known.
    pub up: Option<i64>,
    /// What the copies go into; where nothing is named they stand beside the original.
    pub into: Vec<Subject>,
    /// The outputs that home runs of copies go to; without them they are on none.
    pub outlets: Option<Outlets>,
}

/// Copies a thing with all that is in it so many times beside itself, home runs on no output.
///
/// # Errors
/// As [`copy`].
pub fn repeat(job: &Job, subject: &Subject, count: usize, offset: Offset) -> Result<Edit, PlanError> {
    copy(job, subject, &How { count, offset, ..How::default() })
}

/// Copies a thing with all that is in it.
///
/// # Errors
/// [`PlanError`] when it is not there, is not copied by itself, does not belong where it is to go, or a copy would stand
/// outside the plan.
pub fn copy(job: &Job, subject: &Subject, how: &How) -> Result<Edit, PlanError> {
    let wanted = how.count.saturating_mul(how.into.len().max(1));
    if wanted > MOST_COPIES {
        return Err(PlanError::TooMany(wanted));
    }
    let index = Index::new(job).0;
    let spot_of = |subject: &Subject| Id::new(&subject.id).ok().and_then(|id| index.spot(subject.kind, &id));
    let spot = spot_of(subject).ok_or_else(|| PlanError::Missing(subject.clone()))?;
    for place in &how.into {
        if holder(job, subject) != Some(place.kind) {
            return Err(PlanError::Misplaced { kind: subject.kind, place: place.clone() });
        }
        spot_of(place).ok_or_else(|| PlanError::Missing(place.clone()))?;
    }
    let own = own_place(job, &index, subject);
    let beside = [None];
    let elsewhere: Vec<Option<&Subject>> =
        how.into.iter().map(|place| Some(place).filter(|place| own.as_ref() != Some(*place))).collect();
    let places = if elsewhere.is_empty() { &beside[..] } else { &elsewhere[..] };
    let mut ids = Ids::of(job);
    let mut outlets = how.outlets.clone();
    let mut edits = Vec::new();
    // A place may be named twice.
    let mut known: Vec<(Option<&Subject>, Names)> = Vec::new();
    for place in places {
        if !known.iter().any(|(of, _)| of == place) {
            known.push((*place, Names::of(job, *place)));
        }
        let Some((_, names)) = known.iter_mut().find(|(of, _)| of == place) else { continue };
        for nth in 1..=how.count {
            let outside = || PlanError::Outside { subject: subject.clone(), nth };
            let steps = if place.is_some() { nth - 1 } else { nth };
            let by = steps_of(how.offset, steps).ok_or_else(outside)?;
            let mut copier = Copier {
                job,
                index: &index,
                ids: &mut ids,
                names,
                outlets: outlets.as_mut(),
                by: Some(by),
                up: how.up.and_then(|up| up.checked_mul(i64::try_from(nth).ok()?)),
                into: place.cloned(),
                letters: None,
                new: HashMap::new(),
                nth,
            };
            copier.settle(subject);
            let made = match spot {
                Spot::Level(at) => copier.level(at),
                Spot::Room { level, room } => copier.room(level, room),
                Spot::WallBox(at) => copier.wall_box(at),
                Spot::Feed { wall_box, feed } => copier.feed(wall_box, feed),
                Spot::Loop { .. } => copier.wired_loop(subject, spot),
                Spot::Control { wall_box, control } => copier.control(wall_box, control),
                Spot::Group(at) => copier.group(at),
                Spot::Panel(at) => copier.panel(at),
                Spot::Ceiling { .. }
                | Spot::Supply { .. }
                | Spot::ConductorPlan(_)
                | Spot::CableType(_)
                | Spot::FixtureType(_)
                | Spot::SupplyType(_)
                | Spot::ControlType(_)
                | Spot::BoxType(_)
                | Spot::SmallPart(_)
                | Spot::Meter(_) => copier.single(subject),
                Spot::Link { .. } => return Err(PlanError::NotCopied(subject.kind)),
            };
            let made = made.map_err(|fault| match fault {
                Fault::Outside => outside(),
                Fault::Value(what) => PlanError::Value(what),
            })?;
            if edits.is_empty() {
                let things = made.iter().map(things).sum::<usize>().saturating_mul(wanted);
                if things > MOST_THINGS {
                    return Err(PlanError::TooMuch { copies: wanted, things });
                }
            }
            edits.extend(made);
        }
    }
    Ok(Edit::Together(edits))
}

/// How many things an edit makes.
fn things(edit: &Edit) -> usize {
    match edit {
        Edit::Insert { kind, value, .. } => contents(*kind, value).len(),
        Edit::Together(edits) => edits.iter().map(things).sum(),
        _ => 0,
    }
}

/// What holds a thing; for a wall box its room.
fn own_place(job: &Job, index: &Index, subject: &Subject) -> Option<Subject> {
    let held = held(job, index, subject)?;
    match subject.kind {
        Kind::WallBox => {
            let room = Id::new(held.value.get("room")?.as_str()?).ok()?;
            Some(Subject::new(Kind::Room, &room))
        }
        _ => held.parent,
    }
}

fn steps_of(offset: Offset, nth: usize) -> Option<(i64, i64)> {
    let nth = i64::try_from(nth).ok()?;
    Some((offset.x.checked_mul(nth)?, offset.y.checked_mul(nth)?))
}

/// The letters that stand for a room in ids.
fn letters_of(room: &Room) -> String {
    prefix(if room.name.is_empty() { room.id.as_str() } else { &room.name })
}

/// The names there are, by kind; those of boxes only of the room that copies go into.
#[derive(Debug)]
struct Names {
    levels: HashSet<String>,
    rooms: HashSet<String>,
    boxes: HashSet<String>,
    panels: HashSet<String>,
    groups: HashSet<String>,
    /// Whether a name that is free may stay as it is.
    elsewhere: bool,
}

impl Names {
    fn of(job: &Job, into: Option<&Subject>) -> Self {
        let all = |names: &mut dyn Iterator<Item = &String>| names.map(|name| name.to_lowercase()).collect();
        let room = into.filter(|into| into.kind == Kind::Room);
        let here = |room_of: &Id| room.is_none_or(|room| room_of.as_str().eq_ignore_ascii_case(&room.id));
        Self {
            levels: all(&mut job.levels.iter().map(|level| &level.name)),
            rooms: all(&mut job.levels.iter().flat_map(|level| &level.rooms).map(|room| &room.name)),
            boxes: all(&mut job.boxes.iter().filter(|b| here(&b.room)).map(|wall_box| &wall_box.name)),
            panels: all(&mut job.panels.iter().map(|panel| &panel.name)),
            groups: all(&mut job.groups.iter().map(|group| &group.name)),
            elsewhere: room.is_some(),
        }
    }
}
