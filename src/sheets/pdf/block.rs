//! What is never split over two pages: a row, a paragraph, a heading with what follows it.

use super::columns::{Columns, Setting, face};
use super::face::{Face, LINE, MISSING};
use super::ink::{Fill, Ink, lines};
use super::sketch::gauge;
use crate::format::{self, Text};
use crate::schedule::{Align, Cell, Column, Row, Table};
use crate::units::LengthUnit;

/// A cell of more lines than this is cut, so that a page always holds several rows.
const MOST_LINES: usize = 16;
/// Above and beneath the words of a row, in parts of the size of its letters.
const PAD: f32 = 0.28;
/// Above a row that belongs to the one before.
const CLOSE: f32 = 0.08;
/// The lines between rows, under headings and over sums.
const HAIR: f32 = 0.4;
const RULE: f32 = 1.0;
/// Between paragraphs of notes and cautions, and in front of them.
const BETWEEN: f32 = 2.5;
const INDENT: f32 = 10.0;
/// The size of notes and cautions.
pub(super) const SMALL: f32 = 9.0;
/// Free space before what stands apart.
pub(super) const APART: f32 = 9.0;

/// What stays together.
#[derive(Debug, Clone, Default)]
pub(super) struct Block {
    /// What it is, from its own left top corner.
    pub(super) ink: Vec<Ink>,
    /// How high it is.
    pub(super) height: f32,
    /// The table whose column headings stand above it.
    pub(super) table: Option<usize>,
    /// The heading of its section, said again when the section goes on over a page.
    pub(super) section: Option<String>,
    /// Whether free space parts it from what is before it on the page.
    pub(super) apart: bool,
    /// Whether the next block must begin on the same page.
    pub(super) holds_next: bool,
    /// Whether something of it was cut.
    pub(super) cut: bool,
}

impl Block {
    /// Words over the width of the page.
    pub(super) fn words(text: &Text, size: f32, face: Face, width: f32) -> Self {
        let (all, cut) = shortened(face.wrapped(text, size, width), size, face, width);
        let (ink, height) = lines(&all, 0.0, 0.0, size, face);
        Self { ink, height, cut, ..Self::default() }
    }

    /// Whether it shows a character that the fonts do not have.
    pub(super) fn misses(&self) -> bool {
        self.ink.iter().any(|ink| matches!(ink, Ink::Words { text, .. } if text.contains(MISSING)))
    }
}

/// A table being laid out.
pub(super) struct Laying<'a> {
    pub(super) table: &'a Table,
    pub(super) columns: &'a Columns,
    pub(super) setting: Setting,
    pub(super) unit: LengthUnit,
    /// Its position on the sheet.
    pub(super) at: usize,
    /// How wide the page is.
    pub(super) room: f32,
}

