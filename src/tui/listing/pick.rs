//! Which lines of a table are shown, and in which order.

use super::{Line, Listing};
use crate::design::Design;
use crate::format;
use crate::schedule::Cell;
use crate::units::LengthUnit;
use std::cmp::Ordering;

/// By which column lines are sorted.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(in crate::tui) struct Order {
    pub column: usize,
    pub backwards: bool,
}

impl Order {
    /// Compares two cells: figures by size, words as people count; what is blank or not known comes last either way.
    pub(super) fn of(self, one: &Cell, other: &Cell) -> Ordering {
        let turned = |ordering: Ordering| if self.backwards { ordering.reverse() } else { ordering };
        match (figure(one), figure(other)) {
            (Some(a), Some(b)) => turned(a.total_cmp(&b)),
            (Some(_), None) => Ordering::Less,
            (None, Some(_)) => Ordering::Greater,
            (None, None) => {
                let words = |cell: &Cell| cell.shown(LengthUnit::Feet).trim().to_owned();
                let (a, b) = (words(one), words(other));
                a.is_empty().cmp(&b.is_empty()).then_with(|| turned(format::as_counted(&a, &b)))
            }
        }
    }
}

/// The figure of a cell that has one.
fn figure(cell: &Cell) -> Option<f64> {
    match cell {
        Cell::Figure(_, figure) | Cell::Bar { percent: figure, .. } => *figure,
        Cell::Length(length) => length.map(crate::units::Length::feet),
        #[expect(clippy::cast_precision_loss, reason = "counts on a screen are small")]
        Cell::Count(count) => Some(*count as f64),
        _ => None,
    }
}

impl Listing {
    /// Keeps the lines that hold a word, and sorts them within their headings.
    pub(super) fn pick(&mut self, design: &Design, filter: &str, order: Option<Order>) {
        self.order = order;
        let needle = filter.trim().to_lowercase();
        if needle.is_empty() && order.is_none() {
            return;
        }
        let mut kept: Vec<usize> = (0..self.lines.len())
            .filter(|&line| {
                needle.is_empty() || !self.selectable(line) || self.words(design, line).contains(&needle)
            })
            .collect();
        if let Some(order) = order {
            for section in kept.split_mut(|&line| !self.selectable(line)) {
                section.sort_by(|&a, &b| match (&self.lines[a], &self.lines[b]) {
                    (Line::Row(a), Line::Row(b)) => order.of(a.cell(order.column), b.cell(order.column)),
                    _ => Ordering::Equal,
                });
            }
        }
        // A heading with nothing left under it says nothing.
        let last = kept.len();
        let kept: Vec<usize> = (0..last)
            .filter(|&at| {
                self.selectable(kept[at]) || kept.get(at + 1).is_some_and(|&next| self.selectable(next))
            })
            .map(|at| kept[at])
            .collect();
        self.origins = kept.iter().map(|&line| self.origins[line]).collect();
        self.lines = kept.into_iter().map(|line| self.lines[line].clone()).collect();
    }
}
