//! What is put onto paper: words, lines and areas at their places, whatever writes them afterwards.
//!
//! Places are in points of 1/72 in from the top left corner, to the right and downwards.

use super::face::{FOOT, Face, LINE};

/// What stands on a page. All of it is black.
#[derive(Debug, Clone, PartialEq)]
pub enum Ink {
    /// Words on one line, from the left.
    Words {
        /// Where the first letter begins.
        x: f32,
        /// The foot of the letters.
        y: f32,
        /// The words, of nothing but characters that the face has.
        text: String,
        /// Their size.
        size: f32,
        /// Their face.
        face: Face,
    },
    /// A straight line.
    Line {
        /// From where.
        from: (f32, f32),
        /// To where.
        to: (f32, f32),
        /// How thick.
        thick: f32,
        /// The length of its dashes and the gaps between them, if it is dashed.
        dash: Option<f32>,
    },
    /// A rectangle, filled or by its outline.
    Area {
        /// Its left top corner.
        at: (f32, f32),
        /// How wide and how high.
        size: (f32, f32),
        /// How it is drawn.
        fill: Fill,
    },
    /// A circle, filled or by its outline.
    Disc {
        /// Its middle.
        at: (f32, f32),
        /// Half its width.
        radius: f32,
        /// How it is drawn.
        fill: Fill,
    },
}

/// How an area is drawn.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Fill {
    /// All black.
    Solid,
    /// White within an outline that thick.
    Outline(f32),
    /// White without an outline, to keep what is beneath from showing through words.
    Blank,
}

impl Ink {
    /// The same further to the right and down.
    #[must_use]
    pub fn moved(self, right: f32, down: f32) -> Self {
        let shift = |(x, y): (f32, f32)| (x + right, y + down);
        match self {
            Self::Words { x, y, text, size, face } => {
                Self::Words { x: x + right, y: y + down, text, size, face }
            }
            Self::Line { from, to, thick, dash } => {
                Self::Line { from: shift(from), to: shift(to), thick, dash }
            }
            Self::Area { at, size, fill } => Self::Area { at: shift(at), size, fill },
            Self::Disc { at, radius, fill } => Self::Disc { at: shift(at), radius, fill },
        }
    }

    /// Words whose line begins at that height. What the face does not have is shown as such.
    pub(super) fn words(x: f32, top: f32, text: &str, size: f32, face: Face) -> Self {
        Self::Words { x, y: top + FOOT * size, text: face.shown(text), size, face }
    }

    /// A line across.
    pub(super) const fn rule(x: f32, y: f32, width: f32, thick: f32) -> Self {
        Self::Line { from: (x, y), to: (x + width, y), thick, dash: None }
    }
}

/// A page.
#[derive(Debug, Clone, PartialEq)]
pub struct Leaf {
    /// How wide it is.
    pub width: f32,
    /// How high it is.
    pub height: f32,
    /// What stands on it, in the order in which it is to be read.
    pub ink: Vec<Ink>,
}

/// Lines of words beneath each other, and how high they are together.
pub(super) fn lines(lines: &[String], x: f32, top: f32, size: f32, face: Face) -> (Vec<Ink>, f32) {
    let mut y = top;
    let mut ink = Vec::with_capacity(lines.len());
    for line in lines {
        if !line.is_empty() {
            ink.push(Ink::words(x, y, line, size, face));
        }
        y += LINE * size;
    }
    (ink, y - top)
}
