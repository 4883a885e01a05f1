//! Lengths of cables, reckoned by hand.

use crate::support::{design_with, starter_with};
use studbay::design::Design;
use studbay::job::read;
use studbay::network::{Basis, CableLength, Lengths, LoopLength};
use studbay::units::Length;

/// Ticks of 100 nm in an inch.
const INCH: i64 = 254_000;
/// Ticks of 100 nm in a centimetre.
const CENTIMETRE: i64 = 100_000;

/// The length of feed `HR1`, as shown, with how it is known.
fn home_run(design: &Design) -> Option<(String, Basis)> {
    let wall_box = &design.job.boxes[0];
    let length = Lengths::new(&design.job, &design.index).feed(wall_box, &wall_box.feeds[0])?;
    Some((length.length.shown(design.job.project.units), length.basis))
}

fn loop_length(design: &Design) -> LoopLength {
    let wall_box = &design.job.boxes[0];
    Lengths::new(&design.job, &design.index).wired_loop(wall_box, &wall_box.controls[0].loops[0])
}

fn whole(length: &LoopLength) -> (String, Basis) {
    let CableLength { length, basis } = length.whole.unwrap();
    (length.written(), basis)
}

/// That the home run is estimated at so much.
fn is_estimated(design: &Design, text: &str) {
    assert_eq!(home_run(design), Some((text.into(), Basis::Estimated)));
}

#[test]
fn a_home_run_goes_across_along_up_and_down() {
    // From (2, 3) at 5 ft to (20, 12) at 4 ft under a 9 ft ceiling: 18 across, 9 along, 4 up, 5 down are 36 ft;
    // 10 % more are 39.6 ft, and 3 ft at each end 45.6 ft = 547.2 in, rounded up once.
    is_estimated(&design_with(&[]), "45'8");
    // No allowance, no make-up: the bare route.
    let bare = [
        ("routing_allowance_percent: 10", "routing_allowance_percent: 0"),
        ("cable_end: \"3'0\"", "cable_end: \"0'0\""),
    ];
    is_estimated(&design_with(&bare), "36'0");
    // Of two ceilings on one level the cable takes the higher: 2 ft more up and 2 more down, 10 % on each.
    let higher = ("area: \"160 ft2\", ceiling: \"9'0\"", "area: \"160 ft2\", ceiling: \"11'0\"");
    is_estimated(&design_with(&[bare[0], bare[1], higher]), "40'0");
    is_estimated(&design_with(&[higher]), "50'0");
}

#[test]
fn between_levels_a_cable_runs_under_the_lower_one_s_ceiling() {
    let upstairs = (
        "(id: \"bed-1\", name: \"Bedroom\", area: \"160 ft2\", ceiling: \"9'0\"),\n            ],\n        ),",
        "],\n        ),\n        (id: \"L2\", name: \"Upper floor\", elevation: \"10'0\", rooms: [\n            \
         (id: \"bed-1\", name: \"Bedroom\", ceiling: \"8'0\")]),",
    );
    let bare = [
        ("routing_allowance_percent: 10", "routing_allowance_percent: 0"),
        ("cable_end: \"3'0\"", "cable_end: \"0'0\""),
    ];
    // Panel at 5 ft below a 9 ft ceiling, box at 10 + 4 ft: 27 across and along, 4 up to 9 ft, 5 more up to 14 ft.
    is_estimated(&design_with(&[upstairs, bare[0], bare[1]]), "36'0");
    // A panel higher than that ceiling comes down to it: at 12 ft, 3 down and 5 up.
    let high = ("y: \"3'0\", height: \"5'0\"", "y: \"3'0\", height: \"12'0\"");
    is_estimated(&design_with(&[upstairs, high, bare[0], bare[1]]), "35'0");
    // Without the height of a floor nothing can be said.
    let unknown = ("elevation: \"10'0\", ", "");
    let text = starter_with(&[upstairs]).replace(unknown.0, unknown.1);
    assert_eq!(home_run(&Design::derive(read::from_str("job", &text).unwrap().0)), None);
}

#[test]
fn a_measured_length_stands_as_it_was_typed() {
    let measured = |text: &str| {
        design_with(&[("cable: \"18-5\")]", &format!("cable: \"18-5\", measured: \"{text}\")]"))])
    };
    assert_eq!(home_run(&measured("62'6")), Some(("62'6".into(), Basis::Measured)));
    // Neither allowance nor make-up is added, and a metric tape is kept to the tick.
    let design = measured("19.2 m");
    let wall_box = &design.job.boxes[0];
    let length = Lengths::new(&design.job, &design.index).feed(wall_box, &wall_box.feeds[0]).unwrap();
    assert_eq!((length.length.ticks(), length.length.written()), (192_000_000, "19.2 m".into()));
}

