//! How far the work is: every cable and box in pull order, what is left in each room, and what keeps board off it.

use super::diagnose::{Verdict, diagnose};
use super::line::{Line, line};
use crate::design::Design;
use crate::job::site::{Step, Steps};
use crate::job::wiring::WallBox;
use crate::job::{Id, Kind, Spot, Subject};
use std::collections::{BTreeSet, HashMap};

/// A cable or a box as it stands.
#[derive(Debug, Clone)]
pub struct Stand<'a> {
    /// Which one.
    pub subject: Subject,
    /// The room it is in; a cable's is that of its wall box.
    pub room: &'a Id,
    /// The furthest step that was done.
    pub step: Step,
    /// What was done when.
    pub steps: &'a Steps,
    /// Of a cable: what its readings come to.
    pub verdict: Option<Verdict>,
}

/// Why a room can't be boarded yet.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Blocks {
    /// What is in the way.
    pub subject: Subject,
    /// Why.
    pub why: &'static str,
}

/// How far a room is.
#[derive(Debug, Clone)]
pub struct RoomProgress<'a> {
    /// The level.
    pub level: &'a Id,
    /// The room.
    pub room: &'a Id,
    /// Cables that belong to it.
    pub cables: usize,
    /// How many of them are pulled.
    pub pulled: usize,
    /// How many are tested.
    pub tested: usize,
    /// How many read as damaged or not as expected.
    pub wrong: usize,
    /// Its boxes.
    pub boxes: usize,
    /// How many of them are boarded.
    pub boarded: usize,
    /// What keeps board off it.
    pub blocks: Vec<Blocks>,
    /// Ceiling boxes that board will hide.
    pub hides: Vec<Id>,
}

/// Every cable and box: room by room, each wall box with its feeds, then its loops, each with its ceiling boxes.
pub fn stands(design: &Design) -> Vec<Stand<'_>> {
    let spot = |wall_box: &WallBox| design.index.spot(Kind::Room, &wall_box.room);
    let mut boxes: Vec<(Spot, &WallBox)> =
        design.job.boxes.iter().filter_map(|wall_box| Some((spot(wall_box)?, wall_box))).collect();
    // Room by room; within one in the order of the file.
    boxes.sort_by_key(|(room, _)| *room);
    let mut all = Vec::new();
    for (_, wall_box) in boxes {
        of_box(design, wall_box, &mut all);
    }
    all
}

fn of_box<'a>(design: &'a Design, wall_box: &'a WallBox, all: &mut Vec<Stand<'a>>) {
    let cable = |id: &'a Id| line(design, id).map(|line| of_line(design, &line));
    let boxed = |kind, id: &Id, steps: &'a Steps, room: &'a Id| Stand {
        subject: Subject::new(kind, id),
        room,
        step: steps.step(),
        steps,
        verdict: None,
    };
    all.push(boxed(Kind::WallBox, &wall_box.id, &wall_box.site.done, &wall_box.room));
    all.extend(wall_box.feeds.iter().filter_map(|feed| cable(&feed.id)));
    for run in wall_box.controls.iter().flat_map(|control| &control.loops) {
        all.extend(cable(&run.id));
        all.extend(run.ceiling.iter().map(|ceiling| {
            let room = ceiling.room.as_ref().unwrap_or(&wall_box.room);
            boxed(Kind::Fixture, &ceiling.id, &ceiling.site.done, room)
        }));
    }
    let links = design.job.groups.iter().flat_map(|group| &group.links);
    let from_here = links.filter(|link| wall_box.controls.iter().any(|control| control.id.same(&link.from)));
    all.extend(from_here.filter_map(|link| cable(&link.id)));
}

fn of_line<'a>(design: &'a Design, line: &Line<'a>) -> Stand<'a> {
    Stand {
        subject: Subject::new(Kind::Cable, line.id),
        room: &line.wall_box.room,
        step: line.site.done.step(),
        steps: &line.site.done,
        verdict: Some(diagnose(design, line).verdict),
    }
}

/// What there is in a room.
#[derive(Default)]
struct Here<'s, 'a> {
    cables: Vec<&'s Stand<'a>>,
    boxes: Vec<&'s Stand<'a>>,
    /// Loops from elsewhere that go through its ceiling.
    through: Vec<&'s Stand<'a>>,
    hides: Vec<Id>,
}

