//! The balance of large houses: what is proved, and how long it takes.
//!
//! Times are said, not judged: they hang on the machine. `cargo test --release --test suite balance_speed -- \
//! --nocapture --include-ignored` measures.

use crate::balance_cases::{house, wild};
use std::io::Write;
use std::time::Instant;
use studbay::plan::packing::{Budget, Instance, Packing, Shortage, fewest, solve};

/// Steps, as many as the command line takes.
const STEPS: u64 = 3_000_000;

fn measured(runs: usize, supplies: usize, ties: bool, seed: u64) -> Packing {
    timed(&format!("{supplies} supplies there, ties {ties}, seed {seed}"), &house(seed, runs, supplies, ties))
        .0
}

/// A packing and the seconds it took.
fn timed(what: &str, instance: &Instance) -> (Packing, f64) {
    let start = Instant::now();
    let packing = solve(instance, &mut Budget::new(STEPS)).unwrap();
    let seconds = start.elapsed().as_secs_f64();
    let line = format!(
        "{what}, {} runs: supplies {} of at least {}, unspread {} of at least {}, highest {} of at least {}, {} points, \
         {seconds:.3} s\n",
        instance.items.len(),
        packing.opened.len(),
        packing.supplies_bound,
        packing.unspread,
        packing.unspread_bound,
        packing.height,
        packing.height_bound,
        packing.curve.len(),
    );
    std::io::stderr().write_all(line.as_bytes()).unwrap();
    (packing, seconds)
}

#[test]
fn two_hundred_runs_on_forty_outputs_are_proved() {
    assert!(measured(200, 10, false, 7).proved());
    // Ties take longer without optimization; here a smaller house is enough, the large ones are below.
    assert!(measured(100, 10, true, 7).proved());
}

#[test]
#[ignore = "minutes without optimization; run with --release"]
fn many_large_houses_are_proved() {
    let (mut loose, mut poor) = (Vec::new(), Vec::new());
    for seed in 20..30 {
        for (runs, supplies, ties) in [
            (200, 10, false),
            (200, 10, true),
            (120, 10, false),
            (120, 10, true),
            (100, 10, true),
            (1000, 50, false),
            (1000, 50, true),
        ] {
            let packing = measured(runs, supplies, ties, seed);
            if runs > 200 && ties {
                // So many ties on so many runs: what is missing is shown by the bounds, and need not be proved away.
                continue;
            }
            let near = (packing.height - packing.height_bound) * 100 < packing.height;
            if packing.opened.len() > packing.supplies_bound || !near {
                poor.push((runs, supplies, ties, seed));
            }
            if !packing.proved() {
                loose.push((runs, supplies, ties, seed));
            }
        }
    }
    assert!(poor.is_empty(), "{poor:?}");
    let five_or_more = |(runs, supplies, ..): &&(usize, usize, bool, u64)| *runs >= supplies * 20;
    assert_eq!(loose.iter().filter(five_or_more).count(), 0, "{loose:?}");
}

#[test]
#[ignore = "minutes without optimization; run with --release"]
fn houses_of_any_kind_are_proved() {
    let (mut open, mut uneven, mut slowest) = (Vec::new(), Vec::new(), (0.0, 0));
    let seeds = 0..90;
    for seed in seeds.clone() {
        let instance = wild(seed);
        // Too much that must be on one supply: nothing to measure.
        if matches!(fewest(&instance, &mut Budget::new(1000)), Err(Shortage::TooMuchTogether(_))) {
            continue;
        }
        let (packing, seconds) = timed(&format!("house {seed}"), &instance);
        if seconds > slowest.0 {
            slowest = (seconds, seed);
        }
        if packing.opened.len() > packing.supplies_bound {
            open.push(seed);
        }
        let five_or_more = instance.items.len() >= packing.bins.len() * 5;
        let gap = packing.height - packing.height_bound;
        if gap > 1 && (five_or_more || gap * 100 > packing.height) {
            uneven.push(seed);
        }
    }
    let line = format!("slowest {slowest:?}, supplies not proved {open:?}, evenness not near {uneven:?}\n");
    std::io::stderr().write_all(line.as_bytes()).unwrap();
    assert!(open.len() * 20 <= seeds.count() && uneven.is_empty(), "{line}");
}
