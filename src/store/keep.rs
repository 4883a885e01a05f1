//! Keeps a job that is worked on: its lock, its log, its saves.

mod answer;

pub use answer::{KeepError, Lock, OpenError, Opened, Saved, Unsaved};

use super::beside::sweep;
use super::digest::Digest;
use super::journal::Journal;
use super::lock::{self, Asked, LockFile};
use super::recover::{Recovered, recover};
use super::save::{self, Underneath, beside_name, keep_aside};
use super::{StoreError, create, read_text};
use crate::job::history::Entry;
use crate::job::read;
use crate::job::{Index, Job, write};
use std::fs;
use std::os::unix::fs::MetadataExt;
use std::path::{Path, PathBuf};
use std::time::Instant;

/// Keeps a job that is worked on: no step counts before it is in the log, and no save destroys a file.
///
/// The order of calls:
/// 1. [`Keeper::open`]; show `notes`. Where `recovered` is there, show its labels, and [`Keeper::restore`] or
///    [`Keeper::drop_recovered`].
/// 2. For each step, `history.perform(&mut job, label, edit, |step| keeper.record(step))`, likewise `undo` and `redo`;
///    only then draw. A refusal leaves the job as it was.
/// 3. At [`Keeper::sync_due`] at the latest, [`Keeper::sync`].
/// 4. [`Keeper::save`], and on success `history.saved()`.
/// 5. [`Keeper::close`]; at a hangup or a termination [`Keeper::emergency`] instead.
///
/// ```
/// use serde_json::json;
/// use studbay::job::{Kind, Subject, edit::Edit, history::History};
/// use studbay::store::{Keeper, Lock, Opened, Unsaved, create};
/// # let folder = tempfile::tempdir()?;
/// # let path = folder.path().join("house.ron");
/// # create(&path, include_bytes!("../job/starter.ron"))?;
///
/// let Opened { mut keeper, mut job, lock, recovered, .. } = Keeper::open(&path)?;
/// assert_eq!(lock, Lock::Held);
/// let mut history = History::new();
/// if let Some(earlier) = recovered {
///     keeper.restore(&earlier)?;
///     (job, history) = (earlier.job, earlier.history);
/// }
///
/// let subject = Subject::new(Kind::Cable, "HR1");
/// let edit = Edit::Set { subject, field: "measured".into(), value: json!("62'6") };
/// history.perform(&mut job, "measure HR1", edit, |step| keeper.record(step))?;
/// // Here the frame is drawn; within a second:
/// assert!(keeper.sync_due().is_some());
/// keeper.sync()?;
/// assert_eq!(history.undo(&mut job, |step| keeper.record(step))?.as_deref(), Some("measure HR1"));
/// history.redo(&mut job, |step| keeper.record(step))?;
///
/// keeper.save(&job)?;
/// history.saved();
/// keeper.close(if history.changed() { Unsaved::Keep } else { Unsaved::None });
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Debug)]
pub struct Keeper {
    /// The job file itself, with links followed once.
    target: PathBuf,
    /// What the file holds, as it was read or saved last.
    known: Digest,
    right: Right,
    /// What an earlier session left and was not decided on.
    waiting: Option<Waiting>,
}

/// A log with steps that wait to be restored or dropped.
#[derive(Debug, Clone, Copy)]
struct Waiting {
    /// How much of it is good to go on after; `None` where it must be written anew.
    good: Option<u64>,
}

/// What the keeper may do.
#[derive(Debug)]
enum Right {
    Edit { journal: Journal, _lock: LockFile },
    Read(String),
}

impl Keeper {
    /// Opens a job file: takes its lock, reads it, and looks for what an earlier session left.
    ///
    /// # Errors
    /// [`OpenError`] when the file can't be read or is no job.
    pub fn open(path: &Path) -> Result<Opened, OpenError> {
        let system = |source| StoreError::System { doing: "read", file: path.into(), source };
        let target = fs::canonicalize(path).map_err(system)?;
        let data = fs::metadata(&target).map_err(system)?;
        let mut notes = Vec::new();
        let (lock, file) = if !data.is_file() {
            (Lock::ReadOnly("it is no regular file".into()), None)
        } else if let Err(error) = rustix::fs::access(&target, rustix::fs::Access::WRITE_OK) {
            (Lock::ReadOnly(format!("its file may not be written ({error})")), None)
        } else {
            match lock::ask(&beside_name(&target, "lock")) {
                Asked::Ours(file, note) => {
                    notes.extend(note);
                    (Lock::Held, Some(file))
                }
                Asked::Theirs(who) => (Lock::HeldBy(who), None),
                Asked::Never(error) => {
                    (Lock::ReadOnly(format!("no lock can be had in its folder ({error})")), None)
                }
            }
        };
        let (job, index, known) = load(path)?;
        let log = beside_name(&target, "log");
        // A log that somebody is writing is not looked at.
        let mut outcome = match &lock {
            Lock::HeldBy(_) => super::recover::Outcome::default(),
            _ => recover(&target, &log, &known, &job, file.is_none()),
        };
        notes.append(&mut outcome.notes);
        let right = match (&lock, file) {
            (Lock::Held, Some(lock)) => {
                sweep(&target);
                Right::Edit { journal: Journal::new(log, known, data.mode()), _lock: lock }
            }
            (Lock::HeldBy(Some(who)), _) => Right::Read(format!("it is open with {who}")),
            (Lock::ReadOnly(why), _) => Right::Read(why.clone()),
            _ => Right::Read("somebody else has it open".into()),
        };
        let waiting = outcome.recovered.as_ref().map(|_| Waiting { good: outcome.good });
        let keeper = Self { target, known, right, waiting };
        Ok(Opened { keeper, job, index, lock, recovered: outcome.recovered, notes })
    }

