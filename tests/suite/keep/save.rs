//! Saving: what a file keeps, and when it is not written.

use super::{Desk, beside, house, names, open, starter, text};
use crate::support::STARTER;
use std::fs;
use std::os::unix::fs::{MetadataExt, PermissionsExt, symlink};
use studbay::store::{KeepError, Lock, Underneath, Unsaved};

#[test]
fn a_save_keeps_mode_owner_and_links() {
    let (folder, path) = house();
    fs::create_dir(folder.path().join("other")).unwrap();
    let link = folder.path().join("other/link.ron");
    symlink("../house.ron", &link).unwrap();
    fs::set_permissions(&path, fs::Permissions::from_mode(0o640)).unwrap();
    let owned = std::os::unix::fs::chown(&path, Some(12), Some(34)).is_ok();
    let mut desk = Desk::at(&link);
    desk.name("F1", "one").unwrap();
    assert_eq!(fs::metadata(beside(&path, "log")).unwrap().mode() & 0o777, 0o640);
    desk.save();
    let data = fs::metadata(&path).unwrap();
    assert_eq!(data.mode() & 0o7777, 0o640);
    if owned {
        assert_eq!((data.uid(), data.gid()), (12, 34));
    }
    assert!(fs::symlink_metadata(&link).unwrap().is_symlink());
    assert_eq!(fs::read_to_string(&link).unwrap(), text(&desk.job));
    desk.keeper.close(Unsaved::None);
    assert_eq!(names(folder.path()), ["house.ron", "other"]);
    assert_eq!(names(&folder.path().join("other")), ["link.ron"]);
}

#[test]
fn comments_are_left_beside_once() {
    let (folder, path) = house();
    fs::write(&path, STARTER).unwrap();
    fs::set_permissions(&path, fs::Permissions::from_mode(0o600)).unwrap();
    let mut desk = Desk::at(&path);
    desk.name("F1", "one").unwrap();
    let orig = beside(&path, "orig");
    assert_eq!(desk.keeper.save(&desk.job).unwrap().orig.as_ref(), Some(&fs::canonicalize(&orig).unwrap()));
    assert_eq!(fs::read_to_string(&orig).unwrap(), STARTER);
    assert_eq!(fs::metadata(&orig).unwrap().mode() & 0o777, 0o600);
    desk.name("F2", "two").unwrap();
    assert_eq!(desk.keeper.save(&desk.job).unwrap().orig, None);
    desk.keeper.close(Unsaved::None);
    assert_eq!(names(folder.path()), ["house.ron", "house.ron.orig"]);
    // Comments written since are not lost for it either.
    fs::write(&path, format!("// second\n{}", text(&starter()))).unwrap();
    let mut desk = Desk::at(&path);
    desk.save();
    assert_eq!(names(folder.path()), ["house.ron", "house.ron.lock", "house.ron.orig", "house.ron.orig.2"]);
    assert_eq!(fs::read_to_string(&orig).unwrap(), STARTER);
}

#[test]
fn a_file_that_changed_underneath_is_not_written_over() {
    let (folder, path) = house();
    let mut desk = Desk::at(&path);
    desk.name("F1", "one").unwrap();
    assert_eq!(desk.keeper.underneath(), None);
    let theirs = text(&starter()).replace("New house", "Their house");
    fs::write(&path, &theirs).unwrap();
    assert_eq!(desk.keeper.underneath(), Some(Underneath::Written));
    let refused = desk.keeper.save(&desk.job).unwrap_err();
    assert!(matches!(refused, KeepError::Changed(_, Underneath::Written)), "{refused}");
    assert_eq!(fs::read_to_string(&path).unwrap(), theirs);
    // The step is still kept.
    assert!(beside(&path, "log").exists());

    // Saved over on purpose, what was there is left beside.
    desk.keeper.save_over(&desk.job).unwrap();
    assert_eq!(fs::read_to_string(&path).unwrap(), text(&desk.job));
    assert_eq!(fs::read_to_string(beside(&path, "theirs")).unwrap(), theirs);
    desk.history.saved();

    desk.name("F2", "two").unwrap();
    fs::remove_file(&path).unwrap();
    assert_eq!(desk.keeper.underneath(), Some(Underneath::Gone));
    let refused = desk.keeper.save(&desk.job).unwrap_err();
    assert!(matches!(refused, KeepError::Changed(_, Underneath::Gone)), "{refused}");
    assert!(!path.exists());
    // Saved beside under the very name.
    let (lock, notes) = desk.keeper.save_beside(&path, &desk.job).unwrap();
    assert!(notes.is_empty(), "{notes:?}");
    assert_eq!(fs::read_to_string(&path).unwrap(), text(&desk.job));
    assert!(matches!(lock, Lock::Held), "{lock:?}");
    desk.name("F3", "three").unwrap();
    desk.save();
    desk.keeper.close(Unsaved::None);
    assert_eq!(names(folder.path()), ["house.ron", "house.ron.theirs"]);
}

