//! How wide the columns of a table are on paper, and which way of the paper and which size of letters suit it.

use super::face::Face;
use super::form::{Form, Turn};
use crate::schedule::{Cell, Column, Table, Weight};
use crate::units::LengthUnit;

/// The sizes of letters, the most readable first. Ten points are read at arm's length, 7.5 at half of it.
const SIZES: [f32; 4] = [10.0, 9.0, 8.0, 7.5];
/// The least and the widest gap between two columns, in parts of the size.
const GAP: f32 = 0.9;
const WIDEST_GAP: f32 = 2.2;
/// A column of text of a terminal in parts of the size, to take over what a table says about its columns.
const CHARACTER: f32 = 0.55;
/// A load bar without its figure, at least and at most, in the same.
const BAR: f32 = 4.0;
const WIDEST_BAR: f32 = 18.0;
/// A word that takes more of the page than this is broken.
const LONGEST_WORD: f32 = 0.3;
/// With fewer lines in a row than this, on the average, paper is upright and letters are large.
const FEW_LINES: f32 = 1.35;

/// Where a column stands, in points from the left margin.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Place {
    /// Which column of the table.
    pub(super) column: usize,
    pub(super) x: f32,
    pub(super) width: f32,
}

/// The columns of a table as they stand.
#[derive(Debug, Clone, PartialEq, Default)]
pub(super) struct Columns {
    pub(super) places: Vec<Place>,
    /// The columns that found no room.
    pub(super) left_off: Vec<usize>,
}

impl Columns {
    /// From the left edge of the first to the right edge of the last.
    pub(super) fn width(&self) -> f32 {
        self.places.last().map_or(0.0, |last| last.x + last.width)
    }
}

/// What the columns of a table need, in parts of the size of its letters.
#[derive(Debug, Clone, Default)]
pub(super) struct Needs {
    /// Without breaking a word.
    least: Vec<f32>,
    /// In one line.
    whole: Vec<f32>,
    /// The cells that may go over several lines, by row: column and width.
    flowing: Vec<Vec<(usize, f32)>>,
}

/// The face of a cell: what is wrong stands out without a colour.
pub(super) fn face(cell: &Cell) -> Face {
    if cell.weight() == Weight::Bad { Face::Bold } else { Face::Regular }
}

impl Needs {
    pub(super) fn of(table: &Table, unit: LengthUnit) -> Self {
        let heading = |column: &Column| {
            let lines = column.heading_lines();
            lines.iter().map(|line| Face::Bold.width(line, 1.0)).fold(0.0, f32::max)
        };
        let mut least: Vec<f32> = table.columns.iter().map(heading).collect();
        let mut whole = least.clone();
        let mut flowing = Vec::new();
        let totals = table.sections.iter().flat_map(|section| &section.total).chain(&table.totals);
        let rows = table.rows().map(|row| (row, false)).chain(totals.map(|row| (row, true)));
        for (row, sum) in rows {
            let mut flows = Vec::new();
            for (at, (column, cell)) in table.columns.iter().zip(&row.cells).enumerate() {
                let face = if sum { Face::Bold } else { face(cell) };
                let text = cell.words(unit, column.unit.is_some());
                let wide = face.width(&text, 1.0);
                match cell {
                    Cell::Bar { .. } => {
                        least[at] = least[at].max(wide + BAR);
                        whole[at] = whole[at].max(wide + WIDEST_BAR);
                    }
                    Cell::Tick => {
                        least[at] = least[at].max(1.0);
                        whole[at] = whole[at].max(1.0);
                    }
                    cell if cell.flows() => {
                        let longest = text.split(' ').map(|word| face.width(word, 1.0)).fold(0.0, f32::max);
                        least[at] = least[at].max(longest);
                        whole[at] = whole[at].max(wide);
                        flows.push((at, wide));
                    }
                    _ => {
                        least[at] = least[at].max(wide);
                        whole[at] = whole[at].max(wide);
                    }
                }
            }
            flowing.push(flows);
        }
        Self { least, whole, flowing }
    }

