//! Sheets as PDF, black on white: the same tables as in text, set in letters that are read at arm's length.
//!
//! Tables become blocks that are never split (`block`), blocks fill pages (`page`), pages are words and lines at
//! their places (`ink`), and only `write` knows what a PDF is. The way the paper lies and the size of the letters
//! follow from what the columns need (`columns`), unless somebody says otherwise.

mod block;
mod columns;
mod contents;
mod face;
mod form;
pub mod ink;
pub mod labels;
mod page;
mod plan;
mod sketch;
mod write;

pub(super) use contents::table as contents;
pub use face::{Face, MISSING};
pub use form::{Form, Size, Turn};
pub use sketch::Sign;

use super::closing::{Said, Signs};
use super::{Heading, cautions};
use crate::format::Text;
use crate::schedule::picture::Picture;
use crate::schedule::plan::Plan;
use crate::schedule::{Table, cards};
use block::{Block, Laying};
use columns::{Needs, Setting, choose};
use ink::Leaf;
use page::{Filled, Sheet};
use write::Mark;

/// Why there is no PDF. None of it is the fault of a job.
#[derive(Debug, thiserror::Error)]
pub enum PdfError {
    /// A font of the program itself is broken.
    #[error("a font of the program cannot be read; install it anew")]
    Font,
    /// A page is of no size.
    #[error("a page is of no size")]
    Size,
    /// Labels that may still change.
    #[error("{0}")]
    NotReady(String),
    /// Labels that do not fit on their paper.
    #[error(
        "{columns} by {rows} labels do not fit on the paper; correct their size and margins in the job's settings, or \
         give another --paper"
    )]
    Grid {
        /// Labels across.
        columns: usize,
        /// Labels down.
        rows: usize,
    },
    /// The library refused.
    #[error("the PDF cannot be made: {0}")]
    Written(String),
}

/// What a sheet is made of.
#[derive(Debug, Clone, PartialEq)]
pub enum Content {
    /// Tables, under the title of the first.
    Tables(Vec<Table>),
    /// A picture in lines, the first of which heads each page.
    Rows {
        /// What it shows.
        title: Text,
        /// The picture; its signs are explained by `signs`, so its legend holds what else is said beneath it.
        picture: Picture,
        /// For each line after the first whether it says nothing without the next.
        leads: Vec<bool>,
        /// What its signs mean.
        signs: Vec<(Sign, Text)>,
    },
    /// Levels, each drawn to a scale.
    Plans(Vec<Plan>),
}

/// A sheet in a book.
#[derive(Debug, Clone, PartialEq)]
pub struct Chapter {
    /// What it is called in the contents.
    pub title: Text,
    /// What it is made of.
    pub content: Content,
}

/// Prints a sheet.
///
/// # Errors
/// When the PDF cannot be written, which is no fault of the content.
pub fn print(heading: &Heading, content: &Content, form: Form) -> Result<Vec<u8>, PdfError> {
    let sheets = sheets(heading, content, form);
    let title = sheets.first().map(|sheet| sheet.title.clone()).unwrap_or_default();
    let marks = if sheets.len() > 1 { marks(&sheets, heading, form) } else { Vec::new() };
    write::write(title.as_str(), heading, &numbered(filled(sheets, heading, form), heading, form), &marks)
}

/// The pages of a sheet as they would be written, for what looks at the layout.
pub fn pages(heading: &Heading, content: &Content, form: Form) -> Vec<Leaf> {
    numbered(filled(sheets(heading, content, form), heading, form), heading, form)
}

/// A sheet as pages each as high as what is on it, the rows of a picture on one page.
pub fn unbroken(heading: &Heading, content: &Content, form: Form) -> Vec<Leaf> {
    // A level is drawn to fit a page, and its cautions need not follow on it.
    let each = sheets(heading, content, form).into_iter().flat_map(|sheet| {
        let filled = match content {
            Content::Plans(_) => page::fill(sheet, heading, form),
            _ => page::fill_up_to(f32::INFINITY, sheet),
        };
        page::as_high_as_needed(filled, heading, form)
    });
    each.collect()
}

/// Prints sheets as one file: contents first, pages numbered through, each sheet to be found beside the pages.
///
/// # Errors
/// When the PDF cannot be written, which is no fault of the content.
pub fn book(heading: &Heading, chapters: &[Chapter], form: Form) -> Result<Vec<u8>, PdfError> {
    let (leaves, marks) = bound(heading, chapters, form);
    write::write("Book", heading, &leaves, &marks)
}

/// The pages of a book as they would be written.
pub fn book_pages(heading: &Heading, chapters: &[Chapter], form: Form) -> Vec<Leaf> {
    bound(heading, chapters, form).0
}

fn bound(heading: &Heading, chapters: &[Chapter], form: Form) -> (Vec<Leaf>, Vec<Mark>) {
    let each: Vec<Vec<Filled>> = chapters
        .iter()
        .map(|chapter| filled(sheets(heading, &chapter.content, form), heading, form))
        .collect();
    let titles = chapters.iter().map(|chapter| chapter.title.clone());
    let counts = each.iter().map(|sheets| sheets.iter().map(Filled::count).sum::<usize>());
    let entries: Vec<(Text, usize)> = titles.zip(counts).collect();
    // Numbers of pages change no line, so the length of the contents is known before they are.
    let upright = Form { turn: form.turn.or(Some(Turn::Portrait)), ..form };
    let contents = |first: usize| {
        let table = Content::Tables(vec![self::contents::table(&entries, first)]);
        filled(sheets(heading, &table, upright), heading, form)
    };
    let before: usize = contents(1).iter().map(Filled::count).sum();
    let mut all = contents(before + 1);
    let mut marks = vec![Mark { words: "Contents".into(), page: 0 }];
    let mut page = before;
    for (words, count) in &entries {
        marks.push(Mark { words: words.to_string(), page });
        page += count;
    }
    all.extend(each.into_iter().flatten());
    (numbered(all, heading, form), marks)
}

