//! The log and what is recovered from it. A program that ends without closing is a keeper that is dropped.

use super::{Desk, beside, house, names, open, starter, text};
use proptest::prelude::*;
use std::fs;
use std::time::{Duration, Instant};
use studbay::store::{KeepError, Lock, Unsaved};

#[test]
fn a_job_that_was_only_looked_at_leaves_nothing() {
    let (folder, path) = house();
    Desk::at(&path).keeper.close(Unsaved::None);
    assert_eq!(names(folder.path()), ["house.ron"]);
}

#[test]
fn what_was_not_saved_is_offered_restored_and_gone_on_with() {
    let (folder, path) = house();
    let mut desk = Desk::at(&path);
    desk.name("F1", "one").unwrap();
    desk.name("F2", "two").unwrap();
    desk.undo();
    desk.name("F3", "three").unwrap();
    let last = text(&desk.job);
    drop(desk);
    assert_eq!(names(folder.path()), ["house.ron", "house.ron.log"]);

    let opened = open(&path);
    assert_eq!(text(&opened.job), text(&starter()));
    let recovered = opened.recovered.unwrap();
    assert_eq!(recovered.labels().collect::<Vec<_>>(), ["name F1 one", "name F3 three"]);
    assert_eq!(text(&recovered.job), last);
    assert!(recovered.history.changed() && recovered.last.is_some());
    let mut keeper = opened.keeper;
    keeper.restore(&recovered).unwrap();
    let mut desk = Desk { keeper, job: recovered.job, history: recovered.history };
    desk.name("F4", "four").unwrap();
    desk.undo();
    desk.undo();
    desk.redo();
    desk.name("F2", "second").unwrap();
    let last = text(&desk.job);
    drop(desk);

    let opened = open(&path);
    let recovered = opened.recovered.unwrap();
    assert_eq!(recovered.labels().collect::<Vec<_>>(), ["name F1 one", "name F3 three", "name F2 second"]);
    assert_eq!(text(&recovered.job), last);
    let mut keeper = opened.keeper;
    keeper.restore(&recovered).unwrap();
    keeper.save(&recovered.job).unwrap();
    keeper.close(Unsaved::None);
    assert_eq!(fs::read_to_string(&path).unwrap(), last);
    assert_eq!(names(folder.path()), ["house.ron"]);
}

#[test]
fn an_undo_across_a_save_is_recovered_too() {
    let (_folder, path) = house();
    let mut desk = Desk::at(&path);
    desk.name("F1", "one").unwrap();
    desk.name("F2", "two").unwrap();
    desk.save();
    desk.undo();
    desk.undo();
    desk.redo();
    let last = text(&desk.job);
    drop(desk);
    let recovered = open(&path).recovered.unwrap();
    assert_eq!(text(&recovered.job), last);
    assert_eq!(recovered.labels().last().as_deref(), Some("undo: name F2 two"));
}

#[test]
fn nothing_is_done_before_what_waits_is_decided_on() {
    let (folder, path) = house();
    let mut desk = Desk::at(&path);
    desk.name("F1", "one").unwrap();
    drop(desk);
    let opened = open(&path);
    let mut desk =
        Desk { keeper: opened.keeper, job: opened.job, history: studbay::job::history::History::new() };
    assert!(desk.name("F2", "two").is_err());
    assert!(matches!(desk.keeper.save(&desk.job), Err(KeepError::Undecided)));
    // Even a person who leaves at once has let nothing go.
    desk.keeper.close(Unsaved::Drop);
    let mut opened = open(&path);
    assert!(opened.recovered.is_some());
    opened.keeper.drop_recovered();
    opened.keeper.close(Unsaved::None);
    assert_eq!(names(folder.path()), ["house.ron"]);
}

#[test]
fn what_the_person_keeps_or_drops_at_the_end_is_kept_or_dropped() {
    let (folder, path) = house();
    let mut desk = Desk::at(&path);
    desk.name("F1", "one").unwrap();
    desk.keeper.close(Unsaved::Keep);
    let mut opened = open(&path);
    let recovered = opened.recovered.take().unwrap();
    opened.keeper.restore(&recovered).unwrap();
    opened.keeper.close(Unsaved::Drop);
    assert_eq!(names(folder.path()), ["house.ron"]);
    assert_eq!(fs::read_to_string(&path).unwrap(), text(&starter()));
}

