//! What is left to do before board goes up: progress by room, what is in the way, what board will hide, and what was
//! pulled beside what was planned.

use super::names::{called, fixture_of};
use super::{Cell, Column, Row, Section, Table, Weight};
use crate::design::Design;
use crate::job::site::Step;
use crate::job::wiring::{CeilingBox, Loop, WallBox};
use crate::job::{Id, Kind, Spot, Subject};
use crate::network::{CableLength, Lengths};
use crate::site::{self, RoomProgress};
use crate::units::Length;
use serde::Serialize;

/// The document of the sheet `punch`.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Punch {
    /// Every room with something in it.
    pub rooms: Vec<RoomEntry>,
    /// What was pulled beside what was planned.
    pub pulled: Vec<PulledEntry>,
}

/// A room in [`Punch`].
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct RoomEntry {
    /// The level.
    pub level: String,
    /// The room.
    pub room: String,
    /// Its cables.
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
    /// What keeps board off it: the thing and why.
    pub in_the_way: Vec<WayEntry>,
    /// Ceiling boxes that board will hide.
    pub hides: Vec<String>,
}

/// Something in the way of board in [`Punch`].
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct WayEntry {
    /// Its id.
    pub id: String,
    /// Why.
    pub why: &'static str,
}

/// A pulled cable in [`Punch`].
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PulledEntry {
    /// Which one.
    pub cable: String,
    /// Its length as planned in feet; null while it is unknown.
    pub planned_ft: Option<f64>,
    /// The difference of its foot marks in feet.
    pub pulled_ft: f64,
}

/// The document for machines.
pub fn document(design: &Design) -> Punch {
    let rooms = site::progress(design).into_iter().map(|room| RoomEntry {
        level: room.level.to_string(),
        room: room.room.to_string(),
        cables: room.cables,
        pulled: room.pulled,
        tested: room.tested,
        wrong: room.wrong,
        boxes: room.boxes,
        boarded: room.boarded,
        in_the_way: room.blocks.iter().map(|b| WayEntry { id: b.subject.id.clone(), why: b.why }).collect(),
        hides: room.hides.iter().map(Id::to_string).collect(),
    });
    let pulled = pulled(design).into_iter().map(|(id, planned, pulled)| PulledEntry {
        cable: id.to_string(),
        planned_ft: planned.map(|planned| planned.length.feet()),
        pulled_ft: pulled.feet(),
    });
    Punch { rooms: rooms.collect(), pulled: pulled.collect() }
}

/// Cables that were pulled, with their lengths as planned and as pulled.
fn pulled(design: &Design) -> Vec<(&Id, Option<CableLength>, Length)> {
    let lines = site::lines(design);
    let found = lines.into_iter().filter_map(|line| {
        let pulled = line.site.pulled()?;
        Some((line.id, planned(design, line.id), pulled))
    });
    found.collect()
}

/// The length of a cable as it was planned.
pub(super) fn planned_length(design: &Design, id: &Id) -> Option<Length> {
    planned(design, id).map(|length| length.length)
}

/// The length of a cable before it was pulled.
fn planned(design: &Design, id: &Id) -> Option<CableLength> {
    Lengths::new(&design.job, &design.index).planned().cable(id)
}

/// The sheet: four tables.
pub fn tables(design: &Design) -> Vec<Table> {
    let rooms = site::progress(design);
    let mut tables =
        vec![progress_table(design, &rooms), way_table(design, &rooms), hides_table(design, &rooms)];
    let pulled = pulled_table(design);
    if pulled.rows().next().is_some() {
        tables.push(pulled);
    }
    tables
}

fn count(count: usize) -> Cell {
    Cell::Count(i64::try_from(count).unwrap_or(i64::MAX))
}

/// The name of a room.
fn room_name(design: &Design, id: &Id) -> String {
    design
        .index
        .room(&design.job, id)
        .map_or_else(|| id.to_string(), |(_, room)| called(&room.name, &room.id))
}

