//! `studbay check`: what is wrong with jobs.

use super::args::{CheckArgs, ReportForm};
use super::{Outcome, load, say};
use crate::checks::{CHECKS, Finding, Group};
use crate::design::Design;
use crate::format::Text;
use crate::job::{Index, Job};
use crate::schedule::findings::{self, Totals};
use crate::sheets::json;
use serde::Serialize;
use std::io::Write;
use std::path::Path;
use std::sync::Mutex;
use std::sync::atomic::{AtomicUsize, Ordering};

/// Columns of the text, so that it can be read in any terminal.
const WIDTH: usize = 80;

/// What a check of one job found: findings by cause, each with what helps.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Report {
    /// The causes, worst first, each with what to do about it.
    pub groups: Vec<(Group, String)>,
}

impl Report {
    /// Groups the findings of a design and tries out what helps against each cause.
    pub fn of(design: &Design) -> Self {
        Self { groups: findings::groups(design) }
    }

    fn findings(&self) -> impl Iterator<Item = (&Finding, &str)> {
        self.groups.iter().flat_map(|(group, remedy)| group.findings.iter().map(|f| (f, remedy.as_str())))
    }

    /// Whether it has an error that nobody accepted.
    pub fn failing(&self) -> bool {
        self.findings().any(|(finding, _)| finding.fails())
    }

    fn totals(&self) -> Totals {
        Totals::of(self.findings().map(|(finding, _)| finding))
    }
}

#[derive(Serialize)]
struct Document {
    findings: Vec<FindingRow>,
    jobs: Vec<JobRow>,
}

#[derive(Serialize)]
struct FindingRow {
    job: String,
    #[serde(flatten)]
    finding: findings::Found,
}

#[derive(Serialize)]
struct JobRow {
    job: String,
    #[serde(flatten)]
    totals: Option<Totals>,
    failure: Option<String>,
}

/// Checks each job; one that cannot be used does not keep the others from being checked.
pub(super) fn run(
    args: &CheckArgs,
    check: &(dyn Fn(Job, Index) -> Report + Sync),
    out: &mut dyn Write,
    err: &mut dyn Write,
) -> anyhow::Result<Outcome> {
    if args.list {
        say::print(out, listed().as_bytes())?;
        return Ok(Outcome::Fine);
    }
    let reports = all_at_once(args, check);
    let mut worst = Outcome::Fine;
    let mut text = String::new();
    let mut document = Document { findings: Vec::new(), jobs: Vec::new() };
    let mut sum = Totals::default();
    let mut failures = 0;
    for (path, report) in args.jobs.iter().zip(&reports) {
        let job = path.display().to_string();
        let outcome = match report {
            Ok(report) => {
                let totals = report.totals();
                sum = sum.and(totals);
                text += &in_words(&job, report, totals);
                document
                    .findings
                    .extend(report.findings().map(|(finding, remedy)| row(&job, finding, remedy)));
                document.jobs.push(JobRow { job, totals: Some(totals), failure: None });
                if report.failing() { Outcome::Failing } else { Outcome::Fine }
            }
            Err(error) => {
                failures += 1;
                say::fail(err, error);
                document.jobs.push(JobRow { job, totals: None, failure: Some(format!("{error:#}")) });
                Outcome::Unusable
            }
        };
        worst = worst.max(outcome);
    }
    match args.form {
        ReportForm::Json => say::print(out, json::pretty(&document)?.as_bytes())?,
        ReportForm::Text => {
            if args.jobs.len() > 1 && failures < args.jobs.len() {
                let unusable = if failures > 0 { format!(" ({failures} unusable)") } else { String::new() };
                text.extend([&args.jobs.len().to_string(), " jobs", &unusable, ": ", &sum.words(), "\n"]);
            }
            say::print(out, text.as_bytes())?;
        }
    }
    Ok(worst)
}

/// Checks the jobs on as many threads as there are cores; the reports stand in the order of the jobs.
fn all_at_once(
    args: &CheckArgs,
    check: &(dyn Fn(Job, Index) -> Report + Sync),
) -> Vec<anyhow::Result<Report>> {
    let one = |path: &Path| load(path).map(|(job, index)| check(job, index));
    let cores = std::thread::available_parallelism().map_or(1, std::num::NonZero::get);
    let next = AtomicUsize::new(0);
    let done: Mutex<Vec<(usize, anyhow::Result<Report>)>> = Mutex::new(Vec::new());
    std::thread::scope(|scope| {
        for _ in 0..cores.min(args.jobs.len()) {
            scope.spawn(|| {
                loop {
                    let at = next.fetch_add(1, Ordering::Relaxed);
                    let Some(path) = args.jobs.get(at) else { break };
                    let report = one(path);
                    // A thread that panicked takes the program with it, so what it held does not matter.
                    done.lock().unwrap_or_else(std::sync::PoisonError::into_inner).push((at, report));
                }
            });
        }
    });
    let mut done = done.into_inner().unwrap_or_else(std::sync::PoisonError::into_inner);
    done.sort_by_key(|(at, _)| *at);
    done.into_iter().map(|(_, report)| report).collect()
}

fn row(job: &str, finding: &Finding, remedy: &str) -> FindingRow {
    FindingRow { job: job.to_owned(), finding: findings::Found::of(finding, remedy) }
}

/// The findings of a job, a few lines for each cause.
fn in_words(job: &str, report: &Report, totals: Totals) -> String {
    let mut text = format!("{}: {}\n", Text::from(job), totals.words());
    for (group, remedy) in &report.groups {
        let Some(worst) = group.worst() else { continue };
        let unit = worst.unit.symbol();
        let found = worst.figures_shown().map_or_else(String::new, |[found, limit]| {
            let [found, limit] =
                [found, limit].map(|figure| format!("{figure} {unit}").trim_end().to_owned());
            format!("{found} against {limit}; ")
        });
        let sign = if worst.accepted.is_some() { "accepted" } else { worst.severity.word() };
        text += &folded(&format!("{sign:8} "), &format!("[{}] {}", worst.code, group.what()));
        text += &folded("         limit: ", &format!("{found}{}", worst.source));
        if let Some(accepted) = &worst.accepted {
            text += &folded("         by: ", &format!("{}, {}", accepted.by, accepted.reason));
        } else if !remedy.is_empty() {
            text += &folded("         do: ", remedy);
        }
    }
    text
}

/// A text in lines of [`WIDTH`], those after the first set in under it.
fn folded(head: &str, text: &str) -> String {
    let text = Text::from(text);
    let mut lines = String::new();
    let mut line = format!("  {head}");
    let start = line.chars().count();
    let mut empty = true;
    for word in text.as_str().split(' ') {
        let long = crate::format::width(&line) + crate::format::width(word) >= WIDTH;
        if long && !empty {
            lines += line.trim_end();
            lines.push('\n');
            line = " ".repeat(start);
        }
        line += word;
        line.push(' ');
        empty = false;
    }
    lines += line.trim_end();
    lines.push('\n');
    lines
}

/// Every check, with where its limit comes from.
fn listed() -> String {
    let mut text = String::new();
    for check in CHECKS {
        text += &folded(&format!("{:16} {:8} ", check.code, check.severity.word()), check.about);
        text += &folded(&format!("{:26}", ""), &check.source.listed());
    }
    text
}
