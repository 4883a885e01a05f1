//! What an inspector asks for, on one page: supplies with their Class 2 marks, what feeds them, cables with their
//! listings, what is marked how, and what is found or answered for.

use super::names::called;
use super::{Cell, Column, Row, Section, Table, Weight, cables};
use crate::checks::{Severity, grouped};
use crate::design::Design;
use crate::format::Quantity;
use crate::job::Subject;
use crate::job::catalogue::{Listing, OutputKind, SupplyType};
use crate::job::panel::Panel;
use crate::job::{Id, Kind};
use crate::standards::class2;
use serde::Serialize;

/// The document of the sheet.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Inspection {
    /// The supplies of each panel, those of one type together.
    pub supplies: Vec<Supplies>,
    /// What feeds each panel.
    pub circuits: Vec<Circuit>,
    /// The cables in use.
    pub cables: Vec<CableUse>,
    /// What is marked on each supply.
    pub marking: Vec<Marking>,
    /// What is found, by cause.
    pub findings: Vec<Finding>,
}

/// Supplies of one type in one panel.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Supplies {
    /// The panel.
    pub panel: String,
    /// Which ones.
    pub supplies: Vec<String>,
    /// The type by its name.
    pub name: String,
    /// How their outputs are limited.
    pub class_2: &'static str,
    /// Outputs of each.
    pub outputs: u8,
    /// Volts of an output, dc.
    pub volts: f64,
    /// The most volts at no load; null where the data sheet does not say.
    pub no_load_volts: Option<f64>,
    /// The most amps of an output, by its watts at its volts.
    pub amps: f64,
    /// The most volt-amperes of an output; on dc its watts.
    pub volt_amps: f64,
    /// What NEC chapter 9 table 11(B) allows at the most volts; null where they are not known, or not Class 2.
    pub allowed_volt_amps: Option<f64>,
}

/// The AC circuit of a panel.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Circuit {
    /// The panel.
    pub panel: String,
    /// The room it hangs in.
    pub room: String,
    /// Volts of its circuit.
    pub volts: Option<f64>,
    /// The rating of its breaker.
    pub breaker_amps: Option<f64>,
    /// What it takes at full level.
    pub amps: Option<f64>,
    /// The same in volt-amperes.
    pub volt_amps: Option<f64>,
    /// The heat in it.
    pub heat_watts: Option<f64>,
}

/// A cable in use.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct CableUse {
    /// Its id.
    pub cable: String,
    /// Size, conductors and stranding.
    pub made: String,
    /// What it is listed for; null where the catalogue does not say.
    pub listing: Option<&'static str>,
    /// It is listed for wet places.
    pub wet: bool,
    /// It is listed for sunlight.
    pub sunlight: bool,
}

/// What is marked on a supply: each output with its home runs.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Marking {
    /// The supply.
    pub supply: String,
    /// Whether its outputs are marked as Class 2 circuits.
    pub class_2: bool,
    /// Each output that has home runs, with them.
    pub outputs: Vec<MarkedOutput>,
}

/// An output in [`Marking`].
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct MarkedOutput {
    /// Its id.
    pub output: String,
    /// Its home runs.
    pub runs: Vec<String>,
}

/// A cause of findings.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Finding {
    /// The check.
    pub code: &'static str,
    /// How bad it is.
    pub severity: Severity,
    /// What is wrong.
    pub what: String,
    /// Where the limit comes from.
    pub source: String,
    /// Who answers for it; null while it is open.
    pub accepted_by: Option<String>,
    /// Why.
    pub reason: Option<String>,
}

const fn limited(kind: OutputKind) -> &'static str {
    match kind {
        OutputKind::Class2Inherent => "Class 2, inherently limited",
        OutputKind::Class2Protected => "Class 2, overcurrent protected",
        OutputKind::NotClass2 => "NOT Class 2",
    }
}

const fn listed(listing: Listing) -> &'static str {
    match listing {
        Listing::General => "CL2 or CL3, general use",
        Listing::Riser => "CL2R or CL3R, between floors",
        Listing::Plenum => "CL2P or CL3P, air spaces",
    }
}

/// Everything of the sheet for programs.
pub fn document(design: &Design) -> Inspection {
    Inspection {
        supplies: supplies(design),
        circuits: circuits(design),
        cables: cables_used(design),
        marking: marking(design),
        findings: found(design),
    }
}

