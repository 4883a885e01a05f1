//! What a pair for each check leaves open: each edition, each band of a table, each kind of thing that a check is about.

use crate::support::{design_with, starter_with};
use studbay::checks::{Finding, Severity};
use studbay::design::Design;
use studbay::job::read;
use studbay::study::{Outcome, Reason};

type Changes<'a> = &'a [(&'a str, &'a str)];

fn of<'a>(design: &'a Design, code: &str) -> Vec<&'a Finding> {
    design.findings.iter().filter(|finding| finding.code == code).collect()
}

/// The figure and the limit of the only finding of a check, if there is one.
fn figures(changes: Changes<'_>, code: &str) -> Option<(f64, f64)> {
    let design = design_with(changes);
    match of(&design, code).as_slice() {
        [] => None,
        [one] => Some((one.found.unwrap(), one.limit.unwrap())),
        many => panic!("{code}: {many:#?}"),
    }
}

const EDITION: &str = "target_load_percent: 80,";
const NO_LOAD: &str = "no_load_volts: 24.5";
const LOOP: &str = "path: ReturnedCapped,";
const LAST_LINES: &str = "        ),\n    ],\n)\n";

fn edition(year: &str) -> String {
    format!("target_load_percent: 80, code_edition: Nec{year},")
}

#[test]
fn grounds_in_a_box_are_counted_by_the_edition() {
    // Conductors of the feed and of both ends of the loop: 3 · 4 · 1.50; the line's four of 14 AWG: 4 · 2.00; yokes of
    // the control and the line: 2 · 1.50 + 2 · 2.00; six grounds: 2.00 in 2017, and (1 + 2/4) · 2.00 from 2020 on (NEC
    // 314.16(B)(5)). That is 35 and 36 in3.
    for (year, found) in [("2017", None), ("2020", Some((36.0, 35.5))), ("2023", Some((36.0, 35.5)))] {
        let changes = [
            (EDITION, edition(year)),
            ("(name: \"5\", function: Spare)", "(name: \"5\", function: Ground)".into()),
            ("cable: \"18-2\",\n", "cable: \"18-5\",\n".into()),
            (
                "part: \"wall-1\",",
                "part: \"wall-1\", line: (gauge: 14, conductors: 4, grounds: 3, yokes: 1),".into(),
            ),
            ("volume: \"20 in3\"", "volume: \"35.5 in3\"".into()),
        ];
        let changes: Vec<(&str, &str)> = changes.iter().map(|(from, to)| (*from, to.as_str())).collect();
        assert_eq!(figures(&changes, "box-fill"), found, "{year}");
        // Line voltage shares the box: the article binds.
        let fill = design_with(&changes);
        assert!(of(&fill, "box-fill").iter().all(|finding| finding.severity == Severity::Error));
    }
}

#[test]
fn green_is_free_below_the_volts_of_the_edition() {
    // NEC 250.119 exception 1: less than 50 V in 2017, less than 60 V dc in 2023.
    for (year, volts, found) in [
        ("2017", "49.9", None),
        ("2017", "54", Some((54.0, 50.0))),
        ("2020", "54", Some((54.0, 50.0))),
        ("2023", "54", None),
        ("2023", "59.9", None),
        ("2023", "60", Some((60.0, 60.0))),
    ] {
        let no_load = format!("no_load_volts: {volts}");
        for (function, found) in [("Negative", found), ("Ground", None), ("Spare", None)] {
            let green = format!("(name: \"light green\", function: {function})");
            let (edition, four) = (edition(year), "(name: \"4\", function: Negative)");
            let changes: Changes<'_> = &[(EDITION, &edition), (four, &green), (NO_LOAD, &no_load)];
            assert_eq!(figures(changes, "green-wire"), found, "{year} {volts} {function}");
        }
    }
}

#[test]
fn where_the_rules_of_class_2_stand_goes_by_the_edition() {
    for (year, apart, listing) in [
        ("2017", "NEC 2017 725.121(B)", "NEC 2017 725.154, 725.179"),
        ("2020", "NEC 2020 725.121(B)", "NEC 2020 725.154, 725.179"),
        ("2023", "NEC 2023 725.60", "NEC 2023 art. 722"),
    ] {
        let edition = edition(year);
        let other = "    boxes: [(id: \"B2\", room: \"bed-1\", place: (x: \"2'0\", y: \"2'0\", height: \"4'0\"), \
                     feeds: [(id: \"HR2\", from: Output(\"PS1.2\"), cable: \"18-5\", way: [Plenum])], \
                     controls: [(id: \"C2\", part: \"dim-10\")]),\n        (\n            id: \"B1\"";
        let design = design_with(&[
            (EDITION, &edition),
            ("    boxes: [\n        (\n            id: \"B1\"", other),
            (LOOP, "path: Returned, returns_to: \"C2\","),
        ]);
        assert_eq!(of(&design, "interconnected")[0].source, apart);
        assert_eq!(of(&design, "cable-place")[0].source, listing);
    }
}

