//! Who works on a job: a lock file of its own beside it, since a save exchanges the job file itself.
//!
//! The lock is the system's, on the open file; what the file says is only for the others to read. So a lock left by a
//! program that was killed is none, whatever it says, and a clock that goes back changes nothing.

use super::beside::{alive, is_at};
use jiff::Timestamp;
use jiff::tz::TimeZone;
use rustix::fs::OFlags;
use serde::{Deserialize, Serialize};
use std::fmt;
use std::fs::{self, File, OpenOptions, TryLockError};
use std::io::{self, Read, Seek, Write};
use std::os::unix::fs::OpenOptionsExt;
use std::path::{Path, PathBuf};
use std::time::Duration;

/// Who holds a job.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Holder {
    /// The user's name.
    pub user: String,
    /// The name of the machine.
    pub host: String,
    /// The process.
    pub pid: i32,
    /// Since when, by that machine's clock.
    pub since: Timestamp,
}

impl Holder {
    fn me() -> Self {
        let user =
            ["USER", "LOGNAME"].iter().find_map(|name| std::env::var(name).ok().filter(|u| !u.is_empty()));
        Self {
            user: user.unwrap_or_else(|| format!("user {}", rustix::process::getuid().as_raw())),
            host: rustix::system::uname().nodename().to_string_lossy().into_owned(),
            pid: rustix::process::getpid().as_raw_nonzero().get(),
            since: Timestamp::now(),
        }
    }
}

impl fmt::Display for Holder {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let since = self.since.to_zoned_datetime(TimeZone::system()).strftime("%Y-%m-%d %H:%M").to_string();
        write!(f, "{} on {}, process {}, since {since}", self.user, self.host, self.pid)
    }
}

/// How a lock was asked for and came out.
#[derive(Debug)]
pub(super) enum Asked {
    /// It is ours, with what a person should know about it.
    Ours(LockFile, Option<String>),
    /// Somebody else's; who, if that can be read.
    Theirs(Option<Holder>),
    /// There can be none here.
    Never(io::Error),
}

/// A lock that is held until this is dropped.
#[derive(Debug)]
pub(super) struct LockFile {
    path: PathBuf,
    file: File,
}

/// Somebody may remove the file between our opening and locking it; so many times in a row nobody does.
const MOST_TRIES: u32 = 20;
/// The lock file is never longer; more is not read.
const MOST_BYTES: u64 = 4096;

/// Asks for the lock in that file.
pub(super) fn ask(path: &Path) -> Asked {
    for _ in 0..MOST_TRIES {
        let file = match open(path) {
            Ok(file) => file,
            Err(error) => return Asked::Never(error),
        };
        match file.try_lock() {
            Ok(()) => {}
            Err(TryLockError::WouldBlock) => return Asked::Theirs(holder_of(path)),
            Err(TryLockError::Error(error)) => return without_locks(path, file, &error),
        }
        // Only the file that others find under the name is worth locking.
        if is_at(&file, path) {
            return take(path, file);
        }
    }
    Asked::Never(io::Error::other("its lock file keeps being exchanged"))
}

fn open(path: &Path) -> io::Result<File> {
    let flags = OFlags::NOFOLLOW | OFlags::NONBLOCK;
    let flags = i32::try_from(flags.bits()).unwrap_or_default();
    let mut options = OpenOptions::new();
    options.read(true).custom_flags(flags);
    let written = options.clone().write(true).create(true).truncate(false).open(path);
    match written {
        // Another user's, perhaps long dead: a lock can be had by who may only read.
        Err(error) if error.kind() == io::ErrorKind::PermissionDenied => {
            options.open(path).map_err(|_| error)
        }
        other => other,
    }
}

/// Enters ourselves in a file that is locked.
fn take(path: &Path, file: File) -> Asked {
    let me = Holder::me();
    let before = read(&file).filter(|before| before.host != me.host);
    let note = before.map(|before| {
        format!(
            "the job was not closed by {before}; if that machine shares this folder and is still at work on it, \
             close the job here"
        )
    });
    let lock = LockFile { path: path.into(), file };
    // Without it others are only told less.
    let _ = lock.enter(&me);
    Asked::Ours(lock, note)
}

/// Where the file system has no locks, what the file says is all there is.
fn without_locks(path: &Path, file: File, error: &io::Error) -> Asked {
    let me = Holder::me();
    match read(&file) {
        Some(other) if other.pid != me.pid && (other.host != me.host || alive(other.pid)) => {
            Asked::Theirs(Some(other))
        }
        _ => {
            let lock = LockFile { path: path.into(), file };
            let _ = lock.enter(&me);
            let note =
                format!("this file system has no locks ({error}): see that nobody else edits this job");
            Asked::Ours(lock, Some(note))
        }
    }
}

/// Who holds the lock; read again for a moment, since they may be just entering themselves.
fn holder_of(path: &Path) -> Option<Holder> {
    for _ in 0..5 {
        if let Some(holder) = open(path).ok().as_ref().and_then(read) {
            return Some(holder);
        }
        std::thread::sleep(Duration::from_millis(10));
    }
    None
}

fn read(mut file: &File) -> Option<Holder> {
    let mut text = String::new();
    file.rewind().ok()?;
    file.take(MOST_BYTES).read_to_string(&mut text).ok()?;
    serde_json::from_str(&text).ok()
}

impl LockFile {
    fn enter(&self, me: &Holder) -> io::Result<()> {
        let text = serde_json::to_string(me)?;
        let mut file = &self.file;
        file.set_len(0)?;
        file.rewind()?;
        file.write_all(text.as_bytes())
    }
}

impl Drop for LockFile {
    fn drop(&mut self) {
        // Removed while still locked, so that nobody can have locked it in between. The lock goes with the file.
        if is_at(&self.file, &self.path) {
            let _ = fs::remove_file(&self.path);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn without_locks_what_the_file_says_decides() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("house.ron.lock");
        let mut me = Holder::me();
        me.pid = 1;
        let alive = serde_json::to_string(&me).unwrap();
        me.pid = 999_999_999;
        let dead = serde_json::to_string(&me).unwrap();
        me.host = "elsewhere".into();
        let far = serde_json::to_string(&me).unwrap();
        for (left, theirs) in [("", false), ("?", false), (&*alive, true), (&*dead, false), (&*far, true)] {
            fs::write(&path, left).unwrap();
            let asked = without_locks(&path, open(&path).unwrap(), &io::Error::other("none"));
            match asked {
                Asked::Theirs(Some(_)) => assert!(theirs, "{left}"),
                Asked::Ours(_, Some(note)) => assert!(!theirs && note.contains("no locks"), "{left}: {note}"),
                other => panic!("{left}: {other:?}"),
            }
        }
    }
}
