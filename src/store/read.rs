//! Reads a file as text, without trusting its size or its bytes.

use super::StoreError;
use std::fs::{self, File, Metadata};
use std::io::Read;
use std::path::Path;

/// Reads a text of at most so many bytes from a regular file or a pipe, or from the standard input where the path is
/// `-`.
///
/// # Errors
/// As [`read_text`].
pub fn read_input(path: &Path, most: u64) -> Result<String, StoreError> {
    if path != Path::new("-") {
        return read_text(path, most);
    }
    let named = Path::new("the standard input");
    let system = |source| StoreError::System { doing: "read", file: named.into(), source };
    let mut bytes = Vec::new();
    std::io::stdin().lock().take(most.saturating_add(1)).read_to_end(&mut bytes).map_err(system)?;
    text_of(named, bytes, most)
}

/// Reads a text of at most so many bytes from a regular file or a pipe.
///
/// # Errors
/// [`StoreError`] when it cannot be read, is a folder or a device, is too long, or is no UTF-8.
pub fn read_text(path: &Path, most: u64) -> Result<String, StoreError> {
    let system = |source| StoreError::System { doing: "read", file: path.into(), source };
    let check = |metadata: &Metadata| match unreadable(metadata) {
        Some(what) => Err(StoreError::NoFile { file: path.into(), what }),
        None if metadata.is_file() && metadata.len() > most => Err(too_long(path, most)),
        None => Ok(()),
    };
    // Looked at before it is opened, since opening a device can act on it, and after, since it may have been exchanged.
    check(&fs::metadata(path).map_err(system)?)?;
    let file = File::open(path).map_err(system)?;
    check(&file.metadata().map_err(system)?)?;
    let mut bytes = Vec::new();
    file.take(most.saturating_add(1)).read_to_end(&mut bytes).map_err(system)?;
    text_of(path, bytes, most)
}

fn text_of(path: &Path, bytes: Vec<u8>, most: u64) -> Result<String, StoreError> {
    if u64::try_from(bytes.len()).is_ok_and(|length| length > most) {
        return Err(too_long(path, most));
    }
    String::from_utf8(bytes).map_err(|error| {
        let at = error.utf8_error().valid_up_to();
        let before = error.as_bytes().iter().take(at);
        let line = before.filter(|byte| **byte == b'\n').count() + 1;
        StoreError::NoText { file: path.into(), byte: at + 1, line }
    })
}

fn too_long(path: &Path, most: u64) -> StoreError {
    StoreError::TooLong { file: path.into(), most }
}

fn unreadable(metadata: &Metadata) -> Option<&'static str> {
    use std::os::unix::fs::FileTypeExt;
    let kind = metadata.file_type();
    match () {
        () if kind.is_dir() => Some("a folder"),
        () if kind.is_char_device() || kind.is_block_device() => Some("a device"),
        () if kind.is_socket() => Some("a socket"),
        () => None,
    }
}
