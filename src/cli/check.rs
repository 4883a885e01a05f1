//! `studbay check`: what is wrong with jobs.

use super::args::CheckArgs;
use super::{Outcome, Plugs, load, say};
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
