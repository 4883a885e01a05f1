//! `studbay sheet`: one sheet of a job, to the standard output or to a file.

use super::args::{Form, SheetArgs};
use super::{Outcome, Plugs, load, say};
use crate::job::edit::apply;
use crate::job::{Index, Job};
use crate::plan::tags;
use crate::schedule::Table;
use crate::schedule::narrow::Narrow;
use crate::sheets::{Entry, Heading, Narrowed, Paper, csv, pdf, text};
use crate::store::{self, Keeper, Opened, StoreError, Unsaved};
use anyhow::{Context, bail};
use std::ffi::OsStr;
use std::io::Write;
use std::path::Path;

pub(super) fn run<D>(
    args: &SheetArgs,
    plugs: &Plugs<'_, D>,
    out: &mut dyn Write,
    err: &mut dyn Write,
) -> anyhow::Result<Outcome> {
    let entry = plugs
        .sheets
        .iter()
        .find(|entry| entry.name == args.name)
        .with_context(|| format!("there is no sheet '{}'", args.name))?;
    if let Some(path) = &args.out {
        keep_jobs(path, &args.job)?;
    }
    let (job, index) = if args.write { stored(args, err)? } else { load(&args.job)? };
    let date = args.date.unwrap_or_else(|| jiff::ZonedDateTime::now().date());
    let heading = Heading::of(&job.project, date);
    if args.out.is_none() && plugs.terminal && form_of(args) == Form::Pdf {
        bail!(
            "a PDF is nothing to read in a terminal; give a file with --out FILE.pdf, or send it on with '|'"
        );
    }
    let part = part_of_house(args, plugs, &job)?;
    let bytes = made(args, entry, part.as_ref(), &heading, &(plugs.study)(job, index))?;
    match &args.out {
        Some(path) => store::replace(path, &bytes)?,
        None => say::print(out, &bytes)?,
    }
    Ok(Outcome::Fine)
}

/// The job with all its tags stored: what is printed on flags must be what the file says for good.
fn stored(args: &SheetArgs, err: &mut dyn Write) -> anyhow::Result<(Job, Index)> {
    if args.name != "tags" {
        bail!("the sheet '{}' stores nothing; leave --write out", args.name);
    }
    let Opened { mut keeper, mut job, index, .. } = Keeper::open_to_write(&args.job)?;
    if let Some(edit) = tags::store(&job) {
        let count = tags::Tags::of(&job).unstored().0;
        apply(&mut job, edit)?;
        let saved = keeper.save(&job)?;
        say::note(err, &format!("{count} tags are stored in {} now", args.job.display()));
        if let Some(orig) = saved.orig {
            say::note(err, &format!("the file with its comments is kept as {}", orig.display()));
        }
    }
    keeper.close(Unsaved::None);
    Ok((job, index))
}

/// Refuses to write a sheet over the job it is made from, or over anything that is named like a job.
pub(super) fn keep_jobs(path: &Path, job: &Path) -> Result<(), StoreError> {
    let named_like_one = path.extension() == Some(OsStr::new("ron")) && path.exists();
    if named_like_one || store::same_file(path, job) {
        return Err(StoreError::IsJob { file: path.into() });
    }
    Ok(())
}

/// A sheet that can be narrowed, with the part of the house that is wanted.
type PartOfHouse<'a, D> = Option<(&'a Narrowed<D>, Narrow)>;

fn part_of_house<'a, D>(
    args: &SheetArgs,
    plugs: &Plugs<'a, D>,
    job: &Job,
) -> anyhow::Result<PartOfHouse<'a, D>> {
    let (level, panel, cable) = (args.level.as_deref(), args.panel.as_deref(), args.cable.as_deref());
    let asked = [("level", level), ("panel", panel), ("cable", cable)];
    let mut asked = asked.iter().filter(|(_, typed)| typed.is_some()).map(|(option, _)| *option).peekable();
    if asked.peek().is_none() {
        return Ok(None);
    }
    let narrowed = plugs.narrowed.iter().find(|narrowed| narrowed.name == args.name);
    if let Some(option) = asked.find(|option| narrowed.is_none_or(|sheet| !sheet.by.contains(option))) {
        let others = plugs.narrowed.iter().filter(|sheet| sheet.by.contains(&option));
        let others: Vec<&str> = others.map(|sheet| sheet.name).collect();
        bail!("the sheet '{}' takes no --{option}; {} can", args.name, others.join(" and "));
    }
    let narrow = Narrow::typed(job, level, panel, cable).map_err(anyhow::Error::msg)?;
    Ok(narrowed.map(|sheet| (sheet, narrow)))
}

fn made<D>(
    args: &SheetArgs,
    entry: &Entry<D>,
    part_of_house: Option<&(&Narrowed<D>, Narrow)>,
    heading: &Heading,
    design: &D,
) -> anyhow::Result<Vec<u8>> {
    let form = form_of(args);
    if form == Form::Json {
        if args.part.is_some() {
            bail!("JSON holds the whole sheet; leave --part out");
        }
        return Ok(match part_of_house {
            Some((sheet, narrow)) => (sheet.json)(design, narrow)?,
            None => (entry.json)(design)?,
        }
        .into_bytes());
    }
    if entry.drawings.is_some() {
        if form == Form::Pdf {
            bail!("the sheet '{}' is a picture, which is printed as text so far", entry.name);
        }
        if form == Form::Csv {
            bail!(
                "the sheet '{}' is a picture, which a spreadsheet can't hold; use text or JSON",
                entry.name
            );
        }
        if args.part.is_some() {
            bail!("the sheet '{}' is a picture and has no tables; leave --part out", entry.name);
        }
        let paper = Paper::new(args.width, args.page_lines);
        return Ok(entry.printed(design, heading, paper).into_bytes());
    }
    let tables = match part_of_house {
        Some((sheet, narrow)) => (sheet.tables)(design, narrow),
        None => (entry.tables)(design),
    };
    let tables = part(tables, args.part.as_deref())?;
    Ok(match form {
        Form::Csv => csv::write(&tables)?,
        Form::Pdf => pdf::print(heading, &tables, args.page())?,
        _ => text::print(heading, &tables, Paper::new(args.width, args.page_lines)).into_bytes(),
    })
}

fn form_of(args: &SheetArgs) -> Form {
    args.form.unwrap_or_else(|| match args.out.as_deref().and_then(Path::extension).and_then(OsStr::to_str) {
        Some("csv") => Form::Csv,
        Some("json") => Form::Json,
        Some("pdf") => Form::Pdf,
        _ => Form::Text,
    })
}

fn part(tables: Vec<Table>, name: Option<&str>) -> anyhow::Result<Vec<Table>> {
    let Some(name) = name else { return Ok(tables) };
    let names: Vec<&str> = tables.iter().map(|table| table.name).collect();
    let names = names.join(", ");
    let found: Vec<Table> = tables.into_iter().filter(|table| table.name == name).collect();
    if found.is_empty() {
        bail!("the sheet has no table '{name}'; it has {names}");
    }
    Ok(found)
}
