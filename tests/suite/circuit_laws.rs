//! What must hold of any circuit, on circuits made at random.

use proptest::prelude::*;
use studbay::study::circuit::{
    Branch, Circuit, Draw, Load, Solution, Unsolved, largest_ohms_factor, largest_power_factor, solve,
};

<<<<<<< HEAD
/// One draw without choices, small beside what a few ohms can carry at 12 V.
fn plain() -> impl Strategy<Value = Draw> {
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

fn circuit_of(draw: impl Strategy<Value = Draw>) -> impl Strategy<Value = Circuit> {
    let volts = prop_oneof![Just(12.0), Just(24.0), Just(36.0), Just(48.0), 5.0..60.0];
    let loads = prop::collection::vec((any::<prop::sample::Index>(), draw), 1..12);
    (volts, branches(), loads).prop_map(|(source_volts, (nodes, branches), loads)| Circuit {
        source_volts,
        nodes,
        branches,
        loads: (loads.into_iter()).map(|(node, draws)| Load { node: node.index(nodes), draws }).collect(),
    })
}

fn circuit() -> impl Strategy<Value = Circuit> {
    circuit_of(plain())
}

/// Loads at one of two options each: all corners of the choice.
fn corners(circuit: &Circuit) -> Vec<Circuit> {
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

fn scaled(circuit: &Circuit, factor: f64) -> Circuit {
    let mut scaled = circuit.clone();
    for load in &mut scaled.loads {
        if let Draw::Power { watts } = &mut load.draws {
            *watts *= factor;
        }
    }
    scaled
}

fn has_power(circuit: &Circuit) -> bool {
    let draws = |load: &Load| matches!(load.draws, Draw::Power { watts } if watts > 0.0);
    circuit.loads.iter().any(|load| load.node != 0 && draws(load))
}

/// Watts into the source terminal, less watts lost and drawn, as a part of the first.
fn imbalance(circuit: &Circuit, solution: &Solution) -> f64 {
    let lost: f64 = (circuit.branches.iter().zip(&solution.branch_amps))
        .map(|(branch, amps)| branch.ohms * amps * amps)
        .sum();
    let drawn: f64 = (circuit.loads.iter().zip(&solution.load_amps))
        .map(|(load, amps)| solution.volts[load.node] * amps)
        .sum();
    let fed = circuit.source_volts * solution.source_amps;
    (fed - lost - drawn).abs() / fed.max(f64::MIN_POSITIVE)
}

fn are_close(a: &Solution, b: &Solution, volts: f64) -> bool {
    a.volts.iter().zip(&b.volts).all(|(a, b)| (a - b).abs() <= volts)
}

/// Newton on node volts with a general sparse Cholesky: the same equations by other means.
fn by_general_cholesky(circuit: &Circuit) -> Option<Vec<f64>> {
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
fn wild() -> impl Strategy<Value = f64> {
    prop_oneof![
        1 => any::<f64>(),
        1 => Just(0.0),
        30 => (-14.0..12.5_f64).prop_map(|digits| 10.0_f64.powf(digits)),
        30 => (-3.0..3.0_f64).prop_map(|digits| 10.0_f64.powf(digits)),
    ]
}
=======
use crate::random_circuits::{
    are_close, by_general_cholesky, circuit, circuit_of, corners, has_power, imbalance, plain,
    scaled, wild,
};
>>>>>>> circuit

fn config() -> ProptestConfig {
    ProptestConfig { failure_persistence: None, ..ProptestConfig::default() }
}

proptest! {
    #![proptest_config(config())]

    #[test]
    fn watts_in_are_watts_out_and_lost(circuit in circuit()) {
        if let Ok(solution) = solve(&circuit) {
            prop_assert!(imbalance(&circuit, &solution) < 1e-9);
            prop_assert!(solution.residual_amps < 1e-11 * solution.source_amps.max(1.0));
            for branch in circuit.branches.iter().zip(&solution.branch_amps) {
                let (branch, amps) = branch;
                let drop = solution.volts[branch.a] - solution.volts[branch.b];
                prop_assert!((drop - branch.ohms * amps).abs() < 1e-12 * circuit.source_volts);
            }
        }
    }

    #[test]
    fn volts_lie_between_none_and_the_source(circuit in circuit()) {
        if let Ok(solution) = solve(&circuit) {
            prop_assert!(solution.volts.iter().all(|volts| volts.is_finite() && *volts > 0.0));
            prop_assert!(solution.volts.iter().all(|volts| *volts <= circuit.source_volts));
            // Lowest at a load that draws: where nothing is drawn, current only passes.
            let lowest = solution.volts.iter().copied().fold(f64::INFINITY, f64::min);
            let loads = circuit.loads.iter().zip(&solution.load_amps);
            let lowest_load = loads.filter(|(_, amps)| **amps > 0.0)
                .map(|(load, _)| solution.volts[load.node])
                .fold(circuit.source_volts, f64::min);
            prop_assert!(lowest_load - lowest < 1e-12 * circuit.source_volts);
        }
    }

    #[test]
    fn a_general_method_finds_the_same(circuit in circuit()) {
        match (solve(&circuit), by_general_cholesky(&circuit)) {
            (Ok(solution), Some(volts)) => {
                for (ours, theirs) in solution.volts.iter().zip(&volts) {
                    prop_assert!((ours - theirs).abs() < 1e-9 * circuit.source_volts);
                }
            }
            (Err(Unsolved::NoSolution), None) => {}
            (ours, theirs) => prop_assert!(false, "{ours:?} against {theirs:?}"),
        }
    }

    #[test]
    fn the_same_circuit_gives_the_same_bits(circuit in circuit()) {
        let bits = |outcome: Result<Solution, Unsolved>| {
            let bits = |all: Vec<f64>| all.into_iter().map(f64::to_bits).collect::<Vec<_>>();
            outcome.map(|s| (bits(s.volts), bits(s.branch_amps), bits(s.load_amps)))
        };
        prop_assert_eq!(bits(solve(&circuit)), bits(solve(&circuit.clone())));
    }

    #[test]
    fn splitting_a_branch_changes_nothing(
        circuit in circuit(), which: prop::sample::Index, part in 0.0..1.0,
    ) {
        let mut split = circuit.clone();
        let nth = which.index(split.branches.len());
        let Branch { b, ohms, .. } = split.branches[nth];
        split.branches[nth] = Branch { b: split.nodes, ohms: ohms * part, ..split.branches[nth] };
        split.branches.push(Branch { a: split.nodes, b, ohms: ohms * (1.0 - part) });
        split.nodes += 1;
        match (solve(&circuit), solve(&split)) {
            (Ok(whole), Ok(split)) => {
                for (a, b) in whole.volts.iter().zip(&split.volts) {
                    prop_assert!((a - b).abs() < 1e-9 * circuit.source_volts);
                }
            }
            (whole, split) => prop_assert_eq!(whole, split),
        }
    }

    #[test]
    fn drops_of_constant_currents_are_in_proportion(
        circuit in circuit_of((0.0..0.2).prop_map(|amps| Draw::Current { amps })),
        factor in 0.0..1.0_f64,
    ) {
        let mut less = circuit.clone();
        for load in &mut less.loads {
            if let Draw::Current { amps } = &mut load.draws {
                *amps *= factor;
            }
        }
        if let Ok(full) = solve(&circuit) {
            let less = solve(&less).unwrap();
            for (full, less) in full.volts.iter().zip(&less.volts) {
                let (full, less) = (circuit.source_volts - full, circuit.source_volts - less);
                prop_assert!((less - full * factor).abs() < 1e-12 * circuit.source_volts);
            }
        }
    }

    #[test]
    fn the_largest_power_factor_is_the_limit(circuit in circuit()) {
        let Some(factor) = largest_power_factor(&circuit) else {
            prop_assert!(!has_power(&circuit));
            return Ok(());
        };
        prop_assert!(factor.is_finite());
        prop_assert_eq!(solve(&scaled(&circuit, factor * (1.0 + 1e-8))), Err(Unsolved::NoSolution));
        if factor > 0.0 {
            prop_assert!(solve(&scaled(&circuit, factor * (1.0 - 1e-8))).is_ok());
            let near = scaled(&circuit, factor * 0.999_999);
            let general = by_general_cholesky(&near).unwrap();
            for (ours, theirs) in solve(&near).unwrap().volts.iter().zip(&general) {
                prop_assert!((ours - theirs).abs() < 1e-6 * theirs);
            }
        }
        prop_assert_eq!(solve(&circuit).is_ok(), factor >= 1.0);
    }

    #[test]
    fn the_largest_ohms_factor_is_the_limit(circuit in circuit()) {
        let all: Vec<usize> = (0..circuit.branches.len()).collect();
        let longer = |factor: f64| {
            let mut longer = circuit.clone();
            longer.branches.iter_mut().for_each(|branch| branch.ohms *= factor);
            longer
        };
        match largest_ohms_factor(&circuit, &all) {
            Some(factor) => {
                prop_assert!(solve(&longer(factor * (1.0 - 1e-8))).is_ok());
                let beyond = solve(&longer(factor * (1.0 + 1e-8)));
                prop_assert_eq!(beyond, Err(Unsolved::NoSolution));
            }
            None => prop_assert!(solve(&longer(1e6)).is_ok()),
        }
    }

    #[test]
    fn more_load_never_raises_a_voltage(
        circuit in circuit(), node: prop::sample::Index, more in plain(),
    ) {
        let mut heavier = circuit.clone();
        heavier.loads.push(Load { node: node.index(circuit.nodes), draws: more });
        match (solve(&circuit), solve(&heavier)) {
            (Ok(before), Ok(after)) => {
                for (before, after) in before.volts.iter().zip(&after.volts) {
                    prop_assert!(*after <= before + 1e-12 * circuit.source_volts);
                }
            }
            (Err(_), after) => prop_assert_eq!(after, Err(Unsolved::NoSolution)),
            (Ok(_), Err(_)) => {}
        }
    }

    #[test]
    fn a_single_power_stays_above_half(
        volts in 5.0..60.0_f64, ohms in 0.001..20.0_f64, part in 0.0..1.0_f64,
    ) {
        let watts = volts * volts / (4.0 * ohms) * part;
        let circuit = Circuit {
            source_volts: volts,
            nodes: 2,
            branches: vec![Branch { a: 0, b: 1, ohms }],
            loads: vec![Load { node: 1, draws: Draw::Power { watts } }],
        };
        let solution = solve(&circuit).unwrap();
        prop_assert!(solution.volts[1] >= volts / 2.0);
        let exact = f64::midpoint(volts, (volts * volts - 4.0 * ohms * watts).sqrt());
        // Close to the limit the square root takes half the digits, of the check too.
        let allowed = 1e-13 / (1.0 - part).sqrt();
        prop_assert!((solution.volts[1] / exact - 1.0).abs() < allowed);
    }

    #[test]
    fn the_worst_choice_is_below_every_corner(
        circuit in circuit_of(prop::collection::vec(plain(), 1..3).prop_map(Draw::Worst)),
    ) {
        let mut circuit = circuit;
        circuit.loads.truncate(7);
        if let Ok(worst) = solve(&circuit) {
            let mut is_one = false;
            for corner in corners(&circuit) {
                let corner = solve(&corner).unwrap();
                for (worst, volts) in worst.volts.iter().zip(&corner.volts) {
                    prop_assert!(*worst <= volts + 1e-9 * circuit.source_volts);
                }
                prop_assert!(worst.source_amps >= corner.source_amps - 1e-9);
                is_one |= are_close(&worst, &corner, 1e-6 * circuit.source_volts);
            }
            prop_assert!(is_one, "the worst is no corner");
        }
    }

    #[test]
    fn the_least_choice_is_the_best_corner(
        circuit in circuit_of(prop::collection::vec(plain(), 1..3).prop_map(Draw::Least)),
        heavier in 1.0..12.0,
    ) {
        let mut circuit = circuit;
        circuit.loads.truncate(7);
        for load in &mut circuit.loads {
            if let Draw::Least(members) = &mut load.draws {
                for member in members {
                    match member {
                        Draw::Power { watts } => *watts *= heavier,
                        Draw::Current { amps } => *amps *= heavier,
                        _ => {}
                    }
                }
            }
        }
        let solved: Vec<Solution> =
            corners(&circuit).iter().filter_map(|corner| solve(corner).ok()).collect();
        match solve(&circuit) {
            Ok(least) => {
                // Above every corner, and one of them.
                let allowed = 1e-6 * circuit.source_volts;
                prop_assert!(solved.iter().any(|corner| are_close(&least, corner, allowed)));
                for corner in &solved {
                    for (least, volts) in least.volts.iter().zip(&corner.volts) {
                        prop_assert!(*least >= volts - 1e-9 * circuit.source_volts);
                    }
                }
            }
            Err(why) => {
                prop_assert_eq!(why, Unsolved::NoSolution);
                prop_assert!(solved.is_empty(), "a corner solves");
            }
        }
    }

    #[test]
    fn no_figure_is_ever_without_meaning(
        volts in wild(),
        ohms in prop::collection::vec(wild(), 7),
        draws in prop::collection::vec((0..3_u8, wild()), 4),
        ends in prop::collection::vec((0..4_usize, 0..4_usize), 4),
    ) {
        let branches = (ends.into_iter().chain([(0, 1), (1, 2), (2, 3)]).zip(&ohms))
            .map(|((a, b), &ohms)| Branch { a, b, ohms })
            .collect();
        let loads = (draws.iter().enumerate())
            .map(|(node, &(kind, figure))| Load {
                node,
                draws: match kind {
                    0 => Draw::Power { watts: figure },
                    1 => Draw::Current { amps: figure },
                    _ => Draw::Resistance { ohms: figure },
                },
            })
            .collect();
        let circuit = Circuit { source_volts: volts, nodes: 4, branches, loads };
        if let Ok(solution) = solve(&circuit) {
            let all = solution.volts.iter().chain(&solution.branch_amps).chain(&solution.load_amps);
            for figure in all.chain([&solution.source_amps, &solution.residual_amps]) {
                prop_assert!(figure.is_finite(), "{solution:?}");
            }
        }
        if let Some(factor) = largest_power_factor(&circuit) {
            prop_assert!(factor.is_finite());
        }
    }
}
