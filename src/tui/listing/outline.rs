//! The house as lines: folded, picked and sorted, each thing within what it is part of.

use super::{Line, Listing, Order};
use crate::design::Design;
use crate::schedule::outline::{self, Entry, Item};
use crate::schedule::{Cell, Row, Table, Widths};
use std::collections::HashSet;

impl Listing {
    /// The lines of the house. With a word to pick by, what is folded away is looked through too, and what a thing found
    /// is part of is shown with it.
    pub(in crate::tui) fn outline(
        design: &Design,
        folded: &HashSet<Item>,
        filter: &str,
        order: Option<Order>,
    ) -> Self {
        let columns = outline::columns();
        let table = Table::new("runs", "Runs", columns.clone()).with_rows(vec![outline::widest(design)]);
        let widths = Widths::of(&table, design.job.project.units);
        let mut entries = outline::entries(design);
        if let Some(order) = order {
            entries = sorted(design, &entries, order);
        }
        let needle = filter.trim().to_lowercase();
        let lines =
            if needle.is_empty() { unfolded(&entries, folded) } else { picked(design, &entries, &needle) };
        let mut listing = Self::whole(columns, widths, lines);
        listing.order = order;
        listing
    }
}

fn unfolded(entries: &[Entry], folded: &HashSet<Item>) -> Vec<Line> {
    let mut lines = Vec::new();
    let mut hidden_below = None;
    for entry in entries {
        if hidden_below.is_some_and(|depth| entry.depth > depth) {
            continue;
        }
        let here = folded.contains(&entry.item);
        hidden_below = here.then_some(entry.depth);
        lines.push(Line::Entry(*entry, here));
    }
    lines
}

/// What holds a word, with what that is part of.
fn picked(design: &Design, entries: &[Entry], needle: &str) -> Vec<Line> {
    let unit = design.job.project.units;
    let holds = |entry: &Entry| {
        let row = outline::row(design, *entry, false);
        let words: Vec<String> = row.cells.iter().map(|cell| cell.shown(unit)).collect();
        words.join(" ").to_lowercase().contains(needle)
    };
    let mut lines = Vec::new();
    let mut way: Vec<(Entry, bool)> = Vec::new();
    for entry in entries {
        way.truncate(usize::from(entry.depth));
        way.push((*entry, false));
        if holds(entry) {
            for (part, shown) in way.iter_mut().filter(|(_, shown)| !shown) {
                lines.push(Line::Entry(*part, false));
                *shown = true;
            }
        }
    }
    lines
}

/// Sorts what stands side by side, each with all that is in it.
fn sorted(design: &Design, entries: &[Entry], order: Order) -> Vec<Entry> {
    let mut all = Vec::with_capacity(entries.len());
    let Some(first) = entries.first() else { return all };
    let mut siblings: Vec<(Cell, &[Entry])> = Vec::new();
    let mut start = 0;
    for end in 1..=entries.len() {
        if entries.get(end).is_some_and(|entry| entry.depth > first.depth) {
            continue;
        }
        siblings.push((key(design, entries[start], order.column), &entries[start..end]));
        start = end;
    }
    // Feeds and controls of a box stay apart from each other.
    siblings.sort_by(|(a, these), (b, those)| {
        kind(these[0].item).cmp(&kind(those[0].item)).then_with(|| order.of(a, b))
    });
    for (_, whole) in siblings {
        all.push(whole[0]);
        all.extend(sorted(design, &whole[1..], order));
    }
    all
}

const fn kind(item: Item) -> u8 {
    match item {
        Item::Control(_) => 1,
        _ => 0,
    }
}

/// What an entry is sorted by: in the column of lengths its length, else what stands there.
fn key(design: &Design, entry: Entry, column: usize) -> Cell {
    let row: Row = outline::row(design, entry, false);
    match (column, outline::length(design, entry.item)) {
        (1, Some(length)) => Cell::Length(Some(length)),
        _ => match row.cell(column) {
            Cell::Text(words) => Cell::from(words.as_str().trim().to_owned()),
            cell => cell.clone(),
        },
    }
}
