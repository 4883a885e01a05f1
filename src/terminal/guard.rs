//! Entering and leaving the terminal: whatever is turned on is turned off again, once.
//!
//! Leaving happens when the [`Session`] is dropped, before a panic message is printed, and for
//! a suspension. A signal does not leave by itself: the event loop reports it and returns.

use std::io::{self, Write};
use std::panic::PanicHookInfo;
use std::sync::{Arc, Mutex, MutexGuard, Once, PoisonError};
use std::thread::{self, ThreadId};

use nix::unistd::{getpgid, getpgrp, getppid, getsid};
use rustix::event::PollFlags;
use rustix::process::{Signal, kill_current_process_group};
use rustix::termios::{
    OptionalActions, QueueSelector, SpecialCodeIndex, Termios, tcflush, tcgetattr, tcsetattr,
};
use thiserror::Error;

use super::caps::Capabilities;
use super::tty::{Tty, TtyWriter};
use super::writer::Screen;

/// Why a full screen cannot be shown here.
#[derive(Debug, Error)]
pub enum EnterError {
    /// Input or output is a file or a pipe.
    #[error("standard input and output must be a terminal to show the screen")]
    NotATerminal,
    /// `TERM` names a terminal without cursor addressing.
    #[error("this terminal cannot place text (TERM is 'dumb' or alike)")]
    Dumb,
    /// The terminal refused.
    #[error("cannot set up the terminal")]
    Io(#[from] io::Error),
}

/// What must be undone, kept where a panic hook finds it.
struct Entered {
    tty: Arc<Tty>,
    saved: Termios,
    leave: Vec<u8>,
    thread: ThreadId,
}

static ENTERED: Mutex<Option<Entered>> = Mutex::new(None);
static HOOK: Once = Once::new();
/// Panic messages of other threads, which must not be printed over the screen.
static HELD_BACK: Mutex<Vec<String>> = Mutex::new(Vec::new());

/// The terminal in full-screen use; dropping it gives the terminal back.
#[derive(Debug)]
pub struct Session {
    tty: Arc<Tty>,
    caps: Capabilities,
    /// A suspension has just ended; the signal that ended it says nothing new.
    continued: bool,
}

impl Session {
    /// Enters raw mode; the second screen comes with the first frame.
    ///
    /// # Errors
    /// When there is no terminal, it is a dumb one, or it refuses.
    pub fn enter(caps: &Capabilities) -> Result<Self, EnterError> {
        let Ok(tty) = Tty::open() else {
            return Err(EnterError::NotATerminal);
        };
        if caps.dumb {
            return Err(EnterError::Dumb);
        }
        HOOK.call_once(install_hook);
        let session = Self { tty: Arc::new(tty), caps: *caps, continued: false };
        session.make_raw()?;
        Ok(session)
    }

    /// The terminal device, for [`super::events::Events`].
    pub fn tty(&self) -> Arc<Tty> {
        Arc::clone(&self.tty)
    }

    /// The screen to draw on; one a session.
    pub fn screen(&self) -> Screen<TtyWriter> {
        let writer = TtyWriter(self.tty());
        Screen::new(writer, self.tty.size(), self.caps, self.entry()).paced()
    }

    /// Gives the terminal back, stops the whole job, and enters again when it is continued.
    ///
    /// Gives `false` without stopping where nobody could continue it: no shell controls the job.
    pub fn suspend(&mut self, screen: &mut Screen<TtyWriter>) -> io::Result<bool> {
        if is_orphaned() {
            return Ok(false);
        }
        restore();
        kill_current_process_group(Signal::STOP)?;
        self.make_raw()?;
        self.continued = true;
        screen.reenter(self.tty.size(), self.entry());
        Ok(true)
    }

    /// Enters again after a stop that came from outside; nothing after [`Session::suspend`].
    pub fn resume(&mut self, screen: &mut Screen<TtyWriter>) -> io::Result<()> {
        if std::mem::take(&mut self.continued) {
            return Ok(());
        }
        self.make_raw()?;
        screen.reenter(self.tty.size(), self.entry());
        Ok(())
    }

    /// Gives the terminal back now, as dropping does.
    pub fn leave(self) {
        drop(self);
    }

