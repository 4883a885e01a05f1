//! What is dealt and chosen where the job does not say: even shares, the smallest box, the usual cable.

use crate::job::{Id, Index, Job};

/// The beginning of a ceiling box's id.
pub(crate) fn dashed(letters: &str) -> String {
    if letters.ends_with('-') { format!("{letters}F") } else { format!("{letters}-") }
}

/// Deals things over parts, as evenly as can be, the first ones getting the odd ones.
pub(crate) fn deal(things: usize, parts: usize) -> Vec<usize> {
    let parts = parts.max(1);
    (0..parts).map(|part| things / parts + usize::from(part < things % parts)).collect()
}

/// The smallest wall box of the catalogue with room for so many controls of a type.
pub(crate) fn smallest_box(job: &Job, index: &Index, control: &Id, controls: usize) -> Option<Id> {
    let gangs = usize::from(index.control_type(job, control)?.gangs.get()).saturating_mul(controls.max(1));
    let fits = job.catalogue.boxes.iter().filter(|b| usize::from(b.gangs) >= gangs);
    fits.min_by_key(|b| b.gangs).map(|b| b.id.clone())
}

/// The cable type for loops: the one most loops of the job are of, else the first with two conductors.
pub(crate) fn loop_cable(job: &Job) -> Option<Id> {
    let used = job.boxes.iter().flat_map(|b| &b.controls).flat_map(|c| &c.loops).map(|l| &l.cable);
    let first = || job.catalogue.cables.iter().find(|c| c.conductors.get() == 2).map(|c| c.id.clone());
    most(used).or_else(first)
}

/// The cable type for home runs: the one most home runs of the job are of, else that with the most conductors.
pub(crate) fn home_run_cable(job: &Job) -> Option<Id> {
    let used = job.boxes.iter().flat_map(|b| &b.feeds).map(|f| &f.cable);
    let thickest = || {
        // The first of those that have as many.
        let cables = job.catalogue.cables.iter().rev();
        cables.max_by_key(|c| c.conductors.get()).filter(|c| c.conductors.get() > 2).map(|c| c.id.clone())
    };
    most(used).or_else(thickest)
}

fn most<'a>(ids: impl Iterator<Item = &'a Id>) -> Option<Id> {
    let mut counts: Vec<(String, Id, usize)> = Vec::new();
    for id in ids {
        let folded = id.folded();
        match counts.iter_mut().find(|(known, ..)| *known == folded) {
            Some((_, _, count)) => *count += 1,
            None => counts.push((folded, id.clone(), 1)),
        }
    }
    counts.into_iter().rev().max_by_key(|(_, _, count)| *count).map(|(_, id, _)| id)
}
