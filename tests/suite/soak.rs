//! Long work in the editor: what it needs of time and memory stays as it was, and the file is right at the end.
//!
//! `STUDBAY_SOAK` says how many keys; the long run presses 100,000 on the large sample.

use crate::keep::kill::eprintln;
use crate::pty::{Opened, job as copy_of};
use crate::support::project;
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use std::cell::RefCell;
use std::fs;
use std::rc::Rc;
use std::time::{Duration, Instant};
use studbay::design::Design;
use studbay::job::history::Entry;
use studbay::job::{read, write};
use studbay::store::{Keeper, Unsaved};
use studbay::terminal::{Key, KeyCode};
use studbay::tui::action::Effect;
use studbay::tui::{App, Ledger, NotKept, draw};

fn keys() -> Option<usize> {
    std::env::var("STUDBAY_SOAK").ok().and_then(|count| count.parse().ok())
}

#[derive(Debug)]
struct Kept(Rc<RefCell<Keeper>>);

impl Ledger for Kept {
    fn keep(&mut self, entry: &Entry<'_>) -> Result<(), NotKept> {
        self.0.borrow_mut().record(entry).map_err(|error| NotKept(error.to_string()))
    }
}

/// What a person does, in turns picked by a number: mostly looks, now and then changes.
const TURNS: &[&str] = &[
    "jjjj",
    "kk",
    "1",
    "2",
    "3",
    "4",
    "5",
    "6",
    "7",
    "8",
    "9",
    "+",
    "-",
    "G",
    "g",
    "w",
    "w",
    "b",
    "\r",
    "b",
    "?\x1b",
    "/1\rnn",
    "/a\r",
    "f12\r\x1b",
    "i\x1b",
    "S",
    "e\t\tkitchen\x1b\x1b",
    "e12'6\r\x1b\x1b",
    "e\t9'0\r\x1b\x1b",
    "1jAr\r\x1b\x1b",
    "1jjAf\r\x1b\x1b",
    "x\x1b\x1b",
    "x\r\x1b",
    "u",
    "u",
    "u",
    "U",
    "jjdd\x1b",
    "m",
    "\x1b",
    "s",
];

/// A generator that gives the same turns each time.
struct Turns(u32);

impl Turns {
    fn next(&mut self) -> &'static str {
        self.0 = self.0.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
        TURNS[usize::try_from(self.0 >> 8).unwrap() % TURNS.len()]
    }
}

fn key(c: char) -> Key {
    Key::new(match c {
        '\r' => KeyCode::Enter,
        '\t' => KeyCode::Tab,
        '\x1b' => KeyCode::Esc,
        c => KeyCode::Char(c),
    })
}

/// Resident memory of a process, in KiB.
fn resident(process: &str) -> u64 {
    let status = fs::read_to_string(format!("/proc/{process}/status")).unwrap();
    let line = status.lines().find_map(|line| line.strip_prefix("VmRSS:")).unwrap();
    line.split_whitespace().next().unwrap().parse().unwrap()
}

/// The time within which so many of a hundred keys were done.
fn within(times: &[Duration], percent: usize) -> Duration {
    let mut times = times.to_vec();
    times.sort_unstable();
    times[(times.len() * percent / 100).min(times.len() - 1)]
}

