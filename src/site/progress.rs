//! How far the work is: every cable and box in pull order, what is left in each room, and what keeps board off it.

use super::diagnose::{Verdict, diagnose};
use super::line::{Line, line};
use crate::design::Design;
use crate::job::site::{Step, Steps};
use crate::job::wiring::WallBox;
use crate::job::{Id, Kind, Subject};

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
    let job = &design.job;
    let mut all = Vec::new();
    for room in job.levels.iter().flat_map(|level| &level.rooms) {
        for wall_box in job.boxes.iter().filter(|wall_box| wall_box.room.same(&room.id)) {
            of_box(design, wall_box, &mut all);
        }
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

/// How far each room is that has something to pull, in the order of the file.
pub fn progress(design: &Design) -> Vec<RoomProgress<'_>> {
    let stands = stands(design);
    let mut rooms = Vec::new();
    for level in &design.job.levels {
        for room in &level.rooms {
            let here = |stand: &&Stand<'_>| stand.room.same(&room.id);
            let cables: Vec<&Stand<'_>> =
                stands.iter().filter(here).filter(|s| s.subject.kind == Kind::Cable).collect();
            let boxes: Vec<&Stand<'_>> =
                stands.iter().filter(here).filter(|s| s.subject.kind != Kind::Cable).collect();
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
                blocks: blocks(design, &room.id, &cables, &stands),
                hides: hides(design, &room.id),
            });
        }
    }
    rooms
}

/// What is in the way of board in a room: its own cables, and loops from elsewhere that go through its ceiling.
fn blocks(design: &Design, room: &Id, cables: &[&Stand<'_>], all: &[Stand<'_>]) -> Vec<Blocks> {
    let through = all.iter().filter(|stand| stand.subject.kind == Kind::Cable && !stand.room.same(room));
    let through = through.filter(|stand| {
        let id = Id::new(&stand.subject.id).ok();
        let run = id.and_then(|id| find_loop(design, &id));
        run.is_some_and(|(wall_box, run)| {
            run.ceiling.iter().any(|ceiling| ceiling.room.as_ref().unwrap_or(&wall_box.room).same(room))
        })
    });
    let why = |stand: &Stand<'_>| match (stand.step, stand.verdict) {
        (_, Some(Verdict::Damaged)) => Some("its readings show damage"),
        (_, Some(Verdict::Odd)) => Some("a reading is not as expected"),
        (Step::ToPull, _) => Some("not pulled"),
        _ if !stand.steps.is_tested() && !stand.steps.is_signed_for() => Some("not tested"),
        _ => None,
    };
    let all = cables.iter().copied().chain(through);
    all.filter_map(|stand| Some(Blocks { subject: stand.subject.clone(), why: why(stand)? })).collect()
}

fn find_loop<'a>(design: &'a Design, id: &Id) -> Option<(&'a WallBox, &'a crate::job::wiring::Loop)> {
    design.job.boxes.iter().find_map(|wall_box| {
        let mut loops = wall_box.controls.iter().flat_map(|control| &control.loops);
        loops.find(|run| run.id.same(id)).map(|run| (wall_box, run))
    })
}

/// The ceiling boxes of a room that are not boarded yet.
fn hides(design: &Design, room: &Id) -> Vec<Id> {
    let boxes = design.job.boxes.iter();
    let ceilings = boxes.flat_map(|wall_box| {
        let loops = wall_box.controls.iter().flat_map(|control| &control.loops);
        loops.flat_map(|run| &run.ceiling).map(move |ceiling| (wall_box, ceiling))
    });
    ceilings
        .filter(|(wall_box, ceiling)| ceiling.room.as_ref().unwrap_or(&wall_box.room).same(room))
        .filter(|(_, ceiling)| ceiling.site.done.boarded.is_none())
        .map(|(_, ceiling)| ceiling.id.clone())
        .collect()
}
