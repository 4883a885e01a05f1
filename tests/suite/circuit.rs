//! The solver on circuits small enough to work out by hand.

use studbay::study::circuit::{
    Branch, Circuit, Draw, Load, Unsolved, largest_ohms_factor, largest_power_factor, solve,
};

/// One load at the end of one pair.
fn single(source_volts: f64, ohms: f64, draws: Draw) -> Circuit {
    Circuit {
        source_volts,
        nodes: 2,
        branches: vec![Branch { a: 0, b: 1, ohms }],
        loads: vec![Load { node: 1, draws }],
    }
}

#[test]
fn a_single_power_takes_the_upper_root() {
    for watts in [1e-9, 1.0, 40.0, 80.0, 92.0, 92.66] {
        let solution = solve(&single(24.0, 1.554, Draw::Power { watts })).unwrap();
        let exact = f64::midpoint(24.0, (24.0_f64 * 24.0 - 4.0 * 1.554 * watts).sqrt());
        let error = (solution.volts[1] - exact).abs() / exact;
        assert!(error < 1e-12, "{watts} W: {} V, exact {exact} V", solution.volts[1]);
    }
}

#[test]
fn the_limit_is_that_of_maximum_power_transfer() {
    let limit = 24.0 * 24.0 / (4.0 * 1.554);
    let factor = largest_power_factor(&single(24.0, 1.554, Draw::Power { watts: 10.0 })).unwrap();
    assert!((factor * 10.0 / limit - 1.0).abs() < 1e-9, "{factor}");
    let factor = largest_ohms_factor(&single(24.0, 1.554, Draw::Power { watts: 10.0 }), &[0]);
    assert!((factor.unwrap() * 10.0 / limit - 1.0).abs() < 1e-9, "{factor:?}");
    for (share, solves) in [(1.0 - 1e-12, true), (1.0 + 1e-12, false)] {
        let outcome = solve(&single(24.0, 1.554, Draw::Power { watts: limit * share }));
        assert_eq!(outcome.is_ok(), solves, "{share}: {outcome:?}");
    }
}

#[test]
fn a_current_that_takes_all_volts_collapses() {
    assert!(solve(&single(24.0, 2.0, Draw::Current { amps: 11.999 })).is_ok());
    for amps in [12.0, 12.001, 1e9] {
        let outcome = solve(&single(24.0, 2.0, Draw::Current { amps }));
        assert_eq!(outcome, Err(Unsolved::NoSolution), "{amps} A");
    }
}

#[test]
fn a_resistance_never_collapses() {
    for ohms in [1e-9, 1.0, 1e9] {
        let circuit = single(24.0, 2.0, Draw::Resistance { ohms });
        let solution = solve(&circuit).unwrap();
        let exact = 24.0 * ohms / (ohms + 2.0);
        assert!((solution.load_amps[0] * (ohms + 2.0) / 24.0 - 1.0).abs() < 1e-6, "{ohms} ohms");
        assert!((solution.volts[1] - exact).abs() < 1e-14 * 24.0, "{ohms} ohms");
        assert_eq!(largest_power_factor(&circuit), None);
        assert_eq!(largest_ohms_factor(&circuit, &[0]), None);
    }
}

#[test]
fn what_is_at_the_source_drops_nothing() {
    let mut circuit = single(24.0, 1.554, Draw::Power { watts: 40.0 });
    let alone = solve(&circuit).unwrap();
    circuit.loads.push(Load { node: 0, draws: Draw::Power { watts: 48.0 } });
    let both = solve(&circuit).unwrap();
    assert_eq!(alone.volts, both.volts);
    assert!((both.source_amps - alone.source_amps - 2.0).abs() < 1e-14);
    circuit.loads.remove(0);
    assert_eq!(largest_power_factor(&circuit), None, "nothing limits a load at the source");
}

#[test]
fn no_ohms_join_nodes_and_still_carry() {
    // 0 =0= 1 -1.554- 2 =0= 3, =0= 4; loads at 1, 3, 4.
    let branch = |a, b, ohms| Branch { a, b, ohms };
    let watts = |node, watts| Load { node, draws: Draw::Power { watts } };
    let circuit = Circuit {
        source_volts: 24.0,
        nodes: 5,
        branches: vec![
            branch(1, 0, 0.0),
            branch(2, 1, 1.554),
            branch(2, 3, 0.0),
            branch(4, 3, 0.0),
            branch(4, 2, 0.0),
        ],
        loads: vec![watts(1, 12.0), watts(3, 15.0), watts(4, 25.0)],
    };
    let solution = solve(&circuit).unwrap();
    let end = f64::midpoint(24.0, (24.0_f64 * 24.0 - 4.0 * 1.554 * 40.0).sqrt());
    for (node, volts) in [24.0, 24.0, end, end, end].into_iter().enumerate() {
        assert!((solution.volts[node] - volts).abs() < 1e-12, "node {node}");
    }
    // The third 0 Ω branch closes a loop without ohms and is given nothing.
    let amps = [-0.5 - 40.0 / end, -40.0 / end, 40.0 / end, -25.0 / end, 0.0];
    for (nth, amps) in amps.into_iter().enumerate() {
        assert!((solution.branch_amps[nth] - amps).abs() < 1e-12, "branch {nth}");
    }
    assert!(solution.residual_amps < 1e-14);
}

