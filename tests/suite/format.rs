//! The file format over the years: what was once written reads for ever, what is newer is refused, and nothing is
//! brought to a newer format without the old file being kept.
//!
//! `tests/format/MAJOR.MINOR/` holds job files as that format was first written. They are never changed again.
//! `STUDBAY_FREEZE=1 cargo test --test suite format::` lays down the folder of the format that is written today, from
//! the samples; once it is there it is left as it is.

use crate::support::{SAMPLES, STARTER, project};
use proptest::prelude::*;
use std::fs;
use std::path::PathBuf;
use studbay::design::Design;
use studbay::job::history::History;
use studbay::job::{Format, Job, read, write};
use studbay::store::{Keeper, Unsaved};

/// Every file that was frozen, with its format.
fn frozen() -> Vec<(Format, PathBuf)> {
    let mut found = Vec::new();
    for folder in fs::read_dir(project("tests/format")).into_iter().flatten() {
        let folder = folder.unwrap().path();
        let name = folder.file_name().unwrap().to_string_lossy().into_owned();
        let (major, minor) = name.split_once('.').unwrap_or_else(|| panic!("'{name}' names no format"));
        let format = Format(major.parse().unwrap(), minor.parse().unwrap());
        for file in fs::read_dir(folder).unwrap() {
            found.push((format, file.unwrap().path()));
        }
    }
    found.sort();
    found
}

fn folder(Format(major, minor): Format) -> PathBuf {
    project("tests/format").join(format!("{major}.{minor}"))
}

fn line(format: Format) -> String {
    format!("    format: {format},\n")
}

#[test]
fn what_was_frozen_reads_and_is_saved_as_it_stands_but_for_its_format() {
    for (format, path) in frozen() {
        let name = path.display().to_string();
        let text = fs::read_to_string(&path).unwrap();
        assert!(text.contains(&line(format)), "{name} is of another format");
        let (job, _) = read::from_str(&name, &text).unwrap_or_else(|error| panic!("{error}"));
        let saved = write::to_string(&job).unwrap();
        // Fields that came later are left out while they are at their defaults.
        assert_eq!(saved, text.replacen(&line(format), &line(Format::CURRENT), 1), "{name}");
        drop(Design::derive(job));
    }
}

/// From (1, 0) on each format that is written has its folder.
#[test]
fn the_format_that_is_written_is_frozen_once_it_is_settled() {
    let folder = folder(Format::CURRENT);
    if std::env::var_os("STUDBAY_FREEZE").is_some() && !folder.exists() {
        fs::create_dir_all(&folder).unwrap();
        for name in SAMPLES {
            let text = fs::read_to_string(project(&format!("sample-jobs/{name}.ron"))).unwrap();
            let (job, _) = read::from_str(name, &text).unwrap_or_else(|error| panic!("{error}"));
            fs::write(folder.join(format!("{name}.ron")), write::to_string(&job).unwrap()).unwrap();
        }
        let (job, _) = read::from_str("starter", STARTER).unwrap_or_else(|error| panic!("{error}"));
        fs::write(folder.join("starter.ron"), write::to_string(&job).unwrap()).unwrap();
    }
    assert!(Format::CURRENT.0 == 0 || folder.exists(), "run once with STUDBAY_FREEZE=1");
}

/// The starter, as it would be in another format.
fn of_format(format: Format) -> String {
    STARTER.replacen(&format!("format: {}", Format::CURRENT), &format!("format: {format}"), 1)
}

/// Formats next to the one that is written.
fn newer() -> [Format; 3] {
    let Format(major, minor) = Format::CURRENT;
    [Format(major, minor + 1), Format(major + 1, 0), Format(u32::MAX, u32::MAX)]
}

fn older() -> Format {
    let Format(major, minor) = Format::CURRENT;
    if minor > 0 { Format(major, minor - 1) } else { Format(major - 1, 0) }
}

#[test]
fn a_newer_format_is_refused_with_what_to_do_whatever_else_is_new_in_it() {
    for format in newer() {
        // What comes after the format may be anything: it is not looked at.
        for text in
            [of_format(format), format!("(\n    format: {format}, later: {{?!"), format!("(format:{format}")]
        {
            let error = read::from_str("house.ron", &text).unwrap_err().to_string();
            assert!(error.contains(&format!("format {format}, newer than {}", Format::CURRENT)), "{error}");
            assert!(error.contains("open it with the newer studbay that wrote it"), "{error}");
        }
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("house.ron");
        fs::write(&path, of_format(format)).unwrap();
        assert!(Keeper::open(&path).is_err());
        // Nothing is left of the attempt.
        assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 1);
        assert_eq!(fs::read_to_string(&path).unwrap(), of_format(format));
    }
}

#[test]
fn an_older_format_is_brought_up_to_date_by_the_first_save_and_kept_as_it_was() {
    let (job, _) = read::from_str("starter", STARTER).unwrap();
    // Without comments, which would be a reason of their own.
    let old = write::to_string(&job).unwrap().replacen(&line(Format::CURRENT), &line(older()), 1);
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("house.ron");
    fs::write(&path, &old).unwrap();
    let mut opened = Keeper::open(&path).unwrap();
    assert_eq!(opened.job.format, Format::CURRENT);
    assert!(opened.notes.is_empty() && opened.recovered.is_none());
    // Only looked at, it stays as it is.
    assert_eq!(fs::read_to_string(&path).unwrap(), old);
    let saved = opened.keeper.save(&opened.job).unwrap();
    let orig = saved.orig.unwrap();
    assert_eq!(fs::read_to_string(&orig).unwrap(), old);
    assert_eq!(fs::read_to_string(&path).unwrap(), write::to_string(&job).unwrap());
    assert_eq!(opened.keeper.save(&opened.job).unwrap().orig, None);
    opened.keeper.close(Unsaved::None);
}

#[test]
fn what_was_done_to_an_older_file_and_not_saved_is_recovered() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("house.ron");
    fs::write(&path, of_format(older())).unwrap();
    let mut opened = Keeper::open(&path).unwrap();
    let edit = crate::random_edits::set(studbay::job::Kind::Fixture, "F1", "name", "by the window".into());
    let mut history = History::new();
    history.perform(&mut opened.job, "name", edit, |entry| opened.keeper.record(entry)).unwrap();
    opened.keeper.emergency();
    let recovered = Keeper::open(&path).unwrap().recovered.unwrap();
    assert_eq!(recovered.job, opened.job);
}

/// The starter with any words in its texts.
fn worded(words: &[String]) -> Job {
    let (mut job, _) = read::from_str("starter", STARTER).unwrap();
    let mut words = words.iter().cycle().cloned();
    let mut next = || words.next().unwrap_or_default();
    job.project.title = next();
    job.project.address = next();
    job.project.notes = vec![next(), next()];
    for room in &mut job.levels[0].rooms {
        room.name = next();
    }
    for fixture in &mut job.catalogue.fixtures {
        fixture.name = next();
    }
    job.boxes[0].name = next();
    job
}

proptest! {
    #[test]
    fn any_words_come_back_as_they_were_and_are_saved_in_the_same_bytes(
        words in prop::collection::vec(prop_oneof![any::<String>(), "[\\\\\"'(),:#r/*\\[\\] \n]{0,12}"], 1..8),
    ) {
        let job = worded(&words);
        let saved = write::to_string(&job).unwrap();
        let (again, _) = read::from_str("again", &saved).map_err(|error| TestCaseError::fail(error.to_string()))?;
        prop_assert_eq!(&again, &job);
        prop_assert_eq!(write::to_string(&again).unwrap(), saved);
    }
}
