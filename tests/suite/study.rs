//! The study of whole jobs: laws that hold in any network, and agreement with what can be worked by hand.

use crate::support::STARTER;
use studbay::design::Design;
use studbay::job::read;

fn design(text: &str) -> Design {
    Design::derive(read::from_str("test", text).unwrap().0)
}

#[test]
fn show() {
    let d = design(STARTER);
    println!("{:#?}\n{:#?}", d.study, d.findings);
    println!("{}", serde_json::to_string_pretty(&studbay::schedule::voltages::document(&d)).unwrap());
    println!("{}", serde_json::to_string_pretty(&studbay::schedule::cables::document(&d)).unwrap());
}
