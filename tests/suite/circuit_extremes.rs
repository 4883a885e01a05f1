//! The solver on circuits whose figures lie many orders of magnitude apart.

use studbay::study::circuit::{Branch, Circuit, Draw, Load, Unsolved, largest_power_factor, solve};

#[test]
fn a_tiny_jumper_beside_a_long_run_costs_no_digits() {
    let branch = |a, b, ohms| Branch { a, b, ohms };
    for jumper in [1e-3, 1e-6, 1e-9, 1e-12] {
        let circuit = Circuit {
            source_volts: 24.0,
            nodes: 4,
            branches: vec![branch(0, 1, 1.554), branch(1, 2, jumper), branch(2, 3, jumper)],
            loads: vec![Load { node: 3, draws: Draw::Power { watts: 92.0 } }],
        };
        let solution = solve(&circuit).unwrap();
        let ohms = 1.554 + 2.0 * jumper;
        let end = f64::midpoint(24.0, (24.0_f64 * 24.0 - 4.0 * ohms * 92.0).sqrt());
        assert!((solution.volts[3] - end).abs() < 1e-12, "{jumper}: {}", solution.volts[3]);
        for amps in solution.branch_amps {
            assert!((amps * end / 92.0 - 1.0).abs() < 1e-12, "{jumper}: {amps}");
        }
        let limit = 24.0 * 24.0 / (4.0 * ohms) / 92.0;
        let factor = largest_power_factor(&circuit).unwrap();
        assert!((factor / limit - 1.0).abs() < 1e-9, "{jumper}: {factor}");
    }
}

#[test]
fn a_small_ring_far_out_keeps_its_currents() {
    // A ring of nano-ohms behind a long run: 1 µΩ, 2 µΩ and 1 µΩ, one load across from its entry.
    let branch = |a, b, ohms| Branch { a, b, ohms };
    let circuit = Circuit {
        source_volts: 24.0,
        nodes: 4,
        branches: vec![branch(0, 1, 2.0), branch(1, 2, 1e-9), branch(2, 3, 2e-9), branch(3, 1, 1e-9)],
        loads: vec![Load { node: 2, draws: Draw::Current { amps: 4.0 } }],
    };
    let solution = solve(&circuit).unwrap();
    for (nth, amps) in [4.0, 3.0, -1.0, -1.0].into_iter().enumerate() {
        assert!((solution.branch_amps[nth] - amps).abs() < 1e-12, "{:?}", solution.branch_amps);
    }
}

#[test]
fn a_step_that_hovers_at_the_limit_is_no_collapse() {
    // A jumper nineteen orders of magnitude below the run: its rounding never dies down.
    let branch = |a, b, ohms| Branch { a, b, ohms };
    let ohms = 782_420_066.096_361_4;
    let volts = 60.055_689_038_192_97;
    let circuit = Circuit {
        source_volts: volts,
        nodes: 3,
        branches: vec![branch(0, 1, ohms), branch(1, 2, 1.747_018_239_315_986_7e-11)],
        loads: vec![Load { node: 2, draws: Draw::Power { watts: 1.0 } }],
    };
    let factor = largest_power_factor(&circuit).unwrap();
    assert!((factor * 4.0 * ohms / (volts * volts) - 1.0).abs() < 1e-10, "{factor}");
    for part in 1..100 {
        let mut near = circuit.clone();
        let gap = 1e-10 * 0.8_f64.powi(part);
        near.loads[0].draws = Draw::Power { watts: volts * volts / (4.0 * ohms) * (1.0 - gap) };
        assert!(solve(&near).is_ok() || gap < 1e-14, "{gap}");
        near.loads[0].draws = Draw::Power { watts: volts * volts / (4.0 * ohms) * (1.0 + gap) };
        assert!(solve(&near).is_err() || gap < 1e-14, "{gap}");
    }
}

#[test]
fn power_where_volts_round_to_nothing_is_a_collapse() {
    // Half a volt is left of 1e11 V, less than a step's rounding.
    let branch = |a, b, ohms| Branch { a, b, ohms };
    let load = |node, draws| Load { node, draws };
    let circuit = Circuit {
        source_volts: 96_315_058_231.501_82,
        nodes: 3,
        branches: vec![branch(0, 1, 524_190_793_997.428_3), branch(1, 2, 0.006_243_938_075_475_598)],
        loads: vec![
            load(1, Draw::Power { watts: 0.000_156_434_019_432_049_1 }),
            load(2, Draw::Resistance { ohms: 2.574_062_877_191_517_5e-5 }),
        ],
    };
    assert_eq!(solve(&circuit), Err(Unsolved::NoSolution));
}
