//! Findings that somebody accepted, and when they come back.

use super::finding::Finding;
use super::{Seen, list};
use crate::job::edit::Edit;
use crate::job::{Accepted, Job, Kind, Subject};

/// How much worse a figure may be than the accepted one, as a part of it, before the finding comes back: what is typed
/// from a sheet is rounded.
const ROUNDING: f64 = 0.005;

/// Marks what was accepted, and reports acceptances of what is not found any more.
pub(super) fn mark(seen: Seen<'_>, findings: &mut Vec<Finding>) {
    let mut stale = Vec::new();
    for accepted in &seen.job.accepted {
        let same = |finding: &&mut Finding| {
            finding.code == accepted.code
                && finding.subject.kind == accepted.subject.kind
                && finding.subject.id.eq_ignore_ascii_case(&accepted.subject.id)
        };
        let mut matching = findings.iter_mut().filter(same).peekable();
        if matching.peek().is_none() {
            stale.push(seen.find(
                &list::STALE_ACCEPTANCE,
                accepted.subject.clone(),
                format!(
                    "{} accepted [{}] of {}, which is not found any more",
                    accepted.by, accepted.code, accepted.subject
                ),
                "take the acceptance out",
            ));
        }
        for finding in matching {
            if holds(accepted, finding) {
                finding.accepted = Some(accepted.clone());
            } else {
                finding.what = format!(
                    "{} ({} accepted {})",
                    finding.what,
                    accepted.by,
                    finding.unit.shown(accepted.found)
                );
            }
        }
    }
    findings.append(&mut stale);
}

/// Whether a finding is no worse than what was accepted. A figure gets worse away from its limit.
fn holds(accepted: &Accepted, finding: &Finding) -> bool {
    match (accepted.found, finding.found) {
        (None, None) => true,
        (Some(then), Some(now)) => {
            let rising = finding.limit.is_none_or(|limit| now >= limit);
            let worse = if rising { now - then } else { then - now };
            worse <= then.abs() * ROUNDING
        }
        _ => false,
    }
}

/// The edit that takes the acceptance of a finding back.
pub fn refuse(job: &Job, finding: &Finding) -> Edit {
    let mut list = job.accepted.clone();
    list.retain(|old| old.code != finding.code || old.subject != finding.subject);
    set(&list)
}

fn set(list: &[Accepted]) -> Edit {
    Edit::Set {
        subject: Subject::new(Kind::Job, "job"),
        field: "accepted".to_owned(),
        // A list of texts and figures is always JSON; a figure that is not finite would be null.
        value: serde_json::to_value(list).unwrap_or_default(),
    }
}

/// The edit by which a person accepts a finding as it is.
pub fn accept(job: &Job, finding: &Finding, by: &str, reason: &str) -> Edit {
    let mut list = job.accepted.clone();
    list.retain(|old| old.code != finding.code || old.subject != finding.subject);
    list.push(Accepted {
        code: finding.code.to_owned(),
        subject: finding.subject.clone(),
        by: by.to_owned(),
        reason: reason.to_owned(),
        found: finding.found,
    });
    set(&list)
}
