//! Each check at its edge: a job that just passes it and one that just fails.

use crate::support::design_with;
use studbay::checks::CHECKS;

type Changes = &'static [(&'static str, &'static str)];

const FEED: &str = "feeds: [(id: \"HR1\", from: Output(\"PS1.1\"), cable: \"18-5\")],";
const POWER: &str = "load: Power(watts: 6, volts: (least: 20, most: 28))";
const DRIVE: &str = "drive: Voltage, own_watts: 0.5, most_fixed_lights: 10";
const CAPPED: &str = "path: ReturnedCapped, // or OneWay, or Returned to feed it from both ends";
const FIRST_BOX: &str = "boxes: [\n        (\n            id: \"B1\"";
const LAST_LINES: &str = "            ],\n        ),\n    ],\n)";

/// A code, what makes the starter just pass it, and what makes it just fail.
const EDGES: &[(&str, Changes, Changes)] = &[
    ("no-feed", &[], &[(FEED, "")]),
    ("feed-unsaid", &[(FEED, TWO_FEEDS), ("id: \"C1\",", "id: \"C1\", on: \"HR1\",")], &[(FEED, TWO_FEEDS)]),
    ("idle-control", &[(FIRST_BOX, IDLE_BOX), (LAST_LINES, GROUPED)], &[(FIRST_BOX, IDLE_BOX)]),
    ("no-output", &[], &[("from: Output(\"PS1.1\")", "from: Panel(\"P1\")")]),
    (
        "interconnected",
        &[(FIRST_BOX, OTHER_OUTPUT), (CAPPED, "path: Returned, returns_to: \"C1\",")],
        &[(FIRST_BOX, OTHER_OUTPUT), (CAPPED, "path: Returned, returns_to: \"C2\",")],
    ),
    (
        "isolation",
        &[(FIRST_BOX, OTHER_OUTPUT), (DRIVE, ISOLATED), (LAST_LINES, LINKED)],
        &[(FIRST_BOX, OTHER_OUTPUT), (LAST_LINES, LINKED)],
    ),
    (
        "double-feed",
        &[(FIRST_BOX, SAME_OUTPUT), (CAPPED, "path: Returned,")],
        &[(FIRST_BOX, SAME_OUTPUT), (CAPPED, "path: Returned, returns_to: \"C2\",")],
    ),
    (
        "dead-short",
        &[(CAPPED, "path: ReturnedCapped, crossed: true,")],
        &[(CAPPED, "path: Returned, crossed: true,")],
    ),
    (
        "unknown",
        &[
            ("id: \"F3\", place: (x: \"24'0\", y: \"2'0\")", "id: \"F3\", leg: \"8'0\""),
            ("id: \"F4\",", "id: \"F4\", leg: \"8'0\","),
        ],
        &[("id: \"F3\", place: (x: \"24'0\", y: \"2'0\")", "id: \"F3\", leg: \"8'0\"")],
    ),
    // Most power through the 1.554 ohm of 100 ft of one pair of 18 AWG at 24 V is 92.66 W; the loop takes some too.
    (
        "collapse",
        &[
            (FEED, LONG_PAIR),
            ("controls: [\n                (", "allowance_watts: 66.2, controls: [\n                ("),
        ],
        &[
            (FEED, LONG_PAIR),
            ("controls: [\n                (", "allowance_watts: 66.6, controls: [\n                ("),
        ],
    ),
    // The last light of the starter gets 23.18 V, 3.41 % down; see study.rs.
    (
        "drop",
        &[("regulated_percent: 10", "regulated_percent: 3.41")],
        &[("regulated_percent: 10", "regulated_percent: 3.40")],
    ),
    ("volts-low", &[("least: 20", "least: 23.18")], &[("least: 20", "least: 23.19")]),
    ("volts-high", &[("most: 28", "most: 24.5")], &[("most: 28", "most: 24.49")]),
    // Four lights of 9 V and 0.35 A through 0.481 ohm of wire: 36.168 V.
    (
        "string-volts",
        &[
            ("volts: 24,", "volts: 48,"),
            (POWER, "load: String(volts: 9)"),
            (DRIVE, STRING_36_17),
            (CAPPED, "path: Returned,"),
        ],
        &[
            ("volts: 24,", "volts: 48,"),
            (POWER, "load: String(volts: 9)"),
            (DRIVE, STRING_36_16),
            (CAPPED, "path: Returned,"),
        ],
    ),
    (
        "string-60",
        &[
            ("volts: 24,", "volts: 48,"),
            (POWER, "load: String(volts: 14.95)"),
            (DRIVE, STRING_90),
            (CAPPED, "path: Returned,"),
        ],
        &[
            ("volts: 24,", "volts: 48,"),
            (POWER, "load: String(volts: 14.96)"),
            (DRIVE, STRING_90),
            (CAPPED, "path: Returned,"),
        ],
    ),
    (
        "string-unknown",
        &[
            ("volts: 24,", "volts: 48,"),
            (POWER, "load: String(volts: 9)"),
            (DRIVE, STRING_90),
            (CAPPED, "path: Returned,"),
        ],
        &[
            ("volts: 24,", "volts: 48,"),
            (POWER, "load: String(volts: 9)"),
            (DRIVE, STRING_UNSAID),
            (CAPPED, "path: Returned,"),
        ],
    ),
    (
        "long-run",
        &[("longest_home_run: \"100 ft\"", "longest_home_run: \"45'8\"")],
        &[("longest_home_run: \"100 ft\"", "longest_home_run: \"45'7 15/16\"")],
    ),
    // 10 ft of doubled 18 AWG are 0.0777 ohm: 74.2 W and the starter's 25 W make 100.0 W at the output.
    (
        "class-2-run",
        &[
            (FEED, SHORT_RUN),
            ("controls: [\n                (", "allowance_watts: 73.6, controls: [\n                ("),
        ],
        &[
            (FEED, SHORT_RUN),
            ("controls: [\n                (", "allowance_watts: 74.2, controls: [\n                ("),
        ],
    ),
    // The starter's run takes 25.2695 W.
    (
        "over-limit",
        &[("output_watts: 96", "output_watts: 25.27")],
        &[("output_watts: 96", "output_watts: 25.26")],
    ),
    (
        "over-target",
        &[("target_load_percent: 80", "target_load_percent: 26.33")],
        &[("target_load_percent: 80", "target_load_percent: 26.32")],
    ),
    ("terminals", &[(FIRST_BOX, SAME_OUTPUT)], &[(FIRST_BOX, SAME_OUTPUT), ("terminals: 2", "terminals: 1")]),
    (
        "class-2-output",
        &[("output_watts: 96", "output_watts: 100")],
        &[("output_watts: 96", "output_watts: 100.1")],
    ),
    ("slot-range", &[("slot: 1)", "slot: 7)")], &[("slot: 1)", "slot: 8)")]),
    (
        "slot-overlap",
        &[("slot: 1)", "slot: 1), (id: \"PS2\", part: \"psu-24\", slot: 3)")],
        &[("slot: 1)", "slot: 1), (id: \"PS2\", part: \"psu-24\", slot: 2)")],
    ),
    ("not-placed", &[], &[(", slot: 1)", ")")]),
    // The panel takes 0.2928 A: 25.27 W out, 8.10 W lost, over 0.95 and 120 V. 80 % of the breaker is the limit.
    (
        "ac-feed",
        &[("breaker_amps: 20", "breaker_amps: 0.366")],
        &[("breaker_amps: 20", "breaker_amps: 0.365")],
    ),
    ("ac-unknown", &[], &[("power_factor: 0.95,", "")]),
    (
        "lights",
        &[("most_fixed_lights: 10", "most_fixed_lights: 4")],
        &[("most_fixed_lights: 10", "most_fixed_lights: 3")],
    ),
    ("gangs", &[], &[("own_watts: 0.5,", "own_watts: 0.5, gangs: 2,")]),
    (
        "open-fixture",
        &[],
        &[(
            "y: \"2'0\"), fixture: \"down-6\"),\n                            ],",
            "y: \"2'0\"), open: [\"down-6\"]),\n                            ],",
        )],
    ),
];

