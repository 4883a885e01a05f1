//! Moving the cursor in the fewest bytes.

use super::caps::Capabilities;
use super::grid::{Cell, Pen};

/// Where the cursor is known to be.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum At {
    /// On a cell.
    Cell { x: usize, y: usize },
    /// In this row, but past its last cell or after a character of doubtful width, where
    /// terminals disagree on relative moves.
    Row { y: usize },
    /// Anywhere.
    Nowhere,
}

/// A short sequence built without allocating, so that several can be compared.
#[derive(Debug, Clone, Copy)]
pub(super) struct Short {
    bytes: [u8; 40],
    len: usize,
    full: bool,
}

impl Short {
    pub(super) const fn new() -> Self {
        Self { bytes: [0; 40], len: 0, full: false }
    }

    pub(super) fn as_bytes(&self) -> &[u8] {
        &self.bytes[..self.len]
    }

    /// Bytes it costs to send; an overfull one is never the cheapest.
    pub(super) const fn cost(&self) -> usize {
        if self.full { usize::MAX } else { self.len }
    }

    fn push(mut self, bytes: &[u8]) -> Self {
        match self.bytes.get_mut(self.len..self.len + bytes.len()) {
            Some(place) => {
                place.copy_from_slice(bytes);
                self.len += bytes.len();
            }
            None => self.full = true,
        }
        self
    }

    fn repeat(mut self, byte: u8, count: usize) -> Self {
        for _ in 0..count.min(64) {
            self = self.push(&[byte]);
        }
        self
    }

    fn number(self, number: usize) -> Self {
        let mut digits = [0; 20];
        let mut start = digits.len();
        let mut rest = number;
        loop {
            start -= 1;
            // The remainder of ten always fits.
            digits[start] = b'0' + u8::try_from(rest % 10).unwrap_or(0);
            rest /= 10;
            if rest == 0 {
                break;
            }
        }
        self.push(&digits[start..])
    }

    /// `ESC [ number final`, the number left out when it is one.
    pub(super) fn csi(self, number: usize, last: u8) -> Self {
        let start = self.push(b"\x1b[");
        let counted = if number == 1 { start } else { start.number(number) };
        counted.push(&[last])
    }

    /// `ESC [ first ; second final`, each number left out when it is one.
    pub(super) fn csi_pair(self, first: usize, second: usize, last: u8) -> Self {
        if second == 1 {
            return self.csi(first, last);
        }
        let mut start = self.push(b"\x1b[");
        if first != 1 {
            start = start.number(first);
        }
        start.push(b";").number(second).push(&[last])
    }

    fn then(self, next: &Self) -> Self {
        let mut joined = self.push(next.as_bytes());
        joined.full |= next.full;
        joined
    }

    fn shorter(self, other: Self) -> Self {
        if other.cost() < self.cost() { other } else { self }
    }
}

/// What may be written again instead of moving: the target row as it is shown, and the pen.
#[derive(Debug, Clone, Copy)]
pub(super) struct Under<'a> {
    pub(super) row: &'a [Cell],
    pub(super) pen: Option<Pen>,
}

/// The cheapest way from `at` to column `x` of row `y`.
pub(super) fn go(at: At, (x, y): (usize, usize), caps: &Capabilities, under: Under<'_>) -> Short {
    let address = Short::new().csi_pair(y + 1, x + 1, b'H');
    match at {
        At::Nowhere => address,
        At::Row { y: from } => {
            let start = vertical(Short::new().push(b"\r"), from, y, caps);
            address.shorter(start.then(&across(0, x, caps, under)))
        }
        At::Cell { x: column, y: from } => {
            let here = vertical(Short::new(), from, y, caps);
            let start = vertical(Short::new().push(b"\r"), from, y, caps);
            here.then(&across(column, x, caps, under))
                .shorter(start.then(&across(0, x, caps, under)))
                .shorter(address)
        }
    }
}

fn vertical(start: Short, from: usize, to: usize, caps: &Capabilities) -> Short {
    let best = match to.checked_sub(from) {
        Some(0) => return start,
        Some(down) => start.repeat(b'\n', down).shorter(start.csi(down, b'B')),
        None if from - to == 1 => start.push(b"\x1bM"),
        None => start.csi(from - to, b'A'),
    };
    if caps.absolute_moves { best.shorter(start.csi(to + 1, b'd')) } else { best }
}

fn across(from: usize, to: usize, caps: &Capabilities, under: Under<'_>) -> Short {
    let start = Short::new();
    let best = match to.checked_sub(from) {
        Some(0) => return start,
        Some(right) => rewrite(from, to, under).shorter(start.csi(right, b'C')),
        None => start.repeat(b'\x08', from - to).shorter(start.csi(from - to, b'D')),
    };
    if caps.absolute_moves { best.shorter(start.csi(to + 1, b'G')) } else { best }
}

/// Writing the cells again, where that needs no other pen.
fn rewrite(from: usize, to: usize, under: Under<'_>) -> Short {
    let mut short = Short::new();
    let never = Short { full: true, ..Short::new() };
    let (Some(pen), Some(cells)) = (under.pen, under.row.get(from..to)) else {
        return never;
    };
    if cells.len() > 8 {
        return never;
    }
    for cell in cells {
        if !cell.is_ascii() || !fits(cell, pen) {
            return never;
        }
        short = short.push(cell.text());
    }
    short
}

/// Whether a cell can be drawn with this pen and look as it should.
pub(super) fn fits(cell: &Cell, pen: Pen) -> bool {
    cell.pen == pen || cell.is_space() && cell.pen.hides_ink() && pen.hides_ink() && cell.pen.bg == pen.bg
}

#[cfg(test)]
mod tests {
    use super::*;

    fn moved(at: At, to: (usize, usize)) -> String {
        let caps = Capabilities { absolute_moves: true, ..Capabilities::default() };
        let row = [Cell::BLANK; 80];
        let under = Under { row: &row, pen: None };
        String::from_utf8(go(at, to, &caps, under).as_bytes().to_vec()).unwrap()
    }

    #[test]
    fn short_ways_are_found() {
        let at = At::Cell { x: 10, y: 5 };
        assert_eq!(moved(at, (10, 5)), "");
        assert_eq!(moved(at, (10, 6)), "\n");
        assert_eq!(moved(at, (9, 6)), "\n\x08");
        assert_eq!(moved(at, (0, 6)), "\r\n");
        assert_eq!(moved(at, (10, 4)), "\x1bM");
        assert_eq!(moved(at, (11, 5)), "\x1b[C");
        assert_eq!(moved(at, (10, 20)), "\x1b[15B");
        assert_eq!(moved(at, (40, 20)), "\x1b[21;41H");
        assert_eq!(moved(At::Nowhere, (0, 0)), "\x1b[H");
        assert_eq!(moved(At::Row { y: 5 }, (0, 6)), "\r\n");
        assert_eq!(moved(At::Row { y: 5 }, (79, 5)), "\r\x1b[79C");
    }
}
