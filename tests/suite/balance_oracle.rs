//! The balance against an outside exact solver, OR-tools CP-SAT.
//!
//! `tests/oracle/balance.csv` holds what it said of each instance. Where `STUDBAY_CPSAT` names a Python that has
//! ortools it is run again and the times are compared; `STUDBAY_ORACLE_RECORD=1` then writes the results anew, and
//! `STUDBAY_ORACLE_RECORD=missing` runs and adds those that are not there yet.

use crate::balance_cases::{Case, Family, cases};
use crate::support::project;
use std::collections::BTreeMap;
use std::io::Write;
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};
use studbay::plan::packing::{Budget, fewest, solve};

/// What a solver found, each with what it proved to be the least; none where the stage was left out.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
struct Answer {
    supplies: Option<(u64, u64)>,
    unspread: Option<(u64, u64)>,
    height: Option<(u64, u64)>,
    time: Duration,
}

/// Which of the three stages count: bins only where bins are packed, heights only where machines are loaded.
fn stages(case: &Case) -> [bool; 3] {
    match case.family {
        Family::House => [true, true, true],
        Family::Uniform | Family::Triplet => [true, false, false],
        Family::Machines | Family::HardBand => [false, false, true],
    }
}

fn ours(case: &Case) -> Answer {
    let start = Instant::now();
    let mut budget = Budget::new(2_000_000);
    let count = |n: usize| u64::try_from(n).unwrap();
    let pair = |found: usize, bound: usize| Some((count(found), count(bound)));
    let mut answer = Answer::default();
    if stages(case) == [true, false, false] {
        let found = fewest(&case.instance, &mut budget).unwrap();
        answer.supplies = pair(found.opened.len(), found.bound);
    } else {
        let found = solve(&case.instance, &mut budget).unwrap();
        answer.supplies = pair(found.opened.len(), found.supplies_bound);
        answer.unspread = pair(found.unspread, found.unspread_bound);
        answer.height = Some((found.height, found.height_bound));
    }
    answer.time = start.elapsed();
    answer
}

fn document(cases: &[Case]) -> serde_json::Value {
    let one = |case: &Case| {
        let kind = &case.instance.kinds[0];
        let items: Vec<_> = case.instance.items.iter().map(|item| {
            serde_json::json!({ "weight": item.weight, "wires": item.wires, "home": item.home, "pinned": item.pinned })
        }).collect();
        serde_json::json!({
            "id": case.id,
            "stages": stages(case),
            "items": items,
            "kind": {
                "outputs": kind.outputs, "limit": kind.limit, "target": kind.target, "terminals": kind.terminals,
                "more": kind.more,
            },
            "supplies": case.instance.supplies.len(),
            "apart": case.instance.apart,
            "share": case.instance.share,
            "spread": case.instance.spread,
        })
    };
    cases.iter().map(one).collect()
}

fn read(text: &str) -> BTreeMap<String, Answer> {
    let mut reader = csv::Reader::from_reader(text.as_bytes());
    let rows = reader.records().map(|row| {
        let row = row.unwrap();
        let pair = |at: usize| Some((row[at].parse().ok()?, row[at + 1].parse().ok()?));
        let time = Duration::from_secs_f64(row[7].parse().unwrap());
        (row[0].to_owned(), Answer { supplies: pair(1), unspread: pair(3), height: pair(5), time })
    });
    rows.collect()
}

/// Says where two answers cannot both be right, or ours is the poorer one.
fn disagreements(case: &Case, ours: &Answer, theirs: &Answer) -> Vec<String> {
    let mut wrong = Vec::new();
    let figures = [
        ("supplies", ours.supplies, theirs.supplies),
        ("unspread", ours.unspread, theirs.unspread),
        ("height", ours.height, theirs.height),
    ];
    for ((what, ours, theirs), asked) in figures.into_iter().zip(stages(case)) {
        if !asked {
            continue;
        }
        let (Some(ours), Some(theirs)) = (ours, theirs) else {
            wrong.push(format!("{} {what}: {ours:?}, theirs {theirs:?}", case.id));
            continue;
        };
        // Ours is as low as theirs, and neither is below what the other proved.
        if ours.0 > theirs.0 || ours.0 < theirs.1 || theirs.0 < ours.1 {
            wrong.push(format!("{} {what}: {ours:?}, theirs {theirs:?}", case.id));
        }
    }
    wrong
}

