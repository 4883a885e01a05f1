//! Where everything sits in the panels.

use super::names::called;
use super::voltages::sign;
use super::{Cell, Column, Row, Section, Table};
use crate::design::Design;
use crate::format::Quantity;
use crate::job::panel::{Panel, Supply};
use crate::job::{Kind, Subject};
use crate::study::OutputStudy;
use serde::Serialize;

/// The document of the sheet `slots`.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Slots {
    /// Every supply, by panel and slot.
    pub slots: Vec<SlotEntry>,
}

/// A supply in [`Slots`].
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct SlotEntry {
    /// The panel.
    pub panel: String,
    /// Its first slot; null while it is not placed.
    pub slot: Option<u16>,
    /// Its last slot; null while it is not placed.
    pub last_slot: Option<u16>,
    /// The supply.
    pub supply: String,
    /// Its outputs.
    pub outputs: Vec<SlotOutput>,
}

/// An output in [`Slots`].
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct SlotOutput {
    /// Which output.
    pub output: String,
    /// Its runs.
    pub runs: Vec<String>,
}

pub(super) fn by_slot(panel: &Panel) -> Vec<&Supply> {
    let mut supplies: Vec<&Supply> = panel.supplies.iter().collect();
    supplies.sort_by_key(|supply| (supply.slot.is_none(), supply.slot));
    supplies
}

pub(super) fn last_slot(design: &Design, supply: &Supply) -> Option<u16> {
    let part = design.index.supply_type(&design.job, &supply.part)?;
    Some(supply.slot?.get().saturating_add(u16::from(part.slots.get()) - 1))
}

pub(super) fn outputs_of<'a>(
    design: &'a Design,
    supply: &'a Supply,
) -> impl Iterator<Item = &'a OutputStudy> {
    design.study.outputs.iter().filter(|output| output.output.supply.same(&supply.id))
}

/// The document for machines.
pub fn document(design: &Design) -> Slots {
    let mut slots = Vec::new();
    for panel in &design.job.panels {
        for supply in by_slot(panel) {
            slots.push(SlotEntry {
                panel: panel.id.to_string(),
                slot: supply.slot.map(std::num::NonZeroU16::get),
                last_slot: last_slot(design, supply),
                supply: supply.id.to_string(),
                outputs: outputs_of(design, supply)
                    .map(|output| SlotOutput {
                        output: output.output.to_string(),
                        runs: output
                            .runs
                            .iter()
                            .map(|&run| design.network.runs[run].id.to_string())
                            .collect(),
                    })
                    .collect(),
            });
        }
    }
    Slots { slots }
}

/// The sheet for people: a section for each panel, its free slots too.
pub fn table(design: &Design) -> Table {
    let mut table = Table::new(
        "slots",
        "Panel slots",
        vec![
            Column::text("slot", "slot").width(5, 9),
            Column::text("supply", "supply").width(6, 24),
            Column::text("output", "output").width(6, 12),
            Column::figure("watts", "load").bare(Quantity::Watts),
            Column::text("runs", "home runs").width(12, 60).yields(1).grow(),
            Column::text("sign", "").width(2, 14).yields(2),
        ],
    );
    for panel in &design.job.panels {
        let heading = format!("Panel {} {}: {} slots", panel.id, panel.name, panel.slots);
        table =
            table.with_section(Section::headed(heading, panel_rows(design, panel)).keyed(panel.id.as_str()));
    }
    table
}

fn panel_rows(design: &Design, panel: &Panel) -> Vec<Row> {
    let mut rows = Vec::new();
    let mut next_free = 1_u16;
    for supply in by_slot(panel) {
        let (first, last) = (supply.slot.map(std::num::NonZeroU16::get), last_slot(design, supply));
        if let Some(first) = first {
            rows.extend(free_row(next_free, first.saturating_sub(1)));
        }
        let range =
            first.zip(last).map_or_else(|| "none".to_owned(), |(first, last)| slot_range(first, last));
        rows.extend(supply_rows(design, supply, range));
        if let Some(last) = last {
            next_free = next_free.max(last.saturating_add(1));
        }
    }
    rows.extend(free_row(next_free, panel.slots.get()));
    rows
}

pub(super) fn slot_range(first: u16, last: u16) -> String {
    if first == last { first.to_string() } else { format!("{first}-{last}") }
}

fn free_row(first: u16, last: u16) -> Option<Row> {
    (first <= last).then(|| {
        let mut cells = vec![Cell::Blank; 6];
        (cells[0], cells[1]) = (Cell::from(slot_range(first, last)), Cell::text("free"));
        Row::new(cells)
    })
}

fn supply_rows(design: &Design, supply: &Supply, range: String) -> Vec<Row> {
    let part = design.index.supply_type(&design.job, &supply.part);
    let mut part_name = part.map(|part| called(&part.name, &part.id)).unwrap_or_default();
    if supply.pinned {
        part_name.push_str(" (pinned)");
    }
    let about = Subject::new(Kind::Supply, &supply.id);
    let mut rows = vec![
        Row::new(vec![
            Cell::from(range),
            Cell::from(&supply.id),
            Cell::Blank,
            Cell::Blank,
            Cell::from(part_name),
            sign(design, &about),
        ])
        .about(about),
    ];
    for output in outputs_of(design, supply) {
        let subject = Subject::new(Kind::Output, &output.output);
        let runs: Vec<String> =
            output.runs.iter().map(|&run| super::loading::run_and_box(design, run)).collect();
        rows.push(
            Row::new(vec![
                Cell::Blank,
                Cell::Blank,
                Cell::from(output.output.to_string()),
                Cell::watts(output.watts),
                Cell::from(if runs.is_empty() { "free".to_owned() } else { runs.join(", ") }),
                sign(design, &subject),
            ])
            .about(subject),
        );
    }
    rows
}
