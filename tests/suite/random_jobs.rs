//! Small jobs made at random.

use crate::support::{STARTER, starter_with};
use proptest::prelude::*;
use std::fmt::Write as _;

/// Parts beside the starter's: every kind of load, supply and control that a run can hold.
const PARTS: &[(&str, &str)] = &[
    (
        "fixtures: [",
        r#"fixtures: [
            (id: "amp", load: Current(amps: 0.2)),
            (id: "bulb", load: Resistance(watts: 7, at_volts: 24)),
            (id: "str-9", load: String(volts: 9)),
            (id: "str-t", colour: Tunable, load: String(volts: 6, second_volts: 6.4)),"#,
    ),
    (
        "controls: [",
        r#"controls: [
            (id: "cur", drive: Current(amps: 0.35, efficiency_percent: 90, most_volts: 45),
             own_watts: 0.3, colour: TwoStrings(channels: Share)),
            (id: "cur2", drive: Current(amps: 0.25, efficiency_percent: 88, headroom_volts: 2),
             own_watts: 0, colour: TwoStrings(channels: BothFull)),"#,
    ),
    (
        "cables: [",
        r#"cables: [
            (id: "14-2", gauge: 14, conductors: 2, stranding: Stranded, plan: "pair"),"#,
    ),
];

/// One loop: its path, cable, and for each ceiling box how far on it is and what it holds.
#[derive(Debug, Clone)]
struct RandomLoop {
    path: &'static str,
    cable: &'static str,
    boxes: Vec<(i64, i64, usize)>,
}

/// One wall box: where it is fed from, how far it is, its control and its loops.
#[derive(Debug, Clone)]
struct RandomBox {
    onward: Option<prop::sample::Index>,
    output: u8,
    at: (i64, i64),
    measured: Option<i64>,
    control: &'static str,
    allowance: Option<u16>,
    loops: Vec<RandomLoop>,
}

fn random_loop() -> impl Strategy<Value = RandomLoop> {
    let path = prop::sample::select(vec!["OneWay", "ReturnedCapped", "Returned"]);
    let cable = prop::sample::select(vec!["18-2", "14-2"]);
    (path, cable, prop::collection::vec((0..12_i64, 0..9_i64, 0..4_usize), 1..6))
        .prop_map(|(path, cable, boxes)| RandomLoop { path, cable, boxes })
}

fn random_box() -> impl Strategy<Value = RandomBox> {
    let control = prop::sample::select(vec!["dim-10", "dim-10", "cur", "cur2"]);
    (
        prop::option::weighted(0.3, any::<prop::sample::Index>()),
        1..=4_u8,
        (3..40_i64, 3..40_i64),
        prop::option::of(10..180_i64),
        control,
        prop::option::weighted(0.2, 1..150_u16),
        prop::collection::vec(random_loop(), 0..3),
    )
        .prop_map(|(onward, output, at, measured, control, allowance, loops)| RandomBox {
            onward,
            output,
            at,
            measured,
            control,
            allowance,
            loops,
        })
}

fn written(number: usize, made: &RandomBox) -> String {
    let mut text = String::new();
    let from = match made.onward.filter(|_| number > 0) {
        Some(index) => format!("Onward(\"HR{}\")", index.index(number)),
        None => format!("Output(\"PS1.{}\")", made.output),
    };
    let measured = made.measured.map_or(String::new(), |feet| format!(", measured: \"{feet} ft\""));
    let _ = write!(
        text,
        "(id: \"B{number}\", room: \"bed-1\", place: (x: \"{} ft\", y: \"{} ft\", height: \"4 ft\"), \
         feeds: [(id: \"HR{number}\", from: {from}, cable: \"18-5\"{measured})], ",
        made.at.0, made.at.1
    );
    if let Some(watts) = made.allowance {
        let _ = write!(text, "allowance_watts: {watts}, ");
    }
    let _ = write!(text, "controls: [(id: \"C{number}\", part: \"{}\", loops: [", made.control);
    let current = made.control != "dim-10";
    for (nth, run) in made.loops.iter().enumerate() {
        let _ = write!(
            text,
            "(id: \"L{number}-{nth}\", cable: \"{}\", path: {}, ceiling: [",
            run.cable, run.path
        );
        for (at, &(x, y, part)) in run.boxes.iter().enumerate() {
            let held = match (current, part) {
                (_, 0) => String::new(),
                // A tunable light needs both conductors of a returned loop.
                (true, 3) if run.path == "Returned" => ", fixture: \"str-t\"".into(),
                (true, _) => ", fixture: \"str-9\"".into(),
                (false, part) => format!(", fixture: \"{}\"", ["down-6", "amp", "bulb"][part - 1]),
            };
            let (x, y) = (made.at.0 + x, made.at.1 - 3 + y);
            let _ =
                write!(text, "(id: \"F{number}-{nth}-{at}\", place: (x: \"{x} ft\", y: \"{y} ft\"){held}), ");
        }
        text.push_str("]), ");
    }
    text.push_str("])]),\n");
    text
}

/// The text of a job with a few wall boxes on the starter's panel.
pub(crate) fn job() -> impl Strategy<Value = String> {
    prop::collection::vec(random_box(), 1..6).prop_map(|boxes| {
        let with_parts = starter_with(PARTS);
        let (head, _) = with_parts.split_once("boxes: [\n        (\n            id: \"B1\"").unwrap();
        let boxes: Vec<String> = boxes.iter().enumerate().map(|(at, made)| written(at, made)).collect();
        format!("{head}boxes: [\n{}],\n)", boxes.concat())
    })
}

#[test]
fn the_starter_still_ends_with_its_wall_boxes() {
    // The jobs above take the starter up to there.
    assert!(STARTER.contains("boxes: [\n        (\n            id: \"B1\""));
}
