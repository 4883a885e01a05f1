//! Two people on site: one reads out, the other enters the readings of the two-story house.

use super::hand::Hand;
use super::{fs, text};
use crate::keep::kill::eprintln;
use crate::support::sample;
use studbay::job::Job;
use studbay::job::read;

/// The job in a file.
fn saved(path: &std::path::Path) -> Job {
    read::from_str("house", &fs::read_to_string(path).unwrap()).unwrap().0
}

#[test]
fn a_person_enters_the_readings_of_the_two_story_house() {
    let (_folder, path) = super::folder_with(&text(&sample("two-story").job));
    let mut hand = Hand::ready(&path);
    hand.press("0");
    hand.see("[0 Site]").unwrap();
    hand.press("Dpocket 18 MO\r");
    hand.see("from now on: pocket, MO").unwrap();
    let runs: Vec<String> =
        sample("two-story").job.boxes.iter().flat_map(|b| &b.feeds).map(|f| f.id.to_string()).collect();
    for (nth, run) in runs.iter().enumerate() {
        hand.press(&format!("/{run}\r"));
        // Foot marks, then the four conductors as they are read out; the pair parted and joined as expected. Each time
        // what is asked for next is waited for, as many keys at once with Enter among them are a paste.
        hand.answer("\r", &format!("{run}: foot marks at its start")).unwrap();
        hand.answer(&format!("{} {}\r", 900 - nth, 860 - nth), &format!("marks of {run}; u undoes it"))
            .unwrap();
        hand.answer("\r", &format!("{run} conductor red: ")).unwrap();
        for next in ["conductor orange", "conductor black", "conductor gray", "across from near"] {
            hand.answer("0.5\r", &format!("{run} {next}: ")).unwrap();
        }
        hand.answer("OL\r", &format!("{run} joined from near: ")).unwrap();
        hand.answer("\r", &format!("{run} insulation: ")).unwrap();
        // With the next key at once it would be Alt and that key.
        hand.answer("\x1b", "?:help").unwrap();
    }
    assert_eq!(hand.save_and_leave(), 0);
    let job = saved(&path);
    let feeds: Vec<_> = job.boxes.iter().flat_map(|b| &b.feeds).collect();
    assert!(feeds.iter().all(|feed| feed.readings.len() == 6), "each home run has its readings");
    assert!(feeds.iter().all(|feed| feed.site.pulled().is_some_and(|length| length.to_string() == "40 ft")));
    assert!(
        feeds.iter().all(|feed| feed
            .site
            .done
            .pulled
            .as_ref()
            .is_some_and(|done| done.by == "MO" && done.on.is_some()))
    );
    eprintln(&format!("{} home runs entered with {} keys", feeds.len(), hand.keys));
}
