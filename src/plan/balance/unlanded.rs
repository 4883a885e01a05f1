//! Runs on no output: at which volts they would be, and their watts there.

use super::Problem;
use super::gather::{Class, is_class2, millivolts, unknown};
use crate::checks::Severity;
use crate::design::Design;
use crate::format;
use crate::job::panel::Supply;
use crate::job::wiring::{OutputRef, Source};
use crate::job::{Id, Kind, Spot};
use std::collections::HashMap;

/// What is known of a run on no output.
#[derive(Debug, Clone)]
pub(super) enum Guess {
    /// It can only be of this class, and takes so many watts.
    Is { class: Class, watts: f64 },
    /// It can't be told.
    Unclear(Problem),
}

/// Tries each run on no output at each volts that its panel has, or that the catalogue has where the panel has none.
/// If one alone makes no error at the run, the run is of that class.
pub(super) fn guesses(design: &Design) -> HashMap<usize, Guess> {
    let waiting: Vec<usize> =
        (0..design.network.runs.len()).filter(|&run| design.network.runs[run].output.is_none()).collect();
    let mut fits: HashMap<usize, Vec<(Class, f64)>> = HashMap::new();
    let mut reasons: HashMap<usize, Problem> = HashMap::new();
    let mut tried: HashMap<usize, Vec<u64>> = HashMap::new();
    for (volts, trial) in trials(design, &waiting) {
        for &run in &waiting {
            let Some(panel) = panel_of(design, run) else { continue };
            let own = volts_of(design, panel);
            if !own.contains(&volts) {
                continue;
            }
            tried.entry(run).or_default().push(volts);
            let id = &design.network.runs[run].id;
            let Some(study) = trial.network.run(id).and_then(|at| trial.study.run(&trial.network, at)) else {
                continue;
            };
            let Some(watts) = study.source_watts else {
                reasons.entry(run).or_insert_with(|| unknown(id, Some(&study.outcome)));
                continue;
            };
            // One class has no rival: what is wrong with it there is for the checks to say.
            if own.len() == 1 || !has_error(&trial, study.run) {
                let class = Class { panel, millivolts: volts, class2: true };
                fits.entry(run).or_default().push((class, watts));
            }
        }
    }
    waiting
        .into_iter()
        .map(|run| {
            let id = &design.network.runs[run].id;
            let guess = match fits.get(&run).map(Vec::as_slice) {
                Some([(class, watts)]) => Guess::Is { class: *class, watts: *watts },
                Some(several) if !several.is_empty() => {
                    let volts: Vec<String> =
                        several.iter().map(|(class, _)| format::volts(Some(class.volts()))).collect();
                    Guess::Unclear(Problem {
                        what: format!(
                            "run {id} is on no output, and would work at {}",
                            volts.join(" and at ")
                        ),
                        remedy: "land it on an output of the volts it is meant for, then balance".into(),
                        runs: vec![id.to_string()],
                    })
                }
                _ => Guess::Unclear(reasons.remove(&run).unwrap_or_else(|| {
                    let none = tried.get(&run).is_none_or(Vec::is_empty);
                    let what = if none {
                        format!(
                            "run {id} is on no output, and there is no Class 2 supply type to feed it from"
                        )
                    } else {
                        format!("run {id} is on no output, and its lights fit no volts that its panel has")
                    };
                    Problem {
                        what,
                        remedy: "enter a supply type that suits it, or land it on an output".into(),
                        runs: vec![id.to_string()],
                    }
                })),
            };
            (run, guess)
        })
        .collect()
}

fn panel_of(design: &Design, run: usize) -> Option<usize> {
    match design.index.spot(Kind::Panel, &design.network.runs[run].panel)? {
        Spot::Panel(at) => Some(at),
        _ => None,
    }
}

/// The volts a run of the panel may be at, in millivolts: those of its supplies, else those of the catalogue.
fn volts_of(design: &Design, panel: usize) -> Vec<u64> {
    let job = &design.job;
    let own =
        job.panels[panel].supplies.iter().filter_map(|supply| design.index.supply_type(job, &supply.part));
    let mut volts: Vec<u64> =
        own.filter(|part| is_class2(part)).map(|part| millivolts(part.volts.get())).collect();
    if volts.is_empty() {
        let all = job.catalogue.supplies.iter().filter(|part| is_class2(part));
        volts = all.map(|part| millivolts(part.volts.get())).collect();
    }
    volts.sort_unstable();
    volts.dedup();
    volts
}

/// The job once for each volts, with every waiting run on an output of a supply made up for it.
fn trials(design: &Design, waiting: &[usize]) -> Vec<(u64, Design)> {
    if waiting.is_empty() {
        return Vec::new();
    }
    let mut parts: Vec<(u64, &Id)> = Vec::new();
    for part in design.job.catalogue.supplies.iter().filter(|part| is_class2(part)) {
        let volts = millivolts(part.volts.get());
        if !parts.iter().any(|(own, _)| *own == volts) {
            parts.push((volts, &part.id));
        }
    }
    parts.sort_unstable();
    let mut trials = Vec::new();
    for (volts, part) in parts {
        let mut job = design.job.clone();
        // One supply a panel carries them all: only the volts matter here.
        let mut made: HashMap<usize, Id> = HashMap::new();
        for &run in waiting {
            let (Some(panel), Some(at)) = (panel_of(design, run), design.network.runs[run].feeds.first())
            else {
                continue;
            };
            let next = made.len() + 1;
            let id = made.entry(panel).or_insert_with(|| free_id(design, "trial", next)).clone();
            job.boxes[at.wall_box].feeds[at.feed].from = Source::Output(OutputRef { supply: id, number: 1 });
        }
        for (panel, id) in made {
            job.panels[panel].supplies.push(Supply {
                id,
                name: String::new(),
                part: part.clone(),
                slot: None,
                pinned: false,
            });
        }
        trials.push((volts, Design::derive(job)));
    }
    trials
}

/// An id for a supply that no supply has yet: the stem with the first free number from `from`.
pub(super) fn free_id(design: &Design, stem: &str, from: usize) -> Id {
    let taken = |id: &Id| design.index.spot(Kind::Supply, id).is_some();
    let mut numbers = (from..).filter_map(|n| Id::new(&format!("{stem}{n}")).ok());
    // There are fewer supplies than numbers, so that one is always free.
    numbers.find(|id| !taken(id)).unwrap_or_else(|| design.network.runs[0].id.clone())
}

/// Whether a check finds an error at the run, at its lights or at its cables.
fn has_error(trial: &Design, run: usize) -> bool {
    let entry = &trial.network.runs[run];
    let mut own = vec![entry.id.to_string()];
    for at in &entry.feeds {
        own.push(trial.job.boxes[at.wall_box].feeds[at.feed].id.to_string());
    }
    for (_, at) in &entry.controls {
        let control = &trial.job.boxes[at.wall_box].controls[at.control];
        own.push(control.id.to_string());
        for wired in &control.loops {
            own.push(wired.id.to_string());
            own.extend(wired.ceiling.iter().map(|ceiling| ceiling.id.to_string()));
        }
    }
    trial.findings.iter().any(|finding| {
        finding.severity == Severity::Error
            && matches!(finding.subject.kind, Kind::Cable | Kind::Control | Kind::Fixture)
            && own.contains(&finding.subject.id)
    })
}