#[test]
fn a_long_day_of_keys_changes_neither_time_nor_memory_and_the_file_is_right() {
    let count = keys().unwrap_or(600);
    let name = if keys().is_some() { "large-house" } else { "cottage" };
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("house.ron");
    fs::copy(project(&format!("sample-jobs/{name}.ron")), &path).unwrap();
    let opened = Keeper::open(&path).unwrap();
    let keeper = Rc::new(RefCell::new(opened.keeper));
    let mut app = App::new(Design::derive(opened.job), "house.ron", Box::new(Kept(Rc::clone(&keeper))));
    let mut buffer = Buffer::empty(Rect::new(0, 0, 80, 24));
    let (mut turns, mut times, mut memory, mut edits) = (Turns(1), Vec::new(), Vec::new(), 0);
    while times.len() < count {
        for c in turns.next().chars() {
            let start = Instant::now();
            match app.key(key(c)) {
                Effect::Save => {
                    let saved = keeper.borrow_mut().save(&app.design().job);
                    saved.unwrap_or_else(|error| panic!("{error}"));
                    edits += 1;
                    app.saved();
                }
                Effect::Quit => panic!("left"),
                _ => {}
            }
            buffer.reset();
            draw(&mut app, buffer.area, &mut buffer);
            times.push(start.elapsed());
        }
        if times.len() / (count / 20).max(1) > memory.len() {
            memory.push(resident("self"));
        }
    }
    assert!(edits > 0 && keeper.borrow_mut().save(&app.design().job).is_ok());
    let saved = fs::read_to_string(&path).unwrap();
    assert_eq!(saved, write::to_string(&app.design().job).unwrap());
    let (job, _) = read::from_str("house", &saved).unwrap_or_else(|error| panic!("{error}"));
    assert!(job == app.design().job);
    // What the views hold after all these changes is what a fresh start makes of the file.
    let fresh = Design::derive(job);
    assert_eq!(format!("{:?}", fresh.findings), format!("{:?}", app.design().findings));
    let tenth = times.len() / 10;
    let (first, last) = (&times[..tenth], &times[times.len() - tenth..]);
    eprintln(&format!(
        "{} keys on {name}: median {:?} then {:?}, of a hundred 99 within {:?} then {:?}; memory in KiB {memory:?}",
        times.len(),
        within(first, 50),
        within(last, 50),
        within(first, 99),
        within(last, 99)
    ));
    drop(app);
    let Ok(keeper) = Rc::try_unwrap(keeper) else { panic!("somebody still has the job") };
    keeper.into_inner().close(Unsaved::None);
    if keys().is_some() {
        let slower = within(last, 50) > within(first, 50) * 3 + Duration::from_millis(2);
        assert!(!slower, "keys take longer and longer");
        // The way back through all steps is kept, some hundred bytes each.
        let (early, late) = (memory[memory.len() / 4], memory[memory.len() - 1]);
        assert!(late < early + 48 * 1024, "memory grows: {memory:?}");
    }
}

/// The program itself, for a while: alive, no larger, and what it saves can be read.
#[test]
fn the_program_in_a_terminal_stays_as_large_as_it_was() {
    let (count, name) = match keys() {
        Some(count) => (count / 20, "large-house"),
        None => (150, "cottage"),
    };
    let path = copy_of(name);
    let mut opened = Opened::new(&path, (80, 24), &[]);
    opened.shows("[1 Runs]");
    let process = opened.child.process_id().unwrap().to_string();
    let (mut turns, mut pressed, mut memory) = (Turns(7), 0, Vec::new());
    while pressed < count {
        // An Escape that is not followed at once stands for itself.
        for part in turns.next().split_inclusive('\x1b') {
            opened.press(part);
            pressed += part.len();
            let wait = if part.ends_with('\x1b') { 80 } else { 5 };
            while opened.take(Duration::from_millis(wait)) {}
        }
        assert!(!opened.has_ended(), "it ended after {pressed} keys:\n{}", opened.text());
        memory.push(resident(&process));
    }
    opened.press("\x1b");
    while opened.take(Duration::from_millis(200)) {}
    opened.press("\x1b1");
    opened.shows("[1 Runs]");
    opened.press("s");
    opened.until("not saved", false);
    opened.press("q");
    assert_eq!(opened.ended(), 0);
    let (early, late) = (memory[memory.len() / 4], memory[memory.len() - 1]);
    eprintln(&format!("{pressed} keys in a terminal: {early} KiB after a quarter, {late} KiB at the end"));
    assert!(late < early + 32 * 1024, "{memory:?}");
    let text = fs::read_to_string(&path).unwrap();
    read::from_str(&path, &text).unwrap_or_else(|error| panic!("{error}"));
}
