//! The cable schedule: every cable to pull, from where to where.

use super::names::{box_and_room, called, place_of};
use super::{Cell, Column, Row, Section, Table};
use crate::design::Design;
use crate::job::wiring::{Feed, Link, Loop, LoopPath, Source, WallBox};
use crate::job::{Id, Kind, Subject};
use crate::network::{Basis, CableLength, Lengths};
use crate::units::Length;
use serde::Serialize;
use std::collections::BTreeMap;

/// The document of the sheet `cables`.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Cables {
    /// Every cable.
    pub cables: Vec<CableEntry>,
    /// Length of each cable type.
    pub totals: Vec<CableTotal>,
}

/// A cable in [`Cables`].
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct CableEntry {
    /// What is written on its ends.
    pub tag: String,
    /// `home-run`, `loop`, `link` or `bus`. A cable that feeds one wall box onward from another is a link.
    pub kind: &'static str,
    /// Its cable type.
    pub cable: String,
    /// Where it comes from: an output, a panel or a wall box.
    pub from: String,
    /// Where it goes: a wall box, or the ceiling box a loop ends at.
    pub to: String,
    /// Its length in feet; null while it is unknown.
    pub length_ft: Option<f64>,
    /// Whether the length was measured, or is that of the cable that was pulled; null while it is unknown.
    pub measured: Option<bool>,
    /// What each conductor does.
    pub conductors: Vec<ConductorEntry>,
    /// The legs of a loop in pull order.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub legs: Vec<LegEntry>,
}

/// A conductor in [`Cables`].
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct ConductorEntry {
    /// How it is marked.
    pub name: String,
    /// What it does.
    pub function: &'static str,
}

/// A leg of a loop in [`Cables`].
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct LegEntry {
    /// The box it comes from.
    pub from: String,
    /// The box it goes to.
    pub to: String,
    /// Its length in feet; null while it is unknown.
    pub length_ft: Option<f64>,
}

/// The length of one cable type in [`Cables`].
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct CableTotal {
    /// The cable type.
    pub cable: String,
    /// Its length in feet; null if any cable's is unknown.
    pub length_ft: Option<f64>,
    /// Cables of it.
    pub count: usize,
    /// Cables of it whose length is unknown.
    pub unknown: usize,
}

/// A cable with what paper and screen say of it.
struct Line {
    entry: CableEntry,
    id: Id,
    length: Option<CableLength>,
    legs: Vec<(LegEntry, Option<i64>)>,
    from: String,
    to: String,
}

fn lines(design: &Design) -> Vec<Line> {
    let job = &design.job;
    let mut lines: Vec<Line> = Vec::new();
    for wall_box in &job.boxes {
        lines.extend(wall_box.feeds.iter().map(|feed| feed_line(design, wall_box, feed)));
    }
    for wall_box in &job.boxes {
        for control in &wall_box.controls {
            lines.extend(control.loops.iter().map(|run| loop_line(design, wall_box, run)));
        }
    }
    for group in &job.groups {
        lines.extend(group.links.iter().map(|link| link_line(design, link)));
    }
    lines.sort_by_key(|line| kind_order(line.entry.kind));
    lines
}

fn kind_order(kind: &str) -> usize {
    ["home-run", "loop", "link", "bus"].iter().position(|k| *k == kind).unwrap_or(4)
}

fn line(
    design: &Design,
    id: &Id,
    kind: &'static str,
    cable: &Id,
    plan: Option<&Id>,
    length: Option<CableLength>,
) -> Line {
    let part = design.index.cable_type(&design.job, cable);
    let plan = plan.or(part.map(|part| &part.plan)).and_then(|plan| design.index.plan(&design.job, plan));
    let conductors = plan.map(|plan| plan.conductors.as_slice()).unwrap_or_default();
    Line {
        entry: CableEntry {
            tag: id.to_string(),
            kind,
            cable: cable.to_string(),
            from: String::new(),
            to: String::new(),
            length_ft: length.map(|length| length.length.feet()),
            measured: length.map(|length| length.basis != Basis::Estimated),
            conductors: conductors
                .iter()
                .map(|c| ConductorEntry { name: c.name.clone(), function: c.function.word() })
                .collect(),
            legs: Vec::new(),
        },
        id: id.clone(),
        length,
        legs: Vec::new(),
        from: String::new(),
        to: String::new(),
    }
}