/// What there is in each room, by where the room stands.
fn by_room<'s, 'a>(design: &Design, stands: &'s [Stand<'a>]) -> HashMap<Spot, Here<'s, 'a>> {
    let mut rooms: HashMap<Spot, Here<'s, 'a>> = HashMap::new();
    for stand in stands {
        let Some(room) = design.index.spot(Kind::Room, stand.room) else { continue };
        let here = rooms.entry(room).or_default();
        if stand.subject.kind != Kind::Cable {
            here.boxes.push(stand);
            continue;
        }
        here.cables.push(stand);
        let elsewhere: BTreeSet<Spot> =
            rooms_through(design, &stand.subject).filter(|other| *other != room).collect();
        for other in elsewhere {
            rooms.entry(other).or_default().through.push(stand);
        }
    }
    // In the order of the file, not of the rooms.
    for wall_box in &design.job.boxes {
        for ceiling in
            wall_box.controls.iter().flat_map(|control| &control.loops).flat_map(|run| &run.ceiling)
        {
            let room = ceiling.room.as_ref().unwrap_or(&wall_box.room);
            let room = design.index.spot(Kind::Room, room).filter(|_| ceiling.site.done.boarded.is_none());
            if let Some(room) = room {
                rooms.entry(room).or_default().hides.push(ceiling.id.clone());
            }
        }
    }
    rooms
}

/// The rooms that a loop has ceiling boxes in.
fn rooms_through(design: &Design, cable: &Subject) -> impl Iterator<Item = Spot> {
    let spot = Id::new(&cable.id).ok().and_then(|id| design.index.spot(Kind::Cable, &id));
    let wired = spot.and_then(|spot| match spot {
        Spot::Loop { wall_box, control, at } => {
            let wall_box = design.job.boxes.get(wall_box)?;
            Some((wall_box, wall_box.controls.get(control)?.loops.get(at)?))
        }
        _ => None,
    });
    wired.into_iter().flat_map(|(wall_box, run)| {
        let rooms = run.ceiling.iter().map(|ceiling| ceiling.room.as_ref().unwrap_or(&wall_box.room));
        rooms.filter_map(|room| design.index.spot(Kind::Room, room))
    })
}

/// How far each room is that has something to pull, in the order of the file.
pub fn progress(design: &Design) -> Vec<RoomProgress<'_>> {
    let stands = stands(design);
    let mut by_room = by_room(design, &stands);
    let mut rooms = Vec::new();
    for level in &design.job.levels {
        for room in &level.rooms {
            let here = design.index.spot(Kind::Room, &room.id).and_then(|spot| by_room.remove(&spot));
            let Some(Here { cables, boxes, through, hides }) = here else { continue };
            if cables.is_empty() && boxes.is_empty() {
                continue;
            }
            let wrong = |s: &&&Stand<'_>| matches!(s.verdict, Some(Verdict::Damaged | Verdict::Odd));
            let boarded = boxes.iter().filter(|s| s.steps.boarded.is_some()).count();
            rooms.push(RoomProgress {
                level: &level.id,
                room: &room.id,
                cables: cables.len(),
                pulled: cables.iter().filter(|s| s.step >= Step::Pulled).count(),
                tested: cables.iter().filter(|s| s.steps.is_tested()).count(),
                wrong: cables.iter().filter(wrong).count(),
                boxes: boxes.len(),
                boarded,
                blocks: cables.into_iter().chain(through).filter_map(blocks).collect(),
                hides,
            });
        }
    }
    rooms
}

/// Whether a cable is in the way of board.
fn blocks(stand: &Stand<'_>) -> Option<Blocks> {
    let why = match (stand.step, stand.verdict) {
        (_, Some(Verdict::Damaged)) => "its readings show damage",
        (_, Some(Verdict::Odd)) => "a reading is not as expected",
        (Step::ToPull, _) => "not pulled",
        _ if !stand.steps.is_tested() && !stand.steps.is_signed_for() => "not tested",
        _ => return None,
    };
    Some(Blocks { subject: stand.subject.clone(), why })
}
