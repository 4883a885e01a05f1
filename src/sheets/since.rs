//! Marks what is other since an earlier state of a job, on any sheet.
//!
//! A row is the same if the same thing stood in the same section with the same words: what changed too little to be
//! shown is not marked. In a document for machines an item is changed if the earlier one holds none that is equal to it,
//! to nine digits.

use crate::format::Text;
use crate::schedule::{Cell, Column, Row, Section, Table};
use crate::units::LengthUnit;
use serde_json::{Map, Value};
use std::collections::{BTreeSet, HashMap};

/// The sign beside a row that is other.
pub const MARK: &str = "*";
/// The column and the key of a mark.
const KEY: &str = "changed";
/// Columns of text that a mark takes, with the gap after it.
const ROOM: usize = 3;
/// Ids listed as gone, at most.
const MOST_GONE: usize = 40;

/// Marks the rows of tables that are other than in those of an earlier state, and says what is gone.
pub fn mark(tables: Vec<Table>, earlier: &[Table], unit: LengthUnit, since: &str) -> Vec<Table> {
    // Where several tables of a sheet have one name, their titles tell them apart.
    let several = |name: &str| {
        let count = |tables: &[Table]| tables.iter().filter(|table| table.name == name).count();
        count(&tables) > 1 || count(earlier) > 1
    };
    let titled: Vec<bool> = tables.iter().map(|table| several(table.name)).collect();
    let each = tables.into_iter().zip(titled);
    each.map(|(table, titled)| {
        let was = earlier.iter().find(|was| was.name == table.name && (!titled || was.title == table.title));
        mark_table(table, was, unit, since)
    })
    .collect()
}

fn mark_table(mut table: Table, was: Option<&Table>, unit: LengthUnit, since: &str) -> Table {
    let earlier = was.map(|was| rows_of(was, unit)).unwrap_or_default();
    let mut gone: BTreeSet<String> = was
        .map(|was| was.rows().filter_map(|row| Some(row.subject.as_ref()?.id.clone())).collect())
        .unwrap_or_default();
    let mut any = false;
    for section in &mut table.sections {
        let key = section_key(section);
        let mut groups: HashMap<String, Vec<usize>> = HashMap::new();
        for (at, row) in section.rows.iter().enumerate() {
            if let Some(subject) = &row.subject {
                gone.remove(&subject.id);
            }
            groups.entry(row_key(&key, row)).or_default().push(at);
        }
        let mut marked = vec![false; section.rows.len()];
        for (group, places) in groups {
            let now: Vec<String> =
                places.iter().filter_map(|&at| section.rows.get(at)).map(|row| shown(row, unit)).collect();
            let before = earlier.get(&group).map(Vec::as_slice).unwrap_or_default();
            let kept = common(before, &now);
            for (place, kept) in places.into_iter().zip(kept) {
                marked[place] = !kept;
            }
        }
        for (row, marked) in section.rows.iter_mut().zip(marked) {
            any |= marked;
            put(row, marked);
        }
        if let Some(total) = &mut section.total {
            let before =
                was.and_then(|was| was.sections.iter().find(|s| section_key(s) == key)?.total.as_ref());
            put(total, before.is_none_or(|before| shown(before, unit) != shown(total, unit)));
        }
        section.heading = section.heading.take().map(|heading| {
            let before = was.and_then(|was| was.sections.iter().find(|s| section_key(s) == key));
            let same = before.is_some_and(|before| before.heading.as_ref() == Some(&heading));
            if same { heading } else { Text::from(format!("{MARK} {heading}")) }
        });
    }
    let totals: Vec<String> =
        was.map(|was| was.totals.iter().map(|row| shown(row, unit)).collect()).unwrap_or_default();
    for total in &mut table.totals {
        let changed = !totals.contains(&shown(total, unit));
        any |= changed;
        put(total, changed);
    }
    // The mark takes its room from the widest words, so that no column is left off for it.
    if let Some(widest) = table.columns.iter_mut().max_by_key(|column| column.least) {
        widest.least = widest.least.saturating_sub(ROOM).max(1);
    }
    table.columns.insert(0, Column::text(KEY, "").width(1, 1));
    let said = if any {
        format!("'{MARK}' marks what is other {since}.")
    } else {
        format!("Nothing here is other {since}.")
    };
    table.lead.insert(0, Text::from(said));
    if !gone.is_empty() {
        let more = if gone.len() > MOST_GONE {
            format!(" and {} more", gone.len() - MOST_GONE)
        } else {
            String::new()
        };
        let ids: Vec<String> = gone.into_iter().take(MOST_GONE).collect();
        table.lead.insert(1, Text::from(format!("{MARK} Gone from here {since}: {}{more}.", ids.join(", "))));
    }
    table
}

fn put(row: &mut Row, marked: bool) {
    row.cells.insert(0, if marked { Cell::text(MARK) } else { Cell::Blank });
}

