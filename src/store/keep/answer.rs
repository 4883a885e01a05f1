//! What a keeper answers: what was opened or saved, or why not.

use super::Keeper;
use crate::job::read::ReadError;
use crate::job::{Index, Job};
use crate::store::StoreError;
use crate::store::digest::Digest;
use crate::store::lock::Holder;
use crate::store::recover::Recovered;
use crate::store::save::Underneath;
use std::path::PathBuf;

/// Why a job was not opened.
#[derive(Debug, thiserror::Error)]
pub enum OpenError {
    /// Its file can't be read.
    #[error(transparent)]
    Store(#[from] StoreError),
    /// What it holds is no job.
    #[error(transparent)]
    Read(#[from] ReadError),
    /// It was to be written by a command, and can't be now.
    #[error("'{}' is not written: {why}", file.display())]
    NotNow {
        /// The job file.
        file: PathBuf,
        /// Why not, and what to do.
        why: String,
    },
}

/// Why a step or a save was refused. The file is as it was.
#[derive(Debug, thiserror::Error)]
pub enum KeepError {
    /// A file can't be read or written.
    #[error(transparent)]
    Store(#[from] StoreError),
    /// The job is open for reading only.
    #[error("this job is open for reading only: {0}")]
    ReadOnly(String),
    /// What an earlier session left was neither restored nor dropped.
    #[error("edits of an earlier session wait: restore or drop them first")]
    Undecided,
    /// The log did not take it.
    #[error("not done, since it could not be kept in '{}': {why}; save the job, then go on", file.display())]
    Log {
        /// The log.
        file: PathBuf,
        /// What the system says.
        why: String,
    },
    /// The file is no longer what was read or saved.
    #[error("'{}' {}", .0.display(), match .1 {
        Underneath::Written => "was changed by another program: compare, reload, or save beside it",
        Underneath::Gone => "is no longer there: save beside it under this or another name",
    })]
    Changed(PathBuf, Underneath),
    /// What would be written could not be read again.
    #[error("the file is left as it is, since what would be written cannot be read again: {0}")]
    Layout(String),
}

/// Whether the job may be changed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Lock {
    /// It may, by this process alone.
    Held,
    /// Somebody else has it open; who, if that can be read. It may be read.
    HeldBy(Option<Holder>),
    /// It may only be read, for this reason.
    ReadOnly(String),
}

/// A job that was opened.
#[derive(Debug)]
pub struct Opened {
    /// Keeps what is done from here on.
    pub keeper: Keeper,
    /// The job as its file holds it.
    pub job: Job,
    /// Where each thing stands in it.
    pub index: Index,
    /// Whether it may be changed.
    pub lock: Lock,
    /// What an earlier session did and did not save: to be shown, then [`Keeper::restore`] or
    /// [`Keeper::drop_recovered`] before anything else is done.
    pub recovered: Option<Recovered>,
    /// What a person should know, a sentence each.
    pub notes: Vec<String>,
}

/// What a save did.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Saved {
    /// What the file holds now.
    pub digest: Digest,
    /// Where the file as it was is left, if the save took comments out of it or brought it to a newer format.
    pub orig: Option<PathBuf>,
}

/// What is to become of steps that are in the log and not in the file.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Unsaved {
    /// There are none: the job is as the file holds it.
    None,
    /// They stay in the log, and the next start offers them.
    Keep,
    /// The person let them go.
    Drop,
}
