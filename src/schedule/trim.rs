//! The trim sheet: room by room, what is hung the day after paint, how it is joined, and what is checked first.

mod joint;

use super::by_room::{LoopWork, RoomWork, rooms};
use super::names::{called, fixture_of};
use super::{Cell, Column, Row, Section, Table};
use crate::design::Design;
use crate::format::{self, Quantity};
use crate::job::catalogue::Drive;
use crate::job::wiring::{CeilingBox, Control, LoopPath, WallBox};
use crate::job::{Id, Kind, Subject};
use crate::network::{FeedAt, LoopAt};
use crate::study::{LightStudy, RunStudy, StringStudy};
use joint::{Wires, joint};
use serde::Serialize;

/// The document of the sheet `trim`.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct TrimSheet {
    /// Every control to set.
    pub controls: Vec<ControlEntry>,
    /// Every ceiling box, whatever it holds.
    pub fixtures: Vec<FixtureEntry>,
}

/// A control in [`TrimSheet`].
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ControlEntry {
    /// The control.
    pub control: String,
    /// Its wall box.
    #[serde(rename = "box")]
    pub wall_box: String,
    /// Its room.
    pub room: String,
    /// Its catalogue entry.
    pub part: String,
    /// The feed it is on; null where that is not told.
    pub feed: Option<String>,
    /// Volts at its feed at full level; null while unknown.
    pub volts: Option<f64>,
}

/// A ceiling box in [`TrimSheet`].
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct FixtureEntry {
    /// The ceiling box.
    pub fixture: String,
    /// Its room.
    pub room: String,
    /// Its loop.
    #[serde(rename = "loop")]
    pub on_loop: String,
    /// The control that drives it.
    pub control: String,
    /// The fixture type it holds; null where it holds none or that is open.
    pub part: Option<String>,
    /// The conductors that are opened for it; none where it hangs across the pair.
    pub opened: Vec<String>,
    /// Conductors that are joined through in its place.
    pub jumpers: Vec<String>,
    /// How it is joined, in words.
    pub join: String,
    /// Volts across it at full level; null while unknown.
    pub volts: Option<f64>,
}

/// The document for machines.
pub fn document(design: &Design) -> TrimSheet {
    let mut sheet = TrimSheet { controls: Vec::new(), fixtures: Vec::new() };
    for work in rooms(design) {
        for (box_at, wall_box) in &work.boxes {
            sheet.controls.extend(wall_box.controls.iter().map(|control| ControlEntry {
                control: control.id.to_string(),
                wall_box: wall_box.id.to_string(),
                room: work.room.id.to_string(),
                part: control.part.to_string(),
                feed: feed_of(wall_box, control).map(|at| wall_box.feeds[at].id.to_string()),
                volts: feed_volts(design, *box_at, wall_box, control),
            }));
        }
        for on in &work.loops {
            let wires = Wires::of(design, on);
            for (at, ceiling) in on.ceiling() {
                let joint = joint(design, on, &wires, at, ceiling);
                sheet.fixtures.push(FixtureEntry {
                    fixture: ceiling.id.to_string(),
                    room: work.room.id.to_string(),
                    on_loop: on.run.id.to_string(),
                    control: on.control.id.to_string(),
                    part: ceiling.fixture.as_ref().map(Id::to_string),
                    opened: joint.opened,
                    jumpers: joint.jumpers,
                    join: joint.words,
                    volts: light(design, on.at, at).and_then(|light| light.volts),
                });
            }
        }
    }
    sheet
}

/// The feed a control is on, by position.
fn feed_of(wall_box: &WallBox, control: &Control) -> Option<usize> {
    match &control.on {
        Some(on) => wall_box.feeds.iter().position(|feed| feed.id.same(on)),
        None => (wall_box.feeds.len() == 1).then_some(0),
    }
}

fn run_of(design: &Design, at: FeedAt) -> Option<&RunStudy> {
    let (run, _) = design.network.run_of_feed.get(&at)?;
    design.study.run(&design.network, *run)
}

fn feed_volts(design: &Design, box_at: usize, wall_box: &WallBox, control: &Control) -> Option<f64> {
    let at = FeedAt { wall_box: box_at, feed: feed_of(wall_box, control)? };
    run_of(design, at)?.feed_volts.iter().find(|(feed, _)| *feed == at)?.1
}

fn run_of_loop(design: &Design, at: LoopAt) -> Option<&RunStudy> {
    let run = design.network.run_of_control.get(&at.control)?;
    design.study.run(&design.network, *run)
}

fn light(design: &Design, at: LoopAt, ceiling: usize) -> Option<&LightStudy> {
    run_of_loop(design, at)?.lights.iter().find(|light| light.at == at && light.ceiling == ceiling)
}

fn strings(design: &Design, at: LoopAt) -> Vec<&StringStudy> {
    let study = run_of_loop(design, at);
    study.map(|study| study.strings.iter().filter(|string| string.at == at).collect()).unwrap_or_default()
}