fn feed_line(design: &Design, wall_box: &WallBox, feed: &Feed) -> Line {
    let length = Lengths::new(&design.job, &design.index).feed(wall_box, feed);
    let kind = if matches!(feed.from, Source::Onward(_)) { "link" } else { "home-run" };
    let mut line = line(design, &feed.id, kind, &feed.cable, feed.plan.as_ref(), length);
    (line.entry.from, line.from) = match &feed.from {
        Source::Output(output) => (output.to_string(), place_of(design, output)),
        Source::Panel(panel) => (panel.to_string(), format!("{panel}, no output yet")),
        Source::Onward(from) => match design.index.feed(&design.job, from) {
            Some((from_box, _)) => (from_box.id.to_string(), box_and_room(design, from_box)),
            None => (from.to_string(), from.to_string()),
        },
    };
    (line.entry.to, line.to) = (wall_box.id.to_string(), box_and_room(design, wall_box));
    line
}

fn loop_line(design: &Design, wall_box: &WallBox, run: &Loop) -> Line {
    let lengths = Lengths::new(&design.job, &design.index).wired_loop(wall_box, run);
    let mut line = line(design, &run.id, "loop", &run.cable, run.plan.as_ref(), lengths.whole);
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
    let mut before = wall_box.id.to_string();
    let mut stops: Vec<String> = run.ceiling.iter().map(|ceiling| ceiling.id.to_string()).collect();
    if run.path.returns() && !stops.is_empty() {
        stops.push(home.id.to_string());
    }
    for (to, ticks) in stops.into_iter().zip(&lengths.legs) {
        let length_ft = ticks.map(|ticks| Length::from_ticks(ticks, design.job.project.units).feet());
        let leg = LegEntry { from: std::mem::replace(&mut before, to.clone()), to, length_ft };
        line.legs.push((leg.clone(), *ticks));
        line.entry.legs.push(leg);
    }
    line
}

/// Where a loop returns to: mostly the box it left from, which need not be told twice.
fn back_to(design: &Design, wall_box: &WallBox, home: &WallBox) -> String {
    if home.id == wall_box.id {
        format!("back to {}", home.id)
    } else {
        format!("back to {}", box_and_room(design, home))
    }
}

fn link_line(design: &Design, link: &Link) -> Line {
    let length = Lengths::new(&design.job, &design.index).link(link);
    let mut drawn = line(design, &link.id, "link", &link.cable, link.plan.as_ref(), length);
    let end = |control: &Id| match design.index.control(&design.job, control) {
        Some((wall_box, _)) => (wall_box.id.to_string(), box_and_room(design, wall_box)),
        None => (control.to_string(), control.to_string()),
    };
    (drawn.entry.from, drawn.from) = end(&link.from);
    (drawn.entry.to, drawn.to) = end(&link.to);
    drawn
}

fn totals(design: &Design, lines: &[Line]) -> Vec<(CableTotal, i64)> {
    let mut sums: BTreeMap<&str, (usize, usize, i64)> = BTreeMap::new();
    for line in lines {
        let (count, unknown, ticks) = sums.entry(&line.entry.cable).or_default();
        *count += 1;
        match line.length {
            Some(length) => *ticks += length.length.ticks(),
            None => *unknown += 1,
        }
    }
    sums.into_iter()
        .map(|(cable, (count, unknown, ticks))| {
            let feet = Length::from_ticks(ticks, design.job.project.units).feet();
            let length_ft = (unknown == 0).then_some(feet);
            (CableTotal { cable: cable.to_owned(), length_ft, count, unknown }, ticks)
        })
        .collect()
}

/// The document for machines.
pub fn document(design: &Design) -> Cables {
    let lines = lines(design);
    let totals = totals(design, &lines).into_iter().map(|(total, _)| total).collect();
    Cables { cables: lines.into_iter().map(|line| line.entry).collect(), totals }
}