fn filled(sheets: Vec<Sheet>, heading: &Heading, form: Form) -> Vec<Filled> {
    sheets.into_iter().map(|sheet| page::fill(sheet, heading, form)).collect()
}

fn marks(sheets: &[Sheet], heading: &Heading, form: Form) -> Vec<Mark> {
    let mut page = 0;
    let mark = |sheet: &Sheet| {
        let mark = Mark { words: sheet.title.to_string(), page };
        page += page::fill(sheet.clone(), heading, form).count();
        mark
    };
    sheets.iter().map(mark).collect()
}

/// Numbers the pages of several sheets through.
fn numbered(sheets: Vec<Filled>, heading: &Heading, form: Form) -> Vec<Leaf> {
    let of = sheets.iter().map(Filled::count).sum();
    let mut leaves = Vec::new();
    for filled in sheets {
        leaves.append(&mut page::number(filled, heading, form, leaves.len() + 1, of));
    }
    leaves
}

fn sheets(heading: &Heading, content: &Content, form: Form) -> Vec<Sheet> {
    match content {
        Content::Tables(tables) if tables.is_empty() => vec![sheet(heading, tables, form)],
        Content::Tables(tables) => cards(tables).map(|card| sheet(heading, card, form)).collect(),
        Content::Rows { title, picture, leads, signs } => {
            let holds = |y: u16| {
                usize::from(y).checked_sub(1).and_then(|at| leads.get(at)).copied().unwrap_or_default()
            };
            let mut sheet = sketch::rows(title, picture, form, &holds);
            let room = form.inside(sheet.setting.turn).0;
            sheet.blocks.push(sketch::explained(signs, room));
            finish(&mut sheet.blocks, Said::of(Signs::Drawn), &[], &picture.legend, room);
            vec![sheet]
        }
        Content::Plans(plans) => levels(heading, plans, form),
    }
}

/// Each level on pages of its own, since each may lie another way; cautions end the last.
fn levels(heading: &Heading, plans: &[Plan], form: Form) -> Vec<Sheet> {
    let mut sheets = Vec::new();
    for (at, level) in plans.iter().enumerate() {
        let title = Text::from(format!("Plan of {}", level.title()));
        // The heading may take more lines on upright paper, which is narrower.
        let above = page::around(heading, &title, form.inside(Turn::Portrait).0);
        let drawn = plan::draw(level, heading.unit, form, above);
        let room = form.inside(drawn.turn).0;
        let mut blocks = drawn.pages;
        if at + 1 == plans.len() {
            finish(&mut blocks, Said::of(Signs::Drawn), &[], &drawn.notes, room);
        } else {
            block::paragraphs("NOTES", &drawn.notes, false, room, &mut blocks);
        }
        let setting = Setting { turn: drawn.turn, size: block::SMALL };
        sheets.push(Sheet { title, setting, heads: Vec::new(), blocks });
    }
    sheets
}

fn sheet(heading: &Heading, tables: &[Table], form: Form) -> Sheet {
    let measured: Vec<_> = tables.iter().map(|table| (table, Needs::of(table, heading.unit))).collect();
    if tables.first().is_some_and(|table| table.one_page) {
        let settings = columns::of_one_page(form).into_iter();
        let mut tried = settings.map(|setting| set(heading, &measured, tables, form, setting));
        let fits = |sheet: &Sheet| page::fill(sheet.clone(), heading, form).count() == 1;
        if let Some(sheet) = tried.find(fits) {
            return sheet;
        }
    }
    let setting = choose(&measured, form);
    set(heading, &measured, tables, form, setting)
}

fn set(
    heading: &Heading,
    measured: &[(&Table, Needs)],
    tables: &[Table],
    form: Form,
    setting: Setting,
) -> Sheet {
    let room = form.inside(setting.turn).0;
    let (mut heads, mut blocks, mut said) = (Vec::new(), Vec::new(), Said::of(Signs::Drawn));
    for (at, (table, needs)) in measured.iter().enumerate() {
        let columns = needs.fit(&table.columns, setting.size, room);
        let laying = Laying { table, columns: &columns, setting, unit: heading.unit, at, room };
        laying.opening((at > 0).then_some(&table.title), &mut blocks);
        heads.push(laying.head());
        laying.body(&mut blocks);
        said.hear(table, columns.left_off.iter().map(|&column| table.columns[column].name()).collect());
    }
    let title = tables.first().map(|table| table.title.clone()).unwrap_or_default();
    finish(&mut blocks, said, tables, &[], room);
    Sheet { title, setting, heads, blocks }
}

/// Notes and cautions, at the end of the sheet.
fn finish(blocks: &mut Vec<Block>, mut said: Said, tables: &[Table], notes: &[Text], room: f32) {
    if blocks.iter().any(|block| block.cut) {
        said.cut();
    }
    if blocks.iter().any(Block::misses) {
        said.missing();
    }
    let notes = [notes, said.notes(tables).as_slice()].concat();
    block::paragraphs("NOTES", &notes, false, room, blocks);
    block::paragraphs("CAUTIONS", &cautions::of(tables), true, room, blocks);
}