/// The sheet for people: a section for each room.
pub fn table(design: &Design) -> Table {
    let mut table = Table::new(
        "trim",
        "Trim by room",
        vec![
            Column::text("done", "").width(3, 3).yields(4),
            Column::text("id", "box").width(7, 10),
            Column::text("what", "fixture or control").width(25, 34),
            Column::text("join", "how it is joined; check first").width(24, 60).grow(),
            Column::figure("volts", "expect").bare(Quantity::Volts),
        ],
    );
    for work in rooms(design) {
        let mut rows = Vec::new();
        for (box_at, wall_box) in &work.boxes {
            rows.extend(
                wall_box.controls.iter().map(|control| control_row(design, *box_at, wall_box, control)),
            );
        }
        for on in work.loops.iter().filter(|on| !on.here.is_empty()) {
            rows.push(loop_row(design, &work, on));
            let wires = Wires::of(design, on);
            rows.extend(on.ceiling().map(|(at, ceiling)| ceiling_row(design, on, &wires, at, ceiling)));
        }
        if !rows.is_empty() {
            table =
                table.with_section(Section::headed(work.words(design), rows).keyed(work.room.id.as_str()));
        }
    }
    table.notes.push(
        "Volts: expected across the fixture, or at the feed of a control, with all lights at full level. A dimmed \
         output fools a dc meter."
            .into(),
    );
    table.notes.push(
        "In a series string the conductor named is opened and the light put between its ends; the others go through. \
         Where no light hangs the ends are joined, or the whole string stays dark."
            .into(),
    );
    table.notes.push(
        "The signs of a string hold where the OUT end of its loop is on the control's + terminal: see the maker's \
         instructions."
            .into(),
    );
    table.notes.push(
        "Check first, before anything hangs: the supply is off and the wires are dead; IN and OUT are told apart by their \
         flags; nothing was nailed through."
            .into(),
    );
    table
        .cautions
        .push("Hang every light of a string, or its jumper, before the string is switched on.".into());
    table
}

fn control_row(design: &Design, box_at: usize, wall_box: &WallBox, control: &Control) -> Row {
    let part = design.index.control_type(&design.job, &control.part);
    let part = part.map_or_else(|| control.part.to_string(), |part| called(&part.name, &part.id));
    let name = if control.name.is_empty() { String::new() } else { format!(": {}", control.name) };
    let (join, volts) = match feed_of(wall_box, control) {
        Some(at) => {
            let feed = &wall_box.feeds[at];
            let plan = feed
                .plan
                .as_ref()
                .or_else(|| design.index.cable_type(&design.job, &feed.cable).map(|part| &part.plan));
            let sides = joint::sides(plan.and_then(|plan| design.index.plan(&design.job, plan)));
            (format!("feed {}: {sides}", feed.id), Cell::volts(feed_volts(design, box_at, wall_box, control)))
        }
        None if wall_box.feeds.is_empty() => ("no feed: by its link alone".to_owned(), Cell::Blank),
        None => ("on which feed is not told".to_owned(), Cell::Unknown),
    };
    Row::new(vec![
        Cell::Tick,
        Cell::from(&wall_box.id),
        Cell::from(format!("control {}{name}; {part}", control.id)),
        Cell::from(join),
        volts,
    ])
    .about(Subject::new(Kind::Control, &control.id))
}

fn loop_row(design: &Design, work: &RoomWork<'_>, on: &LoopWork<'_>) -> Row {
    let elsewhere = match super::names::room_of(design, on.wall_box) {
        Some(room) if !room.id.same(&work.room.id) => format!(" in {}", called(&room.name, &room.id)),
        _ => String::new(),
    };
    let strings = strings(design, on.at);
    let volts = if strings.len() == 1 { Cell::volts(strings[0].volts) } else { Cell::Blank };
    Row::new(vec![
        Cell::Blank,
        Cell::from(&on.run.id),
        Cell::from(format!("loop of control {}, box {}{elsewhere}", on.control.id, on.wall_box.id)),
        Cell::from(format!("First: {}", first(design, on, &strings))),
        volts,
    ])
    .about(Subject::new(Kind::Cable, &on.run.id))
}

/// What is checked on a loop before a light hangs on it.
fn first(design: &Design, on: &LoopWork<'_>, strings: &[&StringStudy]) -> String {
    let home = on.home(design).map_or_else(|| on.wall_box.id.to_string(), |home| home.id.to_string());
    let back = match on.run.path {
        LoopPath::OneWay => String::new(),
        LoopPath::ReturnedCapped => format!("; its return is capped and tagged at {home}"),
        LoopPath::Returned => format!("; at {home} OUT and RET land like to like"),
    };
    let part = design.index.control_type(&design.job, &on.control.part);
    let drive = part.map(|part| part.drive);
    match drive {
        Some(Drive::Current { amps, .. }) => {
            let sums: Vec<String> = strings
                .iter()
                .map(|string| {
                    format!("string {} takes {} in all", string.number, format::volts(Some(string.volts)))
                })
                .collect();
            let sums = if sums.is_empty() { "volts in all unknown".to_owned() } else { sums.join(", ") };
            let amps = format::amps(Some(amps.get()));
            format!("dead and without a break from box to box; {sums} at {amps}{back}")
        }
        Some(Drive::Voltage) => {
            let volts = run_of_loop(design, on.at).and_then(|run| run.source_volts);
            let volts = format::volts(volts);
            format!(
                "dead and no short between + and -; then, no light on, {volts} and + on the right wire{back}"
            )
        }
        None => format!("the control is not in the catalogue{back}"),
    }
}

fn ceiling_row(design: &Design, on: &LoopWork<'_>, wires: &Wires, at: usize, ceiling: &CeilingBox) -> Row {
    let joint = joint(design, on, wires, at, ceiling);
    let lit = ceiling.fixture.is_some() || !ceiling.open.is_empty();
    let volts = match light(design, on.at, at) {
        Some(light) => Cell::volts(light.volts),
        None if lit => Cell::Unknown,
        None => Cell::Blank,
    };
    let name = if ceiling.name.is_empty() { String::new() } else { format!(", {}", ceiling.name) };
    Row::new(vec![
        Cell::Tick,
        Cell::from(format!("  {}", ceiling.id)),
        Cell::from(format!("{}{name}", fixture_of(design, ceiling))),
        Cell::from(joint.words),
        volts,
    ])
    .about(Subject::new(Kind::Fixture, &ceiling.id))
    .beneath()
}
