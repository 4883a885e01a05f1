//! A picture made of characters, and what in it stands for which thing of the job.
//!
//! It is plain data: whoever shows it chooses where, and in what colours its weights. [`Canvas`](super::canvas::Canvas)
//! makes one.

use super::Weight;
use super::canvas::Stroke;
use crate::format::Text;
use crate::job::Subject;
use std::collections::BTreeSet;

/// What stands in one cell of a picture.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub enum Symbol {
    /// Nothing.
    #[default]
    Blank,
    /// One character of one column.
    Char(char),
    /// A character with what combines with it, of one column or two.
    Cluster(Box<str>),
    /// The second column of the character before.
    Covered,
}

/// One cell of a picture.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Mark {
    /// What stands there.
    pub symbol: Symbol,
    /// How much it asks to be noticed.
    pub weight: Weight,
}

/// A cell by its column and its line, from the top left corner of what is shown.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct Spot {
    /// Its column.
    pub x: u16,
    /// Its line.
    pub y: u16,
}

/// The cells that stand for a thing: always within the picture.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Shape {
    /// Some columns of one line.
    Words {
        /// The first of them.
        at: Spot,
        /// How many.
        width: u16,
    },
    /// Straight pieces of a line from cell to cell.
    Line(Vec<(Spot, Spot)>),
}

impl Shape {
    /// Where a cursor on the thing stands.
    pub fn spot(&self) -> Spot {
        match self {
            Self::Words { at, .. } => *at,
            Self::Line(pieces) => {
                let longest = pieces.iter().max_by_key(|(a, b)| a.x.abs_diff(b.x) + 2 * a.y.abs_diff(b.y));
                longest
                    .map_or(Spot { x: 0, y: 0 }, |(a, b)| Spot { x: a.x.midpoint(b.x), y: a.y.midpoint(b.y) })
            }
        }
    }

    /// Whether the thing is shown in a cell.
    pub fn covers(&self, spot: Spot) -> bool {
        match self {
            Self::Words { at, width } => at.y == spot.y && spot.x >= at.x && spot.x - at.x < (*width).max(1),
            Self::Line(pieces) => pieces.iter().any(|(a, b)| {
                (a.x.min(b.x)..=a.x.max(b.x)).contains(&spot.x)
                    && (a.y.min(b.y)..=a.y.max(b.y)).contains(&spot.y)
            }),
        }
    }
}

/// Where a thing is in a picture.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Anchor {
    /// The thing.
    pub subject: Subject,
    /// The cells that stand for it.
    pub shape: Shape,
}

/// The ways a cursor may go.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[expect(missing_docs, reason = "they are what they say")]
pub enum Direction {
    Up,
    Down,
    Left,
    Right,
}

/// A straight line between the middles of two cells.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Piece {
    /// What kind of line.
    pub stroke: Stroke,
    /// One end.
    pub from: Spot,
    /// The other.
    pub to: Spot,
}

/// Words as they were written, for whoever sets them in letters of its own.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Written {
    /// The cell they begin in.
    pub at: Spot,
    /// The columns they take.
    pub cells: u16,
    /// The words.
    pub text: Text,
    /// How much they ask to be noticed.
    pub weight: Weight,
}

/// A load as it was written, for whoever draws its bar.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Gauge {
    /// The cell it begins in.
    pub at: Spot,
    /// The columns it takes.
    pub cells: u16,
    /// The load in percent of its limit.
    pub percent: Option<f64>,
    /// The load aimed at.
    pub target: f64,
}

/// A picture: lines of cells all of one width, and the things in it.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Picture {
    /// Columns of every line.
    pub width: u16,
    /// Lines.
    pub height: u16,
    /// The things in it, in the order in which they were drawn.
    pub anchors: Vec<Anchor>,
    /// What its signs mean.
    pub legend: Vec<Text>,
    /// Its lines, before they became characters.
    pub pieces: Vec<Piece>,
    /// Its words.
    pub written: Vec<Written>,
    /// Its load bars.
    pub gauges: Vec<Gauge>,
    marks: Vec<Mark>,
}

impl Picture {
    /// An empty picture.
    pub fn new(width: u16, height: u16) -> Self {
        let cells = usize::from(width) * usize::from(height);
        Self { width, height, marks: vec![Mark::default(); cells], ..Self::default() }
    }

    fn at(&self, x: u16, y: u16) -> Option<usize> {
        (x < self.width && y < self.height).then(|| usize::from(y) * usize::from(self.width) + usize::from(x))
    }

    /// What stands in a cell.
    pub fn mark(&self, x: u16, y: u16) -> Option<&Mark> {
        self.at(x, y).and_then(|at| self.marks.get(at))
    }

    pub(super) fn mark_mut(&mut self, x: u16, y: u16) -> Option<&mut Mark> {
        self.at(x, y).and_then(|at| self.marks.get_mut(at))
    }

