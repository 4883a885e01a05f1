//! The solver against an outside circuit simulator.
//!
//! `tests/oracle/networks.ron` describes the networks. The decks beside it are made from it here,
//! so that a deck and a circuit cannot differ; `recorded.csv` holds what ngspice said of them.
//! Where ngspice is installed it is run again; `STUDBAY_NGSPICE=1` makes a missing one a failure
//! and `STUDBAY_ORACLE_RECORD=1` writes decks and results anew.

use std::collections::{BTreeMap, BTreeSet};
use std::fmt::Write as _;
use std::path::PathBuf;
use std::process::Command;

use serde::Deserialize;
use studbay::study::circuit::{Solution, Unsolved, largest_power_factor, solve};

use crate::networks::{Kind, Named, Network, one, read, tests_folder};

/// Relative difference allowed on volts and source amps.
const AGREEMENT: f64 = 1e-8;

/// A network to compare.
#[derive(Debug, Deserialize)]
struct Case {
    id: String,
    group: Group,
    note: String,
    network: Network,
    /// How close to collapse it is meant to be.
    #[serde(default)]
    of_limit: Option<f64>,
    /// For what must collapse: the most watts it could carry, `Vs²/4R`.
    #[serde(default)]
    limit_watts: Option<f64>,
}

/// What a network is a sample of.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Deserialize)]
enum Group {
    /// A loop that ends at its last fixture.
    Ended,
    /// A loop that comes back to its box and is capped there.
    Capped,
    /// A loop fed from both ends.
    BothEnds,
    /// A box fed onward from another.
    Onward,
    /// Several loops on one box.
    SeveralLoops,
    /// Constant current, resistance, mixes and open choices.
    Mixed,
    /// Doubled conductors.
    Doubled,
    /// Series strings on current drives.
    Series,
    NearCollapse,
    /// Beyond the limit: no deck, as a simulator would give some figure all the same.
    Collapse,
}

/// Figures by what the simulator calls them.
type Figures = BTreeMap<String, f64>;

fn cases() -> Vec<Case> {
    read("oracle/networks.ron")
}

fn decks() -> Vec<Case> {
    cases().into_iter().filter(|case| case.group != Group::Collapse).collect()
}

fn deck_file(case: &Case) -> PathBuf {
    tests_folder("oracle/decks").join(format!("{}.cir", case.id))
}

fn recorded_file() -> PathBuf {
    tests_folder("oracle/recorded.csv")
}

/// A load's current as an expression in its node's volts.
fn expression(kind: &Kind, node: &str) -> String {
    let join = |kinds: &[Kind], function: &str| {
        let mut all = kinds.iter().map(|kind| expression(kind, node));
        let first = all.next().expect("an open choice has members");
        all.fold(first, |joined, next| format!("{function}({joined},{next})"))
    };
    match kind {
        Kind::Watts(watts) => format!("{}/max(V({node}),1)", one(watts)),
        Kind::Amps(amps) => format!("{}", one(amps)),
        Kind::Ohms(ohms) => format!("V({node})/{}", one(ohms)),
        Kind::Worst(kinds) => join(kinds, "max"),
        Kind::Least(kinds) => join(kinds, "min"),
        Kind::Series { .. } => panic!("a string is no member of a choice"),
    }
}

/// The lines of one load, `nth` from 1.
fn load_lines(deck: &mut String, nth: usize, kind: &Kind, node: &str) {
    match kind {
        Kind::Amps(amps) => writeln!(deck, "I{nth} {node} 0 DC {}", one(amps)),
        Kind::Ohms(ohms) => writeln!(deck, "RL{nth} {node} 0 {}", one(ohms)),
        Kind::Series { amps, light_volts, wire_ohms, efficiency } => {
            let mut lines = format!("* string {nth}: drive, lights as fixed volts, wire\n");
            let _ = writeln!(lines, "I{nth} 0 q{nth}_0 DC {amps}");
            for (light, volts) in light_volts.iter().enumerate() {
                let next = light + 1;
                let _ = writeln!(lines, "VL{nth}_{next} q{nth}_{light} q{nth}_{next} DC {volts}");
            }
            let _ = writeln!(lines, "RW{nth} q{nth}_{} 0 {wire_ohms}", light_volts.len());
            writeln!(deck, "{lines}B{nth} {node} 0 I=V(q{nth}_0)*{amps}/{efficiency}/max(V({node}),1)")
        }
        kind => writeln!(deck, "B{nth} {node} 0 I={}", expression(kind, node)),
    }
    .expect("a string takes all");
}

