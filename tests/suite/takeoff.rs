//! What a job needs and what it comes to: the cottage worked by hand, line by line, and laws that hold for every sample.

use crate::support::{SAMPLES, STARTER, design_of, project, sample};
use rust_decimal::Decimal;
use serde_json::{Value, json as value};
use studbay::design::Design;
use studbay::job::edit::{Edit, apply};
use studbay::job::{Kind, Subject};
use studbay::schedule::{bid, costs, materials, options, readings, trim};
use studbay::sheets::{SHEETS, csv, json};
use studbay::takeoff::{self, Amount, Bid};

fn dollars(text: &str) -> Decimal {
    Decimal::from_str_exact(text).unwrap()
}

fn exact(amount: Amount) -> String {
    studbay::format::money(amount.exact())
}

/// Adds up lines as they stand on paper.
fn sum(lines: &[(&str, &str)]) -> Decimal {
    lines.iter().map(|(_, amount)| dollars(amount)).sum()
}

/// The materials of the cottage. Each line: what it is, how many by a count on the plan, and what that costs.
const MATERIALS: [(&str, &str, &str); 23] = [
    // Boxes: the 8 doors and the far end of the hall; 5 % waste of 4 is 0.2, which is none.
    ("wall-1", "4", "11.20"),    // S1 H1 H2 U1: 4 x 2.80
    ("wall-2", "4", "19.60"),    // L1 M1 B1 F1: 4 x 4.90
    ("wall-3", "1", "7.20"),     // K1
    ("ceiling", "41", "127.10"), // 39 lights and 5 % (1.95, so 2): 41 x 62.00 / 20 = 127.10
    // Small parts, 10 % waste.
    ("staple", "211", "11.61"), // 192, one each 4'6 of a cable, and 19: 211 x 11.00 / 200 = 11.605
    ("tag", "9", "2.16"),       // 8 home runs and 0.8, so 1: 9 x 6.00 / 25
    ("cabinet-8", "1", "145.00"), // 1 panel, and 0.1 is none
    ("plate", "17", "19.55"),   // 15 controls and 1.5, so 2: 17 x 1.15
    ("join-3", "150", "24.00"), // 136 joints (see below) and 13.6, so 14: 150 x 16.00 / 100
    ("join-6", "11", "3.19"),   // 10 joints and 1: 11 x 14.50 / 50
    ("s24", "1", "268.00"),
    ("dim-12", "10", "640.00"), // L1a L1b K1a K1b K1c M1a S1a B1a B1b H1a: 10 x 64.00
    ("sw-12", "3", "126.00"),   // M1b F1a F1b: 3 x 42.00
    ("sense-6", "1", "58.00"),
    ("remote", "1", "38.00"),
    ("down-6", "23", "885.50"), // 8 living, 6 kitchen, 4 main bedroom, 2 bath, 3 hall: 23 x 38.50
    ("down-6s", "4", "164.00"),
    ("pend-7", "2", "176.00"),
    ("mirror-7", "1", "74.00"),
    ("wall-5", "2", "116.00"),
    ("closet-4", "1", "27.50"),
    ("util-9", "1", "36.00"),
    ("strip-5", "2", "62.00"),
];

/// The last two fixtures, kept apart only because the list is long.
const OUTDOORS: [(&str, &str, &str); 2] = [("ext-6", "2", "164.00"), ("soffit-4", "1", "39.00")];

/// Cable of the cottage.
const CABLE: [(&str, &str); 3] = [
    // 237'2 of 18/5 in 8 home runs: one reel of 250 ft at 96.00 holds them; the 500 ft one costs more.
    ("18-5", "96.00"),
    // 541'2 of 18/2 in 15 loops: 215 ft of it come from the reel on hand, at the lowest price for its length, which is
    // 149.00 / 1000 ft: 215 x 0.149 = 32.035, so 32.04; the rest from one reel of 500 ft at 79.50.
    ("18-2", "111.54"),
    ("20-2", "52.00"),
];

