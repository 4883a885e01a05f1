//! Gathers the cables of a house in the order in which they are pulled.

use super::{CableEntry, CableTotal, ConductorEntry, LegEntry};
use crate::design::Design;
use crate::job::Id;
use crate::job::wiring::{ControlGroup, Feed, Link, Loop, LoopPath, Source, WallBox};
use crate::network::{Basis, CableLength, Lengths, LoopLength};
use crate::schedule::names::{box_and_room, place_of};
use crate::schedule::narrow::{self, Narrow};
use crate::units::Length;
use std::collections::BTreeMap;

/// A cable with what paper and screen say of it.
pub(super) struct Line {
    pub entry: CableEntry,
    pub id: Id,
    /// The length it counts with: pulled, else estimated.
    pub length: Option<CableLength>,
    /// The length reckoned from places, whatever was pulled.
    pub estimated: Option<Length>,
    /// The length that was measured to cut it by.
    pub measured: Option<Length>,
    pub pulled: Option<Length>,
    pub legs: Vec<Leg>,
    pub from: String,
    pub to: String,
    /// The level of the box it goes to, or leaves from if it is a loop or a link.
    pub level: Option<Id>,
    order: (usize, usize, usize, usize),
}

/// A leg of a loop.
pub(super) struct Leg {
    pub entry: LegEntry,
    pub estimated: Option<i64>,
    pub pulled: Option<Length>,
}

/// The cables that are wanted: by kind, and in that by level, panel and room as the job lists them.
pub(super) fn lines(design: &Design, narrow: &Narrow) -> Vec<Line> {
    let job = &design.job;
    let mut lines: Vec<Line> = Vec::new();
    for wall_box in &job.boxes {
        lines.extend(wall_box.feeds.iter().filter_map(|feed| feed_line(design, wall_box, feed, narrow)));
    }
    for wall_box in &job.boxes {
        for control in &wall_box.controls {
            lines.extend(
                control.loops.iter().filter_map(|run| loop_line(design, wall_box, &control.id, run, narrow)),
            );
        }
    }
    for group in &job.groups {
        lines.extend(group.links.iter().filter_map(|link| link_line(design, group, link, narrow)));
    }
    lines.sort_by_key(|line| line.order);
    lines
}

/// Where a cable belongs.
struct At<'a> {
    kind: &'static str,
    wall_box: Option<&'a WallBox>,
    panel: Option<&'a Id>,
}

struct Cabled<'a> {
    id: &'a Id,
    cable: &'a Id,
    plan: Option<&'a Id>,
    measured: Option<Length>,
}

fn line(
    design: &Design,
    cabled: &Cabled<'_>,
    at: &At<'_>,
    length: Option<CableLength>,
    estimated: Option<CableLength>,
) -> Line {
    let part = design.index.cable_type(&design.job, cabled.cable);
    let plan = cabled.plan.or(part.map(|part| &part.plan));
    let plan = plan.and_then(|plan| design.index.plan(&design.job, plan));
    let conductors = plan.map(|plan| plan.conductors.as_slice()).unwrap_or_default();
    let pulled = length.filter(|length| length.basis == Basis::Pulled).map(|length| length.length);
    let estimated = estimated.map(|length| length.length);
    Line {
        entry: CableEntry {
            tag: cabled.id.to_string(),
            kind: at.kind,
            cable: cabled.cable.to_string(),
            from: String::new(),
            to: String::new(),
            length_ft: length.map(|length| length.length.feet()),
            measured: length.map(|length| length.basis != Basis::Estimated),
            estimated_ft: estimated.map(Length::feet),
            measured_ft: cabled.measured.map(Length::feet),
            pulled_ft: pulled.map(Length::feet),
            conductors: conductors
                .iter()
                .map(|c| ConductorEntry { name: c.name.clone(), function: c.function.word() })
                .collect(),
            legs: Vec::new(),
        },
        id: cabled.id.clone(),
        length,
        estimated,
        measured: cabled.measured,
        pulled,
        legs: Vec::new(),
        from: String::new(),
        to: String::new(),
        level: at.wall_box.and_then(|wall_box| narrow::level_of(design, wall_box)).cloned(),
        order: order(design, at),
    }
}

