//! What helps against a finding does help, and does no harm.

use crate::support::{sample, snapshots};
use insta::assert_snapshot;
use std::collections::BTreeSet;
use studbay::checks::{Severity, grouped};
use studbay::cli::Report;
use studbay::design::Design;
use studbay::job::edit::apply;
use studbay::remedy::remedies;

/// The errors of a design, by code and subject.
fn errors(design: &Design) -> BTreeSet<(&'static str, String)> {
    let errors = design.findings.iter().filter(|finding| finding.severity == Severity::Error);
    errors.map(|finding| (finding.code, finding.subject.to_string())).collect()
}

#[test]
fn every_remedy_clears_its_finding_and_makes_no_new_error() {
    let design = sample("usual-mistakes");
    let before = errors(&design);
    let (mut tried, mut codes) = (0, BTreeSet::new());
    for group in grouped(&design.findings) {
        let worst = group.worst().unwrap();
        for remedy in remedies(&design, worst) {
            let mut job = design.job.clone();
            apply(&mut job, remedy.edit).unwrap();
            let after = Design::derive(job);
            let still = after.findings.iter().find(|f| f.code == worst.code && f.cause == worst.cause);
            assert!(still.is_none(), "{}: {still:#?}", remedy.text);
            let new: Vec<_> = errors(&after).difference(&before).cloned().collect();
            assert!(new.is_empty(), "{}: {new:?}", remedy.text);
            tried += 1;
            codes.insert(worst.code);
        }
    }
    assert!(tried >= 15 && codes.len() >= 10, "{tried} remedies for {codes:?}");
}

#[test]
fn the_house_of_mistakes_says_what_helps() {
    let report = Report::of(&sample("usual-mistakes"));
    let lines: Vec<String> = report
        .groups
        .iter()
        .filter_map(|(group, remedy)| {
            Some(format!("[{}] {}\n    {remedy}", group.worst()?.code, group.what()))
        })
        .collect();
    let _guard = snapshots("checks").bind_to_scope();
    assert_snapshot!("usual-mistakes", lines.join("\n"));
}
