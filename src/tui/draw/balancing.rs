//! The balance on the screen: what is gained, how far the search is, the curve, outputs side by side, what moves.
//!
//! ```text
//! Balance: highest output 91.3 % today, 66.1 % then; supplies 5, the fewest there can be
//! [##########..........] 50 %  better ones may come; Esc: enough, keep this
//! landed wires moved      0      1      2    [3]*     7     18
//! highest output       91.3   80.2   71.0   67.3   66.5   66.1 %
//! none can be below    91.3   75.0   70.2   66.1   66.1   66.1 %
//! output  today  today  then  then, % of limit        out and in
//! ```

use super::super::app::{App, Desk, Searching};
use super::body::{self, MARK};
use super::{BOLD, put};
use crate::format::{Quantity, Text};
use crate::schedule::{Layout, proposal};
use ratatui::buffer::Buffer;
use ratatui::layout::{Position, Rect};
use ratatui::style::Style;
use std::fmt::Write;

/// Columns of the words before the curve, and of each of its points.
const WORDS: usize = 19;
const POINT: usize = 8;
/// Lines of what a question came to.
const MOST_ANSWER: usize = 4;
/// Columns of the bar of progress; each stands for 5 %.
const BAR: usize = 20;

/// Draws the desk, and gives the place of the cursor.
pub(super) fn draw(app: &mut App, area: Rect, buffer: &mut Buffer) -> Option<Position> {
    let desk = app.desk.as_ref()?;
    let mut y = area.y;
    let mut line = |buffer: &mut Buffer, text: &str, style: Style| {
        if y < area.bottom() {
            put(buffer, area, y, 0, text, style);
            y += 1;
        }
    };
    for part in Text::from(desk.title(&app.design)).wrapped(usize::from(area.width)) {
        line(buffer, &part, BOLD);
    }
    // What a question came to stands before the figures, but must leave room for them.
    let answer =
        desk.answer.iter().flat_map(|text| Text::from(text.as_str()).wrapped(usize::from(area.width)));
    for part in answer.take(MOST_ANSWER) {
        line(buffer, &part, Style::new());
    }
    line(buffer, &state(desk), Style::new());
    let moves = desk.proposal.as_ref().filter(|own| own.feasible).and_then(proposal::moves_line);
    for part in moves.iter().flat_map(|text| Text::from(text.as_str()).wrapped(usize::from(area.width))) {
        line(buffer, &part, Style::new());
    }
    for row in curve(desk, usize::from(area.width)) {
        line(buffer, &row, Style::new());
    }
    let lines = Rect { y, height: area.bottom().saturating_sub(y), ..area };
    list(app, lines, buffer);
    Some(Position::new(area.x, area.y))
}

/// How far the search is, or what is proved.
fn state(desk: &Desk) -> String {
    match desk.searching {
        Searching::At(percent) => {
            let filled = usize::from(percent) * BAR / 100;
            format!(
                "[{}{}] {percent:2} %  better ones may come; Esc: enough, keep this",
                "#".repeat(filled),
                ".".repeat(BAR.saturating_sub(filled))
            )
        }
        Searching::Ending => "ending the search; the best so far is kept".into(),
        Searching::Over => {
            desk.proposal.as_ref().filter(|own| own.feasible).map(proposal::proof_line).unwrap_or_default()
        }
    }
}

/// The curve as far as it finds room, the chosen point in brackets, the usual one with a star.
fn curve(desk: &Desk, width: usize) -> Vec<String> {
    if desk.curve.len() < 2 {
        return Vec::new();
    }
    let room = (width.saturating_sub(WORDS + 2) / POINT).max(1);
    let point = desk.point();
    let first = point.saturating_sub(room / 2).min(desk.curve.len().saturating_sub(room));
    let shown = desk.curve.iter().enumerate().skip(first).take(room);
    let mut rows = [
        format!("{:WORDS$}", "landed wires moved"),
        format!("{:WORDS$}", "highest output, %"),
        format!("{:WORDS$}", "none can be below"),
    ];
    for (at, one) in shown {
        let star = if at == desk.usual { "*" } else { " " };
        let moves =
            if at == point { format!("[{}]{star}", one.moves) } else { format!("{} {star}", one.moves) };
        let _ = write!(rows[0], "{moves:>POINT$}");
        for (row, figure) in rows[1..].iter_mut().zip([one.max_percent, one.bound_percent]) {
            let figure = Quantity::Percent.bare(Some(figure));
            let _ = write!(row, "{:>POINT$}", figure + "  ");
        }
    }
    if first > 0 {
        rows[0].replace_range(WORDS - 1..WORDS, "<");
    }
    if first + room < desk.curve.len() {
        rows[0].push('>');
    }
    rows.to_vec()
}

/// Outputs side by side, then what else there is to say; both scroll as one.
fn list(app: &mut App, area: Rect, buffer: &mut Buffer) {
    let width = usize::from(area.width);
    let Some(desk) = &app.desk else { return };
    let (mut lines, mut outputs, mut layout) = (area, 0, Layout::default());
    if let Some(listing) = &desk.listing {
        layout = Layout::fit(&listing.columns, &listing.widths, width.saturating_sub(MARK.into()));
        let headed = body::headings(listing, &layout, area, buffer).min(area.height);
        lines = Rect { y: area.y + headed, height: area.height - headed, ..area };
        outputs = listing.lines.len();
    }
    let notes: Vec<String> = desk
        .notes
        .iter()
        .flat_map(|note| {
            let wrapped = Text::from(note.as_str()).wrapped(width.saturating_sub(2).max(1));
            let indent = |(at, part)| if at == 0 { part } else { format!("  {part}") };
            wrapped.into_iter().enumerate().map(indent).collect::<Vec<_>>()
        })
        .collect();
    let height = usize::from(lines.height);
    let count = outputs + notes.len();
    let top = desk.top.min(count.saturating_sub(height));
    for (at, y) in (top..count).zip(lines.y..lines.bottom()) {
        let row = Rect { y, height: 1, ..lines };
        match (&desk.listing, at.checked_sub(outputs)) {
            (Some(listing), None) => body::line(&app.design, listing, &layout, at, row, buffer),
            (_, Some(note)) => {
                let bold = notes[note].starts_with('!');
                put(buffer, row, y, 0, &notes[note], if bold { BOLD } else { Style::new() });
            }
            (None, None) => {}
        }
    }
    let more = count.saturating_sub(top + height);
    if more > 0 && height > 1 {
        let said = format!(" {more} lines more: Down ");
        let x = area.width.saturating_sub(body::as_u16(said.len()));
        put(buffer, lines, lines.bottom() - 1, x, &said, BOLD);
    }
    app.page = height.saturating_sub(1).max(1);
    if let Some(desk) = &mut app.desk {
        desk.top = top;
    }
}