fn order(design: &Design, at: &At<'_>) -> (usize, usize, usize, usize) {
    let job = &design.job;
    let room = at.wall_box.map(|wall_box| &wall_box.room);
    let place = job.levels.iter().enumerate().find_map(|(level, entry)| {
        let room = entry.rooms.iter().position(|entry| room.is_some_and(|room| entry.id.same(room)))?;
        Some((level, room))
    });
    let panel = job.panels.iter().position(|entry| at.panel.is_some_and(|panel| entry.id.same(panel)));
    let (level, room) = place.unwrap_or((usize::MAX, usize::MAX));
    (super::kind_order(at.kind), level, panel.unwrap_or(usize::MAX), room)
}

fn feed_line(design: &Design, wall_box: &WallBox, feed: &Feed, narrow: &Narrow) -> Option<Line> {
    let panel = narrow::panel_of_feed(design, feed);
    if !narrow.wants(narrow::level_of(design, wall_box), panel, &feed.cable) {
        return None;
    }
    let lengths = Lengths::new(&design.job, &design.index);
    let estimated = lengths.estimated_feed(wall_box, feed);
    let kind = if matches!(feed.from, Source::Onward(_)) { "link" } else { "home-run" };
    let at = At { kind, wall_box: Some(wall_box), panel };
    let cabled =
        Cabled { id: &feed.id, cable: &feed.cable, plan: feed.plan.as_ref(), measured: feed.measured };
    let mut line = line(design, &cabled, &at, lengths.feed(wall_box, feed), estimated);
    (line.entry.from, line.from) = match &feed.from {
        Source::Output(output) => (output.to_string(), place_of(design, output)),
        Source::Panel(panel) => (panel.to_string(), format!("{panel}, no output yet")),
        Source::Onward(from) => match design.index.feed(&design.job, from) {
            Some((from_box, _)) => (from_box.id.to_string(), box_and_room(design, from_box)),
            None => (from.to_string(), from.to_string()),
        },
    };
    (line.entry.to, line.to) = (wall_box.id.to_string(), box_and_room(design, wall_box));
    Some(line)
}

fn loop_line(design: &Design, wall_box: &WallBox, control: &Id, run: &Loop, narrow: &Narrow) -> Option<Line> {
    let panel = narrow::panel_of_control(design, control);
    if !narrow.wants(narrow::level_of(design, wall_box), panel, &run.cable) {
        return None;
    }
    let reckoned = Lengths::new(&design.job, &design.index);
    let lengths = reckoned.wired_loop(wall_box, run);
    let estimated = reckoned.estimated_loop(wall_box, run);
    let at = At { kind: "loop", wall_box: Some(wall_box), panel };
    let cabled = Cabled { id: &run.id, cable: &run.cable, plan: run.plan.as_ref(), measured: run.measured };
    let mut line = line(design, &cabled, &at, lengths.whole, estimated.whole);
    let home = run
        .returns_to
        .as_ref()
        .and_then(|id| design.index.control(&design.job, id))
        .map_or(wall_box, |(b, _)| b);
    (line.entry.from, line.from) = (wall_box.id.to_string(), box_and_room(design, wall_box));
    let last = run.ceiling.last().map_or(&wall_box.id, |ceiling| &ceiling.id);
    (line.entry.to, line.to) = match run.path {
        LoopPath::OneWay => (last.to_string(), format!("ends at {last}")),
        LoopPath::ReturnedCapped => {
            (home.id.to_string(), format!("{}, capped", back_to(design, wall_box, home)))
        }
        LoopPath::Returned => (home.id.to_string(), back_to(design, wall_box, home)),
    };
    legs(design, wall_box, home, run, &lengths, &estimated, &mut line);
    Some(line)
}

