//! Waiting for what happens: keys, signals, workers and a line that is free again.
//!
//! One `poll` over the terminal, a pipe that signal handlers write to, and a pipe for workers.
//! It has no tick: a process that waits here is not woken until something happens.

use std::io::{self, ErrorKind, Read, Write};
use std::os::unix::net::UnixStream;
use std::sync::Arc;
use std::time::{Duration, Instant};

use ratatui::layout::Size;
use rustix::event::{PollFd, PollFlags, Timespec, poll};
use rustix::io::Errno;
use signal_hook::consts::{SIGCONT, SIGHUP, SIGINT, SIGQUIT, SIGTERM, SIGTSTP, SIGWINCH};
use signal_hook::iterator::backend::SignalDelivery;
use signal_hook::iterator::exfiltrator::SignalOnly;

use super::input::{Input, Parser};
use super::key::Key;
use super::tty::Tty;
use super::writer::OutputWaits;

/// The most that is read before the program may draw; a paste is longer, typing never is.
const MOST_READ: usize = 1 << 16;

/// Something that happened.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Event {
    /// A key was pressed.
    Key(Key),
    /// Text was pasted; never to be taken as commands.
    Paste(String),
    /// The window has this size now; also sent when only its content may be lost.
    Resize(Size),
    /// The line is gone: save and leave. Comes once.
    Hangup,
    /// The system or a person asks the program to end: save and leave.
    Terminate,
    /// An interrupt signal from outside; the Ctrl-C key comes as a key.
    Interrupt,
    /// A stop signal from outside; the Ctrl-Z key comes as a key.
    Suspend,
    /// The program runs again after a stop.
    Continue,
    /// A worker called [`Waker::wake`].
    Wake,
    /// What the output waited for is over: call [`super::writer::Screen::resume_output`].
    Writable,
    /// The caller's deadline has come.
    Deadline,
}

/// Wakes the event loop from another thread.
#[derive(Debug, Clone)]
pub struct Waker(Arc<UnixStream>);

impl Waker {
    /// Makes [`Events::wait`] return [`Event::Wake`]; many calls may make one event.
    pub fn wake(&self) {
        // A full pipe has a wake-up in it already.
        let _ = (&*self.0).write(b"w");
    }
}

/// The sources of events.
#[derive(Debug)]
pub struct Events {
    tty: Arc<Tty>,
    signals: SignalDelivery<UnixStream, SignalOnly>,
    worker: UnixStream,
    waker: Waker,
    parser: Parser,
    inputs: Vec<Input>,
    gone: bool,
}

impl Events {
    /// Listens to this terminal; `hold` is how long an Escape waits for a sequence.
    ///
    /// From here on hangup, termination, interrupt, quit and stop signals are events and do
    /// nothing else.
    pub fn new(tty: Arc<Tty>, hold: Duration) -> io::Result<Self> {
        let (read, write) = UnixStream::pair()?;
        read.set_nonblocking(true)?;
        let kinds = [SIGHUP, SIGTERM, SIGINT, SIGQUIT, SIGTSTP, SIGCONT, SIGWINCH];
        let signals = SignalDelivery::with_pipe(read, write, SignalOnly, kinds)?;
        let (worker, wake) = UnixStream::pair()?;
        worker.set_nonblocking(true)?;
        wake.set_nonblocking(true)?;
        Ok(Self {
            tty,
            signals,
            worker,
            waker: Waker(Arc::new(wake)),
            parser: Parser::new(hold),
            inputs: Vec::new(),
            gone: false,
        })
    }

    /// A handle with which a worker wakes this loop.
    pub fn waker(&self) -> Waker {
        self.waker.clone()
    }

    /// Waits until something happens and appends all of it to `events`.
    ///
    /// The end of what the `output` waits for is an event too. All waiting input is taken at
    /// once, so the keys of a held key make one frame.
    pub fn wait(
        &mut self,
        output: OutputWaits,
        deadline: Option<Instant>,
        events: &mut Vec<Event>,
    ) -> io::Result<()> {
        let before = events.len();
        while events.len() == before {
            let until = [deadline, output.until, self.parser.deadline()].into_iter().flatten().min();
            let (tty, signals, worker) = self.poll(output.line, until)?;
            if signals {
                self.take_signals(events);
            }
            let input = PollFlags::IN | PollFlags::HUP | PollFlags::ERR | PollFlags::NVAL;
            let lost = tty.intersects(input) && self.take_input();
            let now = Instant::now();
            let due = output.until.is_some_and(|until| now >= until);
            if due || output.line && tty.contains(PollFlags::OUT) {
                events.push(Event::Writable);
            }
            self.parser.expire(now, &mut self.inputs);
            events.extend(self.inputs.drain(..).map(|input| match input {
                Input::Key(key) => Event::Key(key),
                Input::Paste(text) => Event::Paste(text),
            }));
            if lost {
                events.push(Event::Hangup);
            }
            if worker {
                let mut bytes = [0; 64];
                while matches!((&self.worker).read(&mut bytes), Ok(count) if count > 0) {}
                events.push(Event::Wake);
            }
            if deadline.is_some_and(|deadline| now >= deadline) {
                events.push(Event::Deadline);
            }
        }
        Ok(())
    }

