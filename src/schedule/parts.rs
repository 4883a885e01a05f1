//! Everything of the job that has no line in the house: heading, settings, panels, groups and the catalogue.

use super::names::called;
use super::{Cell, Column, Row, Section, Table};
use crate::design::Design;
use crate::job::catalogue::{Drive, Load, SmallPart};
use crate::job::fields::spoken;
use crate::job::{Estimate, Id, Kind, Subject};
use std::fmt::Display;

/// A section for each kind of thing, empty or not.
pub fn table(design: &Design) -> Table {
    let job = &design.job;
    let parts = &job.catalogue;
    let columns = vec![
        Column::text("id", "id").width(6, 16),
        Column::text("name", "name").width(10, 40).grow(),
        Column::text("about", "what it is").width(16, 60).grow(),
    ];
    let heading = Row::new(vec![
        Cell::text("project"),
        Cell::from(job.project.title.clone()),
        Cell::from(format!("rev {}, by {}", job.project.revision, job.project.by)),
    ])
    .about(Subject::new(Kind::Project, "project"));
    let settings = Row::new(vec![
        Cell::text("settings"),
        Cell::text("limits and allowances"),
        Cell::from(format!(
            "{} C, load {} %, home run {}",
            job.settings.conductor_celsius, job.settings.target_load_percent, job.settings.longest_home_run
        )),
    ])
    .about(Subject::new(Kind::Settings, "settings"));
    let estimate = Row::new(vec![
        Cell::text("estimate"),
        Cell::text("labor, rates, scope of the bid"),
        Cell::from(estimate_words(&job.estimate)),
    ])
    .about(Subject::new(Kind::Estimate, "estimate"));
    let of_job = Section::headed("Job", vec![heading, settings, estimate]);
    let mut table = Table::new("parts", "Parts", columns).with_section(of_job);
    let panels = job.panels.iter().map(|panel| {
        let about = format!("in room {}, {} slots", panel.room, panel.slots);
        row(Kind::Panel, &panel.id, &panel.name, about)
    });
    table = table.with_section(Section::headed("Panels", panels.collect()));
    let groups = job.groups.iter().flat_map(|group| {
        let about = format!("main {}, {} remote points", group.main, group.remotes.len());
        let links = group.links.iter().map(|link| {
            row(
                Kind::Cable,
                &link.id,
                &link.name,
                format!("link {} to {}, {}", link.from, link.to, link.cable),
            )
        });
        std::iter::once(row(Kind::Group, &group.id, &group.name, about)).chain(links).collect::<Vec<_>>()
    });
    table = table.with_section(Section::headed("Control groups", groups.collect()));
    let fixtures = parts.fixtures.iter().map(|e| row(Kind::FixtureType, &e.id, &e.name, load_words(&e.load)));
    table = table.with_section(Section::headed("Fixtures", fixtures.collect()));
    let cables = parts.cables.iter().map(|e| {
        row(
            Kind::CableType,
            &e.id,
            &e.name,
            format!("{} AWG, {} conductors, plan {}", e.gauge, e.conductors, e.plan),
        )
    });
    table = table.with_section(Section::headed("Cables", cables.collect()));
    let plans = parts.plans.iter().map(|e| {
        let words: Vec<String> =
            e.conductors.iter().map(|c| format!("{} {}", c.name, c.function.word())).collect();
        row(Kind::ConductorPlan, &e.id, &e.name, words.join(", "))
    });
    table = table.with_section(Section::headed("Conductor plans", plans.collect()));
    let supplies = parts.supplies.iter().map(|e| {
        let about =
            format!("{} outputs of {} W, {} V, {} slots", e.outputs, e.output_watts, e.volts, e.slots);
        row(Kind::SupplyType, &e.id, &e.name, about)
    });
    table = table.with_section(Section::headed("Supplies", supplies.collect()));
    let controls = parts.controls.iter().map(|e| {
        let drive = match e.drive {
            Drive::Voltage => "voltage drive".to_owned(),
            Drive::Current { amps, .. } => format!("current drive {amps} A"),
        };
        row(Kind::ControlType, &e.id, &e.name, format!("{drive}, {} W of its own", e.own_watts))
    });
    table = table.with_section(Section::headed("Controls", controls.collect()));
    let boxes = parts.boxes.iter().map(|e| {
        let volume = e.volume.map_or_else(|| "volume ?".to_owned(), |volume| volume.to_string());
        row(Kind::BoxType, &e.id, &e.name, format!("{} gangs, {volume}", e.gangs))
    });
    table = table.with_section(Section::headed("Boxes", boxes.collect()));
    let small = parts.small_parts.iter().map(|e| row(Kind::SmallPart, &e.id, &e.name, small_part(e)));
    table = table.with_section(Section::headed("Small parts", small.collect()));
    let meters = parts.meters.iter().map(|e| {
        let ohms = e.ohms.map_or_else(
            || "ohms ?".to_owned(),
            |off| format!("ohms {} % and {} counts of {}", off.percent, off.counts, off.resolution),
        );
        row(Kind::Meter, &e.id, &e.name, ohms)
    });
    table.with_section(Section::headed("Meters", meters.collect()))
}

fn estimate_words(estimate: &Estimate) -> String {
    let given = estimate.hours.tasks().iter().filter(|(_, _, hours)| hours.is_some()).count();
    let of = |figure: Option<String>| figure.unwrap_or_else(|| "?".into());
    format!(
        "{} an hour, {given} of {} tasks with hours, overhead {} %, margin {} %",
        of(estimate.hourly_rate.map(|rate| rate.to_string())),
        estimate.hours.tasks().len(),
        of(estimate.overhead_percent.map(|rate| rate.to_string())),
        of(estimate.margin_percent.map(|rate| rate.to_string())),
    )
}

fn row(kind: Kind, id: &Id, name: &str, about: impl Display) -> Row {
    Row::new(vec![Cell::from(id), Cell::from(called(name, id)), Cell::from(about.to_string())])
        .about(Subject::new(kind, id))
}

fn load_words(load: &Load) -> String {
    let range = |volts: &Option<crate::job::catalogue::VoltRange>| {
        volts.map_or_else(String::new, |range| format!(" at {} to {} V", range.least, range.most))
    };
    match load {
        Load::Power { watts, volts } => format!("{watts} W{}", range(volts)),
        Load::Current { amps, volts } => format!("{amps} A{}", range(volts)),
        Load::Resistance { watts, at_volts } => format!("{watts} W at {at_volts} V, resistive"),
        Load::String { volts, .. } => format!("{volts} V in a string"),
    }
}

/// What a small part is counted by, and its price.
fn small_part(part: &SmallPart) -> String {
    let price = part.price.map_or_else(|| "price ?".to_owned(), |price| price.to_string());
    let pack = part.pack.map_or_else(String::new, |pack| format!(" for {pack}"));
    format!("{} for each {}, {price}{pack}", part.count, spoken(&format!("{:?}", part.per)))
}
