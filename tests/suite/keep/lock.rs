//! Who has a job open.

use super::{Desk, beside, house, names, open, text};
use std::fs;
use studbay::store::{KeepError, Keeper, Lock, OpenError, Unsaved};

#[test]
fn the_second_to_open_reads_only_and_is_told_who_and_since_when() {
    let (folder, path) = house();
    let mut first = Desk::at(&path);
    first.name("F1", "one").unwrap();
    let mut second = open(&path);
    let Lock::HeldBy(Some(holder)) = &second.lock else { panic!("{:?}", second.lock) };
    assert_eq!(u32::try_from(holder.pid).unwrap(), std::process::id());
    assert!(!holder.user.is_empty() && !holder.host.is_empty());
    assert!(holder.to_string().contains(", since 20"), "{holder}");
    // The log of the first is at work and nothing to restore.
    assert_eq!(second.recovered, None);
    let refused = second.keeper.save(&second.job).unwrap_err();
    assert!(matches!(&refused, KeepError::ReadOnly(why) if why.contains(&holder.user)), "{refused}");
    second.keeper.close(Unsaved::Drop);
    assert_eq!(names(folder.path()), ["house.ron", "house.ron.lock", "house.ron.log"]);
    assert!(matches!(Keeper::open_to_write(&path), Err(OpenError::NotNow { .. })));
    first.save();
    first.keeper.close(Unsaved::None);
    Desk::at(&path);
}

#[test]
fn a_command_does_not_write_over_what_waits() {
    let (_folder, path) = house();
    let mut desk = Desk::at(&path);
    desk.name("F1", "one").unwrap();
    drop(desk);
    let refused = Keeper::open_to_write(&path).unwrap_err();
    assert!(refused.to_string().contains("restore or drop"), "{refused}");
    open(&path).keeper.drop_recovered();
    let mut opened = Keeper::open_to_write(&path).unwrap();
    opened.job.project.title = "By a command".into();
    opened.keeper.save(&opened.job).unwrap();
    opened.keeper.close(Unsaved::None);
    assert_eq!(fs::read_to_string(&path).unwrap(), text(&opened.job));
}

#[test]
fn a_dead_lock_is_cleared_unasked_whatever_the_clock_says() {
    for (left, note) in [
        (String::new(), false),
        ("not ours at all".to_owned(), false),
        (holder(&rustix_host(), 1, "2999-01-01T00:00:00Z"), false),
        (holder(&rustix_host(), 999_999_999, "1970-01-01T00:00:00Z"), false),
        (holder("elsewhere", 1, "2001-01-01T00:00:00Z"), true),
    ] {
        let (folder, path) = house();
        fs::write(beside(&path, "lock"), &left).unwrap();
        let opened = open(&path);
        assert_eq!(opened.lock, Lock::Held, "{left}");
        assert_eq!(opened.notes.len(), usize::from(note), "{:?}", opened.notes);
        assert!(matches!(open(&path).lock, Lock::HeldBy(Some(_))));
        opened.keeper.close(Unsaved::None);
        assert_eq!(names(folder.path()), ["house.ron"]);
    }
}

fn holder(host: &str, pid: i32, since: &str) -> String {
    serde_json::json!({"user": "ann", "host": host, "pid": pid, "since": since}).to_string()
}

fn rustix_host() -> String {
    rustix::system::uname().nodename().to_string_lossy().into_owned()
}

#[test]
fn a_lock_that_cannot_be_had_leaves_the_job_to_read() {
    let (_folder, path) = house();
    fs::create_dir(beside(&path, "lock")).unwrap();
    let mut opened = open(&path);
    assert!(matches!(opened.lock, Lock::ReadOnly(_)), "{:?}", opened.lock);
    assert!(matches!(opened.keeper.save(&opened.job), Err(KeepError::ReadOnly(_))));
}

#[test]
fn links_lead_to_one_lock() {
    let (folder, path) = house();
    let link = folder.path().join("link.ron");
    std::os::unix::fs::symlink("house.ron", &link).unwrap();
    let _first = Desk::at(&link);
    assert!(matches!(open(&path).lock, Lock::HeldBy(_)));
}