/// Tasks of the cottage: count, hours each, cost at 68.00 an hour.
const LABOR: [(&str, &str, &str, &str); 14] = [
    ("home_run", "8", "0.8", "435.20"),  // 6.4 h
    ("run_loop", "15", "0.5", "510.00"), // 7.5 h
    ("link", "1", "0.6", "40.80"),
    // Feet to the nearest one: home runs 42+37+37+31+26+26+20+19 = 238, loops 80+63+63+58+44+37+31+30+27+23+20+18+17+17+15
    // = 543, link 36: 817 ft. 8.17 x 0.25 = 2.0425 h, x 68.00 = 138.89
    ("cable_100_ft", "8.17", "0.25", "138.89"),
    ("wall_box", "9", "0.3", "183.60"),      // 2.7 h
    ("ceiling_box", "39", "0.35", "928.20"), // 13.65 h
    // 8 spare conductors capped in the panel, 8 in wall boxes; 8 feeds and 14 controls with loops, two sides each: 44;
    // 4 loops come back to be capped, two conductors each: 8; 39 lights, two sides each: 78. In all 146.
    ("joint", "146", "0.04", "397.12"),  // 5.84 h
    ("landing", "32", "0.05", "108.80"), // 8 home runs, four conductors each, 1.6 h
    ("control", "15", "0.25", "255.00"), // 3.75 h
    ("fixture", "39", "0.4", "1060.80"), // 15.6 h
    ("supply", "1", "0.5", "34.00"),
    ("panel", "1", "2", "136.00"),
    ("test", "8", "0.25", "136.00"),
    ("job", "1", "6", "408.00"),
];

#[test]
fn the_bid_of_the_cottage_is_what_a_person_gets_by_hand() {
    let bid: Bid = takeoff::price(&sample("cottage"));
    let made: Vec<(String, String, String)> = bid
        .takeoff
        .materials
        .iter()
        .map(|made| (made.key.clone(), made.quantity.normalize().to_string(), exact(made.cost)))
        .collect();
    let by_hand: Vec<(String, String, String)> = MATERIALS
        .iter()
        .chain(&OUTDOORS)
        .map(|(key, quantity, cost)| ((*key).into(), (*quantity).into(), (*cost).into()))
        .collect();
    assert_eq!(made, by_hand);
    for (cable, (id, cost)) in bid.takeoff.cables.iter().zip(CABLE) {
        assert_eq!((cable.part.id.as_str(), exact(cable.cost).as_str()), (id, cost));
    }
    for (task, (key, count, each, cost)) in bid.takeoff.labor.iter().zip(LABOR) {
        let found = (task.key, task.count.normalize(), task.hours_each, exact(task.cost));
        assert_eq!(found, (key, dollars(count), Some(dollars(each)), cost.to_owned()));
    }
    assert_eq!((bid.takeoff.cables.len(), bid.takeoff.labor.len()), (CABLE.len(), LABOR.len()));

    // 96.00 + 111.54 + 52.00 = 259.54 for cable, 165.10 for boxes, 205.51 for small parts, 268.00 for the supply, 862.00
    // for controls, 1744.00 for fixtures.
    let parts = sum(&[
        ("cable", "259.54"),
        ("boxes", "165.10"),
        ("small parts", "205.51"),
        ("supply", "268.00"),
        ("controls", "862.00"),
        ("fixtures", "1744.00"),
    ]);
    assert_eq!(parts, dollars("3504.15"));
    assert_eq!(exact(bid.materials), "3504.15");
    // 6.5 % of 3504.15 is 227.76975.
    assert_eq!(exact(bid.tax_on_materials), "227.77");
    let labor: Vec<(&str, &str)> = LABOR.iter().map(|(key, _, _, cost)| (*key, *cost)).collect();
    assert_eq!(sum(&labor), dollars("4772.41"));
    assert_eq!(exact(bid.labor), "4772.41");
    // 12 % of 3504.15 + 227.77 + 4772.41 = 8504.33 is 1020.5196.
    assert_eq!(exact(bid.overhead), "1020.52");
    assert_eq!(exact(bid.cost), "9524.85");
    // 15 % of the price: 9524.85 x 15 / 85 = 1680.8558...
    assert_eq!(exact(bid.margin), "1680.86");
    assert_eq!(exact(bid.price), "11205.71");
    // One allowance of 120.00; the tax is paid on the parts already.
    assert_eq!(exact(bid.total), "11325.71");
    // What the firm keeps is 15 % of the price to within a cent: 11205.71 x 0.15 = 1680.8565.
    let rooms: Decimal = bid.rooms.iter().map(|room| room.price.exact().unwrap()).sum();
    assert_eq!(rooms, dollars("11205.71"));
}

