//! What an earlier session did and did not save, as far as its log tells.

use super::digest::Digest;
use super::journal;
use super::record::{self, Line};
use super::save::keep_aside;
use crate::job::Job;
use crate::job::history::{History, Way, unkept};
use jiff::Timestamp;
use std::fs;
use std::path::{Path, PathBuf};

/// Steps of an earlier session that its file does not hold: to be shown, and then restored or dropped.
#[derive(Debug, Clone, PartialEq)]
pub struct Recovered {
    /// The job with them.
    pub job: Job,
    /// The steps, with the way back; its labels are the list to show.
    pub history: History,
    /// When the last of them was made, by the clock of the disk.
    pub last: Option<Timestamp>,
}

impl Recovered {
    /// What was done, the first first.
    pub fn labels(&self) -> impl Iterator<Item = String> {
        self.history.done().map(|step| step.label)
    }
}

/// What became of a log that was found.
#[derive(Debug, Default)]
pub(super) struct Outcome {
    /// What can be restored.
    pub(super) recovered: Option<Recovered>,
    /// How much of the log to go on after; `None` where it must be written anew to go on.
    pub(super) good: Option<u64>,
    /// What a person should know.
    pub(super) notes: Vec<String>,
}

/// Looks for the log of a job whose file holds that digest, and replays what follows. A log that says nothing more is
/// removed; one that can't be used, or not wholly, is kept under another name first. With `look` nothing is touched.
pub(super) fn recover(target: &Path, log: &Path, digest: &Digest, job: &Job, look: bool) -> Outcome {
    let mut outcome = Outcome::default();
    let bytes = match journal::read(log) {
        Ok(Some(bytes)) => bytes,
        Ok(None) => return outcome,
        Err(error) => {
            outcome.notes.push(format!("the log '{}' cannot be used: {error}", log.display()));
            if !look {
                outcome.move_aside(target, log);
            }
            return outcome;
        }
    };
    let found = record::find(&bytes, digest);
    let whole = !found.spoilt;
    let steps = match found.steps {
        Some(steps) => steps,
        // Cut short before the first step was whole.
        None if !found.spoilt && !found.newer && !found.marked => Vec::new(),
        None => {
            let why = if found.newer {
                "was written by a newer studbay"
            } else {
                "does not go with the file as it stands: the file was changed by another program, or it is the log \
                 of another job"
            };
            outcome.notes.push(format!("the log '{}' {why}", log.display()));
            if !look {
                outcome.move_aside(target, log);
            }
            return outcome;
        }
    };
    let (after, history, failed) = replay(job, steps);
    if let Some(failed) = &failed {
        outcome.notes.push(format!("what was done from here on cannot be restored: {failed}"));
    } else if !whole {
        outcome.notes.push(format!("the end of the log '{}' cannot be read", log.display()));
    }
    if !look && (failed.is_some() || !whole) {
        outcome.copy_aside(target, &bytes);
    }
    if history.done().len() == 0 {
        if !look {
            // One that stays tells the same the next time.
            let _ = fs::remove_file(log);
        }
    } else {
        outcome.good = failed.is_none().then(|| u64::try_from(found.good).ok()).flatten();
        let last = fs::metadata(log).and_then(|data| data.modified()).ok();
        let last = last.and_then(|last| Timestamp::try_from(last).ok());
        outcome.recovered = Some(Recovered { job: after, history, last });
    }
    outcome
}

/// What a log with these bytes holds beyond the file with that digest, which holds that job. Touches nothing.
pub fn unsaved(log: &[u8], digest: &Digest, job: &Job) -> Option<Recovered> {
    let (job, history, _) = replay(job, record::find(log, digest).steps?);
    let any = history.done().len() > 0;
    any.then_some(Recovered { job, history, last: None })
}

/// Takes the steps once more on the job as it was saved, as far as they go; gives the name of the first that does not.
fn replay(job: &Job, steps: Vec<Line>) -> (Job, History, Option<String>) {
    let mut job = job.clone();
    let mut history = History::new();
    for Line { way, label, edit } in steps {
        let back = || history.done().next_back().is_some_and(|step| step.inverse == edit);
        let forth = || history.undone().next_back().is_some_and(|step| step.edit == edit);
        // An undo of something done before the last save is a step of its own here, and its redo takes that back.
        let taken = match way {
            Way::Undo | Way::Redo if back() => history.undo(&mut job, unkept).map(drop),
            Way::Undo | Way::Redo if forth() => history.redo(&mut job, unkept).map(drop),
            Way::Undo => history.perform(&mut job, format!("undo: {label}"), edit, unkept),
            Way::Do | Way::Redo => history.perform(&mut job, label.clone(), edit, unkept),
        };
        if let Err(error) = taken {
            return (job, history, Some(format!("{label} ({error})")));
        }
    }
    (job, history, None)
}

impl Outcome {
    fn copy_aside(&mut self, target: &Path, bytes: &[u8]) {
        let kept = keep_aside(target, "log.kept", bytes);
        self.say(kept.map_err(|error| error.to_string()));
    }

    /// A log too long or too strange to be read is moved as it is.
    fn move_aside(&mut self, target: &Path, log: &Path) {
        let free = (1..1000)
            .map(|nth| super::save::beside_name(target, &format!("log.kept.{nth}")))
            .find(|path| fs::symlink_metadata(path).is_err());
        let moved = match free {
            Some(path) => fs::rename(log, &path).map(|()| path).map_err(|error| error.to_string()),
            None => Err("there are a thousand such files already".to_owned()),
        };
        self.say(moved);
    }

    fn say(&mut self, kept: Result<PathBuf, String>) {
        self.notes.push(match kept {
            Ok(path) => format!("it is kept as '{}'", path.display()),
            Err(error) => format!("it cannot be kept under another name: {error}"),
        });
    }
}
