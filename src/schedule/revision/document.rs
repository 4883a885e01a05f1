//! The document of a revision, for programs.

use crate::compare::{Order, OrderLine, OrderTask, PartChange, compare};
use crate::design::Design;
use crate::job::Id;
use crate::units::{Length, LengthUnit};
use rust_decimal::Decimal;
use serde::Serialize;

/// The document of the sheet `revision`.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Revision {
    /// The state it starts from.
    pub from: StateEntry,
    /// The state it leads to.
    pub to: StateEntry,
    /// Every change, by room.
    pub changes: Vec<ChangeEntry>,
    /// Outputs and panels that are loaded otherwise.
    pub loading: Vec<LoadEntry>,
    /// Errors and warnings that are new or gone.
    pub findings: Vec<FindingEntry>,
    /// Parts and cable of which more or less is needed.
    pub materials: Vec<MaterialEntry>,
    /// What it costs.
    pub change_order: OrderEntry,
}

/// A state of the job in [`Revision`].
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct StateEntry {
    /// The job's title.
    pub title: String,
    /// The plan's revision.
    pub revision: String,
}

/// A change in [`Revision`].
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct ChangeEntry {
    /// `added`, `gone`, `re-routed`, `moved`, `placed`, `length`, `part`, `renamed` or `changed`.
    pub change: &'static str,
    /// What kind of thing.
    pub kind: &'static str,
    /// Which one.
    pub id: String,
    /// Its room; null for what is in none.
    pub room: Option<String>,
    /// What of it is other; empty for the whole thing.
    pub what: String,
    /// What it was.
    pub was: String,
    /// What it is.
    pub now: String,
    /// How far it was on site.
    pub site: &'static str,
}

/// An output or a panel in [`Revision`]; what is not known is null.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct LoadEntry {
    /// `output` or `panel`.
    pub kind: &'static str,
    /// Which one.
    pub id: String,
    /// Watts before; of a panel those of its AC side.
    pub was_watts: Option<f64>,
    /// Watts now.
    pub now_watts: Option<f64>,
    /// Percent of the output's limit before.
    pub was_percent: Option<f64>,
    /// Percent of the output's limit now.
    pub now_percent: Option<f64>,
}

/// A finding in [`Revision`].
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct FindingEntry {
    /// `new` or `gone`.
    pub change: &'static str,
    /// The check.
    pub code: &'static str,
    /// `error` or `warning`.
    pub severity: &'static str,
    /// What it is about.
    pub id: String,
    /// What is wrong, or was.
    pub what: String,
}

/// A part or a cable type in [`Revision`].
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct MaterialEntry {
    /// Its catalogue entry.
    pub part: String,
    /// `ft` of cable or `pieces`.
    pub unit: &'static str,
    /// Needed before.
    pub was: f64,
    /// Needed now.
    pub now: f64,
    /// Cables whose length is not known: the figures are then the least.
    pub unknown: usize,
}

/// The change order in [`Revision`]. Money is exact, as text; what is not known is null. Credits are below zero.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct OrderEntry {
    /// Materials.
    pub lines: Vec<OrderLineEntry>,
    /// Work.
    pub labor: Vec<OrderTaskEntry>,
    /// All materials.
    pub materials: Option<Decimal>,
    /// What is known of them.
    pub materials_known: Decimal,
    /// Hours of all work.
    pub hours: Option<Decimal>,
    /// All work.
    pub labor_total: Option<Decimal>,
    /// What is known of it.
    pub labor_known: Decimal,
    /// The tax that the firm pays on materials.
    pub tax_on_materials: Option<Decimal>,
    /// Overhead on these.
    pub overhead: Option<Decimal>,
    /// All of these.
    pub cost: Option<Decimal>,
    /// What is left of the price.
    pub margin: Option<Decimal>,
    /// Cost and margin.
    pub price: Option<Decimal>,
    /// The tax that the client pays.
    pub tax_on_price: Option<Decimal>,
    /// What the client pays more.
    pub total: Option<Decimal>,
    /// Lines whose cost is not known.
    pub unknown: usize,
}

/// Materials in [`OrderEntry`].
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct OrderLineEntry {
    /// The thing; of small parts the part.
    pub id: String,
    /// The catalogue entry; null where none is chosen.
    pub part: Option<String>,
    /// What people call it.
    pub name: String,
    /// `added`, `credited`, `not-credited` or `may-not-reach`.
    pub why: &'static str,
    /// Feet or pieces; less than nothing where credited.
    pub quantity: Option<Decimal>,
    /// `ft` or `pieces`.
    pub unit: &'static str,
    /// What one costs.
    pub each: Option<Decimal>,
    /// What the line comes to.
    pub cost: Option<Decimal>,
}

