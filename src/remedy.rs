//! What helps against a finding, tried out: each remedy is an edit with which the job was studied and checked again.
//!
//! A remedy clears all findings of its cause, and makes nothing that is as bad as what it clears, nor any such thing
//! worse. It uses what the catalogue has; where that has nothing, it says what a part would have to be, tried with a part
//! like the present one. Once a house is at trim, cables and boxes are behind the board and stay as they are. Trying is
//! work, so it is done for what is shown or printed, never with each edit; a [`Bench`] serves all findings of a report.

mod bench;
mod bus;
mod cable;
mod copy;
mod entry;
mod feed;
mod light;
mod like;
mod mend;
mod panel;
mod part;
mod region;
mod run;

use crate::checks::{Finding, Group};
use crate::design::Design;
use crate::job::edit::Edit;
use crate::job::{Kind, Subject};
use serde_json::Value;

pub use bench::Bench;
use bench::Trials;

/// A change that clears a finding.
#[derive(Debug, Clone, PartialEq)]
pub struct Remedy {
    /// What to do, in a few words, with the figure it gives where there is one.
    pub text: String,
    /// The change that was tried. Where a part or an entry is still to be found, it holds one that would do.
    pub edit: Edit,
}

/// As many remedies as are shown for one finding.
const MOST_SHOWN: usize = 4;

/// As many studies as one call may make, so that what it says depends on nothing but the job.
const MOST_TRIALS: usize = 60;

/// Findings that come with everything newly drawn, whatever it helps: its length is an estimate at first.
const OF_WHAT_IS_NEW: [&str; 1] = ["estimated"];

/// Findings about the place that lights are taken from, which are to hang elsewhere.
const OF_WHAT_MOVES: [&str; 5] = ["light-level", "light-unknown", "room-dark", "spacing", "idle-control"];

/// Findings that less load on a run clears.
const OF_LOAD: [&str; 6] =
    ["drop", "volts-low", "collapse", "near-collapse", "class-2-run", "conductor-amps"];

/// Begins what is said of findings that come to light with a remedy.
const THEN: &str = "; then ";

/// What is tied wrongly shows without any figure.
const TIES: [&str; 5] = ["interconnected", "unlike-outputs", "isolation", "double-feed", "dead-short"];

/// The edit that gives a field of a thing another value.
fn set(kind: Kind, id: impl std::fmt::Display, field: &str, value: impl Into<Value>) -> Edit {
    Edit::Set { subject: Subject::new(kind, id), field: field.to_owned(), value: value.into() }
}

impl Bench<'_> {
    /// What helps against a finding, each tried out. None where nothing that is tried helps, or nothing can be tried:
    /// then the finding's own remedy says what to do in general.
    pub fn remedies(&mut self, finding: &Finding) -> Vec<Remedy> {
        self.against(finding, of_finding)
    }

    /// What to do about the findings of one cause, in words.
    pub fn said(&mut self, group: &Group) -> String {
        let Some(worst) = group.worst() else { return String::new() };
        if worst.accepted.is_some() {
            return String::new();
        }
        let remedies: Vec<String> = self.remedies(worst).into_iter().map(|remedy| remedy.text).collect();
        if remedies.is_empty() { worst.remedy.clone() } else { remedies.join(", or ") }
    }
}

/// What helps against one finding of a design; for several a [`Bench`] is quicker.
pub fn remedies(design: &Design, finding: &Finding) -> Vec<Remedy> {
    Bench::new(design).remedies(finding)
}

/// What to do about the findings of one cause, in words; for several a [`Bench`] is quicker.
pub fn said(design: &Design, group: &Group) -> String {
    Bench::new(design).said(group)
}

fn of_finding(trials: &mut Trials<'_>) -> Vec<Remedy> {
    let code = trials.finding.code;
    // What changes least comes first, and a home run more last.
    let mut found = match code {
        "drop" | "volts-low" | "collapse" | "near-collapse" | "either-end" | "conductor-amps" => {
            cable::remedies(trials)
        }
        "class-2-run" | "string-volts" | "string-60" | "lights" => {
            cable::fewer_lights(trials).into_iter().collect()
        }
        "over-limit" | "over-target" | "terminals" | "no-output" => run::another_output(trials),
        _ => part::remedies(trials),
    };
    found.extend(mend::remedies(trials));
    if OF_LOAD.contains(&code) {
        found.extend(mend::own_run(trials));
    }
    // What the catalogue lacks is named only where it has nothing that does.
    if found.is_empty() {
        found.extend(like::remedies(trials));
    }
    if found.is_empty() {
        found.extend(entry::remedies(trials));
    }
    found.truncate(MOST_SHOWN);
    found
}