/// Whether the outside solver has an answer for each stage that counts.
fn answered(case: &Case, theirs: &Answer) -> bool {
    let figures = [theirs.supplies, theirs.unspread, theirs.height];
    figures.iter().zip(stages(case)).all(|(figure, asked)| figure.is_some() || !asked)
}

#[test]
fn the_balance_finds_the_optimum_of_the_outside_solver() {
    let recorded = read(&std::fs::read_to_string(project("tests/oracle/balance.csv")).unwrap());
    let cases = cases();
    assert!(cases.len() >= 60, "{}", cases.len());
    assert_eq!(recorded.len(), cases.len());
    let wrong: Vec<String> =
        cases.iter().flat_map(|case| disagreements(case, &ours(case), &recorded[&case.id])).collect();
    assert!(wrong.is_empty(), "{wrong:#?}");
    // The comparison is worth something only where the outside solver proved its answer.
    let proved = |answer: &Answer| {
        [answer.supplies, answer.unspread, answer.height]
            .into_iter()
            .flatten()
            .all(|(found, bound)| found == bound)
    };
    let proved = recorded.values().filter(|answer| proved(answer)).count();
    assert!(proved >= 60, "{proved} of {} are proved", recorded.len());
}

#[test]
fn the_balance_agrees_with_a_live_run_of_the_outside_solver() {
    let Some(python) = std::env::var_os("STUDBAY_CPSAT") else { return };
    let mut cases = cases();
    let record = std::env::var("STUDBAY_ORACLE_RECORD").unwrap_or_default();
    let file = project("tests/oracle/balance.csv");
    let before = std::fs::read_to_string(&file).unwrap_or_default();
    if record == "missing" {
        let there = read(&before);
        cases.retain(|case| !there.contains_key(&case.id));
    }
    let mut child = Command::new(python)
        .arg(project("tests/oracle/balance.py"))
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .spawn()
        .unwrap();
    let input = document(&cases).to_string();
    child.stdin.take().unwrap().write_all(input.as_bytes()).unwrap();
    let output = child.wait_with_output().unwrap();
    assert!(output.status.success());
    let text = String::from_utf8(output.stdout).unwrap();
    match record.as_str() {
        "" => {}
        "missing" => {
            let rows = text.split_once('\n').unwrap().1;
            std::fs::write(&file, before + rows).unwrap();
        }
        _ => std::fs::write(&file, &text).unwrap(),
    }
    let theirs = read(&text);
    let (mut wrong, mut silent) = (Vec::new(), Vec::new());
    let mut times: BTreeMap<Family, Vec<(f64, f64)>> = BTreeMap::new();
    for case in &cases {
        let (ours, theirs) = (ours(case), theirs[&case.id]);
        // On a busy machine its seconds may be over before it has any answer: that is no disagreement.
        if answered(case, &theirs) {
            wrong.extend(disagreements(case, &ours, &theirs));
        } else {
            silent.push(&case.id);
        }
        times.entry(case.family).or_default().push((ours.time.as_secs_f64(), theirs.time.as_secs_f64()));
    }
    let mut report = String::new();
    for (family, times) in times {
        let (ours, theirs) = times.iter().fold((0.0, 0.0), |sum, one| (sum.0 + one.0, sum.1 + one.1));
        let mut ratios: Vec<f64> = times.iter().map(|(ours, theirs)| theirs / ours.max(1e-9)).collect();
        ratios.sort_by(f64::total_cmp);
        report += &format!(
            "{family:?}: {} instances, ours {ours:.3} s, outside {theirs:.3} s, {:.0} times as long in all, {:.0} in the median\n",
            times.len(),
            theirs / ours,
            ratios[ratios.len() / 2],
        );
    }
    report += &format!("without an answer of the outside solver in its time: {silent:?}\n");
    assert!(silent.len() * 10 <= cases.len(), "{silent:?}");
    std::io::stderr().write_all(report.as_bytes()).unwrap();
    assert!(wrong.is_empty(), "{wrong:#?}");
}
