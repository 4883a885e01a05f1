//! The reels against outside exact solvers: SCIP and CP-SAT of OR-tools.
//!
//! `tests/oracle/reels.csv` holds what it said of each instance. Where `STUDBAY_CPSAT` names a Python that has ortools it
//! is run again and the times are compared; `STUDBAY_ORACLE_RECORD=1` then writes the results anew.

use crate::balance_cases::Numbers;
use crate::support::project;
use std::collections::BTreeMap;
use std::io::Write;
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};
use studbay::plan::packing::Budget;
use studbay::plan::reels::{Answer, Problem, STEPS, Size, solve};

/// An instance with its name.
#[derive(Debug, Clone)]
struct Case {
    id: String,
    problem: Problem,
}

fn drawn(seed: u64, n: usize, least: u64, most: u64) -> Vec<u64> {
    let mut numbers = Numbers(seed);
    (0..n).map(|_| numbers.within(least, most)).collect()
}

/// Falkenauer, "A hybrid grouping genetic algorithm for bin packing", Journal of Heuristics 2 (1996): three lengths
/// that fill a reel of 1000 exactly, the first from 380 to 490, the second from 250 to half of what is left.
fn triplets(seed: u64, reels: usize) -> Vec<u64> {
    let mut numbers = Numbers(seed);
    let mut cuts = Vec::new();
    for _ in 0..reels {
        let first = numbers.within(380, 490);
        let second = numbers.within(250, (1000 - first) / 2);
        cuts.extend([first, second, 1000 - first - second]);
    }
    cuts
}

/// A cable of a made-up house, in inches: mostly short cuts, some long; two to four sizes of reel, the longer the cheaper
/// by the foot or nearly so; in every other one some reels on hand.
fn job(seed: u64) -> Problem {
    let mut numbers = Numbers(seed);
    let n = usize::try_from(numbers.within(12, 110)).unwrap();
    let cuts = (0..n)
        .map(|_| match numbers.within(0, 5) {
            0 => numbers.within(700, 1500),
            _ => numbers.within(180, 800),
        })
        .collect();
    let feet: &[u64] = match numbers.within(0, 3) {
        0 => &[250, 500],
        1 => &[250, 500, 1000],
        2 => &[500, 1000],
        _ => &[150, 250, 500, 1000],
    };
    // 30 to 40 cents a foot, less for longer reels most of the time.
    let per_foot = numbers.within(30, 40);
    let size = |&feet: &u64| {
        let less = feet / 250 * numbers.within(0, 2) + numbers.within(0, 3);
        Size { length: feet * 12, price: feet * (per_foot - less.min(15)) }
    };
    let sizes = feet.iter().map(size).collect();
    let on_hand = match seed % 2 {
        0 => (0..numbers.within(1, 3)).map(|_| numbers.within(400, 5000)).collect(),
        _ => Vec::new(),
    };
    Problem { cuts, sizes, on_hand, apart: Vec::new() }
}

fn cases() -> Vec<Case> {
    let plain = |cuts: Vec<u64>, length: u64| Problem {
        cuts,
        sizes: vec![Size { length, price: 1 }],
        ..Problem::default()
    };
    let mut all = Vec::new();
    for (nth, n) in [20, 30, 40, 60, 80, 100, 120, 120, 160, 200, 200].into_iter().enumerate() {
        // Falkenauer 1996: whole sizes uniform on 20 to 100, bins of 150.
        let problem = plain(drawn(700 + nth as u64, n, 20, 100), 150);
        all.push(Case { id: format!("uniform-{n}-{nth}"), problem });
    }
    for (nth, reels) in [5, 10, 20].into_iter().enumerate() {
        let problem = plain(triplets(800 + nth as u64, reels), 1000);
        all.push(Case { id: format!("triplet-{}", reels * 3), problem });
    }
    for nth in 0..20 {
        all.push(Case { id: format!("job-{nth}"), problem: job(900 + nth) });
    }
    all
}

/// What a solver found, with what it proved no plan can beat.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
struct Said {
    cost: u64,
    bound: u64,
    time: Duration,
}

/// Solves an instance and looks whether the plan can be cut and costs what it says.
fn ours(case: &Case) -> (Said, Answer) {
    let start = Instant::now();
    let answer = solve(&case.problem, &mut Budget::new(STEPS)).unwrap();
    let time = start.elapsed();
    let mut seen = vec![false; case.problem.cuts.len()];
    let mut cost = 0;
    for used in &answer.used {
        let cut: u64 = used.cuts.iter().map(|&cut| case.problem.cuts[cut]).sum();
        assert_eq!(cut + used.left, used.length, "{}", case.id);
        match (used.size, used.on_hand) {
            (Some(size), None) => {
                assert_eq!(used.length, case.problem.sizes[size].length);
                cost += case.problem.sizes[size].price;
            }
            (None, Some(at)) => assert_eq!(used.length, case.problem.on_hand[at]),
            other => panic!("{other:?}"),
        }
        used.cuts.iter().for_each(|&cut| assert!(!std::mem::replace(&mut seen[cut], true), "{}", case.id));
    }
    assert!(seen.into_iter().all(|seen| seen), "{}: a cut is on no reel", case.id);
    let mut on_hand: Vec<usize> = answer.used.iter().filter_map(|used| used.on_hand).collect();
    on_hand.sort_unstable();
    on_hand.dedup();
    assert_eq!(on_hand.len(), answer.used.iter().filter(|used| used.on_hand.is_some()).count());
    assert_eq!(cost, answer.cost, "{}", case.id);
    assert!(answer.cost_bound <= answer.cost && answer.left_bound <= answer.left);
    (Said { cost, bound: answer.cost_bound, time }, answer)
}

