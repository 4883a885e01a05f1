//! Figures over open choices, held to every combination of them on small jobs made at random.

use crate::support::{STARTER, close, design_of};
use proptest::prelude::*;
use studbay::design::Design;
use studbay::study::{MOST_CORNERS, Range, ranges};

/// Fixtures of every kind beside the starter's.
const PARTS: &str = "fixtures: [
    (id: \"p-9\", load: Power(watts: 9)),
    (id: \"p-14\", load: Power(watts: 14)),
    (id: \"amp\", load: Current(amps: 0.4)),
    (id: \"bulb\", load: Resistance(watts: 8, at_volts: 24)),";
const KINDS: [&str; 5] = ["down-6", "p-9", "p-14", "amp", "bulb"];

/// A job of one loop of four ceiling boxes; each holds one of its options, or all of them are open.
fn job(options: &[Vec<usize>], path: &str, feet: u32, picks: Option<&[usize]>) -> Design {
    let mut text = STARTER
        .replace("fixtures: [", PARTS)
        .replace("path: ReturnedCapped,", &format!("path: {path},"))
        .replace("cable: \"18-5\")],", &format!("cable: \"18-5\", measured: \"{feet} ft\")],"));
    for (at, place) in [
        "x: \"18'0\", y: \"8'0\"",
        "x: \"24'0\", y: \"8'0\"",
        "x: \"24'0\", y: \"2'0\"",
        "x: \"18'0\", y: \"2'0\"",
    ]
    .iter()
    .enumerate()
    {
        let own = &options[at];
        let holds = if let Some(picks) = picks {
            format!("fixture: \"{}\"", KINDS[own[picks[at]]])
        } else {
            let names: Vec<String> = own.iter().map(|&n| format!("\"{}\"", KINDS[n])).collect();
            format!("open: [{}]", names.join(", "))
        };
        text = text.replace(
            &format!("place: ({place}), fixture: \"down-6\""),
            &format!("place: ({place}), {holds}"),
        );
    }
    design_of(&text)
}

/// Every combination of picks.
fn combinations(options: &[Vec<usize>]) -> Vec<Vec<usize>> {
    options.iter().fold(vec![Vec::new()], |all, own| {
        let longer =
            |picks: &Vec<usize>| (0..own.len()).map(|n| [&picks[..], &[n]].concat()).collect::<Vec<_>>();
        all.iter().flat_map(longer).collect()
    })
}

fn of(design: &Design) -> (f64, Vec<f64>, Vec<f64>) {
    let study = design.study.run(&design.network, 0).unwrap();
    let volts = study.lights.iter().map(|light| light.volts.unwrap()).collect();
    let amps = study.cables.iter().map(|cable| cable.amps.unwrap()).collect();
    (study.source_amps.unwrap(), volts, amps)
}

fn spans(range: &Range, figures: impl Iterator<Item = f64>) -> bool {
    let (least, most) = figures.fold((f64::MAX, f64::MIN), |(l, m), f| (l.min(f), m.max(f)));
    close(range.least, least, 1e-9) && close(range.most, most, 1e-9)
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(24))]
    #[test]
    fn ranges_are_those_of_every_combination(
        options in prop::collection::vec(prop::sample::subsequence((0..5).collect::<Vec<usize>>(), 1..=3), 4),
        path in prop::sample::select(vec!["OneWay", "ReturnedCapped", "Returned"]),
        feet in 10..80_u32,
    ) {
        let open = job(&options, path, feet, None);
        let corners: Vec<_> =
            combinations(&options).iter().map(|picks| of(&job(&options, path, feet, Some(picks)))).collect();
        let all = ranges(&open.job, &open.index, &open.network, 0, MOST_CORNERS).unwrap();
        // Without trying corners one by one, volts and source amps come out the same, and cable amps are bounds.
        let two = ranges(&open.job, &open.index, &open.network, 0, 0).unwrap();
        for found in [&all, &two] {
            prop_assert!(found.source_amps.exact);
            prop_assert!(spans(&found.source_amps, corners.iter().map(|corner| corner.0)));
            for (at, (_, _, range)) in found.volts.iter().enumerate() {
                prop_assert!(range.exact && spans(range, corners.iter().map(|corner| corner.1[at])));
            }
        }
        for (at, ((_, exact), (_, bound))) in all.cable_amps.iter().zip(&two.cable_amps).enumerate() {
            prop_assert!(exact.exact && spans(exact, corners.iter().map(|corner| corner.2[at])));
            prop_assert!(!bound.exact && bound.least <= exact.least && bound.most >= exact.most * (1.0 - 1e-9));
        }
        // The figures that are shown are the unfavourable ends.
        let (amps, volts, _) = of(&open);
        prop_assert!(close(amps, all.source_amps.most, 1e-9));
        for (shown, (_, _, range)) in volts.iter().zip(&all.volts) {
            prop_assert!(close(*shown, range.least, 1e-9));
        }
        // The choice that is named does what is said of it.
        let named: Vec<usize> = (0..4)
            .map(|at| {
                let part = &all.source_amps.most_choice[at].part;
                options[at].iter().position(|&n| KINDS[n] == part).unwrap()
            })
            .collect();
        prop_assert!(close(of(&job(&options, path, feet, Some(&named))).0, all.source_amps.most, 1e-9));
    }
}

#[test]
fn a_job_with_nothing_open_has_no_ranges() {
    let design = design_of(STARTER);
    assert!(ranges(&design.job, &design.index, &design.network, 0, MOST_CORNERS).is_none());
}
