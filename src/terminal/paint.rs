//! The difference of two screens as bytes: a pure function of what is shown and what is wanted.

use super::caps::Capabilities;
use super::grid::{Cell, Grid, Pen};
use super::moves::{At, Short, Under, fits, go};
use super::pen;
use super::scroll::{self, Shift};

/// What the terminal shows once all bytes so far have reached it.
#[derive(Debug, Clone)]
pub(super) struct Shown {
    pub(super) grid: Grid,
    pub(super) at: At,
    /// The pen the terminal holds; `None` when nobody knows.
    pub(super) pen: Option<Pen>,
    /// Whether the cursor is visible.
    pub(super) cursor: bool,
}

/// Appends to `out` what turns the shown screen into the wanted one, and records it as shown.
///
/// `cursor` is where the cursor shall stand, or `None` to hide it. Grids of different sizes are
/// drawn anew.
pub(super) fn paint(
    shown: &mut Shown,
    want: &Grid,
    cursor: Option<(usize, usize)>,
    caps: &Capabilities,
    out: &mut Vec<u8>,
) {
    if (shown.grid.cols, shown.grid.rows) != (want.cols, want.rows) {
        shown.grid.copy_from(want);
        shown.grid.fill(Cell::UNKNOWN);
        shown.at = At::Nowhere;
    }
    let cursor =
        cursor.map(|(x, y)| (x.min(want.cols.saturating_sub(1)), y.min(want.rows.saturating_sub(1))));
    if shown.grid != *want {
        let mut best = Brush::new(shown, caps);
        best.rows(&shown.grid, want);
        if caps.scroll_regions
            && let Some(shift) = scroll::find(&shown.grid, want)
        {
            best = best.or_shifted(shown, want, shift, cursor);
        }
        out.append(&mut best.out);
        (shown.at, shown.pen) = (best.at, best.pen);
        shown.grid.copy_from(want);
    }
    let mut last = Brush::new(shown, caps);
    last.cursor(want, cursor, shown.cursor);
    out.append(&mut last.out);
    shown.at = last.at;
    if caps.hide_cursor {
        shown.cursor = cursor.is_some();
    }
}

/// Draws on an imagined terminal, keeping track of its cursor and pen.
struct Brush<'a> {
    caps: &'a Capabilities,
    out: Vec<u8>,
    at: At,
    pen: Option<Pen>,
    dirty: Vec<bool>,
}

impl<'a> Brush<'a> {
    fn new(shown: &Shown, caps: &'a Capabilities) -> Self {
        Self { caps, out: Vec::new(), at: shown.at, pen: shown.pen, dirty: Vec::new() }
    }

    /// The cheaper of drawing in place, which this has done, and moving rows first.
    fn or_shifted(self, shown: &Shown, want: &Grid, shift: Shift, cursor: Option<(usize, usize)>) -> Self {
        let mut moved = shown.grid.clone();
        scroll::apply(&mut moved, shift);
        let total = |brush: &Self| {
            let there = cursor.map_or(0, |to| brush.way(want, to).cost());
            brush.out.len() + there
        };
        let caps = self.caps;
        let mut best = self;
        for by_lines in [false, true] {
            if by_lines && !caps.insert_lines {
                continue;
            }
            let mut way = Brush::new(shown, caps);
            if by_lines {
                way.scroll_lines(shift, &moved);
            } else {
                way.scroll_margins(shift, want.rows);
            }
            way.rows(&moved, want);
            // Taking lines out and putting others in makes what is below jump on a slow line.
            let jumps = by_lines && shift.bottom + 1 < want.rows;
            if total(&way) + if jumps { 8 } else { 0 } < total(&best) {
                best = way;
            }
        }
        best
    }

    fn scroll_margins(&mut self, shift: Shift, rows: usize) {
        let whole = shift.top == 0 && shift.bottom + 1 == rows;
        self.erasing_pen();
        if !whole {
            let bottom = if shift.bottom + 1 == rows { 1 } else { shift.bottom + 1 };
            self.send(&Short::new().csi_pair(shift.top + 1, bottom, b'r'));
            self.at = At::Cell { x: 0, y: 0 };
        }
        let count = shift.count();
        if self.caps.scroll_counts {
            let last = if shift.is_up() { b'S' } else { b'T' };
            self.send(&Short::new().csi(count, last));
        } else {
            let (row, step): (usize, &[u8]) =
                if shift.is_up() { (shift.bottom, b"\n") } else { (shift.top, b"\x1bM") };
            self.send(&Short::new().csi_pair(row + 1, 1, b'H'));
            for _ in 0..count {
                self.out.extend_from_slice(step);
            }
            self.at = At::Cell { x: 0, y: row };
        }
        if !whole {
            self.out.extend_from_slice(b"\x1b[r");
            self.at = At::Cell { x: 0, y: 0 };
        }
    }

