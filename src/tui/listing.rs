//! The lines of a view: rows of a schedule, and headings between them.

use super::View;
use crate::checks::{Finding, Severity};
use crate::design::Design;
use crate::format::Text;
use crate::job::Subject;
use crate::job::history::{History, Step};
use crate::schedule::outline::{self, Entry, Item};
use crate::schedule::{Cell, Column, Row, Section, Table, Weight, Widths, cables, loading, parts, slots};
use std::collections::HashSet;

/// One line of a view.
#[derive(Debug, Clone)]
pub(super) enum Line {
    /// A heading; the cursor passes over it.
    Heading(Text),
    /// A line of the outline, folded or not, whose row is made when it is drawn.
    Entry(Entry, bool),
    /// A row of a schedule.
    Row(Box<Row>),
}

/// All lines of a view with its columns.
#[derive(Debug, Clone)]
pub(super) struct Listing {
    pub columns: Vec<Column>,
    pub widths: Widths,
    pub lines: Vec<Line>,
    /// Where each line stood before lines were picked.
    origins: Vec<usize>,
}

/// By which column lines are sorted.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Order {
    pub column: usize,
    pub backwards: bool,
}

impl Listing {
    /// Makes the lines of a view anew.
    pub(super) fn new(design: &Design, view: View, folded: &HashSet<Item>, history: &History) -> Self {
        match view {
            View::Runs => Self::outline(design, folded),
            View::Loading => Self::loading(design),
            View::Slots => Self::of_table(design, slots::table(design)),
            View::Cables => Self::of_table(design, roomy(cables::table(design, false))),
            View::Findings => Self::of_table(design, findings_table(&design.findings)),
            View::Parts => Self::of_table(design, parts::table(design)),
            View::Done => Self::of_table(design, done_table(history)),
            View::Riser | View::Plan => Self::of_table(design, Table::new("picture", "", Vec::new())),
        }
    }

    fn whole(columns: Vec<Column>, widths: Widths, lines: Vec<Line>) -> Self {
        let origins = (0..lines.len()).collect();
        Self { columns, widths, lines, origins }
    }

    /// Keeps the lines that hold a word, and sorts them within their headings.
    pub(super) fn pick(&mut self, design: &Design, filter: &str, order: Option<Order>) {
        let needle = filter.trim().to_lowercase();
        if needle.is_empty() && order.is_none() {
            return;
        }
        let mut kept: Vec<usize> = (0..self.lines.len())
            .filter(|&line| {
                needle.is_empty() || !self.selectable(line) || self.words(design, line).contains(&needle)
            })
            .collect();
        if let Some(order) = order {
            for section in kept.split_mut(|&line| !self.selectable(line)) {
                let key = |line: usize| match &self.lines[line] {
                    Line::Row(row) => sort_key(row.cell(order.column)),
                    _ => (0.0, String::new()),
                };
                section.sort_by(|&a, &b| {
                    let (a, b) = (key(a), key(b));
                    let ordering = a.0.total_cmp(&b.0).then_with(|| a.1.cmp(&b.1));
                    if order.backwards { ordering.reverse() } else { ordering }
                });
            }
        }
        // A heading with nothing left under it says nothing.
        let last = kept.len();
        let kept: Vec<usize> = (0..last)
            .filter(|&at| {
                self.selectable(kept[at]) || kept.get(at + 1).is_some_and(|&next| self.selectable(next))
            })
            .map(|at| kept[at])
            .collect();
        self.origins = kept.iter().map(|&line| self.origins[line]).collect();
        self.lines = kept.into_iter().map(|line| self.lines[line].clone()).collect();
    }

    /// Where a line stood before lines were picked.
    pub(super) fn origin(&self, line: usize) -> Option<usize> {
        self.origins.get(line).copied()
    }

    /// The words of a line as they are shown, with a tab between cells.
    pub(super) fn row_text(&self, design: &Design, line: usize) -> String {
        let unit = design.job.project.units;
        let cells = |row: &Row| {
            let cells: Vec<String> =
                row.cells.iter().map(|cell| cell.shown(unit).trim().to_owned()).collect();
            cells.join("\t").trim_end().to_owned()
        };
        match self.lines.get(line) {
            None => String::new(),
            Some(Line::Heading(text)) => text.to_string(),
            Some(Line::Entry(entry, folded)) => cells(&outline::row(design, *entry, *folded)),
            Some(Line::Row(row)) => cells(row),
        }
    }

    fn outline(design: &Design, folded: &HashSet<Item>) -> Self {
        let columns = outline::columns();
        let table = Table::new("runs", "Runs", columns.clone()).with_rows(vec![outline::widest()]);
        let widths = Widths::of(&table, design.job.project.units);
        let mut lines = Vec::new();
        let mut hidden_below = None;
        for entry in outline::entries(design) {
            if hidden_below.is_some_and(|depth| entry.depth > depth) {
                continue;
            }
            let here = folded.contains(&entry.item);
            hidden_below = here.then_some(entry.depth);
            lines.push(Line::Entry(entry, here));
        }
        Self::whole(columns, widths, lines)
    }

    fn loading(design: &Design) -> Self {
        let mut table = loading::table(design);
        for section in &mut table.sections {
            let rows = std::mem::take(&mut section.rows);
            for mut row in rows {
                let output = row.subject.as_ref().and_then(|subject| {
                    design.study.outputs.iter().find(|output| output.output.to_string() == subject.id)
                });
                let below = output.map(|output| loading::run_rows(design, output)).unwrap_or_default();
                if let (Some(cell), false) = (row.cells.get_mut(5), below.is_empty()) {
                    *cell = Cell::Blank;
                }
                section.rows.push(row);
                section.rows.extend(below);
            }
        }
        Self::of_table(design, table)
    }

