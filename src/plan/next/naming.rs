//! The id of what comes next, by the rule in [`crate::job::ids`].

use crate::design::Design;
use crate::job::ids::{Ids, prefix};
use crate::job::{Id, Kind, Spot, Subject};
use crate::plan::propose::dashed;
use serde_json::Value;

/// The id of a new thing in a place; `before` is the one beside it, whose id it goes on from where that ends in a
/// number. None where ids of that kind follow no such rule.
pub(super) fn id(
    design: &Design,
    kind: Kind,
    parent: Option<&Subject>,
    before: Option<&Value>,
) -> Option<Id> {
    let mut ids = Ids::of(&design.job);
    let counted = |id: &&str| id.ends_with(|c: char| c.is_ascii_digit());
    let before = before.and_then(|before| before.get("id")?.as_str()).filter(counted);
    if let Some(before) = before.and_then(|id| Id::new(id).ok()) {
        return Some(ids.copy(kind, &before, None));
    }
    let parent = parent?;
    let within = Id::new(&parent.id).ok()?;
    let letters = |room: &Id| {
        let (_, room) = design.index.room(&design.job, room)?;
        Some(prefix(if room.name.is_empty() { room.id.as_str() } else { &room.name }))
    };
    match (kind, design.index.spot(parent.kind, &within)?) {
        (Kind::WallBox, Spot::Room { .. }) => Some(ids.numbered(kind, &letters(&within)?, 1)),
        (Kind::Control, Spot::WallBox(_)) => Some(ids.lettered(&within)),
        (Kind::Cable, Spot::Control { .. }) => Some(ids.numbered(kind, within.as_str(), 1)),
        (Kind::Cable, Spot::WallBox(_)) => Some(ids.numbered(kind, "HR", 1)),
        (Kind::Fixture, Spot::Loop { wall_box, .. }) => {
            let room = &design.job.boxes.get(wall_box)?.room;
            Some(ids.numbered(kind, &dashed(&letters(room)?), 1))
        }
        _ => None,
    }
}
