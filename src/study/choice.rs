//! The choices that are still open in a part of the network, and the job with each of them made.

use super::part::Place;
use crate::job::open::{OneFor, open, room_of};
use crate::job::{Id, Job};
use crate::network::{ControlAt, LoopAt};
use serde::Serialize;

/// The most combinations of choices (corners) that are tried one by one.
pub const MOST_CORNERS: usize = 4096;

/// An open choice, made.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Pick {
    /// What it is for: `fixture/F1`, `cable/L1` for a loop, `room/bed-1`, `control/C1`, or `house`.
    pub of: String,
    /// The entry of the catalogue that is taken.
    pub part: String,
}

/// What a choice is for, in words: `F1`, `room bed-1`, `the house`.
pub fn of_words(of: &str) -> String {
    match of.split_once('/') {
        Some(("fixture" | "control", id)) => id.to_owned(),
        Some(("cable", id)) => format!("loop {id}"),
        Some((kind, id)) => format!("{kind} {id}"),
        None => format!("the {of}"),
    }
}

/// As many things as are named of each entry.
const MOST_NAMED: usize = 3;

/// Picks in a few words: `F1, F2 as spot-9, room bed-1 as spot-6`.
pub fn in_words(picks: &[Pick]) -> String {
    let mut by_part: Vec<(&str, Vec<String>)> = Vec::new();
    for pick in picks {
        let of = of_words(&pick.of);
        match by_part.iter_mut().find(|(part, _)| *part == pick.part) {
            Some((_, all)) => all.push(of),
            None => by_part.push((&pick.part, vec![of])),
        }
    }
    let words = by_part.iter().map(|(part, all)| match all.len().checked_sub(MOST_NAMED) {
        // One more is named as briefly as it is counted.
        None | Some(0 | 1) => format!("{} as {part}", all.join(", ")),
        Some(more) => format!("{} and {more} more as {part}", all[..MOST_NAMED].join(", ")),
    });
    words.collect::<Vec<_>>().join(", ")
}

/// Something that is still open, with all that follows it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Choice {
    /// What it is for, as in [`Pick::of`].
    pub of: String,
    /// The entries it is between, each once.
    pub options: Vec<Id>,
    /// The lights that take what is chosen: loop, and position on it.
    pub lights: Vec<(LoopAt, usize)>,
    /// The controls that do.
    pub controls: Vec<ControlAt>,
    /// Whether it may reach into other parts of the network.
    pub wide: bool,
    /// The same for all that take the same.
    pub key: String,
}

impl Choice {
    pub(super) fn pick(&self, option: usize) -> Option<Pick> {
        Some(Pick { of: self.of.clone(), part: self.options.get(option)?.to_string() })
    }
}

/// The picks of a corner, by option.
pub(super) fn picked(choices: &[Choice], corner: &[usize]) -> Vec<Pick> {
    choices.iter().zip(corner).filter_map(|(choice, &option)| choice.pick(option)).collect()
}

/// How many corners there are; none if more than a `usize` counts.
pub(super) fn corners(choices: &[Choice]) -> Option<usize> {
    choices.iter().try_fold(1_usize, |all, choice| all.checked_mul(choice.options.len()))
}

/// Which option each choice takes in a corner.
pub(super) fn corner(mut number: usize, choices: &[Choice]) -> Vec<usize> {
    let pick = |choice: &Choice| {
        let many = choice.options.len().max(1);
        let pick = number % many;
        number /= many;
        pick
    };
    choices.iter().map(pick).collect()
}

/// Makes the choices in a job.
pub(super) fn close(job: &mut Job, choices: &[Choice], corner: &[usize]) {
    for (choice, &option) in choices.iter().zip(corner) {
        let Some(part) = choice.options.get(option) else { continue };
        for &(at, ceiling) in &choice.lights {
            let wired = &mut job.boxes[at.control.wall_box].controls[at.control.control].loops[at.at];
            let held = &mut wired.ceiling[ceiling];
            (held.fixture, held.open) = (Some(part.clone()), Vec::new());
        }
        for at in &choice.controls {
            let control = &mut job.boxes[at.wall_box].controls[at.control];
            (control.part, control.open) = (part.clone(), Vec::new());
        }
    }
}

