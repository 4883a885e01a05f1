//! The pieces of the checks that an edit reached.

use super::reach::Reach;
use crate::checks::Piece;
use crate::job::{Id, Index, Job, Kind, Spot};
use crate::network::Network;
use crate::study::{OutputStudy, PanelStudy, RoomStudy, Study};
use std::collections::BTreeSet;

/// The sums of a study as they were before an edit.
#[derive(Debug)]
pub(super) struct Sums {
    outputs: Vec<OutputStudy>,
    panels: Vec<PanelStudy>,
    rooms: Vec<RoomStudy>,
}

impl Sums {
    pub(super) fn of(study: &Study) -> Self {
        Self { outputs: study.outputs.clone(), panels: study.panels.clone(), rooms: study.rooms.clone() }
    }
}

/// Where two lists differ, which are of one length.
fn differing<'a, T: PartialEq>(before: &'a [T], now: &'a [T]) -> impl Iterator<Item = usize> + 'a {
    before.iter().zip(now).enumerate().filter(|(_, (before, now))| before != now).map(|(at, _)| at)
}

/// The pieces that read something that is other than it was.
pub(super) fn reached(
    reach: &Reach,
    before: &Sums,
    (job, index, network, study): (&Job, &Index, &Network, &Study),
) -> BTreeSet<Piece> {
    // What is tied wrongly is few things, and the make-up matters only while none is left.
    let mut pieces = BTreeSet::from([Piece::Network, Piece::Slack]);
    let parts = reach.parts.iter().filter_map(|&part| network.parts.get(part));
    pieces.extend(parts.flat_map(|part| &part.runs).map(|&run| Piece::Run(run)));
    let mut panels = reach.panels.clone();
    for at in differing(&before.outputs, &study.outputs) {
        pieces.insert(Piece::Output(at));
        if let Some(Spot::Panel(panel)) = index.spot(Kind::Panel, &study.outputs[at].panel) {
            panels.insert(panel);
        }
    }
    panels.extend(differing(&before.panels, &study.panels));
    pieces.extend(panels.into_iter().map(Piece::Panel));
    let mut rooms = reach.rooms.clone();
    rooms.extend(differing(&before.rooms, &study.rooms));
    for &at in &reach.boxes {
        pieces.extend([Piece::Controls(at), Piece::Boxes(at), Piece::Cables(at)]);
        rooms.extend(lit_from(job, index, at));
    }
    pieces.extend(rooms.into_iter().map(Piece::Room));
    for (at, group) in job.groups.iter().enumerate() {
        let member = |id: &Id| match index.spot(Kind::Control, id) {
            Some(Spot::Control { wall_box, .. }) => reach.boxes.contains(&wall_box),
            _ => false,
        };
        if reach.groups.contains(&at) || member(&group.main) || group.remotes.iter().any(member) {
            pieces.extend([Piece::Group(at), Piece::Links(at), Piece::Bus(at)]);
        }
    }
    if reach.places {
        pieces.extend((0..job.boxes.len()).map(Piece::Cables));
        pieces.extend((0..job.groups.len()).flat_map(|at| [Piece::Links(at), Piece::Bus(at)]));
    }
    if reach.cable_types {
        pieces.insert(Piece::CableTypes);
    }
    pieces
}

/// The rooms that the ceiling boxes of a wall box are in, by position among all of the house.
fn lit_from(job: &Job, index: &Index, at: usize) -> BTreeSet<usize> {
    let Some(wall_box) = job.boxes.get(at) else { return BTreeSet::new() };
    let ceiling =
        wall_box.controls.iter().flat_map(|control| &control.loops).flat_map(|wired| &wired.ceiling);
    let ids: BTreeSet<&Id> = ceiling.map(|held| held.room.as_ref().unwrap_or(&wall_box.room)).collect();
    let place = |id: &Id| match index.spot(Kind::Room, id)? {
        Spot::Room { level, room } => {
            Some(job.levels.iter().take(level).map(|level| level.rooms.len()).sum::<usize>() + room)
        }
        _ => None,
    };
    ids.into_iter().filter_map(place).collect()
}
