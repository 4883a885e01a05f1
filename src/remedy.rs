//! What helps against a finding, tried out: each remedy is an edit with which the job was studied and checked again.
//!
//! A remedy clears all findings of its cause, and makes nothing that is as bad as what it clears, nor any such thing
//! worse. It uses what the catalogue has; where that has nothing, it says what a part would have to be, tried with a part
//! like the present one. Once a house is at trim, cables and boxes are behind the board and stay as they are. Trying is
//! work, so it is done for what is shown or printed, never with each edit.

mod bus;
mod cable;
mod entry;
mod feed;
mod light;
mod like;
mod mend;
mod panel;
mod part;
mod run;

use crate::checks::{Finding, Group};
use crate::design::Design;
use crate::job::edit::{Edit, apply};
use crate::job::{Id, Kind, Spot, Stage, Subject};
use crate::study::Outcome;
use serde_json::Value;
use std::collections::HashMap;

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

/// Trials of edits against one finding.
struct Trials<'a> {
    design: &'a Design,
    finding: &'a Finding,
    /// What is found already, by how far it is beyond its limit.
    before: HashMap<(&'static str, &'a Subject), f64>,
    /// The edits tried take lights away that are to hang elsewhere.
    moving: bool,
    left: usize,
}

impl<'a> Trials<'a> {
    fn new(design: &'a Design, finding: &'a Finding) -> Self {
        let mut before: HashMap<_, f64> = HashMap::new();
        for known in &design.findings {
            let excess = before.entry((known.code, &known.subject)).or_default();
            *excess = excess.max(known.excess());
        }
        Self { design, finding, before, moving: false, left: MOST_TRIALS }
    }

    /// The design with an edit applied, if the job still hangs together.
    fn with(&mut self, edit: &Edit) -> Option<Design> {
        self.left = self.left.checked_sub(1)?;
        // Only what the edit touches is made anew, which comes to the same and costs a part of it.
        let mut after = self.design.clone();
        apply(&mut after.job, edit.clone()).ok()?;
        after.refresh(edit);
        Some(after)
    }

    /// Whether a design is rid of the finding and all of its cause, and nothing that is as bad came or got worse.
    fn clears(&self, after: &Design) -> bool {
        let same = |f: &Finding| f.code == self.finding.code && f.cause == self.finding.cause;
        !after.findings.iter().any(|finding| same(finding) || self.harms(finding))
    }

    fn harms(&self, finding: &Finding) -> bool {
        self.is_new(finding) && (TIES.contains(&finding.code) || !self.was_hidden(&finding.subject))
    }

    /// Whether a finding that is as bad as the one to clear was not there before, or was not so bad.
    fn is_new(&self, finding: &Finding) -> bool {
        let aside =
            OF_WHAT_IS_NEW.contains(&finding.code) || (self.moving && OF_WHAT_MOVES.contains(&finding.code));
        if finding.severity > self.finding.severity || finding.accepted.is_some() || aside {
            return false;
        }
        let known = self.before.get(&(finding.code, &finding.subject));
        known.is_none_or(|known| finding.excess() > known * (1.0 + 1e-6) + 1e-9)
    }

    /// Whether nothing could be said of a thing before: its figures were unknown. What is found of it afterwards was
    /// there all along. A run that can't carry its load is no such thing: that is bad enough.
    fn was_hidden(&self, subject: &Subject) -> bool {
        let (design, study) = (self.design, &self.design.study);
        match subject.kind {
            Kind::Output => {
                let output = study.outputs.iter().find(|output| output.output.to_string() == subject.id);
                output.is_some_and(|output| output.watts.is_none())
            }
            Kind::Panel => {
                let panel = study.panels.iter().find(|panel| panel.panel.as_str() == subject.id);
                panel.is_some_and(|panel| panel.ac_amps.is_none() || panel.output_watts.is_none())
            }
            Kind::Fixture | Kind::Cable | Kind::Control => {
                let run = cable::run_of(design, subject).and_then(|run| design.network.run(&run.id));
                match run.and_then(|run| study.run(&design.network, run)).map(|run| &run.outcome) {
                    Some(Outcome::Solved | Outcome::NoSolution) => false,
                    Some(Outcome::Unknown(_)) => true,
                    None => {
                        Id::new(&subject.id).is_ok_and(|id| design.index.spot(subject.kind, &id).is_some())
                    }
                }
            }
            _ => false,
        }
    }

    /// What comes to light once the finding is cleared, in words that follow those of the remedy.
    fn then(&self, after: &Design) -> String {
        let new = after.findings.iter().filter(|finding| self.is_new(finding));
        let mut codes: Vec<&str> = new.map(|finding| finding.code).collect();
        let count = codes.len();
        codes.dedup();
        match count {
            0 => String::new(),
            1 => format!("{THEN}one more comes to light: {}", codes.join(", ")),
            _ => format!("{THEN}{count} more come to light: {}", codes.join(", ")),
        }
    }

    /// The design after an edit that clears the finding.
    fn cleared(&mut self, edit: &Edit) -> Option<Design> {
        let after = self.with(edit)?;
        self.clears(&after).then_some(after)
    }

    /// A remedy without a figure, if its edit clears the finding.
    fn plain(&mut self, text: impl Into<String>, edit: Edit) -> Option<Remedy> {
        self.told(edit, |_| text.into())
    }

    /// A remedy with what its words say of the job with it.
    fn told(&mut self, edit: Edit, text: impl FnOnce(&Design) -> String) -> Option<Remedy> {
        let after = self.cleared(&edit)?;
        Some(Remedy { text: text(&after) + &self.then(&after), edit })
    }

    /// Where the thing stands that the finding is about.
    fn spot(&self) -> Option<Spot> {
        let subject = &self.finding.subject;
        self.design.index.spot(subject.kind, &Id::new(&subject.id).ok()?)
    }

    /// Whether cables and boxes are behind the board.
    fn closed(&self) -> bool {
        self.design.job.project.stage == Stage::Trim
    }

    /// The things that this finding and the others of its cause are about.
    fn of_cause(&self) -> Vec<String> {
        let same = |f: &&Finding| f.code == self.finding.code && f.cause == self.finding.cause;
        self.design.findings.iter().filter(same).map(|finding| finding.subject.id.clone()).collect()
    }
}

/// The edit that gives a field of a thing another value.
fn set(kind: Kind, id: impl std::fmt::Display, field: &str, value: impl Into<Value>) -> Edit {
    Edit::Set { subject: Subject::new(kind, id), field: field.to_owned(), value: value.into() }
}

/// What helps against a finding, each tried out. None where nothing that is tried helps, or nothing can be tried: then
/// the finding's own remedy says what to do in general.
pub fn remedies(design: &Design, finding: &Finding) -> Vec<Remedy> {
    let trials = &mut Trials::new(design, finding);
    // What changes least comes first, and a home run more last.
    let mut found = match finding.code {
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
    if OF_LOAD.contains(&finding.code) {
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

/// What to do about the findings of one cause, in words.
pub fn said(design: &Design, group: &Group) -> String {
    let Some(worst) = group.worst() else { return String::new() };
    if worst.accepted.is_some() {
        return String::new();
    }
    let remedies: Vec<String> = remedies(design, worst).into_iter().map(|remedy| remedy.text).collect();
    if remedies.is_empty() { worst.remedy.clone() } else { remedies.join(", or ") }
}
