//! What a job needs and what it comes to, counted by hand on a small job.

use crate::support::{STARTER, project};
use studbay::design::Design;
use studbay::job::{read, write};
use studbay::takeoff::{self, Bid};

fn design(text: &str) -> Design {
    Design::derive(read::from_str("test.ron", text).unwrap().0)
}

#[test]
fn what_is_not_priced_makes_every_total_unknown() {
    let bid: Bid = takeoff::price(&design(STARTER));
    assert!(bid.total.exact().is_none() && bid.total.missing() > 5, "{:?}", bid.total);
    assert!(bid.price.exact().is_none() && bid.cost.exact().is_none());
}

#[test]
fn zz_lay_out() {
    for name in ["cottage", "two-story"] {
        let path = project("sample-jobs").join(format!("{name}.ron"));
        let job = read::from_str("x", &std::fs::read_to_string(&path).unwrap()).unwrap().0;
        std::fs::write(&path, write::to_string(&job).unwrap()).unwrap();
    }
}
