//! A sheet, or a book of them, in the form that was asked for.

use super::super::Plugs;
use super::super::args::{BOOK, Form, SheetArgs};
use super::{PartOfHouse, form_of, part};
use crate::format::Text;
use crate::schedule::Table;
use crate::sheets::{Book, Drawings, Entry, Heading, Others, Paper, Since, csv, pdf, since, svg, text};
use anyhow::{Context, bail};

/// A sheet as it was asked for.
pub(super) struct Asked<'a, D> {
    pub(super) args: &'a SheetArgs,
    pub(super) plugs: &'a Plugs<'a, D>,
    pub(super) heading: Heading,
    pub(super) part: PartOfHouse<'a, D>,
    /// The earlier state that changes are marked against, with the words for it.
    pub(super) since: Option<(String, D)>,
}

impl<D> Asked<'_, D> {
    pub(super) fn made(&self, design: &D) -> anyhow::Result<Vec<u8>> {
        let args = self.args;
        let form = form_of(args);
        if form == Form::Json && args.part.is_some() {
            bail!("JSON holds the whole sheet; leave --part out");
        }
        if args.name == BOOK {
            return self.bound(form, design);
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
        let entry = self.named(&args.name)?;
        if form == Form::Json {
            let json = self.json(entry, design)?;
            return Ok(match &self.since {
                Some((_, earlier)) => since::mark_json(&json, &self.json(entry, earlier)?)?,
                None => json,
            }
            .into_bytes());
        }
        if entry.is_picture() {
            return self.drawn(entry, form, design);
        }
        if form == Form::Svg {
            bail!("the sheet '{}' is a list; SVG holds pictures, so use text, PDF, CSV or JSON", entry.name);
        }
        // Labels have no room for a mark, and are cut apart.
        if let (Form::Pdf, None, Some(Drawings::Labels(_))) = (form, &args.part, &entry.drawings) {
            return Ok(entry.pdf(design, &self.heading, args.page())?);
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

    fn named(&self, name: &str) -> anyhow::Result<&Entry<D>> {
        let sheets = self.plugs.sheets;
        let known = || sheets.iter().map(|entry| entry.name).collect::<Vec<_>>().join(", ");
        sheets
            .iter()
            .find(|entry| entry.name == name.trim())
            .with_context(|| format!("there is no sheet '{}'; there are {}", Text::from(name), known()))
    }

    /// The sheets that were chosen, as one.
    fn bound(&self, form: Form, design: &D) -> anyhow::Result<Vec<u8>> {
        let args = self.args;
        if args.part.is_some() {
            bail!("a book holds whole sheets; leave --part out");
        }
        let sheets = if args.sheets.is_empty() {
            self.plugs.sheets.iter().collect()
        } else {
            args.sheets.iter().map(|name| self.named(name)).collect::<anyhow::Result<_>>()?
        };
        let book = Book { sheets, since: self.since(design) };
        Ok(match form {
            Form::Pdf => book.pdf(design, &self.heading, args.page())?,
            Form::Text => book.printed(design, &self.heading, self.paper()).into_bytes(),
            Form::Csv | Form::Json | Form::Svg => {
                bail!("a book is for paper; use PDF or text, or ask for its sheets")
            }
        })
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
            Form::Pdf => pdf::print(&self.heading, &pdf::Content::Tables(tables), self.args.page())?,
            _ => text::print(&self.heading, &tables, self.paper()).into_bytes(),
        })
    }

    /// A picture.
    fn drawn(&self, entry: &Entry<D>, form: Form, design: &D) -> anyhow::Result<Vec<u8>> {
        let args = self.args;
        if args.part.is_some() {
            bail!("the sheet '{}' is a picture and has no tables; leave --part out", entry.name);
        }
        let since = self.since(design);
        let content = || entry.content_since(design, &self.heading, since.as_ref());
        match form {
            Form::Pdf => return Ok(pdf::print(&self.heading, &content(), args.page())?),
            Form::Svg => {
                let content = content();
                let drawn = pdf::unbroken(&self.heading, &content, args.page());
                return Ok(svg::write(entry.name, &drawn).into_bytes());
            }
            Form::Csv => bail!(
                "the sheet '{}' is a picture, which a spreadsheet can't hold; use text, PDF, SVG or JSON",
                entry.name
            ),
            Form::Text | Form::Json => {}
        }
        Ok(entry.printed_since(design, &self.heading, self.paper(), since.as_ref()).into_bytes())
    }

    /// The earlier state with what is other since.
    fn since<'d>(&'d self, design: &D) -> Option<Since<'d, D>> {
        let (words, earlier) = self.since.as_ref()?;
        let things = (self.plugs.revision.others)(earlier, design);
        Some(Since { earlier, others: Others { words: words.clone(), things } })
    }
}
