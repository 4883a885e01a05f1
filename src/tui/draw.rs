//! Draws what is being looked at into a buffer.
//!
//! ```text
//! Two-story house  rev 3                            1 error, 2 warnings     title
//!  1 Runs  [2 Loading]  3 Slots  4 Cables  5 Findings                       views
//! output    load  limit  percent of limit             runs                  headings
//! > PS1.1   62.1   96.0  [######.|..]  64.7 %                               lines
//! !! what is wrong with the line under the cursor                           detail
//! do: what to do about it
//! ?:help q:leave Tab:view                                                   keys
//! ```

mod body;
mod help;

use super::app::{App, View};
use super::keys;
use crate::checks::Severity;
use crate::format::Text;
use ratatui::buffer::Buffer;
use ratatui::layout::{Position, Rect};
use ratatui::style::{Modifier, Style};

/// Smaller than this only one line is drawn.
const LEAST: (u16, u16) = (30, 8);
/// Lines of the detail.
const DETAIL: u16 = 3;

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
    let body = Rect { y: area.y + 2, height: area.height - 3 - DETAIL, ..area };
    let cursor =
        if app.help.is_some() { Some(help::draw(app, body, buffer)) } else { body::draw(app, body, buffer) };
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
    let left = Text::from(format!("{name}{revision}"));
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
    ]
    .into_iter()
    .flatten()
    .collect();
    if parts.is_empty() { "checks passed".into() } else { parts.join(", ") }
}

fn views(app: &App, area: Rect, buffer: &mut Buffer) {
    let mut x = 0;
    for (number, view) in View::ALL.iter().enumerate() {
        let here = *view == app.view;
        let (open, close) = if here { ('[', ']') } else { (' ', ' ') };
        let word = format!("{open}{} {}{close}", number + 1, view.word());
        put(buffer, area, area.y + 1, x, &word, if here { BOLD } else { Style::new() });
        x += u16::try_from(word.len()).unwrap_or(0);
    }
}

/// The message, the prompt, or what is wrong with the line under the cursor; gives the cursor of the prompt.
fn detail(app: &App, area: Rect, buffer: &mut Buffer) -> Option<Position> {
    let y = area.bottom() - 1 - DETAIL;
    if let Some(prompt) = &app.prompt {
        let line = format!("find: {}", prompt.text());
        put(buffer, area, y, 0, &line, Style::new());
        let x = u16::try_from(Text::from(line.as_str()).width()).unwrap_or(0).min(area.width - 1);
        return Some(Position::new(area.x + x, y));
    }
    if let Some(message) = &app.message {
        wrapped(buffer, area, y, &[(message.clone(), Style::new())]);
        return None;
    }
    if app.help.is_some() {
        return None;
    }
    if let Some(finding) = app.finding_here() {
        let sign = match finding.severity {
            Severity::Error => "!!",
            Severity::Warning => "!",
            Severity::Advice => "-",
        };
        let what = format!("{sign} {} ({})", finding.what, finding.source);
        wrapped(buffer, area, y, &[(what, BOLD), (format!("do: {}", finding.remedy), Style::new())]);
    }
    None
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
    for (at, (line, style)) in lines.iter().take(usize::from(DETAIL)).enumerate() {
        let at = u16::try_from(at).unwrap_or(0);
        let cut = at + 1 == DETAIL && lines.len() > usize::from(DETAIL);
        let line = if cut { format!("{line} ~") } else { line.clone() };
        put(buffer, area, y + at, 0, &line, *style);
    }
}

fn keys_line(app: &App, area: Rect, buffer: &mut Buffer) {
    let hints: Vec<String> = if app.prompt.is_some() {
        vec!["Enter:stay here".into(), "Esc:done".into()]
    } else {
        let hinted = keys::of_view(app.view).filter(|binding| !binding.hint.is_empty());
        hinted.map(|binding| format!("{}:{}", binding.shown, binding.hint)).collect()
    };
    put(buffer, area, area.bottom() - 1, 0, &hints.join("  "), Style::new());
}
