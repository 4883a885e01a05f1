//! The program is killed while a person works: what they saw done is there when they come back.

use super::hand::{Hand, Task};
use super::{folder_with, house, text};
use crate::keep::disk::Disk;
use crate::keep::kill::eprintln;
use rustix::process::{Pid, Signal, kill_process};
use std::fs;
use std::path::Path;
use std::time::Duration;

/// How many moments are tried of each signal, where that is said for a long run.
fn asked_for() -> Option<u32> {
    std::env::var("STUDBAY_PERSON_KILLS").ok().and_then(|count| count.parse().ok())
}

/// The most edits a person sees done before the end comes; one more is under way then.
const MOST_SEEN: u32 = 6;

/// The longest that the edit under way gets, in milliseconds: from before its first key to after its last.
const LONGEST: u32 = 120;

/// Numbers that differ from run to run: moments depend on the machine anyway.
pub(super) struct Random(u32);

impl Random {
    pub(super) fn new(salt: u32) -> Self {
        Self((std::process::id() ^ salt).wrapping_mul(2_654_435_761))
    }

    pub(super) fn below(&mut self, most: u32) -> u32 {
        self.0 = self.0.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
        (self.0 >> 8) % most
    }
}

/// Goes on with tasks until a signal comes after a moment, and gives how many were seen done.
fn signalled_after(moment: Duration, signal: Signal, hand: &mut Hand, tasks: &[Task]) -> usize {
    let process = Pid::from_raw(i32::try_from(hand.opened.child.process_id().unwrap()).unwrap()).unwrap();
    let end = std::thread::spawn(move || {
        std::thread::sleep(moment);
        kill_process(process, signal).unwrap();
    });
    let seen = tasks.iter().take_while(|task| hand.work(task).is_ok()).count();
    end.join().unwrap();
    seen
}

/// Goes on with tasks until the program is killed after a moment and is gone, and gives how many were seen done.
pub(super) fn killed_after(moment: Duration, hand: &mut Hand, tasks: &[Task]) -> usize {
    let seen = signalled_after(moment, Signal::KILL, hand, tasks);
    assert_ne!(hand.opened.ended(), 0, "killed");
    seen
}

/// A person works from somewhere in the house on and sees so many edits done, however long that takes; in the midst of
/// the next the program is ended from outside. They come back and restore. Gives how many edits were seen, and whether
/// one more was kept than was seen.
fn ended_by(signal: Signal, tasks: &[Task], wanted: usize, random: &mut Random) -> (usize, bool) {
    let begins: Vec<usize> = (0..tasks.len()).filter(|&at| tasks[at].can_begin).collect();
    let begins: Vec<usize> = begins.into_iter().filter(|begin| begin + wanted < tasks.len()).collect();
    let begin = begins[random.below(u32::try_from(begins.len()).unwrap()) as usize];
    let (_folder, path) = folder_with(&text(&house::after(&tasks[..begin])));
    let mut hand = Hand::ready(&path);
    for task in &tasks[begin..begin + wanted] {
        assert_eq!(hand.work(task), Ok(()), "it ended by itself:\n{}", hand.opened.text());
    }
    let moment = Duration::from_millis(u64::from(random.below(LONGEST)));
    let seen = wanted + signalled_after(moment, signal, &mut hand, &tasks[begin + wanted..]);
    let code = hand.opened.ended();
    if signal == Signal::KILL {
        assert_ne!(code, 0, "killed");
    } else {
        assert_eq!(code, 0, "{signal:?}");
        hand.opened.is_restored(&format!("{signal:?}"));
    }
    // An undo that was kept and not seen takes the last one from the list.
    let undoes = tasks.get(begin + seen).is_some_and(|task| task.done.starts_with("undone"));
    let last = tasks[begin..begin + seen].last().filter(|_| !undoes).map(|task| task.done.as_str());
    come_back(&path, last);
    // What was under way when the end came may be there too.
    let now = fs::read_to_string(&path).unwrap();
    let whole = |steps: usize| text(&house::after(&tasks[..(begin + steps).min(tasks.len())]));
    let is = |steps: usize| now == whole(steps);
    assert!(is(seen) || is(seen + 1), "from {begin} on {seen} were seen, and the file is\n{now}");
    (seen, !is(seen))
}

