//! What every run carries and every fixture sees.

use super::names::{called, fixture_of, loop_at, with_name};
use super::{Cell, Column, Row, Section, Table, Weight};
use crate::design::Design;
use crate::format::{self, Quantity};
use crate::job::{Kind, Subject};
use crate::network::LoopAt;
use crate::study::{LightStudy, Of, Outcome, Range, RunStudy};
use serde::Serialize;

/// The document of the sheet `voltages`.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Voltages {
    /// Every run.
    pub runs: Vec<RunVolts>,
    /// Every fixture.
    pub fixtures: Vec<FixtureVolts>,
    /// Every home run, onward feed and loop.
    pub cables: Vec<CableAmps>,
}

/// A cable in [`Voltages`]. Figures that could not be computed are null.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct CableAmps {
    /// Which cable.
    pub cable: String,
    /// The run it is part of.
    pub run: String,
    /// The most amps in any leg of it.
    pub amps: Option<f64>,
    /// Watts lost in it.
    pub loss_watts: Option<f64>,
    /// While choices are open, from where to where its amps go.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub amps_range: Option<Range>,
    /// The same of the watts lost.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub loss_watts_range: Option<Range>,
}

/// A run in [`Voltages`]. Figures that could not be computed are null.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct RunVolts {
    /// The home run's cable.
    pub run: String,
    /// The output it is on.
    pub output: Option<String>,
    /// Whether its cables can carry its load; null while that is unknown.
    pub feasible: Option<bool>,
    /// Volts at its output.
    pub source_volts: Option<f64>,
    /// Amps from its output.
    pub source_amps: Option<f64>,
    /// Watts from its output, losses included.
    pub source_watts: Option<f64>,
    /// Watts lost in its cables.
    pub loss_watts: Option<f64>,
    /// The most watts of constant power its cables can carry.
    pub max_watts: Option<f64>,
    /// Why figures are null.
    pub unknown_because: Vec<String>,
    /// While choices are open, from where to where the amps from its output go.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub source_amps_range: Option<Range>,
    /// The same of the watts.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub source_watts_range: Option<Range>,
    /// The same of the watts lost in its cables.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub loss_watts_range: Option<Range>,
}

/// A fixture in [`Voltages`]. Figures that could not be computed are null.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct FixtureVolts {
    /// The ceiling box it hangs in.
    pub fixture: String,
    /// The run it is on.
    pub run: String,
    /// The wall box its loop leaves from.
    #[serde(rename = "box")]
    pub wall_box: String,
    /// Its loop.
    #[serde(rename = "loop")]
    pub on_loop: String,
    /// Volts across it.
    pub volts: Option<f64>,
    /// Amps through it.
    pub amps: Option<f64>,
    /// Watts it takes.
    pub watts: Option<f64>,
    /// Volts lost on the way to it; null in a series string.
    pub drop_volts: Option<f64>,
    /// The same in percent of the output's volts.
    pub drop_percent: Option<f64>,
    /// While choices are open, from where to where its volts go.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub volts_range: Option<Range>,
    /// The same of its amps.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub amps_range: Option<Range>,
    /// The same of its watts.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub watts_range: Option<Range>,
    /// The same of the volts lost.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub drop_volts_range: Option<Range>,
    /// The same in percent.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub drop_percent_range: Option<Range>,
}

