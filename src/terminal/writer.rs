//! The screen behind ratatui: frames go in, the fewest bytes come out.
//!
//! `draw` only fills a grid. `flush` compares it with what is shown and writes once. While the
//! line has not taken a whole frame nothing newer is composed: the frames that come meanwhile
//! are merged into the grid, and the newest is compared when the line is free again.

use std::io::{self, ErrorKind, Write};
use std::time::Instant;

use ratatui::backend::{Backend, ClearType, WindowSize};
use ratatui::buffer::{Buffer, Cell as BufferCell};
use ratatui::layout::{Position, Size};
use rustix::io::Errno;

use super::caps::Capabilities;
use super::grid::{Cell, Grid, Pen};
use super::moves::At;
use super::pace::Pace;
use super::paint::{Shown, paint};

/// What the next frame must take as shown.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Base {
    /// What the last frame left.
    Shown,
    /// A screen of unknown content, to be drawn over without a flash.
    Unknown,
    /// The same, with leftovers of other programs undone first.
    Garbled,
    /// A screen just entered, which may be cleared.
    Entered,
}

/// What a frame that could not be sent waits for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct OutputWaits {
    /// The line must take bytes again.
    pub line: bool,
    /// The frames of a held key must not overtake a slow line.
    pub until: Option<Instant>,
}

/// A terminal screen that draws by difference.
///
/// `W` may refuse with [`io::ErrorKind::WouldBlock`]; the rest is then kept and sent by
/// [`Screen::resume_output`]. Never more than one frame is under way.
#[derive(Debug)]
pub struct Screen<W: Write> {
    caps: Capabilities,
    out: W,
    want: Grid,
    shown: Shown,
    cursor: Position,
    cursor_visible: bool,
    base: Base,
    /// Sent before the next frame, as part of the same write.
    prefix: Vec<u8>,
    pending: Vec<u8>,
    sent: usize,
    /// A newer frame waits for the pending bytes, or for its time.
    stale: bool,
    /// When the newer frame may be sent.
    due: Option<Instant>,
    pace: Option<Pace>,
    /// The line is gone, as [`super::events::Event::Hangup`] tells; nothing is sent any more.
    gone: bool,
}

impl<W: Write> Screen<W> {
    /// A screen of this size on a terminal just entered; `prefix` goes out before the first frame.
    pub fn new(out: W, size: Size, caps: Capabilities, prefix: Vec<u8>) -> Self {
        let grid = Grid::new(size.width, size.height, Cell::BLANK);
        Self {
            caps,
            out,
            shown: Shown { grid: grid.clone(), at: At::Nowhere, pen: None, cursor: true },
            want: grid,
            cursor: Position::ORIGIN,
            cursor_visible: false,
            base: Base::Entered,
            prefix,
            pending: Vec::new(),
            sent: 0,
            stale: false,
            due: None,
            pace: None,
            gone: false,
        }
    }

    /// Makes frames of a held key wait for a slow line, see [`Screen::waits`].
    #[must_use]
    pub fn paced(self) -> Self {
        Self { pace: Some(Pace::default()), ..self }
    }

    /// The abilities this screen draws with.
    pub const fn capabilities(&self) -> &Capabilities {
        &self.caps
    }

    /// Takes the new size of the window; the next frame repaints all.
    ///
    /// To be called for every resize, even to the size it has: terminals rearrange what they show.
    pub fn resize(&mut self, size: Size) {
        if self.size_now() != size {
            self.want = Grid::new(size.width, size.height, Cell::BLANK);
        }
        self.stale = false;
        self.due = None;
        self.invalidate(Base::Unknown);
    }

    /// Makes the next flush repaint everything and undo what other programs may have left.
    pub fn repaint(&mut self) {
        self.invalidate(Base::Garbled);
    }

