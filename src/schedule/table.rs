//! Tables: what the columns are, the rows in their sections, and what must be said with them.

use super::Cell;
use crate::format::{Quantity, Text};
use crate::job::Subject;
use crate::tally;

/// On which side of its column a cell stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default)]
pub enum Align {
    /// Words.
    #[default]
    Left,
    /// Figures.
    Right,
}

/// One column of a table.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Column {
    /// A stable id, the heading in CSV; it ends in the unit where it has one: `length_ft`, `drop_percent`.
    pub key: &'static str,
    /// The heading for people, in one line or in two parted by `\n`.
    pub heading: &'static str,
    /// Where cells and heading stand.
    pub align: Align,
    /// The unit that the heading carries so that the cells need not.
    pub unit: Option<Quantity>,
    /// The fewest columns of text it can do with; figures are never cut below what they need.
    pub least: usize,
    /// The most columns of text it takes.
    pub most: usize,
    /// Which column is left off first in a narrow place: the highest; one of 0 stays.
    pub yields: u8,
    /// Whether it takes room that no column needs.
    pub grows: bool,
}

impl Column {
    const fn new(key: &'static str, heading: &'static str, align: Align) -> Self {
        Self { key, heading, align, unit: None, least: 6, most: 40, yields: 0, grows: false }
    }

    /// A column of words.
    pub const fn text(key: &'static str, heading: &'static str) -> Self {
        Self::new(key, heading, Align::Left)
    }

    /// A column of figures, lengths, counts or money.
    pub const fn figure(key: &'static str, heading: &'static str) -> Self {
        Self::new(key, heading, Align::Right)
    }

    /// A column of load bars; it takes the room that is left.
    pub const fn bar(key: &'static str, heading: &'static str) -> Self {
        Self { grows: true, most: 50, ..Self::new(key, heading, Align::Left) }
    }

    /// Puts the unit into the heading and takes it out of the cells.
    #[must_use]
    pub const fn bare(self, unit: Quantity) -> Self {
        Self { unit: Some(unit), ..self }
    }

    /// Sets the fewest and the most columns of text it takes.
    #[must_use]
    pub const fn width(self, least: usize, most: usize) -> Self {
        Self { least, most, ..self }
    }

    /// Lets it be left off in a narrow place, the highest number first.
    #[must_use]
    pub const fn yields(self, order: u8) -> Self {
        Self { yields: order, ..self }
    }

    /// Lets it take room that no column needs.
    #[must_use]
    pub const fn grow(self) -> Self {
        Self { grows: true, ..self }
    }

    /// What it is called in a sentence.
    pub fn name(&self) -> String {
        if self.heading.is_empty() { self.key.replace('_', " ") } else { self.heading.replace('\n', " ") }
    }

    /// The heading's lines, with the unit if it carries one.
    pub fn heading_lines(&self) -> Vec<String> {
        let mut lines: Vec<String> =
            self.heading.split('\n').map(|line| Text::from(line).to_string()).collect();
        match (self.unit, lines.as_mut_slice()) {
            (Some(unit), [_]) => lines.push(unit.symbol().into()),
            (Some(unit), [.., last]) => {
                last.push(' ');
                last.push_str(unit.symbol());
            }
            _ => {}
        }
        lines
    }
}

/// The tables of a sheet, those together that stand under one title: a card that hangs somewhere by itself is its own.
pub fn cards(tables: &[Table]) -> impl Iterator<Item = &[Table]> {
    tables.chunk_by(|_, next| !next.new_page)
}

/// One row: a cell for each column, blank where it has fewer.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Row {
    /// The cells, in the order of the columns.
    pub cells: Vec<Cell>,
    /// What the row is about, so that a view can go there.
    pub subject: Option<Subject>,
    /// Whether it belongs to the row above it and stays on its page, as the legs of a loop do.
    pub beneath: bool,
}