    /// The columns in so much room, those that yield left off if there is too little.
    pub(super) fn fit(&self, columns: &[Column], size: f32, room: f32) -> Columns {
        let longest = room * LONGEST_WORD;
        let flows = |at: usize| self.flowing.iter().flatten().any(|(column, _)| *column == at);
        let least: Vec<f32> = (0..columns.len())
            .map(|at| {
                let least = self.least[at] * size;
                if flows(at) { least.min(longest.max(columns[at].least_points(size))) } else { least }
            })
            .collect();
        let mut kept: Vec<usize> = (0..columns.len()).collect();
        let mut left_off = Vec::new();
        let gaps = |kept: &[usize]| GAP * size * count(kept.len().saturating_sub(1));
        let needs = |kept: &[usize]| kept.iter().map(|at| least[*at]).sum::<f32>() + gaps(kept);
        while kept.len() > 1 && needs(&kept) > room {
            // Of equals the last yields, since the most telling columns stand first.
            let yielding = kept.iter().enumerate().max_by_key(|(_, at)| columns[**at].yields).map(|(n, _)| n);
            left_off.extend(yielding.map(|place| kept.remove(place)));
        }
        left_off.sort_unstable();
        let widths: Vec<f32> = kept.iter().map(|at| least[*at]).collect();
        let whole = |at: usize| self.whole[at] * size;
        let wants = kept.iter().map(|&at| whole(at).min(columns[at].most_points(size)));
        let (widths, spare) = share(widths, wants, (room - needs(&kept)).max(0.0));
        // What a table holds to be the most is for a page of characters; where there is room, nothing is broken.
        let (widths, spare) = share(widths, kept.iter().map(|&at| whole(at)), spare);
        let between = count(kept.len().saturating_sub(1).max(1));
        let gap = GAP * size + (spare / between).min((WIDEST_GAP - GAP) * size);
        let mut x = 0.0;
        let places = kept.into_iter().zip(widths).map(|(column, width)| {
            let width = width.min(room);
            let place = Place { column, x, width };
            x += width + gap;
            place
        });
        Columns { places: places.collect(), left_off }
    }

    /// How many lines its rows have on the average.
    fn lines(&self, columns: &Columns, size: f32) -> (f32, usize) {
        let lines = |flows: &Vec<(usize, f32)>| {
            let each = flows.iter().map(|(at, wide)| {
                let place = columns.places.iter().find(|place| place.column == *at);
                place.map_or(1.0, |place| (wide * size / place.width.max(1.0)).max(1.0).ceil())
            });
            each.fold(1.0, f32::max)
        };
        (self.flowing.iter().map(lines).sum(), self.flowing.len())
    }
}

trait InPoints {
    fn least_points(&self, size: f32) -> f32;
    fn most_points(&self, size: f32) -> f32;
}

impl InPoints for Column {
    fn least_points(&self, size: f32) -> f32 {
        count(self.least) * CHARACTER * size
    }

    fn most_points(&self, size: f32) -> f32 {
        count(self.most) * CHARACTER * size
    }
}

#[expect(clippy::cast_precision_loss, reason = "columns of a table are few")]
const fn count(n: usize) -> f32 {
    n as f32
}

/// Gives what is spare to who wants it, small wants first, so that few cells go over several lines; gives what is left.
fn share(mut widths: Vec<f32>, aims: impl Iterator<Item = f32>, mut spare: f32) -> (Vec<f32>, f32) {
    let wants: Vec<f32> = aims.zip(&widths).map(|(aim, has)| (aim - has).max(0.0)).collect();
    let mut order: Vec<usize> = (0..wants.len()).collect();
    order.sort_by(|a, b| wants[*a].total_cmp(&wants[*b]));
    for (nth, at) in order.iter().enumerate() {
        let part = (spare / count(order.len() - nth)).min(wants[*at]);
        widths[*at] += part;
        spare -= part;
    }
    (widths, spare)
}

/// How a sheet lies and how large its letters are.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Setting {
    pub(super) turn: Turn,
    pub(super) size: f32,
}

/// The most readable setting in which every table keeps its columns and most rows stand on one line; else the one
/// with the fewest lines.
pub(super) fn choose(tables: &[(&Table, Needs)], form: Form) -> Setting {
    let mut best: Option<(f32, Setting)> = None;
    let turns = form.turns();
    for size in SIZES {
        for turn in &turns {
            let setting = Setting { turn: *turn, size };
            let room = form.inside(*turn).0;
            let fitted: Vec<Columns> =
                tables.iter().map(|(table, needs)| needs.fit(&table.columns, size, room)).collect();
            if fitted.iter().any(|columns| !columns.left_off.is_empty()) {
                continue;
            }
            let counts = tables.iter().zip(&fitted).map(|((_, needs), columns)| needs.lines(columns, size));
            let (lines, rows) = counts.fold((0.0, 0), |(l, r), (lines, rows)| (l + lines, r + rows));
            let mean = lines / count(rows.max(1));
            if mean <= FEW_LINES {
                return setting;
            }
            // Smaller letters have to save lines to be worth it.
            if best.is_none_or(|(least, _)| mean < least * 0.85) {
                best = Some((mean, setting));
            }
        }
    }
    let last =
        Setting { turn: turns.last().copied().unwrap_or(Turn::Landscape), size: SIZES[SIZES.len() - 1] };
    best.map_or(last, |(_, setting)| setting)
}
