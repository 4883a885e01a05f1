//! The rows of the view `Site`: cables and boxes in pull order, with the tests of each cable that is pulled.

use super::names::{box_and_room, called, fixture_of};
use super::punch::planned_length;
use super::readings::band_words;
use super::{Cell, Column, Row, Section, Table, Weight};
use crate::design::Design;
use crate::format::UNKNOWN;
use crate::job::site::Step;
use crate::job::wiring::{CeilingBox, Loop, WallBox};
use crate::job::{Id, Kind, Spot, Subject};
use crate::site::{self, Judged, Line, LineKind, Stand, Taking, Verdict};

/// What stands before the name of a test, so that its row is told from that of its cable.
const TEST: &str = "  ";

/// The rows, a section for each room; what is expected is so of readings that are taken like that.
pub fn table(design: &Design, taking: Taking<'_>) -> Table {
    let mut table = Table::new(
        "site",
        "Site",
        vec![
            Column::text("what", "cable, test, box").width(22, 40).grow(),
            Column::text("expected", "expected, planned").width(15, 22),
            Column::text("read", "read, pulled").width(10, 16),
            Column::text("state", "state").width(12, 24),
            Column::text("by", "by").width(8, 16).yields(1),
        ],
    );
    let stands = site::stands(design);
    for room in site::progress(design) {
        let name = design
            .index
            .room(&design.job, room.room)
            .map_or_else(|| room.room.to_string(), |(_, room)| called(&room.name, &room.id));
        let way = match room.blocks.len() {
            0 => "ready for board".to_owned(),
            n => format!("{n} in the way of board"),
        };
        let heading = format!(
            "{name}: {} of {} cables pulled, {} tested, {} wrong; {way}",
            room.pulled, room.cables, room.tested, room.wrong
        );
        let here = stands.iter().filter(|stand| stand.room.same(room.room));
        let rows = here.flat_map(|stand| rows(design, stand, taking)).collect();
        table = table.with_section(Section::headed(heading, rows).keyed(room.room.as_str()));
    }
    table
}

/// The test a row is about; none on the row of a cable or a box.
pub fn test_of(row: &Row) -> Option<crate::job::site::Test> {
    let Cell::Text(text) = row.cell(0) else { return None };
    text.as_str().strip_prefix(TEST)?.parse().ok()
}

fn rows(design: &Design, stand: &Stand<'_>, taking: Taking<'_>) -> Vec<Row> {
    let Ok(id) = Id::new(&stand.subject.id) else { return Vec::new() };
    if stand.subject.kind == Kind::Cable {
        return site::line(design, &id)
            .map_or_else(Vec::new, |line| cable_rows(design, stand, &line, taking));
    }
    vec![box_row(design, stand, &id)]
}

fn cable_rows(design: &Design, stand: &Stand<'_>, line: &Line<'_>, taking: Taking<'_>) -> Vec<Row> {
    let unit = design.job.project.units;
    let planned = planned_length(design, line.id).map_or_else(|| UNKNOWN.into(), |length| length.shown(unit));
    let pulled = line.site.pulled().map_or_else(String::new, |length| length.shown(unit));
    let kind = match line.kind {
        LineKind::HomeRun => "home run",
        LineKind::Onward => "onward",
        LineKind::Loop => "loop",
        LineKind::Link => "link",
    };
    let cable = line.cable.map_or_else(String::new, |cable| cable.id.to_string());
    let state = match stand.verdict {
        Some(verdict @ Verdict::Damaged) => Cell::Flag(Weight::Bad, verdict.word().into()),
        Some(verdict @ Verdict::Odd) => Cell::Flag(Weight::Caution, verdict.word().into()),
        _ => Cell::text(stand.step.word()),
    };
    let mut rows = vec![
        Row::new(vec![
            Cell::from(format!("{} {kind} {cable}", line.id)),
            Cell::from(planned),
            Cell::from(pulled),
            state,
            done_by(stand),
        ])
        .about(stand.subject.clone()),
    ];
    // Before it is pulled there is nothing to read; once it is boarded its readings are on the sheet.
    if stand.step != Step::ToPull && stand.step < Step::Boarded || stand.verdict >= Some(Verdict::Odd) {
        for one in site::expected(design, line, taking) {
            let judged = match one.judged {
                Judged::NotRead => Cell::Blank,
                Judged::Low | Judged::High => Cell::Flag(Weight::Caution, one.judged.word().into()),
                other => Cell::text(other.word()),
            };
            let read = one.reading.map_or_else(String::new, |reading| reading.figure.to_string());
            let by = one.reading.and_then(|reading| reading.by.as_ref());
            let cells = vec![
                Cell::from(format!("{TEST}{}", one.test)),
                Cell::from(format!("{} {}", band_words(&one.band), one.test.unit())),
                Cell::from(read),
                judged,
                by.map_or(Cell::Blank, |by| Cell::from(by.to_string())),
            ];
            rows.push(Row::new(cells).about(stand.subject.clone()).beneath());
        }
    }
    rows
}