    fn scroll_lines(&mut self, shift: Shift, grid: &Grid) {
        self.erasing_pen();
        let count = shift.count();
        let low = shift.bottom + 1 - count;
        let steps =
            if shift.is_up() { [(shift.top, b'M'), (low, b'L')] } else { [(low, b'M'), (shift.top, b'L')] };
        for (row, last) in steps {
            // Below the last row there is nothing to push back down.
            if row == low && shift.bottom + 1 == grid.rows {
                continue;
            }
            // Rows are in motion, so nothing may be written again on the way.
            let under = Under { row: &[], pen: None };
            let way = go(self.at, (0, row), self.caps, under);
            self.send(&way);
            self.send(&Short::new().csi(count, last));
            self.at = At::Cell { x: 0, y: row };
        }
    }

    fn rows(&mut self, old: &Grid, want: &Grid) {
        let blank_from = (0..want.rows)
            .rev()
            .take_while(|&y| want.row(y).iter().all(Cell::is_blank))
            .last()
            .unwrap_or(want.rows);
        for y in 0..want.rows {
            if old.row(y) == want.row(y) {
                continue;
            }
            let below = (y..want.rows).filter(|&y| old.row(y) != want.row(y));
            if y > 0 && y >= blank_from && below.count() > 1 {
                self.go(want, (0, y));
                self.erasing_pen();
                self.out.extend_from_slice(b"\x1b[J");
                return;
            }
            let ends_blank = want.row(y).last().is_some_and(Cell::is_blank);
            if ends_blank && old.row(y).iter().all(|cell| *cell == Cell::UNKNOWN) {
                // Erasing is needed anyway; done first, it saves writing the spaces between.
                self.go(want, (0, y));
                self.erasing_pen();
                self.out.extend_from_slice(b"\x1b[K");
                let blank = vec![Cell::BLANK; want.cols];
                self.row(&blank, want, y);
            } else {
                self.row(old.row(y), want, y);
            }
        }
    }

    fn row(&mut self, old: &[Cell], want: &Grid, y: usize) {
        let new = want.row(y);
        let mut dirty = std::mem::take(&mut self.dirty);
        dirty.clear();
        // The halves of a wide character carry its pen and fit nothing else, so a change of one
        // is a change of both.
        dirty.extend(old.iter().zip(new).map(|(old, new)| old != new));
        let end = new.iter().rposition(|cell| !cell.is_blank());
        let end = end.map_or(0, |x| x + 1);
        let last = dirty.iter().rposition(|&dirty| dirty).unwrap_or(0);
        let tail = dirty.iter().skip(end).position(|&dirty| dirty);
        // Three spaces cost as much as erasing, but leave the cursor somewhere else.
        let erase = tail.map(|x| x + end).filter(|&x| last - x >= 2);
        let mut x = 0;
        while x < new.len() {
            if !dirty[x] {
                x += 1;
                continue;
            }
            if let Some(tail) = erase.filter(|_| x >= end) {
                self.erase_tail(want, y, end, tail);
                break;
            }
            x = self.run(want, y, x, &dirty);
        }
        self.dirty = dirty;
    }

    fn erase_tail(&mut self, want: &Grid, y: usize, end: usize, tail: usize) {
        let here = matches!(self.at, At::Cell { x, y: row } if row == y && x >= end && x <= tail);
        if !here {
            let (near, far) = (self.way(want, (end, y)), self.way(want, (tail, y)));
            let x = if near.cost() < far.cost() { end } else { tail };
            self.go(want, (x, y));
        }
        self.erasing_pen();
        self.out.extend_from_slice(b"\x1b[K");
    }

