//! A grid of characters to draw on: lines that join where they meet, words that don't overlap, all cut to a window.
//!
//! Everything is drawn in the coordinates of the whole picture, columns to the right and lines downwards; only what
//! falls into the window is kept, so a picture may be far larger than what is shown of it.

use super::picture::{Anchor, Gauge, Mark, Picture, Piece, Shape, Spot, Symbol, Written};
use super::{Cell, Weight};
use crate::format::Text;
use crate::job::Subject;
use unicode_segmentation::UnicodeSegmentation;
use unicode_width::UnicodeWidthStr;

/// The characters that lines are drawn with.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Hash)]
pub enum LineSet {
    /// Printable ASCII, right everywhere.
    #[default]
    Ascii,
    /// The line characters of code page 437, which the Linux console's own fonts have too.
    Cp437,
}

/// The kinds of line.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Stroke {
    /// A loop or a link.
    Single,
    /// A home run or an onward feed.
    Double,
    /// A wall that was measured.
    Wall,
    /// A border that nobody measured.
    Dotted,
}

/// The part of a picture that is shown, in its own columns and lines.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Window {
    /// The first column shown.
    pub left: i64,
    /// The first line shown.
    pub top: i64,
    /// Columns shown.
    pub width: u16,
    /// Lines shown.
    pub height: u16,
}

const UP: u8 = 1;
const DOWN: u8 = 2;
const LEFT: u8 = 4;
const RIGHT: u8 = 8;

/// The lines through one cell: which arms they have, and which arms are double.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
struct Joint {
    arms: u8,
    double: u8,
    border: Option<Stroke>,
}

/// What is being drawn.
#[derive(Debug)]
pub struct Canvas {
    window: Window,
    set: LineSet,
    joints: Vec<Joint>,
    picture: Picture,
}

impl Canvas {
    /// An empty canvas behind a window.
    pub fn new(window: Window, set: LineSet) -> Self {
        let picture = Picture::new(window.width, window.height);
        let cells = usize::from(window.width) * usize::from(window.height);
        Self { window, set, joints: vec![Joint::default(); cells], picture }
    }

    /// The cell of the window at a place of the picture.
    pub fn spot(&self, x: i64, y: i64) -> Option<Spot> {
        let x = u16::try_from(x.checked_sub(self.window.left)?).ok()?;
        let y = u16::try_from(y.checked_sub(self.window.top)?).ok()?;
        (x < self.window.width && y < self.window.height).then_some(Spot { x, y })
    }

    fn joint(&mut self, x: i64, y: i64) -> Option<&mut Joint> {
        let spot = self.spot(x, y)?;
        self.joints.get_mut(usize::from(spot.y) * usize::from(self.window.width) + usize::from(spot.x))
    }

    /// The first and the last place of the window between two, along one axis.
    fn clip(a: i64, b: i64, first: i64, count: u16) -> Option<(i64, i64)> {
        let last = first.saturating_add(i64::from(count)).saturating_sub(1);
        let (from, to) = (a.min(b).max(first), a.max(b).min(last));
        (from <= to).then_some((from, to))
    }

    /// Draws a line across, and gives the part of it that is in the window.
    pub fn across(&mut self, y: i64, from: i64, to: i64, stroke: Stroke) -> Option<(Spot, Spot)> {
        let (first, last) = Self::clip(from, to, self.window.left, self.window.width)?;
        let (low, high) = (from.min(to), from.max(to));
        for x in first..=last {
            let arms = if x > low { LEFT } else { 0 } | if x < high { RIGHT } else { 0 };
            self.strike(x, y, arms, stroke, x.rem_euclid(2) == 0 || x == low || x == high);
        }
        let (from, to) = (self.spot(first, y)?, self.spot(last, y)?);
        self.picture.pieces.push(Piece { stroke, from, to });
        Some((from, to))
    }

