//! The findings: what is wrong, by cause, worst first, with what helps or who answers for it.

use super::{Cell, Column, Row, Section, Table, Weight};
use crate::checks::{Finding, Group, Severity, grouped};
use crate::design::Design;
use crate::remedy::Bench;
use crate::study::Pick;
use serde::Serialize;

/// The document of the sheet.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Findings {
    /// Every finding.
    pub findings: Vec<Found>,
    /// How many there are.
    #[serde(flatten)]
    pub totals: Totals,
}

/// A finding in [`Findings`].
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Found {
    /// The check.
    pub code: &'static str,
    /// How bad it is.
    pub severity: Severity,
    /// What it is about, as `kind/id`.
    pub subject: String,
    /// The figure found.
    pub found: Option<f64>,
    /// Its limit.
    pub limit: Option<f64>,
    /// The unit of both.
    pub unit: &'static str,
    /// Where the limit comes from.
    pub source: String,
    /// What is wrong.
    pub what: String,
    /// What to do.
    pub remedy: String,
    /// The open choice with which it is so.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub choice: Vec<Pick>,
    /// Who answers for it as it is.
    pub accepted: Option<Answer>,
}

/// Who answers for a finding.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Answer {
    /// Who.
    pub by: String,
    /// Why.
    pub reason: String,
}

impl Found {
    /// A finding with what helps against it.
    pub fn of(finding: &Finding, remedy: &str) -> Self {
        let accepted = finding.accepted.as_ref();
        Self {
            code: finding.code,
            severity: finding.severity,
            subject: format!("{}/{}", finding.subject.kind.key(), finding.subject.id),
            found: finding.found,
            limit: finding.limit,
            unit: finding.unit.symbol(),
            source: finding.source.clone(),
            what: finding.what.clone(),
            remedy: remedy.to_owned(),
            choice: finding.choice.clone(),
            accepted: accepted.map(|a| Answer { by: a.by.clone(), reason: a.reason.clone() }),
        }
    }
}

/// How many findings there are; what is accepted counts as nothing else.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize)]
pub struct Totals {
    /// Errors.
    pub errors: usize,
    /// Warnings.
    pub warnings: usize,
    /// Points of advice.
    pub advice: usize,
    /// What somebody answers for.
    pub accepted: usize,
}

impl Totals {
    /// Counts findings.
    pub fn of<'a>(findings: impl Iterator<Item = &'a Finding>) -> Self {
        let mut totals = Self::default();
        for finding in findings {
            *match (finding.accepted.is_some(), finding.severity) {
                (true, _) => &mut totals.accepted,
                (_, Severity::Error) => &mut totals.errors,
                (_, Severity::Warning) => &mut totals.warnings,
                (_, Severity::Advice) => &mut totals.advice,
            } += 1;
        }
        totals
    }

    /// With those of another job.
    #[must_use]
    pub const fn and(self, other: Self) -> Self {
        Self {
            errors: self.errors + other.errors,
            warnings: self.warnings + other.warnings,
            advice: self.advice + other.advice,
            accepted: self.accepted + other.accepted,
        }
    }

    /// In words.
    pub fn words(self) -> String {
        let counted: Vec<String> = [
            (self.errors, "error", "errors"),
            (self.warnings, "warning", "warnings"),
            (self.advice, "point of advice", "points of advice"),
            (self.accepted, "accepted", "accepted"),
        ]
        .iter()
        .filter(|(n, ..)| *n > 0)
        .map(|(n, one, many)| format!("{n} {}", if *n == 1 { one } else { many }))
        .collect();
        if counted.is_empty() { "no findings".into() } else { counted.join(", ") }
    }
}

/// The causes, worst first, each with what to do about it.
pub fn groups(design: &Design) -> Vec<(Group, String)> {
    let mut bench = Bench::new(design);
    let groups = grouped(&design.findings).into_iter();
    groups
        .map(|group| {
            let said = bench.said(&group);
            (group, said)
        })
        .collect()
}

/// Every finding for programs.
pub fn document(design: &Design) -> Findings {
    let groups = groups(design);
    let each = |(group, remedy): &(Group, String)| -> Vec<Found> {
        group.findings.iter().map(|finding| Found::of(finding, remedy)).collect()
    };
    Findings { findings: groups.iter().flat_map(each).collect(), totals: Totals::of(design.findings.iter()) }
}

/// A row for each cause.
pub fn table(design: &Design) -> Table {
    let columns = vec![
        Column::text("severity", "").width(8, 10),
        Column::text("check", "check").width(14, 18).yields(1),
        Column::text("what", "what is wrong").width(20, 60).grow(),
        Column::figure("found", "found").width(8, 12),
        Column::figure("limit", "limit").width(8, 12),
        Column::text("unit", "unit").width(3, 4),
        Column::text("source", "limit from").width(14, 24).yields(2),
        Column::text("remedy", "what to do").width(16, 60).grow(),
    ];
    let groups = groups(design);
    let (accepted, open): (Vec<_>, Vec<_>) =
        groups.iter().partition(|(group, _)| group.worst().is_some_and(|worst| worst.accepted.is_some()));
    let rows = |groups: Vec<&(Group, String)>| groups.into_iter().filter_map(row).collect::<Vec<Row>>();
    let mut table = Table::new("findings", "Findings", columns);
    table.lead.push(Totals::of(design.findings.iter()).words().into());
    if !open.is_empty() {
        table = table.with_section(Section { rows: rows(open), ..Section::default() });
    }
    if !accepted.is_empty() {
        let section = Section::headed("Accepted as they are, with who answers for them", rows(accepted));
        table = table.with_section(section.keyed("accepted"));
    }
    table.notes.push(
        "A row stands for all findings of one cause, with the figure farthest beyond its limit.".into(),
    );
    table
}

fn row((group, remedy): &(Group, String)) -> Option<Row> {
    let worst = group.worst()?;
    let (sign, word) = match (&worst.accepted, worst.severity) {
        (Some(_), _) => (Weight::Plain, "accepted"),
        (_, severity @ Severity::Error) => (Weight::Bad, severity.word()),
        (_, severity @ Severity::Warning) => (Weight::Caution, severity.word()),
        (_, severity) => (Weight::Plain, severity.word()),
    };
    let figures = worst.figures_shown();
    let figure = |at: usize| figures.as_ref().and_then(|both| both.get(at)).map_or(Cell::Blank, Cell::from);
    let unit = if figures.is_some() { worst.unit.symbol() } else { "" };
    let todo = worst.accepted.as_ref().map_or_else(|| remedy.clone(), |a| format!("{}: {}", a.by, a.reason));
    let cells = vec![
        Cell::Flag(sign, word.into()),
        worst.code.into(),
        group.what().into(),
        figure(0),
        figure(1),
        unit.into(),
        worst.source.as_str().into(),
        todo.into(),
    ];
    Some(Row::new(cells).about(worst.subject.clone()))
}