    /// Opens a job file for a command that changes and saves it at once.
    ///
    /// # Errors
    /// [`OpenError`] also when somebody has the job open, it can't be written, or an earlier session left edits.
    pub fn open_to_write(path: &Path) -> Result<Opened, OpenError> {
        let opened = Self::open(path)?;
        let why = match (&opened.keeper.right, &opened.recovered) {
            (Right::Read(why), _) => why.clone(),
            (_, Some(_)) => format!(
                "edits of an earlier session were not saved; open it with 'studbay {}' and restore or drop them",
                path.display()
            ),
            _ => return Ok(opened),
        };
        Err(OpenError::NotNow { file: path.into(), why })
    }

    /// The job file, with links followed.
    pub fn file(&self) -> &Path {
        &self.target
    }

    /// What the file holds, as it was read or saved last.
    pub const fn digest(&self) -> Digest {
        self.known
    }

    /// Goes on from what an earlier session left: its steps stay in the log, and are unsaved like any others.
    ///
    /// # Errors
    /// [`KeepError::Log`] when the log can't be gone on with. What was left is still there then, and still undecided.
    pub fn restore(&mut self, recovered: &Recovered) -> Result<(), KeepError> {
        if let Right::Edit { journal, .. } = &mut self.right
            && let Some(waiting) = self.waiting
        {
            match waiting.good {
                Some(length) => journal.resume(length)?,
                None => journal.rewrite(recovered.history.done())?,
            }
        }
        self.waiting = None;
        Ok(())
    }

    /// Lets go of what an earlier session left.
    pub fn drop_recovered(&mut self) {
        if let Right::Edit { journal, .. } = &mut self.right
            && self.waiting.is_some()
        {
            journal.remove();
        }
        self.waiting = None;
    }

    fn journal(&mut self) -> Result<&mut Journal, KeepError> {
        match &mut self.right {
            Right::Read(why) => Err(KeepError::ReadOnly(why.clone())),
            Right::Edit { .. } if self.waiting.is_some() => Err(KeepError::Undecided),
            Right::Edit { journal, .. } => Ok(journal),
        }
    }

    /// Puts a step in the log. To be called before anything shows it; see [`perform`](crate::job::history::History::perform).
    ///
    /// # Errors
    /// [`KeepError`] when the log does not take it; nothing of it is in the log then.
    pub fn record(&mut self, step: &Entry<'_>) -> Result<(), KeepError> {
        self.journal()?.record(step)
    }

    /// When [`Keeper::sync`] is due at the latest; `None` while nothing waits.
    pub fn sync_due(&self) -> Option<Instant> {
        match &self.right {
            Right::Edit { journal, .. } => journal.sync_due(),
            Right::Read(_) => None,
        }
    }

    /// Waits until all steps recorded are on the disk.
    ///
    /// # Errors
    /// [`KeepError::Log`] when the disk fails; the next save brings everything to safety, if that succeeds.
    pub fn sync(&mut self) -> Result<(), KeepError> {
        match &mut self.right {
            Right::Edit { journal, .. } => journal.sync(),
            Right::Read(_) => Ok(()),
        }
    }

    /// Whether another program wrote to the job file or took it away since it was read or saved.
    pub fn underneath(&self) -> Option<Underneath> {
        match fs::read(&self.target) {
            Ok(bytes) if Digest::of(&bytes) == self.known => None,
            Err(error) if error.kind() == std::io::ErrorKind::NotFound => Some(Underneath::Gone),
            _ => Some(Underneath::Written),
        }
    }

