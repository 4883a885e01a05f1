//! What is never split over two pages: a row, a paragraph, a heading with what follows it.

use super::Paper;
use crate::format::Text;
use crate::schedule::{Align, Cell, Column, Layout, Row, Table};
use crate::units::LengthUnit;

/// A row of more lines than this is cut, so that a page always holds several.
const MOST_LINES: usize = 8;

/// Lines that stay together.
#[derive(Debug, Clone, Default)]
pub(super) struct Block {
    /// The lines.
    pub(super) lines: Vec<String>,
    /// The table whose column headings stand above it.
    pub(super) table: Option<usize>,
    /// The heading of its section, said again when the section goes on over a page.
    pub(super) section: Option<String>,
    /// Whether an empty line parts it from what is before it on the page.
    pub(super) apart: bool,
    /// Whether the next block must begin on the same page.
    pub(super) holds_next: bool,
    /// Whether a cell of it was cut.
    pub(super) cut: bool,
}

/// The column headings of a table with the rule beneath.
pub(super) type Head = Vec<String>;

/// Lays out a table and gives the names of the columns that found no room.
pub(super) fn table(
    table: &Table,
    at: usize,
    title: Option<&Text>,
    unit: LengthUnit,
    paper: Paper,
    blocks: &mut Vec<Block>,
    heads: &mut Vec<Head>,
) -> Vec<String> {
    let layout = Layout::of(table, unit, paper.width());
    let plain = |lines| Block { lines, apart: true, holds_next: true, ..Block::default() };
    if let Some(title) = title {
        let mut lines = title.wrapped(paper.width());
        lines.truncate(2);
        blocks.push(plain(lines));
    }
    for (nth, line) in table.lead.iter().enumerate() {
        // A long lead may run over pages, its paragraphs may not.
        let mut block = Block { apart: nth == 0, ..plain(line.wrapped(paper.width())) };
        shorten(&mut block, paper.width());
        block.holds_next = nth + 1 == table.lead.len();
        blocks.push(block);
    }
    heads.push(head(table, &layout, paper.width()));
    let rule = "-".repeat(layout.width());
    let row = |row: &Row| Block { table: Some(at), ..self::row(row, &table.columns, &layout, unit) };
    for section in &table.sections {
        // Said in full where the section begins, on one line where it goes on.
        let named = section.heading.as_ref().map(|text| text.within(paper.width() - 15).into_owned());
        if let Some(heading) = &section.heading {
            let lines = heading.wrapped(paper.width() - 3).into_iter().enumerate();
            let lines = lines.map(|(nth, line)| format!("{}{line}", if nth == 0 { "== " } else { "   " }));
            let holds_next = !section.rows.is_empty();
            let mut block = Block { table: Some(at), holds_next, ..plain(lines.collect()) };
            shorten(&mut block, paper.width());
            blocks.push(block);
        }
        let count = section.rows.len();
        for (nth, each) in section.rows.iter().enumerate() {
            let more_beneath = section.rows.get(nth + 1).is_some_and(|next| next.beneath);
            let holds_next = more_beneath || (section.total.is_some() && nth + 1 == count);
            blocks.push(Block { section: named.clone(), holds_next, ..row(each) });
        }
        if let Some(total) = &section.total {
            let mut block = Block { section: named.clone(), ..row(total) };
            block.lines.insert(0, rule.clone());
            blocks.push(block);
        }
    }
    if table.all_rows().next().is_none() {
        blocks.push(Block { lines: vec!["(nothing to list)".into()], table: Some(at), ..Block::default() });
    }
    if let (false, Some(last)) = (table.totals.is_empty(), blocks.last_mut()) {
        // Sums alone on a page say little.
        last.holds_next = true;
    }
    for (nth, total) in table.totals.iter().enumerate() {
        let mut block = row(total);
        if nth == 0 {
            block.lines.insert(0, "=".repeat(layout.width()));
        }
        block.holds_next = nth + 1 < table.totals.len();
        blocks.push(block);
    }
    layout.left_off.iter().map(|&column| table.columns[column].name()).collect()
}

