//! Fault location on cables whose readings an outside circuit simulator computed.
//!
//! Each case is a loop with its copper and length a little off what the job says, sound, bridged or open somewhere. Its
//! conductors are a ladder of resistors; ngspice says what an ideal meter reads at its ends and boxes, kept in
//! `tests/oracle/faults.csv` and computed anew where ngspice is installed (`STUDBAY_NGSPICE=1` makes a missing one a
//! failure, `STUDBAY_ORACLE_RECORD=1` writes the file anew). Then a meter reads it: gain, counts, leads, last digit.

use crate::support::{design_of, starter_with};
use std::fmt::Write as _;
use std::process::Command;
use studbay::design::Design;
use studbay::job::Id;
use studbay::job::site::{End, Test};
use studbay::site::{Cable, Fault, Observed, Verdict, Where, diagnose, line, place};

const BRIDGED: usize = 1100;
const OPEN: usize = 200;
const SOUND: usize = 400;
/// Cases in one run of the simulator.
const BATCH: usize = 100;
/// Ohms beyond which the meters here show that they are over.
const OVER: f64 = 1e7;
/// Metres in a foot.
const FOOT: f64 = 0.3048;

/// Ohms per 1000 ft of one solid conductor at 20 °C: the standard copper wire table, NBS Handbook 100 (1966).
const WIRE: [(u8, f64); 2] = [(18, 6.385), (20, 10.15)];

/// A small generator of random numbers (`SplitMix64`, Steele, Lea and Flood 2014), the same everywhere.
struct Dice(u64);

impl Dice {
    fn next(&mut self) -> f64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        // The upper half: as much as one figure needs, and exact.
        let upper = u32::try_from((z ^ (z >> 31)) >> 32).unwrap();
        f64::from(upper) / (f64::from(u32::MAX) + 1.0)
    }

    fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.next()
    }

    fn whole(&mut self, low: usize, high: usize) -> usize {
        let count = f64::from(u32::try_from(high - low + 1).unwrap());
        let part = self.next() * count;
        low + (1..=high - low).filter(|nth| f64::from(u32::try_from(*nth).unwrap()) <= part).count()
    }
}

#[derive(Debug, Clone, Copy, PartialEq)]
enum Trouble {
    None,
    Bridge { share: f64, ohms: f64 },
    Open { leg: usize },
}

/// A loop as it is in the house, beside what the job says of it.
#[derive(Debug, Clone)]
struct Case {
    gauge: u8,
    /// What the job says, ft; the last leg goes back.
    legs: Vec<f64>,
    /// The true length over that.
    stretch: f64,
    /// The true resistance of a foot over that of the tables.
    copper: f64,
    /// The length was not measured but estimated.
    estimated: bool,
    trouble: Trouble,
}

fn cases() -> Vec<Case> {
    let mut dice = Dice(20_260_309);
    (0..BRIDGED + OPEN + SOUND)
        .map(|number| {
            let stops = dice.whole(2, 10);
            // Whole inches, as somebody would type them.
            let legs: Vec<f64> =
                (0..=stops).map(|_| (dice.between(4.0, 30.0) * 12.0).round() / 12.0).collect();
            let estimated = number % 4 == 0;
            let whole: f64 = legs.iter().sum();
            let off = if estimated { 0.15 } else { 0.01 + 1.0 / whole };
            let share = dice.between(0.01, 0.99);
            let ohms = match number % 3 {
                0 => dice.between(0.0, 0.2),
                1 => dice.between(0.2, 3.0),
                _ => dice.between(3.0, 40.0),
            };
            let leg = dice.whole(0, stops);
            let trouble = match number {
                n if n < BRIDGED => Trouble::Bridge { share, ohms },
                n if n < BRIDGED + OPEN => Trouble::Open { leg },
                _ => Trouble::None,
            };
            let gauge = WIRE[dice.whole(0, 1)].0;
            let (stretch, copper) = (dice.between(1.0 - off, 1.0 + off), dice.between(0.97, 1.03));
            Case { gauge, legs, stretch, copper, estimated, trouble }
        })
        .collect()
}