    /// Saves the job. The log begins anew.
    ///
    /// # Errors
    /// [`KeepError::Changed`] when the file is not what was read or saved; any other when it can't be written. The
    /// file and the log are then as they were.
    pub fn save(&mut self, job: &Job) -> Result<Saved, KeepError> {
        self.journal()?;
        let text = lay_out(job)?;
        let digest = Digest::of(text.as_bytes());
        let (target, known) = (self.target.clone(), self.known);
        let journal = self.journal()?;
        let mut marked = false;
        let done = save::save(&target, &text, &known, || {
            // Where the log is full or spoilt, the save is what helps: it goes on, and the log begins anew.
            marked = journal.mark(&digest).and_then(|()| journal.sync()).is_ok();
        })?;
        if done.lasting || !marked {
            journal.restart(digest);
        } else {
            journal.go_on_from(digest);
        }
        self.known = digest;
        Ok(Saved { digest, orig: done.orig })
    }

    /// Saves the job in place of a file that another program changed, after a person said so. What the file held is
    /// left beside it as `JOB.theirs`.
    ///
    /// # Errors
    /// As [`Keeper::save`].
    pub fn save_over(&mut self, job: &Job) -> Result<Saved, KeepError> {
        self.journal()?;
        let system = |source| StoreError::System { doing: "read", file: self.target.clone(), source };
        let theirs = fs::read(&self.target).map_err(system)?;
        let known = Digest::of(&theirs);
        if known != self.known {
            keep_aside(&self.target, "theirs", &theirs)?;
        }
        let before = std::mem::replace(&mut self.known, known);
        let saved = self.save(job);
        if saved.is_err() {
            self.known = before;
        }
        saved
    }

    /// Saves the job under a name that is free, and goes on there: lock and log move along. A job that was open for
    /// reading only becomes one's own. Gives whether the new one may be changed, and what a person should know.
    ///
    /// # Errors
    /// [`KeepError`] when there is a file of that name, or it can't be written; the keeper stays where it was then.
    pub fn save_beside(&mut self, path: &Path, job: &Job) -> Result<(Lock, Vec<String>), KeepError> {
        if self.waiting.is_some() && matches!(self.right, Right::Edit { .. }) {
            return Err(KeepError::Undecided);
        }
        let text = lay_out(job)?;
        create(path, text.as_bytes())?;
        if let Right::Edit { journal, .. } = &mut self.right
            && fs::canonicalize(path).is_ok_and(|made| made == self.target)
        {
            // It was gone, and stands again where it stood.
            self.known = Digest::of(text.as_bytes());
            journal.restart(self.known);
            return Ok((Lock::Held, Vec::new()));
        }
        let opened = Self::open(path).map_err(|error| match error {
            OpenError::Store(error) => KeepError::Store(error),
            other => KeepError::Layout(other.to_string()),
        })?;
        // Everything the old log holds is in the new file.
        std::mem::replace(self, opened.keeper).close(Unsaved::Drop);
        Ok((opened.lock, opened.notes))
    }

    /// Reads the file again as it is now. What was done and not saved is let go.
    ///
    /// # Errors
    /// [`OpenError`] when it can't be read or is no job; what was done is then still kept.
    pub fn reload(&mut self) -> Result<(Job, Index), OpenError> {
        let (job, index, known) = load(&self.target)?;
        self.drop_recovered();
        self.known = known;
        if let Right::Edit { journal, .. } = &mut self.right {
            journal.restart(known);
        }
        Ok((job, index))
    }

    /// Closes the job: its lock goes, and its log, unless unsaved steps are to be kept in it.
    pub fn close(mut self, unsaved: Unsaved) {
        let known = self.known;
        if let Right::Edit { journal, .. } = &mut self.right {
            match unsaved {
                // What waits from an earlier session was not let go.
                _ if self.waiting.is_some() => {}
                Unsaved::Keep => {
                    let _ = journal.sync();
                }
                Unsaved::None | Unsaved::Drop => journal.restart(known),
            }
        }
    }

    /// At a hangup or a termination: everything is in the log already and goes to the disk; the next start offers it.
    pub fn emergency(self) {
        self.close(Unsaved::Keep);
    }
}

fn load(path: &Path) -> Result<(Job, Index, Digest), OpenError> {
    let text = read_text(path, u64::try_from(read::MOST_BYTES).unwrap_or(u64::MAX))?;
    let (job, index) = read::from_str(&path.display().to_string(), &text)?;
    Ok((job, index, Digest::of(text.as_bytes())))
}

/// The text of a job, tried out: a file that can be read is never exchanged for one that can't.
fn lay_out(job: &Job) -> Result<String, KeepError> {
    let text = write::to_string(job).map_err(|error| KeepError::Layout(error.to_string()))?;
    match read::from_str("job", &text) {
        Ok((again, _)) if again == *job => Ok(text),
        Ok(_) => Err(KeepError::Layout("it would be another job".into())),
        Err(error) => Err(KeepError::Layout(error.to_string())),
    }
}
