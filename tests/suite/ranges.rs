//! Figures and findings over open choices, held to every combination of them on small jobs made at random: each is made
//! in the job's text, the job studied anew, and the extremes of what comes out compared.

use crate::support::{close, design_of, starter_with};
use proptest::prelude::*;
use std::collections::{BTreeMap, BTreeSet};
use std::fmt::Write as _;
use studbay::design::Design;
use studbay::study::{Of, Outcome, Pick, Range};

/// Parts of every kind beside the starter's, some with limits of their own.
const PARTS: &[(&str, &str)] = &[
    (
        "fixtures: [",
        r#"fixtures: [
    (id: "p-9", load: Power(watts: 9, volts: (least: 22.9, most: 28)), lumens: 700),
    (id: "p-14", load: Power(watts: 14, volts: (least: 22.0, most: 28)), lumens: 900, colour: Tunable),
    (id: "amp", load: Current(amps: 0.4), lumens: 600),
    (id: "bulb", load: Resistance(watts: 8, at_volts: 24), lumens: 500),
    (id: "str-9", load: String(volts: 9, rated_amps: 0.3), lumens: 400),
    (id: "str-7", load: String(volts: 7), lumens: 300),"#,
    ),
    (
        "controls: [",
        r#"controls: [
    (id: "dim-2", drive: Voltage, own_watts: 2, gangs: 2, most_fixed_lights: 2, most_tunable_lights: 1, colour: OnPair),
    (id: "cur-a", drive: Current(amps: 0.35, efficiency_percent: 90, most_volts: 17), own_watts: 0.3),
    (id: "cur-b", drive: Current(amps: 0.25, efficiency_percent: 80, headroom_volts: 5), own_watts: 0.1),"#,
    ),
    ("regulated_percent: 10, resistive_percent: 5", "regulated_percent: 4, resistive_percent: 2"),
    ("target_load_percent: 80", "target_load_percent: 60, collapse_margin_percent: 60"),
    ("breaker_amps: 20", "breaker_amps: 0.8"),
    ("slots: 8,", "slots: 8, heat_allowance_watts: 12,"),
    ("(id: \"bed-1\",", "(id: \"bed-1\", illuminance: \"26 lx\","),
];
const KINDS: [&str; 7] = ["down-6", "p-9", "p-14", "amp", "bulb", "str-9", "str-7"];
const REACHES: [&str; 4] = ["Each", "Loop", "Room", "House"];
const ROOMS: [&str; 2] = ["bed-1", "utility"];

/// Entries still open, and how far one choice reaches.
type List = (Vec<usize>, usize);

#[derive(Debug, Clone)]
enum Hold {
    Fixed(usize),
    Own(List),
    Inherit,
    Blank,
}

/// A wall box with one control and one loop, in a room of its own.
#[derive(Debug, Clone)]
struct Wired {
    series: bool,
    path: &'static str,
    feet: u32,
    output: u8,
    list: Option<List>,
    lights: Vec<Hold>,
    control: Option<usize>,
}

#[derive(Debug, Clone)]
struct Made {
    rooms: [Option<List>; 2],
    boxes: Vec<Wired>,
}

/// What a choice is known by: where it holds, and between what.
type Key = (String, Vec<usize>);

impl Made {
    fn key(reach: usize, options: &[usize], room: usize, at: usize, light: usize) -> Key {
        let scope = match reach {
            0 => format!("F{at}{light}"),
            1 => format!("L{at}"),
            2 => format!("room {}", ROOMS[room]),
            _ => "house".into(),
        };
        let mut sorted = options.to_vec();
        sorted.sort_unstable();
        (scope, sorted)
    }

    /// The choice a light takes part in.
    fn choice(&self, at: usize, light: usize) -> Option<Key> {
        let wired = &self.boxes[at];
        let list = match &wired.lights[light] {
            Hold::Fixed(_) | Hold::Blank => return None,
            Hold::Own(list) => list,
            Hold::Inherit => wired.list.as_ref().or(self.rooms[at % 2].as_ref())?,
        };
        Some(Self::key(list.1, &list.0, at % 2, at, light))
    }

    /// The choice a control takes part in: between the two of its drive.
    fn control_choice(&self, at: usize) -> Option<Key> {
        let wired = &self.boxes[at];
        let base = if wired.series { 102 } else { 100 };
        let (scope, _) = Self::key(wired.control?, &[], at % 2, at, 9);
        Some((format!("control {scope}"), vec![base, base + 1]))
    }

