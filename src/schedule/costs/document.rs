//! The document of the costs, for programs, and what its totals wait for.

use crate::design::Design;
use crate::job::Id;
use crate::takeoff::{self, Amount, Bid, CableMaterial};
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
pub(super) fn missing(design: &Design, bid: &Bid) -> Vec<String> {
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

pub(super) fn cable_gap(cable: &CableMaterial) -> String {
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
