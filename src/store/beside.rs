//! A file beside its target: written whole and on the disk before it takes the target's place.

use std::ffi::OsString;
use std::fs::{self, File, Metadata, OpenOptions, Permissions};
use std::io::{self, Write};
use std::os::unix::fs::{MetadataExt, OpenOptionsExt, PermissionsExt, fchown};
use std::path::{Path, PathBuf};

/// Names tried for the file beside the target before giving up.
const MOST_TRIES: u32 = 100;
/// So much of the target's name is taken over, since a name that just fits would not with more around it.
const STEM: usize = 40;

/// A file beside the target, gone again if it did not become the target.
#[derive(Debug)]
pub(super) struct Beside {
    pub(super) path: PathBuf,
}

impl Beside {
    /// Writes the bytes to a new file in the target's folder and waits until they are on the disk. It takes mode and
    /// owner from the file it is to replace, the owner as far as the system lets it.
    pub(super) fn write(target: &Path, bytes: &[u8], like: Option<&Metadata>) -> io::Result<Self> {
        let Some(name) = target.file_name() else {
            return Err(io::Error::new(io::ErrorKind::InvalidInput, "it has no file name"));
        };
        let mut options = OpenOptions::new();
        options.write(true).create_new(true);
        if like.is_some() {
            // Nobody else's to read until it has the mode of the old one.
            options.mode(0o600);
        }
        for nth in 0..MOST_TRIES {
            let path =
                target.with_file_name(hidden(name.to_string_lossy().as_ref(), std::process::id(), nth));
            match options.open(&path) {
                Ok(mut file) => {
                    let beside = Self { path };
                    file.write_all(bytes)?;
                    if let Some(old) = like {
                        inherit(&file, old)?;
                    }
                    file.sync_all()?;
                    return Ok(beside);
                }
                Err(error) if error.kind() == io::ErrorKind::AlreadyExists => {}
                Err(error) => return Err(error),
            }
        }
        Err(io::Error::other("no free name for a file beside it"))
    }

    /// Puts the file in the target's place.
    pub(super) fn rename(mut self, target: &Path) -> io::Result<()> {
        fs::rename(&self.path, target)?;
        self.path.clear();
        Ok(())
    }
}

impl Drop for Beside {
    fn drop(&mut self) {
        if !self.path.as_os_str().is_empty() {
            let _ = fs::remove_file(&self.path);
        }
    }
}

fn hidden(name: &str, process: u32, nth: u32) -> OsString {
    let stem: String = name.chars().take(STEM).collect();
    OsString::from(format!(".{stem}.{process}-{nth}.tmp"))
}

fn inherit(file: &File, old: &Metadata) -> io::Result<()> {
    // First the owner: changing it can clear bits of the mode. Only root may give a file away; a group one is in
    // may be kept. Where neither works, the file is the saver's own, as it is with any editor.
    if fchown(file, Some(old.uid()), Some(old.gid())).is_err() {
        let _ = fchown(file, None, Some(old.gid()));
    }
    file.set_permissions(Permissions::from_mode(old.mode() & 0o7777))
}

/// Removes what saves of this target that were killed have left beside it. Only for who holds the target's lock.
pub(super) fn sweep(target: &Path) {
    let Some(name) = target.file_name().map(|name| name.to_string_lossy().into_owned()) else {
        return;
    };
    // A longer name may share its stem with another job's.
    if name.chars().count() > STEM {
        return;
    }
    let prefix = format!(".{name}.");
    for entry in fs::read_dir(folder(target)).into_iter().flatten().flatten() {
        let file = entry.file_name().to_string_lossy().into_owned();
        let process = file
            .strip_prefix(&prefix)
            .and_then(|rest| rest.strip_suffix(".tmp"))
            .and_then(|rest| rest.split_once('-'))
            .filter(|(_, nth)| nth.parse::<u32>().is_ok())
            .and_then(|(process, _)| process.parse::<i32>().ok());
        if process.is_some_and(|process| !alive(process)) {
            // What can't be removed does no harm.
            let _ = fs::remove_file(entry.path());
        }
    }
}

/// Whether a process of this host is there.
pub(super) fn alive(process: i32) -> bool {
    // A file may hold any number; below 1 is no process.
    rustix::process::Pid::from_raw(process.max(0)).is_some_and(|pid| {
        // Not being allowed to signal it shows that it is there.
        !matches!(rustix::process::test_kill_process(pid), Err(rustix::io::Errno::SRCH))
    })
}

/// Whether an open file is the one that others find under a name.
pub(super) fn is_at(file: &File, path: &Path) -> bool {
    let identity = |data: fs::Metadata| (data.dev(), data.ino());
    match (file.metadata(), fs::symlink_metadata(path)) {
        (Ok(ours), Ok(there)) => identity(ours) == identity(there),
        _ => false,
    }
}

/// The folder a file lies in.
pub(super) fn folder(path: &Path) -> &Path {
    path.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new("."))
}

/// Makes a new name last.
///
/// # Errors
/// When the file system can't; what is in the file is safe all the same.
pub(super) fn sync_folder(path: &Path) -> io::Result<()> {
    File::open(folder(path))?.sync_all()
}
