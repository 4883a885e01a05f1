//! `studbay prices`: the price list, out of a job and into it.

use super::args::PricesArgs;
use super::{Outcome, load, say, sheet::keep_jobs};
use crate::format::Text;
use crate::intake::MOST_BYTES;
use crate::intake::prices::{self, PriceList};
use crate::job::Job;
use crate::job::edit::apply;
use crate::store::{self, Keeper, Opened, Unsaved};
use anyhow::Context;
use std::io::Write;
use std::path::Path;

pub(super) fn run(args: &PricesArgs, out: &mut dyn Write) -> anyhow::Result<Outcome> {
    match &args.table {
        None => list_out(args, out),
        Some(table) if args.write => list_in(args, table, out),
        Some(table) => {
            let (job, _) = load(&args.job)?;
            let list = taken(&job, table)?;
            let mut lines = said(&list);
            if !list.changes.is_empty() {
                let (job, table) = (shown(&args.job), shown(table));
                lines
                    .push(format!("Next: put them into the job:  studbay prices {job} --in {table} --write"));
            }
            say::print(out, format!("{}\n", lines.join("\n")).as_bytes())?;
            Ok(Outcome::Fine)
        }
    }
}

fn list_out(args: &PricesArgs, out: &mut dyn Write) -> anyhow::Result<Outcome> {
    if let Some(path) = &args.out {
        keep_jobs(path, &args.job)?;
    }
    let (job, _) = load(&args.job)?;
    let list = prices::write(&job).context("the price list cannot be written")?;
    match &args.out {
        Some(path) => store::replace(path, list.as_bytes())?,
        None => say::print(out, list.as_bytes())?,
    }
    Ok(Outcome::Fine)
}

/// Puts a price list into the job file, under its lock.
fn list_in(args: &PricesArgs, table: &Path, out: &mut dyn Write) -> anyhow::Result<Outcome> {
    let Opened { mut keeper, mut job, notes, .. } = Keeper::open_to_write(&args.job)?;
    let list = taken(&job, table)?;
    let mut lines = said(&list);
    if !list.changes.is_empty() {
        apply(&mut job, list.edit)?;
        let saved = keeper.save(&job)?;
        lines.push(format!("Written to '{}'.", shown(&args.job)));
        lines.extend(
            saved.orig.map(|orig| format!("The file with its comments is kept as '{}'.", shown(&orig))),
        );
    }
    keeper.close(Unsaved::None);
    lines.extend(notes.into_iter().map(|note| Text::from(note).to_string()));
    say::print(out, format!("{}\n", lines.join("\n")).as_bytes())?;
    Ok(Outcome::Fine)
}

fn said(list: &PriceList) -> Vec<String> {
    let mut lines: Vec<String> = list.changes.iter().map(|change| Text::from(change).to_string()).collect();
    lines.push(match list.changes.len() {
        0 => format!("No price changes; {} rows say what is there already.", list.same),
        n => format!("{n} changes; {} rows say what is there already.", list.same),
    });
    lines
}

fn taken(job: &Job, table: &Path) -> anyhow::Result<PriceList> {
    let most = u64::try_from(MOST_BYTES).context("the size limit is out of range")?;
    let text = store::read_text(table, most)?;
    prices::read(job, &text).map_err(|flaws| {
        let file = shown(table);
        let lines: Vec<String> = flaws.to_string().lines().map(|line| format!("{file}: {line}")).collect();
        anyhow::anyhow!("{}", lines.join("\n"))
    })
}

fn shown(path: &Path) -> Text {
    Text::from(path.display().to_string())
}
