//! What must hold of any circuit, on circuits made at random.

use proptest::prelude::*;
use studbay::study::circuit::{
    Branch, Circuit, Draw, Load, Solution, Unsolved, largest_ohms_factor, largest_power_factor, solve,
};

use crate::random_circuits::{
    are_close, by_general_cholesky, circuit, circuit_of, corners, has_power, imbalance, plain, scaled, wild,
};

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
