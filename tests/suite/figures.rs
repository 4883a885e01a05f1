//! Published and derived worked examples against the solver: `figures.ron`.

use serde::Deserialize;
use studbay::study::circuit::{Draw, Solution, Unsolved, largest_power_factor, solve};

use crate::networks::{Named, Network, read};

/// A worked example.
#[derive(Debug, Deserialize)]
struct Example {
    id: String,
    /// Book, edition or year, place; `derived` and from what, where nobody printed it.
    source: String,
    /// What had to be assumed, and where the printed figure is wrong.
    #[serde(default)]
    note: String,
    network: Network,
    expected: Vec<Expected>,
}

/// A figure as printed.
#[derive(Debug, Deserialize)]
struct Expected {
    of: Figure,
    value: f64,
    /// Digits printed after the point.
    printed_digits: i32,
}

#[derive(Debug, Deserialize)]
enum Figure {
    Volts(String),
    /// Volts between two nodes.
    Across(String, String),
    /// Source volts less those of a node.
    Drop(String),
    /// The same in percent of the source volts.
    DropPercent(String),
    /// Amps of the one branch between two nodes, positive from the first.
    Amps(String, String),
    SourceAmps,
    /// Lowest volts of all.
    Lowest,
    /// Lowest volts, which must be at this node.
    LowestAt(String),
    /// Watts lost in the branches.
    Loss,
    /// The same without those of the one branch between two nodes.
    LossWithout(String, String),
    /// Watts of all loads.
    Delivered,
    /// Most watts of the constant-power loads in proportion; also, a little more has no solution.
    Limit,
    /// No solution; the value is then that of the first branch's ohms.
    Collapse,
}

fn loss(named: &Named, solution: &Solution) -> f64 {
    let branches = named.circuit.branches.iter().zip(&solution.branch_amps);
    branches.map(|(branch, amps)| branch.ohms * amps * amps).sum()
}

fn lowest(solution: &Solution) -> (usize, f64) {
    let mut at = (0, solution.volts[0]);
    for (node, &volts) in solution.volts.iter().enumerate() {
        if volts < at.1 {
            at = (node, volts);
        }
    }
    at
}

fn limit(named: &Named) -> f64 {
    let factor = largest_power_factor(&named.circuit).expect("a limit");
    let rated: f64 = (named.circuit.loads.iter())
        .map(|load| if let Draw::Power { watts } = load.draws { watts } else { 0.0 })
        .sum();
    factor * rated
}

fn figure(named: &Named, outcome: &Result<Solution, Unsolved>, of: &Figure) -> f64 {
    let source = named.circuit.source_volts;
    match of {
        Figure::Collapse => {
            assert_eq!(*outcome, Err(Unsolved::NoSolution));
            return named.circuit.branches[0].ohms;
        }
        Figure::Limit => return limit(named),
        _ => {}
    }
    let solution = outcome.as_ref().unwrap_or_else(|e| panic!("{:?}: {e}", named.nodes));
    let volts = |name: &str| solution.volts[named.node(name)];
    match of {
        Figure::Volts(node) => volts(node),
        Figure::Across(a, b) => volts(a) - volts(b),
        Figure::Drop(node) => source - volts(node),
        Figure::DropPercent(node) => 100.0 * (source - volts(node)) / source,
        Figure::Amps(from, to) => {
            let (nth, forward) = named.branch(from, to);
            if forward { solution.branch_amps[nth] } else { -solution.branch_amps[nth] }
        }
        Figure::SourceAmps => solution.source_amps,
        Figure::Lowest => lowest(solution).1,
        Figure::LowestAt(node) => {
            let (at, volts) = lowest(solution);
            assert_eq!(named.nodes[at], *node, "the lowest is elsewhere");
            volts
        }
        Figure::Loss => loss(named, solution),
        Figure::LossWithout(from, to) => {
            let (nth, _) = named.branch(from, to);
            let own = named.circuit.branches[nth].ohms * solution.branch_amps[nth].powi(2);
            loss(named, solution) - own
        }
        Figure::Delivered => {
            let loads = named.circuit.loads.iter().zip(&solution.load_amps);
            loads.map(|(load, amps)| solution.volts[load.node] * amps).sum()
        }
        Figure::Collapse | Figure::Limit => unreachable!("answered above"),
    }
}

#[test]
fn worked_examples_come_out_as_printed() {
    let examples: Vec<Example> = read("suite/figures.ron");
    let mut wrong = Vec::new();
    let mut checked = 0;
    for example in &examples {
        let named = example.network.build();
        let outcome = solve(&named.circuit);
        for expected in &example.expected {
            let got = figure(&named, &outcome, &expected.of);
            let half_unit = 0.5 * 10.0_f64.powi(-expected.printed_digits);
            checked += 1;
            // A printed 5 may have been rounded either way: a hair beyond half a unit is in.
            let in_reach = (got - expected.value).abs() <= half_unit * (1.0 + 1e-6);
            if !in_reach {
                wrong.push(format!(
                    "{} ({}): {:?} expected {}, got {got}. {}",
                    example.id, example.source, expected.of, expected.value, example.note
                ));
            }
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    assert!(checked >= 100, "only {checked} figures were checked");
}

#[test]
fn examples_have_sources_and_ids_of_their_own() {
    let examples: Vec<Example> = read("suite/figures.ron");
    let mut ids = std::collections::BTreeSet::new();
    for example in &examples {
        assert!(ids.insert(&example.id), "'{}' is used twice", example.id);
        assert!(example.source.len() > 20, "'{}' has no source", example.id);
        assert!(!example.expected.is_empty(), "'{}' expects nothing", example.id);
    }
}
