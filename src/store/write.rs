//! Writes files whole: beside the target first, then into its place.

use super::StoreError;
use std::fs::{self, File, OpenOptions};
use std::io::{self, Write};
use std::os::unix::fs::MetadataExt;
use std::path::{Path, PathBuf};

/// Names tried for the file beside the target before giving up.
const MOST_TRIES: u32 = 100;

/// Writes a file that is not there yet. One that is there is left as it is, even if it appears meanwhile.
///
/// # Errors
/// [`StoreError::Exists`] when there is one, [`StoreError::System`] when it cannot be written.
pub fn create(path: &Path, bytes: &[u8]) -> Result<(), StoreError> {
    let fail = |source: io::Error| match source.kind() {
        io::ErrorKind::AlreadyExists => StoreError::Exists { file: path.into() },
        _ => StoreError::System { doing: "write", file: path.into(), source },
    };
    if path.symlink_metadata().is_ok() {
        return Err(StoreError::Exists { file: path.into() });
    }
    let beside = Beside::write(path, bytes).map_err(fail)?;
    // A link never replaces a file; a rename would. Some file systems have no links: there the name is taken first.
    match fs::hard_link(&beside.path, path) {
        Ok(()) => {}
        Err(error) if error.kind() == io::ErrorKind::AlreadyExists => return Err(fail(error)),
        Err(_) => {
            OpenOptions::new().write(true).create_new(true).open(path).map_err(fail)?;
            fs::rename(&beside.path, path).map_err(|error| {
                // Ours, made a moment ago and empty.
                let _ = fs::remove_file(path);
                fail(error)
            })?;
        }
    }
    drop(beside);
    sync_folder(path);
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
            let beside = Beside::write(&target, bytes).map_err(fail)?;
            fs::set_permissions(&beside.path, old.permissions()).map_err(fail)?;
            fs::rename(&beside.path, &target).map_err(fail)?;
            sync_folder(&target);
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
            let beside = Beside::write(path, bytes).map_err(fail)?;
            fs::rename(&beside.path, path).map_err(fail)?;
            sync_folder(path);
            Ok(())
        }
    }
}

/// Whether two paths lead to one file that is there.
pub fn same_file(one: &Path, other: &Path) -> bool {
    let identity = |path: &Path| fs::metadata(path).map(|data| (data.dev(), data.ino())).ok();
    identity(one).is_some_and(|first| identity(other) == Some(first))
}

/// A file beside the target, gone again if it did not become the target.
#[derive(Debug)]
struct Beside {
    path: PathBuf,
}

impl Beside {
    /// Writes the bytes to a new file in the target's folder and waits until they are on the disk.
    fn write(target: &Path, bytes: &[u8]) -> io::Result<Self> {
        let Some(name) = target.file_name() else {
            return Err(io::Error::new(io::ErrorKind::InvalidInput, "it has no file name"));
        };
        for nth in 0..MOST_TRIES {
            let mut hidden = std::ffi::OsString::from(".");
            // A short stem, since a name that just fits would not with more around it.
            hidden.push(name.to_string_lossy().chars().take(40).collect::<String>());
            hidden.push(format!(".{}-{nth}.tmp", std::process::id()));
            let path = target.with_file_name(hidden);
            match OpenOptions::new().write(true).create_new(true).open(&path) {
                Ok(mut file) => {
                    let beside = Self { path };
                    file.write_all(bytes)?;
                    file.sync_all()?;
                    return Ok(beside);
                }
                Err(error) if error.kind() == io::ErrorKind::AlreadyExists => {}
                Err(error) => return Err(error),
            }
        }
        Err(io::Error::other("no free name for a file beside it"))
    }
}

impl Drop for Beside {
    fn drop(&mut self) {
        // After a rename there is nothing left to remove.
        let _ = fs::remove_file(&self.path);
    }
}

/// Makes the new name last. Some file systems cannot; the bytes themselves are safe already.
fn sync_folder(path: &Path) {
    let folder = path.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new("."));
    if let Ok(folder) = File::open(folder) {
        let _ = folder.sync_all();
    }
}
