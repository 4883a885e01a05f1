//! Ways through a job that several counts go: its ceiling boxes, lights, cables and home runs.

use super::Facts;
use crate::job::wiring::{CeilingBox, Feed, Loop, Source, WallBox};
use crate::job::{Id, Kind, Subject, open};
use crate::network::{CableLength, Lengths};

/// The ceiling boxes of all loops that leave from a wall box.
pub(super) fn ceilings(wall_box: &WallBox) -> impl Iterator<Item = (&Loop, &CeilingBox)> {
    let loops = wall_box.controls.iter().flat_map(|control| &control.loops);
    loops.flat_map(|run| run.ceiling.iter().map(move |ceiling| (run, ceiling)))
}

/// The ceiling boxes of a wall box in which a light hangs, or is to, each counted once in its room.
pub(super) fn lights<'a>(design: Facts<'a>, wall_box: &'a WallBox) -> impl Iterator<Item = (&'a Id, &'a Id)> {
    let lit = move |(run, ceiling): &(&Loop, &CeilingBox)| {
        open::lit(design.job, design.index, wall_box, run, ceiling)
    };
    ceilings(wall_box)
        .filter(lit)
        .map(|(_, ceiling)| (&ceiling.id, ceiling.room.as_ref().unwrap_or(&wall_box.room)))
}

/// Every cable with the room it is counted in, that of the wall box it goes to or leaves from, and its length as planned:
/// what was pulled counts only where nothing else is known.
pub(super) fn cable_lengths(design: Facts<'_>) -> Vec<(Subject, Option<Id>, Option<CableLength>)> {
    let now = Lengths::new(design.job, design.index);
    let planned = now.planned();
    let either =
        |length: &dyn Fn(&Lengths<'_>) -> Option<CableLength>| length(&planned).or_else(|| length(&now));
    let cable = |id: &Id| Subject::new(Kind::Cable, id);
    let mut all = Vec::new();
    for wall_box in &design.job.boxes {
        let room = || Some(wall_box.room.clone());
        for feed in &wall_box.feeds {
            all.push((cable(&feed.id), room(), either(&|lengths| lengths.feed(wall_box, feed))));
        }
        for run in wall_box.controls.iter().flat_map(|control| &control.loops) {
            all.push((cable(&run.id), room(), either(&|lengths| lengths.wired_loop(wall_box, run).whole)));
        }
    }
    for link in design.job.groups.iter().flat_map(|group| &group.links) {
        let room = design.index.control(design.job, &link.to).map(|(wall_box, _)| wall_box.room.clone());
        all.push((cable(&link.id), room, either(&|lengths| lengths.link(link))));
    }
    all
}

/// Home runs: feeds from a panel, each with the box it goes to.
pub(super) fn home_runs(design: Facts<'_>) -> impl Iterator<Item = (&WallBox, &Feed)> {
    design.job.boxes.iter().flat_map(|wall_box| {
        let from_panel = |feed: &&Feed| !matches!(feed.from, Source::Onward(_));
        wall_box.feeds.iter().filter(from_panel).map(move |feed| (wall_box, feed))
    })
}
