//! The bid as the client sees it: prices, scope and terms. No cost, rate or margin of the firm is on it.

use super::money;
use super::names::called;
use super::{Cell, Column, Row, Section, Table, Weight};
use crate::design::Design;
use crate::job::{Estimate, Id, TaxOn};
use crate::takeoff::{self, Alternate, Amount, Bid, Group};
use rust_decimal::Decimal;
use rust_decimal::prelude::ToPrimitive;
use serde::Serialize;

/// The document of the sheet `bid`.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ClientBid {
    /// Whom it is for.
    pub client: String,
    /// What stands before an amount.
    pub currency: String,
    /// What each room comes to, before tax and allowances.
    pub rooms: Vec<RoomPrice>,
    /// Sums for what is still to be chosen.
    pub allowances: Vec<Line>,
    /// All rooms together.
    pub price: Amount,
    /// The tax on price and allowances; null where it is part of the price.
    pub tax: Option<Amount>,
    /// All that the client pays.
    pub total: Amount,
    /// What could be done otherwise.
    pub alternates: Vec<AlternatePrice>,
    /// What is in the price.
    pub included: Vec<Included>,
    /// Work that others do.
    pub by_others: Vec<String>,
    /// What is not in the price.
    pub exclusions: Vec<String>,
    /// The last day on which the bid may be taken.
    pub valid_until: Option<String>,
    /// How many days from the date on the sheet it may be taken.
    pub valid_days: Option<u16>,
}

/// A room in [`ClientBid`].
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct RoomPrice {
    /// The room's id; null for what serves the whole house.
    pub room: Option<String>,
    /// What people call it.
    pub name: String,
    /// What it comes to.
    pub price: Amount,
}

/// A sum with what it is for in [`ClientBid`].
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Line {
    /// What for.
    pub name: String,
    /// How much.
    pub amount: Decimal,
}

/// An alternate in [`ClientBid`].
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct AlternatePrice {
    /// A name that stays.
    pub key: String,
    /// What is done otherwise.
    pub what: String,
    /// How much more the client pays; less where it is negative, null while it is unknown.
    pub difference: Option<Decimal>,
}

/// Parts in the price in [`ClientBid`].
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Included {
    /// How many.
    pub count: Decimal,
    /// What.
    pub name: String,
}

/// The document for machines: what is on the client's page, and nothing else.
pub fn document(design: &Design) -> ClientBid {
    let bid = takeoff::price(design);
    let estimate = &design.job.estimate;
    ClientBid {
        client: estimate.client.clone(),
        currency: estimate.currency.clone(),
        rooms: bid
            .rooms
            .iter()
            .map(|share| RoomPrice {
                room: share.room.as_ref().map(Id::to_string),
                name: room_name(design, share.room.as_ref()),
                price: share.price,
            })
            .collect(),
        allowances: estimate
            .allowances
            .iter()
            .map(|sum| Line { name: sum.name.clone(), amount: sum.amount.amount() })
            .collect(),
        price: bid.price,
        tax: (estimate.tax_on == TaxOn::Price).then_some(bid.tax_on_price),
        total: bid.total,
        alternates: takeoff::alternates(design, &bid)
            .into_iter()
            .map(|other| AlternatePrice { key: other.key, what: other.what, difference: other.difference })
            .collect(),
        included: included(&bid),
        by_others: estimate.by_others.clone(),
        exclusions: estimate.exclusions.clone(),
        valid_until: estimate.valid_until.map(|day| day.to_string()),
        valid_days: estimate.valid_days,
    }
}

/// The name of a room, or what the whole house is called.
pub(super) fn room_name(design: &Design, room: Option<&Id>) -> String {
    let Some(id) = room else { return "Whole house: panel and supplies".into() };
    design
        .index
        .room(&design.job, id)
        .map_or_else(|| id.to_string(), |(_, room)| called(&room.name, &room.id))
}

/// What is in the price, counted and by name, without small parts.
fn included(bid: &Bid) -> Vec<Included> {
    let shown = [Group::Fixtures, Group::Controls, Group::Supplies, Group::Boxes];
    let of_group = |group: Group| {
        let of = bid.takeoff.materials.iter().filter(move |made| made.group == group);
        of.map(|made| Included { count: made.counted, name: made.name.clone() })
    };
    shown.into_iter().flat_map(of_group).collect()
}

/// The client's page: what it costs, what else there is, what is in it and what is not.
pub fn tables(design: &Design) -> Vec<Table> {
    let bid = takeoff::price(design);
    let mut tables = vec![prices(design, &bid)];
    let alternates = takeoff::alternates(design, &bid);
    if !alternates.is_empty() {
        tables.push(other_prices(&design.job.estimate, &alternates));
    }
    tables.push(scope(design, &bid));
    tables
}

