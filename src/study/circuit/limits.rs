//! How far a circuit is from collapse, as a factor on its loads or on its ohms.
//!
//! Both bracket the limit and halve the bracket until its ends agree within a relative 1e-10, so
//! the answer depends on nothing but the circuit. The lower end, which was solved, is given.

use super::draw::{Member, within};
use super::layout::LARGEST;
use super::newton::Solver;
use super::{Circuit, Unsolved, solve};

/// Relative width of the bracket at which a limit is decided.
const WIDTH: f64 = 1e-10;

/// Largest common factor on the watts of the constant-power loads that still solves, those within
/// open choices included.
///
/// None when nothing limits it (no such load beyond the source terminal, or an open choice that
/// would at its least turn to another member), and when the circuit is malformed. 0 when the
/// other loads collapse by themselves.
///
/// # Source
/// For one load it is `Vs²/(4·R·P)`; see the [module](super).
pub fn largest_power_factor(circuit: &Circuit) -> Option<f64> {
    let mut solver = Solver::new(circuit).ok()?;
    let rows = solver.layout.rows;
    let rated: Vec<Vec<Member>> = solver.layout.taps.iter().map(|tap| tap.envelope.members.clone()).collect();
    if !solver.layout.taps.iter().any(|tap| tap.row != rows && tap.envelope.follows_power()) {
        return None;
    }
    // More watts never raise a voltage, so the state at the lower end is a start for any above it.
    let mut start = vec![0.0; rows];
    largest(f64::MAX, |factor| {
        for (tap, rated) in solver.layout.taps.iter_mut().zip(&rated) {
            for (member, rated) in tap.envelope.members.iter_mut().zip(rated) {
                if let Member::Power(watts) = *rated {
                    *member = Member::Power(watts * factor);
                }
            }
        }
        solver.restore(&start);
        let found = solver.run().is_ok();
        if found {
            start.copy_from_slice(solver.state());
        }
        found
    })
}

/// Largest factor on the ohms of the given branches that still solves.
///
/// None when nothing limits it (loads that never collapse, or another way round), when the
/// branches have no ohms, or when the circuit is malformed. 0 when the circuit collapses even
/// with the branches at no ohms.
///
/// # Domain
/// More ohms in a home run, or in all branches, lower every voltage, so there is one limit. More
/// ohms in one leg of a mesh may raise the volts of another; what is given then is a limit next
/// to which the circuit solves below and not above, not always the only one.
pub fn largest_ohms_factor(circuit: &Circuit, branches: &[usize]) -> Option<f64> {
    Solver::new(circuit).ok()?;
    let mut chosen = vec![false; circuit.branches.len()];
    for &nth in branches {
        *chosen.get_mut(nth)? = true;
    }
    let ohms = |nth: usize| {
        if chosen[nth] { circuit.branches[nth].ohms } else { 0.0 }
    };
    let most = (0..chosen.len()).map(ohms).fold(0.0, f64::max);
    within(most, f64::MIN_POSITIVE, "branch ohms").ok()?;
    let mut scaled = circuit.clone();
    largest(LARGEST / most, |factor| {
        for (nth, branch) in scaled.branches.iter_mut().enumerate() {
            if chosen[nth] {
                branch.ohms = circuit.branches[nth].ohms * factor;
            }
        }
        !matches!(solve(&scaled), Err(Unsolved::NoSolution))
    })
}

/// Largest factor for which `solves` holds; none if it holds up to `most`.
///
/// Factors are asked for in such an order that each lies above all for which `solves` held.
fn largest(most: f64, mut solves: impl FnMut(f64) -> bool) -> Option<f64> {
    let (mut low, mut high) = (1.0, 1.0);
    if solves(low) {
        loop {
            if high >= most {
                return None;
            }
            high = (high * 4.0).min(most);
            if !solves(high) {
                break;
            }
            low = high;
        }
    } else {
        // Asked first, so that a circuit that fails by itself doesn't cost five hundred solves.
        if !solves(0.0) {
            return Some(0.0);
        }
        low /= 4.0;
        while !solves(low) {
            high = low;
            low /= 4.0;
            if low < f64::MIN_POSITIVE {
                return Some(0.0);
            }
        }
    }
    while high - low > WIDTH * low {
        let middle = low + (high - low) / 2.0;
        if solves(middle) {
            low = middle;
        } else {
            high = middle;
        }
    }
    Some(low)
}
