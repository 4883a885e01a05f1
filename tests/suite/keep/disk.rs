//! Disks that are full, folders that can't be written, and the order in which things reach the disk.
//!
//! What needs the right to mount, or strace, is passed over where that is not there, and says so.

use super::kill::eprintln;
use super::{Desk, beside, house, names, open, starter, text};
use serde_json::json;
use std::fs;
use std::os::unix::fs::PermissionsExt;
use std::path::{Path, PathBuf};
use std::process::{Command, Output};
use studbay::job::edit::{Edit, apply};
use studbay::job::history::Refused;
use studbay::job::{Kind, Subject};
use studbay::store::{KeepError, Lock, Unsaved};
use tempfile::TempDir;

/// A small disk of its own.
pub(crate) struct Disk {
    pub(crate) folder: TempDir,
}

impl Disk {
    /// Of so many KiB; `None`, and a notice, where mounting is not allowed.
    pub(crate) fn new(kib: usize) -> Option<Self> {
        let folder = tempfile::tempdir().unwrap();
        let size = format!("size={kib}k");
        let mount =
            Command::new("mount").args(["-t", "tmpfs", "-o", &size, "none"]).arg(folder.path()).output();
        if mount.is_ok_and(|mount| mount.status.success()) {
            return Some(Self { folder });
        }
        eprintln("SKIPPED: no right to mount a small disk, so a full one is not tried");
        None
    }

    fn house(&self) -> PathBuf {
        let path = self.folder.path().join("house.ron");
        fs::write(&path, text(&starter())).unwrap();
        path
    }

    fn remount(&self, how: &str) {
        let done = Command::new("mount").args(["-o", how]).arg(self.folder.path()).status().unwrap();
        assert!(done.success());
    }

    /// Takes all room but so many bytes.
    pub(crate) fn fill(&self) -> PathBuf {
        let path = self.folder.path().join("filler");
        let mut block = 4096;
        let mut filler = fs::File::create(&path).unwrap();
        while block > 0 {
            if std::io::Write::write_all(&mut filler, &vec![1; block]).is_err() {
                block /= 2;
            }
        }
        path
    }
}

impl Drop for Disk {
    fn drop(&mut self) {
        let _ = Command::new("umount").arg("-l").arg(self.folder.path()).status();
    }
}

#[test]
fn on_a_full_disk_the_step_is_refused_and_nothing_is_lost() {
    let Some(small) = Disk::new(128) else { return };
    let path = small.house();
    let old = fs::read_to_string(&path).unwrap();
    let mut desk = Desk::at(&path);
    desk.name("F1", "one").unwrap();
    let filler = small.fill();
    // The log's last block has room for some more steps; then it is full.
    let mut kept = 0;
    let refused = loop {
        match desk.name("F2", &format!("{kept} {}", "x".repeat(200))) {
            Ok(()) => kept += 1,
            Err(refused) => break refused,
        }
        assert!(kept < 1000);
    };
    assert!(matches!(refused, Refused::Keep(KeepError::Log { .. })), "{refused}");
    assert!(refused.to_string().contains("No space left"), "{refused}");
    let before = text(&desk.job);
    assert!(before.contains(&format!("\"{} xxx", kept - 1)));
    assert!(desk.name("F3", &"y".repeat(9000)).is_err());
    assert_eq!(text(&desk.job), before);
    // Nothing half-written stands in the log.
    let log = fs::read_to_string(beside(&path, "log")).unwrap();
    assert!(log.ends_with('\n'));
    assert_eq!(log.lines().count(), 2 + 1 + kept);
    // A save needs room too: refused, the old file whole, nothing left over.
    let refused = desk.keeper.save(&desk.job).unwrap_err();
    assert!(matches!(refused, KeepError::Store(_)), "{refused}");
    assert_eq!(fs::read_to_string(&path).unwrap(), old);
    assert_eq!(names(small.folder.path()), ["filler", "house.ron", "house.ron.lock", "house.ron.log"]);
    drop(desk);
    let opened = open(&path);
    let recovered = opened.recovered.unwrap();
    assert_eq!(text(&recovered.job), before);
    // Restored on the full disk, saved when there is room again.
    let mut keeper = opened.keeper;
    keeper.restore(&recovered).unwrap();
    let mut desk = Desk { keeper, job: recovered.job, history: recovered.history };
    fs::remove_file(filler).unwrap();
    desk.name("F4", "last").unwrap();
    desk.save();
    desk.keeper.close(Unsaved::None);
    assert_eq!(names(small.folder.path()), ["house.ron"]);
}