fn prices(design: &Design, bid: &Bid) -> Table {
    let estimate = &design.job.estimate;
    let mut table = Table::new(
        "bid",
        "Bid",
        vec![
            Column::text("room", "for").width(16, 60).grow(),
            Column::figure("price", "price").width(10, 24),
        ],
    );
    if !estimate.client.is_empty() {
        table.lead.push(format!("For {}", estimate.client).into());
    }
    table.lead.push(
        format!("Low-voltage lighting as planned: {} in all.", money::words(estimate, bid.total)).into(),
    );
    table.lead.extend(validity(estimate).map(Into::into));
    let rows = bid.rooms.iter().map(|share| {
        Row::new(vec![Cell::from(room_name(design, share.room.as_ref())), money::cell(share.price)])
    });
    table = table.with_section(Section::headed("Rooms", rows.collect()).keyed("rooms"));
    if !estimate.allowances.is_empty() {
        let rows = estimate
            .allowances
            .iter()
            .map(|sum| Row::new(vec![Cell::from(sum.name.clone()), Cell::Money(Some(sum.amount.amount()))]));
        let heading = "Allowances: settled by what is chosen";
        table = table.with_section(Section::headed(heading, rows.collect()).keyed("allowances"));
    }
    let mut total = |name: &str, amount: Amount| {
        table.totals.push(Row::new(vec![Cell::text(name), money::cell(amount)]));
    };
    if !estimate.allowances.is_empty() || estimate.tax_on == TaxOn::Price {
        total("rooms together", bid.price);
    }
    if !estimate.allowances.is_empty() {
        total("allowances", bid.allowances);
    }
    if estimate.tax_on == TaxOn::Price {
        total("sales tax", bid.tax_on_price);
    }
    total("total", bid.total);
    if bid.total.exact().is_none() {
        table
            .cautions
            .push("Not a firm price: something it is reckoned with is not known yet. Do not sign.".into());
    }
    if !estimate.currency.trim().is_empty() {
        table.notes.push(format!("Amounts are in {}.", estimate.currency).into());
    }
    table
}

/// How long the bid may be taken.
fn validity(estimate: &Estimate) -> Option<String> {
    match (estimate.valid_until, estimate.valid_days) {
        (Some(day), _) => Some(format!("It may be taken until {day}.")),
        (None, Some(1)) => {
            Some("It may be taken on the day after the date of this sheet at the latest.".into())
        }
        (None, Some(days)) => Some(format!("It may be taken within {days} days of the date of this sheet.")),
        (None, None) => None,
    }
}

/// A difference in price with its sign.
fn difference(difference: Option<Decimal>) -> Cell {
    match difference {
        None => Cell::Unknown,
        Some(less) if less.is_sign_negative() && !less.is_zero() => {
            Cell::from(format!("deduct {}", crate::format::money(Some(-less))))
        }
        Some(more) => Cell::from(format!("add {}", crate::format::money(Some(more)))),
    }
}

fn other_prices(estimate: &Estimate, alternates: &[Alternate]) -> Table {
    let rows = alternates
        .iter()
        .map(|other| Row::new(vec![Cell::from(other.what.clone()), difference(other.difference)]));
    let mut table = Table::new(
        "alternates",
        "Alternates",
        vec![
            Column::text("what", "instead of what is planned").width(20, 70).grow(),
            Column::figure("difference", "to the total").width(16, 20),
        ],
    )
    .with_rows(rows.collect());
    let tax = if estimate.tax_percent.is_some() { ", tax in it" } else { "" };
    table.notes.push(
        format!("Each alternate is reckoned by itself{tax}; two together may differ from their sum.").into(),
    );
    table
}

fn scope(design: &Design, bid: &Bid) -> Table {
    let estimate = &design.job.estimate;
    let counted = |count: Decimal| count.to_i64().map_or(Cell::Unknown, Cell::Count);
    let included: Vec<Row> = included(bid)
        .into_iter()
        .map(|part| Row::new(vec![counted(part.count), Cell::from(part.name)]))
        .collect();
    let lines = |lines: &[String]| -> Vec<Row> {
        lines.iter().map(|line| Row::new(vec![Cell::Blank, Cell::from(line.clone())])).collect()
    };
    let mut table = Table::new(
        "scope",
        "What is in the price, and what is not",
        vec![Column::figure("count", "").width(4, 6), Column::text("what", "").width(24, 90).grow()],
    )
    .with_section(
        Section::headed("In the price, set, connected and tested, with their cables", included)
            .keyed("included"),
    );
    for (heading, key, said) in [
        ("Done by others", "by-others", &estimate.by_others),
        ("Not in the price", "exclusions", &estimate.exclusions),
    ] {
        let rows = if said.is_empty() {
            vec![Row::new(vec![Cell::Blank, Cell::Flag(Weight::Plain, "nothing stated".into())])]
        } else {
            lines(said)
        };
        table = table.with_section(Section::headed(heading, rows).keyed(key));
    }
    table
}