    /// Which of the three sources have something.
    fn poll(&self, output_waits: bool, until: Option<Instant>) -> io::Result<(PollFlags, bool, bool)> {
        let timeout = until.map(|until| {
            let left = until.saturating_duration_since(Instant::now());
            // Round up: waking a moment early would only wait again.
            let left = left + Duration::from_micros(500);
            Timespec {
                tv_sec: i64::try_from(left.as_secs()).unwrap_or(i64::MAX),
                tv_nsec: left.subsec_nanos().into(),
            }
        });
        let mut wanted = PollFlags::IN;
        if output_waits {
            wanted |= PollFlags::OUT;
        }
        let mut fds = [
            PollFd::new(self.signals.get_read(), PollFlags::IN),
            PollFd::new(&self.worker, PollFlags::IN),
            PollFd::new(&*self.tty, wanted),
        ];
        // A line that is gone is always ready: it must not be asked again.
        let asked = if self.gone { &mut fds[..2] } else { &mut fds[..] };
        match poll(asked, timeout.as_ref()) {
            Ok(_) | Err(Errno::INTR | Errno::AGAIN) => {}
            Err(error) => return Err(error.into()),
        }
        let tty = if self.gone { PollFlags::empty() } else { fds[2].revents() };
        Ok((tty, !fds[0].revents().is_empty(), !fds[1].revents().is_empty()))
    }

    fn take_signals(&mut self, events: &mut Vec<Event>) {
        let mut resized = false;
        for signal in self.signals.pending() {
            match signal {
                SIGWINCH => resized = true,
                SIGHUP if self.gone => {}
                SIGHUP => {
                    self.gone = true;
                    events.push(Event::Hangup);
                }
                SIGINT => events.push(Event::Interrupt),
                SIGTSTP => events.push(Event::Suspend),
                SIGCONT => events.push(Event::Continue),
                _ => events.push(Event::Terminate),
            }
        }
        if resized {
            events.push(Event::Resize(self.tty.size()));
        }
    }

    /// Reads all that waits; gives whether the line turned out to be lost.
    fn take_input(&mut self) -> bool {
        let before = self.gone;
        let mut buffer = [0; 4096];
        let mut bytes = Vec::new();
        while !self.gone && bytes.len() < MOST_READ {
            match self.tty.read(&mut buffer) {
                // In raw mode an end of input is a line that is gone, not a key.
                Ok(0) => self.gone = true,
                Ok(count) => bytes.extend_from_slice(&buffer[..count]),
                Err(error) if error.kind() == ErrorKind::Interrupted => {}
                Err(error) if error.kind() == ErrorKind::WouldBlock => break,
                Err(_) => self.gone = true,
            }
        }
        self.parser.feed(&bytes, Instant::now(), &mut self.inputs);
        self.gone && !before
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::terminal::key::KeyCode;

    const SOON: Duration = Duration::from_millis(200);

    fn line() -> (UnixStream, Events) {
        let (far, near) = UnixStream::pair().unwrap();
        near.set_nonblocking(true).unwrap();
        let tty = Arc::new(Tty::of(near.into()));
        let hold = Duration::from_millis(20);
        (far, Events::new(tty, hold).unwrap())
    }

    /// What happens until `SOON`, less signals that other tests may cause.
    fn wait(events: &mut Events, output: OutputWaits) -> Vec<Event> {
        let mut found = Vec::new();
        let deadline = Some(Instant::now() + SOON);
        while found.is_empty() {
            events.wait(output, deadline, &mut found).unwrap();
            found.retain(|event| !matches!(event, Event::Resize(_) | Event::Continue));
        }
        found
    }

    #[test]
    fn all_waiting_keys_come_at_once() {
        let (mut far, mut events) = line();
        far.write_all(&b"\x1b[B".repeat(500)).unwrap();
        let found = wait(&mut events, OutputWaits::default());
        assert_eq!(found, vec![Event::Key(Key::new(KeyCode::Down)); 500]);
        far.write_all(b"\x1b").unwrap();
        let found = wait(&mut events, OutputWaits::default());
        assert_eq!(found, [Event::Key(Key::new(KeyCode::Esc))], "after its hold");
    }

    #[test]
    fn the_end_of_the_line_comes_once_and_does_not_spin() {
        let (mut far, mut events) = line();
        far.write_all(b"x").unwrap();
        drop(far);
        let found = wait(&mut events, OutputWaits::default());
        assert_eq!(found, [Event::Key(Key::char('x')), Event::Hangup]);
        let start = Instant::now();
        let line = OutputWaits { line: true, until: None };
        assert_eq!(wait(&mut events, line), [Event::Deadline]);
        assert!(start.elapsed() >= SOON, "waits although the line is ready for ever");
    }

    #[test]
    fn workers_and_output_wake_it() {
        let (_far, mut events) = line();
        let waker = events.waker();
        std::thread::spawn(move || {
            waker.wake();
            waker.wake();
        });
        assert_eq!(wait(&mut events, OutputWaits::default())[0], Event::Wake);
        while wait(&mut events, OutputWaits::default()) != [Event::Deadline] {}
        let free = OutputWaits { line: true, until: None };
        assert_eq!(wait(&mut events, free), [Event::Writable]);
        let due = OutputWaits { line: false, until: Some(Instant::now() + SOON / 10) };
        assert_eq!(wait(&mut events, due), [Event::Writable]);
    }

    #[test]
    fn a_resize_gives_a_size() {
        let (_far, mut events) = line();
        signal_hook::low_level::raise(SIGWINCH).unwrap();
        let mut found = Vec::new();
        events.wait(OutputWaits::default(), None, &mut found).unwrap();
        // A line of no size is taken as the smallest common one.
        assert!(found.contains(&Event::Resize(Size::new(80, 24))), "{found:?}");
    }
}
