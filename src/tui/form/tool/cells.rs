//! Cells of a spreadsheet pasted over things: a row for each thing, a column for each field.

use super::fill::{alike, labels};
use super::{field, words};
use crate::design::Design;
use crate::job::edit::{Edit, apply};
use crate::job::fields::{self, Field, Shape};
use crate::job::{Id, Subject};
use serde_json::{Value, json};

/// Cells as they were pasted, row by row.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(in crate::tui) struct Cells {
    /// The labels of the fields that the first row named.
    headings: Vec<String>,
    rows: Vec<Vec<String>>,
}

/// The most columns that are taken at once.
pub(in crate::tui) const MOST_COLUMNS: usize = 8;

const HELP: &str = "the field it fills; empty: none";
const ONE: &[Field] = &[field(&["column1"], "column", "the field it fills; part of its name", Shape::Words)];
const SEVERAL: [Field; MOST_COLUMNS] = [
    field(&["column1"], "column 1", HELP, Shape::Words),
    field(&["column2"], "column 2", HELP, Shape::Words),
    field(&["column3"], "column 3", HELP, Shape::Words),
    field(&["column4"], "column 4", HELP, Shape::Words),
    field(&["column5"], "column 5", HELP, Shape::Words),
    field(&["column6"], "column 6", HELP, Shape::Words),
    field(&["column7"], "column 7", HELP, Shape::Words),
    field(&["column8"], "column 8", HELP, Shape::Words),
];
static FIELDS: [Field; MOST_COLUMNS] = SEVERAL;

/// The name of the note in a draft which columns a person named.
const NAMED: &str = "named";

impl Cells {
    /// The cells of a pasted text; none where it is no block of cells.
    pub(in crate::tui) fn of(text: &str) -> Option<Self> {
        let mut reader = csv::ReaderBuilder::new()
            .delimiter(b'\t')
            .has_headers(false)
            .flexible(true)
            .from_reader(text.trim_end_matches('\n').as_bytes());
        let row = |record: csv::StringRecord| record.iter().map(|cell| cell.trim().to_owned()).collect();
        let rows: Result<Vec<Vec<String>>, csv::Error> =
            reader.records().map(|record| record.map(row)).collect();
        Some(Self { headings: Vec::new(), rows: rows.ok().filter(|rows| !rows.is_empty())? })
    }

    pub(in crate::tui) fn columns(&self) -> usize {
        self.rows.iter().map(Vec::len).max().unwrap_or(0)
    }

    pub(in crate::tui) const fn rows(&self) -> usize {
        self.rows.len()
    }

    /// Whether each cell of a line is the label of a field of a thing.
    pub(in crate::tui) fn head(design: &Design, subject: &Subject, line: &str) -> bool {
        let all = labels(design, subject);
        let is = |cell: &str| all.iter().any(|field| field.label.eq_ignore_ascii_case(cell.trim()));
        line.split('\t').all(is)
    }

    /// Takes the first row for headings if every cell of it is the label of a field.
    pub(in crate::tui) fn take_headings(&mut self, design: &Design, subject: &Subject) {
        let all = labels(design, subject);
        let label = |cell: &String| all.iter().find(|field| field.label.eq_ignore_ascii_case(cell));
        let Some(first) = self.rows.first().filter(|_| self.rows.len() > 1) else { return };
        let named: Option<Vec<String>> =
            first.iter().map(|cell| label(cell).map(|field| field.label.to_owned())).collect();
        if let Some(named) = named {
            self.headings = named;
            self.rows.remove(0);
        }
    }

