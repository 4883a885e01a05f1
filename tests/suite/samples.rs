//! The sample jobs: each one reads, is of the size it says it is, and is saved as it stands.

use crate::support::project;
use std::fs;
use std::ops::RangeInclusive;
use studbay::checks::{Finding, Severity};
use studbay::design::Design;
use studbay::job::wiring::Source;
use studbay::job::{Job, read, write};

/// Each sample with how many home runs and fixtures it may have. The last one is the house of mistakes.
const SAMPLES: &[(&str, RangeInclusive<usize>, RangeInclusive<usize>)] = &[
    ("cottage", 7..=9, 30..=40),
    ("two-story", 25..=30, 100..=140),
    ("large-house", 70..=90, 300..=400),
    ("apartment-block", 235..=265, 1150..=1250),
    ("usual-mistakes", 10..=15, 100..=160),
];

/// The mistakes in the house of mistakes and what follows from them: the check that finds each, and the thing it is
/// found at, by code and then by id. There are no others.
const MISTAKES: &[(&str, &str)] = &[
    ("ac-feed", "P1"),
    ("ac-unknown", "P2"),
    ("class-2-output", "s12-100"),
    ("class-2-run", "HR01"),
    ("collapse", "HR06"),
    ("dead-short", "W1a1"),
    ("drop", "U-1"),
    ("drop", "U-2"),
    ("drop", "U-3"),
    ("drop", "U-4"),
    ("drop", "U-5"),
    ("drop", "U-6"),
    ("drop", "U-7"),
    ("drop", "U-8"),
    ("gangs", "E1"),
    ("interconnected", "LK02"),
    ("interconnected", "T1a1"),
    ("isolation", "LK01"),
    ("lights", "H1a"),
    ("long-run", "HR03"),
    ("long-run", "HR06"),
    ("no-feed", "E1"),
    ("no-output", "HR09"),
    ("not-placed", "PS7"),
    ("over-limit", "PS1.1"),
    ("slot-overlap", "PS2"),
    ("slot-range", "PS3"),
    ("string-60", "S1a1"),
    ("string-volts", "S1a1"),
    ("unfit", "S-11"),
    ("unfit", "S-12"),
    ("unknown", "HR08"),
    ("unknown", "HR10"),
    ("unknown", "HR11"),
    ("unknown", "HR12"),
    ("unknown", "HR13"),
    ("unknown", "HR14"),
    ("volts-high", "K-10"),
    ("volts-high", "K-11"),
    ("volts-high", "K-9"),
    ("volts-low", "U-3"),
    ("volts-low", "U-4"),
    ("volts-low", "U-5"),
    ("volts-low", "U-6"),
    ("volts-low", "U-7"),
    ("volts-low", "U-8"),
];

/// The text of a sample, and the job in it.
fn sample(name: &str) -> (String, Job) {
    let path = project("sample-jobs").join(format!("{name}.ron"));
    let text = fs::read_to_string(&path).unwrap_or_else(|error| panic!("{name}: {error}"));
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

#[test]
fn every_sample_but_the_last_passes_its_checks() {
    let (_, passing) = SAMPLES.split_last().unwrap();
    for (name, ..) in passing {
        let design = Design::derive(sample(name).1);
        let worse: Vec<&Finding> =
            design.findings.iter().filter(|finding| finding.severity != Severity::Advice).collect();
        assert!(worse.is_empty(), "{name}: {worse:#?}");
    }
}

#[test]
fn the_house_of_mistakes_fails_at_each_of_them() {
    let design = Design::derive(sample("usual-mistakes").1);
    let mut found: Vec<(&str, &str)> =
        design.findings.iter().map(|finding| (finding.code, finding.subject.id.as_str())).collect();
    found.sort_unstable();
    assert_eq!(found, MISTAKES);
    let unknown = design.findings.iter().find(|f| f.subject.id == "HR08" && f.code == "unknown").unwrap();
    assert!(unknown.remedy.contains("S-11 does not fit"), "{unknown:#?}");
    assert!(unknown.remedy.contains("has no + or no -"), "{unknown:#?}");
}