impl Case {
    fn id(at: usize) -> String {
        format!("F{}", at + 1)
    }

    /// The ohms of a foot of one conductor as it truly is.
    fn per_foot(&self) -> f64 {
        let (_, per_kft) = WIRE.iter().find(|(gauge, _)| *gauge == self.gauge).unwrap();
        per_kft / 1000.0 * self.copper
    }

    fn true_feet(&self) -> f64 {
        self.legs.iter().sum::<f64>() * self.stretch
    }

    /// What is read, in order.
    fn tests(&self) -> Vec<Test> {
        let joined = |from| Test::Joined { at: None, from };
        let mut tests = vec![
            Test::Conductor("1".into()),
            Test::Conductor("2".into()),
            Test::Across(End::Near),
            Test::Across(End::Far),
            joined(End::Near),
            joined(End::Far),
        ];
        if matches!(self.trouble, Trouble::Open { .. }) {
            let stops = 0..self.legs.len() - 1;
            tests.extend(stops.map(|at| Test::Joined { at: Id::new(&Self::id(at)).ok(), from: End::Near }));
        }
        tests
    }

    /// One copy of the loop for the simulator with an ampere through it as the test has it, every node behind a prefix.
    fn lines(&self, deck: &mut String, prefix: &str, test: &Test) -> String {
        // Points along the cable: the ends, the boxes, and the bridge.
        let mut points: Vec<f64> = vec![0.0];
        for leg in &self.legs {
            points.push(points.last().unwrap() + leg * self.stretch);
        }
        let bridge = match self.trouble {
            Trouble::Bridge { share, ohms } => Some((share * self.true_feet(), ohms.max(1e-6))),
            _ => None,
        };
        if let Some((at, _)) = bridge {
            points.push(at);
        }
        points.sort_by(f64::total_cmp);
        let node = |side: char, at: usize| format!("{prefix}{side}{at}");
        let last = points.len() - 1;
        for at in 0..last {
            let mut ohms = (points[at + 1] - points[at]) * self.per_foot();
            if self.trouble == (Trouble::Open { leg: at }) {
                ohms = 1e8;
            }
            for side in ['a', 'b'] {
                let (from, to) = (node(side, at), node(side, at + 1));
                let _ = writeln!(deck, "R{from} {from} {to} {ohms:.12e}");
            }
        }
        if let Some((feet, ohms)) = bridge {
            let at = points.iter().position(|point| point.total_cmp(&feet).is_eq()).unwrap();
            let _ = writeln!(deck, "RB{prefix} {} {} {ohms:.12e}", node('a', at), node('b', at));
        }
        // Insulation, without which a sound side would float.
        for at in [0, last] {
            let _ = writeln!(deck, "RI{prefix}_{at} {} {} 2e10", node('a', at), node('b', at));
        }
        let (plus, minus, join) = match test {
            Test::Conductor(name) => {
                let side = if name == "1" { 'a' } else { 'b' };
                (node(side, 0), node(side, last), None)
            }
            Test::Across(End::Near) => (node('a', 0), node('b', 0), None),
            Test::Across(End::Far) => (node('a', last), node('b', last), None),
            Test::Joined { at: None, from: End::Near } => (node('a', 0), node('b', 0), Some(last)),
            Test::Joined { at: None, from: End::Far } => (node('a', last), node('b', last), Some(0)),
            Test::Joined { at: Some(id), .. } => {
                let at: usize = id.as_str()[1..].parse().unwrap();
                (node('a', 0), node('b', 0), Some(at))
            }
            other => panic!("{other} is not simulated"),
        };
        if let Some(at) = join {
            let _ = writeln!(deck, "VJ{prefix} {} {} DC 0", node('a', at), node('b', at));
        }
        let _ = writeln!(deck, "V{prefix} {minus} 0 DC 0\nI{prefix} 0 {plus} DC 1");
        plus
    }
}

