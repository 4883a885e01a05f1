//! `studbay readings`: a table of what was read on site, into a job.

use super::args_site::ReadingsArgs;
use super::{Outcome, load, say};
use crate::format::Text;
use crate::intake::{MOST_BYTES, TakenReadings, read_readings};
use crate::job::Job;
use crate::job::edit::apply;
use crate::store::{self, Keeper, Opened, Unsaved};
use anyhow::Context;
use std::io::Write;
use std::path::Path;

pub(super) fn run(args: &ReadingsArgs, out: &mut dyn Write) -> anyhow::Result<Outcome> {
    if args.write {
        return put(args, out);
    }
    let (job, _) = load(&args.job)?;
    let said = counted(&taken(&job, &args.from)?);
    let (job, table) = (shown(&args.job), shown(&args.from));
    let line =
        format!("{said}.\nNext: put them into the job:  studbay readings {job} --from {table} --write\n");
    say::print(out, line.as_bytes())?;
    Ok(Outcome::Fine)
}

/// Puts the table into the job file, under its lock.
fn put(args: &ReadingsArgs, out: &mut dyn Write) -> anyhow::Result<Outcome> {
    let Opened { mut keeper, mut job, notes, .. } = Keeper::open_to_write(&args.job)?;
    let taken = taken(&job, &args.from)?;
    let mut lines = vec![format!("In '{}': {}.", shown(&args.job), counted(&taken))];
    if taken.readings + taken.records > 0 {
        apply(&mut job, taken.edit)?;
        let saved = keeper.save(&job)?;
        lines.extend(
            saved.orig.map(|orig| format!("The file with its comments is kept as '{}'.", shown(&orig))),
        );
    }
    keeper.close(Unsaved::None);
    lines.extend(notes.into_iter().map(|note| Text::from(note).to_string()));
    say::print(out, format!("{}\n", lines.join("\n")).as_bytes())?;
    Ok(Outcome::Fine)
}

fn counted(taken: &TakenReadings) -> String {
    let known = if taken.known > 0 { format!(", {} known already", taken.known) } else { String::new() };
    format!("{} readings, {} marks and steps{known}", taken.readings, taken.records)
}

fn taken(job: &Job, table: &Path) -> anyhow::Result<TakenReadings> {
    let most = u64::try_from(MOST_BYTES).context("the size limit is out of range")?;
    let text = store::read_text(table, most)?;
    read_readings(job, &text).map_err(|flaws| {
        let file = shown(table);
        let lines: Vec<String> = flaws.to_string().lines().map(|line| format!("{file}: {line}")).collect();
        anyhow::anyhow!("{}", lines.join("\n"))
    })
}

fn shown(path: &Path) -> Text {
    Text::from(path.display().to_string())
}
