//! What is still open: which fixtures a ceiling box may yet hold, which types a control may yet be, and whether several
//! things take the same one.

use super::house::Room;
use super::wiring::{CeilingBox, Control, Loop, WallBox};
use super::{Id, Index, Job};
use serde::{Deserialize, Serialize};

/// How far one choice reaches: everything within it with the same entries open takes the same entry.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Hash, Serialize, Deserialize)]
pub enum OneFor {
    /// Each light or control takes its own.
    #[default]
    Each,
    /// One for all of a loop.
    Loop,
    /// One for all of a room.
    Room,
    /// One for all of the house.
    House,
}

impl OneFor {
    /// Whether it is the default, which the file leaves out.
    pub fn is_each(&self) -> bool {
        *self == Self::Each
    }

    /// What it means, after "open:" and the entries.
    pub const fn words(self) -> &'static str {
        match self {
            Self::Each => "each on its own",
            Self::Loop => "one for the loop",
            Self::Room => "one for the room",
            Self::House => "one for the house",
        }
    }
}

/// The room a ceiling box is in.
pub fn room_of<'a>(
    job: &'a Job,
    index: &Index,
    wall_box: &WallBox,
    ceiling: &CeilingBox,
) -> Option<&'a Room> {
    index.room(job, ceiling.room.as_ref().unwrap_or(&wall_box.room)).map(|(_, room)| room)
}

/// The fixtures that a ceiling box may yet hold, and how far the choice reaches: its own list, else that of its loop,
/// else that of its room. Nothing where it holds a fixture or is to stay blank.
pub fn open<'a>(
    job: &'a Job,
    index: &Index,
    wall_box: &WallBox,
    wired: &'a Loop,
    ceiling: &'a CeilingBox,
) -> (&'a [Id], OneFor) {
    if ceiling.fixture.is_some() || ceiling.blank {
        return (&[], OneFor::Each);
    }
    if !ceiling.open.is_empty() {
        return (&ceiling.open, ceiling.one_for);
    }
    if !wired.open.is_empty() {
        return (&wired.open, wired.one_for);
    }
    room_of(job, index, wall_box, ceiling)
        .map_or((&[][..], OneFor::Each), |room| (room.open.as_slice(), room.one_for))
}

/// The fixture that a ceiling box holds, or those it may yet hold.
pub fn held<'a>(
    job: &'a Job,
    index: &Index,
    wall_box: &WallBox,
    wired: &'a Loop,
    ceiling: &'a CeilingBox,
) -> impl Iterator<Item = &'a Id> + use<'a> {
    ceiling.fixture.iter().chain(open(job, index, wall_box, wired, ceiling).0)
}

/// Whether a light hangs in a ceiling box, or is to.
pub fn lit(job: &Job, index: &Index, wall_box: &WallBox, wired: &Loop, ceiling: &CeilingBox) -> bool {
    held(job, index, wall_box, wired, ceiling).next().is_some()
}

/// Whether whatever a ceiling box may hold comes with its own box.
pub fn brings_box(job: &Job, index: &Index, wall_box: &WallBox, wired: &Loop, ceiling: &CeilingBox) -> bool {
    let own = |id: &Id| index.fixture_type(job, id).is_some_and(|part| part.own_box);
    let mut held = held(job, index, wall_box, wired, ceiling).peekable();
    held.peek().is_some() && held.all(own)
}

/// The box that is bought for a ceiling box: its own entry, else the job's usual one; none where what hangs there brings
/// its own, or nothing is chosen.
pub fn box_of<'a>(
    job: &'a Job,
    index: &Index,
    wall_box: &WallBox,
    wired: &'a Loop,
    ceiling: &'a CeilingBox,
) -> Option<&'a Id> {
    let usual = || job.estimate.ceiling_box.as_ref();
    ceiling
        .part
        .as_ref()
        .or_else(|| if brings_box(job, index, wall_box, wired, ceiling) { None } else { usual() })
}

impl Control {
    /// The types it may be: the one it has, and those still open beside it, each once.
    pub fn types(&self) -> Vec<&Id> {
        let mut all = vec![&self.part];
        for id in &self.open {
            if !all.iter().any(|known| known.same(id)) {
                all.push(id);
            }
        }
        all
    }
}