#[test]
fn a_place_that_is_missing_makes_the_length_unknown() {
    assert_eq!(home_run(&design_with(&[("place: (x: \"20'0\", y: \"12'0\", height: \"4'0\"),", "")])), None);
    assert_eq!(home_run(&design_with(&[(", height: \"4'0\"", "")])), None, "no height of the wall box");
    let design = design_with(&[("id: \"F2\", place: (x: \"24'0\", y: \"8'0\")", "id: \"F2\"")]);
    let length = loop_length(&design);
    assert_eq!(length.whole, None);
    assert_eq!(length.legs.iter().map(Option::is_some).collect::<Vec<_>>(), [true, false, false, true, true]);
}

#[test]
fn a_loop_counts_its_legs_and_the_slack_in_its_boxes() {
    // In inches, with 10 % on the route, 36 at each end in the wall box and 8 for each tail in a ceiling box:
    // 2 + 4 across and along and 5 up: 132 * 1.1 + 36 + 8 = 189.2; three legs of 6 ft: 72 * 1.1 + 16 = 95.2;
    // 2 + 10 back and 5 down: 204 * 1.1 + 8 + 36 = 268.4. Together 743.2, rounded up once to 744 = 62 ft.
    let length = loop_length(&design_with(&[]));
    let legs: Vec<i64> = length.legs.iter().map(|leg| leg.unwrap()).collect();
    let tenths = |inches: i64| inches * INCH / 10;
    assert_eq!(legs, [1892, 952, 952, 952, 2684].map(tenths));
    assert_eq!(whole(&length), ("62'0".into(), Basis::Estimated));
    // A loop that ends has one tail in its last box, with all of the box's slack: 72 * 1.1 + 8 + 16 = 103.2.
    let ended = loop_length(&design_with(&[("ReturnedCapped", "OneWay")]));
    let legs: Vec<i64> = ended.legs.iter().map(|leg| leg.unwrap()).collect();
    assert_eq!(legs, [1892, 952, 952, 1032].map(tenths));
    assert_eq!(whole(&ended), ("40'3".into(), Basis::Estimated), "482.8 in");
}

#[test]
fn measured_legs_and_a_measured_whole_fit_together() {
    let leg = |id: &str, length: &str| {
        (format!("(id: \"{id}\", place"), format!("(id: \"{id}\", leg: \"{length}\", place"))
    };
    let with = |changes: &[(String, String)], whole: &str| {
        let changes: Vec<(&str, &str)> = changes.iter().map(|(a, b)| (a.as_str(), b.as_str())).collect();
        let whole = format!("path: ReturnedCapped, measured: \"{whole}\",");
        let measured = ("path: ReturnedCapped,", whole.as_str());
        design_with(&if whole.contains("\"\"") { changes } else { [&changes[..], &[measured]].concat() })
    };
    // One leg measured, the rest estimated: an estimate of the whole. 743.2 - 95.2 + 120 = 768 in.
    let length = loop_length(&with(&[leg("F2", "10'0")], ""));
    assert_eq!(length.legs[1], Some(120 * INCH));
    assert_eq!(whole(&length), ("64'0".into(), Basis::Estimated));
    // The whole measured and one leg: the rest is shared out by the estimates, and not one tick is made up.
    let length = loop_length(&with(&[leg("F2", "10'0")], "74'0"));
    assert_eq!(whole(&length), ("74'0".into(), Basis::Measured));
    // 888 - 120 = 768 in over estimates of 189.2 + 2 * 95.2 + 268.4 = 648 in: each a 768/648th of its own.
    let share = |tenths: i64| tenths * INCH / 10 * 768 / 648;
    let expected = [share(1892), 120 * INCH, share(952), share(952), share(2684)];
    assert_eq!(length.legs, expected.map(Some));
    // More in the legs than in the whole is a contradiction, not a length.
    let length = loop_length(&with(&[leg("F2", "50'0"), leg("F3", "30'0")], "74'0"));
    assert!(length.legs_exceed_whole);
}

#[test]
fn a_metric_job_rounds_up_to_a_centimetre() {
    // The same house: 45.6 ft are 1389.888 cm.
    let design = design_with(&[("units: Feet", "units: Metres")]);
    assert_eq!(home_run(&design).unwrap().0, "13.90 m");
    assert_eq!(loop_length(&design).whole.unwrap().length.ticks() % CENTIMETRE, 0);
    // 743.2 in are 1887.728 cm.
    assert_eq!(loop_length(&design).whole.unwrap().length.ticks() / CENTIMETRE, 1888);
}

#[test]
fn what_is_whole_already_is_not_rounded() {
    let unit = studbay::units::LengthUnit::Feet;
    assert_eq!(Length::round_up(547 * INCH, unit).ticks(), 547 * INCH);
    assert_eq!(Length::round_up(547 * INCH + 1, unit).ticks(), 548 * INCH);
    // The allowance is reckoned in whole numbers: 10 % on 30 ft is 3 ft, not 3 ft and a bit in floating point.
    let bare = [("cable_end: \"3'0\"", "cable_end: \"0'0\""), ("x: \"20'0\"", "x: \"14'0\"")];
    is_estimated(&design_with(&bare), "33'0");
}