/// How far each room is, level by level.
pub fn progress_table(design: &Design, rooms: &[RoomProgress<'_>]) -> Table {
    let mut table = Table::new(
        "punch",
        "Punch list before board",
        vec![
            Column::text("room", "room").width(14, 30).grow(),
            Column::figure("cables", "cables").width(6, 8),
            Column::figure("pulled", "pulled").width(6, 8),
            Column::figure("tested", "tested").width(6, 8),
            Column::figure("wrong", "wrong").width(5, 8),
            Column::figure("boxes", "boxes").width(5, 8),
            Column::figure("boarded", "boarded").width(7, 8),
            Column::text("ready", "for board").width(9, 20),
        ],
    );
    for level in &design.job.levels {
        let here: Vec<&RoomProgress<'_>> = rooms.iter().filter(|room| room.level.same(&level.id)).collect();
        if here.is_empty() {
            continue;
        }
        let sum = |of: fn(&RoomProgress<'_>) -> usize| count(here.iter().map(|room| of(room)).sum());
        let rows = here.iter().map(|room| {
            let ready = match room.blocks.len() {
                0 => Cell::text("ready"),
                1 => Cell::text("1 in the way"),
                n => Cell::from(format!("{n} in the way")),
            };
            Row::new(vec![
                Cell::from(room_name(design, room.room)),
                count(room.cables),
                count(room.pulled),
                count(room.tested),
                if room.wrong > 0 {
                    Cell::Flag(Weight::Bad, room.wrong.to_string().into())
                } else {
                    count(0)
                },
                count(room.boxes),
                count(room.boarded),
                ready,
            ])
            .about(Subject::new(Kind::Room, room.room))
        });
        let total = Row::new(vec![
            Cell::text("in all"),
            sum(|room| room.cables),
            sum(|room| room.pulled),
            sum(|room| room.tested),
            sum(|room| room.wrong),
            sum(|room| room.boxes),
            sum(|room| room.boarded),
        ]);
        let section = Section::headed(called(&level.name, &level.id), rows.collect());
        table = table.with_section(section.keyed(level.id.as_str()).with_total(total));
    }
    table.notes.push(
        "wrong: readings that show damage, or are not as expected. Tested means that somebody signed for it; what \
         readings tell, and what they can't, is on sheet readings."
            .into(),
    );
    table
}

fn way_table(design: &Design, rooms: &[RoomProgress<'_>]) -> Table {
    let mut table = Table::new(
        "in-the-way",
        "In the way of board",
        vec![
            Column::text("done", "").width(3, 3),
            Column::text("id", "what").width(6, 14),
            Column::text("why", "why").width(14, 60).grow(),
        ],
    );
    for room in rooms.iter().filter(|room| !room.blocks.is_empty()) {
        let rows = room.blocks.iter().map(|blocks| {
            let cell = Cell::from(blocks.subject.id.clone());
            Row::new(vec![Cell::Tick, cell, Cell::text(blocks.why)]).about(blocks.subject.clone())
        });
        let section = Section::headed(room_name(design, room.room), rows.collect());
        table = table.with_section(section.keyed(room.room.as_str()));
    }
    table
}

/// A ceiling box with its wall box and loop.
fn find<'a>(design: &'a Design, id: &Id) -> Option<(&'a WallBox, &'a Loop, &'a CeilingBox)> {
    let Spot::Ceiling { wall_box, control, at, ceiling } = design.index.spot(Kind::Fixture, id)? else {
        return None;
    };
    let wall_box = design.job.boxes.get(wall_box)?;
    let wired = wall_box.controls.get(control)?.loops.get(at)?;
    Some((wall_box, wired, wired.ceiling.get(ceiling)?))
}

fn hides_table(design: &Design, rooms: &[RoomProgress<'_>]) -> Table {
    let mut table = Table::new(
        "hidden",
        "Boxes that board will hide",
        vec![
            Column::text("done", "").width(3, 3),
            Column::text("box", "box").width(5, 12),
            Column::text("holds", "holds").width(10, 30).yields(1),
            Column::text("walls", "from two walls").width(16, 40).grow(),
            Column::text("photo", "photo").width(8, 24).yields(2),
        ],
    );
    for room in rooms.iter().filter(|room| !room.hides.is_empty()) {
        let row = |id: &Id| {
            let (wall_box, wired, ceiling) = find(design, id)?;
            let record = &ceiling.site;
            let walls: Vec<String> = record.walls.iter().map(ToString::to_string).collect();
            let walls = match walls.len() {
                0 => Cell::text("__________  __________"),
                _ => Cell::from(walls.join(", ")),
            };
            let photo =
                if record.photo.is_empty() { Cell::text("________") } else { Cell::from(&record.photo) };
            let holds = Cell::from(fixture_of(design, wall_box, wired, ceiling));
            let row = Row::new(vec![Cell::Tick, Cell::from(id), holds, walls, photo]);
            Some(row.about(Subject::new(Kind::Fixture, id)))
        };
        let rows = room.hides.iter().filter_map(row).collect();
        let section = Section::headed(room_name(design, room.room), rows);
        table = table.with_section(section.keyed(room.room.as_str()));
    }
    table.notes.push("Write down two offsets and take a photo of each box before it is covered.".into());
    table
}

fn pulled_table(design: &Design) -> Table {
    let columns = vec![
        Column::text("cable", "cable").width(6, 12),
        Column::figure("planned_ft", "planned").width(8, 12),
        Column::text("basis", "").width(4, 10),
        Column::figure("pulled_ft", "pulled").width(8, 12),
        Column::text("step", "").width(8, 14).grow(),
    ];
    let rows = pulled(design).into_iter().map(|(id, planned, pulled)| {
        let basis = planned.map_or("", |planned| match planned.basis {
            crate::network::Basis::Estimated => "est",
            _ => "meas",
        });
        let step = site::line(design, id).map_or(Step::ToPull, |line| line.site.done.step());
        Row::new(vec![
            Cell::from(id),
            Cell::length(planned.map(|planned| planned.length)),
            Cell::text(basis),
            Cell::length(pulled),
            Cell::text(step.word()),
        ])
        .about(Subject::new(Kind::Cable, id))
    });
    let mut table = Table::new("pulled", "Pulled beside planned", columns).with_rows(rows.collect());
    table.notes.push(
        "pulled: the difference of the foot marks; the studies reckon with it, without allowance.".into(),
    );
    table
}
