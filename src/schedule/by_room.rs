//! What is in each room, for those who work room by room: its wall boxes, and of each loop the ceiling boxes in it.

use super::names::called;
use crate::design::Design;
use crate::job::house::{Level, Room};
use crate::job::wiring::{CeilingBox, Control, Loop, LoopPath, WallBox};
use crate::job::{Id, RoughIn};
use crate::network::{ControlAt, LoopAt};

/// A room with the work in it.
pub(super) struct RoomWork<'a> {
    pub level: &'a Level,
    pub room: &'a Room,
    /// How its boxes are set.
    pub rough: RoughIn,
    /// Its wall boxes with their positions.
    pub boxes: Vec<(usize, &'a WallBox)>,
    /// Loops that leave from one of them, or have ceiling boxes here.
    pub loops: Vec<LoopWork<'a>>,
}

/// A loop as it is seen from a room.
pub(super) struct LoopWork<'a> {
    pub at: LoopAt,
    pub wall_box: &'a WallBox,
    pub control: &'a Control,
    pub run: &'a Loop,
    /// Its ceiling boxes in this room, by position on the loop.
    pub here: Vec<usize>,
}

/// Where the IN end of a ceiling box comes from and where its OUT end goes.
pub(super) struct Ends {
    pub from: String,
    /// `None` where the loop ends.
    pub to: Option<String>,
}

impl<'a> LoopWork<'a> {
    /// The wall box that the loop comes back to, if it does.
    pub(super) fn home(&self, design: &'a Design) -> Option<&'a WallBox> {
        if !self.run.path.returns() || self.run.ceiling.is_empty() {
            return None;
        }
        let other = self.run.returns_to.as_ref().and_then(|id| design.index.control(&design.job, id));
        Some(other.map_or(self.wall_box, |(wall_box, _)| wall_box))
    }

    /// The ends at one of its ceiling boxes.
    pub(super) fn ends(&self, design: &'a Design, at: usize) -> Ends {
        let id = |at: usize| self.run.ceiling.get(at).map(|ceiling| ceiling.id.to_string());
        let from = at.checked_sub(1).and_then(id).unwrap_or_else(|| self.wall_box.id.to_string());
        let to = id(at + 1).or_else(|| self.home(design).map(|home| format!("back to {}", home.id)));
        Ends { from, to }
    }

    /// Its ceiling boxes in this room.
    pub(super) fn ceiling(&self) -> impl Iterator<Item = (usize, &'a CeilingBox)> + '_ {
        self.here.iter().filter_map(|&at| Some((at, self.run.ceiling.get(at)?)))
    }

    /// How the loop ends, for who pulls it.
    pub(super) fn path_words(&self, design: &'a Design) -> String {
        let home = self.home(design).map_or_else(|| self.wall_box.id.to_string(), |home| home.id.to_string());
        match self.run.path {
            LoopPath::OneWay => "does not return".into(),
            LoopPath::ReturnedCapped => format!("returns to {home}: cap it and tag it there"),
            LoopPath::Returned => format!("returns to {home} and is landed there"),
        }
    }
}

/// Every room with work in it, as the job lists them.
pub(super) fn rooms(design: &Design) -> Vec<RoomWork<'_>> {
    let job = &design.job;
    let each = job.levels.iter().flat_map(|level| level.rooms.iter().map(move |room| (level, room)));
    each.map(|(level, room)| RoomWork {
        level,
        room,
        rough: room.rough.over(job.settings.rough),
        boxes: job.boxes.iter().enumerate().filter(|(_, b)| b.room.same(&room.id)).collect(),
        loops: loops(design, &room.id),
    })
    .filter(|work| !work.boxes.is_empty() || !work.loops.is_empty())
    .collect()
}

fn loops<'a>(design: &'a Design, room: &Id) -> Vec<LoopWork<'a>> {
    let mut all = Vec::new();
    for (box_at, wall_box) in design.job.boxes.iter().enumerate() {
        for (control_at, control) in wall_box.controls.iter().enumerate() {
            for (at, run) in control.loops.iter().enumerate() {
                let is_here =
                    |ceiling: &CeilingBox| ceiling.room.as_ref().unwrap_or(&wall_box.room).same(room);
                let here: Vec<usize> =
                    run.ceiling.iter().enumerate().filter(|(_, c)| is_here(c)).map(|(at, _)| at).collect();
                if here.is_empty() && !wall_box.room.same(room) {
                    continue;
                }
                let at = LoopAt { control: ControlAt { wall_box: box_at, control: control_at }, at };
                all.push(LoopWork { at, wall_box, control, run, here });
            }
        }
    }
    all
}

impl RoomWork<'_> {
    /// The room and its level, in words.
    pub(super) fn words(&self, design: &Design) -> String {
        let room = called(&self.room.name, &self.room.id);
        if design.job.levels.len() < 2 {
            return room;
        }
        format!("{room}, {}", called(&self.level.name, &self.level.id))
    }
}
