//! The program is killed while a person works on a large house: the file is the old or the new one whole, and what they
//! saw done is there again.

use super::hand::{Hand, Task};
use super::lost::{Random, killed_after};
use super::text;
use crate::keep::kill::eprintln;
use crate::support::sample;
use std::fs;
use std::time::Duration;
use studbay::job::Job;
use studbay::store::{Keeper, Lock};

/// The most turns a person sees done before the end comes.
const MOST_SEEN: usize = 5;
/// Turns that may be under way when it comes.
const MORE: usize = 3;
/// The longest that the turn under way gets: a form from before its first key to after its last, a save from before it
/// begins to after it.
const LONGEST: (u32, u32) = (120_000, 25_000);

/// What a person does: names a wall box, undoes the last naming, saves.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Turn {
    Name(usize),
    Undo(usize),
    Save,
}

/// Turns, and what job and file are after so many of them.
struct Day {
    turns: Vec<Turn>,
    jobs: Vec<String>,
    files: Vec<String>,
}

impl Day {
    fn of(mut job: Job, count: usize, random: &mut Random) -> Self {
        let whole = text(&job);
        let mut day = Self { turns: Vec::new(), jobs: vec![whole.clone()], files: vec![whole] };
        let boxes = job.boxes.len();
        let mut box_at = random.below(u32::try_from(boxes).unwrap()) as usize;
        let mut named: Vec<(usize, String)> = Vec::new();
        for _ in 0..count {
            let last = day.turns.last();
            let turn = match random.below(4) {
                0 if let Some((at, _)) = named.last() => Turn::Undo(*at),
                1 | 2 if last.is_some_and(|last| *last != Turn::Save) => Turn::Save,
                _ => {
                    // Never the same twice, so that what is said of each is its own.
                    box_at = (box_at + 1) % boxes;
                    Turn::Name(box_at)
                }
            };
            match turn {
                Turn::Name(at) => {
                    named.push((at, std::mem::replace(&mut job.boxes[at].name, new_name(at))));
                }
                Turn::Undo(at) => job.boxes[at].name = named.pop().unwrap().1,
                Turn::Save => {}
            }
            day.jobs.push(text(&job));
            let file = if turn == Turn::Save { &day.jobs } else { &day.files };
            day.files.push(file.last().unwrap().clone());
            day.turns.push(turn);
        }
        day
    }
}

fn new_name(at: usize) -> String {
    format!("Now called {at}")
}

fn task(job: &Job, turn: Turn) -> Task {
    let change = |at: usize| format!("change wall box {}", job.boxes[at].id);
    match turn {
        Turn::Name(at) => Task::until(&format!("{}; u undoes it", change(at)), |_| {})
            .find(&format!("{} {}", job.boxes[at].id, job.boxes[at].name.split(' ').next().unwrap()))
            .press("e", &format!("Change wall box {}", job.boxes[at].id))
            .field("name", &new_name(at))
            .take(),
        Turn::Undo(at) => Task::until(&format!("undone: {}", change(at)), |_| {}).quick("u"),
        Turn::Save => Task::until("saved /", |_| {}).quick("s"),
    }
}

/// One day that ends early. Gives how many turns were seen, whether one more was kept, and whether a save was under way.
fn killed(job: &Job, wanted: usize, random: &mut Random) -> (usize, bool, bool) {
    let day = Day::of(job.clone(), wanted + MORE, random);
    let folder = match random.below(2) {
        // Where a sync costs nothing edits are hit as often as saves.
        0 => tempfile::tempdir_in("/dev/shm").or_else(|_| tempfile::tempdir()),
        _ => tempfile::tempdir(),
    };
    let folder = folder.unwrap();
    let path = folder.path().join("house.ron");
    fs::write(&path, &day.jobs[0]).unwrap();
    let tasks: Vec<Task> = day.turns.iter().map(|turn| task(job, *turn)).collect();
    let mut hand = Hand::ready(&path);
    for task in &tasks[..wanted] {
        assert_eq!(hand.work(task), Ok(()), "it ended by itself:\n{}", hand.opened.text());
    }
    let saving = day.turns[wanted] == Turn::Save;
    let longest = if saving { LONGEST.1 } else { LONGEST.0 };
    let moment = Duration::from_micros(u64::from(random.below(longest)));
    let seen = wanted + killed_after(moment, &mut hand, &tasks[wanted..]);
    let said = || format!("{seen} of {:?} were seen, {}", day.turns, path.display());
    // A turn may be done before it is seen, never the other way round.
    let next = (seen + 1).min(day.turns.len());
    let file = fs::read_to_string(&path).unwrap();
    assert!(file == day.files[seen] || file == day.files[next], "{}:\n{file}", said());
    let opened = Keeper::open(&path).unwrap_or_else(|error| panic!("{}: {error}", said()));
    assert_eq!((opened.lock, opened.notes), (Lock::Held, Vec::new()), "{}", said());
    let now = text(&opened.recovered.map_or(opened.job, |recovered| recovered.job));
    assert!(now == day.jobs[seen] || now == day.jobs[next], "{}:\n{now}", said());
    (seen, now != day.jobs[seen], saving)
}

#[test]
fn killed_on_a_large_house_the_file_is_whole_and_nothing_seen_is_lost() {
    let count = std::env::var("STUDBAY_KILLS").ok().and_then(|count| count.parse().ok()).unwrap_or(6);
    let job = sample("large-house").job;
    let mut random = Random::new(4);
    let (mut turns, mut more, mut saves) = (0, 0, 0);
    for session in 0..count {
        let (seen, one_more, saving) = killed(&job, session % (MOST_SEEN + 1), &mut random);
        turns += seen;
        more += usize::from(one_more);
        saves += usize::from(saving);
    }
    eprintln(&format!(
        "{count} kills on a large house after {turns} turns that were seen, {saves} in a save: none lost, {more} times \
         one more was kept"
    ));
}
