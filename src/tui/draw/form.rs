//! A form: a line for each field, with what may stand in it or why it can't.

use super::super::form::Form;
use super::{BOLD, put};
use crate::design::Design;
use crate::format::Text;
use ratatui::buffer::Buffer;
use ratatui::layout::{Position, Rect};
use ratatui::style::{Modifier, Style};

/// Columns of the labels, mark and gap included.
const LABEL: u16 = 20;
/// The least columns of the fields.
const LEAST_FIELD: u16 = 14;
/// The most columns of the fields where hints have room beside them.
const MOST_FIELD: u16 = 34;

/// Draws the form and gives the place of the cursor.
pub(super) fn draw(form: &Form, area: Rect, buffer: &mut Buffer) -> Option<Position> {
    put(buffer, area, area.y, 0, &form.title(), BOLD);
    if let Some(before) = &form.before {
        let said = Text::from(format!("done: {before}"));
        let x = area.width.saturating_sub(u16::try_from(said.width()).unwrap_or(u16::MAX));
        if usize::from(x) > form.title().len() {
            put(buffer, area, area.y, x, said.as_str(), Style::new());
        }
    }
    let lines = Rect { y: area.y + 1, height: area.height.saturating_sub(1), ..area };
    let height = usize::from(lines.height);
    // What is not on the screen must not be taken for what is not there.
    if form.lines.len() > height && form.before.is_none() {
        let said = format!("field {} of {}", form.at + 1, form.lines.len());
        let x = area.width.saturating_sub(u16::try_from(said.len()).unwrap_or(u16::MAX));
        if usize::from(x) > form.title().len() {
            put(buffer, area, area.y, x, &said, Style::new());
        }
    }
    let top = (form.at + 1).saturating_sub(height);
    let label = LABEL.min(area.width / 3);
    let field = (area.width.saturating_sub(label) / 2).clamp(LEAST_FIELD, MOST_FIELD);
    let mut cursor = None;
    for ((at, line), y) in form.lines.iter().enumerate().skip(top).zip(lines.y..lines.bottom()) {
        let here = at == form.at;
        if here {
            put(buffer, lines, y, 0, ">", BOLD);
        }
        let labels = Rect { width: label, ..lines };
        put(buffer, labels, y, 2, line.field.label, if here { BOLD } else { Style::new() });
        // The cursor stays in sight in a long text.
        let column = line.input.cursor_column();
        let room = usize::from(field.min(area.width.saturating_sub(label))).saturating_sub(1);
        let from = column.saturating_sub(room);
        let shown: String = tail(line.input.text(), if here { from } else { 0 });
        let fields = Rect { width: (label + field).min(area.width), ..lines };
        for x in label..fields.width {
            put(buffer, fields, y, x, " ", Style::new().add_modifier(Modifier::UNDERLINED));
        }
        // What the first key replaces is reversed, which says so without color too.
        let chosen = here && line.input.is_chosen();
        let style = if chosen { Modifier::REVERSED } else { Modifier::UNDERLINED };
        put(buffer, fields, y, label, &shown, Style::new().add_modifier(style));
        let hint = label + field + 1;
        match &line.reason {
            Some(reason) => put(buffer, lines, y, hint, &format!("!! {reason}"), BOLD),
            None if here => put(buffer, lines, y, hint, line.field.help, Style::new()),
            None => {}
        }
        if here {
            let x = label + u16::try_from(column - from).unwrap_or(0);
            cursor = Some(Position::new(area.x + x.min(area.width.saturating_sub(1)), y));
        }
    }
    let below =
        u16::try_from(form.lines.len() - top.min(form.lines.len())).unwrap_or(u16::MAX).saturating_add(1);
    let notes = Rect {
        y: lines.y.saturating_add(below).min(lines.bottom()),
        height: lines.height.saturating_sub(below),
        ..lines
    };
    self::notes(form, notes, buffer);
    cursor
}

/// What there is to know about what stands in the form, as far as there is room.
fn notes(form: &Form, area: Rect, buffer: &mut Buffer) {
    let width = usize::from(area.width.saturating_sub(2));
    let all: Vec<(String, Style)> = form
        .notes()
        .iter()
        .flat_map(|note| {
            let style = if note.starts_with('!') { BOLD } else { Style::new() };
            Text::from(note.as_str()).wrapped(width).into_iter().map(move |line| (line, style))
        })
        .collect();
    let room = usize::from(area.height);
    let hidden = all.len() > room;
    for ((at, (line, style)), y) in all.iter().take(room).enumerate().zip(area.y..area.bottom()) {
        let line = if hidden && at + 1 == room { format!("{line} ~") } else { line.clone() };
        put(buffer, area, y, 2, &line, *style);
    }
}

/// A text from a column on.
fn tail(text: &str, from: usize) -> String {
    let mut column = 0;
    text.chars()
        .skip_while(|c| {
            let skip = column < from;
            column += crate::format::width(c.encode_utf8(&mut [0; 4]));
            skip
        })
        .collect()
}

/// What the current field may be completed to, whole reasons, and how to leave, for the lines at the bottom.
pub(super) fn below(form: &Form, design: &Design) -> Vec<(String, Style)> {
    let mut texts = Vec::new();
    if form.warned {
        texts.push(("this form is begun and not taken: Enter takes it, Esc again drops it".to_owned(), BOLD));
        return texts;
    }
    let Some(line) = form.lines.get(form.at) else { return texts };
    if let Some(reason) = &line.reason {
        texts.push((format!("!! {reason}"), BOLD));
    }
    if let Some(words) = line.field.shape.all_choices() {
        let how = if line.field.shape.is_choice() { "Left and Right choose" } else { "some of" };
        texts.push((format!("{how}: {words}"), Style::new()));
    }
    let offers: Vec<String> = form
        .offers(design)
        .into_iter()
        .map(|(id, name)| format!("{id} {name}").trim_end().to_owned())
        .collect();
    if !offers.is_empty() {
        texts.push((format!("pick: {}", offers.join(" | ")), Style::new()));
    }
    texts
}

/// The keys that matter in the form now.
pub(super) fn hints(form: &Form) -> Vec<String> {
    let mut hints = vec!["Enter:take"];
    if form.may_follow() {
        hints.push(if form.changed().is_some() { "^N:and the next" } else { "^N:and another" });
    }
    hints.push("Tab:field");
    if form.lines.get(form.at).is_some_and(|line| line.input.is_chosen()) {
        hints.push("type:replace");
        let picks = form.lines.get(form.at).is_some_and(|line| line.field.shape.is_choice());
        hints.push(if picks { "End:edit" } else { "Left End:edit" });
    } else {
        hints.push("^U:clear");
    }
    hints.push("Esc:leave");
    hints.into_iter().map(String::from).collect()
}
