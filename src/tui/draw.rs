//! Draws what is being looked at into a buffer.
//!
//! ```text
//! Two-story house  rev 3                            1 error, 2 warnings     title
//!  1 Runs [2 Loading]3 Slots 4 Cables 5 Findings 6 Parts                     views
//! output    load  limit  percent of limit             runs                  headings
//! > PS1.1   62.1   96.0  [######.|..]  64.7 %                               lines
//! !! what is wrong with the line under the cursor                           detail
//! do: what to do about it
//! ?:help q:leave Tab:view                                                   keys
//! ```

mod balancing;
mod body;
mod form;
mod help;
mod picture;

use super::app::{App, Asked, View};
use super::keys;
use crate::checks::Severity;
use crate::format::Text;
use ratatui::buffer::Buffer;
use ratatui::layout::{Position, Rect};
use ratatui::style::{Modifier, Style};

/// Smaller than this only one line is drawn.
const LEAST: (u16, u16) = (30, 8);
/// Lines of the detail, and from how many lines of screen on there are so many; below that the lines need the room.
const DETAIL: u16 = 3;
const DETAIL_FROM: u16 = 16;

/// Lines of the detail on a screen.
fn detail_lines(area: Rect) -> u16 {
    if area.height < DETAIL_FROM { 1 } else { DETAIL }
}

/// Draws the whole screen, and gives where the cursor belongs.
pub fn draw(app: &mut App, area: Rect, buffer: &mut Buffer) -> Option<Position> {
    if area.is_empty() {
        return None;
    }
    if area.width < LEAST.0 || area.height < LEAST.1 {
        let line = format!("studbay: make this {}x{} or larger; q leaves", LEAST.0, LEAST.1);
        put(buffer, area, area.y, 0, &line, Style::new());
        return Some(Position::new(area.x, area.y));
    }
    app.prepare(app.view);
    title(app, area, buffer);
    views(app, area, buffer);
    let body = Rect { y: area.y + 2, height: area.height - 3 - detail_lines(area), ..area };
    let cursor = match &app.form {
        _ if app.question.is_some() => question(app, body, buffer),
        _ if app.help.is_some() => Some(help::draw(app, body, buffer)),
        Some(form) => form::draw(form, body, buffer),
        None if app.desk.is_some() => balancing::draw(app, body, buffer),
        None if app.view.is_picture() => picture::draw(app, body, buffer),
        None => body::draw(app, body, buffer),
    };
    let bottom = detail(app, area, buffer);
    keys_line(app, area, buffer);
    bottom.or(cursor)
}

/// Writes a line from a column on, cut to the area.
fn put(buffer: &mut Buffer, area: Rect, y: u16, x: u16, text: &str, style: Style) {
    let room = area.width.saturating_sub(x);
    let text = Text::from(text);
    buffer.set_stringn(area.x + x, y, text.within(usize::from(room)), usize::from(room), style);
}

const BOLD: Style = Style::new().add_modifier(Modifier::BOLD);

fn title(app: &App, area: Rect, buffer: &mut Buffer) {
    let project = &app.design.job.project;
    let revision =
        if project.revision.is_empty() { String::new() } else { format!("  rev {}", project.revision) };
    let name = if project.title.trim().is_empty() { &app.file } else { &project.title };
    let counts = Text::from(counts(app));
    let right = u16::try_from(counts.width()).unwrap_or(0);
    let room = usize::from(area.width.saturating_sub(right + 2));
    let state = match (&app.read_only, app.history.changed()) {
        (Some(_), _) => "  (read only)",
        (None, true) => "  * not saved",
        (None, false) => "",
    };
    let left = Text::from(format!("{name}{revision}{state}"));
    put(buffer, area, area.y, 0, &left.within(room), BOLD);
    put(buffer, area, area.y, area.width.saturating_sub(right), counts.as_str(), BOLD);
}

/// How many findings there are, in words.
fn counts(app: &App) -> String {
    let count = |severity: Severity, one: &str, many: &str| match app.count(severity) {
        0 => None,
        1 => Some(format!("1 {one}")),
        n => Some(format!("{n} {many}")),
    };
    let parts: Vec<String> = [
        count(Severity::Error, "error", "errors"),
        count(Severity::Warning, "warning", "warnings"),
        count(Severity::Advice, "advice", "advice"),
        Some(app.accepted()).filter(|&n| n > 0).map(|n| format!("{n} accepted")),
    ]
    .into_iter()
    .flatten()
    .collect();
    if parts.is_empty() { "checks passed".into() } else { parts.join(", ") }
}