/// The document for machines, at full precision.
pub fn document(design: &Design) -> Voltages {
    let mut document = Voltages { runs: Vec::new(), fixtures: Vec::new(), cables: Vec::new() };
    for study in design.study.runs(&design.network) {
        let run = &design.network.runs[study.run];
        let limits = design.study.limits((&design.job, &design.index, &design.network), study.run);
        let range = |of: Of| study.range(of).cloned();
        document.runs.push(RunVolts {
            run: run.id.to_string(),
            output: run.output.as_ref().map(ToString::to_string),
            feasible: match study.outcome {
                Outcome::Solved => Some(true),
                Outcome::NoSolution => Some(false),
                Outcome::Unknown(_) => None,
            },
            source_volts: study.source_volts,
            source_amps: study.source_amps,
            source_watts: study.source_watts,
            loss_watts: study.loss_watts,
            max_watts: limits.and_then(|limits| limits.max_watts),
            unknown_because: match &study.outcome {
                Outcome::Unknown(reasons) => reasons.iter().map(ToString::to_string).collect(),
                _ => Vec::new(),
            },
            source_amps_range: range(Of::SourceAmps),
            source_watts_range: range(Of::SourceWatts),
            loss_watts_range: range(Of::LossWatts),
        });
        document.cables.extend(study.cables.iter().enumerate().map(|(at, cable)| CableAmps {
            cable: cable.id.to_string(),
            run: run.id.to_string(),
            amps: cable.amps,
            loss_watts: cable.loss_watts,
            amps_range: range(Of::CableAmps(at)),
            loss_watts_range: range(Of::CableLoss(at)),
        }));
        document.fixtures.extend(study.lights.iter().enumerate().map(|(at, light)| {
            let (wall_box, _, on_loop) = loop_at(design, light.at);
            FixtureVolts {
                fixture: on_loop.ceiling[light.ceiling].id.to_string(),
                run: run.id.to_string(),
                wall_box: wall_box.id.to_string(),
                on_loop: on_loop.id.to_string(),
                volts: light.volts,
                amps: light.amps,
                watts: light.watts,
                drop_volts: light.drop_volts,
                drop_percent: light.drop_percent,
                volts_range: range(Of::Volts(at)),
                amps_range: range(Of::Amps(at)),
                watts_range: range(Of::Watts(at)),
                drop_volts_range: range(Of::DropVolts(at)),
                drop_percent_range: range(Of::DropPercent(at)),
            }
        }));
    }
    document
}

/// The sheet for people: a section for each run.
pub fn table(design: &Design) -> Table {
    let mut table = Table::new(
        "voltages",
        "Voltages at full level",
        vec![
            Column::text("fixture", "box").width(4, 10),
            Column::text("part", "fixture").width(10, 34).yields(1).grow(),
            Column::text("loop", "loop").width(4, 8).yields(2),
            Column::figure("volts", "volts").bare(Quantity::Volts),
            Column::figure("amps", "amps").bare(Quantity::Amps),
            Column::figure("watts", "watts").bare(Quantity::Watts),
            Column::figure("drop_volts", "drop").bare(Quantity::Volts),
            Column::figure("drop_percent", "drop").bare(Quantity::Percent),
            Column::text("sign", "").width(2, 10),
        ],
    );
    for study in design.study.runs(&design.network) {
        let run = &design.network.runs[study.run];
        let rows = study.lights.iter().enumerate();
        let rows = rows.map(|(at, light)| fixture_row(design, study, at, light)).collect();
        table = table.with_section(Section::headed(run_line(design, study), rows).keyed(run.id.as_str()));
        if let Some(section) = table.sections.last_mut() {
            section.rows.extend(string_rows(design, study));
        }
    }
    table.notes.push(
        format!("Conductors at {} C. Volts hold at full level only.", design.job.settings.conductor_celsius)
            .into(),
    );
    table.notes.extend(open_note(design));
    table
        .notes
        .push("A fixture in a series string has no drop of its own: its volts are its highest.".into());
    table
}

/// A figure, or from where to where it goes while something is open.
pub fn ranged(quantity: Quantity, figure: Option<f64>, range: Option<&Range>) -> String {
    match (figure, range) {
        (Some(_), Some(range)) => quantity.span(range.span()),
        _ => quantity.shown(figure),
    }
}

/// What spans in a sheet mean, where there are any.
pub fn open_note(design: &Design) -> Option<crate::format::Text> {
    let mut ranges =
        design.study.parts.iter().flat_map(|part| &part.runs).filter_map(|run| run.ranges.as_ref());
    let first = ranges.next()?;
    let bound = std::iter::once(first).chain(ranges).any(|ranges| ranges.bounds());
    let mut note = String::from(
        "From-to figures hold while fixtures or controls are open: from the most favorable choice to the least.",
    );
    if bound {
        note.push_str(" * too many are open to try each: the figure lies between these.");
    }
    Some(note.into())
}

