//! The terminal device: opened anew so that it can be non-blocking.
//!
//! Non-blocking mode belongs to the open file, which standard input and output share with the
//! shell; set there it would outlive the program. So the device is opened a second time.

use std::io::{self, ErrorKind, Write};
use std::os::fd::{AsFd, BorrowedFd, OwnedFd};
use std::sync::Arc;

use ratatui::layout::Size;
use rustix::event::{PollFd, PollFlags, Timespec, poll};
use rustix::fs::{Mode, OFlags};
use rustix::termios::{isatty, tcgetwinsize, ttyname};

/// The most a device that may block is given at once; it said that it is ready.
const PIECE: usize = 256;

/// The terminal this program talks to.
#[derive(Debug)]
pub struct Tty {
    fd: OwnedFd,
    /// The device could not be opened anew: ask before every read and write.
    shared: bool,
}

impl Tty {
    /// Opens the terminal of standard input, if standard output is one as well.
    pub fn open() -> io::Result<Self> {
        let (stdin, stdout) = (io::stdin(), io::stdout());
        if !isatty(&stdin) || !isatty(&stdout) {
            return Err(io::Error::other("standard input and output are not a terminal"));
        }
        let flags = OFlags::RDWR | OFlags::NOCTTY | OFlags::NONBLOCK | OFlags::CLOEXEC;
        let opened = ttyname(&stdin, Vec::new())
            .and_then(|path| rustix::fs::open(path, flags, Mode::empty()))
            .or_else(|_| rustix::fs::open("/dev/tty", flags, Mode::empty()));
        Ok(match opened {
            Ok(fd) => Self { fd, shared: false },
            // Another user's terminal, as after `su`: use what was inherited.
            Err(_) => Self { fd: stdin.as_fd().try_clone_to_owned()?, shared: true },
        })
    }

    /// Any other descriptor in place of a terminal.
    #[cfg(test)]
    pub(super) const fn of(fd: OwnedFd) -> Self {
        Self { fd, shared: false }
    }

    /// The size of the window; a side of length zero is taken as that of 80x24.
    pub fn size(&self) -> Size {
        let (width, height) = match tcgetwinsize(&self.fd) {
            Ok(size) => (size.ws_col, size.ws_row),
            Err(_) => (0, 0),
        };
        Size::new(if width == 0 { 80 } else { width }, if height == 0 { 24 } else { height })
    }

    /// Reads what waits; `WouldBlock` when nothing does, zero at the end of input.
    pub(super) fn read(&self, buffer: &mut [u8]) -> io::Result<usize> {
        if self.shared && !self.ready(PollFlags::IN, 0)? {
            return Err(ErrorKind::WouldBlock.into());
        }
        Ok(rustix::io::read(&self.fd, buffer)?)
    }

    /// Waits until the terminal takes bytes, at most so many milliseconds.
    pub(super) fn ready(&self, flags: PollFlags, millis: i64) -> io::Result<bool> {
        let timeout = Timespec { tv_sec: millis / 1000, tv_nsec: millis % 1000 * 1_000_000 };
        let mut fds = [PollFd::new(&self.fd, flags)];
        Ok(poll(&mut fds, Some(&timeout))? > 0)
    }

    fn write_some(&self, bytes: &[u8]) -> io::Result<usize> {
        let bytes = if self.shared {
            if !self.ready(PollFlags::OUT, 0)? {
                return Err(ErrorKind::WouldBlock.into());
            }
            &bytes[..bytes.len().min(PIECE)]
        } else {
            bytes
        };
        Ok(rustix::io::write(&self.fd, bytes)?)
    }
}

impl AsFd for Tty {
    fn as_fd(&self) -> BorrowedFd<'_> {
        self.fd.as_fd()
    }
}

/// Writes to the terminal; refuses with `WouldBlock` what the line does not take now.
#[derive(Debug, Clone)]
pub struct TtyWriter(pub(super) Arc<Tty>);

impl Write for TtyWriter {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        self.0.write_some(bytes)
    }

    fn flush(&mut self) -> io::Result<()> {
        Ok(())
    }
}