fn supplies(design: &Design) -> Vec<Supplies> {
    let mut all: Vec<Supplies> = Vec::new();
    for panel in &design.job.panels {
        let mut parts: Vec<(&Id, Vec<String>)> = Vec::new();
        for supply in &panel.supplies {
            match parts.iter_mut().find(|(part, _)| part.same(&supply.part)) {
                Some((_, ids)) => ids.push(supply.id.to_string()),
                None => parts.push((&supply.part, vec![supply.id.to_string()])),
            }
        }
        for (part, ids) in parts {
            if let Some(part) = design.index.supply_type(&design.job, part) {
                all.push(of_type(panel.id.to_string(), ids, part));
            }
        }
    }
    all
}

fn of_type(panel: String, supplies: Vec<String>, part: &SupplyType) -> Supplies {
    let (volts, watts) = (part.volts.get(), part.output_watts.get());
    let no_load_volts = part.no_load_volts.map(crate::units::Volts::get);
    Supplies {
        panel,
        supplies,
        name: called(&part.name, &part.id),
        class_2: limited(part.kind),
        outputs: part.outputs.get(),
        volts,
        no_load_volts,
        amps: watts / volts,
        volt_amps: watts,
        allowed_volt_amps: no_load_volts
            .and_then(|highest| class2::most_volt_amps(part.kind, highest.max(volts))),
    }
}

fn circuits(design: &Design) -> Vec<Circuit> {
    let panels = design.job.panels.iter().zip(&design.study.panels);
    let circuit = panels.map(|(panel, study)| {
        let room = design.index.room(&design.job, &panel.room).map(|(_, room)| called(&room.name, &room.id));
        Circuit {
            panel: panel.id.to_string(),
            room: room.unwrap_or_else(|| panel.room.to_string()),
            volts: panel.feed.map(|feed| feed.volts.get()),
            breaker_amps: panel.feed.map(|feed| feed.breaker_amps.get()),
            amps: study.ac_amps,
            volt_amps: study.ac_volt_amps,
            heat_watts: study.heat_watts,
        }
    });
    circuit.collect()
}

fn cables_used(design: &Design) -> Vec<CableUse> {
    let used = cables::document(design).totals;
    let types = design.job.catalogue.cables.iter();
    let types =
        types.filter(|part| used.iter().any(|total| part.id.as_str().eq_ignore_ascii_case(&total.cable)));
    let cable = types.map(|part| CableUse {
        cable: part.id.to_string(),
        made: format!("{} AWG, {} conductors, {}", part.gauge, part.conductors, part.stranding.word()),
        listing: part.listing.map(listed),
        wet: part.wet,
        sunlight: part.sunlight,
    });
    cable.collect()
}

fn marking(design: &Design) -> Vec<Marking> {
    let mut all = Vec::new();
    for supply in design.job.panels.iter().flat_map(|panel| &panel.supplies) {
        let part = design.index.supply_type(&design.job, &supply.part);
        let outputs = design.study.outputs.iter().filter(|output| output.output.supply.same(&supply.id));
        let outputs = outputs.filter(|output| !output.runs.is_empty()).map(|output| MarkedOutput {
            output: output.output.to_string(),
            runs: output.runs.iter().map(|&run| design.network.runs[run].id.to_string()).collect(),
        });
        all.push(Marking {
            supply: supply.id.to_string(),
            class_2: part.is_some_and(|part| part.kind.is_class_2()),
            outputs: outputs.collect(),
        });
    }
    all
}

fn found(design: &Design) -> Vec<Finding> {
    let groups = grouped(&design.findings);
    let found = groups.iter().filter_map(|group| {
        let worst = group.worst()?;
        Some(Finding {
            code: worst.code,
            severity: worst.severity,
            what: group.what(),
            source: worst.source.clone(),
            accepted_by: worst.accepted.as_ref().map(|accepted| accepted.by.clone()),
            reason: worst.accepted.as_ref().map(|accepted| accepted.reason.clone()),
        })
    });
    found.collect()
}

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
        tables.extend([Table { new_page: true, ..first }, circuit_table(&own), marking_table(&own)]);
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
