//! What a revision does to loading, checks and materials.

use crate::checks::Severity;
use crate::compare::{Comparison, LoadChange, PartChange};
use crate::design::Design;
use crate::format::Quantity;
use crate::job::Kind;
use crate::schedule::{Cell, Column, Row, Table, Weight};
use crate::units::Length;

pub(super) fn loading_table(compared: &Comparison) -> Option<Table> {
    if compared.loads.is_empty() {
        return None;
    }
    let row = |load: &LoadChange| {
        let percents = load.was_percent.zip(load.now_percent);
        let figure = |there: bool, watts| if there { Cell::watts(watts) } else { Cell::text("-") };
        let percent = |there: bool, percent: Option<f64>| match (load.subject.kind, there) {
            (Kind::Output, true) => Cell::percent(percent),
            _ => Cell::Blank,
        };
        let over = percents.is_some_and(|(was, now)| was <= 100.0 && now > 100.0);
        let word = if load.subject.kind == Kind::Panel { "AC side of panel" } else { "output" };
        Row::new(vec![
            Cell::from(format!("{word} {}", load.subject.id)),
            figure(load.was_there, load.was_watts),
            figure(load.is_there, load.now_watts),
            percent(load.was_there, load.was_percent),
            percent(load.is_there, load.now_percent),
            if over { Cell::text("OVER its limit now") } else { Cell::Blank },
        ])
        .about(load.subject.clone())
    };
    let columns = vec![
        Column::text("what", "what").width(14, 30),
        Column::figure("was_watts", "was").bare(Quantity::Watts),
        Column::figure("now_watts", "is now").bare(Quantity::Watts),
        Column::figure("was_percent", "was").bare(Quantity::Percent),
        Column::figure("now_percent", "is now").bare(Quantity::Percent),
        Column::text("sign", "").width(6, 20),
    ];
    let table = Table::new("revision-loading", "What it does to loading", columns);
    Some(table.with_rows(compared.loads.iter().map(row).collect()))
}

pub(super) fn findings_table(compared: &Comparison) -> Option<Table> {
    if compared.findings.is_empty() {
        return None;
    }
    let rows = compared.findings.iter().map(|change| {
        let weight = match (change.is_new, change.finding.severity) {
            (true, Severity::Error) => Weight::Bad,
            (true, _) => Weight::Caution,
            (false, _) => Weight::Plain,
        };
        Row::new(vec![
            Cell::Flag(weight, if change.is_new { "new" } else { "gone" }.into()),
            Cell::text(change.finding.severity.word()),
            Cell::text(change.finding.code),
            Cell::from(change.finding.what.clone()),
        ])
        .about(change.finding.subject.clone())
    });
    let columns = vec![
        Column::text("change", "").width(5, 8),
        Column::text("severity", "").width(7, 8),
        Column::text("code", "check").width(8, 16),
        Column::text("what", "what is wrong, or was").width(24, 80).grow(),
    ];
    Some(Table::new("revision-findings", "What it does to the checks", columns).with_rows(rows.collect()))
}

pub(super) fn parts_table(new: &Design, compared: &Comparison) -> Option<Table> {
    if compared.parts.is_empty() {
        return None;
    }
    let unit = new.job.project.units;
    let row = |part: &PartChange| {
        let shown = |count: i64| {
            if part.is_cable {
                Length::from_ticks(count.abs(), unit).shown(unit)
            } else {
                count.abs().to_string()
            }
        };
        let more = part.now - part.was;
        let sign = if more < 0 { "-" } else { "+" };
        let unknown =
            if part.unknown > 0 { format!(", {} lengths not known", part.unknown) } else { String::new() };
        Row::new(vec![
            Cell::from(part.part.id.as_str()),
            Cell::from(format!("{}{unknown}", part.name)),
            Cell::from(shown(part.was)),
            Cell::from(shown(part.now)),
            Cell::from(format!("{sign}{}", shown(more))),
        ])
        .about(part.part.clone())
    };
    let columns = vec![
        Column::text("part", "part").width(6, 12),
        Column::text("name", "name").width(16, 50).grow(),
        Column::figure("was", "was").width(6, 12),
        Column::figure("now", "is now").width(6, 12),
        Column::figure("more", "more or less").width(7, 12),
    ];
    let table = Table::new("revision-materials", "What it does to materials", columns);
    Some(table.with_rows(compared.parts.iter().map(row).collect()))
}
