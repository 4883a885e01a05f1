//! Every check with a job that just passes it and one that just fails it, the figures worked by hand.

use crate::remedies::helps;
use crate::support::{STARTER, snapshots};
use insta::assert_snapshot;
use std::collections::BTreeSet;
use studbay::checks::{CHECKS, Finding, grouped};
use studbay::design::Design;
use studbay::job::read;
use studbay::remedy::{remedies, said};

/// Words of a job put in place of others.
type Change = (&'static str, &'static str);

/// A check with what makes the starter job just pass it and just fail it, and the figure and limit it then finds.
struct Case {
    code: &'static str,
    base: Vec<Change>,
    pass: Vec<Change>,
    fail: Vec<Change>,
    finds: Option<(f64, f64)>,
}

fn case(
    code: &'static str,
    base: &[Change],
    pass: &[Change],
    fail: &[Change],
    finds: Option<(f64, f64)>,
) -> Case {
    Case { code, base: base.to_vec(), pass: pass.to_vec(), fail: fail.to_vec(), finds }
}

/// One run with one light, so that its figures have a closed form. By NEC chapter 9 table 8, 18 AWG solid is 7.77
/// ohm/kFT at 75 °C: 50 ft of home run, doubled, are 2 · 0.05 · 7.77 / 2 = 0.3885 ohm, and 50 ft of loop 0.777 ohm,
/// together R = 1.1655 ohm. From 24 V the light then gets V = (24 + sqrt(576 - 4·R·P)) / 2.
const ONE: &[Change] = &[
    (
        "from: Output(\"PS1.1\"), cable: \"18-5\"",
        "from: Output(\"PS1.1\"), cable: \"18-5\", measured: \"50 ft\"",
    ),
    ("path: ReturnedCapped,", "path: OneWay, measured: \"50 ft\","),
    ("(id: \"F2\", place: (x: \"24'0\", y: \"8'0\"), fixture: \"down-6\"),", ""),
    ("(id: \"F3\", place: (x: \"24'0\", y: \"2'0\"), fixture: \"down-6\"),", ""),
    ("(id: \"F4\", place: (x: \"18'0\", y: \"2'0\"), fixture: \"down-6\"),", ""),
    ("own_watts: 0.5", "own_watts: 0"),
];
/// The same light in a string of a current drive: 0.65 A over 0.777 ohm are 0.50505 V of wire.
const STRING: &[Change] = &[
    ONE[0],
    ONE[1],
    ONE[2],
    ONE[3],
    ONE[4],
    (
        "drive: Voltage, own_watts: 0.5",
        "drive: Current(amps: 0.65, efficiency_percent: 90, most_volts: 50), own_watts: 0",
    ),
    ("load: Power(watts: 6, volts: (least: 20, most: 28))", "load: String(volts: 9, rated_amps: 0.65)"),
];
/// A second box on an output of its own.
const TWO: &[Change] = &[(
    "    boxes: [\n        (\n            id: \"B1\",",
    "    boxes: [(id: \"B2\", room: \"bed-1\", place: (x: \"20'0\", y: \"14'0\", height: \"4'0\"),
        feeds: [(id: \"HR2\", from: Output(\"PS1.2\"), cable: \"18-5\")],
        controls: [(id: \"C2\", part: \"dim-10\", loops: [(id: \"LP2\", cable: \"18-2\", path: OneWay,
            ceiling: [(id: \"G1\", place: (x: \"22'0\", y: \"10'0\"), fixture: \"down-6\")])])]),
        (id: \"B1\",",
)];
/// Two boxes whose controls are a group, with a bus of one measured link.
const BUS: &[Change] = &[
    TWO[0],
    (
        "        ),\n    ],\n)\n",
        "        ),\n    ], groups: [(id: \"G\", main: \"C1\", remotes: [\"C2\"],
            bus: (gear: 64, amps: 0.25, class_2: true),
            links: [(id: \"LK\", from: \"C1\", to: \"C2\", cable: \"18-2\", measured: \"10 m\")])])\n",
    ),
    (
        "loops: [(id: \"LP2\", cable: \"18-2\", path: OneWay,
            ceiling: [(id: \"G1\", place: (x: \"22'0\", y: \"10'0\"), fixture: \"down-6\")])]",
        "loops: []",
    ),
];
const PLACED: Change = (
    "supplies: [(id: \"PS1\", part: \"psu-24\", slot: 1)]",
    "supplies: [(id: \"PS1\", part: \"psu-24\", slot: 1), (id: \"PS2\", part: \"psu-24\", slot: 3)]",
);
const WATTS: &str = "watts: 6, volts";
const FEED: &str = "feeds: [(id: \"HR1\", from: Output(\"PS1.1\"), cable: \"18-5\")],";
const LOOP: &str = "path: ReturnedCapped,";
const NO_LOAD: &str = "no_load_volts: 24.5";
const DIMMER: &str = "own_watts: 0.5, most_fixed_lights: 10";
const HOME: &str = "from: Output(\"PS1.1\"), cable: \"18-5\"";
const BEDROOM: &str = "(id: \"bed-1\", name: \"Bedroom\", area: \"160 ft2\", ceiling: \"9'0\")";
const F1: &str = "(id: \"F1\", place: (x: \"18'0\", y: \"8'0\"), fixture: \"down-6\")";
const RETURN_2: Change = ("path: OneWay,\n", "path: Returned,\n");
const CROSS_2: Change = ("path: OneWay,\n", "path: Returned, returns_to: \"C1\",\n");
const GROUP: Change = (
    "        ),\n    ],\n)\n",
    "        ),\n    ], groups: [(id: \"G\", main: \"C1\", remotes: [\"C2\"],
            links: [(id: \"LK\", from: \"C1\", to: \"C2\", cable: \"18-2\")])])\n",
);

#[expect(clippy::too_many_lines, reason = "it is a table")]
fn cases() -> Vec<Case> {
    vec![
        case("no-feed", &[], &[], &[(FEED, "")], None),
        case(
            "feed-unsaid",
            &[(
                FEED,
                "feeds: [(id: \"HR1\", from: Output(\"PS1.1\"), cable: \"18-5\"), (id: \"HR3\", from: Output(\"PS1.2\"), cable: \"18-5\")],",
            )],
            &[("part: \"dim-10\",", "part: \"dim-10\", on: \"HR1\",")],
            &[],
            None,
        ),
        case("no-output", &[], &[], &[("Output(\"PS1.1\")", "Panel(\"P1\")")], None),
        case("interconnected", TWO, &[RETURN_2], &[CROSS_2], None),
        case(
            "unlike-outputs",
            TWO,
            &[CROSS_2],
            &[
                CROSS_2,
                ("PS1.2", "PS4.1"),
                (
                    "supplies: [(id: \"PS1\"",
                    "supplies: [(id: \"PS4\", part: \"psu-48\", slot: 5), (id: \"PS1\"",
                ),
                (
                    "supplies: [\n            (\n",
                    "supplies: [(id: \"psu-48\", outputs: 1, volts: 48, output_watts: 96, kind: Class2Protected, terminals: 2, slots: 2), (\n",
                ),
            ],
            Some((48.0, 24.0)),
        ),
        case("isolation", &[TWO[0], GROUP], &[(DIMMER, "own_watts: 0.5, link: Isolated")], &[], None),
        case("double-feed", &[TWO[0], ("PS1.2", "PS1.1")], &[RETURN_2], &[CROSS_2], None),
        case(
            "dead-short",
            &[],
            &[(LOOP, "path: Returned,")],
            &[(LOOP, "path: Returned, crossed: true,")],
            None,
        ),
        case(
            "crossed",
            &[],
            &[(LOOP, "path: Returned, crossed: true,")],
            &[(LOOP, "path: ReturnedCapped, crossed: true,")],
            None,
        ),
        case("unknown", &[], &[], &[("place: (x: \"20'0\", y: \"12'0\", height: \"4'0\"),", "")], None),
        case(
            "unfit",
            &[],
            &[],
            &[("load: Power(watts: 6, volts: (least: 20, most: 28))", "load: String(volts: 9)")],
            None,
        ),
        case("drive-amps", STRING, &[], &[("amps: 0.65, eff", "amps: 0.66, eff")], Some((0.66, 0.65))),
        // P over Vs²/(4R) = 576 / 4.662 = 123.552 W.
        case(
            "collapse",
            ONE,
            &[(WATTS, "watts: 123.5, volts")],
            &[(WATTS, "watts: 123.6, volts")],
            Some((123.6, 123.552_12)),
        ),
        // 90 % of 123.552 W.
        case(
            "near-collapse",
            ONE,
            &[(WATTS, "watts: 111.1, volts")],
            &[(WATTS, "watts: 111.2, volts")],
            Some((111.2, 111.196_91)),
        ),
        // 10 % lost at V = 21.6: P = 21.6 · 2.4 / R = 44.479 W.
        case(
            "drop",
            ONE,
            &[(WATTS, "watts: 44.4, volts")],
            &[(WATTS, "watts: 44.5, volts")],
            Some((10.005_38, 10.0)),
        ),
        // Of 50 ft, 10 ft lead to the light and 40 ft back: with the OUT end off R = 0.3885 + 0.6216 = 1.0101 ohm.
        case(
            "either-end",
            &[
                ONE[0],
                ONE[2],
                ONE[3],
                ONE[4],
                ONE[5],
                (LOOP, "path: Returned, measured: \"50 ft\", return_leg: \"40 ft\","),
            ],
            &[(WATTS, "watts: 51.3, volts")],
            &[(WATTS, "watts: 51.4, volts")],
            Some((10.017_18, 10.0)),
        ),
        // 20 V left: P = 20 · 4 / R = 68.640 W.
        case(
            "volts-low",
            ONE,
            &[(WATTS, "watts: 68.6, volts")],
            &[(WATTS, "watts: 68.7, volts")],
            Some((19.995_63, 20.0)),
        ),
        case(
            "volts-high",
            &[],
            &[(NO_LOAD, "no_load_volts: 28")],
            &[(NO_LOAD, "no_load_volts: 28.1")],
            Some((28.1, 28.0)),
        ),
        // Half of 6 A: V = 24 - 3R = 20.5035, P = 61.5105 W.
        case(
            "conductor-amps",
            &[
                ONE[0],
                ONE[1],
                ONE[2],
                ONE[3],
                ONE[4],
                ONE[5],
                ("target_load_percent: 80,", "target_load_percent: 80, conductor_amps_percent: 50,"),
            ],
            &[(WATTS, "watts: 61.5, volts")],
            &[(WATTS, "watts: 61.6, volts")],
            Some((3.005_26, 3.0)),
        ),
        case(
            "string-volts",
            STRING,
            &[("volts: 9, rated", "volts: 49.4, rated")],
            &[("volts: 9, rated", "volts: 49.5, rated")],
            Some((50.005_05, 50.0)),
        ),
        case(
            "string-60",
            STRING,
            &[("volts: 9, rated", "volts: 59.4, rated")],
            &[("volts: 9, rated", "volts: 59.5, rated")],
            Some((60.005_05, 60.0)),
        ),
        case("string-unknown", STRING, &[], &[(", most_volts: 50", "")], None),
        // NEC 250.119 exception 1 (2017): below 50 V green may be anything in a Class 2 cable.
        case(
            "green-wire",
            &[
                ("target_load_percent: 80,", "target_load_percent: 80, code_edition: Nec2017,"),
                ("(name: \"4\", function: Negative)", "(name: \"green\", function: Negative)"),
            ],
            &[(NO_LOAD, "no_load_volts: 49.9")],
            &[(NO_LOAD, "no_load_volts: 50")],
            Some((50.0, 50.0)),
        ),
        case(
            "long-run",
            ONE,
            &[(ONE[0].1, "from: Output(\"PS1.1\"), cable: \"18-5\", measured: \"100 ft\"")],
            &[(ONE[0].1, "from: Output(\"PS1.1\"), cable: \"18-5\", measured: \"100.1 ft\"")],
            Some((100.1, 100.0)),
        ),
        // 100 W out: 4.1667 A, V = 19.14375, P = 79.766 W. NEC chapter 9 table 11(B): 100 VA over 20 up to 60 V.
        case(
            "class-2-run",
            ONE,
            &[(WATTS, "watts: 79.7, volts")],
            &[(WATTS, "watts: 79.8, volts")],
            Some((100.057_75, 100.0)),
        ),
        // 96 W out: 4 A, V = 19.338, P = 77.352 W.
        case(
            "over-limit",
            ONE,
            &[(WATTS, "watts: 77.3, volts")],
            &[(WATTS, "watts: 77.4, volts")],
            Some((96.078_52, 96.0)),
        ),
        // 80 % of 96 W: 3.2 A, V = 20.2704, P = 64.865 W.
        case(
            "over-target",
            ONE,
            &[(WATTS, "watts: 64.8, volts")],
            &[(WATTS, "watts: 64.9, volts")],
            Some((80.052_48, 80.0)),
        ),
        case(
            "terminals",
            &[TWO[0], ("PS1.2", "PS1.1")],
            &[],
            &[("terminals: 2", "terminals: 1")],
            Some((2.0, 1.0)),
        ),
        // NEC chapter 9 table 11(B): 5.0 · Vmax up to 20 V, hence 60 VA at 12 V.
        case(
            "class-2-output",
            &[("volts: 24,\n", "volts: 12,\n"), (NO_LOAD, "no_load_volts: 12")],
            &[("output_watts: 96", "output_watts: 60")],
            &[("output_watts: 96", "output_watts: 60.1")],
            Some((60.1, 60.0)),
        ),
        case(
            "wet-volts",
            &[(BEDROOM, "(id: \"bed-1\", exposure: Wet, area: \"160 ft2\", ceiling: \"9'0\")")],
            &[(NO_LOAD, "no_load_volts: 30")],
            &[(NO_LOAD, "no_load_volts: 30.1")],
            Some((30.1, 30.0)),
        ),
        case(
            "interrupted",
            &[("idle_watts: 6", "interrupted: true, idle_watts: 6")],
            &[(NO_LOAD, "no_load_volts: 24.8")],
            &[(NO_LOAD, "no_load_volts: 24.9")],
            Some((24.9, 24.8)),
        ),
        case("slot-range", &[], &[("slot: 1", "slot: 7")], &[("slot: 1", "slot: 8")], Some((9.0, 8.0))),
        case("slot-overlap", &[PLACED], &[], &[("slot: 3", "slot: 2")], None),
        case("not-placed", &[], &[], &[(", slot: 1", "")], None),
        // 76.8 W out lose 6 + (384/0.91 - 384 - 6)·0.2 = 12.3956 W: 89.1956 W, over 0.95 and 120 V 0.78242 A.
        case(
            "ac-feed",
            &[ONE[0], ONE[1], ONE[2], ONE[3], ONE[4], ONE[5], (WATTS, "watts: 64.86528, volts")],
            &[("breaker_amps: 20", "breaker_amps: 0.98")],
            &[("breaker_amps: 20", "breaker_amps: 0.97")],
            Some((0.782_42, 0.776)),
        ),
        case("ac-unknown", &[], &[], &[("power_factor: 0.95,", "")], None),
        case("ac-branch", &[], &[], &[("breaker_amps: 20", "breaker_amps: 25")], Some((25.0, 20.0))),
        case(
            "inrush",
            &[PLACED],
            &[("idle_watts: 6", "most_per_breaker: 2, idle_watts: 6")],
            &[("idle_watts: 6", "most_per_breaker: 1, idle_watts: 6")],
            Some((2.0, 1.0)),
        ),
        case(
            "panel-heat",
            &[ONE[0], ONE[1], ONE[2], ONE[3], ONE[4], ONE[5], (WATTS, "watts: 64.86528, volts")],
            &[("slots: 8,", "slots: 8, heat_allowance_watts: 12.4,")],
            &[("slots: 8,", "slots: 8, heat_allowance_watts: 12.3,")],
            Some((12.395_6, 12.3)),
        ),
        // 76.8 of 4 · 96 W taken leave 80 %.
        case(
            "spare",
            &[ONE[0], ONE[1], ONE[2], ONE[3], ONE[4], ONE[5], (WATTS, "watts: 64.86528, volts")],
            &[("target_load_percent: 80,", "target_load_percent: 80, spare_capacity_percent: 79.9,")],
            &[("target_load_percent: 80,", "target_load_percent: 80, spare_capacity_percent: 80.1,")],
            Some((80.0, 80.1)),
        ),
        case("idle-control", &[], &[], &[("fixture: \"down-6\"", "")], None),
        case("no-control", TWO, &[], &[GROUP], Some((1.0, 0.0))),
        case(
            "lights",
            &[],
            &[("most_fixed_lights: 10", "most_fixed_lights: 4")],
            &[("most_fixed_lights: 10", "most_fixed_lights: 3")],
            Some((4.0, 3.0)),
        ),
        case(
            "keep-tunable",
            &[STRING[5], STRING[6], (BEDROOM, "(id: \"bed-1\", keep_tunable: true, ceiling: \"9'0\")")],
            &[],
            &[(LOOP, "path: OneWay,")],
            None,
        ),
        case(
            "mixed-colour",
            &[
                ("drive: Voltage,", "drive: Voltage, colour: OnPair,"),
                ("fixtures: [", "fixtures: [(id: \"tun-6\", colour: Tunable, load: Power(watts: 6)),"),
            ],
            &[],
            &[(F1, "(id: \"F1\", place: (x: \"18'0\", y: \"8'0\"), fixture: \"tun-6\")")],
            Some((3.0, 0.0)),
        ),
        case(
            "mixed-load",
            &[("fixtures: [", "fixtures: [(id: \"bulb\", load: Resistance(watts: 6, at_volts: 24)),")],
            &[],
            &[(F1, "(id: \"F1\", place: (x: \"18'0\", y: \"8'0\"), fixture: \"bulb\")")],
            None,
        ),
        case(
            "group-size",
            BUS,
            &[(DIMMER, "own_watts: 0.5, most_in_step: 2")],
            &[(DIMMER, "own_watts: 0.5, most_in_step: 1")],
            Some((2.0, 1.0)),
        ),
        case(
            "remote-cable",
            BUS,
            &[],
            &[(
                "links: [(id: \"LK\", from: \"C1\", to: \"C2\", cable: \"18-2\", measured: \"10 m\")]",
                "links: []",
            )],
            None,
        ),
        case("gangs", &[], &[], &[("drive: Voltage,", "drive: Voltage, gangs: 2,")], Some((2.0, 1.0))),
        // NEC 314.16(B): 5 conductors of the home run, 2 · 2 of the loop and its return, 2 for the yoke: 11 · 1.50 in3.
        case(
            "box-fill",
            &[],
            &[("volume: \"20 in3\"", "volume: \"16.5 in3\"")],
            &[("volume: \"20 in3\"", "volume: \"16.4 in3\"")],
            Some((16.5, 16.4)),
        ),
        case(
            "box-barrier",
            &[(
                "part: \"wall-1\",",
                "part: \"wall-1\", line: (gauge: 14, conductors: 4, grounds: 2, yokes: 1),",
            )],
            &[("volume: \"20 in3\"", "volume: \"40 in3\", class_2_volume: \"20 in3\"")],
            &[],
            None,
        ),
        case(
            "shared-hole",
            &[],
            &[],
            &[(HOME, "from: Output(\"PS1.1\"), cable: \"18-5\", way: [SharedHole]")],
            None,
        ),
        case(
            "cable-place",
            &[(HOME, "from: Output(\"PS1.1\"), cable: \"18-5\", way: [Riser]")],
            &[("conductors: 5, plan", "conductors: 5, listing: Riser, plan")],
            &[("conductors: 5, plan", "conductors: 5, listing: General, plan")],
            None,
        ),
        case(
            "nail-plate",
            &[],
            &[],
            &[(HOME, "from: Output(\"PS1.1\"), cable: \"18-5\", way: [NearEdge]")],
            None,
        ),
        case(
            "support",
            &[],
            &[],
            &[(HOME, "from: Output(\"PS1.1\"), cable: \"18-5\", way: [OnConduit]")],
            None,
        ),
        case(
            "metal",
            &[],
            &[],
            &[("conductors: 5, plan", "conductors: 5, metal: CopperCladAluminum, plan")],
            None,
        ),
        case("gauge", &[], &[], &[("gauge: 18, conductors: 5", "gauge: 17, conductors: 5")], None),
        case("plan-count", &[], &[], &[("conductors: 5, plan", "conductors: 4, plan")], Some((5.0, 4.0))),
        case(
            "ground",
            &[("target_load_percent: 80,", "target_load_percent: 80, ground_conductor: true,")],
            &[("(name: \"5\", function: Spare)", "(name: \"5\", function: Ground)")],
            &[],
            Some((0.0, 1.0)),
        ),
        case("slack", &[], &[], &[("makeup_ceiling_box: \"1'4\"", "makeup_ceiling_box: \"0'0\"")], None),
        case("bus-addresses", BUS, &[], &[("gear: 64", "gear: 65")], Some((65.0, 64.0))),
        case("bus-amps", BUS, &[], &[("amps: 0.25, class", "amps: 0.26, class")], Some((0.26, 0.25))),
        // 300 m are 984.252 ft.
        case(
            "bus-length",
            BUS,
            &[("measured: \"10 m\"", "measured: \"300 m\"")],
            &[("measured: \"10 m\"", "measured: \"300.1 m\"")],
            Some((984.580, 984.252)),
        ),
        // 2 · 0.25 A · 7.77/304.8 ohm/m · L is 2 V at 156.91 m.
        case(
            "bus-drop",
            BUS,
            &[("measured: \"10 m\"", "measured: \"156.9 m\"")],
            &[("measured: \"10 m\"", "measured: \"157 m\"")],
            Some((2.001_13, 2.0)),
        ),
        case(
            "bus-ring",
            BUS,
            &[],
            &[(
                "links: [",
                "links: [(id: \"LK2\", from: \"C2\", to: \"C1\", cable: \"18-2\", measured: \"9 m\"),",
            )],
            None,
        ),
        case("bus-cable", BUS, &[], &[("class_2: true", "class_2: false")], None),
        case(
            "room-dark",
            &[("(id: \"utility\", name: \"Utility\",", "(id: \"utility\", illuminance: \"1 lx\",")],
            &[(F1, "(id: \"F1\", room: \"utility\", place: (x: \"18'0\", y: \"8'0\"), fixture: \"down-6\")")],
            &[],
            None,
        ),
        // 4 · 550 lm · 0.6 · 0.8 / 14.8645 m² are 71.0418 lx.
        case(
            "light-level",
            &[],
            &[(BEDROOM, "(id: \"bed-1\", illuminance: \"71 lx\", area: \"160 ft2\", ceiling: \"9'0\")")],
            &[(BEDROOM, "(id: \"bed-1\", illuminance: \"72 lx\", area: \"160 ft2\", ceiling: \"9'0\")")],
            Some((71.041_8, 72.0)),
        ),
        case(
            "light-unknown",
            &[(BEDROOM, "(id: \"bed-1\", illuminance: \"10 fc\", area: \"160 ft2\", ceiling: \"9'0\")")],
            &[],
            &[("lumens: 550,", "")],
            None,
        ),
        // 6 ft apart under a 9 ft ceiling, 6.5 ft above the work plane: a ratio of 0.923.
        case(
            "spacing",
            &[],
            &[("lumens: 550,", "spacing_ratio: 0.93,")],
            &[("lumens: 550,", "spacing_ratio: 0.92,")],
            Some((6.0, 5.98)),
        ),
        case(
            "open-control",
            &[],
            &[],
            &[(
                "part: \"dim-10\",\n                    loops",
                "part: \"dim-10\", open: [\"dim-10\"],\n                    loops",
            )],
            None,
        ),
        case(
            "open-fixture",
            &[],
            &[],
            &[(F1, "(id: \"F1\", place: (x: \"18'0\", y: \"8'0\"), open: [\"down-6\"])")],
            None,
        ),
        case(
            "estimated",
            &[("title: \"New house\",", "title: \"New house\", stage: RoughIn,")],
            &[ONE[0], (LOOP, "path: ReturnedCapped, measured: \"60 ft\",")],
            &[],
            None,
        ),
        case(
            "stale-acceptance",
            &[("(id: \"utility\", name: \"Utility\",", "(id: \"utility\", illuminance: \"1 lx\",")],
            &[(
                "        ),\n    ],\n)\n",
                "        ),\n    ], accepted: [(code: \"room-dark\", subject: (kind: Room, id: \"utility\"), by: \"R. Quill\", reason: \"it needs none\")])\n",
            )],
            &[(
                "        ),\n    ],\n)\n",
                "        ),\n    ], accepted: [(code: \"drop\", subject: (kind: Fixture, id: \"F1\"), by: \"R. Quill\", reason: \"seen\", found: 11)])\n",
            )],
            None,
        ),
    ]
}

/// The starter job with words of it changed.
fn job(changes: &[&[Change]]) -> Design {
    let mut text = STARTER.to_owned();
    for (from, to) in changes.iter().copied().flatten() {
        assert!(text.contains(from), "nothing to change: {from}");
        text = text.replace(from, to);
    }
    Design::derive(read::from_str("job", &text).unwrap_or_else(|error| panic!("{error}\n{text}")).0)
}

fn of<'a>(design: &'a Design, code: &str) -> Vec<&'a Finding> {
    design.findings.iter().filter(|finding| finding.code == code).collect()
}

#[test]
fn every_check_just_passes_and_just_fails() {
    for Case { code, base, pass, fail, finds } in &cases() {
        let passing = job(&[base, pass]);
        assert!(of(&passing, code).is_empty(), "{code} should pass: {:#?}", of(&passing, code));
        let failing = job(&[base, fail]);
        let found = of(&failing, code);
        assert!(!found.is_empty(), "{code} should fail: {:#?}", failing.findings);
        if let Some((figure, limit)) = finds {
            let close = |got: Option<f64>, want: f64| {
                got.is_some_and(|got| (got - want).abs() < 1e-4 * want.max(1.0))
            };
            let right = found.iter().any(|f| close(f.found, *figure) && close(f.limit, *limit));
            assert!(right, "{code} finds other figures than {finds:?}: {found:#?}");
        }
    }
}

#[test]
fn every_check_there_is_has_a_case() {
    let listed: BTreeSet<&str> = CHECKS.iter().map(|check| check.code).collect();
    let tried: BTreeSet<&str> = cases().iter().map(|case| case.code).collect();
    assert_eq!(listed, tried);
    assert_eq!(cases().len(), tried.len(), "a case stands twice");
}

#[test]
fn what_was_accepted_comes_back_when_it_gets_worse() {
    let accepted: Change = (
        "        ),\n    ],\n)\n",
        "        ),\n    ], accepted: [(code: \"over-target\", subject: (kind: Output, id: \"PS1.1\"), by: \"R. Quill\",
            reason: \"never all on\", found: 85)])\n",
    );
    let with = |watts: &'static str| job(&[ONE, &[(WATTS, watts), accepted]]);
    // 85 % of 96 W is 81.6 W: 3.4 A, V = 24 - 3.4 R = 20.0373, P = 68.127 W.
    let held = with("watts: 68.1, volts");
    let finding = of(&held, "over-target")[0];
    assert_eq!(finding.accepted.as_ref().map(|a| a.by.as_str()), Some("R. Quill"));
    assert!(!finding.fails());
    let worse = with("watts: 69, volts");
    let finding = of(&worse, "over-target")[0];
    assert!(finding.accepted.is_none());
    assert!(finding.what.contains("R. Quill accepted 85.0 %"), "{}", finding.what);
}

#[test]
fn lights_of_one_loop_are_one_cause() {
    let design = job(&[&[(WATTS, "watts: 22, volts")]]);
    let drops = of(&design, "drop");
    assert!(drops.len() > 1, "{drops:#?}");
    let groups = grouped(&design.findings);
    let group: Vec<_> = groups.iter().filter(|group| group.findings[0].code == "drop").collect();
    assert_eq!(group.len(), 1);
    // The worst one speaks for them.
    let most = drops.iter().filter_map(|finding| finding.found).fold(0.0, f64::max);
    assert_eq!(group[0].worst().unwrap().found, Some(most));
}

/// Checks for which nothing can be tried: what helps is done by hand or measured, or the job that just fails has nothing
/// that would do, as one light that is too much by itself.
const BY_HAND: &[&str] =
    &["collapse", "estimated", "nail-plate", "shared-hole", "string-60", "support", "unfit", "unknown"];

#[test]
fn what_to_do_about_each_check_is_computed_and_helps() {
    let mut lines = Vec::new();
    let mut by_hand = BTreeSet::new();
    for Case { code, base, fail, .. } in &cases() {
        let design = job(&[base, fail]);
        let groups = grouped(&design.findings);
        let group = groups.iter().find(|group| group.findings[0].code == *code).unwrap();
        let found = remedies(&design, group.worst().unwrap());
        for remedy in &found {
            helps(&design, group.worst().unwrap(), remedy);
        }
        if found.is_empty() {
            by_hand.insert(*code);
        }
        lines.push(format!("[{code}] {}\n    {}", group.what(), said(&design, group)));
    }
    let _guard = snapshots("checks").bind_to_scope();
    assert_snapshot!("what-to-do", lines.join("\n"));
    assert_eq!(by_hand, BY_HAND.iter().copied().collect());
}
