//! The paper: its size, which way it lies, and what is left of it within the margins.

/// A size of paper.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Size {
    /// 8.5 by 11 in.
    #[default]
    Letter,
    /// 210 by 297 mm.
    A4,
}

/// Which way the paper lies.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Turn {
    /// Higher than wide.
    Portrait,
    /// Wider than high.
    Landscape,
}

/// The paper of a sheet.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Form {
    /// Its size.
    pub size: Size,
    /// Which way it lies; by what is on it where nobody says.
    pub turn: Option<Turn>,
}

/// Half an inch on each side, which every printer leaves free, holes or a clip need, and a thumb may cover.
pub(super) const MARGIN: f32 = 36.0;

impl Form {
    /// Width and height in points when it lies that way.
    pub(super) const fn points(self, turn: Turn) -> (f32, f32) {
        let (short, long) = match self.size {
            Size::Letter => (612.0, 792.0),
            Size::A4 => (595.28, 841.89),
        };
        match turn {
            Turn::Portrait => (short, long),
            Turn::Landscape => (long, short),
        }
    }

    /// The ways it may lie, the better first.
    pub(super) fn turns(self) -> Vec<Turn> {
        self.turn.map_or_else(|| vec![Turn::Portrait, Turn::Landscape], |turn| vec![turn])
    }

    /// Width and height within the margins.
    pub(super) fn inside(self, turn: Turn) -> (f32, f32) {
        let (width, height) = self.points(turn);
        (width - 2.0 * MARGIN, height - 2.0 * MARGIN)
    }
}