    fn choices(&self) -> BTreeMap<Key, usize> {
        let mut all = BTreeMap::new();
        for at in 0..self.boxes.len() {
            let lights = (0..self.boxes[at].lights.len()).filter_map(|light| self.choice(at, light));
            for key in lights.chain(self.control_choice(at)) {
                let many = key.1.len();
                all.insert(key, many);
            }
        }
        all
    }

    /// The job, open or with every choice made.
    fn written(&self, made: Option<&BTreeMap<Key, usize>>) -> String {
        let open = |list: &Option<List>| match (list, made) {
            (Some((options, reach)), None) => {
                format!("open: [{}], one_for: {}, ", names(options), REACHES[*reach])
            }
            _ => String::new(),
        };
        let mut boxes = String::new();
        for (at, wired) in self.boxes.iter().enumerate() {
            let (room, feet, output) = (ROOMS[at % 2], wired.feet, wired.output);
            let types = if wired.series { ["cur-a", "cur-b"] } else { ["dim-10", "dim-2"] };
            let control = match (self.control_choice(at), made) {
                (Some(key), Some(made)) => format!("part: \"{}\"", types[made[&key]]),
                (Some(_), None) => format!(
                    "part: \"{}\", open: [\"{}\"], one_for: {}",
                    types[0],
                    types[1],
                    REACHES[wired.control.unwrap()]
                ),
                (None, _) => format!("part: \"{}\"", types[0]),
            };
            let list = open(&wired.list);
            let path = wired.path;
            let _ = write!(
                boxes,
                "(id: \"B{at}\", room: \"{room}\", part: \"wall-1\", feeds: [(id: \"HR{at}\", from: Output(\"PS1.{output}\"), \
                 cable: \"18-5\", measured: \"{feet} ft\")], controls: [(id: \"C{at}\", {control}, loops: [(id: \
                 \"L{at}\", cable: \"18-2\", measured: \"70 ft\", path: {path}, {list}ceiling: ["
            );
            for (light, hold) in wired.lights.iter().enumerate() {
                let holds = match (hold, self.choice(at, light), made) {
                    (Hold::Fixed(kind), ..) => format!("fixture: \"{}\"", KINDS[*kind]),
                    (Hold::Blank, ..) => "blank: true".into(),
                    (_, Some(key), Some(made)) => format!("fixture: \"{}\"", KINDS[key.1[made[&key]]]),
                    (Hold::Own((options, reach)), ..) => {
                        format!("open: [{}], one_for: {}", names(options), REACHES[*reach])
                    }
                    (Hold::Inherit, ..) => String::new(),
                };
                let _ = write!(boxes, "(id: \"F{at}{light}\", {holds}),");
            }
            boxes.push_str("])])]),\n");
        }
        let rooms: Vec<(String, String)> = ROOMS
            .iter()
            .zip(&self.rooms)
            .map(|(room, list)| (format!("(id: \"{room}\","), format!("(id: \"{room}\", {}", open(list))))
            .collect();
        let mut changes = PARTS.to_vec();
        changes.extend(rooms.iter().map(|(from, to)| (from.as_str(), to.as_str())));
        let text = starter_with(&changes);
        let (head, _) = text.split_once("boxes: [\n        (\n            id: \"B1\"").unwrap();
        format!("{head}boxes: [\n{boxes}],\n)").replace(", ,", ",").replace("\", )", "\")")
    }

    /// Every combination of choices.
    fn corners(&self) -> Vec<BTreeMap<Key, usize>> {
        self.choices().iter().fold(vec![BTreeMap::new()], |all, (key, &many)| {
            let longer = |known: &BTreeMap<Key, usize>| {
                (0..many)
                    .map(|option| {
                        let mut more = known.clone();
                        more.insert(key.clone(), option);
                        more
                    })
                    .collect::<Vec<_>>()
            };
            all.iter().flat_map(longer).collect()
        })
    }
}

fn names(options: &[usize]) -> String {
    options.iter().map(|&n| format!("\"{}\"", KINDS[n])).collect::<Vec<_>>().join(", ")
}

fn list(series: bool) -> BoxedStrategy<List> {
    let kinds: Vec<usize> = if series { vec![5, 6] } else { vec![0, 1, 2, 3, 4] };
    let most = if series { 2 } else { 3 };
    (prop::sample::subsequence(kinds, 1..=most), 0..4_usize).boxed()
}

fn hold(series: bool) -> BoxedStrategy<Hold> {
    let fixed = if series { 5..7_usize } else { 0..5 };
    prop_oneof![
        3 => fixed.prop_map(Hold::Fixed),
        2 => list(series).prop_map(Hold::Own),
        2 => Just(Hold::Inherit),
        1 => Just(Hold::Blank),
    ]
    .boxed()
}

