//! The card inside the panel door: what each output feeds, for whoever opens the panel years later.

use super::names::called;
use super::narrow::Narrow;
use super::slots::{by_slot, last_slot, outputs_of, slot_range};
use super::{Cell, Column, Row, Section, Table};
use crate::design::Design;
use crate::format::Quantity;
use crate::job::panel::{Panel, Supply};
use crate::job::{Id, Kind, Spot, Subject};
use crate::study::OutputStudy;
use serde::Serialize;
use std::collections::BTreeSet;

/// The document of the sheet `directory`.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Directory {
    /// Every panel.
    pub panels: Vec<PanelCard>,
}

/// A panel in [`Directory`].
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PanelCard {
    /// The panel.
    pub panel: String,
    /// How many slots it has.
    pub slots: u16,
    /// Its outputs, by slot.
    pub outputs: Vec<OutputCard>,
    /// Home runs that come to it and are on no output.
    pub unlanded: Vec<String>,
}

/// An output in [`PanelCard`]. Figures that could not be computed are null.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct OutputCard {
    /// The first slot of its supply; null while that is not placed.
    pub slot: Option<u16>,
    /// The last slot of its supply; null while that is not placed.
    pub last_slot: Option<u16>,
    /// Its supply.
    pub supply: String,
    /// The output.
    pub output: String,
    /// The home runs on it.
    pub runs: Vec<String>,
    /// The rooms it lights, by id.
    pub rooms: Vec<String>,
    /// Watts taken from it.
    pub watts: Option<f64>,
    /// Watts left of its limit.
    pub spare_watts: Option<f64>,
}

/// The rooms in which a run has lights, and those where it only has a box set aside; as the job lists them.
fn rooms_of(design: &Design, runs: &[usize]) -> Vec<(Id, String)> {
    let job = &design.job;
    let mut lit: Vec<&Id> = Vec::new();
    for run in runs.iter().filter_map(|&run| design.network.runs.get(run)) {
        for (_, at) in &run.controls {
            let Some(wall_box) = job.boxes.get(at.wall_box) else { continue };
            let loops = wall_box.controls.get(at.control).map(|control| control.loops.as_slice());
            let ceiling = loops.unwrap_or_default().iter().flat_map(|run| &run.ceiling);
            lit.extend(ceiling.map(|ceiling| ceiling.room.as_ref().unwrap_or(&wall_box.room)));
        }
        lit.extend(run.allowances.iter().filter_map(|(_, at)| job.boxes.get(*at)).map(|b| &b.room));
        if let (true, Some(at)) = (run.controls.is_empty(), run.feeds.first()) {
            lit.extend(job.boxes.get(at.wall_box).map(|wall_box| &wall_box.room));
        }
    }
    // As the job lists them, each once.
    let spots: BTreeSet<Spot> = lit.iter().filter_map(|id| design.index.spot(Kind::Room, id)).collect();
    let room = |spot: Spot| match spot {
        Spot::Room { level, room } => job.levels.get(level)?.rooms.get(room),
        _ => None,
    };
    spots.into_iter().filter_map(room).map(|room| (room.id.clone(), called(&room.name, &room.id))).collect()
}

fn unlanded<'a>(design: &'a Design, panel: &Panel) -> Vec<&'a Id> {
    let runs = design.network.runs.iter();
    runs.filter(|run| run.output.is_none() && run.panel.same(&panel.id)).map(|run| &run.id).collect()
}

fn run_ids(design: &Design, output: &OutputStudy) -> Vec<String> {
    output.runs.iter().filter_map(|&run| design.network.runs.get(run)).map(|run| run.id.to_string()).collect()
}

fn spare(output: &OutputStudy) -> Option<f64> {
    output.limit_watts.zip(output.watts).map(|(limit, watts)| limit - watts)
}

fn wanted<'a>(design: &'a Design, narrow: &'a Narrow) -> impl Iterator<Item = &'a Panel> {
    design.job.panels.iter().filter(|panel| narrow.panel.as_ref().is_none_or(|id| id.same(&panel.id)))
}

/// The document for machines.
pub fn document(design: &Design) -> Directory {
    document_of(design, &Narrow::ALL)
}

/// The document for one panel.
pub fn document_of(design: &Design, narrow: &Narrow) -> Directory {
    let output = |supply: &Supply, output: &OutputStudy| OutputCard {
        slot: supply.slot.map(std::num::NonZeroU16::get),
        last_slot: last_slot(design, supply),
        supply: supply.id.to_string(),
        output: output.output.to_string(),
        runs: run_ids(design, output),
        rooms: rooms_of(design, &output.runs).into_iter().map(|(id, _)| id.to_string()).collect(),
        watts: output.watts,
        spare_watts: spare(output),
    };
    let panel = |panel: &Panel| PanelCard {
        panel: panel.id.to_string(),
        slots: panel.slots.get(),
        outputs: by_slot(panel)
            .into_iter()
            .flat_map(|supply| outputs_of(design, supply).map(move |one| (supply, one)))
            .map(|(supply, one)| output(supply, one))
            .collect(),
        unlanded: unlanded(design, panel).into_iter().map(Id::to_string).collect(),
    };
    Directory { panels: wanted(design, narrow).map(panel).collect() }
}