impl Laying<'_> {
    /// The title and the lead, if it has a title of its own on the sheet.
    pub(super) fn opening(&self, title: Option<&Text>, blocks: &mut Vec<Block>) {
        let size = self.setting.size;
        if let Some(title) = title {
            let block = Block::words(title, size + 2.0, Face::Bold, self.room);
            blocks.push(Block { apart: true, holds_next: true, ..block });
        }
        for (nth, line) in self.table.lead.iter().enumerate() {
            let block = Block::words(line, size, Face::Regular, self.room);
            let last = nth + 1 == self.table.lead.len();
            blocks.push(Block { apart: nth == 0, holds_next: last, ..block });
        }
    }

    /// The rows with their sections and sums.
    pub(super) fn body(&self, blocks: &mut Vec<Block>) {
        for section in &self.table.sections {
            let named = section.heading.as_ref().map(|heading| self.name_of(heading));
            if let Some(heading) = &section.heading {
                let mut block = Block::words(heading, self.setting.size + 0.5, Face::Bold, self.room);
                block.height += PAD * self.setting.size;
                let holds_next = !section.rows.is_empty();
                blocks.push(Block { table: Some(self.at), apart: true, holds_next, ..block });
            }
            let count = section.rows.len();
            for (nth, row) in section.rows.iter().enumerate() {
                let more = section.rows.get(nth + 1).is_some_and(|next| next.beneath);
                let holds_next = more || (section.total.is_some() && nth + 1 == count);
                let block = self.row(row, Face::Regular, more);
                blocks.push(Block { section: named.clone(), holds_next, ..block });
            }
            if let Some(total) = &section.total {
                blocks.push(Block { section: named.clone(), ..self.sum(total) });
            }
        }
        if self.table.all_rows().next().is_none() {
            let block =
                Block::words(&"(nothing to list)".into(), self.setting.size, Face::Regular, self.room);
            blocks.push(Block { table: Some(self.at), ..block });
        }
        if let (false, Some(last)) = (self.table.totals.is_empty(), blocks.last_mut()) {
            // Sums alone on a page say little.
            last.holds_next = true;
        }
        for (nth, total) in self.table.totals.iter().enumerate() {
            let block = if nth == 0 { self.sum(total) } else { self.row(total, Face::Bold, false) };
            blocks.push(Block { holds_next: nth + 1 < self.table.totals.len(), ..block });
        }
    }

    /// The heading of a section where it goes on over a page.
    fn name_of(&self, heading: &Text) -> String {
        let size = self.setting.size + 0.5;
        let room = self.room - Face::Bold.width(", continued", size);
        Face::Bold.within(&Face::Bold.shown(heading.as_str()), size, room)
    }

    /// The column headings with the rule beneath.
    pub(super) fn head(&self) -> Block {
        let size = self.setting.size;
        let headings = self.columns.places.iter().map(|place| {
            let column = &self.table.columns[place.column];
            let lines: Vec<String> = column
                .heading_lines()
                .iter()
                .take(2)
                .map(|line| Face::Bold.within(&Face::Bold.shown(line), size, place.width))
                .collect();
            (place, column.align, lines)
        });
        let headings: Vec<_> = headings.collect();
        let tall = headings.iter().map(|(.., lines)| lines.len()).max().unwrap_or(0);
        let mut ink = Vec::new();
        for (place, align, lines) in &headings {
            // Headings stand on the rule, whatever their height.
            for (nth, line) in lines.iter().enumerate() {
                let y = step(nth + tall - lines.len(), size);
                ink.extend(placed(line, place.x, place.width, *align, y, size, Face::Bold));
            }
        }
        let height = step(tall, size) + PAD * size;
        ink.push(Ink::rule(0.0, height, self.columns.width(), RULE));
        Block { ink, height: height + RULE, ..Block::default() }
    }

    fn sum(&self, row: &Row) -> Block {
        let mut block = self.row(row, Face::Bold, false);
        block.ink.insert(0, Ink::rule(0.0, 0.0, self.columns.width(), RULE));
        block
    }

    /// A row; nothing parts it from the next where that belongs to it.
    fn row(&self, row: &Row, usual: Face, joined: bool) -> Block {
        let size = self.setting.size;
        let top = if row.beneath { CLOSE } else { PAD } * size;
        let (mut ink, mut tall, mut cut) = (Vec::new(), 1, false);
        for place in &self.columns.places {
            let (column, cell) = (&self.table.columns[place.column], row.cell(place.column));
            let face = if usual == Face::Bold { usual } else { face(cell) };
            match cell {
                Cell::Tick => {
                    let square = size * 0.9;
                    let at = (place.x, top + (LINE * size - square) / 2.0);
                    ink.push(Ink::Area { at, size: (square, square), fill: Fill::Outline(0.8) });
                }
                Cell::Bar { percent, target, .. } => {
                    ink.extend(gauge(
                        (place.x, top),
                        place.width,
                        size,
                        (*percent, *target),
                        &cell.words(self.unit, false),
                    ));
                }
                cell => {
                    let (lines, short) = self.lines(cell, column, face, place.width);
                    cut |= short;
                    tall = tall.max(lines.len());
                    for (nth, line) in lines.iter().enumerate() {
                        let y = top + step(nth, size);
                        ink.extend(placed(line, place.x, place.width, column.align, y, size, face));
                    }
                }
            }
        }
        let height = step(tall, size) + top + if joined { 0.0 } else { PAD * size };
        if !joined {
            ink.push(Ink::rule(0.0, height, self.columns.width(), HAIR));
        }
        Block { ink, height, cut, table: Some(self.at), ..Block::default() }
    }

    fn lines(&self, cell: &Cell, column: &Column, face: Face, width: f32) -> (Vec<String>, bool) {
        let (size, text) = (self.setting.size, cell.words(self.unit, column.unit.is_some()));
        if cell.flows() {
            shortened(face.wrapped(&Text::from(text), size, width), size, face, width)
        } else {
            let line = face.within(&face.shown(&text), size, width);
            let cut = line != text;
            (vec![line], cut)
        }
    }
}

/// So many lines of that size.
#[expect(clippy::cast_precision_loss, reason = "lines of a cell are few")]
fn step(lines: usize, size: f32) -> f32 {
    lines as f32 * LINE * size
}

fn placed(line: &str, x: f32, width: f32, align: Align, y: f32, size: f32, face: Face) -> Option<Ink> {
    let inset = match align {
        Align::Left => 0.0,
        Align::Right => (width - face.width(line, size)).max(0.0),
    };
    (!line.is_empty()).then(|| Ink::words(x + inset, y, line, size, face))
}

fn shortened(mut lines: Vec<String>, size: f32, face: Face, width: f32) -> (Vec<String>, bool) {
    let cut = lines.len() > MOST_LINES;
    if cut {
        lines.truncate(MOST_LINES);
        if let Some(last) = lines.last_mut() {
            // Wider than fits, so that the cut shows however short the line is.
            let sign = format!(" {}", format::CUT);
            let shown = face.within(last, size, width - face.width(&sign, size));
            *last = if shown == *last { format!("{shown}{sign}") } else { shown };
        }
    }
    (lines, cut)
}

/// A titled list of paragraphs, kept on one page if they are to be read together.
pub(super) fn paragraphs(title: &str, texts: &[Text], together: bool, width: f32, blocks: &mut Vec<Block>) {
    if texts.is_empty() {
        return;
    }
    let block = Block::words(&title.into(), SMALL, Face::Bold, width);
    blocks.push(Block { apart: true, holds_next: true, ..block });
    for (nth, text) in texts.iter().enumerate() {
        let mut block = Block::words(text, SMALL, Face::Regular, width - INDENT);
        block.ink = block.ink.into_iter().map(|ink| ink.moved(INDENT, BETWEEN)).collect();
        block.ink.insert(0, Ink::words(0.0, BETWEEN, "\u{2022}", SMALL, Face::Regular));
        block.height += BETWEEN;
        blocks.push(Block { holds_next: together && nth + 1 < texts.len(), ..block });
    }
}