fn box_row(design: &Design, stand: &Stand<'_>, id: &Id) -> Row {
    let (holds, walls) = match (stand.subject.kind, design.index.spot(stand.subject.kind, id)) {
        (_, Some(Spot::Ceiling { wall_box, control, at, ceiling })) => {
            let found = find(design, wall_box, control, at, ceiling);
            found.map_or_else(Default::default, |(wall_box, run, ceiling)| {
                let walls: Vec<String> = ceiling.site.walls.iter().map(ToString::to_string).collect();
                (held(design, wall_box, run, ceiling), walls.join(", "))
            })
        }
        (_, Some(Spot::WallBox(at))) => {
            let wall_box = design.job.boxes.get(at);
            (wall_box.map_or_else(String::new, |wall_box| wall_box.name.clone()), String::new())
        }
        _ => Default::default(),
    };
    let word = if stand.subject.kind == Kind::WallBox { "wall box" } else { "box" };
    Row::new(vec![
        Cell::from(format!("{id} {word}")),
        Cell::from(holds),
        Cell::from(walls),
        Cell::text(stand.step.word()),
        done_by(stand),
    ])
    .about(stand.subject.clone())
}

fn find(
    design: &Design,
    wall_box: usize,
    control: usize,
    at: usize,
    ceiling: usize,
) -> Option<(&WallBox, &Loop, &CeilingBox)> {
    let wall_box = design.job.boxes.get(wall_box)?;
    let run = wall_box.controls.get(control)?.loops.get(at)?;
    Some((wall_box, run, run.ceiling.get(ceiling)?))
}

fn held(design: &Design, wall_box: &WallBox, wired: &Loop, ceiling: &CeilingBox) -> String {
    fixture_of(design, wall_box, wired, ceiling)
}

fn done_by(stand: &Stand<'_>) -> Cell {
    stand.steps.of(stand.step).map_or(Cell::Blank, |done| Cell::from(done.to_string()))
}

/// What is expected of the test of a row, for who is about to type it.
pub fn expected_words(
    design: &Design,
    cable: &Id,
    test: &crate::job::site::Test,
    taking: Taking<'_>,
) -> String {
    let Some(line) = site::line(design, cable) else { return String::new() };
    let all = site::expected(design, &line, taking);
    let band = all.iter().find(|one| one.test == *test).map_or_else(String::new, |one| band_words(&one.band));
    let at = box_and_room(design, line.wall_box);
    format!("{cable} {test}: {band} {} expected; {at}", test.unit())
}

/// What the readings of the cable of a row tell; nothing on other rows.
pub fn says_of(design: &Design, subject: &Subject) -> Vec<String> {
    let Some(id) = Id::new(&subject.id).ok().filter(|_| subject.kind == Kind::Cable) else {
        return Vec::new();
    };
    site::line(design, &id)
        .map_or_else(Vec::new, |line| super::readings::says(design, &line, &site::diagnose(design, &line)))
}