/// The cards for people, one for each panel.
pub fn tables(design: &Design) -> Vec<Table> {
    tables_of(design, &Narrow::ALL)
}

/// The card of one panel.
pub fn tables_of(design: &Design, narrow: &Narrow) -> Vec<Table> {
    let mut tables: Vec<Table> = wanted(design, narrow).map(|panel| card(design, panel)).collect();
    if tables.is_empty() {
        tables.push(blank("Panel directory".to_owned()));
    }
    for card in &mut tables {
        card.one_page = true;
        card.notes
            .push("Load and spare: watts at full level, cable loss included, of the output's limit.".into());
        card.notes.push(
            "Keep this card in the panel door; put the new one in its place when anything is moved.".into(),
        );
    }
    tables
}

fn blank(title: String) -> Table {
    Table::new(
        "directory",
        title,
        vec![
            Column::text("slot", "slot").width(4, 7),
            Column::text("supply", "supply").width(4, 12),
            Column::text("output", "output").width(5, 12),
            Column::text("runs", "home runs").width(9, 30),
            Column::text("rooms", "rooms").width(14, 80).grow(),
            Column::figure("watts", "load").bare(Quantity::Watts),
            Column::figure("spare_watts", "spare").bare(Quantity::Watts).yields(1),
        ],
    )
}

fn card(design: &Design, panel: &Panel) -> Table {
    let mut rows = Vec::new();
    let mut next_free = 1_u16;
    for supply in by_slot(panel) {
        let (first, last) = (supply.slot.map(std::num::NonZeroU16::get), last_slot(design, supply));
        rows.extend(first.and_then(|first| free_slots(next_free, first.saturating_sub(1))));
        rows.extend(supply_rows(design, supply, first.zip(last)));
        if let Some(last) = last {
            next_free = next_free.max(last.saturating_add(1));
        }
    }
    rows.extend(free_slots(next_free, panel.slots.get()));
    for run in unlanded(design, panel) {
        let at = design.network.run(run).into_iter().collect::<Vec<_>>();
        let rooms: Vec<String> = rooms_of(design, &at).into_iter().map(|(_, name)| name).collect();
        let cells = vec![
            Cell::Blank,
            Cell::text("none"),
            Cell::Blank,
            Cell::from(run),
            Cell::from(rooms.join(", ")),
            Cell::Blank,
            Cell::Blank,
        ];
        rows.push(Row::new(cells).about(Subject::new(Kind::Cable, run)));
    }
    let room = design.index.room(&design.job, &panel.room).map(|(_, room)| called(&room.name, &room.id));
    let feed = panel
        .feed
        .map(|feed| format!("; fed {} V AC, breaker {} A", feed.volts, feed.breaker_amps))
        .unwrap_or_default();
    let room = room.unwrap_or_else(|| panel.room.to_string());
    let heading = format!("{}, in {room}{feed}", format!("{} {}", panel.id, panel.name).trim_end());
    let mut table = blank(format!("Directory of panel {}", panel.id));
    table.new_page = true;
    table.with_section(Section::headed(heading, rows).keyed(panel.id.as_str()))
}

fn free_slots(first: u16, last: u16) -> Option<Row> {
    (first <= last).then(|| Row::new(vec![Cell::from(slot_range(first, last)), Cell::text("free")]))
}

/// A row for each output in use; free ones that follow each other share one.
fn supply_rows(design: &Design, supply: &Supply, slots: Option<(u16, u16)>) -> Vec<Row> {
    let slots = slots.map_or_else(|| "?".to_owned(), |(first, last)| slot_range(first, last));
    let outputs: Vec<&OutputStudy> = outputs_of(design, supply).collect();
    let mut rows: Vec<Row> = Vec::new();
    for group in outputs.chunk_by(|one, next| one.runs.is_empty() && next.runs.is_empty()) {
        let (Some(first), Some(last)) = (group.first(), group.last()) else { continue };
        let output = match group {
            [only] => only.output.to_string(),
            _ => format!("{} to .{}", first.output, last.output.number),
        };
        let rooms: Vec<String> = rooms_of(design, &first.runs).into_iter().map(|(_, name)| name).collect();
        let free = first.runs.is_empty();
        let (heading, id) = if rows.is_empty() {
            (Cell::from(slots.clone()), Cell::from(&supply.id))
        } else {
            (Cell::Blank, Cell::Blank)
        };
        let row = Row::new(vec![
            heading,
            id,
            Cell::from(output),
            Cell::from(if free { "free".to_owned() } else { run_ids(design, first).join(" ") }),
            if group.len() > 1 { Cell::text("spare of each") } else { Cell::from(rooms.join(", ")) },
            if free { Cell::Blank } else { Cell::watts(first.watts) },
            Cell::watts(spare(first)),
        ])
        .about(Subject::new(Kind::Output, &first.output));
        rows.push(if rows.is_empty() { row } else { row.beneath() });
    }
    rows
}
