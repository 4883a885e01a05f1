//! Killed at any moment: the file is the old or the new one whole, and no step that was reported is lost.
//!
//! The test binary starts itself as the victim: the ignored test below, told by the environment where to work.

use super::{house, open, starter, text};
use serde_json::json;
use std::convert::Infallible;
use std::io::{BufRead, BufReader, Read, Write};
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::{Duration, Instant};
use studbay::job::edit::Edit;
use studbay::job::history::{Entry, History};
use studbay::job::{Job, Kind, Subject};
use studbay::store::{Keeper, Lock, Opened};

const JOB: &str = "STUDBAY_VICTIM";
const KILLS: &str = "STUDBAY_KILLS";
/// Names a sample to be worked on instead of the starter.
const SAMPLE: &str = "STUDBAY_KILL_SAMPLE";
/// A save comes after so many steps.
const SAVE_EVERY: usize = 60;

/// The job before the first step, and for how many microseconds at most it is worked on: saving a large one takes long.
fn begin() -> (Job, u64) {
    match std::env::var(SAMPLE) {
        Ok(name) => (crate::support::sample(&name).job, 1_500_000),
        Err(_) => (starter(), 30_000),
    }
}

/// The step of that number, the same for the victim and for who judges it.
fn step<E: std::error::Error + 'static>(
    number: usize,
    job: &mut Job,
    history: &mut History,
    keep: impl FnOnce(&Entry<'_>) -> Result<(), E>,
) {
    let controls = job.boxes.iter().flat_map(|wall_box| &wall_box.controls);
    let lights: Vec<String> = controls
        .flat_map(|control| &control.loops)
        .flat_map(|run| &run.ceiling)
        .take(4)
        .map(|ceiling| ceiling.id.to_string())
        .collect();
    let level = job.levels[0].id.to_string();
    let name = |value: String| Edit::Set {
        subject: Subject::new(Kind::Fixture, &lights[number % lights.len()]),
        field: "name".into(),
        value: json!(value),
    };
    let taken = match number % 10 {
        3 => history.undo(job, keep).map(drop),
        4 => history.redo(job, keep).map(drop),
        // Now and then back over the last save.
        6 if number % 30 < 20 => history.undo(job, keep).map(drop),
        7 => history.perform(
            job,
            "add a room",
            Edit::Insert {
                kind: Kind::Room,
                parent: Some(Subject::new(Kind::Level, &level)),
                at: number % 3,
                value: json!({"id": format!("r{number}"), "name": "x".repeat(number % 300)}),
            },
            keep,
        ),
        8 => history.perform(
            job,
            "several",
            Edit::Together(vec![name("first".into()), name(number.to_string())]),
            keep,
        ),
        _ => history.perform(job, "name", name(number.to_string()), keep),
    };
    taken.unwrap_or_else(|error| panic!("step {number}: {error}"));
}

#[test]
#[ignore = "the victim of the tests below, which start it themselves"]
fn victim() {
    let Some(path) = std::env::var_os(JOB).map(PathBuf::from) else { return };
    let terminated = Arc::new(AtomicBool::new(false));
    for signal in [signal_hook::consts::SIGTERM, signal_hook::consts::SIGHUP] {
        signal_hook::flag::register(signal, Arc::clone(&terminated)).unwrap();
    }
    let Opened { mut keeper, mut job, lock, .. } = Keeper::open(&path).unwrap();
    assert_eq!(lock, Lock::Held);
    let mut history = History::new();
    let mut out = std::io::stdout();
    let mut say = |word: &str, number: usize| {
        let line = format!("\n@{word} {number}\n");
        // In one write, so that the line arrives whole or not at all.
        out.write_all(line.as_bytes()).and_then(|()| out.flush()).unwrap();
    };
    say("ready", 0);
    for number in 0.. {
        if terminated.load(Ordering::Relaxed) {
            keeper.emergency();
            return;
        }
        step(number, &mut job, &mut history, |entry| keeper.record(entry));
        say("did", number + 1);
        if keeper.sync_due().is_some_and(|due| due <= Instant::now()) {
            keeper.sync().unwrap();
        }
        if (number + 1) % SAVE_EVERY == 0 {
            keeper.save(&job).unwrap();
            history.saved();
            say("saved", number + 1);
        }
    }
}

fn start(path: &Path) -> Child {
    Command::new(std::env::current_exe().unwrap())
        .args(["--exact", "keep::kill::victim", "--ignored", "--nocapture", "--test-threads=1"])
        .env(JOB, path)
        .stdin(Stdio::null())
        .stdout(Stdio::piped())
        .stderr(Stdio::inherit())
        .spawn()
        .unwrap()
}

