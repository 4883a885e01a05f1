//! What an inspector asks for: supplies with their Class 2 marks, what feeds them, cables with their listings, what is
//! marked how, and what is found or answered for. One page where the house has one panel, else one at each panel.

mod document;

pub use document::{CableUse, Circuit, Finding, Inspection, MarkedOutput, Marking, Supplies, document};

use super::{Cell, Column, Row, Section, Table, Weight};
use crate::checks::Severity;
use crate::design::Design;
use crate::format::Quantity;
use crate::job::panel::Panel;
use crate::job::{Kind, Subject};

/// The tables for people.
///
/// One page where the house has one panel; else a page to hang at each panel, and one for what is of the whole house.
pub fn tables(design: &Design) -> Vec<Table> {
    let all = document(design);
    if let [] | [_] = design.job.panels.as_slice() {
        return vec![
            supply_table(&all, "Inspection: Class 2 supplies, circuits and cables".into()),
            circuit_table(&all),
            cable_table(&all),
            marking_table(&all),
            findings_table(&all),
        ];
    }
    let mut tables = Vec::new();
    for panel in &design.job.panels {
        let own = of_panel(&all, panel);
        let title = format!("Inspection of panel {}: Class 2 supplies and circuits", panel.id);
        let first = supply_table(&own, title);
        // Each under a title of its own, by which an earlier state's is found.
        let titled = |table: Table| {
            let title = format!("{}, panel {}", table.title, panel.id);
            Table { title: title.into(), ..table }
        };
        let rest = [circuit_table(&own), marking_table(&own)].map(titled);
        tables.push(Table { new_page: true, ..first });
        tables.extend(rest);
    }
    let cables = Table { new_page: true, ..cable_table(&all).on_one_page() };
    tables.push(Table { title: "Inspection: cables and findings of the whole house".into(), ..cables });
    tables.push(findings_table(&all));
    tables
}

/// What of all is at one panel.
fn of_panel(all: &Inspection, panel: &Panel) -> Inspection {
    let here = |id: &str| panel.id.as_str().eq_ignore_ascii_case(id);
    let supplies = |id: &str| panel.supplies.iter().any(|supply| supply.id.as_str() == id);
    Inspection {
        supplies: all.supplies.iter().filter(|s| here(&s.panel)).cloned().collect(),
        circuits: all.circuits.iter().filter(|circuit| here(&circuit.panel)).cloned().collect(),
        cables: Vec::new(),
        marking: all.marking.iter().filter(|marking| supplies(&marking.supply)).cloned().collect(),
        findings: Vec::new(),
    }
}

fn supply_table(all: &Inspection, title: String) -> Table {
    let columns = vec![
        Column::text("supplies", "supplies").width(8, 30),
        Column::text("panel", "panel").width(4, 10),
        Column::text("name", "type").width(10, 30).yields(2),
        Column::text("class_2", "marked").width(12, 31),
        Column::figure("outputs", "outputs\neach").yields(1),
        Column::figure("volts", "volts").bare(Quantity::Volts),
        Column::figure("amps", "amps\nup to").bare(Quantity::Amps),
        Column::figure("volt_amps", "per output\nup to").bare(Quantity::VoltAmps),
        Column::figure("allowed_volt_amps", "allowed\nby 11(B)").bare(Quantity::VoltAmps).yields(3),
    ];
    let rows = all.supplies.iter().map(|s| {
        let mark = if s.class_2.starts_with("NOT") { Weight::Bad } else { Weight::Plain };
        Row::new(vec![
            s.supplies.join(", ").into(),
            s.panel.as_str().into(),
            s.name.as_str().into(),
            Cell::Flag(mark, s.class_2.into()),
            Cell::Count(s.outputs.into()),
            Cell::volts(s.volts),
            Cell::amps(s.amps),
            Cell::Figure(Quantity::VoltAmps, Some(s.volt_amps)),
            if mark == Weight::Bad {
                Cell::Blank
            } else {
                Cell::Figure(Quantity::VoltAmps, s.allowed_volt_amps)
            },
        ])
    });
    let mut table = Table::new("supplies", title, columns);
    table = table.with_rows(rows.collect()).on_one_page();
    table.notes.push(
        "Allowed by 11(B): NEC chapter 9 table 11(B) at the most volts, those at no load. Marks are those of the \
         catalogue: compare them with the nameplates."
            .into(),
    );
    table
}

fn circuit_table(all: &Inspection) -> Table {
    let columns = vec![
        Column::text("panel", "panel").width(4, 10),
        Column::text("room", "room").width(8, 30).grow(),
        Column::figure("volts", "circuit").bare(Quantity::Volts),
        Column::figure("breaker_amps", "breaker").bare(Quantity::Amps),
        Column::figure("amps", "takes").bare(Quantity::Amps),
        Column::figure("volt_amps", "takes").bare(Quantity::VoltAmps),
        Column::figure("heat_watts", "heat").bare(Quantity::Watts).yields(1),
    ];
    let rows = all.circuits.iter().map(|circuit| {
        Row::new(vec![
            circuit.panel.as_str().into(),
            circuit.room.as_str().into(),
            Cell::volts(circuit.volts),
            Cell::amps(circuit.breaker_amps),
            Cell::amps(circuit.amps),
            Cell::Figure(Quantity::VoltAmps, circuit.volt_amps),
            Cell::watts(circuit.heat_watts),
        ])
        .about(Subject::new(Kind::Panel, &circuit.panel))
    });
    Table::new("circuits", "AC circuits, at full level", columns).with_rows(rows.collect())
}

