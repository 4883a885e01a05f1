//! Sheets as PDF, black on white: the same tables as in text, set in letters that are read at arm's length.
//!
//! Tables become blocks that are never split ([`block`]), blocks fill pages ([`page`]), pages are words and lines at
//! their places ([`ink`]), and only [`write`] knows what a PDF is. The way the paper lies and the size of the letters
//! follow from what the columns need ([`columns`]), unless somebody says otherwise.

mod block;
mod columns;
mod face;
mod form;
pub mod ink;
mod page;
mod write;

pub use face::{Face, MISSING};
pub use form::{Form, Size, Turn};

use super::closing::{Said, Signs};
use super::{Heading, cautions};
use crate::format::Text;
use crate::schedule::Table;
use block::{Block, Laying};
use columns::{Needs, choose};
use ink::Leaf;
use page::{Filled, Sheet};

/// Why there is no PDF. None of it is the fault of a job.
#[derive(Debug, thiserror::Error)]
pub enum PdfError {
    /// A font of the program itself is broken.
    #[error("a font of the program cannot be read; install it anew")]
    Font,
    /// A page is of no size.
    #[error("a page is of no size")]
    Size,
    /// The library refused.
    #[error("the PDF cannot be made: {0}")]
    Written(String),
}

/// Prints tables as one sheet under the title of the first.
///
/// # Errors
/// When the PDF cannot be written, which is no fault of the tables.
pub fn print(heading: &Heading, tables: &[Table], form: Form) -> Result<Vec<u8>, PdfError> {
    let filled = page::fill(sheet(heading, tables, form), heading, form);
    let title = filled.title.clone();
    write::write(title.as_str(), heading, &numbered(vec![filled], heading, form), &[])
}

/// The pages of a sheet as they would be written, for what looks at the layout.
pub fn pages(heading: &Heading, tables: &[Table], form: Form) -> Vec<Leaf> {
    numbered(vec![page::fill(sheet(heading, tables, form), heading, form)], heading, form)
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

fn sheet(heading: &Heading, tables: &[Table], form: Form) -> Sheet {
    let measured: Vec<_> = tables.iter().map(|table| (table, Needs::of(table, heading.unit))).collect();
    let setting = choose(&measured, form);
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
    finish(&mut blocks, said, tables, room);
    Sheet { title, setting, heads, blocks }
}

/// Notes and cautions, at the end of the sheet.
fn finish(blocks: &mut Vec<Block>, mut said: Said, tables: &[Table], room: f32) {
    if blocks.iter().any(|block| block.cut) {
        said.cut();
    }
    let cautions: Vec<Text> = cautions::of(tables);
    if blocks.iter().any(Block::misses) {
        said.missing();
    }
    block::paragraphs("NOTES", &said.notes(tables), false, room, blocks);
    block::paragraphs("CAUTIONS", &cautions, true, room, blocks);
}
