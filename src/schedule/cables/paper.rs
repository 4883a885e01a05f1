//! The cable schedule for people.

use super::ConductorEntry;
use super::line::{self, Line, Sum};
use crate::design::Design;
use crate::job::{Kind, Subject};
use crate::network::Basis;
use crate::schedule::names::called;
use crate::schedule::narrow::Narrow;
use crate::schedule::{Cell, Column, Row, Section, Table};
use crate::units::Length;

/// Each kind of cable with its heading, in pull order.
const KINDS: [(&str, &str); 4] =
    [("home-run", "Home runs"), ("loop", "Loops"), ("link", "Links and onward feeds"), ("bus", "Bus")];

/// What is said below every schedule.
const NOTES: [&str; 5] = [
    "In pull order: home runs, loops, then links; in each by level, panel and room as the job lists them.",
    "from: panel/slot and output, as P1/3 PS2.1; of a loop's legs, the box before.",
    "est.: reckoned from places, with allowance and make-up. pulled: what lies in the house, to be written in here: \
     the difference of the foot marks on the jacket at both ends. It gets no allowance again.",
    "Where a length was measured it stands beneath, and counts in place of the estimate. Cut to what the house needs. A loop is one cable and one cut; its legs are rounded up one by one.",
    "Conductors that end in + or - make the two sides of the pair; alike ones are doubled up. Others stand with what \
     they are for.",
];

/// The sheet for the crew, with the legs of each loop beneath it or not.
pub fn table(design: &Design, with_legs: bool) -> Table {
    table_of(design, with_legs, &Narrow::ALL)
}

/// The sheet for a part of the house.
pub fn table_of(design: &Design, with_legs: bool, narrow: &Narrow) -> Table {
    let lines = line::lines(design, narrow);
    // On paper an 18/5 takes two lines, so that what it goes to has room beside it.
    let (conductors_least, conductors_most) = if with_legs { (19, 19) } else { (9, 44) };
    // Nobody writes on a screen: there it says how the length is known that counts.
    let [length, known] = if with_legs {
        [
            Column::figure("estimated_ft", "est.").width(6, 12),
            Column::figure("pulled_ft", "pulled").width(6, 12).yields(2),
        ]
    } else {
        [
            Column::figure("length_ft", "length").width(6, 12),
            Column::text("measured", "").width(4, 4).yields(2),
        ]
    };
    let mut table = Table::new(
        "cables",
        "Cable schedule",
        vec![
            Column::text("done", "").width(3, 3).yields(4),
            Column::text("tag", "tag").width(4, 10),
            Column::text("cable", "cable").width(4, 9).yields(1),
            Column::text("from", "from").width(10, 30).grow(),
            Column::text("to", "to").width(10, 36).grow(),
            length,
            known,
            Column::text("conductors", "conductors")
                .width(conductors_least, conductors_most)
                .yields(3)
                .grow(),
        ],
    );
    table.lead.extend(narrow.words(&design.job).map(Into::into));
    for (kind, heading) in KINDS {
        for level in levels(design, &lines, kind) {
            let of_section = lines.iter().filter(|line| line.entry.kind == kind && level.holds(line));
            let rows: Vec<Row> = of_section.flat_map(|line| line_rows(design, line, with_legs)).collect();
            table =
                table.with_section(Section::headed(format!("{heading}{}", level.words), rows).keyed(kind));
        }
    }
    table.totals = line::totals(design, &lines).iter().map(|sum| total_row(design, sum, with_legs)).collect();
    table.notes.extend(NOTES.map(Into::into));
    table
        .cautions
        .push("Keep out of bored holes that carry line-voltage. Mark both ends before cutting.".into());
    table
}

/// A level of a section, by position; the last one is for what stands nowhere.
struct Level<'a> {
    id: Option<&'a crate::job::Id>,
    words: String,
    only: bool,
}

impl Level<'_> {
    fn holds(&self, line: &Line) -> bool {
        self.only || self.id == line.level.as_ref()
    }
}

