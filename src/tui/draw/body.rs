//! The lines of a view.

use super::super::app::App;
use super::super::listing::{Line, Listing};
use super::{BOLD, put};
use crate::design::Design;
use crate::format::Text;
use crate::schedule::{Align, Cell, Layout, Row, Weight, outline};
use ratatui::buffer::Buffer;
use ratatui::layout::{Position, Rect};
use ratatui::style::{Modifier, Style};

/// Columns left of the lines, for the mark of the cursor.
pub(super) const MARK: u16 = 2;

/// Draws headings and lines, and gives the place of the cursor's mark.
pub(super) fn draw(app: &mut App, area: Rect, buffer: &mut Buffer) -> Option<Position> {
    let (listing, scroll) = app.current();
    let (listing, scroll) = (listing?, scroll.clone());
    let layout = Layout::fit(&listing.columns, &listing.widths, usize::from(area.width.saturating_sub(MARK)));
    let headed = headings(listing, &layout, area, buffer);
    let lines = Rect { y: area.y + headed, height: area.height.saturating_sub(headed), ..area };
    let height = usize::from(lines.height);
    let top = top_for(scroll.top, scroll.cursor, listing.lines.len(), height);
    for (at, y) in (top..listing.lines.len()).zip(lines.y..lines.bottom()) {
        line(&app.design, listing, &layout, at, Rect { y, height: 1, ..lines }, buffer);
        // A mark, or a sign that the thing is not as the file has it.
        if let Some(subject) = listing.subject(&app.design, at) {
            let sign = match (app.marks.contains(&subject), app.history.differs(&subject)) {
                (true, _) => "#",
                (false, true) => "*",
                (false, false) => continue,
            };
            put(buffer, lines, y, 1, sign, BOLD);
        }
    }
    let cursor = (listing.lines.len() > scroll.cursor && height > 0)
        .then(|| Position::new(area.x, lines.y + u16::try_from(scroll.cursor - top).unwrap_or(0)));
    if listing.lines.is_empty() {
        put(buffer, lines, lines.y, MARK, "nothing here", Style::new());
    }
    if let Some(at) = cursor {
        buffer.set_string(at.x, at.y, ">", BOLD);
    }
    app.page = height.saturating_sub(1).max(1);
    app.scroll().top = top;
    cursor
}

/// The first line to show so that the cursor is on the screen, moving as little as can be.
fn top_for(top: usize, cursor: usize, count: usize, height: usize) -> usize {
    // A heading just above the first line belongs to it.
    let above = if cursor == 1 { 0 } else { cursor };
    let top = top.min(count.saturating_sub(height)).min(above);
    if height > 0 && cursor >= top + height { cursor + 1 - height } else { top }
}

pub(super) fn headings(listing: &Listing, layout: &Layout, area: Rect, buffer: &mut Buffer) -> u16 {
    let words: Vec<Vec<String>> =
        layout.placed.iter().map(|placed| listing.columns[placed.column].heading_lines()).collect();
    let deep = words.iter().map(Vec::len).max().unwrap_or(0);
    let mut words = words;
    for (placed, words) in layout.placed.iter().zip(&mut words) {
        // The column that lines are sorted by says so, and which way.
        if let (Some(order), Some(last)) =
            (listing.order.filter(|o| o.column == placed.column), words.last_mut())
        {
            let sign = if order.backwards { "v" } else { "^" };
            let word = Text::from(last.as_str());
            *last = format!("{} {sign}", word.within(placed.width.saturating_sub(2)));
        }
    }
    for (placed, words) in layout.placed.iter().zip(&words) {
        for (word, y) in words.iter().rev().zip((area.y..area.y + as_u16(deep)).rev()) {
            let width = placed.width;
            let text = match listing.columns[placed.column].align {
                Align::Left => word.clone(),
                Align::Right => format!("{word:>width$}"),
            };
            let cell = Rect { width: (as_u16(width) + MARK + as_u16(placed.x)).min(area.width), ..area };
            put(
                buffer,
                cell,
                y,
                MARK + as_u16(placed.x),
                &text,
                Style::new().add_modifier(Modifier::UNDERLINED),
            );
        }
    }
    as_u16(deep)
}

pub(super) fn line(
    design: &Design,
    listing: &Listing,
    layout: &Layout,
    at: usize,
    area: Rect,
    buffer: &mut Buffer,
) {
    match &listing.lines[at] {
        Line::Heading(text) => put(buffer, area, area.y, 0, text.as_str(), BOLD),
        Line::Entry(entry, folded) => {
            row(design, listing, layout, &outline::row(design, *entry, *folded), area, buffer);
        }
        Line::Row(cells) => row(design, listing, layout, cells, area, buffer),
    }
}

fn row(design: &Design, listing: &Listing, layout: &Layout, row: &Row, area: Rect, buffer: &mut Buffer) {
    for placed in &layout.placed {
        let column = &listing.columns[placed.column];
        let cell = row.cell(placed.column);
        let shown = cell.fitted(design.job.project.units, placed.width, column.unit.is_some());
        let width = placed.width;
        let text = match column.align {
            Align::Right if !matches!(cell, Cell::Text(_)) => format!("{shown:>width$}"),
            _ => shown,
        };
        let style = match cell.weight() {
            Weight::Plain => Style::new(),
            Weight::Caution => BOLD,
            Weight::Bad => BOLD.add_modifier(Modifier::REVERSED),
        };
        put(buffer, area, area.y, MARK + as_u16(placed.x), &text, style);
    }
}

pub(super) fn as_u16(value: usize) -> u16 {
    u16::try_from(value).unwrap_or(u16::MAX)
}
