//! The revision sheet: what is other since an earlier state of the job, by room, and what that costs.

use super::names::called;
use super::{Cell, Column, Row, Section, Table};
use crate::checks::Severity;
use crate::compare::{Change, ChangeKind, Comparison, LoadChange, OrderLine, OrderWhy, PartChange, compare};
use crate::design::Design;
use crate::format::{self, Quantity, Text};
use crate::job::site::Step;
use crate::job::{Id, Kind};
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

/// The change order in [`Revision`]. Money is exact, as text; what is not known is null.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct OrderEntry {
    /// Its lines.
    pub lines: Vec<OrderLineEntry>,
    /// All materials.
    pub materials: Option<Decimal>,
    /// What is known of them.
    pub materials_known: Decimal,
    /// Lines whose cost is not known.
    pub unknown: usize,
}

/// A line in [`OrderEntry`].
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct OrderLineEntry {
    /// The thing.
    pub id: String,
    /// The catalogue entry; null for work.
    pub part: Option<String>,
    /// `added`, `credited`, `not-credited`, `taken-out` or `landed-anew`.
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

const fn why_key(why: OrderWhy) -> &'static str {
    match why {
        OrderWhy::Added => "added",
        OrderWhy::Credited => "credited",
        OrderWhy::NotCredited => "not-credited",
        OrderWhy::TakenOut => "taken-out",
        OrderWhy::Landed => "landed-anew",
    }
}

/// The document for machines.
pub fn document(old: &Design, new: &Design) -> Revision {
    let compared = compare(old, new);
    let state = |design: &Design| StateEntry {
        title: design.job.project.title.clone(),
        revision: design.job.project.revision.clone(),
    };
    let unit = |is: bool| if is { "ft" } else { "pieces" };
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
        change_order: OrderEntry {
            lines: compared
                .order
                .lines
                .iter()
                .map(|line| OrderLineEntry {
                    id: line.subject.id.clone(),
                    part: line.part.as_ref().map(|part| part.id.clone()),
                    why: why_key(line.why),
                    quantity: line.quantity,
                    unit: unit(line.is_feet),
                    each: line.each,
                    cost: line.cost,
                })
                .collect(),
            materials: compared.order.materials_total(),
            materials_known: compared.order.materials,
            unknown: compared.order.unknown,
        },
    }
}

#[expect(clippy::cast_precision_loss, reason = "counts stay far below 2^53")]
fn amount(part: &PartChange, count: i64) -> f64 {
    if part.is_cable { Length::from_ticks(count, LengthUnit::Feet).feet() } else { count as f64 }
}

/// The sheets for people: changes, loading, checks, materials, the change order. Those with nothing on them are left
/// out, but for the first.
pub fn tables(old: &Design, new: &Design) -> Vec<Table> {
    let compared = compare(old, new);
    let mut all = vec![changes_table(old, new, &compared)];
    let rest = [
        loading_table(&compared),
        findings_table(&compared),
        parts_table(new, &compared),
        order_table(&compared),
    ];
    all.extend(rest.into_iter().flatten());
    all
}

/// A state of the job in a few words.
fn state(design: &Design) -> String {
    match design.job.project.revision.trim() {
        "" => "no revision".to_owned(),
        revision => format!("revision {revision}"),
    }
}

fn changes_table(old: &Design, new: &Design, compared: &Comparison) -> Table {
    let mut table = Table::new(
        "revision",
        "Revision: what is other",
        vec![
            Column::text("done", "").width(3, 3).yields(4),
            Column::text("change", "change").width(7, 9),
            Column::text("id", "what").width(8, 16),
            Column::text("was", "was").width(20, 44).grow(),
            Column::text("now", "is now").width(20, 44).grow(),
            Column::text("site", "site").width(6, 12).yields(2),
        ],
    );
    table.lead.push(summary(old, new, compared).into());
    let mut room: Option<&Option<Id>> = None;
    let mut rows: Vec<Row> = Vec::new();
    for change in &compared.changes {
        if room.is_some_and(|room| *room != change.room) {
            push_room(old, new, &mut table, room, std::mem::take(&mut rows));
        }
        room = Some(&change.room);
        rows.push(change_row(change));
    }
    push_room(old, new, &mut table, room, rows);
    table.notes.push(
        "Things are matched by id: one with another name is renamed. site: how far it was when this revision was made; \
         what is pulled or boarded is opened again, or left and capped at both ends."
            .into(),
    );
    table.cautions.push("Changes reach live circuits: prove them dead before a wire is moved.".into());
    table
}

