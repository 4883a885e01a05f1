//! Alternates: what the job would cost if something were done otherwise, each reckoned as a whole job.

use super::Facts;
use super::amount::Amount;
use super::count::ceilings;
use super::price::{Bid, priced};
use crate::design::Design;
use crate::job::wiring::{CeilingBox, Loop, LoopPath};
use crate::job::{Id, Index, Job};
use crate::plan::reels::is_pulled;
use rust_decimal::Decimal;

/// Something that could be done otherwise.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Alternate {
    /// A name that stays.
    pub key: String,
    /// What is done otherwise.
    pub what: String,
    /// How many loops or ceiling boxes it is about.
    pub count: usize,
    /// All that the client pays then.
    pub total: Amount,
    /// How much more that is; less where it is negative, and unknown while either is.
    pub difference: Option<Decimal>,
}

/// The alternates that follow from a job: every loop returned, none returned that is only capped, and for ceiling boxes
/// whose fixture is still open each of the choices.
pub fn alternates(design: &Design, bid: &Bid) -> Vec<Alternate> {
    let mut all = Vec::new();
    let mut add = |key: String, what: String, count: usize, job: &Job| {
        let total = priced(Facts { job, index: &Index::new(job).0 }).total;
        let difference = total.exact().zip(bid.total.exact()).and_then(|(then, now)| then.checked_sub(now));
        all.push(Alternate { key, what, count, total, difference });
    };
    // A loop that was measured is in the wall: what its return would take is not known.
    let to_pull = |run: &Loop| run.measured.is_none() && !is_pulled(&run.site) && !run.ceiling.is_empty();
    let ends = |run: &Loop| run.path == LoopPath::OneWay && to_pull(run);
    let capped = |run: &Loop| run.path == LoopPath::ReturnedCapped && to_pull(run);
    let (returned, count) = with_loops(&design.job, ends, LoopPath::ReturnedCapped);
    if count > 0 {
        let what =
            format!("Return to their wall boxes the {count} loops that end at their last box, capped there");
        add("return-all".into(), what, count, &returned);
    }
    let (ended, count) = with_loops(&design.job, capped, LoopPath::OneWay);
    if count > 0 {
        let what = format!("Leave out the return of the {count} loops that come back only to be capped");
        add("return-none".into(), what, count, &ended);
    }
    for open in open_sets(&design.job) {
        for choice in &open {
            let (job, count) = with_choice(&design.job, &open, choice);
            let name = design.index.fixture_type(&design.job, choice).map(|part| part.name.clone());
            let name = name.filter(|name| !name.trim().is_empty()).unwrap_or_else(|| choice.to_string());
            let places = if count == 1 { "box" } else { "boxes" };
            let what = format!("{name} in {count} ceiling {places} still open");
            add(format!("open-{choice}"), what, count, &job);
        }
    }
    all
}

/// The job with every loop of a kind ending otherwise, and how many there are.
fn with_loops(job: &Job, which: impl Fn(&Loop) -> bool, path: LoopPath) -> (Job, usize) {
    let mut job = job.clone();
    let mut count = 0;
    let controls = job.boxes.iter_mut().flat_map(|wall_box| &mut wall_box.controls);
    for run in controls.flat_map(|control| &mut control.loops).filter(|run| which(run)) {
        run.path = path;
        if path == LoopPath::OneWay {
            (run.returns_to, run.return_leg, run.crossed) = (None, None, false);
        }
        count += 1;
    }
    (job, count)
}

fn is_open(ceiling: &CeilingBox) -> bool {
    ceiling.fixture.is_none() && !ceiling.open.is_empty()
}

/// The sets of fixtures that ceiling boxes are open between, each once.
fn open_sets(job: &Job) -> Vec<Vec<Id>> {
    let mut sets: Vec<Vec<Id>> = Vec::new();
    for ceiling in job.boxes.iter().flat_map(ceilings).filter(|ceiling| is_open(ceiling)) {
        if !sets.iter().any(|set| same(set, &ceiling.open)) {
            sets.push(ceiling.open.clone());
        }
    }
    sets
}

fn same(a: &[Id], b: &[Id]) -> bool {
    a.len() == b.len() && a.iter().zip(b).all(|(a, b)| a.same(b))
}

/// The job with one fixture in all boxes that are open between these.
fn with_choice(job: &Job, open: &[Id], choice: &Id) -> (Job, usize) {
    let mut job = job.clone();
    let mut count = 0;
    let loops = job.boxes.iter_mut().flat_map(|b| &mut b.controls).flat_map(|control| &mut control.loops);
    for ceiling in loops.flat_map(|run| &mut run.ceiling) {
        if is_open(ceiling) && same(&ceiling.open, open) {
            ceiling.fixture = Some(choice.clone());
            ceiling.open.clear();
            count += 1;
        }
    }
    (job, count)
}
