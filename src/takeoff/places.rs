//! What quantities were counted from, and how amounts are shared out over rooms.

use crate::job::{Id, Subject};
use crate::units::to_cents;
use rust_decimal::Decimal;

/// One thing that a quantity was counted from.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Source {
    /// The thing.
    pub subject: Subject,
    /// The room it is counted in; `None` for what serves the whole house.
    pub room: Option<Id>,
    /// How much of the quantity it needs.
    pub quantity: Decimal,
}

impl Source {
    /// A thing that needs so much.
    pub const fn new(subject: Subject, room: Option<Id>, quantity: Decimal) -> Self {
        Self { subject, room, quantity }
    }
}

/// The sum of what the sources need.
pub(super) fn total(from: &[Source]) -> Decimal {
    from.iter().fold(Decimal::ZERO, |sum, source| sum.checked_add(source.quantity).unwrap_or(sum))
}

/// Shares an amount out in whole cents by weights, so that the shares add up to it exactly: each gets its part rounded
/// down, and the cents left over go to the largest remainders, the first ones first.
pub fn split(amount: Decimal, weights: &[Decimal]) -> Vec<Decimal> {
    let amount = to_cents(amount);
    let all: Decimal =
        weights.iter().fold(Decimal::ZERO, |sum, weight| sum.checked_add(*weight).unwrap_or(sum));
    if weights.is_empty() {
        return Vec::new();
    }
    let mut shares = vec![Decimal::ZERO; weights.len()];
    if all.is_zero() {
        shares[0] = amount;
        return shares;
    }
    let cent = Decimal::new(1, 2);
    let mut rests = Vec::with_capacity(weights.len());
    let mut given = Decimal::ZERO;
    for (share, weight) in shares.iter_mut().zip(weights) {
        let exact = weight
            .checked_div(all)
            .and_then(|part| amount.checked_mul(part.round_dp(20)))
            .unwrap_or_default();
        *share = exact.trunc_with_scale(2);
        rests.push(exact - *share);
        given += *share;
    }
    let mut order: Vec<usize> = (0..weights.len()).collect();
    order.sort_by(|&a, &b| rests[b].cmp(&rests[a]).then(a.cmp(&b)));
    for at in order {
        if given >= amount {
            break;
        }
        shares[at] += cent;
        given += cent;
    }
    shares
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn shares_add_up_to_the_cent(cents in 0..100_000_000_i64, weights in prop::collection::vec(0..10_000_u32, 1..12)) {
            let amount = Decimal::new(cents, 2);
            let weights: Vec<Decimal> = weights.into_iter().map(Decimal::from).collect();
            let shares = split(amount, &weights);
            prop_assert_eq!(shares.iter().sum::<Decimal>(), amount);
            let all: Decimal = weights.iter().sum();
            for (share, weight) in shares.iter().zip(&weights) {
                if !all.is_zero() {
                    let exact = amount * weight / all;
                    prop_assert!((share - exact).abs() <= Decimal::new(1, 2), "{} for {}", share, exact);
                }
            }
        }
    }
}