fn recorded_file() -> std::path::PathBuf {
    crate::support::project("tests/oracle/faults.csv")
}

/// The ohms of every test of every case, as ngspice has them.
fn simulated(cases: &[Case]) -> Vec<Vec<f64>> {
    let folder = tempfile::tempdir().unwrap();
    let mut all = Vec::new();
    for batch in cases.chunks(BATCH) {
        let mut deck = String::from("* loops with an ampere through each\n");
        let mut nodes = Vec::new();
        for (number, case) in batch.iter().enumerate() {
            let tests = case.tests();
            let names = tests
                .iter()
                .enumerate()
                .map(|(nth, test)| case.lines(&mut deck, &format!("c{number}t{nth}"), test));
            nodes.push(names.collect::<Vec<String>>());
        }
        deck.push_str(".options reltol=1e-6 gmin=1e-20 itl1=200\n.control\nset numdgt=12\nop\n");
        nodes.iter().flatten().for_each(|node| deck += &format!("print v({node})\n"));
        deck.push_str(".endc\n.end\n");
        let file = folder.path().join("faults.cir");
        std::fs::write(&file, deck).unwrap();
        let output = Command::new("ngspice").arg("-b").arg(&file).output().unwrap();
        let text = String::from_utf8_lossy(&output.stdout);
        let figure = |line: &str| {
            let (name, value) = line.split_once(" = ")?;
            Some((
                name.trim().trim_start_matches("v(").trim_end_matches(')').to_owned(),
                value.trim().parse().ok()?,
            ))
        };
        let figures: std::collections::HashMap<String, f64> = text.lines().filter_map(figure).collect();
        assert!(
            nodes.iter().flatten().all(|node| figures.contains_key(node)),
            "{}",
            text.chars().take(2000).collect::<String>()
        );
        all.extend(nodes.iter().map(|nodes| nodes.iter().map(|node| figures[node]).collect::<Vec<f64>>()));
    }
    all
}

fn recorded() -> Vec<Vec<f64>> {
    let text = std::fs::read_to_string(recorded_file()).unwrap();
    text.lines()
        .filter(|line| !line.starts_with('#'))
        .map(|line| line.split(',').map(|figure| figure.parse().unwrap()).collect())
        .collect()
}

#[test]
fn the_recorded_ohms_are_those_of_a_live_run() {
    let there = Command::new("ngspice").arg("--version").output().is_ok();
    if !there {
        let demanded = std::env::var_os("STUDBAY_NGSPICE").is_some_and(|value| value == "1");
        assert!(!demanded, "ngspice was demanded and cannot be run");
        eprintln!("NOT COMPARED: there is no ngspice here");
        return;
    }
    let cases = cases();
    let theirs = simulated(&cases);
    if std::env::var_os("STUDBAY_ORACLE_RECORD").is_some() {
        let mut text = String::from(
            "# ohms by ngspice, a loop a line, its tests in the order of tests/suite/site_faults.rs\n",
        );
        for ohms in &theirs {
            let figures: Vec<String> = ohms.iter().map(|ohms| format!("{ohms:.8e}")).collect();
            let _ = writeln!(text, "{}", figures.join(","));
        }
        std::fs::write(recorded_file(), text).unwrap();
    }
    let ours = recorded();
    assert_eq!(ours.len(), theirs.len());
    let pairs = ours.iter().flatten().zip(theirs.iter().flatten());
    // Beyond what a meter shows only that it is beyond counts.
    let differ = |(a, b): &(&f64, &f64)| (**a - **b).abs() > 1e-6 * b.abs() && a.min(**b) < OVER;
    let wrong = pairs.filter(differ).count();
    assert_eq!(wrong, 0, "figures that differ");
}

