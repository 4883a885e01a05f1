//! Cells of a spreadsheet pasted over things: a row for each thing, a column for each field.

use super::fill::labels;
use super::{field, words};
use crate::design::Design;
use crate::job::edit::Edit;
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

const HELP: &str = "that is filled; empty: none";
const ONE: &[Field] = &[field(&["column1"], "field", "that is filled; type part of its name", Shape::Words)];
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
            let field = all.iter().find(|field| field.label.eq_ignore_ascii_case(label)).copied();
            if field.is_none() && !label.is_empty() {
                let names: Vec<&str> = all.iter().map(|field| field.label).collect();
                return Err(format!("{}: name one of {}", column.label, names.join(", ")));
            }
            if field.is_some_and(|field| chosen.iter().flatten().any(|other| other.path == field.path)) {
                return Err(format!("{}: '{label}' is in a column before it", column.label));
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
        match filled.flaws.as_slice() {
            [] => {}
            [one] => return Err(one.clone()),
            [one, others @ ..] => return Err(format!("{one}; and {} more", others.len())),
        }
        if filled.edits.is_empty() {
            return Err("all of them have that already".into());
        }
        let named: Vec<&str> = chosen.iter().flatten().map(|field| field.label).collect();
        let label = format!("paste {} into {} {}", named.join(", "), subjects.len(), first.kind.plural());
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
        let flaws = filled.flaws.into_iter().map(|flaw| format!("! {flaw}"));
        let mut notes: Vec<String> = flaws.chain(filled.said).collect();
        if self.rows.iter().flatten().any(String::is_empty) {
            notes.push("An empty cell leaves what is there.".into());
        }
        notes
    }

    fn filled(&self, design: &Design, subjects: &[Subject], chosen: &[Option<&'static Field>]) -> Filled {
        let mut filled = Filled::default();
        for (at, (subject, row)) in subjects.iter().zip(&self.rows).enumerate() {
            // As a spreadsheet counts the rows that were copied.
            let number = at + 1 + usize::from(!self.headings.is_empty());
            filled.row(design, subject, number, row, chosen);
        }
        filled
    }
}

/// What cells come to.
#[derive(Default)]
struct Filled {
    edits: Vec<Edit>,
    flaws: Vec<String>,
    said: Vec<String>,
}

impl Filled {
    fn row(
        &mut self,
        design: &Design,
        subject: &Subject,
        number: usize,
        row: &[String],
        chosen: &[Option<&'static Field>],
    ) {
        let Some(original) = fields::thing(&design.job, &design.index, subject) else {
            self.flaws.push(format!("row {number}: there is no {subject}"));
            return;
        };
        let mut thing = original.clone();
        let mut said = Vec::new();
        let before = self.flaws.len();
        for (cell, field) in row.iter().zip(chosen) {
            let Some(field) = field.filter(|_| !cell.is_empty()) else { continue };
            let was = field.text(&thing);
            match put(design, field, &mut thing, cell) {
                Ok(()) if was == field.text(&thing) => {}
                Ok(()) if was.is_empty() => said.push(format!("{} '{cell}'", field.label)),
                Ok(()) => said.push(format!("{} '{cell}' instead of '{was}'", field.label)),
                Err(reason) => {
                    self.flaws.push(format!("row {number}, {}: {reason} ({subject})", field.label));
                }
            }
        }
        let spot = Id::new(&subject.id).ok().and_then(|id| design.index.spot(subject.kind, &id));
        let parent = spot.and_then(|spot| fields::parent(&design.job, spot)).map(|parent| parent.kind);
        if before == self.flaws.len()
            && let Err(reason) = fields::fits(subject.kind, parent, &thing)
        {
            self.flaws.push(format!("row {number}: {reason} ({subject})"));
        }
        let said = if said.is_empty() { "as it is".to_owned() } else { said.join(", ") };
        self.said.push(format!("{subject}: {said}"));
        let mut names: Vec<&str> =
            chosen.iter().flatten().filter_map(|field| field.path.first().copied()).collect();
        names.sort_unstable();
        names.dedup();
        let differs = |name: &&str| thing.get(*name) != original.get(*name);
        self.edits.extend(names.into_iter().filter(differs).map(|name| Edit::Set {
            subject: subject.clone(),
            field: name.to_owned(),
            value: thing.get(name).cloned().unwrap_or(Value::Null),
        }));
    }
}

/// Puts a cell into a field. A thing may be named by its id or its whole name.
fn put(design: &Design, field: &Field, thing: &mut Value, cell: &str) -> Result<(), String> {
    if !field.applies(thing) {
        return Err(format!("it has no {}", field.label));
    }
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