/// Work in [`OrderEntry`].
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct OrderTaskEntry {
    /// The task's name in the estimate.
    pub task: &'static str,
    /// What is done.
    pub name: &'static str,
    /// `added`, `credited`, `taken-out` or `again`.
    pub why: &'static str,
    /// What it is done to.
    pub on: Vec<String>,
    /// How often; less than nothing where credited.
    pub count: Option<Decimal>,
    /// Hours each time.
    pub hours_each: Option<Decimal>,
    /// Hours in all.
    pub hours: Option<Decimal>,
    /// What the line comes to.
    pub cost: Option<Decimal>,
}

/// The document for machines.
pub fn document(old: &Design, new: &Design) -> Revision {
    let compared = compare(old, new);
    let state = |design: &Design| StateEntry {
        title: design.job.project.title.clone(),
        revision: design.job.project.revision.clone(),
    };
    Revision {
        from: state(old),
        to: state(new),
        changes: compared
            .changes
            .iter()
            .map(|change| ChangeEntry {
                change: change.kind.word(),
                kind: change.subject.kind.word(),
                id: change.subject.id.clone(),
                room: change.room.as_ref().map(Id::to_string),
                what: change.what.clone(),
                was: change.was.clone(),
                now: change.now.clone(),
                site: change.step.word(),
            })
            .collect(),
        loading: compared
            .loads
            .iter()
            .map(|load| LoadEntry {
                kind: load.subject.kind.word(),
                id: load.subject.id.clone(),
                was_watts: load.was_watts,
                now_watts: load.now_watts,
                was_percent: load.was_percent,
                now_percent: load.now_percent,
            })
            .collect(),
        findings: compared
            .findings
            .iter()
            .map(|change| FindingEntry {
                change: if change.is_new { "new" } else { "gone" },
                code: change.finding.code,
                severity: change.finding.severity.word(),
                id: change.finding.subject.id.clone(),
                what: change.finding.what.clone(),
            })
            .collect(),
        materials: compared
            .parts
            .iter()
            .map(|part| MaterialEntry {
                part: part.part.id.clone(),
                unit: unit(part.is_cable),
                was: amount(part, part.was),
                now: amount(part, part.now),
                unknown: part.unknown,
            })
            .collect(),
        change_order: order_entry(&compared.order),
    }
}

const fn unit(is_feet: bool) -> &'static str {
    if is_feet { "ft" } else { "pieces" }
}

fn order_entry(order: &Order) -> OrderEntry {
    let line = |line: &OrderLine| OrderLineEntry {
        id: line.subject.id.clone(),
        part: line.part.as_ref().map(|part| part.id.clone()),
        name: line.name.clone(),
        why: line.why.key(),
        quantity: line.quantity,
        unit: unit(line.is_feet),
        each: line.each,
        cost: line.cost,
    };
    let task = |task: &OrderTask| OrderTaskEntry {
        task: task.key,
        name: task.name,
        why: task.why.key(),
        on: task.on.iter().map(|subject| subject.id.clone()).collect(),
        count: task.count,
        hours_each: task.hours_each,
        hours: task.hours,
        cost: task.cost,
    };
    let sums = &order.sums;
    OrderEntry {
        lines: order.lines.iter().map(line).collect(),
        labor: order.tasks.iter().map(task).collect(),
        materials: order.materials.exact(),
        materials_known: order.materials.at_least(),
        hours: order.hours,
        labor_total: order.labor.exact(),
        labor_known: order.labor.at_least(),
        tax_on_materials: sums.tax_on_materials.exact(),
        overhead: sums.overhead.exact(),
        cost: sums.cost.exact(),
        margin: sums.margin.exact(),
        price: sums.price.exact(),
        tax_on_price: sums.tax_on_price.exact(),
        total: sums.total.exact(),
        unknown: order.unknown(),
    }
}

#[expect(clippy::cast_precision_loss, reason = "counts stay far below 2^53")]
fn amount(part: &PartChange, count: i64) -> f64 {
    if part.is_cable { Length::from_ticks(count, LengthUnit::Feet).feet() } else { count as f64 }
}