fn wired() -> impl Strategy<Value = Wired> {
    prop::bool::weighted(0.25).prop_flat_map(|series| {
        let path = prop::sample::select(vec!["OneWay", "ReturnedCapped", "Returned"]);
        // A list of the room, which is for lights across the pair, is not to reach a string.
        let list =
            if series { list(true).prop_map(Some).boxed() } else { prop::option::of(list(false)).boxed() };
        let lights = prop::collection::vec(hold(series), 2..4);
        (path, 30..160_u32, 1..3_u8, list, lights, prop::option::weighted(0.3, 0..4_usize)).prop_map(
            move |(path, feet, output, list, lights, control)| {
                // A control knows no choice of its loop.
                let control = control.map(|reach| if reach == 1 { 0 } else { reach });
                Wired { series, path, feet, output, list, lights, control }
            },
        )
    })
}

fn made() -> impl Strategy<Value = Made> {
    let room = || prop::option::of(list(false));
    let made = ((room(), room()), prop::collection::vec(wired(), 1..4));
    made.prop_map(|((a, b), boxes)| Made { rooms: [a, b], boxes }).prop_filter("some, not too many", |made| {
        let corners: usize = made.choices().values().product();
        (2..=200).contains(&corners)
    })
}

/// Every figure of a design by name, with its range where it has one.
fn figures(design: &Design) -> BTreeMap<String, (f64, Option<Range>)> {
    let mut all = BTreeMap::new();
    let mut put = |name: String, figure: Option<f64>, range: Option<&Range>| {
        if let Some(figure) = figure {
            all.insert(name, (figure, range.cloned()));
        }
    };
    for run in design.study.runs(&design.network) {
        let id = &design.network.runs[run.run].id;
        put(format!("{id} amps"), run.source_amps, run.range(Of::SourceAmps));
        put(format!("{id} watts"), run.source_watts, run.range(Of::SourceWatts));
        put(format!("{id} loss"), run.loss_watts, run.range(Of::LossWatts));
        for (at, (_, volts)) in run.feed_volts.iter().enumerate() {
            put(format!("{id} -feed{at}"), *volts, run.range(Of::FeedVolts(at)));
        }
        for (at, light) in run.lights.iter().enumerate() {
            put(format!("{id} -volts{at}"), light.volts, run.range(Of::Volts(at)));
            put(format!("{id} amps{at}"), light.amps, run.range(Of::Amps(at)));
            put(format!("{id} watts{at}"), light.watts, run.range(Of::Watts(at)));
            put(format!("{id} drop{at}"), light.drop_volts, run.range(Of::DropVolts(at)));
            put(format!("{id} percent{at}"), light.drop_percent, run.range(Of::DropPercent(at)));
        }
        for (at, cable) in run.cables.iter().enumerate() {
            put(format!("{id} cable{at}"), cable.amps, run.range(Of::CableAmps(at)));
            put(format!("{id} cable loss{at}"), cable.loss_watts, run.range(Of::CableLoss(at)));
        }
    }
    for output in &design.study.outputs {
        let ranges = output.ranges.as_deref();
        put(format!("{} watts", output.output), output.watts, ranges.map(|ranges| &ranges.watts));
        put(format!("{} percent", output.output), output.percent, ranges.map(|ranges| &ranges.percent));
    }
    for panel in &design.study.panels {
        let ranges = panel.ranges.as_deref();
        put("ac watts".into(), panel.ac_watts, ranges.and_then(|r| r.ac_watts.as_ref()));
        put("ac va".into(), panel.ac_volt_amps, ranges.and_then(|r| r.ac_volt_amps.as_ref()));
        put("ac amps".into(), panel.ac_amps, ranges.and_then(|r| r.ac_amps.as_ref()));
        put("heat".into(), panel.heat_watts, ranges.and_then(|r| r.heat_watts.as_ref()));
    }
    all
}

/// What is found, by code and subject; that something is open is no news.
fn findings(design: &Design) -> BTreeSet<(String, String)> {
    let found = design.findings.iter().filter(|finding| !finding.code.starts_with("open-"));
    found.map(|finding| (finding.code.to_owned(), finding.subject.to_string())).collect()
}

fn solved(design: &Design) -> bool {
    design.study.runs(&design.network).all(|run| run.outcome == Outcome::Solved)
}

fn config() -> ProptestConfig {
    let usual = ProptestConfig::default();
    ProptestConfig { cases: usual.cases / 6, failure_persistence: None, ..usual }
}