#[test]
fn a_sync_is_due_within_a_second_of_the_first_step() {
    let (_folder, path) = house();
    let mut desk = Desk::at(&path);
    assert_eq!(desk.keeper.sync_due(), None);
    desk.name("F1", "one").unwrap();
    let due = desk.keeper.sync_due().unwrap();
    assert!(due <= Instant::now() + Duration::from_secs(1));
    desk.name("F2", "two").unwrap();
    assert_eq!(desk.keeper.sync_due(), Some(due));
    desk.keeper.sync().unwrap();
    assert_eq!(desk.keeper.sync_due(), None);
}

#[test]
fn the_log_of_another_state_is_kept_and_said() {
    let (folder, path) = house();
    let mut desk = Desk::at(&path);
    desk.name("F1", "one").unwrap();
    drop(desk);
    let log = fs::read(beside(&path, "log")).unwrap();
    // Another program writes the file meanwhile.
    fs::write(&path, text(&starter()).replace("New house", "Old house")).unwrap();
    let opened = open(&path);
    assert_eq!((opened.lock, opened.recovered), (Lock::Held, None));
    assert!(opened.notes[0].contains("does not go with the file"), "{:?}", opened.notes);
    assert_eq!(fs::read(folder.path().join("house.ron.log.kept.1")).unwrap(), log);
    let mut desk =
        Desk { keeper: opened.keeper, job: opened.job, history: studbay::job::history::History::new() };
    desk.name("F2", "two").unwrap();
    desk.save();
    desk.keeper.close(Unsaved::None);
    assert_eq!(names(folder.path()), ["house.ron", "house.ron.log.kept.1"]);
}

#[test]
fn a_line_cut_short_costs_that_line_only() {
    let (_folder, path) = house();
    let mut desk = Desk::at(&path);
    desk.name("F1", "one").unwrap();
    desk.name("F2", "two").unwrap();
    drop(desk);
    let log = beside(&path, "log");
    let whole = fs::read(&log).unwrap();
    let last = whole[..whole.len() - 1].iter().rposition(|byte| *byte == b'\n').unwrap() + 1;
    for (tail, note) in [
        (&b""[..], false),
        (&whole[last..whole.len() - 1], false),
        (&whole[last..last + 4], false),
        (&[0; 512], false),
        (b"garbage\nand more\n", true),
    ] {
        fs::write(&log, [&whole[..last], tail].concat()).unwrap();
        let opened = open(&path);
        let recovered = opened.recovered.unwrap();
        assert_eq!(recovered.labels().collect::<Vec<_>>(), ["name F1 one"]);
        assert_eq!(!opened.notes.is_empty(), note, "{:?}", opened.notes);
        let mut keeper = opened.keeper;
        keeper.restore(&recovered).unwrap();
        let mut desk = Desk { keeper, job: recovered.job, history: recovered.history };
        desk.name("F3", "three").unwrap();
        drop(desk);
        let recovered = open(&path).recovered.unwrap();
        assert_eq!(recovered.labels().collect::<Vec<_>>(), ["name F1 one", "name F3 three"]);
    }
}

#[test]
fn a_step_that_no_longer_fits_ends_the_list_and_the_log_is_kept() {
    let (folder, path) = house();
    let mut desk = Desk::at(&path);
    desk.name("F1", "one").unwrap();
    desk.name("F2", "two").unwrap();
    desk.name("F3", "three").unwrap();
    drop(desk);
    let log = beside(&path, "log");
    let lines = fs::read_to_string(&log).unwrap();
    let without: Vec<&str> = lines.lines().collect();
    let removed = studbay::job::edit::Edit::Remove {
        subject: studbay::job::Subject::new(studbay::job::Kind::Fixture, "none"),
    };
    let json = format!("{{\"do\":{{\"e\":{}}}}}", serde_json::to_string(&removed).unwrap());
    let check = blake3_check(&json);
    let bad = format!("{check} {json}");
    fs::write(&log, [without[0], without[1], without[2], &bad, without[3], ""].join("\n")).unwrap();
    let opened = open(&path);
    let recovered = opened.recovered.unwrap();
    assert_eq!(recovered.labels().collect::<Vec<_>>(), ["name F1 one"]);
    assert!(opened.notes[0].contains("remove ceiling box none"), "{:?}", opened.notes);
    assert!(names(folder.path()).contains(&"house.ron.log.kept".to_owned()));
    let mut keeper = opened.keeper;
    keeper.restore(&recovered).unwrap();
    drop(keeper);
    let opened = open(&path);
    assert_eq!(opened.recovered.unwrap().labels().collect::<Vec<_>>(), ["name F1 one"]);
    assert_eq!(opened.notes, [""; 0]);
}

