//! The price: materials and labor, then what the firm puts on them.

use super::Facts;
use super::amount::Amount;
use super::cables::{CableMaterial, cables};
use super::count::materials;
use super::labor::{Task, labor};
use super::material::Material;
use super::rooms::{RoomShare, rooms};
use crate::design::Design;
use crate::job::{Estimate, TaxOn};
use crate::units::{Rate, to_cents};
use rust_decimal::Decimal;

/// What a job needs: parts, cable and work.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Takeoff {
    /// Parts but cable.
    pub materials: Vec<Material>,
    /// Cable by type.
    pub cables: Vec<CableMaterial>,
    /// Tasks.
    pub labor: Vec<Task>,
}

/// What it comes to.
///
/// Materials and labor are sums of lines, each rounded to the cent. A tax on materials is a cost. Overhead is a
/// percentage of all costs; the margin is a percentage of the price before tax, so that price = costs / (1 - margin).
/// Allowances are added as they stand, and a tax on the price falls on both.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Bid {
    /// What the job needs.
    pub takeoff: Takeoff,
    /// Materials, cable among them.
    pub materials: Amount,
    /// Labor.
    pub labor: Amount,
    /// Hours of labor; none while a task has no hours.
    pub hours: Option<Decimal>,
    /// A tax that the firm pays on materials.
    pub tax_on_materials: Amount,
    /// Overhead on all of these.
    pub overhead: Amount,
    /// Costs: all of these together.
    pub cost: Amount,
    /// What is left of the price when the costs are paid.
    pub margin: Amount,
    /// Costs and margin.
    pub price: Amount,
    /// Sums for what is still to be chosen.
    pub allowances: Amount,
    /// A tax that the client pays on price and allowances.
    pub tax_on_price: Amount,
    /// All that the client pays.
    pub total: Amount,
    /// What each room comes to.
    pub rooms: Vec<RoomShare>,
}

/// Counts what a job needs.
pub fn take_off(design: &Design) -> Takeoff {
    counted(Facts::of(design))
}

fn counted(design: Facts<'_>) -> Takeoff {
    Takeoff { materials: materials(design), cables: cables(design), labor: labor(design) }
}

/// Prices a job.
pub fn price(design: &Design) -> Bid {
    priced(Facts::of(design))
}

pub(super) fn priced(design: Facts<'_>) -> Bid {
    let estimate = &design.job.estimate;
    let takeoff = counted(design);
    let materials: Amount = takeoff
        .materials
        .iter()
        .map(|made| made.cost)
        .chain(takeoff.cables.iter().map(|cable| cable.cost))
        .sum();
    let labor: Amount = takeoff.labor.iter().map(|task| task.cost).sum();
    let hours = takeoff.labor.iter().try_fold(Decimal::ZERO, |sum, task| sum.checked_add(task.hours?));
    let allowances: Amount =
        estimate.allowances.iter().map(|allowance| Amount::known(to_cents(allowance.amount.amount()))).sum();
    let sums = marked_up(estimate, materials, labor, allowances);
    Bid {
        rooms: rooms(design, &takeoff, sums.price),
        materials,
        labor,
        hours,
        tax_on_materials: sums.tax_on_materials,
        overhead: sums.overhead,
        cost: sums.cost,
        margin: sums.margin,
        price: sums.price,
        allowances,
        tax_on_price: sums.tax_on_price,
        total: sums.total,
        takeoff,
    }
}

/// What the firm and the state put on materials and labor.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Sums {
    /// A tax that the firm pays on materials.
    pub tax_on_materials: Amount,
    /// Overhead on materials, that tax and labor.
    pub overhead: Amount,
    /// All of these together.
    pub cost: Amount,
    /// What is left of the price when the costs are paid.
    pub margin: Amount,
    /// Costs and margin.
    pub price: Amount,
    /// A tax that the client pays on price and allowances.
    pub tax_on_price: Amount,
    /// All that the client pays.
    pub total: Amount,
}

/// Adds tax, overhead and margin as the estimate has them, each rounded to the cent.
pub fn marked_up(estimate: &Estimate, materials: Amount, labor: Amount, allowances: Amount) -> Sums {
    let percent = |rate: Option<Rate>| rate.map(Rate::get);
    let tax = percent(estimate.tax_percent);
    let tax_on_materials = match estimate.tax_on {
        TaxOn::Materials => materials.percent(tax),
        TaxOn::Price => Amount::default(),
    };
    let direct = materials.plus(only_own(tax_on_materials, materials)).plus(labor);
    let overhead = direct.percent(percent(estimate.overhead_percent));
    let cost = direct.plus(only_own(overhead, direct));
    let margin = margin(cost, percent(estimate.margin_percent));
    let price = cost.plus(only_own(margin, cost));
    let taxed = price.plus(allowances);
    let tax_on_price = match estimate.tax_on {
        TaxOn::Materials => Amount::default(),
        TaxOn::Price => taxed.percent(tax),
    };
    let total = taxed.plus(only_own(tax_on_price, taxed));
    Sums { tax_on_materials, overhead, cost, margin, price, tax_on_price, total }
}

/// What is left of the price: cost x m / (100 - m), rounded to the cent.
fn margin(cost: Amount, percent: Option<Decimal>) -> Amount {
    let of = |percent: Decimal| {
        let rest = Decimal::ONE_HUNDRED.checked_sub(percent).filter(|rest| *rest > Decimal::ZERO)?;
        cost.at_least().checked_mul(percent)?.checked_div(rest).map(to_cents)
    };
    match percent.and_then(of) {
        Some(part) => Amount::at_least_with(part, cost.missing()),
        None => Amount::at_least_with(Decimal::ZERO, cost.missing() + 1),
    }
}

/// A part of a base lacks what the base lacks; where the two are added, that must be counted once.
fn only_own(part: Amount, base: Amount) -> Amount {
    Amount::at_least_with(part.at_least(), part.missing().saturating_sub(base.missing()))
}
