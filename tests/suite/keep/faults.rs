//! A system that refuses: folders without locks, disks that fail, clocks that go back. Each is said, nothing is lost.
//!
//! strace makes the calls fail; where it is not there or may not trace, that is passed over and said.

use super::disk::can_trace;
use super::kill::eprintln;
use super::{Desk, beside, house, names, open, starter, text};
use serde_json::json;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;
use std::time::{Duration, SystemTime};
use studbay::job::Kind;
use studbay::job::edit::apply;
use studbay::job::history::History;
use studbay::store::{Keeper, Lock, Unsaved};

const AT_WORK: &str = "STUDBAY_AT_WORK";

/// Opens, makes two steps, saves, and says how each went.
#[test]
#[ignore = "watched by the tests below, which start it themselves"]
fn somebody_at_work() {
    let Some(path) = std::env::var_os(AT_WORK).map(PathBuf::from) else { return };
    let mut opened = Keeper::open(&path).unwrap();
    let held = opened.lock == Lock::Held;
    eprintln(&format!("@opened {held} {}", opened.notes.join("; ")));
    let mut history = History::new();
    for (id, name) in [("F1", "one"), ("F2", "two")] {
        let edit = crate::random_edits::set(Kind::Fixture, id, "name", json!(name));
        match history.perform(&mut opened.job, name, edit, |step| opened.keeper.record(step)) {
            Ok(()) => eprintln("@did"),
            Err(refused) => eprintln(&format!("@refused {refused}")),
        }
        if let Err(unsafe_) = opened.keeper.sync() {
            eprintln(&format!("@unsynced {unsafe_}"));
        }
    }
    match opened.keeper.save(&opened.job) {
        Ok(_) => {
            history.saved();
            eprintln("@saved");
        }
        Err(error) => eprintln(&format!("@unsaved {error}")),
    }
    opened.keeper.close(if history.changed() { Unsaved::Keep } else { Unsaved::None });
}

/// What is said by the work above while these calls fail.
fn at_work(path: &Path, failing: &str) -> Vec<String> {
    let calls = failing.split(':').next().unwrap_or_default();
    let output = Command::new("strace")
        .args(["-f", "-o", "/dev/null", "-e", &format!("trace={calls}"), "-e", &format!("inject={failing}")])
        .arg(std::env::current_exe().unwrap())
        .args(["--exact", "keep::faults::somebody_at_work", "--ignored", "--nocapture", "--test-threads=1"])
        .env(AT_WORK, path)
        .output()
        .unwrap();
    let said = String::from_utf8_lossy(&output.stderr).into_owned();
    assert!(output.status.success(), "{failing}: {said}");
    said.lines().filter_map(|line| line.strip_prefix('@')).map(str::to_owned).collect()
}

/// The text of the job after so many of the two steps.
fn after(steps: usize) -> String {
    let mut job = starter();
    for (id, name) in [("F1", "one"), ("F2", "two")].into_iter().take(steps) {
        apply(&mut job, crate::random_edits::set(Kind::Fixture, id, "name", json!(name))).unwrap();
    }
    text(&job)
}

#[test]
fn in_a_network_folder_without_locks_work_goes_on_and_the_danger_is_said() {
    if !can_trace() {
        return;
    }
    for error in ["ENOLCK", "EOPNOTSUPP", "ENOSYS", "EINVAL"] {
        let (folder, path) = house();
        let said = at_work(&path, &format!("flock:error={error}"));
        assert!(said[0].starts_with("opened true") && said[0].contains("has no locks"), "{error}: {said:?}");
        assert!(said[0].contains("see that nobody else edits this job"), "{error}: {said:?}");
        assert_eq!(said[1..], ["did", "did", "saved"], "{error}");
        assert_eq!(fs::read_to_string(&path).unwrap(), after(2));
        assert_eq!(names(folder.path()), ["house.ron"], "{error}");
    }
}

#[test]
fn a_disk_that_fails_is_said_and_the_old_file_and_the_steps_are_kept() {
    if !can_trace() {
        return;
    }
    for (failing, word) in [
        ("fsync:error=EIO", "Input/output error"),
        ("fsync:error=ENOSPC", "No space left"),
        ("fsync:error=EDQUOT", "uota"),
        ("/^rename.*:error=EACCES", "Permission denied"),
        ("/^rename.*:error=EROFS", "Read-only"),
        ("/^rename.*:error=ESTALE", "tale"),
    ] {
        let (_folder, path) = house();
        let said = at_work(&path, failing);
        assert_eq!(said[..3], ["opened true ", "did", "did"], "{failing}");
        let unsaved = said.last().unwrap();
        assert!(unsaved.starts_with("unsaved ") && unsaved.contains("house.ron"), "{failing}: {said:?}");
        assert!(
            unsaved.contains(word) || said.concat().contains(word) || !unsaved.contains("os error"),
            "{said:?}"
        );
        assert_eq!(fs::read_to_string(&path).unwrap(), after(0), "{failing}");
        let recovered = open(&path).recovered.unwrap();
        assert_eq!(text(&recovered.job), after(2), "{failing}");
    }
}

#[test]
fn a_log_that_does_not_reach_the_disk_is_said_and_the_save_helps() {
    if !can_trace() {
        return;
    }
    let (_folder, path) = house();
    let said = at_work(&path, "fdatasync:error=EIO");
    assert_eq!(said[..2], ["opened true ", "did"]);
    assert!(said[2].starts_with("unsynced") && said[2].contains("house.ron.log"), "{said:?}");
    assert!(said[2].contains("not safe on the disk"), "{said:?}");
    // What cannot be kept is not done; what was done is saved.
    assert!(said[3].starts_with("refused"), "{said:?}");
    assert_eq!(said.last().unwrap(), "saved");
    assert_eq!(fs::read_to_string(&path).unwrap(), after(1));
}

/// Files that are of tomorrow, as after a clock went back, or of long ago.
#[test]
fn a_clock_that_goes_back_loses_nothing_and_hides_nothing() {
    for clock in
        [SystemTime::UNIX_EPOCH + Duration::from_secs(1), SystemTime::now() + Duration::from_secs(1 << 31)]
    {
        let (_folder, path) = house();
        let stamp =
            |path: &Path| fs::File::options().write(true).open(path).unwrap().set_modified(clock).unwrap();
        let mut desk = Desk::at(&path);
        desk.name("F1", "one").unwrap();
        desk.keeper.sync().unwrap();
        for file in [&path, &beside(&path, "log"), &beside(&path, "lock")] {
            stamp(file);
        }
        // The bytes decide, not the time.
        desk.name("F2", "two").unwrap();
        stamp(&beside(&path, "log"));
        drop(desk);
        let opened = open(&path);
        assert_eq!((opened.lock, opened.notes), (Lock::Held, Vec::new()));
        let recovered = opened.recovered.unwrap();
        assert_eq!(text(&recovered.job), after(2));
        let mut keeper = opened.keeper;
        keeper.restore(&recovered).unwrap();
        keeper.save(&recovered.job).unwrap();
        stamp(&path);
        keeper.save(&recovered.job).unwrap();
        // Another's write is seen though its time is the same or earlier.
        fs::write(&path, after(0)).unwrap();
        stamp(&path);
        assert!(keeper.underneath().is_some() && keeper.save(&recovered.job).is_err());
    }
}
