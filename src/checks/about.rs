//! Findings by what they are about, so that a screen needs no look at all of them for each of its lines.

use super::finding::{Finding, Severity};
use crate::job::Subject;
use std::collections::HashMap;

/// Where the findings of each thing stand in the list of all.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct About {
    of: HashMap<Subject, Places>,
    /// How many there are of each severity that nobody accepted.
    counts: [usize; 3],
    accepted: usize,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
struct Places {
    /// The first in the list.
    first: usize,
    /// The first of the worst severity, whether accepted or not.
    worst: usize,
}

impl About {
    /// Sorts findings by what they are about.
    pub fn new(findings: &[Finding]) -> Self {
        let mut about = Self::default();
        for (at, finding) in findings.iter().enumerate() {
            match finding.accepted {
                None => about.counts[finding.severity as usize] += 1,
                Some(_) => about.accepted += 1,
            }
            let places = about.of.entry(finding.subject.clone()).or_insert(Places { first: at, worst: at });
            if finding.severity < findings[places.worst].severity {
                places.worst = at;
            }
        }
        about
    }

    /// The first finding about a thing in a list, which must be the one this was made of.
    pub fn first<'a>(&self, findings: &'a [Finding], subject: &Subject) -> Option<&'a Finding> {
        findings.get(self.of.get(subject)?.first)
    }

    /// The worst finding about a thing in that list.
    pub fn worst<'a>(&self, findings: &'a [Finding], subject: &Subject) -> Option<&'a Finding> {
        findings.get(self.of.get(subject)?.worst)
    }

    /// How many findings there are of a severity, without accepted ones.
    pub const fn count(&self, severity: Severity) -> usize {
        self.counts[severity as usize]
    }

    /// How many findings somebody accepted.
    pub const fn accepted(&self) -> usize {
        self.accepted
    }
}
