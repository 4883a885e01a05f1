//! Tables as paged text, black on white: ASCII but for the names people gave, no colours, no escapes.
//!
//! A page has the heading block, the column headings of the table that goes on, rows that are never split, and one
//! line that defers to the local code. Pages are parted by a form feed, and each but the last is exactly as long as
//! the paper.

mod block;
mod page;

use super::closing::{Said, Signs};
use super::{Heading, cautions};
use crate::format::Text;
use crate::schedule::{Table, cards};
use crate::units::LengthUnit;
use block::Block;

/// The narrowest paper.
pub const LEAST_WIDTH: usize = 40;
/// The widest paper.
pub const MOST_WIDTH: usize = 400;
/// The shortest page, so that heading block, column headings and a few rows fit at the least width too.
pub const LEAST_LINES: usize = 30;

/// The size of a page of text.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Paper {
    /// Columns of text.
    width: usize,
    /// Lines of a page; nothing for one endless page.
    lines: Option<usize>,
    /// The number of its first page, and how many pages there are if others come before or after.
    first: usize,
    of: Option<usize>,
}

impl Default for Paper {
    fn default() -> Self {
        Self { width: 80, lines: Some(60), first: 1, of: None }
    }
}

impl Paper {
    /// Paper of so many columns and so many lines a page, 0 for one endless page. Sizes out of range are brought into
    /// it: 40 to 400 columns, 30 lines or more.
    pub fn new(width: usize, page_lines: usize) -> Self {
        Self {
            width: width.clamp(LEAST_WIDTH, MOST_WIDTH),
            lines: (page_lines > 0).then(|| page_lines.max(LEAST_LINES)),
            first: 1,
            of: None,
        }
    }

    /// The same for a part of a book: its pages are numbered from one on, of so many in all.
    #[must_use]
    pub(super) const fn numbered(self, first: usize, of: usize) -> Self {
        Self { first, of: Some(of), ..self }
    }

    /// Wide paper without end, for what no printer sees.
    pub(super) const fn of_document() -> Self {
        Self { width: 132, lines: None, first: 1, of: None }
    }

    /// Columns of text.
    pub const fn width(self) -> usize {
        self.width
    }

    /// Lines of a page, unless it is endless.
    pub const fn lines(self) -> Option<usize> {
        self.lines
    }
}

/// A picture on paper.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Drawing {
    /// What it shows.
    pub title: Text,
    /// Its lines, none wider than the paper it was drawn for.
    pub lines: Vec<String>,
    /// What its signs mean.
    pub notes: Vec<Text>,
    /// It stays on one page if that holds it.
    pub together: bool,
}

/// How many pages a printed sheet has.
pub(super) fn count(printed: &str) -> usize {
    printed.matches('\u{c}').count() + 1
}

/// Prints pictures as one sheet, each with its title and what its signs mean.
pub fn print_drawings(heading: &Heading, title: &Text, drawings: &[Drawing], paper: Paper) -> String {
    let mut blocks = Vec::new();
    for drawing in drawings {
        let title = drawing.title.within(paper.width()).into_owned();
        blocks.push(Block { lines: vec![title], apart: true, holds_next: true, ..Block::default() });
        for (nth, line) in drawing.lines.iter().enumerate() {
            let line = Text::from(line).within(paper.width()).into_owned();
            let holds_next = drawing.together && nth + 1 < drawing.lines.len();
            blocks.push(Block { lines: vec![line], holds_next, ..Block::default() });
        }
        let signs = drawing.notes.iter().map(|note| format!("  {}", note.within(paper.width() - 2)));
        let lines = std::iter::once("SIGNS".to_owned()).chain(signs).collect();
        blocks.push(Block { lines, apart: true, ..Block::default() });
    }
    closing(&[], &Said::of(Signs::Typed), paper, &mut blocks);
    page::set(heading, title, &[], &blocks, paper)
}

/// Prints tables as one sheet, under the title of the first and of each card that stands by itself.
pub fn print(heading: &Heading, tables: &[Table], paper: Paper) -> String {
    let parts: Vec<&[Table]> = cards(tables).collect();
    let ([] | [_]) = parts.as_slice() else {
        // Numbers of pages change no line, so they are counted before they are known.
        let counts: Vec<usize> = parts.iter().map(|part| count(&card(heading, part, paper))).collect();
        let of = paper.of.unwrap_or_else(|| counts.iter().sum());
        let mut first = paper.first;
        let printed = parts.iter().zip(counts).map(|(part, count)| {
            let pages = card(heading, part, paper.numbered(first, of));
            first += count;
            pages
        });
        return printed.collect::<Vec<_>>().join("\u{c}");
    };
    card(heading, tables, paper)
}

fn card(heading: &Heading, tables: &[Table], paper: Paper) -> String {
    let mut blocks = Vec::new();
    let mut heads = Vec::new();
    let mut said = Said::of(Signs::Typed);
    for (at, table) in tables.iter().enumerate() {
        let title = (at > 0).then_some(&table.title);
        let left_off = block::table(table, at, title, heading.unit, paper, &mut blocks, &mut heads);
        said.hear(table, left_off);
    }
    if blocks.iter().any(|block: &Block| block.cut) {
        said.cut();
    }
    closing(tables, &said, paper, &mut blocks);
    let title = tables.first().map(|table| table.title.clone()).unwrap_or_default();
    page::set(heading, &title, &heads, &blocks, paper)
}

/// The lines of tables alone, for where they are read on a screen: no pages, no heading, no cautions.
pub fn plain(tables: &[Table], unit: LengthUnit, width: usize) -> Vec<String> {
    let paper = Paper::new(width, 0);
    let mut lines = Vec::new();
    for table in tables {
        let (mut blocks, mut heads) = (Vec::new(), Vec::new());
        block::table(table, 0, Some(&table.title), unit, paper, &mut blocks, &mut heads);
        let mut head = heads.into_iter().next();
        for block in &blocks {
            let begins = block.table.and_then(|_| head.take());
            if (block.apart || begins.is_some()) && !lines.is_empty() {
                lines.push(String::new());
            }
            lines.extend(begins.into_iter().flatten());
            lines.extend(block.lines.iter().cloned());
        }
    }
    lines
}

/// Notes and cautions, at the end of the sheet.
fn closing(tables: &[Table], said: &Said, paper: Paper, blocks: &mut Vec<Block>) {
    block::paragraphs("NOTES", &said.notes(tables), false, paper, blocks);
    block::paragraphs("CAUTIONS", &cautions::of(tables), true, paper, blocks);
}