/// The cottage's mantel loop left out, by hand as in the change orders: 5.44 of cable, two boxes 6.20, two lamps 116.00, six
/// joints 0.96, nine staples 0.50; work 34.00, 6.29 for 37 ft, 47.60, 16.32, 54.40.
#[test]
fn what_a_change_adds_is_parts_cable_by_length_and_labor() {
    let cottage = sample("cottage");
    let mut without = cottage.job.clone();
    apply(&mut without, Edit::Remove { subject: Subject::new(Kind::Cable, "L1b1") }).unwrap();
    assert_eq!(takeoff::more(&cottage, &without), Some(dollars("-287.71")));
    let there = design_of_job(without);
    assert_eq!(takeoff::more(&there, &cottage.job), Some(dollars("287.71")));
    assert_eq!(takeoff::more(&cottage, &cottage.job), Some(Decimal::ZERO));
    // Without an hourly rate nobody knows.
    let rate = Edit::Set {
        subject: Subject::new(Kind::Estimate, "estimate"),
        field: "hourly_rate".into(),
        value: Value::Null,
    };
    let mut unpriced = there.job.clone();
    apply(&mut unpriced, rate).unwrap();
    assert_eq!(takeoff::more(&design_of_job(unpriced.clone()), &unpriced), Some(Decimal::ZERO));
    assert_eq!(takeoff::more(&cottage, &unpriced), None);
}

fn design_of_job(job: studbay::job::Job) -> Design {
    Design::derive(job)
}

#[test]
fn joints_go_to_the_connector_for_the_fewest_wires_that_will_do() {
    let joints = takeoff::joints(&sample("cottage"));
    let in_box = |id: &str| -> Vec<usize> {
        let mut wires: Vec<usize> =
            joints.iter().filter(|joint| joint.at.id == id).map(|joint| joint.wires).collect();
        wires.sort_unstable();
        wires
    };
    // One 18/5 with both sides doubled and one spare; three dimmers with a loop each: 2 conductors and 3 leads a side.
    assert_eq!(in_box("K1"), [1, 2, 2, 2, 2, 2, 2, 5, 5]);
    // Two dimmers, the first with two loops that come back: 2 conductors of each capped.
    assert_eq!(in_box("L1"), [1, 1, 1, 1, 1, 2, 2, 3, 3, 4, 4]);
    // The far end of the hall has only a remote point, landed on its link.
    assert!(in_box("H2").is_empty());
    // In the middle of a loop IN, OUT and the fixture; at the end of one that ends IN and the fixture.
    assert_eq!((in_box("K-1"), in_box("K-6")), (vec![3, 3], vec![2, 2]));
    assert_eq!(in_box("L-4"), [3, 3], "the last box of a loop that returns has an OUT too");
}

#[test]
fn an_empty_box_is_not_cut_and_a_string_is_opened_where_a_fixture_is() {
    let job = |loads: &str, control: &str| {
        let boxes = format!("ceiling: [{loads}]");
        let text = format!(
            r#"boxes: [(id: "B1", room: "R1", feeds: [(id: "HR1", from: Panel("P1"), cable: "c")], controls: [
            (id: "B1a", part: "{control}", loops: [(id: "W1", cable: "c", path: Returned, {boxes})])])]"#
        );
        let parts = r#"(format: (1, 0), project: (title: ""), catalogue: (
            plans: [(id: "p", conductors: [(name: "1", function: Positive), (name: "2", function: Negative)])],
            cables: [(id: "c", gauge: 18, conductors: 2, plan: "p")],
            fixtures: [(id: "f", load: String(volts: 9)), (id: "t", colour: Tunable, load: String(volts: 9, second_volts: 9))],
            controls: [(id: "cur", own_watts: 0, colour: TwoStrings(), drive: Current(amps: 0.35, efficiency_percent: 90)),
                (id: "dim", own_watts: 0, drive: Voltage)]),
            levels: [(id: "L1", rooms: [(id: "R1")])], panels: [(id: "P1", room: "R1", slots: 4)], "#;
        let design = design_of(&format!("{parts}{text})"));
        let joints = takeoff::joints(&design);
        let count = |id: &str| joints.iter().filter(|joint| joint.at.id == id).count();
        (count("X"), count("Y"), count("Z"), count("B1"))
    };
    let lights = r#"(id: "X", fixture: "f"), (id: "Y"), (id: "Z", fixture: "t")"#;
    // A fixed light opens one conductor, a tunable one both: two joints for each. At the wall box the feed's two sides,
    // and the two ends of both conductors on leads of their own.
    assert_eq!(job(lights, "cur"), (2, 0, 4, 6));
    // Across a pair each light has two joints; at the wall box the feed's two and the control's two.
    assert_eq!(job(lights, "dim"), (2, 0, 2, 4));
}

