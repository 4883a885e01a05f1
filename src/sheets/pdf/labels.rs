//! Labels in rows and columns on a sheet of them, as label paper is sold: a large word and what fits beneath it.

use super::face::{Face, LINE};
use super::form::{Form, Turn};
use super::ink::{Ink, Leaf};
use super::{PdfError, write};
use crate::format::Text;
use crate::sheets::Heading;
use crate::units::Length;

/// Free above and beneath, and at the sides, within a label, since no printer meets the edges exactly.
const PAD: f32 = 3.0;
const SIDE: f32 = 5.0;
/// The largest and the smallest letters of the large word, and of what is beneath.
const BIG: (f32, f32) = (14.0, 6.0);
const SMALL: (f32, f32) = (7.5, 5.0);

/// What stands on a label.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Label {
    /// The word that is read first.
    pub big: Text,
    /// What stands beneath it, as much of it as there is room for.
    pub small: Vec<Text>,
}

/// Where the labels are on their paper.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Grid {
    /// Labels across, 1 or more.
    pub columns: usize,
    /// Labels down, 1 or more.
    pub rows: usize,
    /// Width of a label.
    pub width: Length,
    /// Height of a label.
    pub height: Length,
    /// From the left edge of the paper to the first label.
    pub left: Length,
    /// From the top edge of the paper to the first label.
    pub top: Length,
    /// Between two labels side by side.
    pub across: Length,
    /// Between two labels one below the other.
    pub down: Length,
}

/// The labels of a sheet with the paper they go on.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Labels {
    /// What they are, for the title of the file.
    pub title: Text,
    /// Why they must not be printed yet, if they must not: what is stuck on a cable cannot be taken back.
    pub not_ready: Option<String>,
    /// The labels, row by row.
    pub labels: Vec<Label>,
    /// Where they go.
    pub grid: Grid,
}

#[expect(clippy::cast_possible_truncation, reason = "lengths of paper are small")]
fn points(length: Length) -> f32 {
    (length.feet() * 12.0 * 72.0) as f32
}

#[expect(clippy::cast_precision_loss, reason = "labels on a sheet are few")]
const fn count(n: usize) -> f32 {
    n as f32
}

/// Prints labels, nothing but them, since what is between labels is waste. Paper lies upright unless told otherwise.
///
/// # Errors
/// When they are not ready, the grid does not fit on the paper, or the PDF cannot be written.
pub fn print(heading: &Heading, labels: &Labels, form: Form) -> Result<Vec<u8>, PdfError> {
    write::write(labels.title.as_str(), heading, &leaves(labels, form)?, &[])
}

/// The pages of labels as they would be written.
///
/// # Errors
/// When they are not ready, or the grid does not fit on the paper.
pub fn leaves(labels: &Labels, form: Form) -> Result<Vec<Leaf>, PdfError> {
    if let Some(why) = &labels.not_ready {
        return Err(PdfError::NotReady(why.clone()));
    }
    let (width, height) = form.points(form.turn.unwrap_or(Turn::Portrait));
    let grid = &labels.grid;
    let (wide, high) = (points(grid.width), points(grid.height));
    let (step_x, step_y) = (wide + points(grid.across), high + points(grid.down));
    let right = points(grid.left) + count(grid.columns.saturating_sub(1)) * step_x + wide;
    let bottom = points(grid.top) + count(grid.rows.saturating_sub(1)) * step_y + high;
    // A hair over the edge comes from rounding.
    if grid.columns == 0 || grid.rows == 0 || right > width + 0.5 || bottom > height + 0.5 {
        return Err(PdfError::Grid { columns: grid.columns, rows: grid.rows });
    }
    let pages = labels.labels.chunks(grid.columns.saturating_mul(grid.rows)).map(|labels| {
        let ink = labels.iter().enumerate().flat_map(|(nth, label)| {
            let x = points(grid.left) + count(nth % grid.columns) * step_x;
            let y = points(grid.top) + count(nth / grid.columns) * step_y;
            one(label, wide, high).into_iter().map(move |ink| ink.moved(x, y))
        });
        Leaf { width, height, ink: ink.collect() }
    });
    let pages: Vec<Leaf> = pages.collect();
    Ok(if pages.is_empty() { vec![Leaf { width, height, ink: Vec::new() }] } else { pages })
}

/// One label from its own corner.
fn one(label: &Label, width: f32, height: f32) -> Vec<Ink> {
    let (inner, room) = ((width - 2.0 * SIDE).max(1.0), (height - 2.0 * PAD).max(1.0));
    let fitted = |face: Face, text: &str, (most, least): (f32, f32), room: f32| {
        let by_width = inner / face.width(text, 1.0).max(0.01);
        most.min(by_width).min(room / LINE).max(least)
    };
    let big = Face::Bold.shown(label.big.as_str());
    let share = if label.small.is_empty() { 1.0 } else { 0.55 };
    let size = fitted(Face::Bold, &big, BIG, room * share);
    let mut ink = vec![centred(&big, PAD, size, Face::Bold, width, inner)];
    let mut y = PAD + size * LINE;
    for text in &label.small {
        let text = Face::Regular.shown(text.as_str());
        let left = height - PAD - y;
        let size = fitted(Face::Regular, &text, SMALL, left);
        if text.trim().is_empty() {
            continue;
        }
        if size * LINE > left + 0.1 {
            break;
        }
        ink.push(centred(&text, y, size, Face::Regular, width, inner));
        y += size * LINE;
    }
    // What is written stands in the middle of its label.
    let lowered = ((height - PAD - y) / 2.0).max(0.0);
    ink.into_iter().map(|ink| ink.moved(0.0, lowered)).collect()
}

fn centred(text: &str, top: f32, size: f32, face: Face, width: f32, inner: f32) -> Ink {
    let shown = face.within(text, size, inner);
    Ink::words((width - face.width(&shown, size)) / 2.0, top, &shown, size, face)
}