/// The views by key and name, the current one in brackets; by key alone where the names find no room.
fn views(app: &App, area: Rect, buffer: &mut Buffer) {
    let named = |view: View, all: bool| {
        if all || view == app.view {
            format!("{} {}", view.digit(), view.word())
        } else {
            view.digit().to_string()
        }
    };
    // The site's name stands there where there is room for it, or where it is looked at.
    let named_all: usize = 1 + View::ALL.iter().map(|view| named(*view, true).len() + 1).sum::<usize>();
    let roomy = named_all <= usize::from(area.width) || app.view == View::Site;
    let shown: Vec<View> = View::ALL.into_iter().filter(|view| roomy || *view != View::Site).collect();
    let needed = |all: bool| 1 + shown.iter().map(|view| named(*view, all).len() + 1).sum::<usize>();
    let all = needed(true) <= usize::from(area.width);
    let mut x = 0;
    let mut before = None;
    for view in shown.iter().copied().map(Some).chain([None]) {
        // The brackets stand where otherwise a space parts two names.
        let between = match (before == Some(app.view), view == Some(app.view)) {
            (true, _) => "]",
            (_, true) => "[",
            _ => " ",
        };
        put(buffer, area, area.y + 1, x, between, BOLD);
        x += 1;
        if let Some(view) = view {
            let word = named(view, all);
            let style = if view == app.view { BOLD } else { Style::new() };
            put(buffer, area, area.y + 1, x, &word, style);
            x += u16::try_from(word.len()).unwrap_or(0);
        }
        before = view;
    }
}

/// The message, the prompt, or what is wrong with the line under the cursor; gives the cursor of the prompt.
fn detail(app: &App, area: Rect, buffer: &mut Buffer) -> Option<Position> {
    let y = area.bottom() - 1 - detail_lines(area);
    if let Some(question) = &app.question {
        wrapped(buffer, area, y, &[(question.line(), BOLD)]);
        return None;
    }
    if let Some(prompt) = &app.prompt {
        let asked = match prompt.asked {
            Asked::Find => "find: ",
            Asked::Filter => "show only lines with: ",
            Asked::OtherJob => "take over from the job file: ",
            Asked::TableIn => "read the table of rooms from: ",
            Asked::TableOut => "write the table of rooms to: ",
            Asked::WhatIf => "what if (watts of one more run, or 'lose PS1'): ",
            Asked::Reading => "the meter shows (Enter alone: as expected): ",
            Asked::Record => "type it: ",
            Asked::Clerk => "meter, temperature, initials: ",
        };
        put(buffer, area, y, 0, &format!("{asked}{}", prompt.input.text()), Style::new());
        if let Some(note) = &prompt.note {
            put(buffer, area, y + 1, 0, note, BOLD);
        }
        let x = u16::try_from(asked.len() + prompt.input.cursor_column()).unwrap_or(0).min(area.width - 1);
        return Some(Position::new(area.x + x, y));
    }
    if let Some(menu) = &app.menu {
        wrapped(buffer, area, y, &[(menu.line(), BOLD)]);
        return None;
    }
    if let Some(form) = &app.form {
        wrapped(buffer, area, y, &form::below(form, &app.design));
        return None;
    }
    if let Some(message) = &app.message {
        wrapped(buffer, area, y, &[(message.clone(), Style::new())]);
        return None;
    }
    if app.help.is_some() || app.desk.is_some() {
        return None;
    }
    let told = app.told_here();
    if !told.is_empty() {
        let told: Vec<(String, Style)> = told.into_iter().map(|line| (line, BOLD)).collect();
        wrapped(buffer, area, y, &told);
        return None;
    }
    let mut lines: Vec<(String, Style)> = app.figures_here().into_iter().map(|l| (l, Style::new())).collect();
    if let Some(finding) = app.finding_here() {
        let sign = match finding.severity {
            Severity::Error => "!!",
            Severity::Warning => "!",
            Severity::Advice => "-",
        };
        let what = format!("{sign} {} ({})", finding.what, finding.source);
        let then = match &finding.accepted {
            Some(accepted) => format!("accepted by {}: {}", accepted.by, accepted.reason),
            None => format!("do: {}", app.to_do(finding)),
        };
        lines.extend([(what, BOLD), (then, Style::new())]);
    }
    wrapped(buffer, area, y, &lines);
    None
}