    /// The lines as text, without the blanks at their ends.
    pub fn lines(&self) -> Vec<String> {
        (0..self.height)
            .map(|y| {
                let mut line = String::new();
                for x in 0..self.width {
                    match self.mark(x, y).map(|mark| &mark.symbol) {
                        None | Some(Symbol::Blank) => line.push(' '),
                        Some(Symbol::Char(c)) => line.push(*c),
                        Some(Symbol::Cluster(text)) => line.push_str(text),
                        Some(Symbol::Covered) => {}
                    }
                }
                line.truncate(line.trim_end().len());
                line
            })
            .collect()
    }

    /// Puts a smaller picture into this one, with its things; what does not fit is cut off.
    pub(super) fn inset(&mut self, inner: &Self, left: u16, top: u16) {
        for y in 0..inner.height {
            for x in 0..inner.width {
                let Some(to) = self.mark_mut(left.saturating_add(x), top.saturating_add(y)) else { break };
                if let Some(from) = inner.mark(x, y) {
                    to.clone_from(from);
                }
            }
        }
        let (width, height) = (self.width, self.height);
        let shift = |spot: Spot| Spot { x: spot.x.saturating_add(left), y: spot.y.saturating_add(top) };
        let inside = |spot: Spot| spot.x < width && spot.y < height;
        let moved = inner.pieces.iter().map(|p| Piece { from: shift(p.from), to: shift(p.to), ..*p });
        self.pieces.extend(moved.filter(|piece| inside(piece.from) && inside(piece.to)));
        let moved = inner.written.iter().map(|w| Written { at: shift(w.at), ..w.clone() });
        self.written.extend(moved.filter(|written| inside(written.at)));
        let moved = inner.gauges.iter().map(|g| Gauge { at: shift(g.at), ..*g });
        self.gauges.extend(moved.filter(|gauge| inside(gauge.at)));
        self.anchors.extend(inner.anchors.iter().filter_map(|anchor| {
            let shape = match &anchor.shape {
                Shape::Words { at, width } => Shape::Words { at: shift(*at), width: *width },
                Shape::Line(pieces) => {
                    Shape::Line(pieces.iter().map(|(a, b)| (shift(*a), shift(*b))).collect())
                }
            };
            let fits = match &shape {
                Shape::Words { at, .. } => inside(*at),
                Shape::Line(pieces) => pieces.iter().all(|(a, b)| inside(*a) && inside(*b)),
            };
            fits.then(|| Anchor { subject: anchor.subject.clone(), shape })
        }));
    }

    /// Puts a `*` before the words of these things, in the column to their left where no word stands.
    pub fn star(&mut self, things: &BTreeSet<Subject>) {
        let mine = self.anchors.iter().filter(|anchor| things.contains(&anchor.subject));
        let spots: BTreeSet<Spot> = mine
            .filter_map(|anchor| match anchor.shape {
                Shape::Words { at, .. } if at.x > 0 => Some(at),
                _ => None,
            })
            .collect();
        for at in spots {
            let before = at.x - 1;
            let Some(mark) = self.mark_mut(before, at.y) else { continue };
            let is_word = match &mark.symbol {
                Symbol::Char(c) => c.is_alphanumeric(),
                Symbol::Blank => false,
                Symbol::Cluster(_) | Symbol::Covered => true,
            };
            if is_word {
                continue;
            }
            mark.symbol = Symbol::Char('*');
            let at = Spot { x: before, y: at.y };
            self.written.push(Written { at, cells: 1, text: "*".into(), weight: Weight::Plain });
        }
    }

    /// Where a thing is shown, at its own place rather than along its way.
    pub fn anchor_of(&self, subject: &Subject) -> Option<&Anchor> {
        let mine = || self.anchors.iter().filter(|anchor| anchor.subject == *subject);
        mine().find(|anchor| matches!(anchor.shape, Shape::Words { .. })).or_else(|| mine().next())
    }

    /// Everything shown in a cell, in the order it was drawn.
    pub fn things_at(&self, spot: Spot) -> impl Iterator<Item = &Anchor> {
        self.anchors.iter().filter(move |anchor| anchor.shape.covers(spot))
    }

    /// The nearest thing with a place of its own in a direction; what is straight ahead counts as nearer.
    pub fn nearest(&self, from: Spot, direction: Direction) -> Option<&Anchor> {
        let words = self.anchors.iter().filter(|anchor| matches!(anchor.shape, Shape::Words { .. }));
        let far = |anchor: &&Anchor| {
            let to = anchor.shape.spot();
            let across = i64::from(to.x) - i64::from(from.x);
            let down = i64::from(to.y) - i64::from(from.y);
            // A line is as high as two columns are wide.
            let (ahead, aside) = match direction {
                Direction::Left => (-across, 2 * down),
                Direction::Right => (across, 2 * down),
                Direction::Up => (-2 * down, across),
                Direction::Down => (2 * down, across),
            };
            (ahead > 0).then(|| ahead + 2 * aside.abs())
        };
        words.filter_map(|anchor| Some((far(&anchor)?, anchor))).min_by_key(|(far, _)| *far).map(|(_, a)| a)
    }
}
