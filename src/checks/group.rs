//! Findings of one cause put together, so that a person reads a line for each cause.

use super::finding::Finding;
use std::collections::HashMap;

/// Findings of one check with one cause: eight lights of one loop with too much drop are one thing to mend.
#[derive(Debug, Clone, PartialEq)]
pub struct Group {
    /// The findings, the one farthest beyond its limit first. There is at least one.
    pub findings: Vec<Finding>,
}

impl Group {
    /// The worst of them, which the line is about.
    pub fn worst(&self) -> Option<&Finding> {
        self.findings.first()
    }

    /// What is wrong, with how many more things it is true of.
    pub fn what(&self) -> String {
        let Some(worst) = self.worst() else { return String::new() };
        match self.findings.len() {
            1 => worst.what.clone(),
            n if worst.found.is_none() || worst.cause == worst.subject => {
                format!("{} (and {} more on {})", worst.what, n - 1, worst.cause)
            }
            n => format!("{} (the worst of {n} on {})", worst.what, worst.cause),
        }
    }
}

/// Puts findings of one check and one cause together; the groups stand in the order of their first findings.
pub fn grouped(findings: &[Finding]) -> Vec<Group> {
    let mut groups: Vec<Group> = Vec::new();
    let mut place = HashMap::new();
    for finding in findings {
        let key = (finding.code, finding.severity, finding.cause.clone(), finding.accepted.is_some());
        let at = *place.entry(key).or_insert(groups.len());
        match groups.get_mut(at) {
            Some(group) => group.findings.push(finding.clone()),
            None => groups.push(Group { findings: vec![finding.clone()] }),
        }
    }
    for group in &mut groups {
        group.findings.sort_by(|a, b| b.excess().total_cmp(&a.excess()));
    }
    groups
}
