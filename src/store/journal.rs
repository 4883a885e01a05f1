//! The log beside a job: every step is in it before it counts, so that nothing done is ever lost.
//!
//! It is made with the first step and removed when the file holds everything.

use super::beside::{Beside, is_at, sync_folder};
use super::digest::Digest;
use super::keep::KeepError;
use super::record;
use crate::job::history::{Entry, Step, Way};
use rustix::fs::OFlags;
use std::fmt;
use std::fs::{self, File, OpenOptions};
use std::io::{self, Read, Write};
use std::os::unix::fs::OpenOptionsExt;
use std::path::{Path, PathBuf};
use std::time::{Duration, Instant};

/// A log never grows beyond this: some 160,000 steps without a save.
pub(super) const MOST_BYTES: u64 = 32 * 1024 * 1024;
/// A step is on the disk within this.
const SYNC_WITHIN: Duration = Duration::from_secs(1);

#[derive(Debug)]
pub(super) struct Journal {
    path: PathBuf,
    /// What the job file held when the log was begun.
    base: Digest,
    /// The mode of the job file: who may read it may read its log.
    mode: u32,
    log: Option<Log>,
    /// Since when something is not on the disk.
    unsynced: Option<Instant>,
    /// Why nothing can be added before the next save.
    spoilt: Option<String>,
}

#[derive(Debug)]
struct Log {
    file: File,
    length: u64,
    /// Whether its name is on the disk.
    lasting: bool,
}

impl Journal {
    /// A log that will be made with the first step.
    pub(super) const fn new(path: PathBuf, base: Digest, mode: u32) -> Self {
        Self { path, base, mode, log: None, unsynced: None, spoilt: None }
    }

    /// Goes on with a log that is there, after so many bytes of it.
    pub(super) fn resume(&mut self, length: u64) -> Result<(), KeepError> {
        let opened = options().append(true).open(&self.path).and_then(|file| {
            if file.metadata()?.len() > length {
                file.set_len(length)?;
            }
            Ok(file)
        });
        let file = opened.map_err(|error| self.refuse(&error))?;
        self.log = Some(Log { file, length, lasting: false });
        self.unsynced = Some(Instant::now());
        Ok(())
    }

    /// Begins a log with these steps in place of the one that is there.
    pub(super) fn rewrite(&mut self, steps: impl Iterator<Item = Step>) -> Result<(), KeepError> {
        let mut text = record::head(&self.base).map_err(|error| self.refuse(&error))?;
        for step in steps {
            let entry = Entry { way: Way::Do, label: &step.label, edit: &step.edit };
            text += &record::step(&entry).map_err(|error| self.refuse(&error))?;
        }
        let old = fs::symlink_metadata(&self.path).ok();
        let beside = Beside::write(&self.path, text.as_bytes(), old.as_ref());
        let beside = beside.map_err(|error| self.refuse(&error))?;
        beside.rename(&self.path).map_err(|error| self.refuse(&error))?;
        self.resume(u64::try_from(text.len()).unwrap_or(u64::MAX))
    }

    /// Removes a log that was found and is not gone on with.
    pub(super) fn remove(&self) {
        let _ = fs::remove_file(&self.path);
    }

    /// Adds a step.
    pub(super) fn record(&mut self, entry: &Entry<'_>) -> Result<(), KeepError> {
        let line = record::step(entry).map_err(|error| self.refuse(&error))?;
        self.append(&line)
    }

    /// Says that a file of that digest, about to be put in place, holds the state reached. Nothing to say where there
    /// is no log.
    pub(super) fn mark(&mut self, digest: &Digest) -> Result<(), KeepError> {
        if self.log.is_none() {
            return Ok(());
        }
        let line = record::mark(digest).map_err(|error| self.refuse(&error))?;
        self.append(&line)
    }

    fn refuse(&self, why: &dyn fmt::Display) -> KeepError {
        KeepError::Log { file: self.path.clone(), why: why.to_string() }
    }

    fn append(&mut self, line: &str) -> Result<(), KeepError> {
        if let Some(why) = &self.spoilt {
            return Err(self.refuse(why));
        }
        self.try_append(line).map_err(|why| self.refuse(&why))
    }

