//! The form in which a person accepts a finding as it is, by name and with a reason.

use super::{field, words};
use crate::checks::{self, Finding};
use crate::design::Design;
use crate::job::Job;
use crate::job::edit::Edit;
use crate::job::fields::{Field, Shape};
use serde_json::{Value, json};

/// What it asks for.
pub(super) const FIELDS: &[Field] = &[
    field(&["by"], "accepted by", "your name: you answer for it", Shape::Words),
    field(&["reason"], "because", "why it may stay as it is", Shape::Words),
];

/// The name that signed last, else whoever made the job.
pub(super) fn start(job: &Job) -> Value {
    let last = job.accepted.last().map(|accepted| accepted.by.as_str());
    json!({"by": last.unwrap_or(&job.project.by), "reason": ""})
}

/// The acceptance as an edit, with what it is called.
pub(super) fn edit(design: &Design, finding: &Finding, draft: &Value) -> Result<(Edit, String), String> {
    let (by, reason) = (words(draft, "by"), words(draft, "reason"));
    if by.is_empty() {
        return Err("accepted by: a finding is accepted by somebody, by name".into());
    }
    if reason.is_empty() {
        return Err("because: say why it may stay as it is".into());
    }
    // The design may have changed since the form was opened.
    let now = design.findings.iter().find(|f| f.code == finding.code && f.subject == finding.subject);
    let now = now.ok_or("it is not found any more")?;
    let label = format!("accept {} of {}", finding.code, finding.subject);
    Ok((checks::accept(&design.job, now, by, reason), label))
}

/// What there is to know before one signs.
pub(super) fn notes(finding: &Finding) -> Vec<String> {
    let mut notes = vec![finding.what.clone()];
    if let (Some(found), Some(limit)) = (finding.found, finding.limit) {
        let [found, limit] = [found, limit].map(|figure| finding.unit.shown(Some(figure)));
        notes.push(format!("{found} against {limit}; {}", finding.source));
    } else {
        notes.push(format!("limit: {}", finding.source));
    }
    notes.push("It stays listed as accepted, and comes back when it gets worse.".into());
    notes
}