#[test]
fn a_reload_takes_the_file_as_it_is() {
    let (folder, path) = house();
    let mut desk = Desk::at(&path);
    desk.name("F1", "one").unwrap();
    let theirs = text(&starter()).replace("New house", "Their house");
    fs::write(&path, "broken").unwrap();
    assert!(desk.keeper.reload().is_err());
    desk.name("F2", "two").unwrap();
    fs::write(&path, &theirs).unwrap();
    let (job, _) = desk.keeper.reload().unwrap();
    assert_eq!(text(&job), theirs);
    let mut desk = Desk { keeper: desk.keeper, job, history: studbay::job::history::History::new() };
    assert_eq!(names(folder.path()), ["house.ron", "house.ron.lock"]);
    desk.name("F3", "three").unwrap();
    drop(desk);
    assert_eq!(open(&path).recovered.unwrap().labels().collect::<Vec<_>>(), ["name F3 three"]);
}

#[test]
fn saving_beside_takes_lock_and_log_along() {
    let (folder, path) = house();
    let first = Desk::at(&path);
    // A second person, who may only read, takes a copy of what they see.
    let opened = open(&path);
    let mut second =
        Desk { keeper: opened.keeper, job: opened.job, history: studbay::job::history::History::new() };
    let refused = second.keeper.save_beside(&path, &second.job).unwrap_err();
    assert!(refused.to_string().contains("is there already"), "{refused}");
    let other = folder.path().join("mine.ron");
    assert_eq!(second.keeper.save_beside(&other, &second.job).unwrap().0, Lock::Held);
    second.name("F1", "one").unwrap();
    assert_eq!(
        names(folder.path()),
        ["house.ron", "house.ron.lock", "mine.ron", "mine.ron.lock", "mine.ron.log"]
    );
    drop(first);
    drop(second);
    assert!(open(&other).recovered.is_some());
}

#[test]
fn what_killed_saves_left_is_swept_and_nothing_else() {
    let (folder, path) = house();
    for name in [
        ".house.ron.999999999-0.tmp",
        ".house.ron.999999999-12.tmp",
        ".house.ron.999999999.tmp",
        ".house.ron.1-0.tmp",
        ".house.ron.swp",
        ".other.ron.999999999-0.tmp",
    ] {
        fs::write(folder.path().join(name), "x").unwrap();
    }
    Desk::at(&path).keeper.close(Unsaved::None);
    assert_eq!(
        names(folder.path()),
        [
            ".house.ron.1-0.tmp",
            ".house.ron.999999999.tmp",
            ".house.ron.swp",
            ".other.ron.999999999-0.tmp",
            "house.ron"
        ]
    );
}

#[test]
fn a_pipe_is_no_job_to_edit() {
    let (folder, _) = house();
    let path = folder.path().join("pipe.ron");
    rustix::fs::mknodat(rustix::fs::CWD, &path, rustix::fs::FileType::Fifo, 0o600.into(), 0).unwrap();
    let writer = std::thread::spawn({
        let path = path.clone();
        move || fs::write(path, STARTER)
    });
    let opened = open(&path);
    writer.join().unwrap().unwrap();
    assert!(matches!(opened.lock, Lock::ReadOnly(_)));
    assert_eq!(opened.job, starter());
}
