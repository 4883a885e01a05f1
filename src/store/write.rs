//! Writes files whole: beside the target first, then into its place.

use super::StoreError;
use super::beside::{Beside, sync_folder};
use std::fs::{self, Metadata, OpenOptions};
use std::io::{self, Write};
use std::os::unix::fs::MetadataExt;
use std::path::Path;

/// Writes a file that is not there yet. One that is there is left as it is, even if it appears meanwhile.
///
/// # Errors
/// [`StoreError::Exists`] when there is one, [`StoreError::System`] when it cannot be written.
pub fn create(path: &Path, bytes: &[u8]) -> Result<(), StoreError> {
    create_like(path, bytes, None)
}

/// Writes a file that is not there yet, with the mode and, if possible, the owner of another.
pub(super) fn create_like(path: &Path, bytes: &[u8], like: Option<&Metadata>) -> Result<(), StoreError> {
    let fail = |source: io::Error| match source.kind() {
        io::ErrorKind::AlreadyExists => StoreError::Exists { file: path.into() },
        _ => StoreError::System { doing: "write", file: path.into(), source },
    };
    if path.symlink_metadata().is_ok() {
        return Err(StoreError::Exists { file: path.into() });
    }
    let beside = Beside::write(path, bytes, like).map_err(fail)?;
    // A link never replaces a file; a rename would. Some file systems have no links: there the name is taken first.
    match fs::hard_link(&beside.path, path) {
        Ok(()) => drop(beside),
        Err(error) if error.kind() == io::ErrorKind::AlreadyExists => return Err(fail(error)),
        Err(_) => {
            OpenOptions::new().write(true).create_new(true).open(path).map_err(fail)?;
            beside.rename(path).map_err(|error| {
                // Ours, made a moment ago and empty.
                let _ = fs::remove_file(path);
                fail(error)
            })?;
        }
    }
    lasting(path);
    Ok(())
}

/// Writes a file in place of the one that may be there, keeping its permissions; a link is followed. Into a pipe or
/// a device the bytes go as they are.
///
/// # Errors
/// [`StoreError`] when it cannot be written or is a folder; the old file then stands as it was.
pub fn replace(path: &Path, bytes: &[u8]) -> Result<(), StoreError> {
    let fail = |source| StoreError::System { doing: "write", file: path.into(), source };
    let old = match fs::metadata(path) {
        Ok(old) => Some(old),
        Err(error) if error.kind() == io::ErrorKind::NotFound => None,
        Err(error) => return Err(fail(error)),
    };
    match old {
        Some(old) if old.is_dir() => Err(StoreError::NoFile { file: path.into(), what: "a folder" }),
        Some(old) if old.is_file() => {
            let target = fs::canonicalize(path).map_err(fail)?;
            let beside = Beside::write(&target, bytes, Some(&old)).map_err(fail)?;
            beside.rename(&target).map_err(fail)?;
            lasting(&target);
            Ok(())
        }
        Some(_) => {
            let written =
                OpenOptions::new().write(true).open(path).and_then(|mut pipe| pipe.write_all(bytes));
            match written {
                Err(error) if error.kind() != io::ErrorKind::BrokenPipe => Err(fail(error)),
                _ => Ok(()),
            }
        }
        None => {
            let beside = Beside::write(path, bytes, None).map_err(fail)?;
            beside.rename(path).map_err(fail)?;
            lasting(path);
            Ok(())
        }
    }
}

/// Whether two paths lead to one file that is there.
pub fn same_file(one: &Path, other: &Path) -> bool {
    let identity = |path: &Path| fs::metadata(path).map(|data| (data.dev(), data.ino())).ok();
    identity(one).is_some_and(|first| identity(other) == Some(first))
}

/// Makes the new name last. Some file systems cannot; the bytes themselves are safe already.
fn lasting(path: &Path) {
    let _ = sync_folder(path);
}
