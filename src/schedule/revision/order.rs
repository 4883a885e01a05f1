//! The change order of a revision: materials, work, and what they come to.

use crate::compare::{Order, OrderLine, OrderTask, OrderWhy};
use crate::design::Design;
use crate::format::{self, Text, UNKNOWN};
use crate::job::TaxOn;
use crate::schedule::{Cell, Column, Row, Section, Table};
use crate::takeoff::Amount;
use crate::units::{Money, Rate};
use rust_decimal::Decimal;

/// Ids named in a line of work, at most.
const MOST_NAMED: usize = 8;

/// The change order: its lines, and its sum. None where nothing is other that costs or saves.
pub(super) fn tables(new: &Design, order: &Order) -> Vec<Table> {
    if order.lines.is_empty() && order.tasks.is_empty() {
        return Vec::new();
    }
    vec![lines(order), sums(new, order)]
}

fn lines(order: &Order) -> Table {
    let columns = vec![
        Column::text("id", "for").width(6, 16),
        Column::text("part", "part or work").width(8, 30).grow(),
        Column::text("why", "").width(18, 26),
        Column::figure("quantity", "quantity").width(8, 14),
        Column::figure("each", "each").width(6, 10).yields(1),
        Column::figure("cost", "comes to").width(8, 14),
    ];
    let mut table = Table::new("change-order", "Change order", columns);
    let together = |amount: Amount| {
        let mut cells = vec![Cell::text("together"), Cell::Blank, Cell::Blank, Cell::Blank, Cell::Blank];
        cells.push(Cell::Money(amount.exact()));
        Row::new(cells)
    };
    let kinds = [
        ("Materials", "materials", order.lines.iter().map(material).collect::<Vec<_>>(), order.materials),
        ("Labor", "labor", order.tasks.iter().map(task).collect(), order.labor),
    ];
    for (heading, key, rows, amount) in kinds {
        if !rows.is_empty() {
            let section = Section::headed(heading, rows).keyed(key).with_total(together(amount));
            table = table.with_section(section);
        }
    }
    table.notes.push(
        "What was planned and not done is credited. What is pulled, set or hung is not, and taking it out is work. Cable \
         by its length at the cheapest reel, parts by the piece, without waste."
            .into(),
    );
    if order.lines.iter().any(|line| line.why == OrderWhy::MayNotReach) {
        table.cautions.push(
            "A cable that is pulled has to go farther than it was planned to: see on site whether it reaches. \
             Until then the sum is not known."
                .into(),
        );
    }
    table
}

fn material(line: &OrderLine) -> Row {
    let quantity = line.quantity.map_or_else(
        || Text::from(UNKNOWN),
        |quantity| format!("{}{}", quantity.normalize(), if line.is_feet { " ft" } else { "" }).into(),
    );
    let each = match line.why {
        OrderWhy::NotCredited | OrderWhy::MayNotReach => Cell::Blank,
        _ => Cell::Money(line.each),
    };
    let part = line.part.as_ref().map(|part| part.id.as_str());
    let name = match part {
        Some(part) if *part != line.subject.id && line.name.is_empty() => part.to_owned(),
        Some(part) if *part != line.subject.id => format!("{part}, {}", line.name),
        _ => line.name.clone(),
    };
    Row::new(vec![
        Cell::from(line.subject.id.as_str()),
        Cell::from(name),
        Cell::text(line.why.words()),
        Cell::Text(quantity),
        each,
        Cell::Money(line.cost),
    ])
    .about(line.subject.clone())
}

fn task(task: &OrderTask) -> Row {
    let named: Vec<&str> = task.on.iter().take(MOST_NAMED).map(|subject| subject.id.as_str()).collect();
    let more = task.on.len().saturating_sub(MOST_NAMED);
    let more = if more > 0 { format!(" and {more} more") } else { String::new() };
    let count = |figure: Option<Decimal>| {
        figure.map_or_else(|| UNKNOWN.to_owned(), |figure| figure.normalize().to_string())
    };
    let hours = task.hours_each.map_or(Cell::Unknown, |each| Cell::from(format!("{} h", each.normalize())));
    Row::new(vec![
        Cell::from(format!("{}{more}", named.join(" "))),
        Cell::text(task.name),
        Cell::text(task.why.words()),
        Cell::from(count(task.count)),
        hours,
        Cell::Money(task.cost),
    ])
}

fn percent(rate: Option<Rate>) -> String {
    rate.map_or_else(|| UNKNOWN.to_owned(), |rate| rate.get().normalize().to_string())
}

fn sums(new: &Design, order: &Order) -> Table {
    let estimate = &new.job.estimate;
    let sums = &order.sums;
    let line = |what: String, amount: Amount| Row::new(vec![Cell::from(what), Cell::Money(amount.exact())]);
    let tax = percent(estimate.tax_percent);
    let mut rows = vec![line("materials".into(), order.materials)];
    if estimate.tax_on == TaxOn::Materials {
        rows.push(line(format!("sales tax on materials, {tax} %"), sums.tax_on_materials));
    }
    let hours = order.hours.map_or_else(|| UNKNOWN.to_owned(), |hours| hours.normalize().to_string());
    let rate = format::money(estimate.hourly_rate.map(Money::amount));
    rows.push(line(format!("labor, {hours} h at {rate}"), order.labor));
    rows.push(line(
        format!("overhead, {} % of the above", percent(estimate.overhead_percent)),
        sums.overhead,
    ));
    rows.push(line("cost".into(), sums.cost));
    rows.push(line(format!("margin, {} % of the price", percent(estimate.margin_percent)), sums.margin));
    if estimate.tax_on == TaxOn::Price {
        rows.push(line("price".into(), sums.price));
        rows.push(line(format!("sales tax on it, {tax} %"), sums.tax_on_price));
    }
    let columns =
        vec![Column::text("what", "").width(24, 60).grow(), Column::figure("amount", "amount").width(10, 24)];
    let mut table = Table::new("change-order-sum", "What the change order comes to", columns).with_rows(rows);
    table.totals.push(line("to the contract sum".into(), sums.total));
    let unknown = order.unknown();
    if unknown > 0 {
        let lines = if unknown == 1 { "1 line has".to_owned() } else { format!("{unknown} lines have") };
        table
            .lead
            .push(format!("{lines} no known cost, so the sums that hold them have none either.").into());
    }
    table.notes.push(
        "A minus is a credit. Tax, overhead and margin are those of the bid, on credits too: a contract may say otherwise. \
         For the office: costs and margin are on it."
            .into(),
    );
    table
}