#[test]
fn a_first_step_that_finds_no_room_leaves_no_log() {
    let Some(small) = Disk::new(64) else { return };
    let path = small.house();
    let mut desk = Desk::at(&path);
    let filler = small.fill();
    assert!(desk.name("F1", "one").is_err());
    assert!(!beside(&path, "log").exists());
    fs::remove_file(filler).unwrap();
    desk.name("F1", "one").unwrap();
    drop(desk);
    assert_eq!(open(&path).recovered.unwrap().labels().count(), 1);
}

#[test]
fn in_a_read_only_folder_a_job_can_be_read_and_what_waits_be_seen() {
    let Some(small) = Disk::new(128) else { return };
    let path = small.house();
    let mut desk = Desk::at(&path);
    desk.name("F1", "one").unwrap();
    drop(desk);
    small.remount("remount,ro");
    let before = names(small.folder.path());
    let opened = open(&path);
    assert!(matches!(opened.lock, Lock::ReadOnly(_)), "{:?}", opened.lock);
    let recovered = opened.recovered.unwrap();
    let mut keeper = opened.keeper;
    keeper.restore(&recovered).unwrap();
    let mut desk = Desk { keeper, job: recovered.job, history: recovered.history };
    let refused = desk.name("F2", "two").unwrap_err();
    assert!(matches!(refused, Refused::Keep(KeepError::ReadOnly(_))), "{refused}");
    // It can be taken elsewhere.
    let elsewhere = tempfile::tempdir().unwrap();
    let other = elsewhere.path().join("house.ron");
    assert_eq!(desk.keeper.save_beside(&other, &desk.job).unwrap().0, Lock::Held);
    desk.name("F2", "two").unwrap();
    desk.save();
    desk.keeper.close(Unsaved::None);
    assert!(fs::read_to_string(&other).unwrap().contains("two"));
    // Still there for who comes when the folder can be written again.
    assert_eq!(names(small.folder.path()), before);
    small.remount("remount,rw");
    assert_eq!(open(&path).recovered.unwrap().labels().collect::<Vec<_>>(), ["name F1 one"]);
}

/// Lets nothing be made in a folder, or lets it again; false where that can't be had.
fn close_folder(folder: &Path, closed: bool) -> bool {
    if rustix::process::geteuid().is_root() {
        // Modes mean nothing to root.
        let flag = if closed { "+i" } else { "-i" };
        return Command::new("chattr")
            .arg(flag)
            .arg(folder)
            .output()
            .is_ok_and(|chattr| chattr.status.success());
    }
    fs::set_permissions(folder, fs::Permissions::from_mode(if closed { 0o555 } else { 0o755 })).is_ok()
}

#[test]
fn a_folder_that_becomes_read_only_refuses_steps_and_saves() {
    let (folder, path) = house();
    let old = fs::read_to_string(&path).unwrap();
    let mut desk = Desk::at(&path);
    if !close_folder(folder.path(), true) {
        eprintln("SKIPPED: a folder can't be closed here, so one that becomes read-only is not tried");
        return;
    }
    let refused = desk.name("F1", "one");
    let unsaved = desk.keeper.save(&desk.job);
    assert!(close_folder(folder.path(), false));
    assert!(matches!(refused, Err(Refused::Keep(KeepError::Log { .. }))), "{refused:?}");
    assert!(matches!(unsaved, Err(KeepError::Store(_))), "{unsaved:?}");
    assert_eq!(fs::read_to_string(&path).unwrap(), old);
    desk.name("F1", "one").unwrap();
    desk.save();
}

const ORDER: &str = "STUDBAY_ORDER";

#[test]
#[ignore = "watched by the test below, which starts it itself"]
fn one_edit_and_a_save() {
    let Some(path) = std::env::var_os(ORDER).map(PathBuf::from) else { return };
    let mut desk = Desk::at(&path);
    desk.name("F1", "one").unwrap();
    desk.keeper.sync().unwrap();
    desk.name("F2", "two").unwrap();
    eprintln("two steps");
    desk.save();
    eprintln("saved");
    desk.keeper.close(Unsaved::None);
}

/// Starts the test above under strace with these arguments.
fn watched(path: &Path, strace: &[&str]) -> Output {
    Command::new("strace")
        .args(["-f", "-s", "0"])
        .args(strace)
        .arg(std::env::current_exe().unwrap())
        .args(["--exact", "keep::disk::one_edit_and_a_save", "--ignored", "--nocapture", "--test-threads=1"])
        .env(ORDER, path)
        .output()
        .unwrap()
}

