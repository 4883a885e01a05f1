//! A person who lays out a house: the real program in a terminal, driven by keys alone.

mod hand;
mod house;
mod large;
mod line;
mod lost;
mod odd;
mod others;
mod site;

use crate::keep::kill::eprintln;
use hand::Hand;
use std::fs;
use std::path::PathBuf;
use studbay::job::{Job, write};
use tempfile::TempDir;

/// A folder with a job in it.
fn folder_with(job: &str) -> (TempDir, PathBuf) {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("house.ron");
    fs::write(&path, job).unwrap();
    (folder, path)
}

fn text(job: &Job) -> String {
    write::to_string(job).unwrap()
}

#[test]
fn a_person_builds_a_house_by_keys_alone() {
    let (_folder, path) = folder_with(house::EMPTY);
    let tasks = house::tasks();
    let mut hand = Hand::ready(&path);
    for task in &tasks {
        hand.work(task).unwrap();
    }
    assert_eq!(hand.save_and_leave(), 0);
    hand.opened.is_restored("after a day's work");
    let expected = house::after(&tasks);
    let rooms: usize = expected.levels.iter().map(|level| level.rooms.len()).sum();
    let runs: usize = expected.boxes.iter().map(|wall_box| wall_box.feeds.len()).sum();
    let controls = expected.boxes.iter().flat_map(|wall_box| &wall_box.controls);
    let fixtures: usize = controls.flat_map(|control| &control.loops).map(|run| run.ceiling.len()).sum();
    assert_eq!((rooms, runs, fixtures), (10, 12, 60));
    assert_eq!(fs::read_to_string(&path).unwrap(), text(&expected));
    let bytes = hand.opened.raw.len();
    // Field by field, each thing in a form of its own, the same house took 1567 keys.
    assert!(hand.keys < 900, "{} keys", hand.keys);
    eprintln(&format!("{} edits with {} keys, {bytes} bytes on the line", tasks.len(), hand.keys));
}
