//! The bid as the office sees it: every line with its cost, then what the firm puts on them. Not for the client.

mod document;

pub use document::{Costs, MaterialCost, RoomCost, TaskCost, document};

use super::bid::room_name;
use super::money;
use super::{Cell, Column, Row, Section, Table, Weight};
use crate::design::Design;
use crate::format::{self, UNKNOWN};
use crate::job::TaxOn;
use crate::plan::reels::ReelFrom;
use crate::takeoff::{self, Amount, Bid, CableMaterial, Group, Material};
use crate::units::{Money, Rate};
use document::{cable_gap, missing};
use rust_decimal::Decimal;

/// The office's pages: the sum, materials, labor, rooms, and what is missing.
pub fn tables(design: &Design) -> Vec<Table> {
    let bid = takeoff::price(design);
    let missing = missing(design, &bid);
    let mut tables =
        vec![summary(design, &bid, missing.len()), materials(&bid), labor(design, &bid), rooms(design, &bid)];
    if !missing.is_empty() {
        let rows = missing.into_iter().map(|what| Row::new(vec![Cell::Flag(Weight::Caution, what.into())]));
        let column = Column::text("what", "what the totals wait for").width(24, 90).grow();
        tables.push(Table::new("missing", "Missing figures", vec![column]).with_rows(rows.collect()));
    }
    for table in &mut tables {
        table.cautions.insert(
            0,
            "For the office alone: costs and margin are on it. The client's page is the sheet 'bid'.".into(),
        );
        table.cautions.truncate(1);
    }
    tables
}

fn percent(rate: Option<Rate>) -> String {
    rate.map_or_else(|| UNKNOWN.to_owned(), |rate| rate.get().normalize().to_string())
}

fn summary(design: &Design, bid: &Bid, missing: usize) -> Table {
    let estimate = &design.job.estimate;
    let line = |what: String, amount: Amount| Row::new(vec![Cell::from(what), money::cell(amount)]);
    let mut rows = vec![line("materials".into(), bid.materials)];
    if estimate.tax_on == TaxOn::Materials {
        let what = format!("sales tax on materials, {} %", percent(estimate.tax_percent));
        rows.push(line(what, bid.tax_on_materials));
    }
    let hours = bid.hours.map_or_else(|| UNKNOWN.to_owned(), |hours| hours.normalize().to_string());
    let rate = format::money(estimate.hourly_rate.map(Money::amount));
    rows.push(line(format!("labor, {hours} h at {rate}"), bid.labor));
    rows.push(line(format!("overhead, {} % of the above", percent(estimate.overhead_percent)), bid.overhead));
    rows.push(line("cost".into(), bid.cost));
    rows.push(line(format!("margin, {} % of the price", percent(estimate.margin_percent)), bid.margin));
    rows.push(line("price".into(), bid.price));
    if !estimate.allowances.is_empty() {
        rows.push(line("allowances, as they stand".into(), bid.allowances));
    }
    if estimate.tax_on == TaxOn::Price {
        rows.push(line(
            format!("sales tax on all of it, {} %", percent(estimate.tax_percent)),
            bid.tax_on_price,
        ));
    }
    let mut table = Table::new(
        "costs",
        "Costs and price",
        vec![Column::text("what", "").width(24, 60).grow(), Column::figure("amount", "amount").width(10, 24)],
    )
    .with_rows(rows);
    table.totals.push(line("total to the client".into(), bid.total));
    if missing > 0 {
        let figures = if missing == 1 { "1 figure is".to_owned() } else { format!("{missing} figures are") };
        table.lead.push(
            format!("{} in all: {figures} missing.", capital(&money::words(estimate, bid.total))).into(),
        );
    }
    table.notes.push(
        "Every line is rounded to the cent, half a cent up; totals add lines. price = cost / (1 - margin)."
            .into(),
    );
    table
}

fn capital(text: &str) -> String {
    let mut chars = text.chars();
    chars.next().map_or_else(String::new, |first| first.to_uppercase().chain(chars).collect())
}

fn quantity(figure: Decimal) -> Cell {
    Cell::from(figure.normalize().to_string())
}

fn materials(bid: &Bid) -> Table {
    let mut table = Table::new(
        "material-costs",
        "Materials",
        vec![
            Column::text("part", "part").width(6, 14),
            Column::text("name", "").width(20, 40).grow(),
            Column::figure("quantity", "quantity").width(5, 10),
            Column::figure("price", "price").width(7, 12),
            Column::text("per", "per").width(11, 12).yields(1),
            Column::figure("cost", "cost").width(8, 18),
        ],
    );
    let total = |rows: &[Amount]| {
        Row::new(vec![
            Cell::text("together"),
            Cell::Blank,
            Cell::Blank,
            Cell::Blank,
            Cell::Blank,
            money::cell(rows.iter().copied().sum()),
        ])
    };
    let cables: Vec<Row> = bid.takeoff.cables.iter().flat_map(cable_rows).collect();
    if !cables.is_empty() {
        let costs: Vec<Amount> = bid.takeoff.cables.iter().map(|cable| cable.cost).collect();
        table = table.with_section(Section::headed("Cable", cables).keyed("cable").with_total(total(&costs)));
    }
    for group in Group::ALL {
        let of: Vec<&Material> = bid.takeoff.materials.iter().filter(|made| made.group == group).collect();
        if of.is_empty() {
            continue;
        }
        let rows = of.iter().map(|made| material_row(made)).collect();
        let costs: Vec<Amount> = of.iter().map(|made| made.cost).collect();
        let section = Section::headed(group.word(), rows).keyed(group.key()).with_total(total(&costs));
        table = table.with_section(section);
    }
    table.totals.push(Row::new(vec![
        Cell::text("total"),
        Cell::Blank,
        Cell::Blank,
        Cell::Blank,
        Cell::Blank,
        money::cell(bid.materials),
    ]));
    table.notes.push("Cable costs whole reels; what comes from a reel on hand costs the lowest price for its length. Other parts cost their pieces: what is left of a pack stays with the firm.".into());
    table
}

