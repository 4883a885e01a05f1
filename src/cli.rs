//! The command line: what can be typed, what it does, and how it ends.
//!
//! It ends with 0 when all is well, 1 when a check fails, 2 when the command or a file is unusable. What reads and
//! studies a job is passed in as [`Plugs`], so that a test can drive every command without a process.

mod args;
mod arrange;
mod balance;
mod check;
mod explain;
mod manual;
mod new;
mod rooms;
mod say;
mod sheet;

pub use check::Report;

use crate::explain::NoFigure;
use crate::job::{Index, Job, read};
use crate::plan::balance::{Options, Problem, Proposal, Question, WhatIf};
use crate::plan::slots::Arrangement;
use crate::sheets::{Entry, Narrowed};
use crate::store;
use anyhow::Context;
use args::{Cli, Command};
use clap::FromArgMatches;
use std::ffi::OsString;
use std::io::Write;
use std::path::Path;

/// Opens the views on a job file and comes back when they are closed.
pub type Open<'a> = &'a dyn Fn(&Path) -> anyhow::Result<()>;

/// Says how figures of a studied job came about.
pub type Explain<'a, D> = &'a dyn Fn(&D, &[String]) -> Result<String, NoFigure>;

/// Answers a question about a studied job.
pub type WhatIfPlug<'a, D> = &'a dyn Fn(&D, &Question, &Options) -> Result<WhatIf, Vec<Problem>>;

/// What the commands need of the rest of the program; `D` is the studied job.
pub struct Plugs<'a, D> {
    /// Opens the views on a job file, for `studbay JOB`.
    pub open: Open<'a>,
    /// Studies a job.
    pub study: &'a dyn Fn(Job, Index) -> D,
    /// What is wrong with a job; several are checked at once.
    pub check: &'a (dyn Fn(Job, Index) -> Report + Sync),
    /// How figures of it came about, each by its name; without one, the names there are.
    pub explain: Explain<'a, D>,
    /// The sheets that can be printed.
    pub sheets: &'a [Entry<D>],
    /// Those of them that can be printed for a part of the house.
    pub narrowed: &'a [Narrowed<D>],
    /// Whether the standard output is a terminal, which shows no PDF.
    pub terminal: bool,
    /// Proposes how to balance it.
    pub balance: &'a dyn Fn(&D, &Options) -> Proposal,
    /// Answers a question about it that changes nothing.
    pub what_if: WhatIfPlug<'a, D>,
    /// Proposes where its supplies sit and which panel each home run comes from.
    pub arrange: &'a dyn Fn(&D) -> Arrangement,
}

/// How a command that ran came out.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Outcome {
    Fine,
    Failing,
    Unusable,
}

/// Runs a command line, the program's name first, and gives the exit code.
pub fn run<D>(
    args: impl IntoIterator<Item = OsString>,
    plugs: &Plugs<'_, D>,
    out: &mut dyn Write,
    err: &mut dyn Write,
) -> u8 {
    let matches = args::command(plugs).try_get_matches_from(args);
    let outcome = match matches.and_then(|matches| Cli::from_arg_matches(&matches)) {
        Ok(cli) => dispatch(cli, plugs, out, err),
        Err(error) if error.use_stderr() => {
            say::complain(err, &error.render().to_string());
            Ok(Outcome::Unusable)
        }
        Err(help) => say::print(out, help.render().to_string().as_bytes()).map(|()| Outcome::Fine),
    };
    match outcome {
        Ok(outcome) => outcome as u8,
        Err(error) => {
            say::fail(err, &error);
            Outcome::Unusable as u8
        }
    }
}

fn dispatch<D>(
    cli: Cli,
    plugs: &Plugs<'_, D>,
    out: &mut dyn Write,
    err: &mut dyn Write,
) -> anyhow::Result<Outcome> {
    match (cli.command, cli.job) {
        (Some(Command::New(args)), _) => new::run(&args, out),
        (Some(Command::Check(args)), _) => check::run(&args, plugs.check, out, err),
        (Some(Command::Explain(args)), _) => explain::run(&args, plugs, out),
        (Some(Command::Sheet(args)), _) => sheet::run(&args, plugs, out, err),
        (Some(Command::Balance(args)), _) => balance::run(&args, plugs, out),
        (Some(Command::Arrange(args)), _) => arrange::run(&args, plugs, out),
        (Some(Command::Rooms(args)), _) => rooms::run(&args, out, err),
        (Some(Command::Completions(args)), _) => manual::completions(&args, args::command(plugs), out),
        (Some(Command::Man(args)), _) => manual::page(&args, args::command(plugs), out),
        (None, Some(job)) => (plugs.open)(&job).map(|()| Outcome::Fine),
        (None, None) => anyhow::bail!("there is no job to open; see 'studbay --help'"),
    }
}

/// Reads and checks a job file.
fn load(path: &Path) -> anyhow::Result<(Job, Index)> {
    let most = u64::try_from(read::MOST_BYTES).context("the size limit is out of range")?;
    let text = store::read_text(path, most)?;
    Ok(read::from_str(&path.display().to_string(), &text)?)
}
