//! Files: the only place that reads and writes them.
//!
//! A file is read whole within a size limit, and written so that at any moment there is the old one or the new one.
//! A job that is worked on goes through a [`Keeper`], which holds its lock and its log.

mod beside;
mod comments;
mod digest;
mod journal;
mod keep;
mod lock;
mod read;
mod record;
mod recover;
mod save;
mod write;

pub use digest::Digest;
pub use keep::{KeepError, Keeper, Lock, OpenError, Opened, Saved, Unsaved};
pub use lock::Holder;
pub use read::{read_input, read_text};
pub use recover::Recovered;
pub use save::Underneath;
pub use write::{create, replace, same_file};

use std::io;
use std::path::PathBuf;

/// What went wrong with a file. The message names it.
#[derive(Debug, thiserror::Error)]
pub enum StoreError {
    /// The system refused.
    #[error("cannot {doing} '{}'", file.display())]
    System {
        /// What was being done: `read`, `write`.
        doing: &'static str,
        /// The file.
        file: PathBuf,
        /// What the system says.
        source: io::Error,
    },
    /// It is a folder or a device.
    #[error("'{}' is {what}, not a file", file.display())]
    NoFile {
        /// The file.
        file: PathBuf,
        /// What it is.
        what: &'static str,
    },
    /// It is longer than what is taken.
    #[error("'{}' holds more than {most} bytes, the most that is taken", file.display())]
    TooLong {
        /// The file.
        file: PathBuf,
        /// The limit.
        most: u64,
    },
    /// It is no UTF-8.
    #[error("'{}' is no text in UTF-8: byte {byte}, in line {line}, is wrong; save it as UTF-8", file.display())]
    NoText {
        /// The file.
        file: PathBuf,
        /// The first byte that is wrong, from 1.
        byte: usize,
        /// Its line, from 1.
        line: usize,
    },
    /// It is there and must stay.
    #[error("'{}' is there already and is left as it is; give another name", file.display())]
    Exists {
        /// The file.
        file: PathBuf,
    },
    /// It is a job file that a sheet would overwrite.
    #[error("'{}' is a job file; a sheet is not written over it", file.display())]
    IsJob {
        /// The file.
        file: PathBuf,
    },
}
