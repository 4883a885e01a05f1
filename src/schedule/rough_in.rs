//! The rough-in sheet: room by room, what is set, bored and pulled before the board goes up.
//!
//! What nobody entered stands as a blank to fill in, never as zero.

use super::by_room::{LoopWork, RoomWork, rooms};
use super::names::called;
use super::{Cell, Column, Row, Section, Table};
use crate::design::Design;
use crate::job::house::Place;
use crate::job::wiring::{CeilingBox, Source, WallBox};
use crate::job::{CeilingKind, Kind, Subject};
use crate::units::{Length, LengthUnit};
use serde::Serialize;

/// The document of the sheet `rough-in`. What was not entered is null.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct RoughInSheet {
    /// Every room with something in it.
    pub rooms: Vec<RoomEntry>,
    /// Cable to leave at each end in a wall box or panel, in feet.
    pub slack_end_ft: f64,
    /// Cable to leave in each ceiling box, both tails together, in feet.
    pub slack_ceiling_ft: f64,
}

/// A room in [`RoughInSheet`].
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct RoomEntry {
    /// The room.
    pub room: String,
    /// Its level.
    pub level: String,
    /// Height of its ceiling above the floor, in feet.
    pub ceiling_ft: Option<f64>,
    /// What the ceiling is framed with: `flat trusses` or `deep joists`.
    pub ceiling_kind: Option<&'static str>,
    /// Thickness of the ceiling's board, in inches.
    pub ceiling_board_in: Option<f64>,
    /// Thickness of the walls' board, in inches.
    pub wall_board_in: Option<f64>,
    /// How far ceiling boxes stand below the framing, in inches.
    pub box_below_in: Option<f64>,
    /// Its wall boxes.
    pub boxes: Vec<BoxEntry>,
    /// Loops that leave from them or have ceiling boxes in the room.
    pub loops: Vec<LoopEntry>,
}

/// A wall box in [`RoomEntry`].
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct BoxEntry {
    /// The wall box.
    #[serde(rename = "box")]
    pub wall_box: String,
    /// Its height above the floor, in feet.
    pub height_ft: Option<f64>,
    /// Its gangs.
    pub gangs: Option<u8>,
    /// Cables that come to it.
    pub cables_in: Vec<String>,
    /// Cables that leave from it.
    pub cables_out: Vec<String>,
}

/// A loop in [`RoomEntry`].
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct LoopEntry {
    /// The loop.
    #[serde(rename = "loop")]
    pub id: String,
    /// The wall box it leaves from.
    #[serde(rename = "box")]
    pub wall_box: String,
    /// Its cable type.
    pub cable: String,
    /// Whether it returns.
    pub returns: bool,
    /// Its ceiling boxes in the room, in order.
    pub ceiling: Vec<CeilingEntry>,
}

/// A ceiling box in [`LoopEntry`].
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct CeilingEntry {
    /// The ceiling box.
    pub fixture: String,
    /// Its height above the floor, in feet.
    pub height_ft: Option<f64>,
    /// The box that its IN end comes from.
    #[serde(rename = "in")]
    pub from: String,
    /// The box that its OUT end goes to; null where the loop ends.
    #[serde(rename = "out")]
    pub to: Option<String>,
}

/// The document for machines.
pub fn document(design: &Design) -> RoughInSheet {
    let settings = &design.job.settings;
    RoughInSheet {
        rooms: rooms(design).iter().map(|work| room_entry(design, work)).collect(),
        slack_end_ft: settings.makeup_cable_end.feet(),
        slack_ceiling_ft: settings.makeup_ceiling_box.feet(),
    }
}

