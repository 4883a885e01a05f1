//! The lines of a view: rows of a schedule, and headings between them.

mod outline;
mod pick;

pub(super) use pick::Order;

use super::View;
use crate::checks::{Finding, Severity};
use crate::design::Design;
use crate::format::Text;
use crate::job::Subject;
use crate::job::history::{History, Step};
use crate::schedule::outline::{Entry, Item};
use crate::schedule::{
    Cell, Column, Row, Section, Table, Weight, Widths, cables, loading, parts, site_rows, slots,
};
use crate::site::Taking;
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
    /// By which column the lines are sorted.
    pub order: Option<Order>,
    /// Where each line stood before lines were picked.
    origins: Vec<usize>,
}

impl Listing {
    /// Makes the lines of a view anew.
    pub(super) fn new(
        design: &Design,
        view: View,
        folded: &HashSet<Item>,
        history: &History,
        (filter, order): (&str, Option<Order>),
        taking: Taking<'_>,
    ) -> Self {
        if view == View::Runs {
            return Self::outline(design, folded, filter, order);
        }
        let mut listing = Self::whole_view(design, view, history, taking);
        listing.pick(design, filter, order);
        listing
    }

    fn whole_view(design: &Design, view: View, history: &History, taking: Taking<'_>) -> Self {
        match view {
            View::Loading => Self::loading(design),
            View::Slots => Self::of_table(design, slots::table(design)),
            View::Cables => Self::of_table(design, roomy(cables::table(design, false))),
            View::Findings => Self::of_table(design, findings_table(&design.findings)),
            View::Parts => Self::of_table(design, parts::table(design)),
            View::Done => Self::of_table(design, done_table(history)),
            View::Site => Self::of_table(design, site_rows::table(design, taking)),
            View::Runs | View::Riser | View::Plan => {
                Self::of_table(design, Table::new("picture", "", Vec::new()))
            }
        }
    }

    fn whole(columns: Vec<Column>, widths: Widths, lines: Vec<Line>) -> Self {
        let origins = (0..lines.len()).collect();
        Self { columns, widths, lines, order: None, origins }
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
            Some(Line::Entry(entry, folded)) => {
                cells(&crate::schedule::outline::row(design, *entry, *folded))
            }
            Some(Line::Row(row)) => cells(row),
        }
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
            Line::Entry(entry, _) => Some(crate::schedule::outline::subject(design, entry.item)),
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

    /// The same, looked for first where it stood before.
    pub(super) fn line_near(&self, design: &Design, subject: &Subject, line: usize) -> Option<usize> {
        if self.subject(design, line).as_ref() == Some(subject) {
            return Some(line);
        }
        self.line_of(design, subject)
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
            Some(Line::Entry(entry, folded)) => {
                of_row(&crate::schedule::outline::row(design, *entry, *folded))
            }
            Some(Line::Row(row)) => of_row(row),
        }
    }
}

/// What was done, the last first.
fn done_table(history: &History) -> Table {
    let columns = vec![
        Column::figure("step", "step").width(4, 6),
        Column::text("what", "what was done").width(20, 90).grow(),
    ];
    let row = |(at, step): (usize, Step)| {
        Row::new(vec![Cell::Count(i64::try_from(at + 1).unwrap_or(i64::MAX)), Cell::from(step.label)])
    };
    let done: Vec<Row> = history.done().enumerate().map(row).rev().collect();
    let undone: Vec<Row> =
        history.undone().rev().map(|step| Row::new(vec![Cell::Blank, Cell::from(step.label)])).collect();
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
