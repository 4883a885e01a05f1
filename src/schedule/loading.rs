//! What every output and panel carries.

use super::names::called;
use super::voltages::{open_note, ranged, sign};
use super::{Cell, Column, Row, Section, Table};
use crate::design::Design;
use crate::format::Quantity;
use crate::job::{Kind, Subject};
use crate::study::{Of, OutputStudy, PanelRanges, PanelStudy, Range};
use serde::Serialize;

/// The document of the sheet `loading`.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Loading {
    /// Every output.
    pub outputs: Vec<OutputLoad>,
    /// Every panel.
    pub panels: Vec<PanelLoad>,
    /// Runs on no output.
    pub unlanded: Vec<String>,
}

/// An output in [`Loading`]. Figures that could not be computed are null.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct OutputLoad {
    /// Which output.
    pub output: String,
    /// The most watts it gives.
    pub limit_watts: Option<f64>,
    /// Watts taken from it, cable loss included.
    pub watts: Option<f64>,
    /// The same in percent of the limit.
    pub percent: Option<f64>,
    /// Its runs.
    pub runs: Vec<RunLoad>,
    /// While choices are open, from where to where the watts go.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub watts_range: Option<Range>,
    /// The same of the percent.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub percent_range: Option<Range>,
}

/// A run on an output in [`Loading`].
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct RunLoad {
    /// The home run's cable.
    pub run: String,
    /// Watts it takes from the output.
    pub watts: Option<f64>,
}

/// A panel in [`Loading`]. Figures that could not be computed are null.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PanelLoad {
    /// Which panel.
    pub panel: String,
    /// Watts taken from its AC feed.
    pub ac_watts: Option<f64>,
    /// Amps taken from its AC feed.
    pub ac_amps: Option<f64>,
    /// Volt-amperes taken from its AC feed.
    pub ac_volt_amps: Option<f64>,
    /// Watts its supplies turn into heat.
    pub heat_watts: Option<f64>,
    /// The same in BTU/h.
    pub heat_btu_per_hour: Option<f64>,
    /// While choices are open, from where to where the watts from the AC feed go.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub ac_watts_range: Option<Range>,
    /// The same of the amps.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub ac_amps_range: Option<Range>,
    /// The same of the volt-amperes.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub ac_volt_amps_range: Option<Range>,
    /// The same of the heat.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub heat_watts_range: Option<Range>,
    /// The same in BTU/h.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub heat_btu_per_hour_range: Option<Range>,
}

/// The document for machines, at full precision.
pub fn document(design: &Design) -> Loading {
    let runs = |output: &OutputStudy| {
        let load = |&run: &usize| RunLoad {
            run: design.network.runs[run].id.to_string(),
            watts: design.study.run(&design.network, run).and_then(|study| study.source_watts),
        };
        output.runs.iter().map(load).collect()
    };
    Loading {
        outputs: design
            .study
            .outputs
            .iter()
            .map(|output| OutputLoad {
                output: output.output.to_string(),
                limit_watts: output.limit_watts,
                watts: output.watts,
                percent: output.percent,
                runs: runs(output),
                watts_range: output.ranges.as_ref().map(|ranges| ranges.watts.clone()),
                percent_range: output.ranges.as_ref().map(|ranges| ranges.percent.clone()),
            })
            .collect(),
        panels: design
            .study
            .panels
            .iter()
            .map(|panel| (panel, panel.ranges.as_deref().cloned().unwrap_or_default()))
            .map(|(panel, ranges)| PanelLoad {
                panel: panel.panel.to_string(),
                ac_watts: panel.ac_watts,
                ac_amps: panel.ac_amps,
                ac_volt_amps: panel.ac_volt_amps,
                heat_watts: panel.heat_watts,
                heat_btu_per_hour: panel.heat_btu_per_hour,
                ac_watts_range: ranges.ac_watts,
                ac_amps_range: ranges.ac_amps,
                ac_volt_amps_range: ranges.ac_volt_amps,
                heat_watts_range: ranges.heat_watts,
                heat_btu_per_hour_range: ranges.heat_btu_per_hour,
            })
            .collect(),
        unlanded: unlanded(design).map(|run| design.network.runs[run].id.to_string()).collect(),
    }
}

fn unlanded(design: &Design) -> impl Iterator<Item = usize> {
    (0..design.network.runs.len()).filter(|&run| design.network.runs[run].output.is_none())
}