fn room_entry(design: &Design, work: &RoomWork<'_>) -> RoomEntry {
    let inches = |length: Option<Length>| length.map(|length| length.feet() * 12.0);
    let feet = |length: Option<Length>| length.map(Length::feet);
    RoomEntry {
        room: work.room.id.to_string(),
        level: work.level.id.to_string(),
        ceiling_ft: feet(work.room.ceiling),
        ceiling_kind: work.rough.ceiling_kind.map(CeilingKind::words),
        ceiling_board_in: inches(work.rough.ceiling_board),
        wall_board_in: inches(work.rough.wall_board),
        box_below_in: inches(work.rough.below()),
        boxes: work
            .boxes
            .iter()
            .map(|(_, wall_box)| BoxEntry {
                wall_box: wall_box.id.to_string(),
                height_ft: feet(height(wall_box)),
                gangs: gangs(design, wall_box),
                cables_in: cables_in(design, wall_box).into_iter().map(|(id, _)| id).collect(),
                cables_out: cables_out(design, wall_box),
            })
            .collect(),
        loops: work
            .loops
            .iter()
            .map(|on| LoopEntry {
                id: on.run.id.to_string(),
                wall_box: on.wall_box.id.to_string(),
                cable: on.run.cable.to_string(),
                returns: on.run.path.returns(),
                ceiling: on
                    .ceiling()
                    .map(|(at, ceiling)| {
                        let ends = on.ends(design, at);
                        CeilingEntry {
                            fixture: ceiling.id.to_string(),
                            height_ft: feet(ceiling_height(work, ceiling)),
                            from: ends.from,
                            to: ends.to,
                        }
                    })
                    .collect(),
            })
            .collect(),
    }
}

fn height(wall_box: &WallBox) -> Option<Length> {
    wall_box.place.as_ref().and_then(|place| place.height)
}

/// A ceiling box hangs at the ceiling where its place names no height.
fn ceiling_height(work: &RoomWork<'_>, ceiling: &CeilingBox) -> Option<Length> {
    ceiling.place.as_ref().and_then(|place| place.height).or(work.room.ceiling)
}

fn gangs(design: &Design, wall_box: &WallBox) -> Option<u8> {
    let part = wall_box.part.as_ref()?;
    design.job.catalogue.boxes.iter().find(|entry| entry.id.same(part)).map(|entry| entry.gangs)
}

/// Cables that come to a wall box, each with where it comes from.
fn cables_in(design: &Design, wall_box: &WallBox) -> Vec<(String, String)> {
    let job = &design.job;
    let feeds = wall_box.feeds.iter().map(|feed| {
        let from = match &feed.from {
            Source::Output(output) => design.index.supply(job, &output.supply).map(|(panel, _)| &panel.id),
            Source::Panel(panel) => Some(panel),
            Source::Onward(from) => design.index.feed(job, from).map(|(from, _)| &from.id),
        };
        (feed.id.to_string(), from.map_or_else(|| "?".to_owned(), ToString::to_string))
    });
    let links = job.groups.iter().flat_map(|group| &group.links).filter_map(|link| {
        let (to, _) = design.index.control(job, &link.to)?;
        let (from, _) = design.index.control(job, &link.from)?;
        to.id.same(&wall_box.id).then(|| (link.id.to_string(), from.id.to_string()))
    });
    feeds.chain(links).collect()
}

fn cables_out(design: &Design, wall_box: &WallBox) -> Vec<String> {
    let job = &design.job;
    let loops = wall_box.controls.iter().flat_map(|control| &control.loops).map(|run| run.id.to_string());
    let links = job.groups.iter().flat_map(|group| &group.links).filter_map(|link| {
        let (from, _) = design.index.control(job, &link.from)?;
        from.id.same(&wall_box.id).then(|| link.id.to_string())
    });
    let onward = job.boxes.iter().flat_map(|other| &other.feeds).filter_map(|feed| match &feed.from {
        Source::Onward(from) if wall_box.feeds.iter().any(|mine| mine.id.same(from)) => {
            Some(feed.id.to_string())
        }
        _ => None,
    });
    loops.chain(onward).chain(links).collect()
}

/// The sheet for people: a section for each room.
pub fn table(design: &Design) -> Table {
    let mut table = Table::new(
        "rough-in",
        "Rough-in by room",
        vec![
            Column::text("done", "").width(3, 3).yields(4),
            Column::text("id", "box").width(7, 10),
            Column::text("what", "what, across and along").width(18, 44).grow(),
            Column::figure("height_ft", "height").width(7, 9),
            Column::text("in", "IN from").width(8, 16),
            Column::text("out", "OUT to").width(10, 20).grow(),
            Column::figure("slack_ft", "slack").width(4, 8),
        ],
    );
    let rooms = rooms(design);
    for work in &rooms {
        let rows = room_rows(design, work);
        let heading = heading(design, work);
        table = table.with_section(Section::headed(heading, rows).keyed(work.room.id.as_str()));
    }
    table.notes = notes(design);
    table.cautions = cautions(&rooms);
    table
}