/// Opens the job again, restores what is offered, saves and leaves.
fn come_back(path: &Path, last_seen: Option<&str>) {
    let mut again = Hand::open(path);
    if again.sees_first_of("r:restore it", "?:help").unwrap() {
        if let Some(made) = last_seen.and_then(|last| last.strip_suffix("; u undoes it")) {
            assert!(again.shows(made), "'{made}' is in the list:\n{}", again.opened.text());
        }
        again.answer("r", "restored ").unwrap();
    }
    assert_eq!(again.save_and_leave(), 0);
}

/// So many moments of one signal, and what there is to say of them.
fn many(signal: Signal, count: u32, salt: u32) {
    let tasks = house::hesitant_tasks();
    let mut random = Random::new(salt);
    let (mut edits, mut more) = (0, 0);
    for session in 0..count {
        // So many are waited for, however quick the machine is.
        let wanted = session % (MOST_SEEN + 1);
        let (seen, one_more) = ended_by(signal, &tasks, wanted as usize, &mut random);
        edits += seen;
        more += usize::from(one_more);
    }
    eprintln(&format!(
        "{signal:?} in the midst of {count} edits: {edits} seen before, none lost, {more} times one more was kept"
    ));
}

#[test]
fn killed_at_any_moment_no_edit_that_was_seen_is_lost() {
    many(Signal::KILL, asked_for().unwrap_or(16), 1);
}

#[test]
fn ended_by_the_system_no_edit_that_was_seen_is_lost() {
    let count = asked_for().unwrap_or(6);
    many(Signal::TERM, count, 2);
    many(Signal::HUP, count, 3);
}

#[test]
fn on_a_full_disk_the_edit_is_refused_and_what_was_seen_stays() {
    let Some(disk) = Disk::new(128) else { return };
    let path = disk.folder.path().join("house.ron");
    fs::write(&path, house::EMPTY).unwrap();
    let tasks = house::rooms();
    let mut hand = Hand::ready(&path);
    hand.work(&tasks[0]).unwrap();
    let filler = disk.fill();
    // The log's last block still takes some; a room with a long note of a name fills it.
    let mut expected = house::after(&tasks[..1]);
    let mut seen = 0;
    loop {
        let name = format!("Room {seen} {}", "x".repeat(400));
        if seen == 0 {
            hand.answer("a", "New room").unwrap();
        } else {
            hand.answer("A", "add ").unwrap();
            hand.answer("r", "New room").unwrap();
        }
        // Pasted, so that the long text is one thing.
        hand.press(&format!("\x1b[200~{name}\x1b[201~"));
        hand.see("xxxxxxxx").unwrap();
        hand.press("\r");
        if hand.sees_first_of("not done, since it could not be kept", "; u undoes it").unwrap() {
            break;
        }
        seen += 1;
        let room = serde_json::json!({"id": format!("R{seen}"), "name": name});
        expected.levels[0].rooms.push(serde_json::from_value(room).unwrap());
        assert!(seen < 40, "it never fills");
    }
    assert!(hand.shows("New room"), "the form stays:\n{}", hand.opened.text());
    // Another start finds what was seen, even now.
    let copy = tempfile::tempdir().unwrap();
    for word in ["house.ron", "house.ron.log"] {
        fs::copy(disk.folder.path().join(word), copy.path().join(word)).unwrap();
    }
    let copied = copy.path().join("house.ron");
    come_back(&copied, None);
    assert_eq!(fs::read_to_string(&copied).unwrap(), text(&expected));
    // With room again, the same form is taken and the work goes on.
    fs::remove_file(filler).unwrap();
    hand.answer("\x15Last", "Last").unwrap();
    let last = format!(" R{}; u undoes it", seen + 1);
    hand.answer("\r", &last).unwrap();
    let room = serde_json::json!({"id": format!("R{}", seen + 1), "name": "Last"});
    expected.levels[0].rooms.push(serde_json::from_value(room).unwrap());
    assert_eq!(hand.save_and_leave(), 0);
    assert_eq!(fs::read_to_string(&path).unwrap(), text(&expected));
}