    pub(super) fn of_table(design: &Design, table: Table) -> Self {
        let widths = Widths::of(&table, design.job.project.units);
        let mut lines = Vec::new();
        for section in table.sections {
            lines.extend(section.heading.map(Line::Heading));
            lines.extend(section.rows.into_iter().chain(section.total).map(|row| Line::Row(Box::new(row))));
        }
        if !table.totals.is_empty() {
            lines.push(Line::Heading("Totals".into()));
            lines.extend(table.totals.into_iter().map(|row| Line::Row(Box::new(row))));
        }
        Self::whole(table.columns, widths, lines)
    }

    /// The thing a line is about.
    pub(super) fn subject(&self, design: &Design, line: usize) -> Option<Subject> {
        match self.lines.get(line)? {
            Line::Heading(_) => None,
            Line::Entry(entry, _) => Some(outline::subject(design, entry.item)),
            Line::Row(row) => row.subject.clone(),
        }
    }

    /// How deep a line stands; all lines of a table stand at the top.
    pub(super) fn depth(&self, line: usize) -> u8 {
        match self.lines.get(line) {
            Some(Line::Entry(entry, _)) => entry.depth,
            _ => 0,
        }
    }

    /// The line that is about a thing.
    pub(super) fn line_of(&self, design: &Design, subject: &Subject) -> Option<usize> {
        (0..self.lines.len()).find(|&line| self.subject(design, line).as_ref() == Some(subject))
    }

    /// Whether the cursor may stand on a line.
    pub(super) fn selectable(&self, line: usize) -> bool {
        self.lines.get(line).is_some_and(|line| !matches!(line, Line::Heading(_)))
    }

    /// What a search goes over: all the words of a line.
    pub(super) fn words(&self, design: &Design, line: usize) -> String {
        let of_row = |row: &Row| {
            let unit = design.job.project.units;
            let cells: Vec<String> = row.cells.iter().map(|cell| cell.shown(unit)).collect();
            cells.join(" ").to_lowercase()
        };
        match self.lines.get(line) {
            None => String::new(),
            Some(Line::Heading(text)) => text.as_str().to_lowercase(),
            Some(Line::Entry(entry, folded)) => of_row(&outline::row(design, *entry, *folded)),
            Some(Line::Row(row)) => of_row(row),
        }
    }
}

/// Figures sort by size, with unknown ones last; everything else by its words.
fn sort_key(cell: &Cell) -> (f64, String) {
    match cell {
        Cell::Figure(_, figure) | Cell::Bar { percent: figure, .. } => {
            (figure.unwrap_or(f64::INFINITY), String::new())
        }
        Cell::Span(_, figure, _) => (*figure, String::new()),
        Cell::Length(length) => (length.map_or(f64::INFINITY, crate::units::Length::feet), String::new()),
        #[expect(clippy::cast_precision_loss, reason = "counts on a screen are small")]
        Cell::Count(count) => (*count as f64, String::new()),
        other => (0.0, other.shown(crate::units::LengthUnit::Feet).to_lowercase()),
    }
}

/// What was done, the last first.
fn done_table(history: &History) -> Table {
    let columns = vec![
        Column::figure("step", "step").width(4, 6),
        Column::text("what", "what was done").width(20, 90).grow(),
    ];
    let row = |(at, step): (usize, &Step)| {
        Row::new(vec![Cell::Count(i64::try_from(at + 1).unwrap_or(i64::MAX)), Cell::from(step.label.clone())])
    };
    let done: Vec<Row> = history.done().iter().enumerate().map(row).rev().collect();
    let undone: Vec<Row> = history
        .undone()
        .iter()
        .rev()
        .map(|step| Row::new(vec![Cell::Blank, Cell::from(step.label.clone())]))
        .collect();
    let mut table =
        Table::new("done", "Done", columns).with_section(Section::headed("Done, the last first", done));
    if !undone.is_empty() {
        table = table.with_section(Section::headed("Undone; U does the next again", undone));
    }
    table
}

/// On a narrow screen the ends of a cable come before its conductors.
fn roomy(mut table: Table) -> Table {
    for column in &mut table.columns {
        let least = match column.key {
            "from" => 11,
            "to" | "conductors" => 24,
            _ => continue,
        };
        *column = Column { least, ..*column };
    }
    table
}

/// The findings as a table, worst first.
pub(super) fn findings_table(findings: &[Finding]) -> Table {
    let columns = vec![
        Column::text("severity", "").width(8, 10),
        Column::text("code", "check").width(8, 14),
        Column::text("what", "what is wrong").width(20, 90).grow(),
    ];
    let row = |finding: &Finding| {
        let weight = match finding.severity {
            _ if finding.accepted.is_some() => Weight::Plain,
            Severity::Error => Weight::Bad,
            Severity::Warning => Weight::Caution,
            Severity::Advice => Weight::Plain,
        };
        Row::new(vec![
            Cell::Flag(
                weight,
                if finding.accepted.is_some() { "accepted" } else { finding.severity.word() }.into(),
            ),
            Cell::text(finding.code),
            Cell::from(finding.what.clone()),
        ])
        .about(finding.subject.clone())
    };
    Table::new("findings", "Findings", columns).with_rows(findings.iter().map(row).collect())
}