/// The levels that cables of a kind are on. A house of one level needs no word for it.
fn levels<'a>(design: &'a Design, lines: &[Line], kind: &str) -> Vec<Level<'a>> {
    if !lines.iter().any(|line| line.entry.kind == kind) {
        return Vec::new();
    }
    let job = &design.job;
    if job.levels.len() < 2 {
        return vec![Level { id: None, words: String::new(), only: true }];
    }
    let named = job.levels.iter().map(|level| Level {
        id: Some(&level.id),
        words: format!(", {}", called(&level.name, &level.id)),
        only: false,
    });
    let nowhere = Level { id: None, words: ", on no level".into(), only: false };
    let mut all: Vec<Level<'_>> = named.chain([nowhere]).collect();
    all.retain(|level| lines.iter().any(|line| line.entry.kind == kind && level.holds(line)));
    all
}

fn total_row(design: &Design, sum: &Sum, on_paper: bool) -> Row {
    let parts = &design.job.catalogue.cables;
    let name = parts.iter().find(|part| part.id.as_str() == sum.total.cable);
    let name = name.map(|part| called(&part.name, &part.id)).unwrap_or_default();
    let cables = if sum.total.count == 1 { "cable" } else { "cables" };
    let (unknown, ticks) =
        if on_paper { (sum.estimate_unknown, sum.estimated) } else { (sum.total.unknown, sum.ticks) };
    let count = match unknown {
        0 => format!("{} {cables}", sum.total.count),
        unknown => format!("{} {cables}, {unknown} of unknown length not in it", sum.total.count),
    };
    let unit = design.job.project.units;
    let pulled = match sum.pulled_count {
        _ if !on_paper => Cell::Blank,
        0 => Cell::Write,
        _ => Cell::length(Length::from_ticks(sum.pulled, unit)),
    };
    let so_far = match sum.pulled_count {
        0 => Cell::Blank,
        n => Cell::from(format!("{n} of {} pulled", sum.total.count)),
    };
    Row::new(vec![
        Cell::Blank,
        Cell::text("total"),
        Cell::from(sum.total.cable.clone()),
        Cell::from(name),
        Cell::from(count),
        Cell::length(Length::from_ticks(ticks, unit)),
        pulled,
        so_far,
    ])
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
    let (length, known) = if with_legs {
        (Cell::length(line.estimated), line.pulled.map_or(Cell::Write, Cell::length))
    } else {
        let basis = line.length.map_or(Cell::Unknown, |length| match length.basis {
            Basis::Pulled => Cell::text("pull"),
            Basis::Measured => Cell::text("meas"),
            Basis::Estimated => Cell::text("est"),
        });
        (Cell::length(line.length.map(|length| length.length)), basis)
    };
    let mut rows = vec![
        Row::new(vec![
            Cell::Tick,
            Cell::from(&line.id),
            Cell::from(line.entry.cable.clone()),
            Cell::from(line.from.clone()),
            Cell::from(line.to.clone()),
            length,
            known,
            Cell::from(conductors.join(" ")),
        ])
        .about(subject.clone()),
    ];
    if let (Some(measured), true) = (line.measured, with_legs) {
        let cells = [Cell::text("  measured"), Cell::text("cut to this"), Cell::length(measured)];
        rows.push(
            Row::new([Cell::Blank, Cell::Blank, Cell::Blank].into_iter().chain(cells).collect())
                .about(subject.clone())
                .beneath(),
        );
    }
    if with_legs {
        rows.extend(line.legs.iter().map(|leg| {
            let length = leg.estimated.map(|ticks| Length::round_up(ticks, design.job.project.units));
            Row::new(vec![
                Cell::Blank,
                Cell::Blank,
                Cell::Blank,
                Cell::from(format!("  {}", leg.entry.from)),
                Cell::from(leg.entry.to.clone()),
                Cell::length(length),
                leg.pulled.map_or(Cell::Blank, Cell::length),
                Cell::Blank,
            ])
            .about(subject.clone())
            .beneath()
        }));
    }
    rows
}