fn legs(
    design: &Design,
    wall_box: &WallBox,
    home: &WallBox,
    run: &Loop,
    lengths: &LoopLength,
    estimated: &LoopLength,
    line: &mut Line,
) {
    let mut before = wall_box.id.to_string();
    let mut stops: Vec<(String, Option<Length>)> =
        run.ceiling.iter().map(|ceiling| (ceiling.id.to_string(), ceiling.leg)).collect();
    if run.path.returns() && !stops.is_empty() {
        stops.push((home.id.to_string(), run.return_leg));
    }
    for (at, (to, pulled)) in stops.into_iter().enumerate() {
        let ticks = lengths.legs.get(at).copied().flatten();
        let length_ft = ticks.map(|ticks| Length::from_ticks(ticks, design.job.project.units).feet());
        let entry = LegEntry { from: std::mem::replace(&mut before, to.clone()), to, length_ft };
        line.entry.legs.push(entry.clone());
        let estimated = estimated.legs.get(at).copied().flatten();
        line.legs.push(Leg { entry, estimated, pulled });
    }
}

/// Where a loop returns to: mostly the box it left from, which need not be told twice.
fn back_to(design: &Design, wall_box: &WallBox, home: &WallBox) -> String {
    if home.id == wall_box.id {
        format!("back to {}", home.id)
    } else {
        format!("back to {}", box_and_room(design, home))
    }
}

fn link_line(design: &Design, group: &ControlGroup, link: &Link, narrow: &Narrow) -> Option<Line> {
    let end = |control: &Id| design.index.control(&design.job, control).map(|(wall_box, _)| wall_box);
    let (from, to) = (end(&link.from), end(&link.to));
    let panel = narrow::panel_of_link(design, link);
    let level = from.and_then(|wall_box| narrow::level_of(design, wall_box));
    if !narrow.wants(level, panel, &link.cable) {
        return None;
    }
    let lengths = Lengths::new(&design.job, &design.index);
    let estimated = lengths.estimated_link(link);
    let kind = if group.bus.is_some() { "bus" } else { "link" };
    let cabled =
        Cabled { id: &link.id, cable: &link.cable, plan: link.plan.as_ref(), measured: link.measured };
    let at = At { kind, wall_box: from, panel };
    let mut drawn = line(design, &cabled, &at, lengths.link(link), estimated);
    let words = |wall_box: Option<&WallBox>, control: &Id| match wall_box {
        Some(wall_box) => (wall_box.id.to_string(), box_and_room(design, wall_box)),
        None => (control.to_string(), control.to_string()),
    };
    (drawn.entry.from, drawn.from) = words(from, &link.from);
    (drawn.entry.to, drawn.to) = words(to, &link.to);
    Some(drawn)
}

/// The lengths of one cable type, in ticks of 100 nm.
pub(super) struct Sum {
    pub total: CableTotal,
    /// What is known of the lengths they count with.
    pub ticks: i64,
    pub estimated: i64,
    pub estimate_unknown: usize,
    pub pulled: i64,
    pub pulled_count: usize,
}

/// The lengths of each cable type.
pub(super) fn totals(design: &Design, lines: &[Line]) -> Vec<Sum> {
    let mut by_type: BTreeMap<&str, Vec<&Line>> = BTreeMap::new();
    for line in lines {
        by_type.entry(&line.entry.cable).or_default().push(line);
    }
    let sum = |lengths: &mut dyn Iterator<Item = Option<Length>>| {
        lengths
            .flatten()
            .fold((0_i64, 0), |(ticks, count), length| (ticks.saturating_add(length.ticks()), count + 1))
    };
    let total = |(cable, lines): (&str, Vec<&Line>)| {
        let (ticks, known) = sum(&mut lines.iter().map(|line| line.length.map(|length| length.length)));
        let (estimated, reckoned) = sum(&mut lines.iter().map(|line| line.estimated));
        let (pulled, pulled_count) = sum(&mut lines.iter().map(|line| line.pulled));
        let unknown = lines.len() - known;
        let feet = |ticks| Length::from_ticks(ticks, design.job.project.units).feet();
        let total = CableTotal {
            cable: cable.to_owned(),
            length_ft: (unknown == 0).then(|| feet(ticks)),
            count: lines.len(),
            unknown,
            pulled_ft: (pulled_count > 0).then(|| feet(pulled)),
            pulled: pulled_count,
        };
        let estimate_unknown = lines.len() - reckoned;
        Sum { total, ticks, estimated, estimate_unknown, pulled, pulled_count }
    };
    by_type.into_iter().map(total).collect()
}
