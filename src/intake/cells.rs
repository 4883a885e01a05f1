//! Takes a text apart into rows of cells under known headings, within limits.

use super::columns::Col;
use super::{Flaw, Flaws};
use crate::format::Text;
use crate::job::read::nearest;
use crate::sheets::csv::active;
use std::collections::HashMap;

/// A table of more bytes than this is refused.
pub const MOST_BYTES: usize = 4 * 1024 * 1024;
/// A table of more rows than this is refused.
pub const MOST_ROWS: usize = 5_000;
/// The longest cell.
const LONGEST_CELL: usize = 400;
/// The most columns a row may have.
const MOST_COLUMNS: usize = 200;

/// A row of the table.
#[derive(Debug, Clone, Default)]
pub(super) struct Row {
    /// As a spreadsheet counts it.
    pub number: usize,
    cells: HashMap<Col, String>,
}

impl Row {
    /// The cell without the spaces around it; empty where there is none.
    pub(super) fn cell(&self, column: Col) -> &str {
        self.cells.get(&column).map_or("", String::as_str)
    }

    /// Whether any of these cells says something.
    pub(super) fn says(&self, columns: &[Col]) -> bool {
        columns.iter().any(|column| !self.cell(*column).is_empty())
    }
}

/// The rows of a table that say anything.
pub(super) fn rows(text: &str) -> Result<Vec<Row>, Flaws> {
    let mut records = table(text)?.into_iter();
    let Some((heading_row, headings)) = records.next() else {
        return Err(Flaws::whole(format!(
            "the table is empty; its first row names the columns, like {}",
            example()
        )));
    };
    let mut flaws = Vec::new();
    let mut columns: Vec<Option<Col>> = Vec::new();
    for heading in &headings {
        let column = Col::of(heading);
        let flaw = |what| Flaw { row: Some(heading_row), column: Some(short(heading)), what };
        match column {
            Some(known) if columns.contains(&column) => {
                flaws.push(flaw(format!("the column '{}' is there twice", known.key())));
            }
            None if !heading.is_empty() => {
                let hint = nearest(heading, Col::ALL.iter().map(|column| column.key()));
                let hint = hint.unwrap_or_else(|| "'studbay rooms --help' lists the columns".into());
                flaws.push(flaw(format!("there is no such column; {hint}")));
            }
            _ => {}
        }
        columns.push(column);
    }
    if flaws.is_empty() && !columns.contains(&Some(Col::Room)) {
        let what = format!("there is no column 'room'; the first row names the columns, like {}", example());
        flaws.push(Flaw { row: Some(heading_row), column: None, what });
    }
    if !flaws.is_empty() {
        return Err(Flaws(flaws));
    }
    let mut rows = Vec::new();
    for (number, record) in records {
        let mut row = Row { number, cells: HashMap::new() };
        for (at, cell) in record.into_iter().enumerate() {
            match columns.get(at).copied().flatten() {
                Some(column) if cell.chars().count() > LONGEST_CELL => flaws.push(Flaw {
                    row: Some(number),
                    column: Some(column.key().into()),
                    what: format!("the cell is longer than {LONGEST_CELL} characters"),
                }),
                Some(column) if !cell.is_empty() => {
                    row.cells.insert(column, cell);
                }
                None if !cell.is_empty() => flaws.push(Flaw {
                    row: Some(number),
                    column: None,
                    what: format!("'{}' stands under no heading", short(&cell)),
                }),
                _ => {}
            }
        }
        if !row.cells.is_empty() {
            rows.push(row);
        }
    }
    if flaws.is_empty() { Ok(rows) } else { Err(Flaws(flaws)) }
}

fn example() -> &'static str {
    "level,room,area,lights"
}

pub(super) fn short(text: &str) -> String {
    Text::from(text).within(40).into_owned()
}

/// The rows of a table that say anything, each with its number as a spreadsheet counts it; headings are the first.
///
/// # Errors
/// When it is too long, or cannot be taken apart.
pub(super) fn table(text: &str) -> Result<Vec<(usize, Vec<String>)>, Flaws> {
    if text.len() > MOST_BYTES {
        let length = text.len();
        return Err(Flaws::whole(format!(
            "the table holds {length} bytes, more than the {MOST_BYTES} it may"
        )));
    }
    let mut text = text.trim_start_matches('\u{feff}').replace("\r\n", "\n").replace('\r', "\n");
    text.push('\n');
    records(&text).map_err(Flaws::whole)
}

fn records(text: &str) -> Result<Vec<(usize, Vec<String>)>, String> {
    let mut reader = csv::ReaderBuilder::new()
        .has_headers(false)
        .flexible(true)
        .delimiter(delimiter(text))
        .from_reader(text.as_bytes());
    let mut record = csv::StringRecord::new();
    let mut records = Vec::new();
    loop {
        match reader.read_record(&mut record) {
            Ok(true) => {}
            Ok(false) => return Ok(records),
            Err(error) => return Err(format!("the table cannot be taken apart: {error}")),
        }
        if record.len() > MOST_COLUMNS {
            return Err(format!("a row has {} columns, more than the {MOST_COLUMNS} it may", record.len()));
        }
        // Line breaks within a cell are part of its row.
        let inner: usize = record.iter().map(|cell| cell.matches('\n').count()).sum();
        let after = usize::try_from(reader.position().line()).unwrap_or(usize::MAX);
        let number = after.saturating_sub(1 + inner).max(1);
        let cells: Vec<String> = record.iter().map(cleaned).collect();
        if cells.iter().all(String::is_empty) {
            continue;
        }
        if records.len() > MOST_ROWS {
            return Err(format!("the table has more than {MOST_ROWS} rows; take it in parts"));
        }
        records.push((number, cells));
    }
}

fn cleaned(cell: &str) -> String {
    let text = Text::from(cell);
    active(text.as_str().trim()).trim().to_owned()
}

/// A tab if the heading has one, else whichever of `;` and `,` it has more of.
fn delimiter(text: &str) -> u8 {
    let heading = text.lines().find(|line| !line.trim().is_empty()).unwrap_or_default();
    let count = |c| heading.matches(c).count();
    match () {
        () if count('\t') > 0 => b'\t',
        () if count(';') > count(',') => b';',
        () => b',',
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn rows_are_counted_as_a_spreadsheet_does() {
        let numbers =
            |text: &str| -> Vec<usize> { rows(text).unwrap().iter().map(|row| row.number).collect() };
        assert_eq!(numbers("room,area\na,1\n\nb,2\n,,\nc,3"), [2, 4, 6]);
        assert_eq!(numbers("room;area\r\na;1\r\n\r\nb;2\r\n"), [2, 4]);
        assert_eq!(numbers("\u{feff}Room\tBox X\na\t1\nb\t2\n"), [2, 3]);
        let quoted = rows("room,box\n\"a\nb\",1\nc,2\n").unwrap();
        assert_eq!(quoted[0].cell(Col::Room), "a b");
        assert_eq!(quoted[0].number, 2);
    }
}