/// The check of a line as the log's documentation has it: the first four bytes of its BLAKE3 hash.
fn blake3_check(json: &str) -> String {
    blake3::hash(json.as_bytes()).to_hex()[..8].to_owned()
}

#[test]
fn a_newer_log_an_absurd_one_and_one_that_is_no_file_are_left_alone() {
    let (folder, path) = house();
    let json = "{\"log\":2}";
    fs::write(beside(&path, "log"), format!("{} {json}\nanything\n", blake3_check(json))).unwrap();
    assert!(open(&path).notes[0].contains("newer"));
    let absurd = fs::File::create(beside(&path, "log")).unwrap();
    absurd.set_len(40 << 20).unwrap();
    assert!(open(&path).notes[0].contains("longer than any log"));
    fs::create_dir(beside(&path, "log")).unwrap();
    assert!(open(&path).notes[0].contains("no regular file"));
    assert_eq!(
        names(folder.path()),
        ["house.ron", "house.ron.log.kept.1", "house.ron.log.kept.2", "house.ron.log.kept.3"]
    );
}

#[test]
fn a_log_that_another_program_touches_takes_nothing_more_until_the_save() {
    let (folder, path) = house();
    let log = beside(&path, "log");
    let mut desk = Desk::at(&path);
    desk.name("F1", "one").unwrap();
    let before = text(&desk.job);
    fs::remove_file(&log).unwrap();
    assert!(desk.name("F2", "two").unwrap_err().to_string().contains("took it away"));
    assert_eq!(text(&desk.job), before);
    desk.save();
    desk.name("F2", "two").unwrap();
    let mut longer = fs::read(&log).unwrap();
    longer.extend(b"x");
    fs::write(&log, longer).unwrap();
    assert!(desk.name("F3", "three").unwrap_err().to_string().contains("wrote to it"));
    desk.save();
    desk.name("F3", "three").unwrap();
    let last = text(&desk.job);
    drop(desk);
    assert_eq!(text(&open(&path).recovered.unwrap().job), last);
    assert_eq!(names(folder.path()), ["house.ron", "house.ron.log"]);
}

fn a_log() -> Vec<u8> {
    let (_folder, path) = house();
    let mut desk = Desk::at(&path);
    for (at, id) in ["F1", "F2", "F3", "F4"].into_iter().enumerate() {
        desk.name(id, &at.to_string()).unwrap();
    }
    desk.undo();
    drop(desk);
    fs::read(beside(&path, "log")).unwrap()
}

proptest! {
    #![proptest_config(ProptestConfig {
        cases: ProptestConfig::default().cases / 4, failure_persistence: None, ..ProptestConfig::default()
    })]

    #[test]
    fn whatever_stands_in_the_log_opens(bytes in prop::collection::vec(any::<u8>(), 0..300)) {
        let (_folder, path) = house();
        fs::write(beside(&path, "log"), bytes).unwrap();
        let opened = open(&path);
        prop_assert_eq!(opened.recovered, None);
        prop_assert_eq!(fs::read_to_string(&path).unwrap(), text(&starter()));
    }

    #[test]
    fn a_damaged_log_gives_a_beginning_of_what_was_done(
        at in any::<prop::sample::Index>(), length in 0..40_usize, with in prop::collection::vec(any::<u8>(), 0..40),
    ) {
        let mut bytes = a_log();
        let at = at.index(bytes.len());
        let end = (at + length).min(bytes.len());
        bytes.splice(at..end, with);
        let (_folder, path) = house();
        fs::write(beside(&path, "log"), bytes).unwrap();
        let opened = open(&path);
        let labels: Vec<String> =
            opened.recovered.iter().flat_map(studbay::store::Recovered::labels).collect();
        let all = ["name F1 0", "name F2 1", "name F3 2", "name F4 3"];
        prop_assert!(all.iter().zip(&labels).all(|(one, other)| one == other) && labels.len() <= all.len());
    }
}
