//! `studbay sheet`: one sheet of a job, to the standard output or to a file.

use super::args::{Form, SheetArgs};
use super::{Outcome, Plugs, load, load_input, say};
use crate::job::edit::apply;
use crate::job::{Index, Job};
use crate::plan::tags;
use crate::schedule::Table;
use crate::schedule::narrow::Narrow;
use crate::sheets::text::Drawing;
use crate::sheets::{Entry, Heading, Narrowed, Paper, csv, pdf, since, text};
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
    if let Some(path) = &args.out {
        keep_jobs(path, &args.job)?;
        args.since.as_ref().map_or(Ok(()), |since| keep_jobs(path, since))?;
    }
    let since = args.since.as_deref().map(load_input).transpose()?;
    let (job, index) = if args.write { stored(args, err)? } else { load(&args.job)? };
    let date = args.date.unwrap_or_else(|| jiff::ZonedDateTime::now().date());
    let heading = Heading::of(&job.project, date);
    if args.out.is_none() && plugs.terminal && form_of(args) == Form::Pdf {
        bail!(
            "a PDF is nothing to read in a terminal; give a file with --out FILE.pdf, or send it on with '|'"
        );
    }
    let part = part_of_house(args, plugs, &job)?;
    let since = since.map(|(job, index)| (since_words(&job), (plugs.study)(job, index)));
    let asked = Asked { args, plugs, heading, part, since };
    let bytes = asked.made(&(plugs.study)(job, index))?;
    match &args.out {
        Some(path) => store::replace(path, &bytes)?,
        None => say::print(out, &bytes)?,
    }
    Ok(Outcome::Fine)
}

/// Which state of the job changes are counted from.
fn since_words(job: &Job) -> String {
    match job.project.revision.trim() {
        "" => "since the earlier state".to_owned(),
        revision => format!("since revision {revision}"),
    }
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

/// A sheet as it was asked for.
struct Asked<'a, D> {
    args: &'a SheetArgs,
    plugs: &'a Plugs<'a, D>,
    heading: Heading,
    part: PartOfHouse<'a, D>,
    /// The earlier state that changes are marked against, with the words for it.
    since: Option<(String, D)>,
}

impl<D> Asked<'_, D> {
    fn made(&self, design: &D) -> anyhow::Result<Vec<u8>> {
        let args = self.args;
        let form = form_of(args);
        if form == Form::Json && args.part.is_some() {
            bail!("JSON holds the whole sheet; leave --part out");
        }
        if args.name == self.plugs.revision.name {
            let Some((_, earlier)) = &self.since else {
                bail!("a revision needs an earlier state of the job: give it with --since OLD");
            };
            return match form {
                Form::Json => Ok((self.plugs.revision.json)(earlier, design)?.into_bytes()),
                _ => self.printed((self.plugs.revision.tables)(earlier, design), form),
            };
        }
        let entry = self.plugs.sheets.iter().find(|entry| entry.name == args.name);
        let entry = entry.with_context(|| format!("there is no sheet '{}'", args.name))?;
        if form == Form::Json {
            let json = self.json(entry, design)?;
            return Ok(match &self.since {
                Some((_, earlier)) => since::mark_json(&json, &self.json(entry, earlier)?)?,
                None => json,
            }
            .into_bytes());
        }
        if let Some(drawings) = entry.drawings {
            return self.drawn(entry, drawings, form, design);
        }
        let tables = self.tables(entry, design);
        let tables = match &self.since {
            Some((words, earlier)) => {
                since::mark(tables, &self.tables(entry, earlier), self.heading.unit, words)
            }
            None => tables,
        };
        self.printed(tables, form)
    }

    fn tables(&self, entry: &Entry<D>, design: &D) -> Vec<Table> {
        match &self.part {
            Some((sheet, narrow)) => (sheet.tables)(design, narrow),
            None => (entry.tables)(design),
        }
    }

    fn json(&self, entry: &Entry<D>, design: &D) -> Result<String, serde_json::Error> {
        match &self.part {
            Some((sheet, narrow)) => (sheet.json)(design, narrow),
            None => (entry.json)(design),
        }
    }

    fn paper(&self) -> Paper {
        Paper::new(self.args.width, self.args.page_lines)
    }

    fn printed(&self, tables: Vec<Table>, form: Form) -> anyhow::Result<Vec<u8>> {
        let tables = part(tables, self.args.part.as_deref())?;
        Ok(match form {
            Form::Csv => csv::write(&tables)?,
            Form::Pdf => pdf::print(&self.heading, &tables, self.args.page())?,
            _ => text::print(&self.heading, &tables, self.paper()).into_bytes(),
        })
    }

    /// A picture, with what is other since the earlier state named beneath.
    fn drawn(
        &self,
        entry: &Entry<D>,
        drawings: fn(&D, Paper) -> Vec<Drawing>,
        form: Form,
        design: &D,
    ) -> anyhow::Result<Vec<u8>> {
        if form == Form::Pdf {
            bail!("the sheet '{}' is a picture, which is printed as text so far", entry.name);
        }
        if form == Form::Csv {
            bail!(
                "the sheet '{}' is a picture, which a spreadsheet can't hold; use text or JSON",
                entry.name
            );
        }
        if self.args.part.is_some() {
            bail!("the sheet '{}' is a picture and has no tables; leave --part out", entry.name);
        }
        let mut drawn = drawings(design, self.paper());
        if let (Some((words, earlier)), Some(last)) = (&self.since, drawn.last_mut()) {
            let others = (self.plugs.revision.others)(earlier, design);
            let said = if others.is_empty() { "nothing".to_owned() } else { others.join(", ") };
            let note = crate::format::Text::from(format!("Other {words}: {said}"));
            let lines = note.wrapped(self.paper().width().saturating_sub(2));
            last.notes.extend(lines.into_iter().map(crate::format::Text::from));
        }
        Ok(text::print_drawings(&self.heading, &entry.name.into(), &drawn, self.paper()).into_bytes())
    }
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
