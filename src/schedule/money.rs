//! Amounts as cells.

use super::Cell;
use crate::format;
use crate::job::Estimate;
use crate::takeoff::Amount;

/// An amount, or what it is at least.
pub(super) fn cell(amount: Amount) -> Cell {
    match amount.exact() {
        Some(exact) => Cell::Money(Some(exact)),
        None if amount.at_least().is_zero() => Cell::Unknown,
        None => Cell::from(format!("at least {}", format::money(Some(amount.at_least())))),
    }
}

/// The same in a sentence, with its currency.
pub(super) fn words(estimate: &Estimate, amount: Amount) -> String {
    let sum = |decimal| format!("{}{}", estimate.currency, format::grouped(decimal));
    match amount.exact() {
        Some(exact) => sum(exact),
        None => format!("at least {}", sum(amount.at_least())),
    }
}