fn deck(case: &Case, named: &Named) -> String {
    let mut deck = format!("* {}: {}\n", case.id, case.note);
    let _ = writeln!(deck, "* made from networks.ron by the test suite; do not edit");
    let source = &named.nodes[0];
    let _ = writeln!(deck, "VS {source} 0 DC {}", named.circuit.source_volts);
    for (nth, branch) in named.circuit.branches.iter().enumerate() {
        let (a, b) = (&named.nodes[branch.a], &named.nodes[branch.b]);
        let _ = writeln!(deck, "R{} {a} {b} {}", nth + 1, branch.ohms);
    }
    for (nth, (load, kind)) in named.circuit.loads.iter().zip(&named.kinds).enumerate() {
        load_lines(&mut deck, nth + 1, kind, &named.nodes[load.node]);
    }
    // Without a start at full volts the simulator may settle below 1 V, where `max` has made
    // another, meaningless solution.
    deck.push_str(".nodeset");
    for node in &named.nodes[1..] {
        let _ = write!(deck, " V({node})={}", named.circuit.source_volts);
    }
    deck.push_str("\n.options reltol=1e-11 abstol=1e-15 vntol=1e-13 gmin=1e-20 itl1=500\n");
    deck.push_str(".control\nset numdgt=14\nop\n");
    for node in &named.nodes {
        let _ = writeln!(deck, "print v({node})");
    }
    deck.push_str("print i(vs)\n.endc\n.end\n");
    deck
}

/// What the solver says, in the simulator's words; its source current counts inward.
fn ours(named: &Named, solution: &Solution) -> Figures {
    let volts = named.nodes.iter().zip(&solution.volts);
    let mut figures: Figures = volts.map(|(node, &volts)| (format!("v({node})"), volts)).collect();
    figures.insert("i(vs)".to_owned(), -solution.source_amps);
    figures
}

fn disagreements(case: &Case, ours: &Figures, theirs: &Figures, whose: &str) -> Vec<String> {
    let names: BTreeSet<_> = ours.keys().chain(theirs.keys()).collect();
    let differs = |name: &&&String| match (ours.get(**name), theirs.get(**name)) {
        (Some(ours), Some(theirs)) => {
            // Written so that a NaN differs.
            let agrees = (ours - theirs).abs() <= AGREEMENT * theirs.abs();
            !agrees
        }
        _ => true,
    };
    let tell =
        |name: &String| format!("{} {name}: {:?}, {whose} {:?}", case.id, ours.get(name), theirs.get(name));
    names.iter().filter(differs).map(|name| tell(name)).collect()
}

fn recorded() -> BTreeMap<String, Figures> {
    let text = std::fs::read_to_string(recorded_file()).expect("recorded.csv can be read");
    let mut all: BTreeMap<String, Figures> = BTreeMap::new();
    let mut rows = csv::ReaderBuilder::new().comment(Some(b'#')).from_reader(text.as_bytes());
    for row in rows.deserialize() {
        let (id, name, value): (String, String, f64) = row.expect("a row of id, figure and value");
        all.entry(id).or_default().insert(name, value);
    }
    all
}

/// The version ngspice tells, if there is one to run.
fn ngspice() -> Option<String> {
    let output = Command::new("ngspice").arg("--version").output().ok()?;
    let text = String::from_utf8_lossy(&output.stdout);
    let version = text.split_whitespace().find(|word| word.starts_with("ngspice-"));
    Some(version.unwrap_or("ngspice of unknown version").to_owned())
}

fn simulate(case: &Case) -> Figures {
    let output = Command::new("ngspice").arg("-b").arg(deck_file(case)).output().expect("it runs");
    let text = String::from_utf8_lossy(&output.stdout);
    let figure = |line: &str| {
        let (name, value) = line.split_once(" = ")?;
        Some((name.trim().to_owned(), value.trim().parse().ok()?))
    };
    text.lines().filter_map(figure).collect()
}

fn record(version: &str) {
    let mut text = format!("# {version} on the decks beside this file; volts and amps\n");
    text.push_str("id,figure,value\n");
    for case in decks() {
        std::fs::write(deck_file(&case), deck(&case, &case.network.build())).expect("a deck");
        for (name, value) in simulate(&case) {
            let _ = writeln!(text, "{},{name},{value:e}", case.id);
        }
    }
    std::fs::write(recorded_file(), text).expect("recorded.csv can be written");
}

