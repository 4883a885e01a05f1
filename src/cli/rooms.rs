//! `studbay rooms`: the table of rooms, out of a job and into it.

use super::args::RoomsArgs;
use super::{Outcome, load, say, sheet::keep_jobs};
use crate::format::Text;
use crate::intake::{self, Intake, MOST_BYTES};
use crate::job::Job;
use crate::job::edit::apply;
use crate::store::{self, Keeper, Opened, Unsaved};
use anyhow::Context;
use std::io::Write;
use std::path::Path;

pub(super) fn run(args: &RoomsArgs, out: &mut dyn Write, err: &mut dyn Write) -> anyhow::Result<Outcome> {
    match &args.table {
        None => table_out(args, out, err),
        Some(table) if args.write => table_in(args, table, out),
        Some(table) => {
            let (job, _) = load(&args.job)?;
            let made = taken(&job, table)?.made;
            let (job, table) = (shown(&args.job), shown(table));
            let next = format!("studbay rooms {job} --in {table} --write");
            let line = format!("The table makes {made}.\nNext: put them into the job:  {next}\n");
            say::print(out, line.as_bytes())?;
            Ok(Outcome::Fine)
        }
    }
}

fn table_out(args: &RoomsArgs, out: &mut dyn Write, err: &mut dyn Write) -> anyhow::Result<Outcome> {
    if let Some(path) = &args.out {
        keep_jobs(path, &args.job)?;
    }
    let (job, _) = load(&args.job)?;
    let table = intake::write(&job).context("the table cannot be written")?;
    match &args.out {
        Some(path) => store::replace(path, table.csv.as_bytes())?,
        None => say::print(out, table.csv.as_bytes())?,
    }
    if !table.left_out.is_empty() {
        say::note(err, &format!("not in the table: {}", table.left_out.join("; ")));
    }
    Ok(Outcome::Fine)
}

/// Puts a table into the job file, under its lock.
fn table_in(args: &RoomsArgs, table: &Path, out: &mut dyn Write) -> anyhow::Result<Outcome> {
    let Opened { mut keeper, mut job, notes, .. } = Keeper::open_to_write(&args.job)?;
    let taken = taken(&job, table)?;
    apply(&mut job, taken.edit)?;
    let saved = keeper.save(&job)?;
    keeper.close(Unsaved::None);
    let mut lines = vec![format!("Made in '{}': {}.", shown(&args.job), taken.made)];
    lines.extend(saved.orig.map(|orig| format!("The file as it was is kept as '{}'.", shown(&orig))));
    lines.extend(notes.into_iter().map(|note| Text::from(note).to_string()));
    say::print(out, format!("{}\n", lines.join("\n")).as_bytes())?;
    Ok(Outcome::Fine)
}

fn taken(job: &Job, table: &Path) -> anyhow::Result<Intake> {
    let most = u64::try_from(MOST_BYTES).context("the size limit is out of range")?;
    let text = store::read_text(table, most)?;
    intake::read(job, &text).map_err(|flaws| {
        let file = shown(table);
        let lines: Vec<String> = flaws.to_string().lines().map(|line| format!("{file}: {line}")).collect();
        anyhow::anyhow!("{}", lines.join("\n"))
    })
}

fn shown(path: &Path) -> Text {
    Text::from(path.display().to_string())
}