    /// Starts again on a terminal entered anew, as after a suspension.
    pub fn reenter(&mut self, size: Size, prefix: Vec<u8>) {
        self.pending.clear();
        self.sent = 0;
        self.resize(size);
        self.base = Base::Entered;
        self.shown.cursor = true;
        self.prefix = prefix;
    }

    /// Draws a whole buffer without ratatui's own second copy, and flushes it.
    pub fn present(&mut self, buffer: &Buffer, cursor: Option<Position>) -> io::Result<()> {
        self.want.fill(Cell::BLANK);
        let width = usize::from(buffer.area.width).max(1);
        for (row, y) in buffer.content.chunks(width).zip(buffer.area.y..) {
            for (cell, x) in row.iter().zip(buffer.area.x..) {
                // A space after a wide character is its right half, not a cell of its own.
                if cell.symbol() == " " && self.want.has_right_half(x, y) {
                    continue;
                }
                self.want.put(x, y, cell, &self.caps);
            }
        }
        self.cursor_visible = cursor.is_some();
        self.cursor = cursor.unwrap_or(self.cursor);
        self.flush()
    }

    /// What the output waits for, to be given to [`super::events::Events::wait`].
    ///
    /// When it is over, [`Screen::resume_output`] is to be called.
    pub fn waits(&self) -> OutputWaits {
        OutputWaits { line: self.is_pending(), until: self.due.filter(|_| self.stale && !self.is_pending()) }
    }

    /// Whether bytes of a frame wait for the line.
    pub const fn is_pending(&self) -> bool {
        self.sent < self.pending.len()
    }

    /// Sends what the line takes of a waiting frame, then the newest frame if it may go.
    pub fn resume_output(&mut self) -> io::Result<()> {
        self.send()?;
        let now = Instant::now();
        if self.stale && !self.is_pending() && self.due.is_none_or(|due| now >= due) {
            self.send_frame(now)?;
        }
        Ok(())
    }

    /// Sends bytes that draw nothing, after what is pending.
    pub fn send_aside(&mut self, bytes: &[u8]) -> io::Result<()> {
        self.pending.extend_from_slice(bytes);
        self.send()
    }

    fn invalidate(&mut self, base: Base) {
        if self.base != Base::Entered {
            self.base = base;
        }
    }

    fn size_now(&self) -> Size {
        let narrow = |length: usize| u16::try_from(length).unwrap_or(u16::MAX);
        Size::new(narrow(self.want.cols), narrow(self.want.rows))
    }

    /// Whether the newest frame is what is shown, the place of the cursor apart.
    fn is_current(&self) -> bool {
        self.shown.grid == self.want
    }

    fn send_frame(&mut self, now: Instant) -> io::Result<()> {
        self.compose();
        if let Some(pace) = &mut self.pace {
            pace.sent(self.pending.len(), now);
        }
        self.send()
    }

    /// Appends the difference to the newest frame to the pending bytes.
    fn compose(&mut self) {
        self.stale = false;
        self.due = None;
        let out = &mut self.pending;
        out.append(&mut self.prefix);
        if self.base == Base::Garbled {
            out.extend_from_slice(b"\x0f\x1b(B\x1b[r");
        }
        match self.base {
            Base::Shown => {}
            // Drawn over and erased row by row, so that nothing flashes on a slow line.
            Base::Unknown | Base::Garbled => {
                self.shown.grid.copy_from(&self.want);
                self.shown.grid.fill(Cell::UNKNOWN);
                self.shown.at = At::Nowhere;
                self.shown.pen = None;
            }
            // The second screen is empty, or will be replaced as a whole: clearing is cheaper.
            Base::Entered => {
                out.extend_from_slice(b"\x1b[m\x1b[H\x1b[J");
                self.shown.grid.copy_from(&self.want);
                self.shown.grid.fill(Cell::BLANK);
                self.shown.at = At::Cell { x: 0, y: 0 };
                self.shown.pen = Some(Pen::PLAIN);
            }
        }
        let Position { x, y } = self.cursor;
        let cursor = self.cursor_visible.then(|| (usize::from(x), usize::from(y)));
        paint(&mut self.shown, &self.want, cursor, &self.caps, out);
        self.base = Base::Shown;
    }

