//! Readings out of a table: what was read on a meter, foot marks and steps, a row each, as one edit or every flaw by row.
//!
//! Columns, in any order, with commas, semicolons or tabs between: `id` (a cable or a box), `what` (a test as on the
//! sheet of readings, `start mark`, `end mark`, a step like `tested`, or `splice`), `figure`, and if wanted `meter`,
//! `celsius`, `date`, `by`. What an earlier row said of meter, celsius, date and by holds until another says it.

use super::cells::table;
use super::{Flaw, Flaws};
use crate::format::Text;
use crate::job::edit::{Edit, apply};
use crate::job::site::{BoxRecord, CableRecord, Done, Figure, Reading, Splice, Step, Test};
use crate::job::value::held;
use crate::job::{Id, Index, Job, Kind, Subject};
use crate::units::Length;
use serde_json::{Value, json};
use std::collections::BTreeMap;

/// The columns there are.
const COLUMNS: [&str; 7] = ["id", "what", "figure", "meter", "celsius", "date", "by"];

/// What a table of readings comes to.
#[derive(Debug, Clone, PartialEq)]
pub struct TakenReadings {
    /// The edit.
    pub edit: Edit,
    /// Readings in it that the job did not have.
    pub readings: usize,
    /// Marks, steps and splices in it.
    pub records: usize,
    /// Rows that say what the job says already.
    pub known: usize,
}

/// A row's cells by column.
type Cells = BTreeMap<&'static str, String>;

/// What is being put together of one thing.
struct Record {
    subject: Subject,
    site: Value,
    readings: Vec<Reading>,
    touched: (bool, bool),
}

/// Reads a table of readings.
///
/// # Errors
/// Every flaw, by row and column; then nothing is taken.
pub fn read_readings(job: &Job, text: &str) -> Result<TakenReadings, Flaws> {
    let rows = rows(text)?;
    let mut flaws = Vec::new();
    let index = Index::new(job).0;
    let mut records: Vec<Record> = Vec::new();
    let mut counted = TakenReadings { edit: Edit::Together(Vec::new()), readings: 0, records: 0, known: 0 };
    let mut carried = Cells::new();
    for (row, cells) in rows {
        for column in ["meter", "celsius", "date", "by"] {
            if let Some(cell) = cells.get(column).filter(|cell| !cell.is_empty()) {
                carried.insert(column, cell.clone());
            }
        }
        if let Err((column, what)) = take(job, &index, &cells, &carried, &mut records, &mut counted) {
            flaws.push(Flaw { row: Some(row), column: Some(column.into()), what });
        }
    }
    if !flaws.is_empty() {
        return Err(Flaws(flaws));
    }
    let mut edits = Vec::new();
    for record in records {
        let set = |field: &str, value: Value| Edit::Set {
            subject: record.subject.clone(),
            field: field.into(),
            value,
        };
        if record.touched.0 {
            edits.push(set("site", record.site.clone()));
        }
        if record.touched.1 {
            let all = record.readings.iter().map(|reading| json!(reading.to_string()));
            edits.push(set("readings", all.collect()));
        }
    }
    counted.edit = Edit::Together(edits);
    let mut trial = job.clone();
    if let Err(error) = apply(&mut trial, counted.edit.clone()) {
        return Err(Flaws(vec![Flaw { row: None, column: None, what: error.to_string() }]));
    }
    Ok(counted)
}

/// The rows with the number a spreadsheet gives them.
fn rows(text: &str) -> Result<Vec<(usize, Cells)>, Flaws> {
    let mut records = table(text)?.into_iter();
    let Some((row, headings)) = records.next() else {
        return Err(Flaws::whole(format!("the table is empty; its first row is {}", COLUMNS.join(","))));
    };
    let mut flaws = Vec::new();
    let mut flaw = |what| flaws.push(Flaw { row: Some(row), column: None, what });
    let mut columns = Vec::new();
    for cell in &headings {
        let known = COLUMNS.iter().copied().find(|name| name.eq_ignore_ascii_case(cell));
        if known.is_none() && !cell.is_empty() {
            flaw(format!("'{}' is no column: there are {}", Text::from(cell), COLUMNS.join(", ")));
        }
        columns.push(known);
    }
    for needed in ["id", "what"] {
        if !columns.contains(&Some(needed)) {
            flaw(format!("the heading row names no column '{needed}'"));
        }
    }
    if !flaws.is_empty() {
        return Err(Flaws(flaws));
    }
    let named = |cells: Vec<String>| {
        columns.iter().zip(cells).filter_map(|(column, cell)| Some(((*column)?, cell))).collect()
    };
    Ok(records.map(|(row, cells)| (row, named(cells))).collect())
}