    /// Draws the run of equal cells that starts at `x`; gives the column after it.
    fn run(&mut self, want: &Grid, y: usize, x: usize, dirty: &[bool]) -> usize {
        let row = want.row(y);
        let cell = row[x];
        if cell.columns() != 1 {
            self.single(want, y, x);
            return x + usize::from(cell.columns()).max(1);
        }
        let equal = row[x..].iter().take_while(|other| **other == cell).count();
        let count = dirty[x..x + equal].iter().rposition(|&dirty| dirty).map_or(1, |last| last + 1);
        if cell.text().len() > 4 || !is_one_char(cell.text()) {
            self.single(want, y, x);
            return x + 1;
        }
        self.go(want, (x, y));
        let repeat = Short::new().csi(count - 1, b'b');
        let length = cell.text().len();
        let written = if self.caps.repeat && count > 1 {
            (length * count).min(length + repeat.cost())
        } else {
            length * count
        };
        if self.caps.erase_chars && cell.is_space() && cell.pen.erases() {
            let next_dirty = dirty.get(x + count).copied().unwrap_or(false);
            let erase = Short::new().csi(count, b'X');
            let after = if next_dirty { Short::new().csi(count, b'C').cost() } else { 0 };
            if erase.cost() + after < written {
                self.erasing_pen();
                self.send(&erase);
                return x + count;
            }
        }
        self.pen_for(&cell);
        if written < length * count {
            self.out.extend_from_slice(cell.text());
            self.send(&repeat);
        } else {
            for _ in 0..count {
                self.out.extend_from_slice(cell.text());
            }
        }
        self.step(want, (x, y), count);
        x + count
    }

    /// Draws one cell whose width is two or in doubt.
    fn single(&mut self, want: &Grid, y: usize, x: usize) {
        let cell = want.row(y)[x];
        let width = usize::from(cell.columns());
        if width == 0 {
            return;
        }
        let doubtful = is_doubtful(cell.text());
        if doubtful && width == 2 {
            // Should the terminal draw it narrow, the right half must not keep what it showed.
            self.go(want, (x, y));
            self.pen_for(&cell);
            self.out.extend_from_slice(b"  ");
            self.step(want, (x, y), width);
        }
        self.go(want, (x, y));
        self.pen_for(&cell);
        self.out.extend_from_slice(cell.text());
        self.step(want, (x, y), width);
        if doubtful {
            self.at = At::Row { y };
        }
    }

    fn step(&mut self, want: &Grid, (x, y): (usize, usize), count: usize) {
        self.at = if x + count < want.cols { At::Cell { x: x + count, y } } else { At::Row { y } };
    }

    fn way(&self, want: &Grid, to: (usize, usize)) -> Short {
        let under = Under { row: want.row(to.1), pen: self.pen };
        go(self.at, to, self.caps, under)
    }

    fn go(&mut self, want: &Grid, (x, y): (usize, usize)) {
        let way = self.way(want, (x, y));
        self.send(&way);
        self.at = At::Cell { x, y };
    }

    fn send(&mut self, short: &Short) {
        self.out.extend_from_slice(short.as_bytes());
    }

    fn pen_for(&mut self, cell: &Cell) {
        if !self.pen.is_some_and(|pen| fits(cell, pen)) {
            pen::change(&mut self.out, self.pen, cell.pen);
            self.pen = Some(cell.pen);
        }
    }

    /// Takes a pen that leaves erased cells plain on terminals of every habit.
    fn erasing_pen(&mut self) {
        if !self.pen.is_some_and(Pen::erases) {
            pen::change(&mut self.out, self.pen, Pen::PLAIN);
            self.pen = Some(Pen::PLAIN);
        }
    }

    fn cursor(&mut self, want: &Grid, cursor: Option<(usize, usize)>, visible: bool) {
        match cursor {
            Some(to) if want.cols > 0 && want.rows > 0 => {
                self.go(want, to);
                if !visible && self.caps.hide_cursor {
                    self.out.extend_from_slice(b"\x1b[?25h");
                }
            }
            _ => {
                if visible && self.caps.hide_cursor {
                    self.out.extend_from_slice(b"\x1b[?25l");
                }
            }
        }
    }
}

fn is_one_char(text: &[u8]) -> bool {
    text.iter().filter(|&&byte| byte & 0xc0 != 0x80).count() == 1
}

/// Marks and emoji: the width tables of two ends may be of different years.
fn is_doubtful(text: &[u8]) -> bool {
    !is_one_char(text) || text.first().is_some_and(|&byte| byte >= 0xf0)
}