/// A question with what it is about, the last lines of it where there are more than fit.
fn question(app: &mut App, area: Rect, buffer: &mut Buffer) -> Option<Position> {
    let question = app.question.as_ref()?;
    let width = usize::from(area.width);
    let mut lines: Vec<(String, Style)> =
        Text::from(question.text.as_str()).wrapped(width).into_iter().map(|line| (line, BOLD)).collect();
    let about: Vec<String> = question
        .lines
        .iter()
        .flat_map(|line| {
            // What runs on is set in further.
            let wrapped = Text::from(line.as_str()).wrapped(width.saturating_sub(4).max(1));
            wrapped
                .into_iter()
                .enumerate()
                .map(|(at, part)| if at == 0 { format!("  {part}") } else { format!("    {part}") })
        })
        .collect();
    let room = usize::from(area.height).saturating_sub(lines.len() + 1);
    let over = about.len().saturating_sub(room);
    let hidden = app.question_top.map_or(over, |top| top.min(over));
    if app.question_top.is_some() {
        app.question_top = Some(hidden);
        app.page = room.saturating_sub(1).max(1);
    }
    let below = over - hidden;
    match (hidden, below) {
        (0, 0) => {}
        (0, below) => lines.push((format!("  {below} lines more after these: Down, PgDn"), Style::new())),
        (hidden, 0) => lines.push((format!("  ... {hidden} lines more before these"), Style::new())),
        (hidden, below) => {
            lines.push((format!("  ... {hidden} lines before these, {below} after"), Style::new()));
        }
    }
    lines.extend(about.into_iter().skip(hidden).map(|line| (line, Style::new())));
    for ((line, style), y) in lines.iter().zip(area.y..area.bottom()) {
        put(buffer, area, y, 0, line, *style);
    }
    Some(Position::new(area.x, area.y))
}

/// Writes texts one under the other, wrapped, as far as the detail has lines; what is cut ends in a sign.
fn wrapped(buffer: &mut Buffer, area: Rect, y: u16, texts: &[(String, Style)]) {
    let room = usize::from(area.width);
    let lines: Vec<(String, Style)> = texts
        .iter()
        .flat_map(|(text, style)| {
            Text::from(text.as_str()).wrapped(room).into_iter().map(move |line| (line, *style))
        })
        .collect();
    let room = detail_lines(area);
    for (at, (line, style)) in lines.iter().take(usize::from(room)).enumerate() {
        let at = u16::try_from(at).unwrap_or(0);
        let cut = at + 1 == room && lines.len() > usize::from(room);
        let line = if cut { format!("{line} ~") } else { line.clone() };
        put(buffer, area, y + at, 0, &line, *style);
    }
}

fn keys_line(app: &App, area: Rect, buffer: &mut Buffer) {
    let hints: Vec<String> = if let Some(form) = &app.form {
        form::hints(form)
    } else if let Some(prompt) = &app.prompt {
        let enter = match prompt.asked {
            Asked::Find | Asked::Filter => "stay",
            Asked::OtherJob | Asked::TableIn => "read",
            Asked::TableOut => "write",
            Asked::WhatIf => "ask",
            Asked::Reading | Asked::Record | Asked::Clerk => "take it",
        };
        vec![format!("Enter:{enter}"), "Esc:leave".into()]
    } else if let Some(desk) = app.desk.as_ref().filter(|_| app.question.is_none()) {
        desk.hints()
    } else if app.menu.is_some() {
        vec!["Esc:leave".into()]
    } else if app.question.is_some() {
        Vec::new()
    } else {
        let hinted = keys::hinted_of_view(app.view);
        let hinted = hinted.map(|binding| format!("{}:{}", binding.shown, binding.hint));
        // Lines that are left out must not be taken for lines that are not there.
        let filter = &app.current().1.filter;
        let only = (!filter.is_empty()).then(|| {
            let word = Text::from(filter.as_str());
            format!("only lines with '{}', Esc:show all", word.within(20))
        });
        only.into_iter().chain(hinted).collect()
    };
    // What does not fit is left out whole: half a hint tells nothing, and the help has them all.
    let mut line = String::new();
    for hint in hints {
        if line.len() + 2 + hint.len() <= usize::from(area.width) {
            line.push_str(if line.is_empty() { "" } else { "  " });
            line.push_str(&hint);
        }
    }
    put(buffer, area, area.bottom() - 1, 0, &line, Style::new());
}