#[test]
fn what_is_not_priced_makes_every_total_unknown() {
    let bid: Bid = takeoff::price(&design_of(STARTER));
    assert!(bid.total.exact().is_none() && bid.total.missing() > 5, "{:?}", bid.total);
    assert!(bid.price.exact().is_none() && bid.cost.exact().is_none());
    // One price taken from the cottage: its line, and all that holds it; nothing else.
    let cottage = std::fs::read_to_string(project("sample-jobs/cottage.ron")).unwrap();
    let without = cottage.replace("price: \"268.00\",", "");
    assert_ne!(cottage, without);
    let bid = takeoff::price(&design_of(&without));
    let unknown = |key: &str| bid.takeoff.materials.iter().find(|made| made.key == key).unwrap().cost;
    assert_eq!((unknown("s24").exact(), unknown("dim-12").exact()), (None, Some(dollars("640.00"))));
    assert_eq!((bid.materials.exact(), bid.materials.at_least()), (None, dollars("3236.15")));
    assert_eq!((bid.total.exact(), bid.total.missing()), (None, 1));
    assert!(bid.labor.exact().is_some());
    // Only the room that needs it lacks it.
    let lacking: Vec<_> = bid.rooms.iter().filter(|room| room.price.exact().is_none()).collect();
    assert!(lacking.len() == 1 && lacking[0].room.is_none(), "{lacking:?}");
    let document: Value =
        serde_json::from_str(&json::pretty(&costs::document(&design_of(&without))).unwrap()).unwrap();
    assert!(document["total"]["amount"].is_null() && document["total"]["missing"] == 1);
    assert_eq!(document["missing"], serde_json::json!(["the price of s24, 24 V supply, 4 outputs of 96 W"]));
}

#[test]
fn the_clients_page_tells_no_cost_of_the_firm() {
    for name in ["cottage", "two-story"] {
        let design = sample(name);
        let priced = takeoff::price(&design);
        let mut secrets: Vec<String> =
            [priced.materials, priced.labor, priced.cost, priced.margin, priced.overhead]
                .iter()
                .map(|amount| exact(*amount))
                .collect();
        let estimate = &design.job.estimate;
        secrets.extend(priced.takeoff.labor.iter().map(|task| exact(task.cost)));
        secrets.extend(priced.rooms.iter().flat_map(|room| [exact(room.materials), exact(room.labor)]));
        secrets.push(estimate.hourly_rate.unwrap().to_string());
        secrets.retain(|secret| secret.len() > 5);
        assert!(secrets.len() > 20);
        let entry = SHEETS.iter().find(|entry| entry.name == "bid").unwrap();
        let csv = String::from_utf8(csv::write(&(entry.tables)(&design)).unwrap()).unwrap();
        let json = (entry.json)(&design).unwrap();
        let paper = crate::sheets::printed_text(&design, "bid");
        for page in [csv, json, paper] {
            for secret in &secrets {
                assert!(!page.contains(secret.as_str()), "{name}: {secret} is on the client's page");
            }
            for word in ["margin", "overhead", "hourly", "hours"] {
                assert!(!page.to_lowercase().contains(word), "{name}: '{word}' is on the client's page");
            }
        }
    }
}

