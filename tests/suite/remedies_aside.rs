//! What is tried in a working copy is found as in the whole house, and leaves no trace.

use crate::random_edits::{self, Seed};
use crate::random_jobs;
use crate::refresh::bits;
use crate::support::{SAMPLES, design_of, sample, starter_with};
use proptest::prelude::*;
use serde_json::Value;
use studbay::checks::grouped;
use studbay::cli::Report;
use studbay::design::Design;
use studbay::job::Job;
use studbay::job::edit::apply;
use studbay::remedy::Bench;
use studbay::tally::{Work, during};

/// Compares what helps against the first findings, tried in copies that all of them share and in the whole house, and
/// looks that the copies are as they were. How many copies were of a part of the house only.
fn compare(design: &Design, most: usize) -> usize {
    let (mut bench, mut whole) = (Bench::new(design), Bench::of_whole_house(design));
    for group in grouped(&design.findings).iter().take(most) {
        let worst = group.worst().unwrap();
        assert_eq!(bench.remedies(worst), whole.remedies(worst), "against {worst:#?}");
    }
    let mut parts = 0;
    for [used, made] in bench.put_away().into_iter().chain(whole.put_away()) {
        assert_eq!(used.job, made.job);
        assert_eq!(bits(&used), bits(&made));
        parts += usize::from(used.job.boxes.len() < design.job.boxes.len());
    }
    parts
}

#[test]
fn what_helps_in_a_sample_is_the_same_in_a_part_of_it() {
    for name in SAMPLES {
        compare(&sample(name), usize::MAX);
    }
}

/// A name within a flat.
fn within(flat: usize, value: &mut Value) {
    match value {
        Value::String(text) => *text = format!("f{flat}-{text}"),
        Value::Array(all) => all.iter_mut().for_each(|value| within(flat, value)),
        Value::Object(fields) => fields.values_mut().for_each(|value| within(flat, value)),
        _ => {}
    }
}

fn rename(flat: usize, value: &mut Value) {
    match value {
        Value::Array(all) => all.iter_mut().for_each(|value| rename(flat, value)),
        Value::Object(fields) => {
            for (key, value) in fields {
                if ["id", "room", "from", "returns_to", "on"].contains(&key.as_str()) {
                    within(flat, value);
                } else {
                    rename(flat, value);
                }
            }
        }
        _ => {}
    }
}

/// A house of flats that have nothing in common but the catalogue.
fn house(flats: &[String]) -> Job {
    let mut all: Option<Value> = None;
    for (number, text) in flats.iter().enumerate() {
        let mut flat = serde_json::to_value(design_of(text).job).unwrap();
        for list in ["levels", "panels", "boxes"] {
            rename(number, &mut flat[list]);
        }
        if let Some(all) = &mut all {
            for list in ["levels", "panels", "boxes"] {
                let more = flat[list].as_array_mut().unwrap();
                all[list].as_array_mut().unwrap().append(more);
            }
        } else {
            all = Some(flat);
        }
    }
    serde_json::from_value(all.unwrap()).unwrap()
}

fn edited(flats: &[String], seeds: Vec<Seed>) -> Design {
    let mut job = house(flats);
    for seed in seeds {
        // The job may refuse it.
        let edit = random_edits::edit(&job, seed);
        let _ = apply(&mut job, edit);
    }
    Design::derive(job)
}

/// A house of flats that are the starter with a home run that is much too long.
fn far(flats: usize) -> Design {
    let feed = r#"(id: "HR1", from: Output("PS1.1"), cable: "18-5""#;
    let far = starter_with(&[(feed, &format!("{feed}, measured: \"300 ft\""))]);
    Design::derive(house(&vec![far; flats]))
}

#[test]
fn a_report_on_twice_the_house_is_twice_the_work() {
    let work = |flats| during(Work::Checks, || Report::of(&far(flats))).0;
    let (some, more) = (work(6), work(12));
    assert!(more * 10 < some * 22, "{some} pieces were checked for 6 flats, {more} for 12");
}

#[test]
fn most_of_a_house_of_flats_is_left_out() {
    let design = far(5);
    // Each flat, and some with another from whose outputs it might be fed.
    let parts = compare(&design, usize::MAX);
    assert!(parts >= 5, "{parts} for {:#?}", design.findings);
}

fn config() -> ProptestConfig {
    let usual = ProptestConfig::default();
    ProptestConfig { cases: usual.cases / 32, failure_persistence: None, ..usual }
}

proptest! {
    #![proptest_config(config())]

    #[test]
    fn what_helps_in_any_house_is_the_same_in_a_part_of_it(
        flats in prop::collection::vec(random_jobs::job(), 3..5),
        seeds in prop::collection::vec(random_edits::seed(), 0..8),
    ) {
        compare(&edited(&flats, seeds), 4);
    }
}
