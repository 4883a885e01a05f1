//! Everything of the job that has no line in the house: heading, settings, panels, groups and the catalogue.

use super::names::called;
use super::{Cell, Column, Row, Section, Table};
use crate::design::Design;
use crate::job::catalogue::{CableType, Drive, Load, SmallPart};
use crate::job::fields::spoken;
use crate::job::site::Meter;
use crate::job::{Estimate, Id, Kind, Subject};
use crate::takeoff;
use crate::units::{Length, Money};
use rust_decimal::Decimal;
use rust_decimal::prelude::ToPrimitive;
use std::collections::HashMap;
use std::fmt::Display;
use std::num::NonZeroU32;

/// A section for each kind of thing, empty or not.
pub fn table(design: &Design) -> Table {
    let job = &design.job;
    let parts = &job.catalogue;
    let columns = vec![
        Column::text("id", "id").width(6, 16),
        Column::text("name", "name").width(16, 40).grow(),
        Column::text("about", "what it is").width(14, 60).grow(),
        Column::figure("needed", "needed").width(6, 10),
        Column::figure("price", "price").width(6, 9),
        Column::text("per", "per").width(6, 8).yields(1),
    ];
    let buying = Buying::of(design);
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
        let about = format!("main {}, {}", group.main, counted(group.remotes.len(), "remote point"));
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
    let fixtures = parts
        .fixtures
        .iter()
        .map(|e| buying.piece(row(Kind::FixtureType, &e.id, &e.name, load_words(&e.load)), e.price, e.pack));
    table = table.with_section(Section::headed("Fixtures", fixtures.collect()));
    let cables = parts.cables.iter().map(|e| {
        let about = format!("{} AWG, {} conductors, plan {}", e.gauge, e.conductors, e.plan);
        buying.cable(design, row(Kind::CableType, &e.id, &e.name, about), e)
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
        buying.piece(row(Kind::SupplyType, &e.id, &e.name, about), e.price, e.pack)
    });
    table = table.with_section(Section::headed("Supplies", supplies.collect()));
    let controls = parts.controls.iter().map(|e| {
        let drive = match e.drive {
            Drive::Voltage => "voltage drive".to_owned(),
            Drive::Current { amps, .. } => format!("current drive {amps} A"),
        };
        let about = format!("{drive}, {} W of its own", e.own_watts);
        buying.piece(row(Kind::ControlType, &e.id, &e.name, about), e.price, e.pack)
    });
    table = table.with_section(Section::headed("Controls", controls.collect()));
    let boxes = parts.boxes.iter().map(|e| {
        let volume = e.volume.map_or_else(|| "volume ?".to_owned(), |volume| volume.to_string());
        let about = format!("{}, {volume}", counted(usize::from(e.gangs), "gang"));
        buying.piece(row(Kind::BoxType, &e.id, &e.name, about), e.price, e.pack)
    });
    table = table.with_section(Section::headed("Boxes", boxes.collect()));
    let small = parts
        .small_parts
        .iter()
        .map(|e| buying.piece(row(Kind::SmallPart, &e.id, &e.name, small_part(e)), e.price, e.pack));
    table = table.with_section(Section::headed("Small parts", small.collect()));
    table.with_section(Section::headed("Meters", parts.meters.iter().map(meter).collect()))
}

fn meter(entry: &Meter) -> Row {
    let ohms = entry.ohms.map_or_else(
        || "ohms ?".to_owned(),
        |off| format!("ohms {} % and {} counts of {}", off.percent, off.counts, off.resolution),
    );
    row(Kind::Meter, &entry.id, &entry.name, ohms)
}

/// How much of each part the job needs, as the takeoff counts it.
struct Buying {
    /// Pieces with waste in them; none where something of unknown size needs it too.
    pieces: HashMap<Subject, Option<Decimal>>,
    /// Ticks of cable by type; none where a length is not known.
    cables: HashMap<String, Option<i64>>,
}

impl Buying {
    fn of(design: &Design) -> Self {
        let pieces = takeoff::parts(design).into_iter().filter_map(|made| {
            let quantity = Some(made.quantity).filter(|_| made.uncounted == 0);
            Some((made.part?, quantity))
        });
        let mut cables: HashMap<String, Option<i64>> = HashMap::new();
        for cable in takeoff::cable_lengths(design) {
            let Some(of) = takeoff::cable_type(design, &cable.subject) else { continue };
            let sum = cables.entry(of.folded()).or_insert(Some(0));
            *sum = sum.zip(cable.length).and_then(|(sum, length)| sum.checked_add(length.ticks()));
        }
        Self { pieces: pieces.collect(), cables }
    }

    /// The row of a part with what is needed of it and its price, for a pack where it comes in packs.
    fn piece(&self, mut row: Row, price: Option<Money>, pack: Option<NonZeroU32>) -> Row {
        let needed = row.subject.as_ref().and_then(|subject| self.pieces.get(subject));
        row.cells.push(match needed {
            None => Cell::Count(0),
            Some(None) => Cell::Unknown,
            Some(Some(pieces)) => pieces.to_i64().map_or(Cell::Unknown, Cell::Count),
        });
        row.cells.push(Cell::Money(price.map(Money::amount)));
        row.cells.push(Cell::from(pack.map_or_else(|| "each".to_owned(), |pack| format!("{pack}"))));
        row
    }

    /// The row of a cable type with the length that is needed, and the reel that is cheapest by its length.
    fn cable(&self, design: &Design, mut row: Row, cable: &CableType) -> Row {
        let unit = design.job.project.units;
        let length = |ticks: i64| Cell::Length(Some(Length::from_ticks(ticks, unit)));
        row.cells.push(match self.cables.get(&cable.id.folded()) {
            None => length(0),
            Some(None) => Cell::Unknown,
            Some(Some(ticks)) => length(*ticks),
        });
        let by_length = cable.reels.iter().filter_map(|reel| {
            let price = reel.price?.amount();
            Some((price.checked_div(Decimal::from(reel.length.ticks()))?, price, reel.length))
        });
        let cheapest = by_length.min_by(|a, b| a.0.cmp(&b.0));
        row.cells.push(Cell::Money(cheapest.map(|(_, price, _)| price)));
        row.cells.push(cheapest.map_or(Cell::Blank, |(_, _, length)| Cell::from(length.written())));
        row
    }
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
    format!("{} for each {}", part.count, spoken(&format!("{:?}", part.per)))
}

fn counted(count: usize, what: &str) -> String {
    format!("{count} {what}{}", if count == 1 { "" } else { "s" })
}