/// What the person with the drill must know before the first hole.
fn heading(design: &Design, work: &RoomWork<'_>) -> String {
    let unit = design.job.project.units;
    let blank = || "_____".to_owned();
    let small = |length: Option<Length>| length.map_or_else(blank, |length| length.shown_small(unit));
    let ceiling = work.room.ceiling.map_or_else(blank, |length| length.shown(unit));
    let kind = work.rough.ceiling_kind.map_or("framing _____", CeilingKind::words);
    let below = match (work.rough.box_below, work.rough.ceiling_board) {
        (None, Some(board)) => format!("{}, flush with the board", board.shown_small(unit)),
        (below, _) => small(below),
    };
    let corner = if work.room.corner.is_some() { " Places from its corner." } else { "" };
    format!(
        "{}. Ceiling {ceiling}, {kind}, board {}; ceiling boxes stand below the framing by {below}. Wall board {}.{corner}",
        work.words(design),
        small(work.rough.ceiling_board),
        small(work.rough.wall_board),
    )
}

fn room_rows(design: &Design, work: &RoomWork<'_>) -> Vec<Row> {
    let mut rows: Vec<Row> =
        work.boxes.iter().map(|(_, wall_box)| wall_box_row(design, work, wall_box)).collect();
    for on in &work.loops {
        rows.push(loop_row(design, work, on));
        rows.extend(on.ceiling().map(|(at, ceiling)| ceiling_row(design, work, on, at, ceiling)));
    }
    rows
}

fn known_or_blank(length: Option<Length>) -> Cell {
    length.map_or(Cell::Write, Cell::length)
}

/// Where a box goes, from the room's corner where that is known, else from that of the house.
fn place_words(design: &Design, work: &RoomWork<'_>, place: Option<&Place>) -> String {
    let Some(place) = place else { return ", at _____, _____".to_owned() };
    let unit = design.job.project.units;
    let from = |there: Length, corner: Option<Length>| {
        let ticks = there.ticks() - corner.map_or(0, Length::ticks);
        let shown = Length::from_ticks(ticks.abs(), unit).shown(unit);
        if ticks < 0 { format!("-{shown}") } else { shown }
    };
    let corner = work.room.corner;
    let across = from(place.x, corner.map(|corner| corner.x));
    format!(", {across}, {}", from(place.y, corner.map(|corner| corner.y)))
}

fn wall_box_row(design: &Design, work: &RoomWork<'_>, wall_box: &WallBox) -> Row {
    let gangs = match gangs(design, wall_box) {
        Some(gangs) => format!("{gangs} gang"),
        None => "___ gang".to_owned(),
    };
    let line = if wall_box.line.is_some() { ", line-voltage behind a barrier" } else { "" };
    let comes: Vec<String> =
        cables_in(design, wall_box).into_iter().map(|(id, from)| format!("{from} {id}")).collect();
    Row::new(vec![
        Cell::Tick,
        Cell::from(&wall_box.id),
        Cell::from(format!("wall box, {gangs}{}{line}", place_words(design, work, wall_box.place.as_ref()))),
        known_or_blank(height(wall_box)),
        Cell::from(comes.join(", ")),
        Cell::from(cables_out(design, wall_box).join(" ")),
        Cell::length(design.job.settings.makeup_cable_end),
    ])
    .about(Subject::new(Kind::WallBox, &wall_box.id))
}