#[test]
fn quantities_trace_to_what_they_were_counted_from() {
    for name in SAMPLES {
        let design = sample(name);
        let document = materials::document(&design);
        for part in &document.parts {
            let from: Decimal = part.from.iter().map(|from| from.quantity).sum();
            assert_eq!(from, part.counted, "{name}: {}", part.key);
        }
        let bid = takeoff::price(&design);
        let lines: Amount = bid
            .takeoff
            .materials
            .iter()
            .map(|made| made.cost)
            .chain(bid.takeoff.cables.iter().map(|cable| cable.cost))
            .sum();
        assert_eq!(lines, bid.materials, "{name}");
        // Rooms share out all of it, to the cent.
        let rooms: Decimal = bid.rooms.iter().map(|room| room.price.at_least()).sum();
        assert_eq!(rooms, bid.price.at_least(), "{name}");
        let parts: Decimal = bid.rooms.iter().map(|room| room.materials.at_least()).sum();
        assert_eq!(parts, bid.materials.at_least(), "{name}");
    }
    let said = takeoff::explain(&sample("cottage"), &["materials/dim-12/quantity".into()]).unwrap();
    assert!(said.contains("materials/dim-12/quantity = 10") && said.contains("K1c"), "{said}");
    let said = takeoff::explain(&sample("cottage"), &["labor/joint/cost".into()]).unwrap();
    assert!(said.contains("labor/joint/cost = 397.12"), "{said}");
    let none = takeoff::explain(&sample("cottage"), &["materials/dim-13/quantity".into()]);
    assert!(none.unwrap_err().to_string().contains("dim-12"));
}

#[test]
fn the_alternates_are_the_whole_job_done_otherwise() {
    let design = sample("two-story");
    let bid = takeoff::price(&design);
    let all = takeoff::alternates(&design, &bid);
    let by_key = |key: &str| all.iter().find(|other| other.key == key).unwrap();
    // Returning a loop takes more cable and more joints; leaving a return out takes less.
    assert!(by_key("return-all").difference.unwrap() > Decimal::ZERO);
    assert!(by_key("return-none").difference.unwrap() < Decimal::ZERO);
    // While it is open a place is priced at the dearest, which then costs no more; the other saves 240.00 - 88.00 a place
    // before overhead, margin and tax.
    assert_eq!(by_key("open-chan-15").difference, Some(dollars("0.00")));
    let saved = -by_key("open-pend-7").difference.unwrap();
    // 2 x 152.00, with 14 % overhead, over 1 - 12 %, and 7.25 % tax: 304.00 x 1.14 / 0.88 x 1.0725 = 422.37
    assert!((saved - dollars("422.37")).abs() <= dollars("0.03"), "{saved}");
    assert_eq!(by_key("open-pend-7").count, 2);
    let shown = bid::document(&design);
    assert_eq!(shown.alternates.len(), all.len());
}

#[test]
fn what_was_pulled_needs_no_reel_and_still_costs() {
    let design = sample("cottage");
    let text = std::fs::read_to_string(project("sample-jobs/cottage.ron")).unwrap();
    let pulled = text.replace(
        r#"(id: "HR08", from: Output("PS1.4"), cable: "18-5")"#,
        r#"(id: "HR08", from: Output("PS1.4"), cable: "18-5", site: (start_mark: "100 ft", end_mark: "141 ft"))"#,
    );
    assert_ne!(text, pulled);
    let later = design_of(&pulled);
    let tags = |design: &Design| -> Vec<String> {
        let reels = studbay::schedule::reels::document(design);
        reels.cables.iter().flat_map(|c| &c.reels).flat_map(|r| &r.cuts).map(|cut| cut.tag.clone()).collect()
    };
    assert!(tags(&design).contains(&"HR08".to_owned()) && !tags(&later).contains(&"HR08".to_owned()));
    assert_eq!(takeoff::price(&later).total, takeoff::price(&design).total);
}