    fn send(&mut self) -> io::Result<()> {
        while !self.gone
            && let Some(rest @ [_, ..]) = self.pending.get(self.sent..)
        {
            match self.out.write(rest) {
                Ok(0) => return Err(ErrorKind::WriteZero.into()),
                Ok(count) => self.sent += count,
                Err(error) if error.kind() == ErrorKind::WouldBlock => return Ok(()),
                Err(error) if error.kind() == ErrorKind::Interrupted => {}
                // The program still has work to keep, so this is for the event loop to report.
                Err(error) if error.raw_os_error() == Some(Errno::IO.raw_os_error()) => {
                    self.gone = true;
                    break;
                }
                Err(error) => return Err(error),
            }
        }
        self.pending.clear();
        self.sent = 0;
        Ok(())
    }
}

impl<W: Write> Backend for Screen<W> {
    type Error = io::Error;

    fn draw<'a, I>(&mut self, content: I) -> io::Result<()>
    where
        I: Iterator<Item = (u16, u16, &'a BufferCell)>,
    {
        for (x, y, cell) in content {
            self.want.put(x, y, cell, &self.caps);
        }
        Ok(())
    }

    fn hide_cursor(&mut self) -> io::Result<()> {
        self.cursor_visible = false;
        Ok(())
    }

    fn show_cursor(&mut self) -> io::Result<()> {
        self.cursor_visible = true;
        Ok(())
    }

    fn get_cursor_position(&mut self) -> io::Result<Position> {
        Ok(self.cursor)
    }

    fn set_cursor_position<P: Into<Position>>(&mut self, position: P) -> io::Result<()> {
        self.cursor = position.into();
        Ok(())
    }

    fn clear(&mut self) -> io::Result<()> {
        self.clear_region(ClearType::All)
    }

    fn clear_region(&mut self, clear_type: ClearType) -> io::Result<()> {
        if self.want.cols == 0 || self.want.rows == 0 {
            return Ok(());
        }
        let x = usize::from(self.cursor.x).min(self.want.cols - 1);
        let y = usize::from(self.cursor.y).min(self.want.rows - 1);
        match clear_type {
            ClearType::All => {
                self.want.fill(Cell::BLANK);
                self.invalidate(Base::Unknown);
            }
            ClearType::AfterCursor => {
                self.want.row_mut(y)[x..].fill(Cell::BLANK);
                for row in y + 1..self.want.rows {
                    self.want.row_mut(row).fill(Cell::BLANK);
                }
            }
            ClearType::BeforeCursor => {
                self.want.row_mut(y)[..=x].fill(Cell::BLANK);
                for row in 0..y {
                    self.want.row_mut(row).fill(Cell::BLANK);
                }
            }
            ClearType::CurrentLine => self.want.row_mut(y).fill(Cell::BLANK),
            ClearType::UntilNewLine => self.want.row_mut(y)[x..].fill(Cell::BLANK),
        }
        Ok(())
    }

    fn size(&self) -> io::Result<Size> {
        Ok(self.size_now())
    }

    fn window_size(&mut self) -> io::Result<WindowSize> {
        Ok(WindowSize { columns_rows: self.size_now(), pixels: Size::ZERO })
    }

    /// Sends the newest frame, or leaves it for later when the line has not taken the one before.
    fn flush(&mut self) -> io::Result<()> {
        self.send()?;
        let now = Instant::now();
        if self.is_pending() {
            self.stale = true;
            return Ok(());
        }
        if self.base == Base::Shown && !self.is_current() {
            self.due = self.pace.as_mut().and_then(|pace| pace.wait(now));
            if self.due.is_some() {
                self.stale = true;
                return Ok(());
            }
        }
        self.send_frame(now)
    }
}

#[cfg(test)]
#[path = "writer_tests.rs"]
mod tests;
