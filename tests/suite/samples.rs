//! The sample jobs: each one reads, is of the size it says it is, and is saved as it stands.

use crate::support::project;
use std::fs;
use std::ops::RangeInclusive;
use studbay::job::wiring::Source;
use studbay::job::{Job, read, write};

/// Each sample with how many home runs and fixtures it may have.
const SAMPLES: &[(&str, RangeInclusive<usize>, RangeInclusive<usize>)] =
    &[("cottage", 8..=8, 30..=40), ("two-story", 25..=30, 100..=140), ("usual-mistakes", 10..=14, 100..=160)];

/// The text of a sample, and the job in it.
fn sample(name: &str) -> (String, Job) {
    let path = project("sample-jobs").join(format!("{name}.ron"));
    let text = fs::read_to_string(&path).expect(name);
    let (job, _) = read::from_str(name, &text).unwrap_or_else(|error| panic!("{error}"));
    (text, job)
}

#[test]
fn every_sample_has_the_size_it_says() {
    for (name, runs, fixtures) in SAMPLES {
        let (_, job) = sample(name);
        let feeds = job.boxes.iter().flat_map(|wall_box| &wall_box.feeds);
        let count = feeds.filter(|feed| !matches!(feed.from, Source::Onward(_))).count();
        assert!(runs.contains(&count), "{name} has {count} home runs");
        let controls = job.boxes.iter().flat_map(|wall_box| &wall_box.controls);
        let ceiling = controls.flat_map(|control| &control.loops).flat_map(|run| &run.ceiling);
        let count = ceiling.filter(|ceiling| ceiling.fixture.is_some() || !ceiling.open.is_empty()).count();
        assert!(fixtures.contains(&count), "{name} has {count} fixtures");
    }
}

#[test]
fn every_sample_is_in_the_layout_in_which_it_is_saved() {
    for (name, ..) in SAMPLES {
        let (text, job) = sample(name);
        assert!(write::to_string(&job).unwrap() == text, "saving {name} would change it");
    }
}

#[test]
fn every_file_among_the_samples_is_tested() {
    let mut found: Vec<String> = fs::read_dir(project("sample-jobs"))
        .unwrap()
        .map(|entry| entry.unwrap().file_name().to_string_lossy().into_owned())
        .collect();
    found.sort();
    let mut listed: Vec<String> = SAMPLES.iter().map(|(name, ..)| format!("{name}.ron")).collect();
    listed.sort();
    assert_eq!(found, listed);
}
