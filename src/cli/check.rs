//! `studbay check`: what is wrong with jobs.

use super::args::CheckArgs;
use super::{Outcome, Plugs, load, say};
use crate::checks::{Finding, Severity};
use crate::format::Text;
use std::io::Write;

/// What a check of one job found.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Report {
    /// What to print, each line under the file's name.
    pub lines: Vec<Text>,
    /// Whether it has an error that nobody accepted.
    pub failing: bool,
}

impl Report {
    /// Says each finding with where its limit comes from and what to do, then how many there are.
    pub fn of(findings: &[Finding]) -> Self {
        let mut lines: Vec<Text> = findings.iter().map(|finding| said(finding).into()).collect();
        let severities = [Severity::Error, Severity::Warning, Severity::Advice];
        let counts = severities.map(|severity| findings.iter().filter(|f| f.severity == severity).count());
        let [errors, warnings, advice] = counts;
        let words = [(errors, "error"), (warnings, "warning"), (advice, "point of advice")];
        let counted: Vec<String> =
            words.iter().filter(|(n, _)| *n > 0).map(|(n, word)| several(*n, word)).collect();
        lines.push(if counted.is_empty() { "no findings".into() } else { counted.join(", ").into() });
        Self { lines, failing: errors > 0 }
    }
}

fn several(n: usize, word: &str) -> String {
    match (n, word.split_once(' ')) {
        (1, _) => format!("1 {word}"),
        (_, Some((first, rest))) => format!("{n} {first}s {rest}"),
        (_, None) => format!("{n} {word}s"),
    }
}

fn said(finding: &Finding) -> String {
    let Finding { severity, code, what, remedy, source, .. } = finding;
    format!("{} [{code}] {what}; {remedy} ({source})", severity.word())
}

/// Checks each job; one that cannot be used does not keep the others from being checked.
pub(super) fn run<D>(
    args: &CheckArgs,
    plugs: &Plugs<'_, D>,
    out: &mut dyn Write,
    err: &mut dyn Write,
) -> anyhow::Result<Outcome> {
    let mut worst = Outcome::Fine;
    for path in &args.jobs {
        let outcome = match load(path) {
            Ok((job, index)) => {
                let report = (plugs.check)(&(plugs.study)(job, index));
                let file = Text::from(path.display().to_string());
                let lines: Vec<String> =
                    report.lines.iter().map(|line| format!("{file}: {line}\n")).collect();
                say::print(out, lines.concat().as_bytes())?;
                if report.failing { Outcome::Failing } else { Outcome::Fine }
            }
            Err(error) => {
                say::fail(err, &error);
                Outcome::Unusable
            }
        };
        worst = worst.max(outcome);
    }
    Ok(worst)
}