/// A titled list of paragraphs, kept on one page if they are to be read together.
pub(super) fn paragraphs(title: &str, texts: &[Text], together: bool, paper: Paper, blocks: &mut Vec<Block>) {
    if texts.is_empty() {
        return;
    }
    blocks.push(Block { lines: vec![title.into()], apart: true, holds_next: true, ..Block::default() });
    for (nth, text) in texts.iter().enumerate() {
        let lines = text.wrapped(paper.width() - 2).into_iter().enumerate();
        let lines =
            lines.map(|(nth, line)| format!("{}{line}", if nth == 0 { "- " } else { "  " })).collect();
        let mut block = Block { lines, holds_next: together && nth + 1 < texts.len(), ..Block::default() };
        shorten(&mut block, paper.width());
        blocks.push(block);
    }
}

fn head(table: &Table, layout: &Layout, width: usize) -> Head {
    let columns = layout.placed.iter().map(|placed| {
        let column = &table.columns[placed.column];
        let lines = column.heading_lines().into_iter().take(2);
        (
            lines.map(|line| Text::from(line).within(placed.width).into_owned()).collect::<Vec<_>>(),
            column.align,
        )
    });
    let columns: Vec<_> = columns.collect();
    let tall = columns.iter().map(|(lines, _)| lines.len()).max().unwrap_or(0);
    let mut lines: Head = (0..tall)
        .map(|nth| {
            let cells = columns.iter().map(|(lines, align)| {
                // Headings stand on the rule, whatever their height.
                let line = (nth + lines.len()).checked_sub(tall).and_then(|at| lines.get(at));
                (line.map_or("", String::as_str), *align)
            });
            line(cells, layout)
        })
        .collect();
    lines.push("-".repeat(layout.width().min(width)));
    lines
}

fn row(row: &Row, columns: &[Column], layout: &Layout, unit: LengthUnit) -> Block {
    let mut cut = false;
    let cells: Vec<(Vec<String>, Align)> = layout
        .placed
        .iter()
        .map(|placed| {
            let (column, cell) = (&columns[placed.column], row.cell(placed.column));
            let lines = cell.lines(unit, placed.width, column.unit.is_some());
            let lines = if lines.len() > MOST_LINES {
                cut = true;
                cut_short(lines, placed.width)
            } else {
                lines
            };
            // A word in a column of figures, such as a sum's name, stands like the figures.
            (lines, if matches!(cell, Cell::Bar { .. }) { Align::Left } else { column.align })
        })
        .collect();
    let tall = cells.iter().map(|(lines, _)| lines.len()).max().unwrap_or(1);
    let lines = (0..tall)
        .map(|nth| {
            line(
                cells.iter().map(|(lines, align)| (lines.get(nth).map_or("", String::as_str), *align)),
                layout,
            )
        })
        .collect();
    Block { lines, cut, ..Block::default() }
}

fn shorten(block: &mut Block, width: usize) {
    if block.lines.len() > MOST_LINES {
        block.lines = cut_short(std::mem::take(&mut block.lines), width);
        block.cut = true;
    }
}

fn cut_short(mut lines: Vec<String>, width: usize) -> Vec<String> {
    lines.truncate(MOST_LINES);
    if let Some(last) = lines.last_mut() {
        // Two more columns than fit, so that the cut shows however short the line is.
        let shown = Text::from(format!("{last} ~"));
        *last = if shown.width() <= width { shown.to_string() } else { shown.within(width).into_owned() };
    }
    lines
}

/// Puts pieces into their columns, without blanks at the end.
fn line<'a>(cells: impl Iterator<Item = (&'a str, Align)>, layout: &Layout) -> String {
    let mut line = String::new();
    let mut used = 0;
    for ((text, align), placed) in cells.zip(&layout.placed) {
        let width = Text::from(text).width();
        let inset = if align == Align::Right { placed.width.saturating_sub(width) } else { 0 };
        let start = placed.x + inset;
        line.extend(std::iter::repeat_n(' ', start.saturating_sub(used)));
        line.push_str(text);
        used = start + width;
    }
    line.truncate(line.trim_end().len());
    line
}
