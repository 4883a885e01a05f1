//! Puts a new text in a job file's place. At any moment the file is the old one or the new one, whole.

use super::StoreError;
use super::beside::{Beside, sync_folder};
use super::comments::has_comments;
use super::digest::Digest;
use super::keep::KeepError;
use super::write::create_like;
use crate::job::read::is_older;
use std::ffi::OsString;
use std::fs::{self, Metadata};
use std::io;
use std::os::unix::fs::MetadataExt;
use std::path::{Path, PathBuf};

/// How a file is no longer what was read from it or saved to it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Underneath {
    /// Another program wrote to it.
    Written,
    /// It was removed or moved away.
    Gone,
}

/// What a save did beside writing the file.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Done {
    /// Where the file as it was is left, if this save took comments out of it or brought it to a newer format.
    pub(super) orig: Option<PathBuf>,
    /// Whether the new name is known to be on the disk.
    pub(super) lasting: bool,
}

/// Writes the text in place of a file that still holds what is known of it. Just before that, `announce` is called.
pub(super) fn save(
    target: &Path,
    text: &str,
    known: &Digest,
    announce: impl FnOnce(),
) -> Result<Done, KeepError> {
    let fail = |source| KeepError::Store(StoreError::System { doing: "write", file: target.into(), source });
    let (old, bytes) = present(target, known)?;
    let orig = match std::str::from_utf8(&bytes) {
        Ok(before) if has_comments(before) || is_older(before) => Some(keep_aside(target, "orig", &bytes)?),
        _ => None,
    };
    let beside = Beside::write(target, text.as_bytes(), Some(&old)).map_err(fail)?;
    // Looked at again, as late as can be: writing may have taken a while.
    let now = fs::metadata(target).map_err(|_| KeepError::Changed(target.into(), Underneath::Gone))?;
    if stamp(&now) != stamp(&old) {
        present(target, known)?;
    }
    announce();
    beside.rename(target).map_err(fail)?;
    Ok(Done { orig, lasting: sync_folder(target).is_ok() })
}

/// The file as it stands, if it holds what is known of it.
fn present(target: &Path, known: &Digest) -> Result<(Metadata, Vec<u8>), KeepError> {
    let read = fs::metadata(target).and_then(|old| fs::read(target).map(|bytes| (old, bytes)));
    match read {
        Ok((old, bytes)) if Digest::of(&bytes) == *known => Ok((old, bytes)),
        Ok(_) => Err(KeepError::Changed(target.into(), Underneath::Written)),
        Err(error) if error.kind() == io::ErrorKind::NotFound => {
            Err(KeepError::Changed(target.into(), Underneath::Gone))
        }
        Err(source) => Err(StoreError::System { doing: "read", file: target.into(), source }.into()),
    }
}

fn stamp(data: &Metadata) -> (u64, u64, u64, i64, i64) {
    (data.dev(), data.ino(), data.size(), data.mtime(), data.mtime_nsec())
}

/// The name of a file beside another: `JOB.WORD`.
pub(super) fn beside_name(target: &Path, word: &str) -> PathBuf {
    let mut name = target.file_name().map(OsString::from).unwrap_or_default();
    name.push(".");
    name.push(word);
    target.with_file_name(name)
}

/// So many files of one name are kept aside.
const MOST_ASIDE: u32 = 1000;

/// Leaves bytes in `JOB.WORD`, or `JOB.WORD.2` and so on where others stand there, but the same bytes only once.
pub(super) fn keep_aside(target: &Path, word: &str, bytes: &[u8]) -> Result<PathBuf, StoreError> {
    let like = fs::metadata(target).ok();
    let mut nth = 1;
    loop {
        let path = match nth {
            1 => beside_name(target, word),
            _ => beside_name(target, &format!("{word}.{nth}")),
        };
        match create_like(&path, bytes, like.as_ref()) {
            Ok(()) => return Ok(path),
            Err(StoreError::Exists { .. }) if holds(&path, bytes) => return Ok(path),
            Err(StoreError::Exists { .. }) if nth < MOST_ASIDE => nth += 1,
            Err(error) => return Err(error),
        }
    }
}

fn holds(path: &Path, bytes: &[u8]) -> bool {
    fs::symlink_metadata(path).is_ok_and(|data| {
        data.is_file() && usize::try_from(data.len()).is_ok_and(|length| length == bytes.len())
    }) && fs::read(path).is_ok_and(|there| there == bytes)
}
