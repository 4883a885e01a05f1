//! The bid as the office sees it: every line with its cost, then what the firm puts on them. Not for the client.

use super::bid::room_name;
use super::money;
use super::{Cell, Column, Row, Section, Table, Weight};
use crate::design::Design;
use crate::format::{self, UNKNOWN};
use crate::job::{Id, TaxOn};
use crate::plan::reels::ReelFrom;
use crate::takeoff::{self, Amount, Bid, CableMaterial, Group, Material};
use crate::units::{Money, Rate};
use rust_decimal::Decimal;
use serde::Serialize;

/// The document of the sheet `costs`.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Costs {
    /// What parts cost.
    pub materials: Vec<MaterialCost>,
    /// What work costs.
    pub labor: Vec<TaskCost>,
    /// All materials.
    pub materials_total: Amount,
    /// All labor.
    pub labor_total: Amount,
    /// Hours of labor; null while a task has none.
    pub hours: Option<Decimal>,
    /// The tax that the firm pays on materials.
    pub tax_on_materials: Amount,
    /// Overhead.
    pub overhead: Amount,
    /// All of these.
    pub cost: Amount,
    /// What is left of the price.
    pub margin: Amount,
    /// Cost and margin.
    pub price: Amount,
    /// Allowances as they stand.
    pub allowances: Amount,
    /// The tax that the client pays.
    pub tax_on_price: Amount,
    /// All that the client pays.
    pub total: Amount,
    /// What each room costs and is priced at.
    pub rooms: Vec<RoomCost>,
    /// What is not known, in words.
    pub missing: Vec<String>,
}

/// A part in [`Costs`].
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct MaterialCost {
    /// Its name in `materials/KEY/cost`.
    pub key: String,
    /// What people call it.
    pub name: String,
    /// Whole pieces; for cable the reels.
    pub quantity: Decimal,
    /// What a pack, or a piece where there are none, costs.
    pub price: Option<Decimal>,
    /// Pieces that the price is for.
    pub pack: u32,
    /// What it comes to.
    pub cost: Amount,
}

/// A task in [`Costs`].
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct TaskCost {
    /// Its name in `labor/KEY/cost`.
    pub key: &'static str,
    /// What is done.
    pub name: &'static str,
    /// How often.
    pub count: Decimal,
    /// Hours each time.
    pub hours_each: Option<Decimal>,
    /// Hours in all.
    pub hours: Option<Decimal>,
    /// What it comes to.
    pub cost: Amount,
}

/// A room in [`Costs`].
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct RoomCost {
    /// The room's id; null for what serves the whole house.
    pub room: Option<String>,
    /// Materials.
    pub materials: Amount,
    /// Labor.
    pub labor: Amount,
    /// Its part of the price before tax and allowances.
    pub price: Amount,
}

/// The document for machines.
pub fn document(design: &Design) -> Costs {
    let bid = takeoff::price(design);
    let missing = missing(design, &bid);
    let cables = bid.takeoff.cables.iter().map(|cable| MaterialCost {
        key: cable.part.id.clone(),
        name: cable.name.clone(),
        quantity: Decimal::from(cable.plan.reels.len()),
        price: None,
        pack: 1,
        cost: cable.cost,
    });
    let parts = bid.takeoff.materials.iter().map(|made| MaterialCost {
        key: made.key.clone(),
        name: made.name.clone(),
        quantity: made.quantity,
        price: made.price,
        pack: made.pack.map_or(1, std::num::NonZeroU32::get),
        cost: made.cost,
    });
    Costs {
        materials: cables.chain(parts).collect(),
        labor: bid
            .takeoff
            .labor
            .iter()
            .map(|task| TaskCost {
                key: task.key,
                name: task.name,
                count: task.count,
                hours_each: task.hours_each,
                hours: task.hours,
                cost: task.cost,
            })
            .collect(),
        materials_total: bid.materials,
        labor_total: bid.labor,
        hours: bid.hours,
        tax_on_materials: bid.tax_on_materials,
        overhead: bid.overhead,
        cost: bid.cost,
        margin: bid.margin,
        price: bid.price,
        allowances: bid.allowances,
        tax_on_price: bid.tax_on_price,
        total: bid.total,
        rooms: bid
            .rooms
            .iter()
            .map(|share| RoomCost {
                room: share.room.as_ref().map(Id::to_string),
                materials: share.materials,
                labor: share.labor,
                price: share.price,
            })
            .collect(),
        missing,
    }
}

/// Every figure that a total waits for, each once.
fn missing(design: &Design, bid: &Bid) -> Vec<String> {
    let estimate = &design.job.estimate;
    let mut all = Vec::new();
    for cable in bid.takeoff.cables.iter().filter(|cable| cable.cost.exact().is_none()) {
        all.push(format!("cable {}: {}", cable.part.id, cable_gap(cable)));
    }
    for made in bid.takeoff.materials.iter().filter(|made| made.cost.exact().is_none()) {
        all.push(match (&made.part, made.uncounted) {
            (None, _) => made.name.clone(),
            (Some(_), 0) => format!("the price of {}, {}", made.key, made.name),
            (Some(_), n) => format!("the count of {}: {n} things of unknown size", made.key),
        });
    }
    let tasks = bid.takeoff.labor.iter();
    all.extend(
        tasks.clone().filter(|task| task.hours_each.is_none()).map(|task| format!("hours to {}", task.name)),
    );
    let uncounted =
        |task: &&takeoff::Task| task.uncounted > 0 && task.hours_each.is_some_and(|hours| !hours.is_zero());
    all.extend(
        tasks.filter(uncounted).map(|task| format!("{}: {} of unknown length", task.name, task.uncounted)),
    );
    let firm = [
        (estimate.hourly_rate.is_none(), "the hourly rate"),
        (estimate.overhead_percent.is_none(), "the overhead, in percent"),
        (estimate.margin_percent.is_none(), "the margin, in percent"),
        (estimate.tax_percent.is_none(), "the tax, in percent"),
    ];
    all.extend(firm.into_iter().filter(|(none, _)| *none).map(|(_, what)| what.to_owned()));
    all
}

fn cable_gap(cable: &CableMaterial) -> String {
    let plan = &cable.plan;
    if plan.unplanned.is_some() {
        return "the catalogue names no reel that can be bought".into();
    }
    match (plan.unknown.len(), plan.too_long.len()) {
        (0, 0) => "a reel has no price".into(),
        (0, n) => format!("{n} cuts are longer than every reel"),
        (n, _) => format!("{n} cables of unknown length"),
    }
}

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
