//! The revision sheet: what is other since an earlier state of the job, by room, and what that costs.

mod document;
mod effects;
mod order;

pub use document::{
    ChangeEntry, FindingEntry, LoadEntry, MaterialEntry, OrderEntry, OrderLineEntry, OrderTaskEntry,
    Revision, StateEntry, document,
};

use super::names::called;
use super::{Cell, Column, Row, Section, Table};
use crate::compare::{Change, ChangeKind, Comparison, compare};
use crate::design::Design;
use crate::job::site::Step;
use crate::job::{Id, Kind};
use effects::{findings_table, loading_table, parts_table};

/// The sheets for people: changes, loading, checks, materials, the change order. Those with nothing on them are left
/// out, but for the first.
pub fn tables(old: &Design, new: &Design) -> Vec<Table> {
    let compared = compare(old, new);
    let mut all = vec![changes_table(old, new, &compared)];
    let rest = [loading_table(&compared), findings_table(&compared), parts_table(new, &compared)];
    all.extend(rest.into_iter().flatten());
    all.extend(order::tables(new, &compared.order));
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