impl Row {
    /// A row of these cells.
    pub fn new(cells: Vec<Cell>) -> Self {
        tally::count(tally::Work::Rows);
        Self { cells, subject: None, beneath: false }
    }

    /// Says what the row is about.
    #[must_use]
    pub fn about(self, subject: Subject) -> Self {
        Self { subject: Some(subject), ..self }
    }

    /// Keeps it with the row above.
    #[must_use]
    pub fn beneath(self) -> Self {
        Self { beneath: true, ..self }
    }

    /// The cell of a column.
    pub fn cell(&self, column: usize) -> &Cell {
        self.cells.get(column).unwrap_or(&Cell::Blank)
    }

    /// The row's greatest weight, for a view that marks whole rows.
    pub fn weight(&self) -> super::Weight {
        self.cells.iter().map(Cell::weight).max().unwrap_or_default()
    }
}

/// Rows that belong together.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Section {
    /// What they have in common, for people.
    pub heading: Option<Text>,
    /// The same in a word that stays stable, for CSV; without it the heading stands there.
    pub key: Option<Text>,
    /// The rows.
    pub rows: Vec<Row>,
    /// Their sum, if the column makes sense summed.
    pub total: Option<Row>,
}

impl Section {
    /// Rows under a heading.
    pub fn headed(heading: impl Into<Text>, rows: Vec<Row>) -> Self {
        Self { heading: Some(heading.into()), rows, ..Self::default() }
    }

    /// Says what CSV calls the section.
    #[must_use]
    pub fn keyed(self, key: impl Into<Text>) -> Self {
        Self { key: Some(key.into()), ..self }
    }

    /// Adds the sum beneath.
    #[must_use]
    pub fn with_total(self, total: Row) -> Self {
        Self { total: Some(total), ..self }
    }
}

/// A table, ready for screen, paper or spreadsheet.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Table {
    /// A stable name, as `studbay sheet` and `--part` take it.
    pub name: &'static str,
    /// The title for people; the first table's is its sheet's.
    pub title: Text,
    /// Lines above the table.
    pub lead: Vec<Text>,
    /// The columns, the most telling first.
    pub columns: Vec<Column>,
    /// The rows.
    pub sections: Vec<Section>,
    /// Sums over all sections, at the end; not in CSV, where they would be taken for rows.
    pub totals: Vec<Row>,
    /// What a person must know before working from it, beside the cautions that every sheet carries.
    pub cautions: Vec<Text>,
    /// What explains its figures and signs.
    pub notes: Vec<Text>,
    /// Whether its sheet is to fit on one page, in smaller letters if need be, where letters have sizes; of several
    /// tables the first says so.
    pub one_page: bool,
    /// It begins on a page of its own and under its own title, as a card that hangs somewhere by itself does.
    pub new_page: bool,
}

impl Table {
    /// An empty table with these columns.
    pub fn new(name: &'static str, title: impl Into<Text>, columns: Vec<Column>) -> Self {
        Self { name, title: title.into(), columns, ..Self::default() }
    }

    /// Says that its sheet is to fit on one page where that can be.
    #[must_use]
    pub fn on_one_page(self) -> Self {
        Self { one_page: true, ..self }
    }

    /// Adds rows of no section.
    #[must_use]
    pub fn with_rows(mut self, rows: Vec<Row>) -> Self {
        self.sections.push(Section { rows, ..Section::default() });
        self
    }

    /// Adds a section.
    #[must_use]
    pub fn with_section(mut self, section: Section) -> Self {
        self.sections.push(section);
        self
    }

    /// The rows that are about something, without sums.
    pub fn rows(&self) -> impl Iterator<Item = &Row> {
        self.sections.iter().flat_map(|section| &section.rows)
    }

    /// Every row with the sums.
    pub fn all_rows(&self) -> impl Iterator<Item = &Row> {
        self.sections.iter().flat_map(|section| section.rows.iter().chain(&section.total)).chain(&self.totals)
    }
}
