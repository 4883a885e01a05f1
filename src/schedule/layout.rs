//! Fits the columns of a table to a width.

use super::{Column, Table};
use crate::format;
use crate::units::LengthUnit;

/// Blank columns between two columns of a table.
const GAP: usize = 2;

/// What each column of a table would like and what it can do with; measured once, used at any width.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Widths {
    natural: Vec<usize>,
    easy: Vec<usize>,
    least: Vec<usize>,
}

impl Widths {
    /// Measures every cell of a table.
    pub fn of(table: &Table, unit: LengthUnit) -> Self {
        let heading = |column: &Column| {
            column.heading_lines().iter().map(|line| format::Text::from(line).width()).max().unwrap_or(0)
        };
        let mut natural: Vec<usize> = table.columns.iter().map(heading).collect();
        let mut least = natural.clone();
        let mut easy = natural.clone();
        for row in table.all_rows() {
            for (at, (column, cell)) in table.columns.iter().zip(&row.cells).enumerate() {
                let bare = column.unit.is_some();
                natural[at] = natural[at].max(cell.width(unit, bare));
                easy[at] = easy[at].max(cell.easy(unit, bare));
                least[at] = least[at].max(cell.needed(unit, bare, column.least));
            }
        }
        for (at, column) in table.columns.iter().enumerate() {
            let most = column.most.max(least[at]);
            natural[at] = natural[at].min(most);
            easy[at] = easy[at].clamp(least[at], most);
        }
        Self { natural, easy, least }
    }
}

/// Where a column stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Placed {
    /// Which column of the table.
    pub column: usize,
    /// Its first column of text, from 0.
    pub x: usize,
    /// Its columns of text.
    pub width: usize,
}

/// The columns of a table, placed in a width.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Layout {
    /// The columns that are shown, from the left.
    pub placed: Vec<Placed>,
    /// The columns that found no room.
    pub left_off: Vec<usize>,
}

impl Layout {
    /// Fits columns into so many columns of text. What does not fit is left off, the one that yields first to begin
    /// with; then words are given their room, and what is left goes to the columns that grow.
    pub fn fit(columns: &[Column], widths: &Widths, room: usize) -> Self {
        let mut kept: Vec<usize> = (0..columns.len().min(widths.least.len())).collect();
        let mut left_off = Vec::new();
        let needs = |kept: &[usize]| {
            kept.iter().map(|&at| widths.least[at].max(1)).sum::<usize>() + GAP * kept.len().saturating_sub(1)
        };
        while kept.len() > 1 && needs(&kept) > room {
            // Of equals the last yields, since the most telling columns stand first.
            let last =
                kept.iter().enumerate().max_by_key(|(_, at)| columns[**at].yields).map(|(place, _)| place);
            left_off.extend(last.map(|place| kept.remove(place)));
        }
        left_off.sort_unstable();
        let mut given: Vec<usize> = kept.iter().map(|&at| widths.least[at].max(1)).collect();
        if let [only] = given.as_mut_slice() {
            *only = (*only).min(room);
        }
        let mut spare = room.saturating_sub(needs(&kept));
        // First no word is broken and every bar is drawn, then words stand on as few lines as they can.
        for wanted in [&widths.easy, &widths.natural] {
            while spare > 0 {
                let wants = |place: usize| wanted[kept[place]].saturating_sub(given[place]);
                let neediest = (0..kept.len()).rev().max_by_key(|&place| wants(place));
                let Some(place) = neediest.filter(|&place| wants(place) > 0) else { break };
                given[place] += 1;
                spare -= 1;
            }
        }
        while spare > 0 {
            let grown = (0..kept.len()).rev().filter(|&place| {
                let column = &columns[kept[place]];
                column.grows && given[place] < column.most
            });
            let Some(place) = grown.min_by_key(|&place| given[place]) else { break };
            given[place] += 1;
            spare -= 1;
        }
        let mut x = 0;
        let placed = kept
            .into_iter()
            .zip(given)
            .map(|(column, width)| {
                let placed = Placed { column, x, width };
                x += width + GAP;
                placed
            })
            .collect();
        Self { placed, left_off }
    }

    /// Measures and fits in one step, for what is laid out once.
    pub fn of(table: &Table, unit: LengthUnit, room: usize) -> Self {
        Self::fit(&table.columns, &Widths::of(table, unit), room)
    }

    /// The columns of text that are used.
    pub fn width(&self) -> usize {
        self.placed.last().map_or(0, |last| last.x + last.width)
    }
}