proptest! {
    #![proptest_config(config())]
    #[test]
    fn ranges_and_findings_are_those_of_every_combination(made in made()) {
        let open = design_of(&made.written(None));
        let corners: Vec<Design> =
            made.corners().iter().map(|corner| design_of(&made.written(Some(corner)))).collect();
        prop_assert_eq!(solved(&open), corners.iter().all(solved));
        let mut union: BTreeSet<_> = corners.iter().flat_map(findings).collect();
        let found = findings(&open);
        if !solved(&open) {
            // A run that some choice leaves without figures is reported as that, and its figures are unknown.
            let none = ["collapse", "unknown"];
            let runs = |all: &BTreeSet<(String, String)>| {
                all.iter().filter(|(code, _)| none.contains(&code.as_str())).cloned().collect::<BTreeSet<_>>()
            };
            prop_assert_eq!(runs(&found), runs(&union), "{}", made.written(None));
            return Ok(());
        }
        // What is over its limit is not reported as over its target too.
        union.retain(|(code, of)| code != "over-target" || !found.contains(&("over-limit".into(), of.clone())));
        prop_assert_eq!(found, union, "{}", made.written(None));
        let each: Vec<_> = corners.iter().map(figures).collect();
        for (name, (shown, range)) in figures(&open) {
            let at = || each.iter().filter_map(|corner| Some(corner.get(&name)?.0));
            let (least, most) = at().fold((f64::MAX, f64::MIN), |(l, m), f| (l.min(f), m.max(f)));
            // It is shown at its unfavourable end.
            let worst = if name.contains('-') { least } else { most };
            prop_assert!(close(shown, worst, 1e-9), "{name}: {shown} for {worst}\n{}", made.written(None));
            match range {
                Some(range) => {
                    prop_assert!(range.exact, "{name}");
                    prop_assert!(
                        close(range.least, least, 1e-9) && close(range.most, most, 1e-9),
                        "{name}: {range:?} for {least} to {most}\n{}", made.written(None)
                    );
                }
                None => prop_assert!(close(least, most, 1e-9), "{name}: no range for {least} to {most}"),
            }
        }
    }
}

/// The starter with its first two lights open between two fixtures, in one reach.
fn two_open(reach: &str) -> Design {
    let open = format!("open: [\"down-6\", \"p-9\"], one_for: {reach}");
    let mut changes = vec![("fixtures: [", "fixtures: [(id: \"p-9\", load: Power(watts: 9)),")];
    let from = ["y: \"8'0\"), fixture: \"down-6\""];
    let to = format!("y: \"8'0\"), {open}");
    changes.push((from[0], &to));
    design_of(&starter_with(&changes))
}

#[test]
fn a_choice_is_named_by_what_it_reaches() {
    let picks = |reach: &str| {
        let design = two_open(reach);
        let run = design.study.run(&design.network, 0).unwrap();
        let range = run.range(Of::SourceWatts).unwrap().clone();
        assert!(range.exact && range.least < range.most);
        range.most_choice
    };
    let of = |picks: Vec<Pick>| picks.into_iter().map(|pick| (pick.of, pick.part)).collect::<Vec<_>>();
    let pick = |of: &str| (of.to_owned(), "p-9".to_owned());
    assert_eq!(of(picks("Each")), [pick("fixture/F1"), pick("fixture/F2")]);
    assert_eq!(of(picks("Loop")), [pick("cable/LP1")]);
    assert_eq!(of(picks("Room")), [pick("room/bed-1")]);
    assert_eq!(of(picks("House")), [pick("house")]);
}

#[test]
fn a_job_with_nothing_open_has_no_ranges() {
    let design = design_of(&starter_with(&[]));
    assert!(design.study.runs(&design.network).all(|run| run.ranges.is_none()));
    assert!(design.study.outputs.iter().all(|output| output.ranges.is_none()));
    assert!(design.study.panels.iter().all(|panel| panel.ranges.is_none()));
}

/// The starter's loop with so many open lights, each between these, and everything on one pair of 100 ft.
fn many_open(lights: usize, between: &str, feet: u32) -> String {
    let mut boxes = String::new();
    for n in 1..=lights {
        let _ = writeln!(boxes, "(id: \"F{n}\", leg: \"1 ft\", open: [{between}]),");
    }
    let text = starter_with(&[
        (
            "fixtures: [",
            "fixtures: [(id: \"p-80\", load: Power(watts: 80)), (id: \"p-5\", load: Power(watts: 5)), \
          (id: \"bulb-1112\", load: Resistance(watts: 1112, at_volts: 24)), \
          (id: \"bulb-4\", load: Resistance(watts: 4, at_volts: 24)),",
        ),
        ("cable: \"18-5\")],", &format!("cable: \"18-5\", plan: \"pair\", measured: \"{feet} ft\")],")),
        ("path: ReturnedCapped, // or OneWay, or Returned to feed it from both ends", "path: OneWay,"),
    ]);
    let (head, rest) = text.split_once("(id: \"F1\"").unwrap();
    let (_, tail) = rest.split_once("fixture: \"down-6\"),\n                            ],").unwrap();
    format!("{head}{boxes}],{tail}")
}

