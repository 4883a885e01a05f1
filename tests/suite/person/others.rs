//! Two people, or another program, at one job.

use super::hand::Hand;
use super::{folder_with, house, text};
use std::fs;
use std::path::PathBuf;
use studbay::job::Job;

#[test]
fn a_second_person_sees_who_holds_the_job_and_only_reads() {
    let (_folder, path) = folder_with(house::EMPTY);
    let tasks = house::rooms();
    let mut anna = Hand::ready(&path);
    anna.work(&tasks[0]).unwrap();
    let mut ben = Hand::of("ben", &path);
    ben.see("read only: anna on ").unwrap();
    ben.see("(read only)").unwrap();
    for key in ["a", "A", "e", "x"] {
        ben.answer("2", "[2 Loading]").unwrap();
        ben.answer("1", "[1 Runs]").unwrap();
        ben.answer(key, "this job can only be read: anna on ").unwrap();
    }
    // What anna saves, ben sees by reading again.
    anna.work(&tasks[1]).unwrap();
    assert_eq!(anna.save_and_leave(), 0);
    let saved = text(&house::after(&tasks[..2]));
    assert_eq!(fs::read_to_string(&path).unwrap(), saved);
    ben.answer("r", "read again").unwrap();
    ben.answer("+", "Utility").unwrap();
    ben.answer("s", "reading only").unwrap();
    ben.press("q");
    assert_eq!(ben.opened.ended(), 0);
    assert_eq!(fs::read_to_string(&path).unwrap(), saved);
}

/// A session with a room added while another program wrote the file; it stands before the question.
fn written_underneath() -> (tempfile::TempDir, PathBuf, Hand, Job, String) {
    let tasks = house::rooms();
    let (folder, path) = folder_with(&text(&house::after(&tasks[..1])));
    let mut hand = Hand::ready(&path);
    hand.work(&tasks[1]).unwrap();
    let mut theirs = house::after(&tasks[..1]);
    theirs.project.title = "Written by another".into();
    let theirs = text(&theirs);
    fs::write(&path, &theirs).unwrap();
    hand.answer("s", "was changed by another program").unwrap();
    hand.see("w:save beside it").unwrap();
    (folder, path, hand, house::after(&tasks[..2]), theirs)
}

#[test]
fn a_file_changed_underneath_is_saved_beside() {
    let (folder, path, mut hand, ours, theirs) = written_underneath();
    // The question can be left, and asks again.
    hand.press("\x1b");
    hand.opened.until("w:save beside it", false);
    hand.answer("s", "w:save beside it").unwrap();
    hand.answer("w", "saved ").unwrap();
    hand.press("q");
    assert_eq!(hand.opened.ended(), 0);
    assert_eq!(fs::read_to_string(&path).unwrap(), theirs);
    assert_eq!(fs::read_to_string(folder.path().join("house-2.ron")).unwrap(), text(&ours));
}

#[test]
fn a_file_changed_underneath_is_read_again() {
    let (_folder, path, mut hand, _, theirs) = written_underneath();
    let read = hand.answer("r", "Written by another");
    assert_eq!(read, Ok(()), "{}", hand.opened.text());
    assert!(!hand.shows("not saved"), "{}", hand.opened.text());
    hand.press("q");
    assert_eq!(hand.opened.ended(), 0);
    assert_eq!(fs::read_to_string(&path).unwrap(), theirs);
}

#[test]
fn a_file_changed_underneath_is_saved_over() {
    let (_folder, path, mut hand, ours, _) = written_underneath();
    hand.answer("o", "saved ").unwrap();
    hand.press("q");
    assert_eq!(hand.opened.ended(), 0);
    assert_eq!(fs::read_to_string(&path).unwrap(), text(&ours));
}

#[test]
fn what_the_cursor_stands_on_may_go() {
    let tasks = house::hesitant_tasks();
    let last = tasks.len() - 1;
    let undo = (0..=last).find(|&at| tasks[at].done.starts_with("undone")).unwrap();
    let begin = (0..undo).rev().find(|&at| tasks[at].can_begin).unwrap();
    let (_folder, path) = folder_with(&text(&house::after(&tasks[..begin])));
    let mut hand = Hand::ready(&path);
    for task in &tasks[begin..undo + 2] {
        assert_eq!(hand.work(task), Ok(()), "{}", hand.opened.text());
    }
    hand.answer("x", "delete ceiling box").unwrap();
    hand.answer("u", "undone: delete").unwrap();
    assert_eq!(hand.save_and_leave(), 0);
    assert_eq!(fs::read_to_string(&path).unwrap(), text(&house::after(&tasks[..undo + 2])));
}

#[test]
fn files_are_named_from_home_as_in_a_shell() {
    let tasks = house::tasks();
    let (folder, path) = folder_with(house::EMPTY);
    let other = folder.path().join("other.ron");
    fs::write(&other, text(&house::after(&tasks))).unwrap();
    let home = folder.path().display().to_string();
    let mut hand = Hand::at(crate::pty::command(&path.display().to_string(), &[("HOME", &home)]));
    hand.see("[1 Runs]").unwrap();
    hand.answer("t", "take over from the job file:").unwrap();
    hand.answer("~/other.ron\r", "c:new entries").unwrap();
    hand.answer("c", "take over catalogue entries").unwrap();
    hand.answer("W", "write the table of rooms to:").unwrap();
    hand.answer("~/rooms.csv\r", "wrote the table of rooms to ").unwrap();
    assert!(folder.path().join("rooms.csv").exists());
    // It is there now, and is not written over.
    hand.answer("W", "write the table of rooms to:").unwrap();
    hand.answer("~/rooms.csv\r", "nothing written: ").unwrap();
    fs::write(folder.path().join("more.csv"), "level,room,area\nGround floor,Den,120\n").unwrap();
    hand.answer("R", "read the table of rooms from:").unwrap();
    hand.answer("~/more.csv\r", "y:make it").unwrap();
    hand.answer("y", "; u undoes it").unwrap();
    hand.answer("R", "read the table of rooms from:").unwrap();
    hand.answer("~/gone.csv\r", "nothing read: ").unwrap();
    assert_eq!(hand.save_and_leave(), 0);
    let saved = fs::read_to_string(&path).unwrap();
    assert!(saved.contains("Den") && saved.contains("psu-24"), "{saved}");
}