fn summary(old: &Design, new: &Design, compared: &Comparison) -> String {
    let from = format!("From {} to {}", state(old), state(new));
    if compared.is_empty() {
        return format!("{from}: nothing to build is other.");
    }
    let mut counts: Vec<(&'static str, usize)> = Vec::new();
    for change in &compared.changes {
        match counts.iter_mut().find(|(word, _)| *word == change.kind.word()) {
            Some((_, count)) => *count += 1,
            None => counts.push((change.kind.word(), 1)),
        }
    }
    let counts: Vec<String> = counts.into_iter().map(|(word, count)| format!("{count} {word}")).collect();
    format!(
        "{from}: {}.",
        if counts.is_empty() { "no change of a thing".to_owned() } else { counts.join(", ") }
    )
}

fn push_room(old: &Design, new: &Design, table: &mut Table, room: Option<&Option<Id>>, rows: Vec<Row>) {
    if rows.is_empty() {
        return;
    }
    let (heading, key) = match room {
        Some(Some(id)) => {
            let entry = |design: &Design| {
                design.index.room(&design.job, id).map(|(level, room)| {
                    let level = called(&level.name, &level.id);
                    format!("{}, {level}", called(&room.name, &room.id))
                })
            };
            let words = entry(new).or_else(|| entry(old)).unwrap_or_else(|| id.to_string());
            (words, id.to_string())
        }
        _ => ("The whole house".to_owned(), "house".to_owned()),
    };
    table.sections.push(Section::headed(heading, rows).keyed(key));
}

/// What a thing is called at the start of a row.
const fn short_kind(kind: Kind) -> &'static str {
    match kind {
        Kind::Cable | Kind::Fixture | Kind::Project | Kind::Settings => "",
        Kind::WallBox => "box",
        Kind::FixtureType => "fixture",
        Kind::CableType => "cable",
        Kind::SupplyType => "supply",
        Kind::ControlType => "control",
        Kind::ConductorPlan => "plan",
        Kind::Group => "group",
        other => other.word(),
    }
}

fn change_row(change: &Change) -> Row {
    let with = |words: &str| match (change.what.as_str(), words) {
        ("" | "name" | "way", words) => words.to_owned(),
        (what, "") => format!("{what}: none"),
        (what, words) => format!("{what} {words}"),
    };
    let blank_or = |words: &str, there: bool| if there { Cell::from(with(words)) } else { Cell::Blank };
    let site = if change.step == Step::ToPull { Cell::Blank } else { Cell::text(change.step.word()) };
    Row::new(vec![
        Cell::Tick,
        Cell::text(change.kind.word()),
        Cell::from(format!("{} {}", short_kind(change.subject.kind), change.subject.id).trim_start()),
        blank_or(&change.was, change.kind != ChangeKind::Added),
        blank_or(&change.now, change.kind != ChangeKind::Gone),
        site,
    ])
    .about(change.subject.clone())
}

fn loading_table(compared: &Comparison) -> Option<Table> {
    if compared.loads.is_empty() {
        return None;
    }
    let row = |load: &LoadChange| {
        let percents = load.was_percent.zip(load.now_percent);
        let figure = |there: bool, watts| if there { Cell::watts(watts) } else { Cell::text("-") };
        let percent = |there: bool, percent: Option<f64>| match (load.subject.kind, there) {
            (Kind::Output, true) => Cell::percent(percent),
            _ => Cell::Blank,
        };
        let over = percents.is_some_and(|(was, now)| was <= 100.0 && now > 100.0);
        let word = if load.subject.kind == Kind::Panel { "AC side of panel" } else { "output" };
        Row::new(vec![
            Cell::from(format!("{word} {}", load.subject.id)),
            figure(load.was_there, load.was_watts),
            figure(load.is_there, load.now_watts),
            percent(load.was_there, load.was_percent),
            percent(load.is_there, load.now_percent),
            if over { Cell::text("OVER its limit now") } else { Cell::Blank },
        ])
        .about(load.subject.clone())
    };
    let columns = vec![
        Column::text("what", "what").width(14, 30),
        Column::figure("was_watts", "was").bare(Quantity::Watts),
        Column::figure("now_watts", "is now").bare(Quantity::Watts),
        Column::figure("was_percent", "was").bare(Quantity::Percent),
        Column::figure("now_percent", "is now").bare(Quantity::Percent),
        Column::text("sign", "").width(6, 20),
    ];
    let table = Table::new("revision-loading", "What it does to loading", columns);
    Some(table.with_rows(compared.loads.iter().map(row).collect()))
}