fn document(cases: &[Case]) -> serde_json::Value {
    let one = |case: &Case| {
        let sizes: Vec<_> = case.problem.sizes.iter().map(|s| (s.length, s.price)).collect();
        serde_json::json!({
            "id": case.id, "cuts": case.problem.cuts, "sizes": sizes, "on_hand": case.problem.on_hand,
        })
    };
    cases.iter().map(one).collect()
}

fn read(text: &str) -> BTreeMap<String, Said> {
    let mut reader = csv::Reader::from_reader(text.as_bytes());
    let rows = reader.records().map(|row| {
        let row = row.unwrap();
        let time = Duration::from_secs_f64(row[3].parse().unwrap());
        (row[0].to_owned(), Said { cost: row[1].parse().unwrap(), bound: row[2].parse().unwrap(), time })
    });
    rows.collect()
}

/// Where two answers cannot both be right, or ours is the dearer one.
fn disagreement(case: &Case, ours: Said, theirs: Said) -> Option<String> {
    let wrong = ours.cost > theirs.cost || ours.cost < theirs.bound || theirs.cost < ours.bound;
    wrong.then(|| format!("{}: {ours:?}, theirs {theirs:?}", case.id))
}

#[test]
fn the_reels_cost_what_the_outside_solver_found() {
    let recorded = read(&std::fs::read_to_string(project("tests/oracle/reels.csv")).unwrap());
    let cases = cases();
    assert_eq!(recorded.len(), cases.len());
    let (mut wrong, mut proved) = (Vec::new(), 0);
    for case in &cases {
        let (said, _) = ours(case);
        wrong.extend(disagreement(case, said, recorded[&case.id]));
        if let Some(cuts) = case.id.strip_prefix("triplet-") {
            // Known from how they are made, whatever a solver finds.
            assert_eq!(said.cost * 3, cuts.parse::<u64>().unwrap());
        }
        eprintln!("{}: {} of at least {}, {:.3} s", case.id, said.cost, said.bound, said.time.as_secs_f64());
        proved += usize::from(said.cost == said.bound);
    }
    assert!(wrong.is_empty(), "{wrong:#?}");
    // Ours proves its cost by itself, the outside solver's proof apart.
    assert!(proved + 2 >= cases.len(), "{proved} of {} are proved", cases.len());
    let theirs = recorded.values().filter(|said| said.cost == said.bound).count();
    assert!(theirs * 10 >= cases.len() * 8, "the outside solver proved {theirs} of {}", cases.len());
}

#[test]
fn the_reels_agree_with_a_live_run_of_the_outside_solver() {
    let Some(python) = std::env::var_os("STUDBAY_CPSAT") else { return };
    let cases = cases();
    let mut child = Command::new(python)
        .arg(project("tests/oracle/reels.py"))
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .spawn()
        .unwrap();
    child.stdin.take().unwrap().write_all(document(&cases).to_string().as_bytes()).unwrap();
    let output = child.wait_with_output().unwrap();
    assert!(output.status.success());
    let text = String::from_utf8(output.stdout).unwrap();
    if std::env::var_os("STUDBAY_ORACLE_RECORD").is_some() {
        std::fs::write(project("tests/oracle/reels.csv"), &text).unwrap();
    }
    let theirs = read(&text);
    let mut wrong = Vec::new();
    let mut sums: BTreeMap<&str, (Duration, Duration, usize)> = BTreeMap::new();
    for case in &cases {
        let (ours, theirs) = (ours(case).0, theirs[&case.id]);
        wrong.extend(disagreement(case, ours, theirs));
        let family = case.id.split('-').next().unwrap();
        let sum = sums.entry(family).or_default();
        *sum = (sum.0 + ours.time, sum.1 + theirs.time, sum.2 + 1);
    }
    for (family, (ours, theirs, n)) in sums {
        eprintln!(
            "{family}: {n} instances, ours {:.3} s, outside {:.3} s, {:.1} times as long",
            ours.as_secs_f64(),
            theirs.as_secs_f64(),
            theirs.as_secs_f64() / ours.as_secs_f64()
        );
    }
    assert!(wrong.is_empty(), "{wrong:#?}");
}