#[test]
fn each_band_of_table_11_b_holds_a_supply_to_its_watts() {
    // NEC chapter 9 table 11(B): 5.0 · Vmax up to 20 V, 100 VA over 20 up to 30 and over 30 up to 60 V; over 60 up to
    // 150 V 0.005 · Vmax where the source is inherently limited, and nothing of Class 2 where it is not.
    let both = ["Class2Inherent", "Class2Protected"];
    let bands: &[(&[&str], f64, f64)] = &[
        (&both, 12.0, 60.0),
        // Note 1: the highest volts at any load count, as those of a 12 V supply at no load.
        (&both, 12.8, 64.0),
        (&both, 20.0, 100.0),
        (&both, 24.0, 100.0),
        (&both, 30.0, 100.0),
        (&both, 48.0, 100.0),
        (&both, 60.0, 100.0),
        (&both[..1], 100.0, 0.5),
        (&both[..1], 150.0, 0.75),
        (&both[1..], 100.0, 0.0),
    ];
    for (kinds, volts, limit) in bands {
        for kind in *kinds {
            let of_watts = |watts: f64| {
                let (volts, kind) = (format!("no_load_volts: {volts}"), format!("kind: {kind}"));
                let watts = format!("output_watts: {watts}");
                let changes: Changes<'_> = &[
                    ("volts: 24,\n", "volts: 12,\n"),
                    (NO_LOAD, &volts),
                    ("kind: Class2Protected", &kind),
                    ("output_watts: 96", &watts),
                ];
                figures(changes, "class-2-output")
            };
            if *limit > 0.0 {
                assert_eq!(of_watts(*limit), None, "{kind} {volts}");
            }
            let (found, held_to) = of_watts(limit + 0.1).unwrap();
            assert!((found - limit - 0.1).abs() < 1e-9 && (held_to - limit).abs() < 1e-9, "{kind} {volts}");
        }
    }
    // What is no Class 2 source is not held to the table, nor to a branch circuit of 20 A.
    let other: Changes<'_> =
        &[("kind: Class2Protected", "kind: NotClass2"), ("breaker_amps: 20", "breaker_amps: 30")];
    assert_eq!(figures(other, "class-2-output"), None);
    assert_eq!(figures(other, "ac-branch"), None);
}

#[test]
fn interrupted_dc_in_a_wet_place_is_held_to_fewer_volts() {
    // Note 4: 12.4 V peak where dc is interrupted at 10 to 200 Hz and wet contact is likely.
    let wet = ("(id: \"bed-1\",", "(id: \"bed-1\", exposure: Wet,");
    let interrupted = ("idle_watts: 6", "interrupted: true, idle_watts: 6");
    let volts = ("volts: 24,\n", "volts: 12,\n");
    let of_volts = |no_load: &str| {
        let design = design_with(&[wet, interrupted, volts, (NO_LOAD, no_load)]);
        of(&design, "wet-volts").first().map(|finding| (finding.found.unwrap(), finding.limit.unwrap()))
    };
    assert_eq!(of_volts("no_load_volts: 12.4"), None);
    assert_eq!(of_volts("no_load_volts: 12.5"), Some((12.5, 12.4)));
}

#[test]
fn a_crossed_return_of_strings_joins_them_and_a_capped_one_is_advice() {
    let strings = [
        (
            "drive: Voltage, own_watts: 0.5",
            "drive: Current(amps: 0.35, efficiency_percent: 90, most_volts: 20), own_watts: 0",
        ),
        ("load: Power(watts: 6, volts: (least: 20, most: 28))", "load: String(volts: 4)"),
    ];
    let severity = |path: &str| {
        let design = design_with(&[strings[0], strings[1], (LOOP, path)]);
        of(&design, "crossed").first().map(|finding| finding.severity)
    };
    assert_eq!(severity("path: Returned,"), None);
    assert_eq!(severity("path: Returned, crossed: true,"), Some(Severity::Error));
    assert_eq!(severity("path: ReturnedCapped, crossed: true,"), Some(Severity::Advice));
}