/// The sheet for people: a section for each panel.
pub fn table(design: &Design) -> Table {
    let mut table = Table::new(
        "loading",
        "Loading of outputs",
        vec![
            Column::text("output", "output").width(5, 12),
            Column::figure("watts", "load").bare(Quantity::Watts),
            Column::figure("limit_watts", "limit").bare(Quantity::Watts).yields(2),
            Column::figure("spare_watts", "spare").bare(Quantity::Watts).yields(3),
            Column::bar("percent", "percent of limit").width(14, 34),
            Column::text("runs", "runs with their watts").width(12, 60).yields(1).grow(),
        ],
    );
    for (panel, study) in design.job.panels.iter().zip(&design.study.panels) {
        let outputs = design.study.outputs.iter().filter(|output| output.panel.same(&panel.id));
        let rows = outputs.map(|output| output_row(design, output)).collect();
        let heading = format!("Panel {} {}: {}", panel.id, panel.name, panel_line(study));
        table = table.with_section(Section::headed(heading, rows).keyed(panel.id.as_str()));
    }
    let waiting: Vec<Row> = unlanded(design)
        .map(|run| {
            let id = &design.network.runs[run].id;
            let mut cells = vec![Cell::Blank; 6];
            cells[0] = Cell::text("none");
            cells[5] = Cell::from(run_and_box(design, run));
            Row::new(cells).about(Subject::new(Kind::Cable, id))
        })
        .collect();
    if !waiting.is_empty() {
        table = table.with_section(Section::headed("Home runs on no output", waiting).keyed("none"));
    }
    table.notes.push(
        format!(
            "Watts at the output at full level, cable loss included. The mark in a bar is the target, {} % of the limit.",
            design.job.settings.target_load_percent
        )
        .into(),
    );
    table.notes.extend(open_note(design));
    table
}

/// A panel's AC side in one line.
pub fn panel_line(study: &PanelStudy) -> String {
    if study.ac_watts.is_none() {
        return "AC and heat unknown, since a run or a supply's efficiency is".into();
    }
    let none = PanelRanges::default();
    let ranges = study.ranges.as_deref().unwrap_or(&none);
    format!(
        "AC {}, {}, {}; heat {}, {}",
        ranged(Quantity::Watts, study.ac_watts, ranges.ac_watts.as_ref()),
        ranged(Quantity::VoltAmps, study.ac_volt_amps, ranges.ac_volt_amps.as_ref()),
        ranged(Quantity::Amps, study.ac_amps, ranges.ac_amps.as_ref()),
        ranged(Quantity::Watts, study.heat_watts, ranges.heat_watts.as_ref()),
        ranged(Quantity::Heat, study.heat_btu_per_hour, ranges.heat_btu_per_hour.as_ref()),
    )
}

fn output_row(design: &Design, output: &OutputStudy) -> Row {
    let subject = Subject::new(Kind::Output, &output.output);
    let runs: Vec<String> = output
        .runs
        .iter()
        .map(|&run| {
            let study = design.study.run(&design.network, run);
            let range = study.and_then(|study| study.range(Of::SourceWatts));
            let watts = range.map_or_else(
                || Quantity::Watts.bare(study.and_then(|study| study.source_watts)),
                |range| Quantity::Watts.bare_span(range.span()),
            );
            format!("{} {watts}", design.network.runs[run].id)
        })
        .collect();
    Row::new(vec![
        Cell::from(output.output.to_string()),
        Cell::watts(output.watts).over(output.ranges.as_ref().map(|ranges| &ranges.watts)),
        Cell::watts(output.limit_watts),
        Cell::watts(output.limit_watts.zip(output.watts).map(|(limit, watts)| limit - watts)),
        Cell::bar(output.percent, design.job.settings.target_load_percent.get())
            .over(output.ranges.as_ref().map(|ranges| &ranges.percent)),
        Cell::from(if runs.is_empty() { "free".to_owned() } else { runs.join(", ") }),
    ])
    .about(subject)
}

/// A run and the box it goes to.
pub fn run_and_box(design: &Design, run: usize) -> String {
    let run = &design.network.runs[run];
    let wall_box = run.feeds.first().map(|at| &design.job.boxes[at.wall_box]);
    format!("{} to {}", run.id, wall_box.map(|b| called(&b.name, &b.id)).unwrap_or_default())
}

/// What is wrong with a run, and whether it is landed or pinned.
fn sign_and_holds(design: &Design, subject: &Subject, run: usize) -> Cell {
    let at = design.network.runs[run].feeds.first();
    let feed = at.map(|at| &design.job.boxes[at.wall_box].feeds[at.feed]);
    let holds = match feed.map(|feed| (feed.landed, feed.pinned)) {
        Some((true, true)) => "landed, pinned",
        Some((true, false)) => "landed",
        Some((false, true)) => "pinned",
        _ => return sign(design, subject),
    };
    match sign(design, subject) {
        Cell::Flag(weight, word) => Cell::Flag(weight, format!("{word}, {holds}").into()),
        _ => Cell::text(holds),
    }
}

/// The runs of one output, a row each, to be shown beneath it.
pub fn run_rows(design: &Design, output: &OutputStudy) -> Vec<Row> {
    let row = |&run: &usize| {
        let study = design.study.run(&design.network, run);
        let subject = Subject::new(Kind::Cable, &design.network.runs[run].id);
        Row::new(vec![
            Cell::Blank,
            Cell::watts(study.and_then(|s| s.source_watts))
                .over(study.and_then(|s| s.range(Of::SourceWatts))),
            Cell::Blank,
            Cell::Blank,
            sign_and_holds(design, &subject, run),
            Cell::from(run_and_box(design, run)),
        ])
        .about(subject)
    };
    output.runs.iter().map(row).collect()
}