    fn make_raw(&self) -> io::Result<()> {
        let now = tcgetattr(&*self.tty)?;
        let mut entered = lock(&ENTERED);
        let saved = entered.take().map_or_else(|| now.clone(), |entered| entered.saved);
        let mut raw = now;
        // Off with signals from keys and flow control: Ctrl-C, -Z, -S and -Q arrive as keys.
        raw.make_raw();
        raw.special_codes[SpecialCodeIndex::VMIN] = 1;
        raw.special_codes[SpecialCodeIndex::VTIME] = 0;
        *entered =
            Some(Entered { tty: self.tty(), saved, leave: self.exit(), thread: thread::current().id() });
        tcsetattr(&*self.tty, OptionalActions::Now, &raw)?;
        Ok(())
    }

    fn entry(&self) -> Vec<u8> {
        let modes: &[u8] = match (self.caps.alt_screen, self.caps.bracketed_paste) {
            (true, true) => b"\x1b[?1049;2004h",
            (true, false) => b"\x1b[?1049h",
            (false, true) => b"\x1b[?2004h",
            (false, false) => b"",
        };
        modes.to_vec()
    }

    /// Undoes all a frame may have turned on, even one that was cut off in a sequence.
    fn exit(&self) -> Vec<u8> {
        let caps = &self.caps;
        let mut bytes = Vec::new();
        for (needed, code) in [
            (caps.bracketed_paste, &b"\x1b[?2004l"[..]),
            (caps.scroll_regions, b"\x1b[r"),
            (caps.hide_cursor, b"\x1b[?25h"),
            (caps.alt_screen, b"\x1b[?1049l"),
            (true, b"\x1b[m"),
            // Without a second screen the last frame stays, and the shell goes on in its last row.
            (!caps.alt_screen, b"\x1b[999H\x1b[K"),
        ] {
            if needed {
                bytes.extend_from_slice(code);
            }
        }
        bytes
    }
}

impl Drop for Session {
    fn drop(&mut self) {
        restore();
    }
}

/// Gives the terminal back, if it has not been given back yet.
fn restore() {
    let Some(entered) = lock(&ENTERED).take() else {
        return;
    };
    let mut writer = TtyWriter(Arc::clone(&entered.tty));
    let mut rest = &entered.leave[..];
    while !rest.is_empty() {
        match writer.write(rest) {
            Ok(count) if count > 0 => rest = &rest[count..],
            Err(error) if error.kind() == io::ErrorKind::Interrupted => {}
            Err(error) if error.kind() == io::ErrorKind::WouldBlock => {
                // A line that takes nothing for so long is dead or stopped by its reader.
                if !entered.tty.ready(PollFlags::OUT, 1000).unwrap_or(false) {
                    break;
                }
            }
            _ => break,
        }
    }
    // What was typed or pasted for the screen must not run in the shell.
    let _ = tcflush(&*entered.tty, QueueSelector::IFlush);
    let _ = tcsetattr(&*entered.tty, OptionalActions::Now, &entered.saved);
    let mut stderr = io::stderr();
    for message in lock(&HELD_BACK).drain(..) {
        let _ = writeln!(stderr, "{message}");
    }
}

/// Makes a panic give the terminal back before its message is printed.
fn install_hook() {
    let next = std::panic::take_hook();
    std::panic::set_hook(Box::new(move |info| {
        if is_of_worker() {
            hold_back(info);
        } else {
            restore();
            next(info);
        }
    }));
}

/// Whether the screen belongs to another thread, which goes on.
fn is_of_worker() -> bool {
    let here = thread::current().id();
    matches!(&*lock(&ENTERED), Some(entered) if entered.thread != here)
}

fn hold_back(info: &PanicHookInfo<'_>) {
    let thread = thread::current();
    let name = thread.name().unwrap_or("worker");
    lock(&HELD_BACK).push(format!("thread '{name}': {info}"));
}

fn lock<T>(mutex: &Mutex<T>) -> MutexGuard<'_, T> {
    mutex.lock().unwrap_or_else(PoisonError::into_inner)
}

/// Whether no shell would continue this job once it is stopped.
///
/// Another session, group or parent may be of a namespace of processes we do not see: its number is then 0.
fn is_orphaned() -> bool {
    let parent = getppid();
    let (Ok(session), Ok(parent_session)) = (getsid(None), getsid(Some(parent))) else {
        return true;
    };
    if parent.as_raw() == 0 || parent_session != session || session == getpgrp() {
        return true;
    }
    // A parent in this very group is a script: its own parent is the shell, or it has none left.
    getpgid(Some(parent)).is_err()
}
