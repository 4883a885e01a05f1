//! Change orders worked by hand, line by line.

use crate::revisions::{edited, set};
use crate::support::sample;
use rust_decimal::Decimal;
use serde_json::json;
use studbay::compare::{Order, OrderWhy, compare};
use studbay::design::Design;
use studbay::job::edit::Edit;
use studbay::job::{Kind, Subject};
use studbay::takeoff::Amount;

const HUNG: &str = "FixtureOn";

fn known(amount: Amount) -> String {
    studbay::format::money(amount.exact())
}

fn figure(figure: Option<Decimal>) -> String {
    figure.map_or_else(|| "?".into(), |figure| figure.normalize().to_string())
}

/// Materials as `what for, part, why, quantity, cost`, work as `task, why, count, cost`.
fn lines(order: &Order) -> (Vec<String>, Vec<String>) {
    let materials = order.lines.iter().map(|line| {
        let part = line.part.as_ref().map_or("none", |part| part.id.as_str());
        let (quantity, cost) = (figure(line.quantity), figure(line.cost));
        format!("{} {part} {} {quantity} {cost}", line.subject.id, line.why.key())
    });
    let work = order
        .tasks
        .iter()
        .map(|task| format!("{} {} {} {}", task.key, task.why.key(), figure(task.count), figure(task.cost)));
    (materials.collect(), work.collect())
}

/// Materials, tax on them, labor, overhead, cost, margin and the total.
fn sums(order: &Order) -> [String; 7] {
    let sums = order.sums;
    [order.materials, sums.tax_on_materials, order.labor, sums.overhead, sums.cost, sums.margin, sums.total]
        .map(known)
}

fn change(from: &Design, edits: Vec<Edit>) -> Order {
    compare(from, &edited(from, edits)).order
}

fn without_mantel() -> Vec<Edit> {
    vec![Edit::Remove { subject: Subject::new(Kind::Cable, "L1b1") }]
}

fn pulled(cable: &str) -> Edit {
    set(Kind::Cable, cable, "site", json!({"done": {"pulled": "2026-03-09 MO"}}))
}

/// The cottage's mantel loop L1b1 with its two lamps taken away before anything is built. Nothing of it is done, so all of
/// it is credited, at 68.00 an hour.
#[test]
fn what_was_only_planned_is_credited_with_its_work() {
    let order = change(&sample("cottage"), without_mantel());
    let (materials, work) = lines(&order);
    assert_eq!(
        materials,
        [
            "L1b1 18-2 credited -36.5 -5.44", // 36 ft 6 in x 149.00 / 1000 ft = 5.4385
            "L-10 ceiling credited -1 -3.1",  // 62.00 / 20
            "L-10 wall-5 credited -1 -58",
            "L-9 ceiling credited -1 -3.1",
            "L-9 wall-5 credited -1 -58",
            "join-3 join-3 credited -6 -0.96", // 2 sides in each of two lamps and at the dimmer: 6 x 16.00 / 100
            "staple staple credited -9 -0.5",  // 36.5 / 4.5 = 8.1, so 9: 9 x 11.00 / 200 = 0.495
        ]
    );
    assert_eq!(
        work,
        [
            "run_loop credited -1 -34",          // 0.5 h
            "cable_100_ft credited -0.37 -6.29", // 37 ft at 0.25 h for 100 ft: 0.0925 h
            "ceiling_box credited -2 -47.6",     // 0.35 h each
            "joint credited -6 -16.32",          // 0.04 h each
            "fixture credited -2 -54.4",         // 0.4 h each
        ]
    );
    // -5.44 - 3.10 - 58 - 3.10 - 58 - 0.96 - 0.50 = -129.10; 6.5 % is 8.3915; -34 - 6.29 - 47.60 - 16.32 - 54.40 = -158.61;
    // 12 % of 296.10 is 35.532; 331.63 x 15 / 85 = 58.5229...
    assert_eq!(sums(&order), ["-129.10", "-8.39", "-158.61", "-35.53", "-331.63", "-58.52", "-390.15"]);
    assert_eq!(order.hours, Some("-2.3325".parse().unwrap()));
    // There and back again comes to nothing.
    let (old, new) = (sample("cottage"), edited(&sample("cottage"), without_mantel()));
    let back = compare(&new, &old).order;
    assert_eq!(sums(&back), ["129.10", "8.39", "158.61", "35.53", "331.63", "58.52", "390.15"]);
}

