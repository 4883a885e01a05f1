//! Alternates: what the job would cost if something were done otherwise, each reckoned as a whole job.

use super::Facts;
use super::amount::Amount;
use super::price::{Bid, priced};
use super::walk::ceilings;
use crate::design::Design;
use crate::job::wiring::{Loop, LoopPath};
use crate::job::{Id, Index, Job, open};
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
    for (open, boxes) in open_sets(design) {
        let count = boxes.len();
        for choice in open {
            let job = with_choice(&design.job, &boxes, choice);
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

/// The sets of fixtures that ceiling boxes are open between, each once, with these boxes.
fn open_sets(design: &Design) -> Vec<(&[Id], Vec<&Id>)> {
    let mut sets: Vec<(&[Id], Vec<&Id>)> = Vec::new();
    for wall_box in &design.job.boxes {
        for (run, ceiling) in ceilings(wall_box) {
            let (choices, _) = open::open(&design.job, &design.index, wall_box, run, ceiling);
            match sets.iter_mut().find(|(set, _)| same(set, choices)) {
                Some((_, boxes)) => boxes.push(&ceiling.id),
                None if choices.is_empty() => {}
                None => sets.push((choices, vec![&ceiling.id])),
            }
        }
    }
    sets
}

fn same(a: &[Id], b: &[Id]) -> bool {
    a.len() == b.len() && a.iter().zip(b).all(|(a, b)| a.same(b))
}

/// The job with one fixture in these ceiling boxes, whose choices are its own, its loop's or its room's.
fn with_choice(job: &Job, boxes: &[&Id], choice: &Id) -> Job {
    let mut job = job.clone();
    let loops = job.boxes.iter_mut().flat_map(|b| &mut b.controls).flat_map(|control| &mut control.loops);
    for ceiling in loops.flat_map(|run| &mut run.ceiling) {
        if boxes.iter().any(|id| id.same(&ceiling.id)) {
            ceiling.fixture = Some(choice.clone());
            ceiling.open.clear();
        }
    }
    job
}