/// Three points on a bus of two measured links.
fn bus(profile: &str, links: &str, celsius: &str) -> Design {
    let boxes = "    boxes: [(id: \"B2\", room: \"bed-1\", feeds: [(id: \"HR2\", from: Output(\"PS1.1\"), \
                 cable: \"18-5\", measured: \"9 m\")], controls: [(id: \"C2\", part: \"dim-10\"), \
                 (id: \"C3\", part: \"dim-10\")]),\n        (\n            id: \"B1\"";
    let group = format!(
        "        ),\n    ], groups: [(id: \"G\", main: \"C1\", remotes: [\"C2\", \"C3\"], bus: ({profile}, \
         class_2: true), links: [{links}])])\n"
    );
    design_with(&[
        ("    boxes: [\n        (\n            id: \"B1\"", boxes),
        ("conductor_celsius: 75", celsius),
        (LAST_LINES, &group),
    ])
}

fn link(id: &str, from: &str, to: &str, metres: &str) -> String {
    format!("(id: \"{id}\", from: \"{from}\", to: \"{to}\", cable: \"18-2\", measured: \"{metres} m\")")
}

#[test]
fn a_bus_is_held_to_its_addresses_its_warm_copper_and_a_tree() {
    let near = [link("LK1", "C1", "C2", "5"), link("LK2", "C1", "C3", "5")].join(", ");
    let count = |design: &Design, code: &str| of(design, code).len();
    // IEC 62386: 64 addresses of control gear and 64 of control devices.
    for (profile, found) in [
        ("gear: 64, devices: 64, amps: 0.25", 0),
        ("gear: 65, amps: 0.25", 1),
        ("gear: 1, devices: 65, amps: 0.25", 1),
        ("gear: 65, devices: 65, amps: 0.25", 2),
    ] {
        assert_eq!(count(&bus(profile, &near, "conductor_celsius: 75"), "bus-addresses"), found, "{profile}");
    }
    // The drop is that between the two farthest points of the star, 80 + 90 m: 2 · 0.25 A · 170 m · 7.77/304.8 ohm/m is
    // 2.167 V at 75 °C, and with the 0.00323 of NEC chapter 9 table 8 note 2 1.782 V at 20 °C.
    let far = [link("LK1", "C1", "C2", "80"), link("LK2", "C1", "C3", "90")].join(", ");
    let profile = "gear: 2, amps: 0.25";
    let hot = bus(profile, &far, "conductor_celsius: 75");
    let drop = of(&hot, "bus-drop")[0].found.unwrap();
    assert!((drop - 2.0 * 0.25 * 170.0 * 7.77 / 304.8).abs() < 1e-9, "{drop}");
    assert_eq!(count(&bus(profile, &far, "conductor_celsius: 20"), "bus-drop"), 0);
    assert_eq!((count(&hot, "bus-length"), count(&hot, "bus-ring")), (0, 0), "a star is no ring");
    let ring = [&near, &link("LK3", "C2", "C3", "5")].map(String::as_str).join(", ");
    let ring = bus(profile, &ring, "conductor_celsius: 75");
    assert_eq!(of(&ring, "bus-ring")[0].subject.id, "LK3");
}

#[test]
fn lights_hung_lower_must_stand_closer() {
    // 6 ft apart: under 9 ft they hang 6.5 ft above the work plane, 0.93 · 6.5 = 6.045 ft; at 8 ft 0.93 · 5.5 = 5.115 ft.
    let ratio = ("lumens: 550,", "spacing_ratio: 0.93,");
    assert_eq!(figures(&[ratio], "spacing"), None);
    let lower = (
        "(id: \"F1\", place: (x: \"18'0\", y: \"8'0\")",
        "(id: \"F1\", place: (x: \"18'0\", y: \"8'0\", height: \"8'0\")",
    );
    let (found, limit) = figures(&[ratio, lower], "spacing").unwrap();
    assert!((found - 6.0).abs() < 1e-9 && (limit - 5.115).abs() < 1e-9, "{found} {limit}");
}