/// The same, with the loop pulled and one lamp hung; a downlight that hangs and one that does not become others; and a home
/// run that is on its terminals goes to another output.
#[test]
fn what_is_done_is_not_credited_and_taking_it_out_is_work() {
    let hung = |id: &str| set(Kind::Fixture, id, "site", json!({"splice": HUNG}));
    let landed = set(Kind::Cable, "HR05", "landed", json!(true));
    let site = edited(&sample("cottage"), vec![pulled("L1b1"), landed, hung("L-9"), hung("L-1")]);
    let mut edits = without_mantel();
    edits.push(set(Kind::Cable, "HR05", "from", json!({"Output": "PS1.2"})));
    edits.push(set(Kind::Fixture, "L-1", "fixture", json!("soffit-4")));
    edits.push(set(Kind::Fixture, "L-2", "fixture", json!("soffit-4")));
    let order = change(&site, edits);
    let (materials, work) = lines(&order);
    assert_eq!(
        materials,
        [
            "L1b1 18-2 not-credited 36.5 0",
            "L-1 down-6 not-credited 1 0",
            "L-1 soffit-4 added 1 39",
            "L-2 down-6 credited -1 -38.5",
            "L-2 soffit-4 added 1 39",
            "L-10 ceiling not-credited 1 0",
            "L-10 wall-5 credited -1 -58",
            "L-9 ceiling not-credited 1 0",
            "L-9 wall-5 not-credited 1 0",
            "join-3 join-3 added 2 0.32", // both sides of L-1, opened and joined again
            "join-3 join-3 credited -4 -0.64", // L-10 and the dimmer; those of L-9 are made
        ]
    );
    assert_eq!(
        work,
        [
            "joint again 2 5.44",
            "joint credited -4 -10.88",
            "landing again 4 13.6", // four conductors, 0.05 h each
            "fixture again 1 27.2",
            "fixture credited -1 -27.2",       // L-10
            "take_out_cable taken-out 1 27.2", // 0.4 h
            "take_out_part taken-out 4 54.4",  // L-1's light, both mantel boxes, the lamp of L-9; 0.2 h each
        ]
    );
    // 39 - 38.50 + 39 - 58 + 0.32 - 0.64 = -18.82; 6.5 % is 1.2233; the work is 89.76; 12 % of 69.72 is 8.3664;
    // 78.09 x 15 / 85 = 13.7805...
    assert_eq!(sums(&order), ["-18.82", "-1.22", "89.76", "8.37", "78.09", "13.78", "91.87"]);
}

#[test]
fn what_the_firm_has_not_said_leaves_the_total_unknown() {
    let firm = Subject::new(Kind::Estimate, "estimate");
    let none = Edit::Set { subject: firm, field: "hours".into(), value: json!({"run_loop": "0.5"}) };
    let site = edited(&sample("cottage"), vec![pulled("L1b1"), none]);
    let order = change(&site, without_mantel());
    assert_eq!((order.labor.exact(), order.sums.total.exact()), (None, None));
    assert!(order.materials.exact().is_some() && order.unknown() > 0);
    let out = order.tasks.iter().find(|task| task.why == OrderWhy::TakenOut).unwrap();
    assert_eq!((out.hours, out.cost), (None, None));
}

#[test]
fn a_set_box_that_moves_is_set_again_and_a_pulled_cable_may_not_reach_it() {
    let farther = || set(Kind::Fixture, "L-10", "place", json!({"x": "0'0", "y": "25'0", "height": "5'6"}));
    let site = edited(&sample("cottage"), vec![pulled("L1b1")]);
    let order = change(&site, vec![farther()]);
    let (materials, work) = lines(&order);
    assert_eq!(order.lines.len(), 1);
    assert!(materials[0].starts_with("L1b1 18-2 may-not-reach "), "{materials:?}");
    assert_eq!(work, ["ceiling_box again 1 23.8", "take_out_part taken-out 1 13.6"]);
    assert_eq!(order.sums.total.exact(), None, "until somebody has looked");
    // Foot marks that show a cable long enough settle it.
    let marks = json!({"done": {"pulled": "2026-03-09 MO"}, "start_mark": "400 ft", "end_mark": "340 ft"});
    let site = edited(&sample("cottage"), vec![set(Kind::Cable, "L1b1", "site", marks)]);
    let order = change(&site, vec![farther()]);
    assert!(order.lines.is_empty() && order.sums.total.exact().is_some(), "{order:#?}");
    // Nearer, the cable lies as it is paid for; and nothing that is only planned is done again.
    let order = change(&sample("cottage"), vec![farther()]);
    assert!(order.tasks.iter().all(|task| task.why == OrderWhy::Added), "{order:#?}");
}

#[test]
fn a_tested_run_that_is_built_otherwise_is_tested_again() {
    let tested = set(
        Kind::Cable,
        "HR01",
        "site",
        json!({"done": {"pulled": "2026-03-09 MO", "tested": "2026-03-10 MO"}}),
    );
    let site = edited(&sample("cottage"), vec![tested]);
    let again = |order: &Order| -> Vec<String> {
        let tests = order.tasks.iter().filter(|task| task.key == "test");
        tests.map(|task| format!("{} {}", task.why.key(), figure(task.cost))).collect()
    };
    assert_eq!(again(&change(&site, without_mantel())), ["again 17"], "0.25 h at 68.00");
    let name = set(Kind::Cable, "L1b1", "name", json!("Mantelpiece"));
    assert_eq!(again(&change(&site, vec![name])), [""; 0]);
    assert_eq!(again(&change(&sample("cottage"), without_mantel())), [""; 0], "never tested");
}

/// What comes to a job that is only planned costs what its bid goes up by, but for whole reels, waste and cents.
#[test]
fn a_change_order_agrees_with_the_bids_of_both_states() {
    let old = sample("two-story");
    for fixture in ["L-1", "L-2"] {
        let new = edited(&old, vec![set(Kind::Fixture, fixture, "fixture", json!("soffit-4"))]);
        let order = compare(&old, &new).order;
        let bids = [&old, &new].map(|design| studbay::takeoff::price(design).total.exact());
        let (Some(was), Some(now), Some(total)) = (bids[0], bids[1], order.sums.total.exact()) else {
            assert!(bids[0].is_none(), "{order:#?}");
            continue;
        };
        assert!((now - was - total).abs() <= Decimal::new(3, 2), "{was} {now} {total}");
    }
}