    /// Draws a line down, and gives the part of it that is in the window.
    pub fn down(&mut self, x: i64, from: i64, to: i64, stroke: Stroke) -> Option<(Spot, Spot)> {
        let (first, last) = Self::clip(from, to, self.window.top, self.window.height)?;
        let (low, high) = (from.min(to), from.max(to));
        for y in first..=last {
            let arms = if y > low { UP } else { 0 } | if y < high { DOWN } else { 0 };
            self.strike(x, y, arms, stroke, true);
        }
        let (from, to) = (self.spot(x, first)?, self.spot(x, last)?);
        self.picture.pieces.push(Piece { stroke, from, to });
        Some((from, to))
    }

    fn strike(&mut self, x: i64, y: i64, arms: u8, stroke: Stroke, dot: bool) {
        let Some(joint) = self.joint(x, y) else { return };
        match stroke {
            Stroke::Single => joint.arms |= arms,
            Stroke::Double => {
                joint.arms |= arms;
                joint.double |= arms;
            }
            Stroke::Wall => joint.border = Some(stroke),
            Stroke::Dotted if dot => joint.border = joint.border.or(Some(stroke)),
            Stroke::Dotted => {}
        }
    }

    /// Draws a border round a rectangle given by its corners.
    pub fn border(&mut self, (left, top): (i64, i64), (right, bottom): (i64, i64), stroke: Stroke) {
        for y in [top, bottom] {
            self.across(y, left, right, stroke);
        }
        for x in [left, right] {
            self.down(x, top, bottom, stroke);
        }
    }

    /// Whether nothing stands in some cells, all of which are in the window; a border counts as nothing if it may be
    /// written over.
    pub fn is_free(&self, x: i64, y: i64, width: usize, over_border: bool) -> bool {
        let (Some(first), Ok(count)) = (self.spot(x, y), u16::try_from(width)) else { return false };
        if count > self.window.width - first.x {
            return false;
        }
        (first.x..first.x + count).all(|x| {
            let blank = self.picture.mark(x, first.y).is_some_and(|mark| mark.symbol == Symbol::Blank);
            let joint = self.joints[usize::from(first.y) * usize::from(self.window.width) + usize::from(x)];
            blank && joint.arms == 0 && (over_border || joint.border.is_none())
        })
    }

    /// Writes words, cut to the window, and gives the cells they took.
    pub fn words(&mut self, x: i64, y: i64, text: &Text, weight: Weight) -> Option<Shape> {
        let shape = self.letters(x, y, text, weight)?;
        if let Shape::Words { at, width } = shape {
            self.picture.written.push(Written { at, cells: width, text: text.clone(), weight });
        }
        Some(shape)
    }

    /// Writes a load: as characters, and as a bar for whoever can draw one.
    pub fn load(&mut self, x: i64, y: i64, cell: &Cell, words: &Text, weight: Weight) -> Option<Shape> {
        let shape = self.letters(x, y, words, weight)?;
        if let (Shape::Words { at, width }, Cell::Bar { percent, target, .. }) = (&shape, cell) {
            self.picture.gauges.push(Gauge { at: *at, cells: *width, percent: *percent, target: *target });
        }
        Some(shape)
    }

    /// Marks a cell of the border between two levels.
    pub fn floor(&mut self, x: i64, y: i64, sign: &Text) {
        if self.letters(x, y, sign, Weight::Plain).is_some()
            && let Some(spot) = self.spot(x, y)
        {
            self.picture.pieces.push(Piece { stroke: Stroke::Dotted, from: spot, to: spot });
        }
    }

    fn letters(&mut self, x: i64, y: i64, text: &Text, weight: Weight) -> Option<Shape> {
        let (mut column, mut first, mut end) = (x, None, None);
        for cluster in text.as_str().graphemes(true) {
            let width = if cluster.is_ascii() { 1 } else { cluster.width() };
            let wide = i64::try_from(width).unwrap_or(1);
            let here = column;
            column = column.saturating_add(wide);
            // A character of two columns at the edge of the window is left out, not halved.
            let (Some(at), Some(last)) = (self.spot(here, y), self.spot(column.saturating_sub(1), y)) else {
                continue;
            };
            let mut chars = cluster.chars();
            let symbol = match (chars.next(), chars.next(), width) {
                (Some(c), None, 1) => Symbol::Char(c),
                (Some(_), _, 1 | 2) => Symbol::Cluster(cluster.into()),
                _ => continue,
            };
            self.set(at, symbol, weight);
            if last != at {
                self.set(last, Symbol::Covered, weight);
            }
            first = first.or(Some(at));
            end = Some(last);
        }
        let (first, end) = (first?, end?);
        Some(Shape::Words { at: first, width: end.x - first.x + 1 })
    }