    fn try_append(&mut self, line: &str) -> io::Result<()> {
        let whole;
        let (log, text) = if let Some(log) = &mut self.log {
            log.untouched(&self.path)?;
            (log, line)
        } else {
            whole = record::head(&self.base)? + line;
            let file = options().append(true).create_new(true).mode(self.mode & 0o666).open(&self.path)?;
            (self.log.insert(Log { file, length: 0, lasting: false }), whole.as_str())
        };
        let length = u64::try_from(text.len()).unwrap_or(u64::MAX).saturating_add(log.length);
        let written = if length > MOST_BYTES {
            Err(io::Error::new(io::ErrorKind::FileTooLarge, "it is as long as a log may be"))
        } else {
            log.file.write_all(text.as_bytes())
        };
        match written {
            Ok(()) => {
                log.length = length;
                self.unsynced.get_or_insert_with(Instant::now);
                Ok(())
            }
            Err(error) => {
                if log.length == 0 {
                    self.forget();
                } else if let Err(stuck) = log.file.set_len(log.length) {
                    self.spoilt = Some(format!("half an edit stands in it and cannot be taken out: {stuck}"));
                }
                Err(error)
            }
        }
    }

    /// When what was added must be synced at the latest.
    pub(super) fn sync_due(&self) -> Option<Instant> {
        self.unsynced.map(|since| since + SYNC_WITHIN)
    }

    /// Waits until what was added is on the disk.
    pub(super) fn sync(&mut self) -> Result<(), KeepError> {
        if self.unsynced.take().is_none() {
            return Ok(());
        }
        let Some(log) = &mut self.log else {
            return Ok(());
        };
        if let Err(error) = log.file.sync_data() {
            // After a failed sync the system may count the bytes as written: only a save brings certainty.
            let why = format!("it is not safe on the disk ({error})");
            let refused = self.refuse(&why);
            self.spoilt = Some(why);
            return Err(refused);
        }
        if !log.lasting {
            // Some file systems can't sync a folder; they are not worse off for it than before.
            let _ = sync_folder(&self.path);
            log.lasting = true;
        }
        Ok(())
    }

    /// The file holds everything: the log goes, and the next step begins another.
    pub(super) fn restart(&mut self, base: Digest) {
        self.base = base;
        self.forget();
    }

    /// The file is saved, but whether that lasts is not known: the log goes on after its mark.
    pub(super) fn go_on_from(&mut self, base: Digest) {
        self.base = base;
    }

    fn forget(&mut self) {
        if let Some(log) = self.log.take()
            && is_at(&log.file, &self.path)
        {
            // One that stays behind ends with the mark of the file as it is, so nothing of it is offered.
            let _ = fs::remove_file(&self.path);
        }
        self.unsynced = None;
        self.spoilt = None;
    }
}

impl Log {
    /// Nobody else writes to it or took it away.
    fn untouched(&self, path: &Path) -> io::Result<()> {
        if !is_at(&self.file, path) {
            return Err(io::Error::other("another program took it away"));
        }
        if self.file.metadata()?.len() != self.length {
            return Err(io::Error::other("another program wrote to it"));
        }
        Ok(())
    }
}

fn options() -> OpenOptions {
    let mut options = OpenOptions::new();
    options.custom_flags(i32::try_from((OFlags::NOFOLLOW | OFlags::NONBLOCK).bits()).unwrap_or_default());
    options
}

/// Reads a log; `None` where there is none.
pub(super) fn read(path: &Path) -> io::Result<Option<Vec<u8>>> {
    match fs::symlink_metadata(path) {
        Err(error) if error.kind() == io::ErrorKind::NotFound => return Ok(None),
        Err(error) => return Err(error),
        Ok(data) if !data.is_file() => return Err(io::Error::other("it is no regular file")),
        Ok(_) => {}
    }
    let mut bytes = Vec::new();
    options().read(true).open(path)?.take(MOST_BYTES + 1).read_to_end(&mut bytes)?;
    if u64::try_from(bytes.len()).unwrap_or(u64::MAX) > MOST_BYTES {
        return Err(io::Error::other("it is longer than any log this program writes"));
    }
    Ok(Some(bytes))
}