const TWO_FEEDS: &str = "feeds: [(id: \"HR1\", from: Output(\"PS1.1\"), cable: \"18-5\"), \
                         (id: \"HR2\", from: Output(\"PS1.2\"), cable: \"18-5\")],";
const LONG_PAIR: &str = "feeds: [(id: \"HR1\", from: Output(\"PS1.1\"), cable: \"18-5\", plan: \"pair\", \
                         measured: \"100 ft\")],";
const SHORT_RUN: &str =
    "feeds: [(id: \"HR1\", from: Output(\"PS1.1\"), cable: \"18-5\", measured: \"10 ft\")],";
const IDLE_BOX: &str = "boxes: [(id: \"B2\", room: \"bed-1\", place: (x: \"2'0\", y: \"2'0\", height: \"4'0\"), \
                        feeds: [(id: \"HR2\", from: Output(\"PS1.1\"), cable: \"18-5\")], \
                        controls: [(id: \"C2\", part: \"dim-10\")]),\n        (\n            id: \"B1\"";
const SAME_OUTPUT: &str = IDLE_BOX;
const OTHER_OUTPUT: &str = "boxes: [(id: \"B2\", room: \"bed-1\", place: (x: \"2'0\", y: \"2'0\", height: \"4'0\"), \
                            feeds: [(id: \"HR2\", from: Output(\"PS1.2\"), cable: \"18-5\")], \
                            controls: [(id: \"C2\", part: \"dim-10\")]),\n        (\n            id: \"B1\"";
