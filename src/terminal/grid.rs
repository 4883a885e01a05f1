//! The screen as a grid of small cells: what is wanted, and what is shown.

use ratatui::buffer::Cell as BufferCell;
use ratatui::style::{Color, Modifier};

use super::caps::{Capabilities, Colour};
use super::glyph::{Clean, TEXT_BYTES, clean};

/// Style bits of a [`Pen`].
pub(super) const BOLD: u8 = 1;
pub(super) const DIM: u8 = 2;
pub(super) const ITALIC: u8 = 4;
pub(super) const UNDERLINE: u8 = 8;
pub(super) const REVERSE: u8 = 16;

/// How text is drawn: colours as 0 for the default or 1 to 16, and style bits.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Hash)]
pub(super) struct Pen {
    pub(super) fg: u8,
    pub(super) bg: u8,
    pub(super) bits: u8,
}

impl Pen {
    pub(super) const PLAIN: Self = Self { fg: 0, bg: 0, bits: 0 };

    /// Whether a space drawn with this pen looks like an erased cell.
    pub(super) const fn erases(self) -> bool {
        self.bg == 0 && self.hides_ink()
    }

    /// Whether a space drawn with this pen shows nothing but its background.
    pub(super) const fn hides_ink(self) -> bool {
        self.bits & (UNDERLINE | REVERSE) == 0
    }

    /// The part of the pen that a space shows.
    const fn of_blank(self) -> Self {
        if self.hides_ink() { Self { fg: 0, bg: self.bg, bits: 0 } } else { self }
    }

    fn of(cell: &BufferCell, caps: &Capabilities) -> Self {
        let mut bits = 0;
        for (modifier, bit, shown) in [
            (Modifier::BOLD, BOLD, true),
            (Modifier::DIM, DIM, caps.dim),
            (Modifier::ITALIC, ITALIC, caps.italic),
            (Modifier::UNDERLINED, UNDERLINE, true),
            (Modifier::REVERSED, REVERSE, true),
        ] {
            if shown && cell.modifier.contains(modifier) {
                bits |= bit;
            }
        }
        if bits & BOLD != 0 {
            // Bold and half bright share one switch-off code, and some terminals keep one of them.
            bits &= !DIM;
        }
        match caps.colour {
            Colour::None => Self { fg: 0, bg: 0, bits },
            Colour::Sixteen => Self { fg: colour(cell.fg), bg: colour(cell.bg), bits },
        }
    }
}

/// A colour as 0 for the default or 1 to 16; anything finer becomes the nearest of them.
fn colour(colour: Color) -> u8 {
    match colour {
        Color::Reset => 0,
        Color::Black => 1,
        Color::Red => 2,
        Color::Green => 3,
        Color::Yellow => 4,
        Color::Blue => 5,
        Color::Magenta => 6,
        Color::Cyan => 7,
        Color::Gray => 8,
        Color::DarkGray => 9,
        Color::LightRed => 10,
        Color::LightGreen => 11,
        Color::LightYellow => 12,
        Color::LightBlue => 13,
        Color::LightMagenta => 14,
        Color::LightCyan => 15,
        Color::White => 16,
        Color::Indexed(index @ 0..=15) => index + 1,
        Color::Indexed(index @ 16..=231) => {
            let level = |step: u8| if step == 0 { 0 } else { 55 + 40 * step };
            let cube = index - 16;
            nearest(level(cube / 36), level(cube / 6 % 6), level(cube % 6))
        }
        Color::Indexed(index) => {
            let level = 8 + 10 * (index - 232);
            nearest(level, level, level)
        }
        Color::Rgb(red, green, blue) => nearest(red, green, blue),
    }
}

fn nearest(red: u8, green: u8, blue: u8) -> u8 {
    let most = red.max(green).max(blue);
    let least = red.min(green).min(blue);
    if most - least < 32 {
        return match most {
            0..=63 => 1,
            64..=159 => 9,
            160..=223 => 8,
            224.. => 16,
        };
    }
    let half = most / 2 + least / 2;
    let bit = |level: u8, bit: u8| if level > half { bit } else { 0 };
    let hue = 1 + bit(red, 1) + bit(green, 2) + bit(blue, 4);
    if most > 215 { hue + 8 } else { hue }
}

/// One cell of 16 bytes; its text is kept inline so that a frame allocates nothing per cell.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub(super) struct Cell {
    text: [u8; TEXT_BYTES],
    len: u8,
    /// 1, 2, 0 for the right half of a wide character, or [`UNKNOWN`].
    width: u8,
    pub(super) pen: Pen,
}

/// The width of a cell of which nobody knows what it shows.
const UNKNOWN: u8 = 255;

impl Cell {
    /// A space in the default colours.
    pub(super) const BLANK: Self = Self::plain(b' ', 1, Pen::PLAIN);
    /// Equal to no cell that is wanted.
    pub(super) const UNKNOWN: Self = Self::plain(0, UNKNOWN, Pen::PLAIN);

    const fn plain(byte: u8, width: u8, pen: Pen) -> Self {
        let mut text = [0; TEXT_BYTES];
        text[0] = byte;
        Self { text, len: 1, width, pen }
    }

    fn new(clean: Clean, pen: Pen) -> Self {
        let mut cell = Self { text: clean.text, len: clean.len, width: clean.width, pen };
        if cell.is_space() {
            cell.pen = pen.of_blank();
        }
        cell
    }

