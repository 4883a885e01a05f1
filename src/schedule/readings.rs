//! What a meter should read on each cable, with a blank beside it, filled where it was read, and what that tells.

mod words;

pub use words::{band_words, figure_words, says};

use super::names::{box_and_room, with_name};
use super::{Cell, Column, Row, Section, Table, Weight};
use crate::design::Design;
use crate::format::Text;
use crate::job::site::Test;
use crate::job::{Kind, Subject};
use crate::site::{self, Band, Expected, Judged, Line, LineKind, Taking, Verdict};
use serde::Serialize;

/// A blank to write in.
const BLANK: &str = "________";

/// The document of the sheet `readings`.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Readings {
    /// Every cable.
    pub cables: Vec<CableReadings>,
}

/// A cable in [`Readings`].
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct CableReadings {
    /// Which one.
    pub cable: String,
    /// What the readings come to, in a few words.
    pub verdict: &'static str,
    /// What they tell, in sentences.
    pub says: Vec<String>,
    /// Its tests.
    pub tests: Vec<TestEntry>,
}

/// A test in [`Readings`]. Bounds that do not apply or are not known are null.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct TestEntry {
    /// What is measured.
    pub test: String,
    /// The unit: `ohm`, `V` or `A`.
    pub unit: &'static str,
    /// The least that is expected.
    pub least: Option<f64>,
    /// What is most likely.
    pub likely: Option<f64>,
    /// The most.
    pub most: Option<f64>,
    /// The figure as it was typed; null while it is not read.
    pub read: Option<String>,
    /// `ok`, `low`, `high`, `?` without a band; empty while it is not read.
    pub judged: &'static str,
}

/// The document for machines.
pub fn document(design: &Design) -> Readings {
    let cables = site::lines(design).into_iter().map(|line| {
        let diagnosis = site::diagnose(design, &line);
        let tests = site::expected(design, &line, Taking::Usual).into_iter().map(|one| {
            let (least, likely, most) = match one.band {
                Band::Between { low, typical, high } => (Some(low), Some(typical), Some(high)),
                Band::AtLeast(least) => (Some(least), None, None),
                Band::Unknown(_) => (None, None, None),
            };
            TestEntry {
                test: one.test.to_string(),
                unit: one.test.unit(),
                least,
                likely,
                most,
                read: one.reading.map(|reading| reading.figure.to_string()),
                judged: one.judged.word(),
            }
        });
        CableReadings {
            cable: line.id.to_string(),
            verdict: diagnosis.verdict.word(),
            says: says(design, &line, &diagnosis),
            tests: tests.collect(),
        }
    });
    Readings { cables: cables.collect() }
}

/// The sheet: a section for each cable.
pub fn table(design: &Design) -> Table {
    let mut table = Table::new(
        "readings",
        "Readings at rough-in",
        vec![
            Column::text("test", "test").width(22, 44).grow(),
            Column::text("expected", "expected").width(14, 18),
            Column::text("unit", "").width(3, 4),
            Column::text("read", "read").width(8, 12),
            Column::text("judged", "").width(4, 8),
            Column::text("by", "by").width(6, 13).yields(1),
        ],
    );
    for line in site::lines(design) {
        table = table.with_section(section(design, &line));
    }
    notes(design, &mut table);
    table
}

/// The heading and rows of one cable.
fn section(design: &Design, line: &Line<'_>) -> Section {
    let diagnosis = site::diagnose(design, line);
    let mut rows: Vec<Row> =
        site::expected(design, line, Taking::Usual).iter().map(|one| row(line, one)).collect();
    for said in says(design, line, &diagnosis) {
        rows.push(Row::new(vec![Cell::from(format!("-> {said}"))]).about(subject(line)).beneath());
    }
    let verdict = match diagnosis.verdict {
        Verdict::NotRead => String::new(),
        other => format!(" - {}", other.word()),
    };
    Section::headed(format!("{}{verdict}", heading(design, line)), rows).keyed(line.id.as_str())
}

/// What a cable is called on paper: its id, type and where it goes.
pub fn heading(design: &Design, line: &Line<'_>) -> String {
    let cable = line.cable.map(|cable| format!(" {}", cable.id)).unwrap_or_default();
    let at = box_and_room(design, line.wall_box);
    match line.kind {
        LineKind::HomeRun => format!("{}{cable}, home run to {at}", line.id),
        LineKind::Onward => format!("{}{cable}, onward to {at}", line.id),
        LineKind::Loop => format!("{}{cable}, loop from {at}", line.id),
        LineKind::Link => format!("{}{cable}, link from {at}", line.id),
    }
}

fn subject(line: &Line<'_>) -> Subject {
    Subject::new(Kind::Cable, line.id)
}

fn row(line: &Line<'_>, one: &Expected<'_>) -> Row {
    let read =
        one.reading.map_or_else(|| Cell::text(BLANK), |reading| Cell::from(reading.figure.to_string()));
    let judged = match one.judged {
        Judged::NotRead => Cell::Blank,
        Judged::AsExpected | Judged::NoBand => Cell::text(one.judged.word()),
        Judged::Low | Judged::High => Cell::Flag(Weight::Caution, one.judged.word().into()),
    };
    let by = one
        .reading
        .and_then(|reading| reading.by.as_ref())
        .map_or(Cell::Blank, |by| Cell::from(by.to_string()));
    Row::new(vec![
        Cell::from(one.test.to_string()),
        Cell::from(band_words(&one.band)),
        Cell::text(one.test.unit()),
        read,
        judged,
        by,
    ])
    .about(subject(line))
}

fn notes(design: &Design, table: &mut Table) {
    let rule = &design.job.settings.site;
    let meter = site::usual_meter(design, &Test::Insulation);
    let meter = meter.map_or_else(
        || Text::from("a pocket meter (1 %, 3 counts, 0.1 ohm): the catalogue has none"),
        |meter| with_name(&meter.id, &meter.name),
    );
    table.notes.push(
        format!(
            "Expected: what {meter} shows, its leads included, with conductors at {} C, +-{} % for the copper, +-{} % \
             for a length that is estimated. Where another meter is taken its own band holds; a reading that was taken is held against its own meter \
             and temperature.",
            rule.celsius, rule.copper_percent, rule.estimate_percent
        )
        .into(),
    );
    table.notes.push(
        "conductor: one conductor end to end. across: the pair from one end with nothing joined. joined: the pair \
         joined at the other end, or at the box named. near: where the cable starts. Conductors that are doubled are \
         twisted together at both ends while the pair is read. OL: more than the meter shows."
            .into(),
    );
    table.notes.push(
        "insulation: at 250 V dc with everything disconnected; at least 0.5 M by IEC 60364-6 table 6A. The NEC sets \
         no value."
            .into(),
    );
    match rule.test_load_ohms {
        Some(ohms) => table.notes.push(
            format!("volts at a box: with a resistor of {ohms} ohm across the pair there and nothing else on, at full level.")
                .into(),
        ),
        None => table.notes.push("volts under load are left out: the settings name no test load.".into()),
    }
    table.cautions.push(
        "Read ohms with supplies off and controls and fixtures disconnected. 'Continuous, not bridged' is all that a \
         meter tells: a crossing, IN and OUT exchanged, a nick into dry wood or the wrong gauge may not show in ohms."
            .into(),
    );
}
