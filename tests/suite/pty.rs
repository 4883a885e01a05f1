//! A program in a pseudo-terminal: its screen as a person sees it, and the keys they press.
//!
//! `STUDBAY_PROGRAM` names another build of it to drive, as the release one.

use crate::support::project;
use portable_pty::{Child, CommandBuilder, MasterPty, PtySize, native_pty_system};
use rustix::process::{Pid, Signal, kill_process};
use rustix::termios::{Termios, tcgetattr};
use std::fs::File;
use std::io::{Read, Write};
use std::sync::mpsc::{Receiver, RecvTimeoutError, channel};
use std::time::{Duration, Instant};

/// Longer than any answer takes, even on a busy machine.
pub(crate) const PATIENCE: Duration = Duration::from_secs(30);

pub(crate) fn program() -> String {
    std::env::var("STUDBAY_PROGRAM").unwrap_or_else(|_| env!("CARGO_BIN_EXE_studbay").into())
}

/// A copy of a sample of its own: tests run side by side, and who opens a job first has it alone.
pub(crate) fn job(name: &str) -> String {
    let folder = project("target").join("jobs");
    std::fs::create_dir_all(&folder).unwrap();
    let own = tempfile::Builder::new().prefix("job").tempdir_in(folder).unwrap().keep();
    let copy = own.join(format!("{name}.ron"));
    std::fs::copy(project("sample-jobs").join(format!("{name}.ron")), &copy).unwrap();
    copy.display().to_string()
}

/// The program on a job, in an environment that is all ours.
pub(crate) fn command(job: &str, env: &[(&str, &str)]) -> CommandBuilder {
    let mut command = CommandBuilder::new(program());
    command.arg(job);
    command.cwd(project(""));
    command.env_clear();
    for (name, value) in [("TERM", "xterm-256color"), ("LANG", "C.UTF-8")].iter().chain(env) {
        command.env(name, value);
    }
    command
}

/// The program in a terminal of its own.
pub(crate) struct Opened {
    pub(crate) master: Box<dyn MasterPty>,
    writer: Box<dyn Write + Send>,
    pub(crate) child: Box<dyn Child + Send + Sync>,
    output: Receiver<Vec<u8>>,
    pub(crate) parser: vt100::Parser,
    pub(crate) raw: Vec<u8>,
    /// The terminal's other side, kept open to look at its modes after the program has gone.
    pub(crate) device: File,
    pub(crate) before: Termios,
}

impl Opened {
    pub(crate) fn new(job: &str, size: (u16, u16), env: &[(&str, &str)]) -> Self {
        Self::start(command(job, env), size)
    }

    /// Starts a command in a terminal of that many columns and rows.
    pub(crate) fn start(command: CommandBuilder, (cols, rows): (u16, u16)) -> Self {
        let size = PtySize { rows, cols, pixel_width: 0, pixel_height: 0 };
        let pair = native_pty_system().openpty(size).unwrap();
        let device = File::options().read(true).write(true).open(pair.master.tty_name().unwrap()).unwrap();
        let before = tcgetattr(&device).unwrap();
        let child = pair.slave.spawn_command(command).unwrap();
        let mut reader = pair.master.try_clone_reader().unwrap();
        let (sender, output) = channel();
        std::thread::spawn(move || {
            let mut bytes = [0; 4096];
            while let Ok(count @ 1..) = reader.read(&mut bytes) {
                if sender.send(bytes[..count].to_vec()).is_err() {
                    break;
                }
            }
        });
        let writer = pair.master.take_writer().unwrap();
        let parser = vt100::Parser::new(rows.try_into().unwrap(), cols.try_into().unwrap(), 0);
        Self { master: pair.master, writer, child, output, parser, raw: Vec::new(), device, before }
    }

    pub(crate) fn text(&self) -> String {
        self.parser.screen().contents()
    }

    pub(crate) fn take(&mut self, wait: Duration) -> bool {
        match self.output.recv_timeout(wait) {
            Ok(bytes) => {
                self.parser.process(&bytes);
                self.raw.extend(bytes);
                true
            }
            Err(RecvTimeoutError::Timeout | RecvTimeoutError::Disconnected) => false,
        }
    }

    /// Waits until a text stands on the screen, or one does not.
    pub(crate) fn until(&mut self, what: &str, there: bool) {
        let end = Instant::now() + PATIENCE;
        while self.text().contains(what) != there {
            assert!(Instant::now() < end, "waited for '{what}' ({there}) on\n{}", self.text());
            self.take(Duration::from_millis(50));
        }
    }

    pub(crate) fn shows(&mut self, what: &str) {
        self.until(what, true);
    }

    pub(crate) fn press(&mut self, keys: &str) {
        self.writer.write_all(keys.as_bytes()).unwrap();
        self.writer.flush().unwrap();
    }

    pub(crate) fn signal(&self, signal: Signal) {
        let id = i32::try_from(self.child.process_id().unwrap()).unwrap();
        kill_process(Pid::from_raw(id).unwrap(), signal).unwrap();
    }

    /// Whether the program has ended.
    pub(crate) fn has_ended(&mut self) -> bool {
        self.child.try_wait().unwrap().is_some()
    }

    /// Waits for the end and gives the exit code.
    pub(crate) fn ended(&mut self) -> u32 {
        let end = Instant::now() + PATIENCE;
        let status = loop {
            if let Some(status) = self.child.try_wait().unwrap() {
                break status;
            }
            assert!(Instant::now() < end, "it does not end:\n{}", self.text());
            self.take(Duration::from_millis(20));
        };
        while self.take(Duration::from_millis(200)) {}
        status.exit_code()
    }

    /// Checks that the terminal is as it was found.
    pub(crate) fn is_restored(&self, how: &str) {
        let screen = self.parser.screen();
        assert!(!screen.alternate_screen(), "{how}: the second screen is left");
        assert!(!screen.hide_cursor(), "{how}: the cursor is shown");
        assert!(!screen.bracketed_paste() && !screen.application_cursor(), "{how}: no mode is left on");
        assert!(!screen.bold() && !screen.inverse() && !screen.underline(), "{how}: text is plain");
        let after = tcgetattr(&self.device).unwrap();
        assert_eq!(format!("{after:?}"), format!("{:?}", self.before), "{how}: the line is as before");
    }
}

impl Drop for Opened {
    fn drop(&mut self) {
        let _ = self.child.kill();
    }
}