/// A meter's errors, each a limit.
struct Off {
    id: &'static str,
    percent: f64,
    counts: f64,
    digit: f64,
    leads: f64,
}

const METERS: [Off; 2] = [
    Off { id: "bench", percent: 0.1, counts: 2.0, digit: 0.001, leads: 0.0 },
    Off { id: "pocket", percent: 0.8, counts: 3.0, digit: 0.1, leads: 0.2 },
];

/// What the meter shows.
fn shown(dice: &mut Dice, meter: &Off, gain: f64, ohms: f64) -> String {
    if ohms > OVER {
        return "OL".into();
    }
    let seen = ohms * (1.0 + gain) + meter.leads + dice.between(-1.0, 1.0) * meter.counts * meter.digit;
    let decimals = if meter.digit < 0.01 { 3 } else { 1 };
    format!("{:.decimals$}", seen.max(0.0))
}

/// The job that says so much of a case and holds what the meter showed. A loop whose length is estimated ends at its
/// last box, so that its places alone give its legs; the others return and were pulled from mark to mark.
fn job_of(case: &Case, readings: &[String]) -> Design {
    let stops = if case.estimated { case.legs.len() } else { case.legs.len() - 1 };
    let leg = |at: usize| {
        let measured =
            if case.estimated { String::new() } else { format!("leg: \"{:.0} in\", ", case.legs[at] * 12.0) };
        let x = case.legs[..=at].iter().sum::<f64>();
        let place = format!("place: (x: \"{x:.6} ft\", y: \"0 ft\")");
        format!("(id: \"{}\", {measured}{place}, fixture: \"down-6\"),", Case::id(at))
    };
    let ceiling: String = (0..stops).map(leg).collect();
    let whole: f64 = case.legs.iter().sum();
    let known = if case.estimated {
        String::new()
    } else {
        format!("site: (start_mark: \"900 ft\", end_mark: \"{:.6} ft\"),", 900.0 - whole)
    };
    let readings: Vec<String> = readings.iter().map(|reading| format!("\"{reading}\",")).collect();
    let readings = readings.concat();
    let text = starter_with(&[
        ("routing_allowance_percent: 10", "routing_allowance_percent: 0"),
        ("cable_end: \"3'0\"", "cable_end: \"0'0\""),
        ("ceiling_box: \"1'4\"", "ceiling_box: \"0'0\""),
        (
            "place: (x: \"20'0\", y: \"12'0\", height: \"4'0\")",
            "place: (x: \"0'0\", y: \"0'0\", height: \"9'0\")",
        ),
        ("path: ReturnedCapped,", if case.estimated { "path: OneWay," } else { "path: ReturnedCapped," }),
    ]);
    let from = text.find("ceiling: [\n").unwrap();
    let to = from + text[from..].find("\n                            ],").unwrap();
    let text = format!("{}readings: [{readings}], {known} ceiling: [{ceiling}{}", &text[..from], &text[to..]);
    let meters: Vec<String> = METERS
        .iter()
        .map(|meter| {
            let leads = if meter.leads > 0.0 { format!("lead_ohms: {}", meter.leads) } else { String::new() };
            format!(
                "(id: \"{}\", ohms: (percent: {}, counts: {}, resolution: {}), {leads}),",
                meter.id, meter.percent, meter.counts, meter.digit
            )
        })
        .collect();
    let meters = meters.concat();
    let text = text
        .replacen("        boxes: [", &format!("        meters: [{meters}],\n        boxes: ["), 1)
        .replace("18/2 solid\", gauge: 18", &format!("18/2 solid\", gauge: {}", case.gauge));
    design_of(&text)
}

/// What became of the cases with one meter.
#[derive(Debug, Default)]
struct Score {
    placed: usize,
    within: usize,
    legs_right: usize,
    unplaced: usize,
    half_widths: Vec<f64>,
}