/// The job with every open light given one of two.
fn closed(text: &str, of: impl Fn(usize) -> bool, two: [&str; 2]) -> Design {
    let mut at = 0;
    let lines = text.lines().map(|line| match line.split_once("open: [") {
        Some((head, tail)) if line.contains("leg: ") => {
            at += 1;
            let (_, tail) = tail.split_once(']').unwrap();
            format!("{head}fixture: \"{}\"{tail}", two[usize::from(of(at - 1))])
        }
        _ => line.to_owned(),
    });
    design_of(&lines.collect::<Vec<_>>().join("\n"))
}

#[test]
fn more_corners_than_are_tried_give_the_same_volts_and_bounds_for_the_rest() {
    // 13 lights of two kinds are 8192 corners.
    let text = many_open(13, "\"p-5\", \"bulb-4\"", 60);
    let open = design_of(&text);
    let run = open.study.run(&open.network, 0).unwrap();
    let range = |of: Of| run.range(of).unwrap();
    let (volts, amps) = (range(Of::Volts(12)), range(Of::SourceAmps));
    assert!(volts.exact && amps.exact && !range(Of::CableAmps(1)).exact && !range(Of::LossWatts).exact);
    let named = |picks: &[Pick]| {
        let picks: Vec<bool> = picks.iter().map(|pick| pick.part == "bulb-4").collect();
        closed(&text, |at| picks[at], ["p-5", "bulb-4"])
    };
    let of = |design: &Design, of: Of| {
        let run = design.study.run(&design.network, 0).unwrap();
        match of {
            Of::Volts(at) => run.lights[at].volts,
            Of::CableAmps(at) => run.cables[at].amps,
            Of::LossWatts => run.loss_watts,
            Of::Watts(at) => run.lights[at].watts,
            _ => run.source_amps,
        }
        .unwrap()
    };
    // The ends are reached with the choices named for them.
    assert!(close(of(&named(&volts.least_choice), Of::Volts(12)), volts.least, 1e-9));
    assert!(close(of(&named(&amps.most_choice), Of::SourceAmps), amps.most, 1e-9));
    assert!(close(of(&named(&amps.least_choice), Of::SourceAmps), amps.least, 1e-9));
    // No other corner is beyond them.
    for seed in 0..200_u32 {
        let corner =
            closed(&text, |at| seed.wrapping_mul(2_654_435_761) >> (at + 7) & 1 == 1, ["p-5", "bulb-4"]);
        for figure in [Of::Volts(12), Of::SourceAmps, Of::CableAmps(1), Of::LossWatts, Of::Watts(3)] {
            let (range, found) = (range(figure), of(&corner, figure));
            assert!(range.least <= found * (1.0 + 1e-9) && found <= range.most * (1.0 + 1e-9), "{figure:?}");
        }
    }
}

#[test]
fn a_collapse_is_one_that_a_choice_has() {
    // One pair of 100 ft of 18 AWG is 1.554 ohm. 80 W are carried at 16.4 V, and a lamp of 0.518 ohm at 6.0 V; at no volts
    // can the pair give the larger of both currents, but no light takes that.
    let two = ["p-80", "bulb-1112"];
    let text = many_open(1, "\"p-80\", \"bulb-1112\"", 99);
    for bulb in [false, true] {
        assert!(solved(&closed(&text, |_| bulb, two)));
    }
    let open = design_of(&text);
    assert!(solved(&open), "{:?}", open.study.parts);
    // With more corners than are tried it is not known whether one of them collapses: never that none does.
    let many = many_open(13, "\"p-80\", \"bulb-1112\"", 99);
    let design = design_of(&many);
    let run = design.study.run(&design.network, 0).unwrap();
    // There all 80 W lights together do collapse, and that choice is found.
    assert_eq!(run.outcome, Outcome::NoSolution);
    let found = design.findings.iter().find(|finding| finding.code == "collapse").unwrap();
    assert!(found.what.contains("as p-80"), "{}", found.what);
}