fn loop_row(design: &Design, work: &RoomWork<'_>, on: &LoopWork<'_>) -> Row {
    let elsewhere = if on.wall_box.room.same(&work.room.id) {
        String::new()
    } else {
        let room = super::names::room_of(design, on.wall_box);
        let room = room.map(|room| called(&room.name, &room.id)).unwrap_or_default();
        format!(" from {} in {room}", on.wall_box.id)
    };
    let none = match (on.run.ceiling.len(), on.here.len()) {
        (0, _) => "; no box on it yet".to_owned(),
        (_, 0) => "; its boxes are in other rooms".to_owned(),
        (all, here) if here < all => format!("; {here} of its {all} boxes here"),
        _ => String::new(),
    };
    Row::new(vec![
        Cell::Tick,
        Cell::from(&on.run.id),
        Cell::from(format!("loop {}{elsewhere}, {}{none}", on.run.cable, on.path_words(design))),
    ])
    .about(Subject::new(Kind::Cable, &on.run.id))
}

fn ceiling_row(
    design: &Design,
    work: &RoomWork<'_>,
    on: &LoopWork<'_>,
    at: usize,
    ceiling: &CeilingBox,
) -> Row {
    let ends = on.ends(design, at);
    let above = ceiling.place.as_ref().and_then(|place| place.height).is_none();
    let kind = if above { "ceiling box" } else { "box, not at the ceiling" };
    let what = format!("{kind}{}", place_words(design, work, ceiling.place.as_ref()));
    let part = ceiling
        .part
        .as_ref()
        .and_then(|part| design.job.catalogue.boxes.iter().find(|entry| entry.id.same(part)));
    let part = part.map(|part| format!(", {}", called(&part.name, &part.id))).unwrap_or_default();
    let name = if ceiling.name.is_empty() { String::new() } else { format!(", {}", ceiling.name) };
    Row::new(vec![
        Cell::Tick,
        Cell::from(format!("  {}", ceiling.id)),
        Cell::from(format!("{what}{name}{part}")),
        known_or_blank(ceiling_height(work, ceiling)),
        Cell::from(ends.from),
        Cell::from(ends.to.unwrap_or_else(|| "ends here".to_owned())),
        Cell::length(design.job.settings.makeup_ceiling_box),
    ])
    .about(Subject::new(Kind::Fixture, &ceiling.id))
    .beneath()
}

fn notes(design: &Design) -> Vec<crate::format::Text> {
    let settings = &design.job.settings;
    let unit: LengthUnit = design.job.project.units;
    vec![
        "Height: to the middle of a wall box above the finished floor; of a ceiling box that of the ceiling.".into(),
        "Places stand as across, along on the plan: from the room's corner where its heading says so, else \
         from that of the house."
            .into(),
        "IN comes from the control, OUT goes onward to the next box. Flag every cable end before it is cut; see the \
         sheet tags."
            .into(),
        format!(
            "Slack: leave {} at each end in a wall box or panel, and {} in each ceiling box, both tails together.",
            settings.makeup_cable_end.shown(unit),
            settings.makeup_ceiling_box.shown(unit)
        )
        .into(),
        "Pull loops in the order in which they stand here, so that IN and OUT come out right. A loop is one cable."
            .into(),
        "Write the foot marks of the jacket at both ends on the cable schedule before the cable is out of sight.".into(),
    ]
}

/// What holds before the board goes up. The rules for framing are those of the IRC, from memory: R502.11.3 for trusses,
/// R502.8 for joists; 1-1/4 in is NEC 300.4(A)(1).
fn cautions(rooms: &[RoomWork<'_>]) -> Vec<crate::format::Text> {
    let framed = |kind: CeilingKind| rooms.iter().any(|work| work.rough.ceiling_kind == Some(kind));
    let unknown = rooms.iter().any(|work| work.rough.ceiling_kind.is_none());
    let mut all = vec![
        "Share no bored hole with line-voltage, and keep away from it where cables run side by side.".into(),
        "Keep cable off sharp edges. Nearer than 1-1/4 in to the edge of the wood it needs a steel plate against nails \
         and screws."
            .into(),
        "Pull by hand, with no kink, and strap without crushing.".into(),
    ];
    if framed(CeilingKind::FlatTruss) || unknown {
        all.push("Never bore, notch or cut a truss: cable goes through its open webs.".into());
    }
    if framed(CeilingKind::DeepJoist) || unknown {
        all.push(
            "Bore joists near the middle of their depth, away from bearings, no larger than the framing drawings allow."
                .into(),
        );
    }
    all
}