    pub(super) fn fields(&self) -> &'static [Field] {
        match self.columns() {
            0 | 1 => ONE,
            columns => FIELDS.get(..columns).unwrap_or(&FIELDS),
        }
    }

    pub(super) fn start(&self, design: &Design, subjects: &[Subject]) -> Result<Value, String> {
        super::fill::start(design, subjects)?;
        let mut draft = json!({});
        for (at, field) in self.fields().iter().enumerate() {
            draft[field.path[0]] = json!(self.headings.get(at).cloned().unwrap_or_default());
        }
        Ok(draft)
    }

    /// The columns after one that is named are the fields after that one, as long as nobody named them otherwise.
    pub(super) fn follow(&self, design: &Design, subjects: &[Subject], draft: &mut Value, typed: &str) {
        let Some(first) = subjects.first() else { return };
        let mut named: Vec<String> = serde_json::from_value(draft[NAMED].clone()).unwrap_or_default();
        if !named.iter().any(|name| name == typed) {
            named.push(typed.to_owned());
        }
        draft[NAMED] = json!(named);
        let all = labels(design, first);
        let columns = self.fields();
        let Some(at) = columns.iter().position(|column| column.path[0] == typed) else { return };
        let from = found(&all, words(draft, typed));
        for (step, column) in columns.iter().enumerate().skip(at + 1) {
            if named.iter().any(|name| name == column.path[0]) {
                break;
            }
            let next = from.and_then(|from| all.get(from + step - at));
            draft[column.path[0]] = json!(next.map(|field| field.label).unwrap_or_default());
        }
    }

    /// The field of each column; none for a column that is passed over.
    fn chosen(&self, all: &[&'static Field], draft: &Value) -> Result<Vec<Option<&'static Field>>, String> {
        let mut chosen: Vec<Option<&'static Field>> = Vec::new();
        for column in self.fields() {
            let label = words(draft, column.path[0]);
            // The beginning of a name will do, as it does when the field is left.
            let field = found(all, label).and_then(|at| all.get(at)).copied();
            if field.is_none() && !label.is_empty() {
                let names: Vec<&str> = all.iter().map(|field| field.label).collect();
                return Err(format!("{}: name one of {}", column.label, names.join(", ")));
            }
            if field.is_some_and(|field| chosen.iter().flatten().any(|other| other.path == field.path)) {
                return Err(format!("{}: the field is in a column before it", column.label));
            }
            chosen.push(field);
        }
        if chosen.iter().flatten().next().is_none() {
            let names: Vec<&str> = all.iter().map(|field| field.label).collect();
            return Err(format!("name one of {}", names.join(", ")));
        }
        Ok(chosen)
    }

    pub(super) fn edit(
        &self,
        design: &Design,
        subjects: &[Subject],
        draft: &Value,
    ) -> Result<(Edit, String), String> {
        let first = subjects.first().ok_or("nothing is marked")?;
        let chosen = self.chosen(&labels(design, first), draft)?;
        let filled = self.filled(design, subjects, &chosen);
        if let Some((first, others)) = filled.flaws.split_first() {
            // The form goes to the column that a reason begins with.
            let column = self.fields().get(first.column).map_or("column 1", |column| column.label);
            let more = if others.is_empty() { String::new() } else { format!("; and {} more", others.len()) };
            return Err(format!("{column}: {}{more}", first.said()));
        }
        if filled.edits.is_empty() {
            return Err("all of them have that already".into());
        }
        let named: Vec<&str> = chosen.iter().flatten().map(|field| field.label).collect();
        let into = match subjects {
            [one] => one.to_string(),
            many => format!("{} {}", many.len(), first.kind.plural()),
        };
        let label = format!("paste {} into {into}", named.join(", "));
        Ok((Edit::Together(filled.edits), label))
    }

    /// What each row comes to, and what is wrong with it, by row and column.
    pub(super) fn notes(&self, design: &Design, subjects: &[Subject], draft: &Value) -> Vec<String> {
        let chosen = subjects.first().map(|first| self.chosen(&labels(design, first), draft));
        let Some(Ok(chosen)) = chosen else {
            let row = |(subject, row): (&Subject, &Vec<String>)| format!("{subject}: {}", row.join(" | "));
            return subjects.iter().zip(&self.rows).map(row).collect();
        };
        let filled = self.filled(design, subjects, &chosen);
        let flaws = filled.flaws.iter().map(|flaw| format!("! {}", flaw.said()));
        let mut notes: Vec<String> = flaws.chain(filled.said.iter().cloned()).collect();
        if self.rows.iter().flatten().any(String::is_empty) {
            notes.push("An empty cell leaves what is there.".into());
        }
        notes
    }

    fn filled(&self, design: &Design, subjects: &[Subject], chosen: &[Option<&'static Field>]) -> Filled {
        let mut filled = Filled::default();
        let mut rows = Vec::new();
        for (at, (subject, cells)) in subjects.iter().zip(&self.rows).enumerate() {
            // As a spreadsheet counts the rows that were copied.
            let number = at + 1 + usize::from(!self.headings.is_empty());
            rows.extend(Row::put(design, subject, number, cells, chosen, &mut filled));
        }
        if filled.flaws.is_empty() {
            filled.flaws.extend(refused(design, &rows));
        }
        filled.edits = rows.into_iter().flat_map(|row| row.edits(&row.thing)).collect();
        filled
    }
}

/// What is wrong with a cell: its row as the spreadsheet counts what was copied, and its column from 0.
struct Flaw {
    row: usize,
    column: usize,
    reason: String,
}

impl Flaw {
    fn said(&self) -> String {
        format!("row {}, {}", self.row, self.reason)
    }
}

/// What cells come to.
#[derive(Default)]
struct Filled {
    edits: Vec<Edit>,
    flaws: Vec<Flaw>,
    said: Vec<String>,
}

/// A row put into a thing.
struct Row<'a> {
    number: usize,
    subject: &'a Subject,
    original: Value,
    thing: Value,
    /// The cells with their columns and fields.
    cells: Vec<(usize, &'static Field, &'a str)>,
}

impl<'a> Row<'a> {
    /// Puts cells into a thing, and says what they come to or what is wrong with each.
    fn put(
        design: &Design,
        subject: &'a Subject,
        number: usize,
        cells: &'a [String],
        chosen: &[Option<&'static Field>],
        filled: &mut Filled,
    ) -> Option<Self> {
        let Some(original) = fields::thing(&design.job, &design.index, subject) else {
            let reason = format!("there is no {subject}");
            filled.flaws.push(Flaw { row: number, column: 0, reason });
            return None;
        };
        let thing = original.clone();
        let mut row = Self { number, subject, original, thing, cells: Vec::new() };
        let mut said = Vec::new();
        let before = filled.flaws.len();
        for (column, (cell, field)) in cells.iter().zip(chosen).enumerate() {
            let Some(field) = field.filter(|_| !cell.is_empty()) else { continue };
            let own = alike(design, subject, field).ok_or_else(|| format!("{subject} has none"));
            let was = own.as_ref().map_or(String::new(), |own| own.text(&row.thing));
            let taken = own.and_then(|own| put(design, own, &mut row.thing, cell).map(|()| own));
            match taken {
                Err(reason) => filled.flaws.push(row.flaw(column, field, &reason)),
                Ok(own) => {
                    row.cells.push((column, own, cell));
                    if was != own.text(&row.thing) {
                        let instead =
                            if was.is_empty() { String::new() } else { format!(" instead of '{was}'") };
                        said.push(format!("{} '{cell}'{instead}", own.label));
                    }
                }
            }
        }
        if before == filled.flaws.len() {
            filled.flaws.extend(row.misfit(design, |thing| fit(design, subject, thing)));
        }
        if before < filled.flaws.len() {
            return None;
        }
        let said = if said.is_empty() { "as it is".to_owned() } else { said.join(", ") };
        filled.said.push(format!("{subject}: {said}"));
        Some(row)
    }

    fn flaw(&self, column: usize, field: &Field, reason: &str) -> Flaw {
        Flaw { row: self.number, column, reason: format!("{}: {reason}", field.label) }
    }

    /// What is wrong with the thing as it is now: the first cell that does not fit by itself, or else all of them, which
    /// then do not go together.
    fn misfit(&self, design: &Design, mut trial: impl FnMut(&Value) -> Result<(), String>) -> Option<Flaw> {
        let together = trial(&self.thing).err()?;
        for (column, field, cell) in &self.cells {
            let mut alone = self.original.clone();
            if put(design, field, &mut alone, cell).is_ok()
                && let Err(reason) = trial(&alone)
            {
                return Some(self.flaw(*column, field, &reason));
            }
        }
        let names: Vec<&str> = self.cells.iter().map(|(_, field, _)| field.label).collect();
        let column = self.cells.last().map_or(0, |(column, ..)| *column);
        Some(Flaw { row: self.number, column, reason: format!("{}: {together}", names.join(" with ")) })
    }

    /// An edit for each field of the file that is not as it was.
    fn edits(&self, thing: &Value) -> Vec<Edit> {
        let mut names: Vec<&str> =
            self.cells.iter().filter_map(|(_, field, _)| field.path.first().copied()).collect();
        names.sort_unstable();
        names.dedup();
        let differs = |name: &&str| thing.get(*name) != self.original.get(*name);
        let set = |name: &str| Edit::Set {
            subject: self.subject.clone(),
            field: name.to_owned(),
            value: thing.get(name).cloned().unwrap_or(Value::Null),
        };
        names.into_iter().filter(differs).map(set).collect()
    }
}

/// The first cell for which the whole job would refuse the rows. They are tried at once, and one by one only if that
/// fails, since each trial may look through the whole job.
fn refused(design: &Design, rows: &[Row<'_>]) -> Option<Flaw> {
    let mut job = design.job.clone();
    let all = rows.iter().flat_map(|row| row.edits(&row.thing)).collect();
    let whole = apply(&mut job, Edit::Together(all)).err()?.to_string();
    for row in rows {
        let flaw = row.misfit(design, |thing| {
            let inverse =
                apply(&mut job, Edit::Together(row.edits(thing))).map_err(|error| error.to_string())?;
            apply(&mut job, inverse).map(|_| ()).map_err(|error| error.to_string())
        });
        if flaw.is_some() {
            return flaw;
        }
        // Later rows are tried on top of those before them.
        apply(&mut job, Edit::Together(row.edits(&row.thing))).ok()?;
    }
    rows.last().map(|row| Flaw { row: row.number, column: 0, reason: whole })
}

/// What is wrong with a thing as the types of the file say it.
fn fit(design: &Design, subject: &Subject, thing: &Value) -> Result<(), String> {
    let spot = Id::new(&subject.id).ok().and_then(|id| design.index.spot(subject.kind, &id));
    let parent = spot.and_then(|spot| fields::parent(&design.job, spot)).map(|parent| parent.kind);
    fields::fits(subject.kind, parent, thing)
}

/// Puts a cell into a field. A thing may be named by its id or its whole name.
fn put(design: &Design, field: &Field, thing: &mut Value, cell: &str) -> Result<(), String> {
    let named = match field.shape {
        Shape::Refer(kind) => {
            let all = super::things(design, kind);
            let is = |text: &String| text.eq_ignore_ascii_case(cell);
            let known = all.iter().find(|(id, _)| is(id)).or_else(|| all.iter().find(|(_, name)| is(name)));
            known.map(|(id, _)| id.clone()).ok_or_else(|| format!("no {} '{cell}'", kind.word()))?
        }
        _ => cell.to_owned(),
    };
    field.put(&design.job, thing, &named)
}

/// The field that a text names or begins to name.
fn found(all: &[&'static Field], text: &str) -> Option<usize> {
    let text = text.to_lowercase();
    if text.is_empty() {
        return None;
    }
    let label = |field: &&'static Field| field.label.to_lowercase();
    all.iter().position(|field| label(field) == text).or_else(|| {
        all.iter()
            .position(|field| label(field).starts_with(&text))
            .or_else(|| all.iter().position(|field| label(field).contains(&text)))
    })
}
