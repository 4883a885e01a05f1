//! A screen as terminals of different kinds show it: its text once, where it stands out, and only what is otherwise
//! without color or without anything but ASCII.

use crate::views::Shown;
use ratatui::buffer::Buffer;
use ratatui::layout::{Rect, Size};
use std::fmt::Write as _;
use std::num::NonZeroU16;
use studbay::schedule::canvas::LineSet;
use studbay::terminal::{Capabilities, Repertoire, Screen};
use studbay::tui::{App, draw};

/// The terminals: what their environment says.
const FACES: [(&str, &[(&str, &str)]); 3] = [
    ("color", &[("TERM", "xterm-256color"), ("LANG", "en_US.UTF-8")]),
    ("mono", &[("TERM", "xterm-256color"), ("LANG", "en_US.UTF-8"), ("NO_COLOR", "1")]),
    ("ascii", &[("TERM", "vt100"), ("LANG", "C")]),
];

/// What a terminal shows: its lines, and what stands out as `style rows:columns`.
#[derive(Debug, PartialEq, Eq)]
struct Face {
    lines: Vec<String>,
    styles: String,
}

impl Face {
    /// Sends the screen to a terminal and reads what it then shows.
    fn of(app: &mut App, (width, height): (u16, u16), env: &[(&str, &str)]) -> Self {
        let caps = Capabilities::detect(&|name| {
            env.iter().find(|(known, _)| *known == name).map(|(_, value)| (*value).to_owned())
        });
        app.set_lines(if caps.repertoire == Repertoire::Ascii { LineSet::Ascii } else { LineSet::Cp437 });
        let mut buffer = Buffer::empty(Rect::new(0, 0, width, height));
        let cursor = draw(app, buffer.area, &mut buffer);
        let mut sent = Vec::new();
        Screen::new(&mut sent, Size::new(width, height), caps, Vec::new()).present(&buffer, cursor).unwrap();
        let side = |length| NonZeroU16::new(length).expect("a screen has a size");
        let mut terminal = vt100::Parser::new(side(height), side(width), 0);
        terminal.process(&sent);
        let screen = terminal.screen();
        let lines = screen.rows(0, width).map(|line| line.trim_end().to_owned()).collect();
        Self { lines, styles: styles(screen, width, height) }
    }
}

fn style(cell: &vt100::Cell) -> String {
    let parts = [(cell.bold(), "bold"), (cell.inverse(), "reversed"), (cell.underline(), "underlined")];
    let mut words: Vec<String> =
        parts.iter().filter(|(is, _)| *is).map(|(_, word)| (*word).to_owned()).collect();
    if cell.fgcolor() != vt100::Color::Default || cell.bgcolor() != vt100::Color::Default {
        words.push(format!("{:?} on {:?}", cell.fgcolor(), cell.bgcolor()));
    }
    words.join(" ")
}

/// Columns that stand out alike in rows one under the other.
struct Run {
    rows: (u16, u16),
    columns: (u16, u16),
}

/// Runs of cells that stand out, by style.
fn styles(screen: &vt100::Screen, width: u16, height: u16) -> String {
    let mut runs: Vec<(String, Vec<Run>)> = Vec::new();
    for row in 0..height {
        let of = |column: u16| screen.cell(row, column).map(style).unwrap_or_default();
        let mut column = 0;
        while column < width {
            let here = of(column);
            let end = (column..width).take_while(|&at| of(at) == here).last().unwrap_or(column);
            if !here.is_empty() {
                let at = runs.iter().position(|(style, _)| *style == here).unwrap_or(runs.len());
                if at == runs.len() {
                    runs.push((here, Vec::new()));
                }
                let all = &mut runs[at].1;
                let above = |run: &&mut Run| run.rows.1 + 1 == row && run.columns == (column, end);
                match all.iter_mut().find(above) {
                    Some(run) => run.rows.1 = row,
                    None => all.push(Run { rows: (row, row), columns: (column, end) }),
                }
            }
            column = end + 1;
        }
    }
    let written = |run: &Run| {
        let (first, last) = run.rows;
        let rows = if first == last { first.to_string() } else { format!("{first}-{last}") };
        format!("{rows}:{}-{}", run.columns.0, run.columns.1)
    };
    let line = |(style, all): &(String, Vec<Run>)| {
        format!("  {style} {}\n", all.iter().map(written).collect::<Vec<_>>().join(" "))
    };
    runs.iter().map(line).collect()
}

impl Shown {
    /// The screen for a snapshot: its text and cursor, what stands out, and what is otherwise on a terminal without
    /// color or with ASCII alone.
    pub(crate) fn faces(&mut self) -> String {
        let size = self.size();
        let [color, mono, ascii] = FACES.map(|(_, env)| Face::of(&mut self.app, size, env));
        self.app.set_lines(LineSet::default());
        let mut text = format!("{}{}", self.snapshot(), color.styles);
        let shown: Vec<String> = self.text().lines().map(str::to_owned).collect();
        for (name, face) in [("utf-8", &color), ("mono", &mono), ("ascii", &ascii)] {
            // The text above is drawn with ASCII; mono stands beside color.
            let against = if name == "mono" { &color.lines } else { &shown };
            for (at, (line, other)) in face.lines.iter().zip(against).enumerate() {
                if line != other {
                    let _ = writeln!(text, "  {name} {at}: {line}");
                }
            }
            if face.styles != color.styles {
                let _ = write!(text, "  {name}:\n{}", face.styles);
            }
        }
        assert!(ascii.lines.iter().all(|line| line.is_ascii()), "{:?}", ascii.lines);
        // What only color said would be lost here.
        assert!(!mono.styles.contains(" on "), "{}", mono.styles);
        text
    }
}