    fn set(&mut self, spot: Spot, symbol: Symbol, weight: Weight) {
        // Half of a character of two columns cannot stand alone.
        let before = self.picture.mark(spot.x, spot.y).map(|mark| mark.symbol.clone());
        if before == Some(Symbol::Covered) && symbol != Symbol::Covered && spot.x > 0 {
            self.clear(spot.x - 1, spot.y);
        }
        if symbol != Symbol::Covered
            && self.picture.mark(spot.x + 1, spot.y).is_some_and(|mark| mark.symbol == Symbol::Covered)
        {
            self.clear(spot.x + 1, spot.y);
        }
        if let Some(mark) = self.picture.mark_mut(spot.x, spot.y) {
            *mark = Mark { symbol, weight };
        }
    }

    fn clear(&mut self, x: u16, y: u16) {
        if let Some(mark) = self.picture.mark_mut(x, y) {
            *mark = Mark { symbol: Symbol::Char(' '), weight: mark.weight };
        }
    }

    /// Whether words stand in a cell of the window.
    pub(super) fn has_words(&self, x: i64, y: i64) -> bool {
        self.spot(x, y)
            .and_then(|spot| self.picture.mark(spot.x, spot.y))
            .is_some_and(|mark| mark.symbol != Symbol::Blank)
    }

    /// Writes words at the first of some places where nothing is in their way: away from other words and off borders
    /// if there is such a place.
    pub fn label(&mut self, places: &[(i64, i64)], text: &Text, weight: Weight) -> Option<Shape> {
        let width = text.width();
        let wide = i64::try_from(width).ok()?;
        let alone = |x: i64, y: i64| {
            !self.has_words(x.saturating_sub(1), y) && !self.has_words(x.saturating_add(wide), y)
        };
        let fits = |over: bool, close: bool| {
            places.iter().find(|&&(x, y)| self.is_free(x, y, width, over) && (close || alone(x, y)))
        };
        let &(x, y) = fits(false, false)
            .or_else(|| fits(true, false))
            .or_else(|| fits(false, true))
            .or_else(|| fits(true, true))?;
        self.words(x, y, text, weight)
    }

    /// Names the thing that some cells stand for.
    pub fn anchor(&mut self, subject: Subject, shape: Shape) {
        self.picture.anchors.push(Anchor { subject, shape });
    }

    /// The picture, with the lines where no words stand.
    pub fn finish(mut self) -> Picture {
        let width = usize::from(self.window.width).max(1);
        for (at, joint) in self.joints.iter().enumerate() {
            let (Ok(x), Ok(y)) = (u16::try_from(at % width), u16::try_from(at / width)) else { continue };
            let Some(c) = glyph(*joint, self.set) else { continue };
            if let Some(mark) = self.picture.mark_mut(x, y)
                && mark.symbol == Symbol::Blank
            {
                mark.symbol = Symbol::Char(c);
            }
        }
        self.picture
    }
}

/// Line characters by their arms: up 1, down 2, left 4, right 8.
const SINGLE: [char; 16] = [' ', '│', '│', '│', '─', '┘', '┐', '┤', '─', '└', '┌', '├', '─', '┴', '┬', '┼'];
const DOUBLE: [char; 16] = [' ', '║', '║', '║', '═', '╝', '╗', '╣', '═', '╚', '╔', '╠', '═', '╩', '╦', '╬'];
const DOUBLE_ACROSS: [char; 16] =
    [' ', '│', '│', '│', '═', '╛', '╕', '╡', '═', '╘', '╒', '╞', '═', '╧', '╤', '╪'];
const DOUBLE_DOWN: [char; 16] =
    [' ', '║', '║', '║', '─', '╜', '╖', '╢', '─', '╙', '╓', '╟', '─', '╨', '╥', '╫'];

