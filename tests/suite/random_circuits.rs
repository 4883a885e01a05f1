//! Circuits made at random, and what the laws need to judge them.

use nalgebra_sparse::factorization::CscCholesky;
use nalgebra_sparse::{CooMatrix, CscMatrix};
use proptest::prelude::*;
use studbay::study::circuit::{Branch, Circuit, Draw, Load, Solution};

/// One draw without choices, small beside what a few ohms can carry at 12 V.
pub(crate) fn plain() -> impl Strategy<Value = Draw> {
    prop_oneof![
        3 => (0.0..12.0).prop_map(|watts| Draw::Power { watts }),
        1 => (0.0..0.5).prop_map(|amps| Draw::Current { amps }),
        1 => (20.0..500.0).prop_map(|ohms| Draw::Resistance { ohms }),
    ]
}

/// Branches that form a tree, with up to four more that close loops.
fn branches() -> impl Strategy<Value = (usize, Vec<Branch>)> {
    (1..14_usize).prop_flat_map(|others| {
        let twig = (any::<prop::sample::Index>(), any::<bool>(), 0.01..1.5);
        let chord = (any::<prop::sample::Index>(), any::<prop::sample::Index>(), 0.01..1.5);
        let twigs = prop::collection::vec(twig, others);
        let chords = prop::collection::vec(chord, 0..4);
        (twigs, chords).prop_map(move |(twigs, chords)| {
            let mut branches = Vec::new();
            for (nth, (before, turned, ohms)) in twigs.into_iter().enumerate() {
                let (near, far) = (before.index(nth + 1), nth + 1);
                let (a, b) = if turned { (far, near) } else { (near, far) };
                branches.push(Branch { a, b, ohms });
            }
            for (a, b, ohms) in chords {
                branches.push(Branch { a: a.index(others + 1), b: b.index(others + 1), ohms });
            }
            (others + 1, branches)
        })
    })
}

pub(crate) fn circuit_of(draw: impl Strategy<Value = Draw>) -> impl Strategy<Value = Circuit> {
    let volts = prop_oneof![Just(12.0), Just(24.0), Just(36.0), Just(48.0), 5.0..60.0];
    let loads = prop::collection::vec((any::<prop::sample::Index>(), draw), 1..12);
    (volts, branches(), loads).prop_map(|(source_volts, (nodes, branches), loads)| Circuit {
        source_volts,
        nodes,
        branches,
        loads: (loads.into_iter()).map(|(node, draws)| Load { node: node.index(nodes), draws }).collect(),
    })
}

pub(crate) fn circuit() -> impl Strategy<Value = Circuit> {
    circuit_of(plain())
}

/// Loads at one of two options each: all corners of the choice.
pub(crate) fn corners(circuit: &Circuit) -> Vec<Circuit> {
    let options = |draws: &Draw| match draws {
        Draw::Worst(members) | Draw::Least(members) => members.clone(),
        single => vec![single.clone()],
    };
    let mut all = vec![Circuit { loads: Vec::new(), ..circuit.clone() }];
    for load in &circuit.loads {
        let with = |corner: &Circuit, draws: Draw| {
            let mut corner = corner.clone();
            corner.loads.push(Load { node: load.node, draws });
            corner
        };
        let options = options(&load.draws);
        all =
            (all.iter()).flat_map(|corner| options.iter().map(|draws| with(corner, draws.clone()))).collect();
    }
    all
}

pub(crate) fn scaled(circuit: &Circuit, factor: f64) -> Circuit {
    let mut scaled = circuit.clone();
    for load in &mut scaled.loads {
        if let Draw::Power { watts } = &mut load.draws {
            *watts *= factor;
        }
    }
    scaled
}

pub(crate) fn has_power(circuit: &Circuit) -> bool {
    let draws = |load: &Load| matches!(load.draws, Draw::Power { watts } if watts > 0.0);
    circuit.loads.iter().any(|load| load.node != 0 && draws(load))
}

/// Watts into the source terminal, less watts lost and drawn, as a part of the first.
pub(crate) fn imbalance(circuit: &Circuit, solution: &Solution) -> f64 {
    let lost: f64 = (circuit.branches.iter().zip(&solution.branch_amps))
        .map(|(branch, amps)| branch.ohms * amps * amps)
        .sum();
    let drawn: f64 = (circuit.loads.iter().zip(&solution.load_amps))
        .map(|(load, amps)| solution.volts[load.node] * amps)
        .sum();
    let fed = circuit.source_volts * solution.source_amps;
    (fed - lost - drawn).abs() / fed.max(f64::MIN_POSITIVE)
}

pub(crate) fn are_close(a: &Solution, b: &Solution, volts: f64) -> bool {
    a.volts.iter().zip(&b.volts).all(|(a, b)| (a - b).abs() <= volts)
}

/// Newton on node volts with a general sparse Cholesky: the same equations by other means.
pub(crate) fn by_general_cholesky(circuit: &Circuit) -> Option<Vec<f64>> {
    let rows = circuit.nodes - 1;
    let mut volts = vec![circuit.source_volts; circuit.nodes];
    for _ in 0..100 {
        let mut matrix = CooMatrix::new(rows, rows);
        let mut missing = nalgebra::DVector::zeros(rows);
        let mut add = |row: usize, column: usize, value: f64| {
            if row > 0 && column > 0 {
                matrix.push(row - 1, column - 1, value);
            }
        };
        let mut short = vec![0.0; circuit.nodes];
        for branch in circuit.branches.iter().filter(|branch| branch.a != branch.b) {
            let siemens = 1.0 / branch.ohms;
            add(branch.a, branch.a, siemens);
            add(branch.b, branch.b, siemens);
            add(branch.a, branch.b, -siemens);
            add(branch.b, branch.a, -siemens);
            let amps = siemens * (volts[branch.a] - volts[branch.b]);
            short[branch.a] += amps;
            short[branch.b] -= amps;
        }
        for load in &circuit.loads {
            let v = volts[load.node];
            let (amps, slope) = match load.draws {
                Draw::Power { watts } => (watts / v, -watts / (v * v)),
                Draw::Current { amps } => (amps, 0.0),
                Draw::Resistance { ohms } => (v / ohms, 1.0 / ohms),
                _ => return None,
            };
            add(load.node, load.node, slope);
            short[load.node] += amps;
        }
        missing.copy_from_slice(&short[1..]);
        let cholesky = CscCholesky::factor(&CscMatrix::from(&matrix)).ok()?;
        let step = cholesky.solve(&missing);
        for (volts, step) in volts[1..].iter_mut().zip(step.iter()) {
            *volts -= step;
        }
        if step.amax() < 1e-12 * circuit.source_volts {
            return Some(volts);
        }
    }
    None
}

/// Figures of every magnitude, now and then one that isn't fit.
pub(crate) fn wild() -> impl Strategy<Value = f64> {
    prop_oneof![
        1 => any::<f64>(),
        1 => Just(0.0),
        30 => (-14.0..12.5_f64).prop_map(|digits| 10.0_f64.powf(digits)),
        30 => (-3.0..3.0_f64).prop_map(|digits| 10.0_f64.powf(digits)),
    ]
}