/// A run in one line: where it comes from, what it carries, what it could.
pub fn run_line(design: &Design, study: &RunStudy) -> String {
    let run = &design.network.runs[study.run];
    let wall_box = run.feeds.first().map(|at| &design.job.boxes[at.wall_box]);
    let name = wall_box.map(|b| called(&b.name, &b.id)).unwrap_or_default();
    let on = run.output.as_ref().map_or_else(|| "on no output".to_owned(), |output| format!("on {output}"));
    match &study.outcome {
        Outcome::Solved => format!(
            "{} {name}, {on}: {} at {}, {}, {} lost in cable",
            run.id,
            ranged(Quantity::Watts, study.source_watts, study.range(Of::SourceWatts)),
            format::volts(study.source_volts),
            ranged(Quantity::Amps, study.source_amps, study.range(Of::SourceAmps)),
            ranged(Quantity::Watts, study.loss_watts, study.range(Of::LossWatts)),
        ),
        Outcome::NoSolution => {
            format!("{} {name}, {on}: NO SOLUTION, its cables can't carry its load", run.id)
        }
        Outcome::Unknown(reasons) => {
            let why: Vec<String> = reasons.iter().map(ToString::to_string).collect();
            format!("{} {name}, {on}: UNKNOWN, {}", run.id, why.join("; "))
        }
    }
}

fn fixture_row(design: &Design, study: &RunStudy, at: usize, light: &LightStudy) -> Row {
    let (wall_box, _, on_loop) = loop_at(design, light.at);
    let ceiling = &on_loop.ceiling[light.ceiling];
    let in_string = light.volts.is_some() && light.drop_volts.is_none();
    let drop = |figure: Cell| if in_string { Cell::text("-") } else { figure };
    Row::new(vec![
        Cell::from(&ceiling.id),
        Cell::from(fixture_of(design, wall_box, on_loop, ceiling)),
        Cell::from(&on_loop.id),
        Cell::volts(light.volts).over(study.range(Of::Volts(at))),
        Cell::amps(light.amps).over(study.range(Of::Amps(at))),
        Cell::watts(light.watts).over(study.range(Of::Watts(at))),
        drop(Cell::volts(light.drop_volts).over(study.range(Of::DropVolts(at)))),
        drop(Cell::percent(light.drop_percent).over(study.range(Of::DropPercent(at)))),
        // That a choice is open stands in its words already; the column is for what is wrong.
        Some(sign(design, &Subject::new(Kind::Fixture, &ceiling.id)))
            .filter(|sign| sign.weight() > Weight::Plain)
            .unwrap_or_default(),
    ])
    .about(Subject::new(Kind::Fixture, &ceiling.id))
}

fn string_rows(design: &Design, study: &RunStudy) -> Vec<Row> {
    let row = |string: &crate::study::StringStudy| {
        let (_, control, on_loop) = loop_at(design, string.at);
        let gives = format!(
            "string {} of {}, which gives {}",
            string.number,
            control.id,
            format::volts(string.available_volts)
        );
        Row::new(vec![
            Cell::text("string"),
            Cell::from(gives),
            Cell::from(&on_loop.id),
            Cell::volts(string.volts),
            Cell::amps(string.amps),
            Cell::watts(string.watts()),
            Cell::Blank,
            Cell::Blank,
            sign(design, &Subject::new(Kind::Cable, &on_loop.id)),
        ])
        .about(Subject::new(Kind::Cable, &on_loop.id))
    };
    study.strings.iter().map(row).collect()
}

/// The worst finding about a thing, as a word.
pub fn sign(design: &Design, subject: &Subject) -> Cell {
    match design.about.worst(&design.findings, subject) {
        None => Cell::Blank,
        Some(finding) => Cell::Flag(
            match finding.severity {
                crate::checks::Severity::Error => Weight::Bad,
                crate::checks::Severity::Warning => Weight::Caution,
                crate::checks::Severity::Advice => Weight::Plain,
            },
            finding.code.into(),
        ),
    }
}

/// The loop a position names, with its name.
pub fn loop_name(design: &Design, at: LoopAt) -> crate::format::Text {
    let (_, _, on_loop) = loop_at(design, at);
    with_name(&on_loop.id, &on_loop.name)
}