#[test]
fn a_cut_that_no_reel_holds_is_said_and_costs_what_nobody_knows() {
    let text = std::fs::read_to_string(project("sample-jobs/cottage.ron")).unwrap();
    let short = text.replace(
        r#"reels: [(length: "250 ft", price: "96.00"), (length: "500 ft", price: "184.00")],"#,
        r#"reels: [(length: "40 ft", price: "20.00")],"#,
    );
    assert_ne!(text, short);
    let design = design_of(&short);
    let reels = studbay::schedule::reels::document(&design);
    assert_eq!((reels.cables[0].too_long.clone(), reels.cables[0].cost), (vec!["HR08".to_owned()], None));
    let page = crate::sheets::printed_text(&design, "reels");
    assert!(page.contains("1 cable longer than every reel"), "{page}");
    assert!(takeoff::price(&design).total.exact().is_none());
    // Without prices the plan takes the least cable, and what it costs is unknown.
    let unpriced = text.replace(
        r#"reels: [(length: "250 ft", price: "96.00"), (length: "500 ft", price: "184.00")],"#,
        r#"reels: [(length: "250 ft"), (length: "500 ft")],"#,
    );
    let reels = studbay::schedule::reels::document(&design_of(&unpriced));
    assert_eq!((reels.cables[0].cost, reels.cables[0].reels.len(), reels.cables[0].proved), (None, 1, true));
    // And with no reels at all there is no plan.
    let none = text
        .replace(r#"reels: [(length: "250 ft", price: "96.00"), (length: "500 ft", price: "184.00")],"#, "");
    let reels = studbay::schedule::reels::document(&design_of(&none));
    assert!(reels.cables[0].unplanned.is_some() && reels.cables[0].cost.is_none());
}

/// The cottage with the lamps beside the mantel still open: in their boxes, on their loop or in their room.
fn mantel_open(kind: Kind, id: &str) -> Design {
    let mut job = sample("cottage").job;
    let choices = value!(["wall-5", "mirror-7"]);
    let lamps = ["L-9", "L-10"];
    let set = |kind: Kind, id: &str, field: &str, value: Value| Edit::Set {
        subject: Subject::new(kind, id),
        field: field.into(),
        value,
    };
    let mut edits: Vec<Edit> =
        lamps.iter().map(|lamp| set(Kind::Fixture, lamp, "fixture", Value::Null)).collect();
    match kind {
        Kind::Fixture => edits.extend(lamps.iter().map(|lamp| set(kind, lamp, "open", choices.clone()))),
        _ => edits.push(set(kind, id, "open", choices)),
    }
    apply(&mut job, Edit::Together(edits)).unwrap();
    Design::derive(job)
}

#[test]
fn what_is_open_for_a_loop_or_a_room_is_open_in_each_of_its_boxes() {
    let own = mantel_open(Kind::Fixture, "");
    let bid = takeoff::price(&own);
    let counted = |bid: &Bid| bid.takeoff.materials.iter().map(|made| made.from.len()).sum::<usize>();
    assert_eq!(
        counted(&bid),
        counted(&takeoff::price(&sample("cottage"))),
        "no light is lost while it is open"
    );
    let offered = takeoff::alternates(&own, &bid);
    assert!(offered.iter().any(|other| other.key == "open-mirror-7" && other.count == 2), "{offered:?}");
    let room = own.job.boxes.iter().find(|held| held.id.as_str() == "L1").unwrap().room.clone();
    for (kind, id) in [(Kind::Cable, "L1b1"), (Kind::Room, room.as_str())] {
        let other = mantel_open(kind, id);
        assert_eq!(takeoff::price(&other), bid, "{id}");
        assert_eq!(takeoff::alternates(&other, &bid), offered, "{id}");
        assert_eq!(options::document(&other), options::document(&own), "{id}");
        assert_eq!(trim::document(&other), trim::document(&own), "{id}");
        assert_eq!(
            readings::document(&other),
            readings::document(&own),
            "what is open on a home run leaves its amps unknown, {id}"
        );
    }
}

#[test]
fn a_control_that_is_open_is_priced_at_the_dearest_it_may_be() {
    let mut job = sample("cottage").job;
    let edit = Edit::Set {
        subject: Subject::new(Kind::Control, "M1b"),
        field: "open".into(),
        value: value!(["dim-12"]),
    };
    apply(&mut job, edit).unwrap();
    let bid = takeoff::price(&Design::derive(job));
    let open = bid.takeoff.materials.iter().find(|made| made.key == "open-sw-12-or-dim-12").unwrap();
    assert_eq!(
        (open.counted, exact(open.cost)),
        (Decimal::ONE, "64.00".to_owned()),
        "a dimmer is the dearer"
    );
}