/// How far the victim said it had come: steps recorded, steps saved.
fn reported(said: &str) -> (usize, usize) {
    let last = |word: &str| {
        let lines = said.lines().filter_map(|line| line.strip_prefix(word));
        lines.filter_map(|number| number.parse().ok()).next_back().unwrap_or(0)
    };
    (last("@did "), last("@saved "))
}

/// The text of the job after so many steps, for each of these numbers in rising order.
fn expected<const N: usize>(after: [usize; N]) -> [String; N] {
    let (mut job, mut history, mut taken) = (begin().0, History::new(), 0);
    after.map(|steps| {
        for number in taken..steps {
            step(number, &mut job, &mut history, |_| Ok::<(), Infallible>(()));
        }
        taken = steps;
        text(&job)
    })
}

/// Holds file and log against what the victim said.
fn judge(path: &Path, said: &str) -> (usize, bool) {
    let (did, saved) = reported(said);
    let [then, last, next] = expected([saved, did, did + 1]);
    let file = std::fs::read_to_string(path).unwrap();
    let saving = did > saved && did % SAVE_EVERY == 0;
    assert!(file == then || saving && file == last, "after {did} steps, {saved} saved:\n{file}");
    let opened = open(path);
    assert_eq!((opened.lock, opened.notes), (Lock::Held, Vec::new()));
    let job = opened.recovered.map_or(opened.job, |recovered| recovered.job);
    let now = text(&job);
    // A step may be kept before it is reported, never the other way round.
    assert!(now == last || now == next, "after {did} steps, {saved} saved:\n{now}");
    (did, saving)
}

fn kills() -> u64 {
    std::env::var(KILLS).ok().and_then(|count| count.parse().ok()).unwrap_or(200)
}

#[test]
fn killed_at_any_moment_nothing_reported_is_lost() {
    // Not seeded: moments depend on the machine anyway.
    let mut random = std::process::id().wrapping_mul(2_654_435_761);
    let (mut steps, mut saving, mut early) = (0, 0, 0);
    let (job, longest) = begin();
    let begin_text = text(&job);
    for _ in 0..kills() {
        random = random.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
        let (folder, mut path) = house();
        std::fs::write(&path, &begin_text).unwrap();
        // Half of them where a sync costs nothing, so that steps are hit as often as saves.
        let quick = tempfile::tempdir_in("/dev/shm").ok().filter(|_| random & 1 << 20 != 0);
        if let Some(quick) = &quick {
            let there = quick.path().join("house.ron");
            std::fs::rename(&path, &there).or_else(|_| std::fs::copy(&path, &there).map(drop)).unwrap();
            path = there;
        }
        let mut victim = start(&path);
        let mut out = BufReader::new(victim.stdout.take().unwrap());
        let mut said = String::new();
        // One in eight dies while it starts.
        if random >> 29 != 0 {
            while !said.contains("@ready") && out.read_line(&mut said).unwrap() > 0 {}
        }
        std::thread::sleep(Duration::from_micros(u64::from(random >> 8) % longest));
        victim.kill().unwrap();
        victim.wait().unwrap();
        out.read_to_string(&mut said).unwrap();
        let (did, in_save) = judge(&path, &said);
        steps += did;
        saving += usize::from(in_save);
        early += usize::from(did == 0);
        drop((folder, quick));
    }
    eprintln(&format!("{} kills after {steps} steps, {saving} in a save, {early} before any step", kills()));
    // Otherwise the test shows nothing.
    assert!(kills() < 50 || (saving > 0 && steps > 100));
}

#[test]
fn terminated_or_hung_up_it_lets_go_of_the_lock_and_keeps_the_log() {
    for signal in [rustix::process::Signal::TERM, rustix::process::Signal::HUP] {
        let (folder, path) = house();
        let mut victim = start(&path);
        let mut out = BufReader::new(victim.stdout.take().unwrap());
        let mut said = String::new();
        while reported(&said).0 < 60 && out.read_line(&mut said).unwrap() > 0 {}
        rustix::process::kill_process(rustix::process::Pid::from_child(&victim), signal).unwrap();
        out.read_to_string(&mut said).unwrap();
        assert!(victim.wait().unwrap().success());
        assert!(!super::names(folder.path()).contains(&"house.ron.lock".to_owned()));
        let (did, _) = judge(&path, &said);
        assert!(did >= 60);
    }
}

/// Says something on the standard error, where a person who looks finds it.
pub(crate) fn eprintln(line: &str) {
    let _ = writeln!(std::io::stderr(), "{line}");
}