    pub(super) fn text(&self) -> &[u8] {
        &self.text[..usize::from(self.len)]
    }

    /// Columns the text takes; 0 for a right half or an unknown cell.
    pub(super) const fn columns(&self) -> u8 {
        match self.width {
            UNKNOWN => 0,
            width => width,
        }
    }

    pub(super) const fn is_wide(&self) -> bool {
        self.width == 2
    }

    pub(super) const fn is_right_half(&self) -> bool {
        self.width == 0
    }

    pub(super) const fn is_space(&self) -> bool {
        self.len == 1 && self.text[0] == b' ' && self.width == 1
    }

    /// Whether erasing gives exactly this cell.
    pub(super) fn is_blank(&self) -> bool {
        *self == Self::BLANK
    }

    /// One printable ASCII byte, whose width no terminal doubts.
    pub(super) const fn is_ascii(&self) -> bool {
        self.len == 1 && self.width == 1
    }
}

/// A screenful of cells.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Grid {
    pub(super) cols: usize,
    pub(super) rows: usize,
    cells: Vec<Cell>,
}

impl Grid {
    pub(super) fn new(cols: u16, rows: u16, cell: Cell) -> Self {
        let (cols, rows) = (usize::from(cols), usize::from(rows));
        Self { cols, rows, cells: vec![cell; cols * rows] }
    }

    pub(super) fn row(&self, y: usize) -> &[Cell] {
        &self.cells[y * self.cols..(y + 1) * self.cols]
    }

    pub(super) fn row_mut(&mut self, y: usize) -> &mut [Cell] {
        &mut self.cells[y * self.cols..(y + 1) * self.cols]
    }

    /// Whether the cell is the right half of a wide character.
    pub(super) fn has_right_half(&self, x: u16, y: u16) -> bool {
        let (x, y) = (usize::from(x), usize::from(y));
        x < self.cols && y < self.rows && self.row(y)[x].is_right_half()
    }

    pub(super) fn copy_row(&mut self, from: usize, to: usize) {
        let start = from * self.cols;
        self.cells.copy_within(start..start + self.cols, to * self.cols);
    }

    pub(super) fn fill(&mut self, cell: Cell) {
        self.cells.fill(cell);
    }

    /// Copies another grid of any size.
    pub(super) fn copy_from(&mut self, other: &Self) {
        self.cols = other.cols;
        self.rows = other.rows;
        self.cells.clone_from(&other.cells);
    }

    /// Puts one cell of a frame; outside the grid nothing happens.
    ///
    /// A wide character that loses one half loses both, as on the terminal.
    pub(super) fn put(&mut self, x: u16, y: u16, cell: &BufferCell, caps: &Capabilities) {
        let (x, y) = (usize::from(x), usize::from(y));
        if x >= self.cols || y >= self.rows {
            return;
        }
        let pen = Pen::of(cell, caps);
        let clean = if cell.modifier.contains(Modifier::HIDDEN) {
            clean(" ", caps.repertoire)
        } else {
            clean(cell.symbol(), caps.repertoire)
        };
        let new = Cell::new(clean, pen);
        let last = self.cols - 1;
        let row = self.row_mut(y);
        split_wide(row, x);
        if !new.is_wide() {
            row[x] = new;
        } else if x == last {
            row[x] = Cell::new(self::clean(" ", caps.repertoire), pen);
        } else {
            split_wide(row, x + 1);
            if new.text() == b"?" {
                // A wide character mapped to ASCII: the mark and a space.
                row[x] = Cell::plain(b'?', 1, pen);
                row[x + 1] = Cell::plain(b' ', 1, pen.of_blank());
            } else {
                row[x] = new;
                row[x + 1] = Cell::plain(0, 0, pen);
            }
        }
    }
}

/// Blanks what a write at `x` leaves of a wide character.
fn split_wide(row: &mut [Cell], x: usize) {
    if row[x].is_right_half() && x > 0 {
        let pen = row[x - 1].pen.of_blank();
        row[x - 1] = Cell::plain(b' ', 1, pen);
    }
    if row[x].is_wide() && x + 1 < row.len() {
        let pen = row[x].pen.of_blank();
        row[x + 1] = Cell::plain(b' ', 1, pen);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_cell_is_sixteen_bytes() {
        assert_eq!(size_of::<Cell>(), 16);
    }

    #[test]
    fn fine_colours_become_near_ones() {
        assert_eq!(colour(Color::Rgb(255, 0, 0)), 10);
        assert_eq!(colour(Color::Rgb(128, 0, 0)), 2);
        assert_eq!(colour(Color::Indexed(196)), 10);
        assert_eq!(colour(Color::Indexed(255)), 16);
        assert_eq!(colour(Color::Rgb(10, 10, 10)), 1);
    }

    #[test]
    fn half_of_a_wide_character_is_a_space() {
        let caps =
            Capabilities { repertoire: super::super::caps::Repertoire::Unicode, ..Capabilities::default() };
        let mut grid = Grid::new(4, 1, Cell::BLANK);
        grid.put(0, 0, &BufferCell::new("漢"), &caps);
        grid.put(1, 0, &BufferCell::new("a"), &caps);
        assert!(grid.row(0)[0].is_blank());
        assert_eq!(grid.row(0)[1].text(), b"a");
        grid.put(3, 0, &BufferCell::new("漢"), &caps);
        assert!(grid.row(0)[3].is_blank(), "no room for the right half");
        grid.put(9, 9, &BufferCell::new("x"), &caps);
    }
}