fn cable_table(all: &Inspection) -> Table {
    let columns = vec![
        Column::text("cable", "cable").width(4, 12),
        Column::text("made", "conductors, copper").width(12, 40),
        Column::text("listing", "listed for").width(12, 30).grow(),
        Column::text("places", "places").width(6, 24),
    ];
    let rows = all.cables.iter().map(|cable| {
        let places = match (cable.wet, cable.sunlight) {
            (true, true) => "wet, sunlight",
            (true, false) => "wet",
            (false, true) => "sunlight",
            (false, false) => "dry only",
        };
        let listing = cable.listing.map_or(Cell::Unknown, Cell::from);
        Row::new(vec![cable.cable.as_str().into(), cable.made.as_str().into(), listing, places.into()])
    });
    Table::new("cables", "Cables in use", columns).with_rows(rows.collect())
}

fn marking_table(all: &Inspection) -> Table {
    let columns = vec![
        Column::text("supply", "supply").width(5, 10),
        Column::text("marked", "marked").width(7, 12),
        Column::text("outputs", "outputs with their home runs").width(20, 120).grow(),
    ];
    let rows = all.marking.iter().map(|marking| {
        let outputs = marking.outputs.iter().map(|o| format!("{}: {}", o.output, o.runs.join(", ")));
        let outputs: Vec<String> = outputs.collect();
        Row::new(vec![
            marking.supply.as_str().into(),
            if marking.class_2 { "Class 2".into() } else { Cell::Flag(Weight::Bad, "not Class 2".into()) },
            if outputs.is_empty() { "nothing on it".into() } else { outputs.join("; ").into() },
        ])
        .about(Subject::new(Kind::Supply, &marking.supply))
    });
    let mut table = Table::new("marking", "Marking of circuits", columns).with_rows(rows.collect());
    table.notes.push(
        "Each Class 2 circuit is marked as one where it is supplied, plainly visible: NEC 725.124(C), 2017, from memory."
            .into(),
    );
    table
}

fn findings_table(all: &Inspection) -> Table {
    let columns = vec![
        Column::text("severity", "").width(8, 10),
        Column::text("what", "what is found").width(20, 80).grow(),
        Column::text("source", "limit from").width(12, 30).yields(1),
        Column::text("accepted_by", "answered for by").width(10, 24),
        Column::text("reason", "because").width(10, 60).grow(),
    ];
    let (accepted, open): (Vec<_>, Vec<_>) = all.findings.iter().partition(|f| f.accepted_by.is_some());
    let row = |finding: &&Finding| {
        let by = finding.accepted_by.as_deref();
        let (weight, word) = match (by, finding.severity) {
            (Some(_), _) => (Weight::Plain, "accepted"),
            (None, severity @ Severity::Error) => (Weight::Bad, severity.word()),
            (None, severity @ Severity::Warning) => (Weight::Caution, severity.word()),
            (None, severity) => (Weight::Plain, severity.word()),
        };
        Row::new(vec![
            Cell::Flag(weight, word.into()),
            finding.what.as_str().into(),
            finding.source.as_str().into(),
            by.map_or_else(|| Cell::text("open"), Cell::from),
            finding.reason.as_deref().map_or(Cell::Blank, Cell::from),
        ])
    };
    let mut table = Table::new("findings", "Findings, and what is answered for", columns);
    let weighty = open.iter().filter(|finding| finding.severity != Severity::Advice).map(row);
    let advice = open.iter().filter(|finding| finding.severity == Severity::Advice);
    let rows: Vec<Row> = weighty.chain(advice_rows(advice)).chain(accepted.iter().map(row)).collect();
    if rows.is_empty() {
        table.columns.truncate(2);
        table.sections.push(Section {
            rows: vec![Row::new(vec![Cell::Blank, Cell::text("nothing is found")])],
            ..Section::default()
        });
        return table;
    }
    table.sections.push(Section { rows, ..Section::default() });
    table
}

/// Advice by check, a row for each with how many causes it has: what an inspector need not read one by one.
fn advice_rows<'a>(advice: impl Iterator<Item = &'a &'a Finding>) -> Vec<Row> {
    let mut by_check: Vec<(&Finding, usize)> = Vec::new();
    for finding in advice {
        match by_check.iter_mut().find(|(first, _)| first.code == finding.code) {
            Some((_, count)) => *count += 1,
            None => by_check.push((finding, 1)),
        }
    }
    let row = |(first, count): (&Finding, usize)| {
        let what = match count {
            1 => first.what.clone(),
            n => format!("{}; {} more of this kind are on the sheet 'findings'", first.what, n - 1),
        };
        let cells = vec![
            first.severity.word().into(),
            what.into(),
            first.source.as_str().into(),
            Cell::text("open"),
            Cell::Blank,
        ];
        Row::new(cells)
    };
    by_check.into_iter().map(row).collect()
}