/// Takes one row, or gives the column that is wrong with what is wrong.
fn take(
    job: &Job,
    index: &Index,
    cells: &Cells,
    carried: &Cells,
    records: &mut Vec<Record>,
    counted: &mut TakenReadings,
) -> Result<(), (&'static str, String)> {
    let cell = |column: &str| cells.get(column).map_or("", String::as_str);
    let kept = |column: &str| carried.get(column).map_or("", String::as_str);
    let at = record_of(job, index, cell("id"), records).map_err(|what| ("id", what))?;
    let done = format!("{} {}", kept("date"), kept("by"));
    let done: Option<Done> = match done.trim() {
        "" => None,
        text => Some(text.parse().map_err(|what| ("date", what))?),
    };
    let what = cell("what").to_lowercase();
    let step = Step::ALL.into_iter().filter(|step| step.field().is_some()).find(|step| step.word() == what);
    let changed = if let Some(step) = step {
        let done = done.ok_or(("date", format!("say when or by whom it was {}", step.word())))?;
        put_site(&mut records[at], &["done", step.field().unwrap_or_default()], json!(done.to_string()))
    } else if let Some(mark) = what.strip_suffix(" mark").filter(|mark| ["start", "end"].contains(mark)) {
        let length = Length::parse(cell("figure"), Some(job.project.units));
        let length = length.map_err(|bad| ("figure", bad.to_string()))?;
        put_site(&mut records[at], &[&format!("{mark}_mark")], json!(length.written()))
    } else if what == "splice" {
        let splice = [Splice::Uncut, Splice::Cut, Splice::Spliced, Splice::FixtureOn]
            .into_iter()
            .find(|splice| splice.word().eq_ignore_ascii_case(cell("figure")))
            .ok_or_else(|| ("figure", "write uncut, cut, spliced through or fixture on".to_owned()))?;
        put_site(&mut records[at], &["splice"], serde_json::to_value(splice).unwrap_or_default())
    } else {
        let test: Test = cell("what").parse().map_err(|what| ("what", what))?;
        let figure: Figure = cell("figure").parse().map_err(|what| ("figure", what))?;
        return reading(
            job,
            index,
            &mut records[at],
            Reading::new(test, figure),
            (kept("meter"), kept("celsius"), done),
            counted,
        );
    };
    check_site(&records[at])?;
    if changed {
        records[at].touched.0 = true;
        counted.records += 1;
    } else {
        counted.known += 1;
    }
    Ok(())
}

/// Adds a reading to a cable, unless it is there.
fn reading(
    job: &Job,
    index: &Index,
    record: &mut Record,
    mut reading: Reading,
    (meter, celsius, done): (&str, &str, Option<Done>),
    counted: &mut TakenReadings,
) -> Result<(), (&'static str, String)> {
    if record.subject.kind != Kind::Cable {
        return Err(("id", format!("{} is no cable: readings belong to cables", record.subject)));
    }
    if !meter.is_empty() {
        let id = Id::new(meter).map_err(|bad| ("meter", bad.to_string()))?;
        if index.spot(Kind::Meter, &id).is_none() {
            let have: Vec<String> = job.catalogue.meters.iter().map(|meter| meter.id.to_string()).collect();
            let have = if have.is_empty() {
                "it has none".to_owned()
            } else {
                format!("it has {}", have.join(", "))
            };
            return Err(("meter", format!("the catalogue has no meter '{id}'; {have}")));
        }
        reading.meter = Some(id);
    }
    if !celsius.is_empty() {
        // The words of a reading know how a temperature is written.
        let typed: Reading =
            format!("insulation: 1 at {celsius}").parse().map_err(|what| ("celsius", what))?;
        reading.celsius = typed.celsius;
    }
    reading.by = done;
    if record.readings.contains(&reading) {
        counted.known += 1;
    } else {
        record.readings.push(reading);
        record.touched.1 = true;
        counted.readings += 1;
    }
    Ok(())
}

/// The record of a cable or a box, begun with what the job has.
fn record_of(job: &Job, index: &Index, text: &str, records: &mut Vec<Record>) -> Result<usize, String> {
    let id = Id::new(text).map_err(|bad| bad.to_string())?;
    let kinds = [Kind::Cable, Kind::WallBox, Kind::Fixture];
    let kind = kinds.into_iter().find(|kind| index.spot(*kind, &id).is_some());
    let kind = kind.ok_or_else(|| format!("there is no cable and no box '{id}'"))?;
    let subject = Subject::new(kind, &id);
    let same =
        |record: &Record| record.subject.kind == kind && record.subject.id.eq_ignore_ascii_case(&subject.id);
    if let Some(at) = records.iter().position(same) {
        return Ok(at);
    }
    let value = held(job, index, &subject).map(|held| held.value).unwrap_or_default();
    let site = value.get("site").cloned().unwrap_or_else(|| json!({}));
    let readings = value.get("readings").cloned().unwrap_or_else(|| json!([]));
    let readings = serde_json::from_value(readings).map_err(|error| error.to_string())?;
    records.push(Record { subject, site, readings, touched: (false, false) });
    Ok(records.len() - 1)
}

/// Puts a value into what is known of the site; false if it stands there already.
fn put_site(record: &mut Record, path: &[&str], value: Value) -> bool {
    let mut at = &mut record.site;
    for part in path {
        if !at.is_object() {
            *at = json!({});
        }
        at = &mut at[*part];
    }
    let changed = *at != value;
    *at = value;
    changed
}

/// Whether the record is one its kind of thing can have: a box has no foot marks, a cable no splice.
fn check_site(record: &Record) -> Result<(), (&'static str, String)> {
    let site = record.site.clone();
    let fits = match record.subject.kind {
        Kind::Cable => serde_json::from_value::<CableRecord>(site).map(|_| ()),
        _ => serde_json::from_value::<BoxRecord>(site).map(|_| ()),
    };
    fits.map_err(|_| ("what", format!("{} has no such record", record.subject)))
}