fn findings_table(compared: &Comparison) -> Option<Table> {
    if compared.findings.is_empty() {
        return None;
    }
    let rows = compared.findings.iter().map(|change| {
        let weight = match (change.is_new, change.finding.severity) {
            (true, Severity::Error) => super::Weight::Bad,
            (true, _) => super::Weight::Caution,
            (false, _) => super::Weight::Plain,
        };
        Row::new(vec![
            Cell::Flag(weight, if change.is_new { "new" } else { "gone" }.into()),
            Cell::text(change.finding.severity.word()),
            Cell::text(change.finding.code),
            Cell::from(change.finding.what.clone()),
        ])
        .about(change.finding.subject.clone())
    });
    let columns = vec![
        Column::text("change", "").width(5, 8),
        Column::text("severity", "").width(7, 8),
        Column::text("code", "check").width(8, 16),
        Column::text("what", "what is wrong, or was").width(24, 80).grow(),
    ];
    Some(Table::new("revision-findings", "What it does to the checks", columns).with_rows(rows.collect()))
}

fn parts_table(new: &Design, compared: &Comparison) -> Option<Table> {
    if compared.parts.is_empty() {
        return None;
    }
    let unit = new.job.project.units;
    let row = |part: &PartChange| {
        let shown = |count: i64| {
            if part.is_cable {
                Length::from_ticks(count.abs(), unit).shown(unit)
            } else {
                count.abs().to_string()
            }
        };
        let more = part.now - part.was;
        let sign = if more < 0 { "-" } else { "+" };
        let unknown =
            if part.unknown > 0 { format!(", {} lengths not known", part.unknown) } else { String::new() };
        Row::new(vec![
            Cell::from(part.part.id.as_str()),
            Cell::from(format!("{}{unknown}", part.name)),
            Cell::from(shown(part.was)),
            Cell::from(shown(part.now)),
            Cell::from(format!("{sign}{}", shown(more))),
        ])
        .about(part.part.clone())
    };
    let columns = vec![
        Column::text("part", "part").width(6, 12),
        Column::text("name", "name").width(16, 50).grow(),
        Column::figure("was", "was").width(6, 12),
        Column::figure("now", "is now").width(6, 12),
        Column::figure("more", "more or less").width(7, 12),
    ];
    let table = Table::new("revision-materials", "What it does to materials", columns);
    Some(table.with_rows(compared.parts.iter().map(row).collect()))
}

fn order_table(compared: &Comparison) -> Option<Table> {
    let order = &compared.order;
    if order.lines.is_empty() {
        return None;
    }
    let row = |line: &OrderLine| {
        let unknown = if line.why == OrderWhy::Landed { "" } else { format::UNKNOWN };
        let quantity = line.quantity.map_or_else(
            || Text::from(unknown),
            |quantity| format!("{}{}", quantity.normalize(), if line.is_feet { " ft" } else { "" }).into(),
        );
        let part = line.part.as_ref().map_or_else(|| "work".to_owned(), |part| part.id.clone());
        let each = match line.why {
            OrderWhy::Added | OrderWhy::Credited => Cell::Money(line.each),
            OrderWhy::NotCredited | OrderWhy::TakenOut | OrderWhy::Landed => Cell::Blank,
        };
        Row::new(vec![
            Cell::from(line.subject.id.as_str()),
            Cell::from(part),
            Cell::text(line.why.words()),
            Cell::Text(quantity),
            each,
            Cell::Money(line.cost),
        ])
        .about(line.subject.clone())
    };
    let columns = vec![
        Column::text("id", "for").width(5, 10),
        Column::text("part", "part").width(6, 12),
        Column::text("why", "").width(12, 30).grow(),
        Column::figure("quantity", "quantity").width(8, 14),
        Column::figure("each", "each").width(6, 10).yields(1),
        Column::figure("cost", "comes to").width(8, 14),
    ];
    let mut table = Table::new("change-order", "Change order", columns);
    let label = match order.unknown {
        0 => "materials together".to_owned(),
        1 => "materials, 1 line of unknown cost not in it".to_owned(),
        n => format!("materials, {n} lines of unknown cost not in it"),
    };
    table.totals.push(Row::new(vec![
        Cell::text("total"),
        Cell::Blank,
        Cell::from(label),
        Cell::Blank,
        Cell::Blank,
        Cell::Money(Some(order.materials)),
    ]));
    table.notes.push(
        "What was planned and not done is credited. What is pulled, set or hung is not, and taking it out is work. Cable \
         by its length at the cheapest reel; labor, overhead, margin and tax are not in these sums."
            .into(),
    );
    Some(table.with_rows(order.lines.iter().map(row).collect()))
}