#[test]
fn watts_per_area_are_there_for_reference() {
    // Four lights of 6 W in 160 ft2.
    let design = design_with(&[]);
    let room = design.study.rooms.iter().find(|room| room.room.as_str() == "bed-1").unwrap();
    assert!((room.watts_per_ft2.unwrap() - 4.0 * 6.0 / 160.0).abs() < 1e-9);
}

#[test]
fn estimates_are_fine_while_a_house_is_planned_and_not_past_it() {
    for (stage, found) in [("Planning", 0), ("RoughIn", 2), ("Trim", 2)] {
        let stage = format!("title: \"New house\", stage: {stage},");
        let design = design_with(&[("title: \"New house\",", &stage)]);
        assert_eq!(of(&design, "estimated").len(), found, "{stage}");
    }
}

#[test]
fn ids_that_differ_by_case_only_are_refused_with_both_places() {
    for (from, to) in [
        ("(id: \"F2\"", "(id: \"f1\""),
        ("(id: \"bed-1\"", "(id: \"UTILITY\""),
        ("id: \"LP1\"", "id: \"hr1\""),
        ("(id: \"18-2\"", "(id: \"x-5\""),
    ] {
        let read = read::from_str("job", &starter_with(&[(from, to)]));
        let error = read.err().map(|error| error.to_string()).unwrap_or_default();
        if to.contains("x-5") {
            // Another id is no such thing: what names the old one is then at fault.
            assert!(error.contains("18-2"), "{error}");
        } else {
            assert!(error.contains("differ by case only"), "{to}: {error}");
        }
    }
}

#[test]
fn where_some_open_choice_may_collapse_nothing_is_said_to_be_fine() {
    // 150 ft of home run, doubled: R = 2 · 0.15 · 7.77 / 2 = 1.1655 ohm. Thirteen lights of 9.4 W take 122.2 W, just under
    // the 576 / (4 R) = 123.55 W that it carries, at 12 to 13 V; thirteen of 0.9 A leave 24 - 11.7 R = 10.4 V. The larger
    // of both at each of the volts has no solution, and 8,192 combinations are more than are tried one by one.
    let lights = |held: &dyn Fn(usize) -> String| -> String {
        let each: Vec<String> =
            (1..=13).map(|at| format!("(id: \"N{at}\", leg: \"0'1\", {}),", held(at))).collect();
        each.concat()
    };
    let of_lights = |held: &dyn Fn(usize) -> String| {
        let ceiling = format!("ceiling: [{}", lights(held));
        design_with(&[
            (
                "from: Output(\"PS1.1\"), cable: \"18-5\"",
                "from: Output(\"PS1.1\"), cable: \"18-5\", measured: \"150 ft\"",
            ),
            (LOOP, "path: OneWay, measured: \"3 ft\","),
            ("(id: \"F1\", place: (x: \"18'0\", y: \"8'0\"), fixture: \"down-6\"),", ""),
            ("(id: \"F2\", place: (x: \"24'0\", y: \"8'0\"), fixture: \"down-6\"),", ""),
            ("(id: \"F3\", place: (x: \"24'0\", y: \"2'0\"), fixture: \"down-6\"),", ""),
            ("(id: \"F4\", place: (x: \"18'0\", y: \"2'0\"), fixture: \"down-6\"),", ""),
            ("own_watts: 0.5, most_fixed_lights: 10", "own_watts: 0"),
            (
                "fixtures: [",
                "fixtures: [(id: \"p\", load: Power(watts: 9.4)), (id: \"i\", load: Current(amps: 0.9)),",
            ),
            ("ceiling: [", &ceiling),
        ])
    };
    let open = of_lights(&|_| "open: [\"p\", \"i\"]".into());
    assert_eq!(open.study.parts[0].runs[0].outcome, Outcome::Unknown(vec![Reason::MayCollapse]));
    let unknown = of(&open, "unknown");
    assert!(unknown[0].remedy.contains("choose some of them"), "{unknown:#?}");
    let output = &open.study.outputs[0];
    assert_eq!((output.watts, output.percent), (None, None), "unknown, never zero");
    // All of one kind are carried; what can't be said of the open ones is no idle doubt: one of the second among twelve of
    // the first has no solution.
    let outcome = |seconds: usize| {
        let held = |at: usize| format!("fixture: \"{}\"", if at > seconds { "p" } else { "i" });
        of_lights(&held).study.parts[0].runs[0].outcome.clone()
    };
    assert_eq!([0, 13, 1].map(outcome), [Outcome::Solved, Outcome::Solved, Outcome::NoSolution]);
}