fn glyph(joint: Joint, set: LineSet) -> Option<char> {
    let down = joint.double & (UP | DOWN) != 0;
    let across = joint.double & (LEFT | RIGHT) != 0;
    let (upright, flat) = (joint.arms & (UP | DOWN) != 0, joint.arms & (LEFT | RIGHT) != 0);
    if joint.arms == 0 {
        return match (joint.border?, set) {
            (Stroke::Wall, LineSet::Ascii) => Some('#'),
            (Stroke::Wall, LineSet::Cp437) => Some('▒'),
            (_, LineSet::Ascii) => Some('.'),
            (_, LineSet::Cp437) => Some('·'),
        };
    }
    let table = match (set, down, across) {
        (LineSet::Cp437, false, false) => &SINGLE,
        (LineSet::Cp437, true, true) => &DOUBLE,
        (LineSet::Cp437, false, true) => &DOUBLE_ACROSS,
        (LineSet::Cp437, true, false) => &DOUBLE_DOWN,
        (LineSet::Ascii, ..) => {
            return Some(match (upright, flat) {
                (true, true) => '+',
                (true, false) => {
                    if down {
                        '"'
                    } else {
                        '|'
                    }
                }
                (false, _) => {
                    if across {
                        '='
                    } else {
                        '-'
                    }
                }
            });
        }
    };
    table.get(usize::from(joint.arms)).copied()
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn canvas(width: u16, height: u16, set: LineSet) -> Canvas {
        Canvas::new(Window { left: 0, top: 0, width, height }, set)
    }

    #[test]
    fn lines_join_where_they_meet() {
        let mut one = canvas(5, 5, LineSet::Cp437);
        for at in [0, 2, 4] {
            one.across(at, 0, 4, Stroke::Single);
            one.down(at, 0, 4, Stroke::Single);
        }
        assert_eq!(one.finish().lines(), ["┌─┬─┐", "│ │ │", "├─┼─┤", "│ │ │", "└─┴─┘"]);
        let mut two = canvas(5, 3, LineSet::Cp437);
        two.across(1, 0, 4, Stroke::Double);
        two.down(2, 0, 2, Stroke::Single);
        assert_eq!(two.finish().lines(), ["  │", "══╪══", "  │"]);
        let mut ascii = canvas(5, 3, LineSet::Ascii);
        ascii.across(0, 0, 4, Stroke::Double);
        ascii.down(4, 0, 2, Stroke::Double);
        assert_eq!(ascii.finish().lines(), ["====+", "    \"", "    \""]);
    }

    #[test]
    fn labels_keep_out_of_each_other_and_of_lines() {
        let mut canvas = canvas(9, 3, LineSet::Ascii);
        canvas.across(1, 0, 8, Stroke::Single);
        let text = Text::from("HR01");
        assert!(canvas.label(&[(2, 1)], &text, Weight::Plain).is_none());
        assert!(canvas.label(&[(2, 1), (2, 0)], &text, Weight::Plain).is_some());
        assert!(canvas.label(&[(5, 0), (6, 2)], &text, Weight::Plain).is_none());
        assert_eq!(canvas.finish().lines(), ["  HR01", "---------", ""]);
    }

    proptest! {
        #[test]
        fn nothing_drawn_leaves_the_window(
            (left, top) in (any::<i64>(), any::<i64>()), (width, height) in (0..40_u16, 0..20_u16),
            a: i64, b: i64, near in -50..50_i64, text: String,
        ) {
            let mut canvas = Canvas::new(Window { left, top, width, height }, LineSet::Cp437);
            let (x, y) = (left.saturating_add(near), top.saturating_add(near));
            canvas.across(y, a, b, Stroke::Double);
            canvas.down(x, a, b, Stroke::Dotted);
            canvas.border((a, y), (b, x), Stroke::Wall);
            let text = Text::from(text);
            let shape = canvas.words(x, y, &text, Weight::Plain);
            canvas.label(&[(x, y), (left, top)], &text, Weight::Plain);
            if let Some(Shape::Words { at, width: taken }) = shape {
                prop_assert!(at.x + taken <= width && at.y < height);
            }
            for line in canvas.finish().lines() {
                prop_assert!(Text::from(line).width() <= usize::from(width));
            }
        }
    }
}