fn section_key(section: &Section) -> String {
    section.key.as_ref().or(section.heading.as_ref()).map(|text| text.as_str().to_owned()).unwrap_or_default()
}

/// What tells rows apart: their section and what they are about, else their first word.
fn row_key(section: &str, row: &Row) -> String {
    if let Some(subject) = &row.subject {
        return format!("{section}\n{subject}");
    }
    let first = row.cells.iter().find(|cell| !matches!(cell, Cell::Blank | Cell::Tick | Cell::Write));
    format!("{section}\n{}", first.map(|cell| cell.shown(LengthUnit::Feet)).unwrap_or_default())
}

fn shown(row: &Row, unit: LengthUnit) -> String {
    let cells: Vec<String> = row.cells.iter().map(|cell| cell.shown(unit)).collect();
    cells.join("\u{1f}").trim_end_matches('\u{1f}').to_owned()
}

fn rows_of(table: &Table, unit: LengthUnit) -> HashMap<String, Vec<String>> {
    let mut rows: HashMap<String, Vec<String>> = HashMap::new();
    for section in &table.sections {
        let key = section_key(section);
        for row in &section.rows {
            rows.entry(row_key(&key, row)).or_default().push(shown(row, unit));
        }
    }
    rows
}

/// Which of the new lines are in a longest common sequence with the old ones. The lines of one thing are few.
fn common(old: &[String], new: &[String]) -> Vec<bool> {
    let mut longest = vec![vec![0_usize; new.len() + 1]; old.len() + 1];
    for (i, was) in old.iter().enumerate().rev() {
        for (j, now) in new.iter().enumerate().rev() {
            longest[i][j] =
                if was == now { longest[i + 1][j + 1] + 1 } else { longest[i + 1][j].max(longest[i][j + 1]) };
        }
    }
    let mut kept = vec![false; new.len()];
    let (mut i, mut j) = (0, 0);
    while i < old.len() && j < new.len() {
        if old[i] == new[j] {
            kept[j] = true;
            (i, j) = (i + 1, j + 1);
        } else if longest[i + 1][j] >= longest[i][j + 1] {
            i += 1;
        } else {
            j += 1;
        }
    }
    kept
}

/// Marks the items of a document: each object in a list gets `changed`, true where the earlier document has no equal one
/// in the same list.
///
/// # Errors
/// When one of the two is no JSON.
pub fn mark_json(document: &str, earlier: &str) -> Result<String, serde_json::Error> {
    let mut now: Value = serde_json::from_str(document)?;
    let was: Value = serde_json::from_str(earlier)?;
    mark_value(&mut now, Some(&was));
    super::json::pretty(&now)
}

fn mark_value(now: &mut Value, was: Option<&Value>) {
    match now {
        Value::Object(fields) => {
            for (key, value) in fields {
                mark_value(value, was.and_then(|was| was.get(key)));
            }
        }
        Value::Array(items) => {
            let before = was.and_then(Value::as_array).map(Vec::as_slice).unwrap_or_default();
            // Items that are equal have the same id, so that each is held against the few of its id alone.
            let mut by_id: HashMap<Option<&str>, Vec<&Value>> = HashMap::new();
            for before in before {
                by_id.entry(id_of(before)).or_default().push(before);
            }
            for item in items.iter_mut().filter(|item| item.is_object()) {
                let id = id_of(item);
                let candidates = by_id.get(&id).map(Vec::as_slice).unwrap_or_default();
                let equal = candidates.iter().find(|before| alike(before, item)).copied();
                let same = equal.is_some();
                // Lists within are marked against the item that has the same first id, if there is one.
                let twin = candidates.first().copied().filter(|_| id.is_some());
                mark_value(item, equal.or(twin));
                if let Some(fields) = item.as_object_mut() {
                    fields.insert(KEY.to_owned(), Value::Bool(!same));
                }
            }
        }
        _ => {}
    }
}

/// The names that hold the id of an item, the most telling first.
const IDS: [&str; 14] = [
    "tag", "fixture", "run", "output", "flag", "control", "supply", "panel", "loop", "box", "room", "cable",
    "part", "id",
];

fn id_of(item: &Value) -> Option<&str> {
    let fields: &Map<String, Value> = item.as_object()?;
    IDS.iter().find_map(|name| fields.get(*name)?.as_str())
}

fn alike(one: &Value, other: &Value) -> bool {
    match (one, other) {
        (Value::Number(one), Value::Number(other)) => match (one.as_f64(), other.as_f64()) {
            (Some(one), Some(other)) => (one - other).abs() <= 1e-9 * one.abs().max(other.abs()),
            _ => one == other,
        },
        (Value::Array(one), Value::Array(other)) => {
            one.len() == other.len() && one.iter().zip(other).all(|(one, other)| alike(one, other))
        }
        (Value::Object(one), Value::Object(other)) => {
            one.len() == other.len()
                && one.iter().all(|(key, value)| other.get(key).is_some_and(|other| alike(value, other)))
        }
        _ => one == other,
    }
}
