//! Paper and files: tables and figures as paged text, CSV and JSON.
//!
//! It takes [`Table`]s with a [`Heading`] and gives bytes. It reads no clock and no file: date and sizes are passed in.

pub mod cautions;
mod closing;
pub mod csv;
mod flags;
mod heading;
pub mod json;
mod list;
mod narrowed;
mod paired;
pub mod pdf;
pub mod pictures;
pub mod since;
pub mod svg;
pub mod text;

pub use heading::Heading;
pub use list::SHEETS;
pub use narrowed::{NARROWED, Narrowed};
pub use paired::{Paired, REVISION};
pub use text::Paper;

use crate::format::Text;
use crate::job::Subject;
use crate::schedule::Table;
use pdf::Content;
use std::collections::BTreeSet;

impl<D> Entry<D> {
    /// The sheet as text: its pictures if it has any, else its tables.
    pub fn printed(&self, design: &D, heading: &Heading, paper: Paper) -> String {
        self.printed_since(design, heading, paper, None)
    }

    /// The same with what is other since an earlier state marked.
    pub fn printed_since(
        &self,
        design: &D,
        heading: &Heading,
        paper: Paper,
        since: Option<&Since<'_, D>>,
    ) -> String {
        match self.drawings {
            Some(Drawings::Picture { typed, .. }) => {
                let drawn = typed(design, paper, since.map(|since| &since.others));
                text::print_drawings(heading, &self.name.into(), &drawn, paper)
            }
            _ => text::print(heading, &self.tables_since(design, heading, since), paper),
        }
    }

    fn tables_since(&self, design: &D, heading: &Heading, since: Option<&Since<'_, D>>) -> Vec<Table> {
        let tables = (self.tables)(design);
        match since {
            Some(Since { earlier, others }) => {
                since::mark(tables, &(self.tables)(earlier), heading.unit, &others.words)
            }
            None => tables,
        }
    }

    /// Whether it is a picture, which has no tables.
    pub const fn is_picture(&self) -> bool {
        matches!(self.drawings, Some(Drawings::Picture { .. }))
    }

    /// What its pages are made of where they are set in letters.
    pub fn content(&self, design: &D) -> Content {
        match self.drawings {
            Some(Drawings::Picture { drawn, .. }) => drawn(design, None),
            _ => Content::Tables((self.tables)(design)),
        }
    }

    /// The same with what is other since an earlier state marked.
    pub fn content_since(&self, design: &D, heading: &Heading, since: Option<&Since<'_, D>>) -> Content {
        match self.drawings {
            Some(Drawings::Picture { drawn, .. }) => drawn(design, since.map(|since| &since.others)),
            _ => Content::Tables(self.tables_since(design, heading, since)),
        }
    }

    /// The sheet as PDF.
    ///
    /// # Errors
    /// When labels do not fit on their paper, or the PDF cannot be written.
    pub fn pdf(&self, design: &D, heading: &Heading, form: pdf::Form) -> Result<Vec<u8>, pdf::PdfError> {
        match self.drawings {
            Some(Drawings::Labels(labels)) => pdf::labels::print(heading, &labels(design), form),
            _ => pdf::print(heading, &self.content(design), form),
        }
    }
}

/// What is other since an earlier state of a job.
#[derive(Debug, Clone, Default)]
pub struct Others {
    /// Which state that is, as in `since revision D`.
    pub words: String,
    /// The things that are other, those that are gone too.
    pub things: BTreeSet<Subject>,
}

/// An earlier state of a job, against which a print is marked; `D` is the studied job.
#[derive(Debug)]
pub struct Since<'a, D> {
    /// The earlier state.
    pub earlier: &'a D,
    /// What is other since.
    pub others: Others,
}

/// What a sheet shows beside or instead of tables; `D` is the studied job.
#[derive(Debug)]
pub enum Drawings<D> {
    /// A picture instead of tables.
    Picture {
        /// In characters.
        typed: fn(&D, Paper, Option<&Others>) -> Vec<text::Drawing>,
        /// In lines and letters.
        drawn: fn(&D, Option<&Others>) -> Content,
    },
    /// Labels on a sheet of them, as PDF; the tables hold the same as a list.
    Labels(fn(&D) -> pdf::labels::Labels),
}

/// A sheet that can be asked for by name; `D` is the studied job.
#[derive(Debug)]
pub struct Entry<D> {
    /// The name on the command line.
    pub name: &'static str,
    /// What it is for, in a few words.
    pub about: &'static str,
    /// Its tables, in the order they are printed.
    pub tables: fn(&D) -> Vec<Table>,
    /// Its picture or its labels, where it is drawn rather than listed.
    pub drawings: Option<Drawings<D>>,
    /// Its JSON document, with names that stay stable: see [`json::pretty`].
    pub json: fn(&D) -> Result<String, serde_json::Error>,
}

/// Sheets as one, with contents and pages numbered through; `D` is the studied job.
#[derive(Debug)]
pub struct Book<'a, D> {
    /// Its sheets in their order.
    pub sheets: Vec<&'a Entry<D>>,
    /// The earlier state, where what is other since is to be marked.
    pub since: Option<Since<'a, D>>,
}

impl<D> Book<'_, D> {
    fn title(entry: &Entry<D>, content: &Content) -> Text {
        match content {
            Content::Tables(tables) => {
                tables.first().map_or_else(|| entry.name.into(), |table| table.title.clone())
            }
            Content::Rows { title, .. } => title.clone(),
            Content::Plans(_) => "Plan of each level".into(),
        }
    }

    /// The book as PDF.
    ///
    /// # Errors
    /// When the PDF cannot be written.
    pub fn pdf(&self, design: &D, heading: &Heading, form: pdf::Form) -> Result<Vec<u8>, pdf::PdfError> {
        let chapters = self.sheets.iter().map(|entry| {
            let content = entry.content_since(design, heading, self.since.as_ref());
            pdf::Chapter { title: Self::title(entry, &content), content }
        });
        pdf::book(heading, &chapters.collect::<Vec<_>>(), form)
    }

    /// The book as text.
    pub fn printed(&self, design: &D, heading: &Heading, paper: Paper) -> String {
        let since = self.since.as_ref();
        let contents: Vec<Content> =
            self.sheets.iter().map(|entry| entry.content_since(design, heading, since)).collect();
        let print = |entry: &Entry<D>, content: &Content, paper| match content {
            Content::Tables(tables) => text::print(heading, tables, paper),
            _ => entry.printed_since(design, heading, paper, since),
        };
        let parts = || self.sheets.iter().zip(&contents);
        let entries: Vec<(Text, usize)> = parts()
            .map(|(entry, content)| (Self::title(entry, content), text::count(&print(entry, content, paper))))
            .collect();
        // Numbers of pages change no line, so the length of the contents is known before they are.
        let front = |first, paper| text::print(heading, &[pdf::contents(&entries, first)], paper);
        let before = text::count(&front(1, paper));
        let of = before + entries.iter().map(|(_, count)| count).sum::<usize>();
        let mut pages = vec![front(before + 1, paper.numbered(1, of))];
        let mut first = before + 1;
        for ((entry, content), (_, count)) in parts().zip(&entries) {
            pages.push(print(entry, content, paper.numbered(first, of)));
            first += count;
        }
        pages.join("\u{c}")
    }
}