/// A job in which the choices of one part at a time are made: copied once for all parts, and only where one is open.
#[derive(Debug, Default)]
pub(super) struct Scratch(Option<Job>);

impl Scratch {
    /// The copy, in which everything is open that is open in the job.
    pub(super) fn of(&mut self, job: &Job) -> &mut Job {
        self.0.get_or_insert_with(|| job.clone())
    }

    /// Opens what is open in the job again.
    pub(super) fn open_again(&mut self, job: &Job, choices: &[Choice]) {
        let Some(closed) = &mut self.0 else { return };
        for choice in choices {
            for &(LoopAt { control: at, at: number }, ceiling) in &choice.lights {
                let was = &job.boxes[at.wall_box].controls[at.control].loops[number].ceiling[ceiling];
                let held = &mut closed.boxes[at.wall_box].controls[at.control].loops[number].ceiling[ceiling];
                held.fixture.clone_from(&was.fixture);
                held.open.clone_from(&was.open);
            }
            for at in &choice.controls {
                let was = &job.boxes[at.wall_box].controls[at.control];
                let control = &mut closed.boxes[at.wall_box].controls[at.control];
                control.part.clone_from(&was.part);
                control.open.clone_from(&was.open);
            }
        }
    }
}

/// What is open in a part, in the order of the network.
pub(super) fn choices((job, index, network): Place<'_>, part: usize) -> Vec<Choice> {
    let mut all: Vec<Choice> = Vec::new();
    let runs = network.parts.get(part).map(|part| part.runs.as_slice()).unwrap_or_default();
    for &(_, at) in runs.iter().flat_map(|&run| &network.runs[run].controls) {
        let wall_box = &job.boxes[at.wall_box];
        let control = &wall_box.controls[at.control];
        if !control.open.is_empty() {
            let options: Vec<Id> = control.types().into_iter().cloned().collect();
            let (of, wide) = match control.one_for {
                OneFor::Each | OneFor::Loop => (format!("control/{}", control.id), false),
                OneFor::Room => (format!("room/{}", wall_box.room), true),
                OneFor::House => ("house".to_owned(), true),
            };
            enter(&mut all, "controls", of, options, wide).controls.push(at);
        }
        for (number, wired) in control.loops.iter().enumerate() {
            for (ceiling, held) in wired.ceiling.iter().enumerate() {
                let (entries, reach) = open(job, index, wall_box, wired, held);
                if entries.is_empty() {
                    continue;
                }
                let mut options: Vec<Id> = Vec::new();
                for id in entries {
                    if !options.iter().any(|known| known.same(id)) {
                        options.push(id.clone());
                    }
                }
                let (of, wide) = match reach {
                    OneFor::Each => (format!("fixture/{}", held.id), false),
                    OneFor::Loop => (format!("cable/{}", wired.id), false),
                    OneFor::Room => {
                        let room = room_of(job, index, wall_box, held);
                        (format!("room/{}", room.map_or(&wall_box.room, |room| &room.id)), true)
                    }
                    OneFor::House => ("house".to_owned(), true),
                };
                let at = LoopAt { control: at, at: number };
                enter(&mut all, "lights", of, options, wide).lights.push((at, ceiling));
            }
        }
    }
    all
}

/// The choice of that reach between those entries; a new one if there is none yet.
fn enter<'a>(
    all: &'a mut Vec<Choice>,
    what: &str,
    of: String,
    options: Vec<Id>,
    wide: bool,
) -> &'a mut Choice {
    let mut sorted: Vec<String> = options.iter().map(Id::folded).collect();
    sorted.sort_unstable();
    let key = format!("{what} {} {}", of.to_ascii_lowercase(), sorted.join(" "));
    let at = all.iter().position(|choice| choice.key == key).unwrap_or(all.len());
    if at == all.len() {
        all.push(Choice { of, options, lights: Vec::new(), controls: Vec::new(), wide, key });
    }
    &mut all[at]
}
