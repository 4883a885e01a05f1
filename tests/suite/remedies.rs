//! What helps against a finding does help, and does no harm.

use crate::support::{sample, snapshots};
use insta::assert_snapshot;
use std::collections::BTreeSet;
use studbay::checks::{Finding, grouped};
use studbay::cli::Report;
use studbay::design::Design;
use studbay::job::edit::apply;
use studbay::job::{Kind, Subject};
use studbay::remedy::{Remedy, remedies};
use studbay::study::{Outcome, RunStudy};

/// Whether a remedy does what it says: with it the job has the finding no more, nor anything else that is as bad and was
/// not there before, or was not so bad. A new cable is estimated at first, and lights that are moved are missing where
/// they were until they hang elsewhere: neither is held against it.
pub(crate) fn helps(design: &Design, finding: &Finding, remedy: &Remedy) {
    let aside = |code: &str| {
        let moved = ["light-level", "light-unknown", "room-dark", "spacing", "idle-control"];
        code == "estimated" || (remedy.text.starts_with("move ") && moved.contains(&code))
    };
    let mut job = design.job.clone();
    apply(&mut job, remedy.edit.clone()).unwrap();
    let after = Design::derive(job);
    let mut told: usize = remedy.text.rsplit_once("; then ").map_or(0, |(_, then)| {
        let count = then.split(' ').next().unwrap();
        if count == "one" { 1 } else { count.parse().expect("it says how many come to light") }
    });
    for found in &after.findings {
        assert!(
            found.code != finding.code || found.cause != finding.cause,
            "{}: {}: it is still there: {found:#?}",
            finding.code,
            remedy.text
        );
        if found.severity > finding.severity || found.accepted.is_some() || aside(found.code) {
            continue;
        }
        let known = design.findings.iter().filter(|f| f.code == found.code && f.subject == found.subject);
        let known = known.map(Finding::excess).reduce(f64::max);
        if known.is_some_and(|known| found.excess() <= known * 1.000_01 + 1e-6) {
            continue;
        }
        assert!(
            told > 0 && was_hidden(design, &found.subject),
            "{}: {}: it makes this, which was {known:?} beyond its limit: {found:#?}",
            finding.code,
            remedy.text
        );
        told -= 1;
    }
    assert_eq!(told, 0, "{}: {}: fewer come to light", finding.code, remedy.text);
}

/// Whether the figures of a thing were unknown: those of its output, its panel, or the run it hangs on.
fn was_hidden(design: &Design, subject: &Subject) -> bool {
    let study = &design.study;
    match subject.kind {
        Kind::Output => study.outputs.iter().any(|o| o.output.to_string() == subject.id && o.watts.is_none()),
        Kind::Panel => study
            .panels
            .iter()
            .any(|p| p.panel.as_str() == subject.id && (p.ac_amps.is_none() || p.output_watts.is_none())),
        _ => {
            let solved = |run: &RunStudy| matches!(run.outcome, Outcome::Solved | Outcome::NoSolution);
            let shown = study.runs(&design.network).filter(|run| solved(run)).any(|run| {
                let run = &design.network.runs[run.run];
                let controls =
                    run.controls.iter().map(|(_, at)| &design.job.boxes[at.wall_box].controls[at.control]);
                let loops = controls.flat_map(|control| &control.loops);
                run.id.as_str() == subject.id
                    || loops.into_iter().any(|wired| {
                        wired.id.as_str() == subject.id
                            || wired.ceiling.iter().any(|held| held.id.as_str() == subject.id)
                    })
            });
            !shown
        }
    }
}

#[test]
fn every_remedy_clears_its_finding_and_makes_nothing_as_bad() {
    let design = sample("usual-mistakes");
    let (mut tried, mut codes) = (0, BTreeSet::new());
    for group in grouped(&design.findings) {
        let worst = group.worst().unwrap();
        for remedy in remedies(&design, worst) {
            helps(&design, worst, &remedy);
            tried += 1;
            codes.insert(worst.code);
        }
    }
    assert!(tried >= 30 && codes.len() >= 20, "{tried} remedies for {codes:?}");
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
