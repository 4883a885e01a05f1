//! The solver on circuits small enough to work out by hand.

use studbay::study::circuit::{
    Branch, Circuit, Draw, Load, largest_ohms_factor, largest_power_factor, solve,
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
        assert!(
            error < 1e-12,
            "{watts} W: {} V, exact {exact} V",
            solution.volts[1]
        );
    }
}

#[test]
fn the_limit_is_that_of_maximum_power_transfer() {
    let limit = 24.0 * 24.0 / (4.0 * 1.554);
    let factor = largest_power_factor(&single(24.0, 1.554, Draw::Power { watts: 10.0 })).unwrap();
    assert!((factor * 10.0 / limit - 1.0).abs() < 1e-9, "{factor}");
    let factor = largest_ohms_factor(&single(24.0, 1.554, Draw::Power { watts: 10.0 }), &[0]);
    assert!(
        (factor.unwrap() * 10.0 / limit - 1.0).abs() < 1e-9,
        "{factor:?}"
    );
    for (share, solves) in [(1.0 - 1e-12, true), (1.0 + 1e-12, false)] {
        let outcome = solve(&single(
            24.0,
            1.554,
            Draw::Power {
                watts: limit * share,
            },
        ));
        assert_eq!(outcome.is_ok(), solves, "{share}: {outcome:?}");
    }
}