pub(super) fn can_trace() -> bool {
    let traced = Command::new("strace").args(["-o", "/dev/null", "true"]).output();
    let can = traced.is_ok_and(|traced| traced.status.success());
    if !can {
        eprintln("SKIPPED: strace is not there or may not trace, so the order of calls is not watched");
    }
    can
}

/// The calls that leave something behind.
const CALLS: &[&str] =
    &["write", "ftruncate", "fsync", "fdatasync", "/^rename.*", "/^unlink.*", "/^fchmod.*", "/^fchown.*"];

#[test]
fn killed_before_any_call_the_file_is_the_old_or_the_new_one() {
    if !can_trace() {
        return;
    }
    let old = text(&starter());
    let new = [("F1", "one"), ("F2", "two")].iter().fold(starter(), |mut job, (id, name)| {
        let subject = Subject::new(Kind::Fixture, id);
        apply(&mut job, Edit::Set { subject, field: "name".into(), value: json!(name) }).unwrap();
        job
    });
    let new = text(&new);
    let (mut killed, mut old_files, mut new_files) = (0, 0, 0);
    let (mut call, mut nth) = (0, 1);
    // Each call has a count of its own.
    while let Some(name) = CALLS.get(call) {
        let (_folder, path) = house();
        let trace = format!("trace={name}");
        let inject = format!("inject={name}:signal=KILL:when={nth}");
        let output = watched(&path, &["-e", &trace, "-e", &inject, "-o", "/dev/null"]);
        if output.status.success() {
            (call, nth) = (call + 1, 1);
            continue;
        }
        nth += 1;
        killed += 1;
        let said = String::from_utf8_lossy(&output.stderr);
        let file = fs::read_to_string(&path).unwrap();
        assert!(file == old || file == new, "killed before {name}:\n{file}");
        assert!(file == new || !said.contains("saved"), "killed before {name}: the save was lost");
        old_files += usize::from(file == old);
        new_files += usize::from(file == new);
        let opened = open(&path);
        assert_eq!((opened.lock, opened.notes), (Lock::Held, Vec::new()), "killed before {name}");
        let job = opened.recovered.map_or(opened.job, |recovered| recovered.job);
        assert!(text(&job) == new || !said.contains("two steps"), "killed before {name}: a step was lost");
    }
    eprintln(&format!(
        "killed before each of {killed} calls: {old_files} times the old file, {new_files} the new"
    ));
    assert!(killed > 15 && old_files > 8 && new_files > 3);
}

/// What the system was asked to do with files of the job, as `call name`, in order.
fn calls(trace: &Path) -> Vec<String> {
    let text = fs::read_to_string(trace).unwrap();
    let mut calls = Vec::new();
    for line in text.lines().filter(|line| line.contains("house.ron") || line.contains("/job>")) {
        let line = line.trim_start_matches(|c: char| c.is_ascii_digit() || c == ' ');
        let call = line.split('(').next().unwrap_or_default();
        // The last name in the line is the one that is acted on: the target of a rename.
        let name = ["house.ron.log", "house.ron.lock", ".tmp", "house.ron", "/job>"]
            .into_iter()
            .filter_map(|name| line.rfind(name).map(|at| (at + name.len(), name)))
            .max()
            .map_or("", |(_, name)| name);
        calls.push(format!("{call} {name}"));
    }
    calls
}

#[test]
fn everything_reaches_the_disk_in_the_order_that_a_power_loss_needs() {
    if !can_trace() {
        return;
    }
    let folder = tempfile::tempdir().unwrap();
    let job = folder.path().join("job");
    fs::create_dir(&job).unwrap();
    let path = job.join("house.ron");
    fs::write(&path, text(&starter())).unwrap();
    let trace = folder.path().join("trace");
    let watch = "trace=write,fsync,fdatasync,/rename.*,/unlink.*";
    let output = watched(&path, &["-y", "-e", watch, "-o", &trace.display().to_string()]);
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stdout));
    assert_eq!(
        calls(&trace),
        [
            "write house.ron.lock",
            // The first step, and its sync with the name of the log.
            "write house.ron.log",
            "fdatasync house.ron.log",
            "fsync /job>",
            "write house.ron.log",
            // The new file is whole on the disk before its name is, and the log says so before that.
            "write .tmp",
            "fsync .tmp",
            "write house.ron.log",
            "fdatasync house.ron.log",
            "rename house.ron",
            "fsync /job>",
            "unlink house.ron.log",
            "unlink house.ron.lock",
        ]
    );
}
