//! What helps against a finding, tried out: each remedy is an edit with which the job was studied and checked again.
//!
//! A remedy clears all findings of its cause and makes no new error. It uses only what catalogue and site still allow:
//! once a house is at trim, cables are neither exchanged nor shortened. Trying is work, so it is done for what is shown
//! or printed, never with each edit.

mod cable;
mod mend;
mod part;
mod run;

use crate::checks::{Finding, Group, Severity};
use crate::design::Design;
use crate::job::edit::{Edit, apply};
use crate::job::{Kind, Subject};
use serde_json::Value;
use std::collections::HashSet;

/// A change that clears a finding.
#[derive(Debug, Clone, PartialEq)]
pub struct Remedy {
    /// What to do, in a few words, with the figure it gives where there is one.
    pub text: String,
    /// The change.
    pub edit: Edit,
}

/// As many remedies as are shown for one finding.
const MOST_SHOWN: usize = 4;

/// As many studies as one call may make, so that what it says depends on nothing but the job.
const MOST_TRIALS: usize = 60;

/// Trials of edits against one finding.
struct Trials<'a> {
    design: &'a Design,
    finding: &'a Finding,
    /// Errors there are already.
    errors: HashSet<(&'static str, Subject)>,
    left: usize,
}

impl Trials<'_> {
    /// The design with an edit applied, if the job still hangs together.
    fn with(&mut self, edit: &Edit) -> Option<Design> {
        self.left = self.left.checked_sub(1)?;
        // Only what the edit touches is made anew, which comes to the same and costs a part of it.
        let mut after = self.design.clone();
        apply(&mut after.job, edit.clone()).ok()?;
        after.refresh(edit);
        Some(after)
    }

    /// Whether a design is rid of the finding and all of its cause, and has no error that was not there.
    fn clears(&self, after: &Design) -> bool {
        let same = |f: &Finding| f.code == self.finding.code && f.cause == self.finding.cause;
        !after.findings.iter().any(|finding| {
            let new = finding.severity == Severity::Error
                && !self.errors.contains(&(finding.code, finding.subject.clone()));
            same(finding) || new
        })
    }

    /// The design after an edit that clears the finding.
    fn cleared(&mut self, edit: &Edit) -> Option<Design> {
        let after = self.with(edit)?;
        self.clears(&after).then_some(after)
    }

    /// A remedy without a figure, if its edit clears the finding.
    fn plain(&mut self, text: impl Into<String>, edit: Edit) -> Option<Remedy> {
        self.cleared(&edit).map(|_| Remedy { text: text.into(), edit })
    }
}

/// The edit that gives a field of a thing another value.
fn set(kind: Kind, id: impl std::fmt::Display, field: &str, value: impl Into<Value>) -> Edit {
    Edit::Set { subject: Subject::new(kind, id), field: field.to_owned(), value: value.into() }
}

/// What helps against a finding, each tried out. None where nothing that is tried helps, or nothing can be tried: then
/// the finding's own remedy says what to do in general.
pub fn remedies(design: &Design, finding: &Finding) -> Vec<Remedy> {
    let errors = design.findings.iter().filter(|f| f.severity == Severity::Error);
    let mut trials = Trials {
        design,
        finding,
        errors: errors.map(|f| (f.code, f.subject.clone())).collect(),
        left: MOST_TRIALS,
    };
    // What changes least comes first, and a home run more last.
    let mut found = match finding.code {
        "drop" | "volts-low" | "collapse" | "near-collapse" | "either-end" | "conductor-amps" => {
            cable::remedies(&mut trials)
        }
        "class-2-run" | "string-volts" | "string-60" => {
            cable::fewer_lights(&mut trials).into_iter().collect()
        }
        "over-limit" | "over-target" | "terminals" | "no-output" => run::another_output(&mut trials),
        _ => part::remedies(&mut trials),
    };
    found.extend(mend::remedies(&mut trials));
    if matches!(
        finding.code,
        "drop" | "volts-low" | "collapse" | "near-collapse" | "class-2-run" | "conductor-amps"
    ) {
        found.extend(mend::own_run(&mut trials));
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
