//! The lines of a view: rows of a schedule, and headings between them.

use super::View;
use crate::checks::{Finding, Severity};
use crate::design::Design;
use crate::format::Text;
use crate::job::Subject;
use crate::schedule::outline::{self, Entry, Item};
use crate::schedule::{Cell, Column, Row, Table, Weight, Widths, cables, loading, slots};
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
}

impl Listing {
    /// Makes the lines of a view anew.
    pub(super) fn new(design: &Design, view: View, folded: &HashSet<Item>) -> Self {
        match view {
            View::Runs => Self::outline(design, folded),
            View::Loading => Self::loading(design),
            View::Slots => Self::of_table(design, slots::table(design)),
            View::Cables => Self::of_table(design, roomy(cables::table(design, false))),
            View::Findings => Self::of_table(design, findings_table(&design.findings)),
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
        Self { columns, widths, lines }
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

    fn of_table(design: &Design, table: Table) -> Self {
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
        Self { columns: table.columns, widths, lines }
    }

    /// The thing a line is about.
    pub(super) fn subject(&self, design: &Design, line: usize) -> Option<Subject> {
        match self.lines.get(line)? {
            Line::Heading(_) => None,
            Line::Entry(entry, _) => Some(outline::subject(design, entry.item)),
            Line::Row(row) => row.subject.clone(),
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

/// On a narrow screen the ends of a cable come before its conductors.
fn roomy(mut table: Table) -> Table {
    for column in &mut table.columns {
        let least = match column.key {
            "conductors" => 24,
            "from" => 11,
            "to" => 24,
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
            Severity::Error => Weight::Bad,
            Severity::Warning => Weight::Caution,
            Severity::Advice => Weight::Plain,
        };
        Row::new(vec![
            Cell::Flag(weight, finding.severity.word().into()),
            Cell::text(finding.code),
            Cell::from(finding.what.clone()),
        ])
        .about(finding.subject.clone())
    };
    Table::new("findings", "Findings", columns).with_rows(findings.iter().map(row).collect())
}