/// The sheet for the crew, with the legs of each loop beneath it or not.
pub fn table(design: &Design, with_legs: bool) -> Table {
    let lines = lines(design);
    // On paper an 18/5 takes two lines, so that what it goes to has room beside it.
    let (conductors_least, conductors_most) = if with_legs { (19, 19) } else { (9, 44) };
    let mut table = Table::new(
        "cables",
        "Cable schedule",
        vec![
            Column::text("done", "").width(3, 3).yields(4),
            Column::text("tag", "tag").width(4, 10),
            Column::text("cable", "cable").width(4, 9).yields(1),
            Column::text("from", "from").width(10, 30).grow(),
            Column::text("to", "to").width(10, 36).grow(),
            Column::figure("length_ft", "length").width(6, 12),
            Column::text("measured", "").width(4, 4).yields(2),
            Column::text("conductors", "conductors")
                .width(conductors_least, conductors_most)
                .yields(3)
                .grow(),
        ],
    );
    for (kind, heading) in [("home-run", "Home runs"), ("loop", "Loops"), ("link", "Links and onward feeds")]
    {
        let of_kind = lines.iter().filter(|line| line.entry.kind == kind);
        let rows: Vec<Row> = of_kind.flat_map(|line| line_rows(design, line, with_legs)).collect();
        if !rows.is_empty() {
            table = table.with_section(Section::headed(heading, rows).keyed(kind));
        }
    }
    for (total, ticks) in totals(design, &lines) {
        let name = design
            .job
            .catalogue
            .cables
            .iter()
            .find(|part| part.id.as_str() == total.cable)
            .map(|part| called(&part.name, &part.id))
            .unwrap_or_default();
        let unit = design.job.project.units;
        let cables = if total.count == 1 { "cable" } else { "cables" };
        let count = match total.unknown {
            0 => format!("{} {cables}", total.count),
            unknown => format!("{} {cables}, {unknown} of unknown length not in it", total.count),
        };
        table.totals.push(Row::new(vec![
            Cell::Blank,
            Cell::text("total"),
            Cell::from(total.cable.clone()),
            Cell::from(name),
            Cell::from(count),
            Cell::length(Length::from_ticks(ticks, unit)),
            Cell::Blank,
            Cell::Blank,
        ]));
    }
    table.notes.push("from: panel/slot and output, as P1/3 PS2.1; of a loop's legs, the box before.".into());
    table.notes.push("est: estimated from places, with allowance and make-up; meas: measured; pull: by the foot marks of what was pulled. Cut to what the house needs. A loop is one cut; its legs are rounded up one by one.".into());
    table.notes.push("Conductors that end in + or - make the two sides of the pair; alike ones are doubled up. Others stand with what they are for.".into());
    table
        .cautions
        .push("Keep out of bored holes that carry line-voltage. Mark both ends before cutting.".into());
    table
}

/// A conductor with its function, as short as a crew writes it: `red+`, `black-`, `white:spare`.
fn conductor(entry: &ConductorEntry) -> String {
    match entry.function {
        side @ ("+" | "-") => format!("{}{side}", entry.name),
        function => format!("{}:{}", entry.name, function.replace(' ', "-")),
    }
}

fn line_rows(design: &Design, line: &Line, with_legs: bool) -> Vec<Row> {
    let conductors: Vec<String> = line.entry.conductors.iter().map(conductor).collect();
    let subject = Subject::new(Kind::Cable, &line.id);
    let basis = match line.length.map(|length| length.basis) {
        Some(Basis::Pulled) => Cell::text("pull"),
        Some(Basis::Measured) => Cell::text("meas"),
        Some(Basis::Estimated) => Cell::text("est"),
        None => Cell::Unknown,
    };
    let mut rows = vec![
        Row::new(vec![
            Cell::Tick,
            Cell::from(&line.id),
            Cell::from(line.entry.cable.clone()),
            Cell::from(line.from.clone()),
            Cell::from(line.to.clone()),
            Cell::length(line.length.map(|length| length.length)),
            basis,
            Cell::from(conductors.join(" ")),
        ])
        .about(subject.clone()),
    ];
    if with_legs {
        rows.extend(line.legs.iter().map(|(leg, ticks)| {
            let length = ticks.map(|ticks| Length::round_up(ticks, design.job.project.units));
            Row::new(vec![
                Cell::Blank,
                Cell::Blank,
                Cell::Blank,
                Cell::from(format!("  {}", leg.from)),
                Cell::from(leg.to.clone()),
                Cell::length(length),
                Cell::Blank,
                Cell::Blank,
            ])
            .about(subject.clone())
            .beneath()
        }));
    }
    rows
}