fn read_with(meter: &Off, dice: &mut Dice, case: &Case, ohms: &[f64]) -> Vec<String> {
    let gain = dice.between(-1.0, 1.0) * meter.percent / 100.0;
    let tests = case.tests();
    let read = tests
        .iter()
        .zip(ohms)
        .map(|(test, ohms)| format!("{test}: {} with {} at 20 C", shown(dice, meter, gain, *ohms), meter.id));
    read.collect()
}

/// The diagnosis of a case with a meter.
fn told(meter: &Off, dice: &mut Dice, case: &Case, ohms: &[f64]) -> (studbay::site::Diagnosis, usize) {
    let design = job_of(case, &read_with(meter, dice, case, ohms));
    let id = Id::new("LP1").unwrap();
    let line = line(&design, &id).unwrap();
    assert_eq!(line.readings.len(), case.tests().len());
    (diagnose(&design, &line), line.between())
}

#[test]
fn a_bridge_lies_within_what_is_stated_19_times_in_20() {
    let cases: Vec<(Case, Vec<f64>)> = cases().into_iter().zip(recorded()).take(BRIDGED).collect();
    for meter in &METERS {
        let mut dice = Dice(7);
        let mut score = Score::default();
        for (case, ohms) in &cases {
            let Trouble::Bridge { share, .. } = case.trouble else { panic!("not bridged") };
            let (said, _) = told(meter, &mut dice, case, ohms);
            assert_eq!(said.verdict, Verdict::Damaged, "{case:?}: {said:?}");
            let Some(Fault::Bridged { place: Some(place), legs, .. }) = said.faults.first() else {
                score.unplaced += 1;
                continue;
            };
            let true_metres = share * case.true_feet() * FOOT;
            score.placed += 1;
            score.within += usize::from((place.metres - true_metres).abs() <= place.metres_off);
            score.half_widths.push(place.metres_off / FOOT);
            let mut along = 0.0;
            let share_of = |feet: f64| feet / case.legs.iter().sum::<f64>();
            let leg = case.legs.iter().position(|leg| {
                along += leg;
                share <= share_of(along)
            });
            score.legs_right += usize::from(legs.contains(&leg.unwrap()));
        }
        score.half_widths.sort_by(f64::total_cmp);
        let median = score.half_widths[score.half_widths.len() / 2];
        eprintln!(
            "{}: {} placed, {} within, {} in a named leg, {} not placed, half width {median:.1} ft in the middle",
            meter.id, score.placed, score.within, score.legs_right, score.unplaced
        );
        assert!(score.placed >= 1000, "{score:?}");
        assert!(
            score.within * 100 >= score.placed * 95,
            "{}: {} of {}",
            meter.id,
            score.within,
            score.placed
        );
        assert!(score.legs_right * 100 >= score.placed * 95, "{}: {}", meter.id, score.legs_right);
        // A band that says nothing would be right always: a good meter tells a few feet, a pocket meter tens.
        let most = if meter.id == "bench" { 6.0 } else { 40.0 };
        assert!(median < most, "{}: {median} ft", meter.id);
    }
}

#[test]
fn an_open_lies_in_its_bracket_and_the_next_box_halves_it() {
    let all = cases().into_iter().zip(recorded());
    let mut dice = Dice(11);
    for (case, ohms) in all.skip(BRIDGED).take(OPEN) {
        let Trouble::Open { leg } = case.trouble else { panic!("not open") };
        for meter in &METERS {
            let (said, stops) = told(meter, &mut dice, &case, &ohms);
            assert_eq!(said.verdict, Verdict::Damaged, "{case:?}");
            let Some(Fault::Open { conductors, bracket }) = said.faults.first() else { panic!("{said:?}") };
            assert_eq!(conductors.len(), 2);
            assert!(bracket.against.is_empty(), "{bracket:?}");
            // Every box was read, so the bracket is the one leg, and there is no box between to open.
            let after = leg.checked_sub(1).map_or(studbay::site::Point::Near, studbay::site::Point::Box);
            assert_eq!(bracket.after, after, "{case:?}");
            assert_eq!(bracket.next(stops), None, "{bracket:?}");
        }
    }
}