const GROUPED: &str =
    "            ],\n        ),\n    ],\n    groups: [(id: \"G1\", main: \"C1\", remotes: [\"C2\"])],\n)";
const LINKED: &str = "            ],\n        ),\n    ],\n    groups: [(id: \"G1\", main: \"C1\", remotes: [\"C2\"], \
                      links: [(id: \"LK1\", from: \"C1\", to: \"C2\", cable: \"18-2\")])],\n)";
const ISOLATED: &str = "drive: Voltage, own_watts: 0.5, most_fixed_lights: 10, link: Isolated";
const STRING_36_17: &str =
    "drive: Current(amps: 0.35, efficiency_percent: 90, most_volts: 36.17), own_watts: 0.5";
const STRING_36_16: &str =
    "drive: Current(amps: 0.35, efficiency_percent: 90, most_volts: 36.16), own_watts: 0.5";
const STRING_90: &str = "drive: Current(amps: 0.35, efficiency_percent: 90, most_volts: 90), own_watts: 0.5";
const STRING_UNSAID: &str = "drive: Current(amps: 0.35, efficiency_percent: 90), own_watts: 0.5";

#[test]
fn each_check_finds_what_just_fails_and_lets_pass_what_just_does_not() {
    for (code, pass, fail) in EDGES {
        assert!(CHECKS.iter().any(|check| check.code == *code), "{code} is no check");
        let passing = design_with(pass);
        let found = passing.findings.iter().find(|finding| finding.code == *code);
        assert!(found.is_none(), "{code} is found where it just passes: {found:#?}");
        let failing = design_with(fail);
        let found = failing.findings.iter().find(|finding| finding.code == *code);
        let Some(finding) = found else { panic!("{code} is not found: {:#?}", failing.findings) };
        if let (Some(figure), Some(limit)) = (finding.found, finding.limit) {
            assert_eq!(figure < limit, *code == "volts-low", "{code}: {figure} against {limit}");
        }
        assert!(!finding.remedy.is_empty() && !finding.what.is_empty());
    }
}

#[test]
fn the_starter_itself_has_nothing_wrong() {
    assert!(design_with(&[]).findings.is_empty());
}