fn material_row(made: &Material) -> Row {
    let name = match made.part {
        Some(_) => Cell::from(made.name.clone()),
        None => Cell::Flag(Weight::Caution, made.name.as_str().into()),
    };
    let row = Row::new(vec![
        Cell::from(made.part.as_ref().map_or("", |_| made.key.as_str())),
        name,
        quantity(made.quantity),
        Cell::Money(made.price),
        Cell::from(made.pack.map_or_else(|| "each".to_owned(), |pack| format!("pack of {pack}"))),
        money::cell(made.cost),
    ]);
    match &made.part {
        Some(part) => row.about(part.clone()),
        None => row,
    }
}

/// A row for each size of reel, one for what comes from reels on hand, and one for what has none.
fn cable_rows(cable: &CableMaterial) -> Vec<Row> {
    let mut sizes: Vec<(String, Option<Decimal>, usize)> = Vec::new();
    let mut on_hand = 0;
    for reel in &cable.plan.reels {
        let ReelFrom::Bought(price) = reel.from else {
            on_hand += 1;
            continue;
        };
        let length = reel.length.written();
        match sizes.iter_mut().find(|(of, _, _)| *of == length) {
            Some((_, _, count)) => *count += 1,
            None => sizes.push((length, price, 1)),
        }
    }
    let row = |name: Cell, count: Cell, price: Cell, per: String, cost: Cell| {
        Row::new(vec![Cell::from(&cable.part.id), name, count, price, Cell::from(per), cost])
            .about(cable.part.clone())
    };
    let mut rows: Vec<Row> = sizes
        .into_iter()
        .map(|(length, price, count)| {
            let count = Decimal::from(count);
            let cost = price.and_then(|price| price.checked_mul(count));
            let per = format!("{length} reel");
            row(Cell::from(cable.name.clone()), quantity(count), Cell::Money(price), per, Cell::Money(cost))
        })
        .collect();
    if on_hand > 0 {
        let bought: Option<Decimal> = cable.plan.cost;
        let rest = cable.cost.exact().zip(bought).and_then(|(all, bought)| all.checked_sub(bought));
        let name = Cell::from(format!("{}, from reels on hand", cable.name));
        rows.push(row(
            name,
            quantity(Decimal::from(on_hand)),
            Cell::Blank,
            "on hand".into(),
            Cell::Money(rest),
        ));
    }
    if cable.cost.exact().is_none() {
        let name = Cell::Flag(Weight::Caution, cable_gap(cable).into());
        rows.push(row(name, Cell::Unknown, Cell::Unknown, String::new(), Cell::Unknown));
    }
    rows
}

fn labor(design: &Design, bid: &Bid) -> Table {
    let rows = bid.takeoff.labor.iter().map(|task| {
        Row::new(vec![
            Cell::from(task.name),
            quantity(task.count),
            task.hours_each.map_or(Cell::Unknown, quantity),
            task.hours.map_or(Cell::Unknown, quantity),
            money::cell(task.cost),
        ])
    });
    let mut table = Table::new(
        "labor",
        "Labor",
        vec![
            Column::text("task", "task").width(14, 34).grow(),
            Column::figure("count", "count").width(5, 10),
            Column::figure("hours_each", "h each").width(5, 9),
            Column::figure("hours", "hours").width(5, 10),
            Column::figure("cost", "cost").width(8, 18),
        ],
    )
    .with_rows(rows.collect());
    table.totals.push(Row::new(vec![
        Cell::text("total"),
        Cell::Blank,
        Cell::Blank,
        bid.hours.map_or(Cell::Unknown, quantity),
        money::cell(bid.labor),
    ]));
    let rate = format::money(design.job.estimate.hourly_rate.map(Money::amount));
    table.notes.push(
        format!(
            "Hours are those of one person, at {rate} an hour. They are the firm's own; none are built in."
        )
        .into(),
    );
    table
}

fn rooms(design: &Design, bid: &Bid) -> Table {
    let rows = bid.rooms.iter().map(|share| {
        Row::new(vec![
            Cell::from(room_name(design, share.room.as_ref())),
            money::cell(share.materials),
            money::cell(share.labor),
            money::cell(share.price),
        ])
    });
    let mut table = Table::new(
        "room-costs",
        "Rooms",
        vec![
            Column::text("room", "room").width(14, 36).grow(),
            Column::figure("materials", "materials").width(8, 18),
            Column::figure("labor", "labor").width(8, 18),
            Column::figure("price", "price").width(8, 18),
        ],
    )
    .with_rows(rows.collect());
    table.totals.push(Row::new(vec![
        Cell::text("total"),
        money::cell(bid.materials),
        money::cell(bid.labor),
        money::cell(bid.price),
    ]));
    table.notes.push("Lines are shared out over rooms by what they were counted from, the price by materials and labor of each room.".into());
    table
}