#[test]
fn networks_are_many_and_of_every_kind() {
    let all = cases();
    let ids: BTreeSet<_> = all.iter().map(|case| &case.id).collect();
    assert_eq!(ids.len(), all.len(), "an id is used twice");
    assert!(decks().len() >= 36, "{} decks", decks().len());
    let mut groups: BTreeMap<Group, usize> = BTreeMap::new();
    for case in &all {
        *groups.entry(case.group).or_default() += 1;
    }
    assert_eq!(groups.len(), 10, "{groups:?}");
    assert!(groups.values().all(|&count| count >= 3), "{groups:?}");
    for volts in [12.0, 24.0, 36.0, 48.0] {
        let with = decks().iter().filter(|case| case.network.volts.total_cmp(&volts).is_eq()).count();
        assert!(with >= 3, "{with} decks at {volts} V");
    }
}

#[test]
fn decks_are_those_of_the_networks() {
    let mut expected = BTreeSet::new();
    for case in decks() {
        let file = deck_file(&case);
        let text = std::fs::read_to_string(&file).unwrap_or_default();
        assert_eq!(text, deck(&case, &case.network.build()), "{}", file.display());
        expected.insert(file);
    }
    for entry in std::fs::read_dir(tests_folder("oracle/decks")).expect("the decks' folder") {
        let file = entry.expect("an entry").path();
        assert!(expected.contains(&file), "{} belongs to no network", file.display());
    }
}

#[test]
fn the_solver_agrees_with_what_was_recorded() {
    let recorded = recorded();
    let mut wrong = Vec::new();
    for case in decks() {
        let named = case.network.build();
        let solution = solve(&named.circuit).unwrap_or_else(|e| panic!("{}: {e}", case.id));
        let theirs = recorded.get(&case.id).cloned().unwrap_or_default();
        wrong.extend(disagreements(&case, &ours(&named, &solution), &theirs, "recorded"));
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    assert_eq!(recorded.len(), decks().len(), "results of a network that is gone");
}

#[test]
#[expect(clippy::print_stderr, reason = "a comparison not made must not pass in silence")]
fn the_solver_agrees_with_a_live_run() {
    let Some(version) = ngspice() else {
        let demanded = std::env::var_os("STUDBAY_NGSPICE").is_some_and(|value| value == "1");
        assert!(!demanded, "ngspice was demanded and cannot be run");
        eprintln!("NOT COMPARED: there is no ngspice here");
        return;
    };
    if std::env::var_os("STUDBAY_ORACLE_RECORD").is_some() {
        record(&version);
    }
    let mut wrong = Vec::new();
    let mut compared = 0;
    for case in decks() {
        let named = case.network.build();
        let solution = solve(&named.circuit).unwrap_or_else(|e| panic!("{}: {e}", case.id));
        let theirs = simulate(&case);
        compared += theirs.len();
        wrong.extend(disagreements(&case, &ours(&named, &solution), &theirs, &version));
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    eprintln!("{compared} figures compared with {version}");
}

#[test]
fn what_is_near_collapse_is_as_near_as_meant() {
    for case in decks() {
        let factor = largest_power_factor(&case.network.build().circuit);
        if let Some(share) = case.of_limit {
            let factor = factor.unwrap_or_else(|| panic!("{} has no limit", case.id));
            assert!((factor * share - 1.0).abs() < 1e-5, "{}: factor {factor}", case.id);
        } else {
            assert!(factor.is_none_or(|factor| factor > 1.02), "{}: {factor:?}", case.id);
        }
    }
}

#[test]
fn what_is_beyond_the_limit_collapses() {
    for case in cases().iter().filter(|case| case.group == Group::Collapse) {
        let named = case.network.build();
        assert_eq!(solve(&named.circuit), Err(Unsolved::NoSolution), "{}", case.id);
        let limit = case.limit_watts.expect("a limit to be beyond");
        let watts: f64 = named
            .kinds
            .iter()
            .map(|kind| match kind {
                Kind::Watts(watts) => one(watts),
                _ => panic!("{} has other loads than watts", case.id),
            })
            .sum();
        assert!(watts > limit, "{}: {watts} W is within the limit of {limit} W", case.id);
        let factor = largest_power_factor(&named.circuit).expect("a limit");
        assert!((factor * watts / limit - 1.0).abs() < 1e-9, "{}: {}", case.id, factor * watts);
    }
}