#[test]
fn the_least_choice_is_that_of_the_best_corner() {
    // 24 V over 2 Ω. At 24 V the power draws less than the current, but there is no solution with
    // it (100 W > 72 W): the run then settles on the current.
    let least = |members| single(24.0, 2.0, Draw::Least(members));
    let power = |watts| Draw::Power { watts };
    let settled = solve(&least(vec![power(100.0), Draw::Current { amps: 5.0 }])).unwrap();
    assert!((settled.volts[1] - 14.0).abs() < 1e-12, "{settled:?}");
    // Both alone would do, and the power at its upper root draws less.
    let settled = solve(&least(vec![Draw::Current { amps: 5.0 }, power(70.0)])).unwrap();
    assert!((settled.volts[1] - (12.0 + 2.0)).abs() < 1e-12, "{settled:?}");
    let collapse = solve(&least(vec![power(100.0), Draw::Current { amps: 12.5 }]));
    assert_eq!(collapse, Err(Unsolved::NoSolution));
}

#[test]
fn the_worst_choice_collapses_with_its_worst_member() {
    let worst = |members| single(24.0, 2.0, Draw::Worst(members));
    let power = |watts| Draw::Power { watts };
    let settled = solve(&worst(vec![power(70.0), Draw::Current { amps: 5.5 }])).unwrap();
    assert!((settled.volts[1] - 13.0).abs() < 1e-12, "{settled:?}");
    assert!((settled.load_amps[0] - 5.5).abs() < 1e-12);
    let collapse = solve(&worst(vec![power(73.0), Draw::Current { amps: 5.5 }]));
    assert_eq!(collapse, Err(Unsolved::NoSolution));
    let limit = largest_power_factor(&worst(vec![power(36.0), Draw::Current { amps: 1.0 }]));
    assert!((limit.unwrap() - 2.0).abs() < 1e-9, "{limit:?}");
}

#[test]
fn a_collapse_without_the_powers_leaves_no_factor() {
    let mut circuit = single(24.0, 2.0, Draw::Current { amps: 13.0 });
    circuit.loads.push(Load { node: 1, draws: Draw::Power { watts: 1.0 } });
    assert_eq!(largest_power_factor(&circuit), Some(0.0));
    circuit.loads.remove(0);
    circuit.loads[0].draws = Draw::Power { watts: 720.0 };
    assert!((largest_power_factor(&circuit).unwrap() - 0.1).abs() < 1e-10);
    assert!((largest_ohms_factor(&circuit, &[0]).unwrap() - 0.1).abs() < 1e-10);
}

#[test]
fn nonsense_is_refused_by_name() {
    let power = |watts| Draw::Power { watts };
    let fine = || single(24.0, 2.0, power(10.0));
    let broken: Vec<(&str, Circuit)> = vec![
        ("source volts", Circuit { source_volts: f64::NAN, ..fine() }),
        ("source volts", Circuit { source_volts: 0.0, ..fine() }),
        ("source volts", Circuit { source_volts: f64::INFINITY, ..fine() }),
        ("no source node", Circuit { nodes: 0, ..fine() }),
        ("cannot connect", Circuit { nodes: usize::MAX, ..fine() }),
        ("node 2 is not connected", {
            let mut circuit = fine();
            circuit.nodes = 3;
            circuit.branches.push(Branch { a: 1, b: 0, ohms: 1.0 });
            circuit
        }),
        ("branch 0 ends", Circuit { branches: vec![Branch { a: 0, b: 7, ohms: 1.0 }], ..fine() }),
        ("load 0 is at node 9", {
            let mut circuit = fine();
            circuit.loads[0].node = 9;
            circuit
        }),
        ("branch ohms", single(24.0, -1.0, power(10.0))),
        ("branch ohms", single(24.0, f64::NAN, power(10.0))),
        ("watts", single(24.0, 1.0, power(-1.0))),
        ("watts", single(24.0, 1.0, power(f64::NAN))),
        ("amps", single(24.0, 1.0, Draw::Current { amps: f64::INFINITY })),
        ("ohms", single(24.0, 1.0, Draw::Resistance { ohms: 0.0 })),
        ("no members", single(24.0, 1.0, Draw::Worst(vec![]))),
        ("nested", single(24.0, 1.0, Draw::Worst(vec![Draw::Least(vec![power(1.0)])]))),
        ("nested deeper", {
            let deep = (0..40).fold(power(1.0), |inner, _| Draw::Worst(vec![inner]));
            single(24.0, 1.0, deep)
        }),
    ];
    for (part, circuit) in broken {
        match solve(&circuit) {
            Err(Unsolved::Malformed(why)) => assert!(why.contains(part), "{why} for {part}"),
            other => panic!("{part}: {other:?}"),
        }
        assert_eq!(largest_power_factor(&circuit), None, "{part}");
        assert_eq!(largest_ohms_factor(&circuit, &[0]), None, "{part}");
    }
}

#[test]
fn a_source_without_anything_is_fine() {
    let circuit = Circuit { source_volts: 24.0, nodes: 1, branches: vec![], loads: vec![] };
    let solution = solve(&circuit).unwrap();
    assert_eq!(solution.volts, [24.0]);
    assert_eq!(solution.source_amps.to_bits(), 0.0_f64.to_bits());
}