#[test]
fn no_sound_loop_is_called_damaged() {
    let all = cases().into_iter().zip(recorded());
    let mut dice = Dice(13);
    let (mut sound, mut called) = (0, Vec::new());
    for (case, ohms) in all.skip(BRIDGED + OPEN) {
        for meter in &METERS {
            let (said, _) = told(meter, &mut dice, &case, &ohms);
            sound += 1;
            if said.verdict != Verdict::Sound {
                called.push(format!("{case:?}: {said:?}"));
            }
        }
    }
    // Bands add limits, so within them there is no false alarm at all.
    assert!(sound >= 800 && called.is_empty(), "{} of {sound}: {:?}", called.len(), called.first());
}

/// What a bridge at two ends of one conductor says: its ohms to the fault and beyond, with some of the fault's own.
fn by_loop(to_fault: f64, beyond: f64, metres: f64) -> f64 {
    let cable = Cable {
        conductor_ohms: to_fault + beyond,
        pair_factor: 1.0,
        copper_off: 1e-6,
        metres,
        length_off: 1e-6,
    };
    let seen = |end: End, ohms: f64| Observed {
        of: Where::Across(end),
        ohms,
        gain_off: 1e-6,
        meter: 0,
        ohms_off: 1e-6,
        warmth: 1.0,
    };
    let fault = 7.5;
    let found = place(&cable, &[seen(End::Near, to_fault + fault), seen(End::Far, beyond + fault)]).unwrap();
    assert!((found.ohms - fault).abs() < 1e-3, "the fault's own ohms are told apart: {found:?}");
    found.metres
}

#[test]
fn published_examples_of_loop_tests_come_out() {
    // A loop test balances P and Q against the ohms to the fault and those beyond it, so it tells their ratio.
    let murray = |p: f64, q: f64, loop_ohms: f64| (q / (p + q) * loop_ohms, p / (p + q) * loop_ohms);
    // V. K. Mehta, Principles of Power System, example 11.21, p. 296: P 45, Q 15 ohm, a cable of 300 m.
    let (to, beyond) = murray(45.0, 15.0, 60.0);
    assert!((by_loop(to, beyond, 600.0) - 150.0).abs() < 0.01);
    // The same, example 11.23, p. 297: 500 m, 1 ohm/km faulty and 2.25 ohm/km sound, P:Q 2.75:1; metres of the faulty.
    let (to, beyond) = murray(2.75, 1.0, 0.5 + 0.5 * 2.25);
    assert!((by_loop(to, beyond, 1625.0) - 433.0).abs() < 0.5);
    // Anand, Electrical Power I, example 8.9, p. 226: 1000 m at 1.6 ohm/km, 3:1.
    let (to, beyond) = murray(3.0, 1.0, 3.2);
    assert!((by_loop(to, beyond, 2000.0) - 500.0).abs() < 0.01);
    // The same, example 8.8, p. 225, by Varley: P 10, Q 80, balances 2400 and 3400, a loop of 10 km.
    let (loop_ohms, to) = (10.0 / 80.0 * 3400.0, 10.0 * (3400.0 - 2400.0) / 90.0);
    assert!((by_loop(to, loop_ohms - to, 10_000.0) - 2614.0).abs() < 0.5);
    // Hawkins Electrical Guide no. 3 (1914), fig. 597: 54.07 ohm in the loop at 16.46 ohm a mile, 332 of 1000; in miles.
    let miles = 54.07 / 16.46;
    assert!((by_loop(0.332 * 54.07, 0.668 * 54.07, miles) - 1.09).abs() < 0.005);
}
