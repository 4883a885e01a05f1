//! What a job needs and what it comes to, counted by hand on a small job.

use crate::support::{STARTER, starter_with};
use rust_decimal::Decimal;
use studbay::design::Design;
use studbay::job::read;
use studbay::takeoff::{self, Bid};

fn design(text: &str) -> Design {
    Design::derive(read::from_str("test.ron", text).unwrap().0)
}

fn dollars(text: &str) -> Decimal {
    Decimal::from_str_exact(text).unwrap()
}

#[test]
fn what_is_not_priced_makes_every_total_unknown() {
    let bid: Bid = takeoff::price(&design(STARTER));
    assert!(bid.total.exact().is_none() && bid.total.missing() > 5, "{:?}", bid.total);
    assert!(bid.price.exact().is_none() && bid.cost.exact().is_none());
}
