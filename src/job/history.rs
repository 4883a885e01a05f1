//! What was done to a job since it was opened: undo and redo without limit, and a mark on what differs from the file.
//!
//! Takes a job and edits, gives the job changed. It knows nothing of files: whoever must keep a step before it counts
//! hands in a function that does, and where that fails the step is taken back.

use super::edit::{Edit, EditError, apply};
use super::{Job, Subject};
use std::collections::BTreeSet;
use std::convert::Infallible;

/// One thing that was done, under the name a person knows it by.
#[derive(Debug, Clone, PartialEq)]
pub struct Step {
    /// What was done: `move fixture K3 to loop 2`.
    pub label: String,
    /// The edit.
    pub edit: Edit,
    /// The edit that takes it back.
    pub inverse: Edit,
}

/// Which way a step is taken.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Way {
    /// For the first time.
    Do,
    /// Back.
    Undo,
    /// Once more.
    Redo,
}

/// What is about to count as done, for whoever keeps it: the edit as it was applied, so for an undo the inverse.
#[derive(Debug, Clone, Copy)]
pub struct Entry<'a> {
    /// Which way.
    pub way: Way,
    /// The step's name.
    pub label: &'a str,
    /// The edit that turned the job as it was into what it is now.
    pub edit: &'a Edit,
}

/// Why a step was not taken. The job is as it was.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum Refused<E: std::error::Error + 'static> {
    /// The edit does not fit the job.
    #[error(transparent)]
    Edit(#[from] EditError),
    /// It could not be kept.
    #[error(transparent)]
    Keep(E),
}

/// Keeps nothing: for a job that is only tried out.
///
/// # Errors
/// Never.
pub const fn unkept(_: &Entry<'_>) -> Result<(), Infallible> {
    Ok(())
}

/// Where the saved state lies.
#[derive(Debug, Clone, PartialEq)]
enum Saved {
    /// After so many of the steps that are done, or to be redone.
    After(usize),
    /// Off the way: it was left by undoing so far, and its steps beyond can't be redone any more.
    Beside { fork: usize, lost: BTreeSet<Subject> },
}

/// What was done to a job, with the way back.
#[derive(Debug, Clone, PartialEq)]
pub struct History {
    done: Vec<Step>,
    undone: Vec<Step>,
    saved: Saved,
}

impl Default for History {
    fn default() -> Self {
        Self::new()
    }
}

impl History {
    /// Nothing was done yet, and the job is as its file holds it.
    pub const fn new() -> Self {
        Self { done: Vec::new(), undone: Vec::new(), saved: Saved::After(0) }
    }

    /// Applies an edit, has it kept, and remembers it. What was undone before can't be redone any more.
    ///
    /// # Errors
    /// [`Refused`] when the edit does not fit or is not kept; job and history are then as they were.
    pub fn perform<E: std::error::Error>(
        &mut self,
        job: &mut Job,
        label: impl Into<String>,
        edit: Edit,
        keep: impl FnOnce(&Entry<'_>) -> Result<(), E>,
    ) -> Result<(), Refused<E>> {
        let label = label.into();
        let inverse = apply(job, edit.clone())?;
        if let Err(error) = keep(&Entry { way: Way::Do, label: &label, edit: &edit }) {
            apply(job, inverse)?;
            return Err(Refused::Keep(error));
        }
        self.push(Step { label, edit, inverse });
        Ok(())
    }

    fn push(&mut self, step: Step) {
        if let Saved::After(at) = self.saved
            && at > self.done.len()
        {
            let beyond = self.undone.iter().rev().take(at - self.done.len());
            let lost = beyond.flat_map(|step| step.edit.subjects()).collect();
            self.saved = Saved::Beside { fork: self.done.len(), lost };
        }
        self.undone.clear();
        self.done.push(step);
    }

    /// Takes the last step back and gives its name; `None` where nothing is left to undo.
    ///
    /// # Errors
    /// [`Refused`] when that could not be kept; job and history are then as they were.
    pub fn undo<E: std::error::Error>(
        &mut self,
        job: &mut Job,
        keep: impl FnOnce(&Entry<'_>) -> Result<(), E>,
    ) -> Result<Option<&str>, Refused<E>> {
        let Some(step) = self.done.last() else {
            return Ok(None);
        };
        again(job, Way::Undo, &step.label, &step.inverse, keep)?;
        if let Saved::Beside { fork, lost } = &mut self.saved
            && self.done.len() == *fork
        {
            *fork -= 1;
            lost.extend(step.edit.subjects());
        }
        self.undone.extend(self.done.pop());
        Ok(self.undone.last().map(|step| step.label.as_str()))
    }

    /// Takes the step undone last once more and gives its name; `None` where nothing is left to redo.
    ///
    /// # Errors
    /// [`Refused`] when that could not be kept; job and history are then as they were.
    pub fn redo<E: std::error::Error>(
        &mut self,
        job: &mut Job,
        keep: impl FnOnce(&Entry<'_>) -> Result<(), E>,
    ) -> Result<Option<&str>, Refused<E>> {
        let Some(step) = self.undone.last() else {
            return Ok(None);
        };
        again(job, Way::Redo, &step.label, &step.edit, keep)?;
        self.done.extend(self.undone.pop());
        Ok(self.done.last().map(|step| step.label.as_str()))
    }

    /// The job as it is now is what the file holds.
    pub fn saved(&mut self) {
        self.saved = Saved::After(self.done.len());
    }

    /// Whether the job differs from what the file holds. A value that was changed and typed back counts as changed.
    pub fn changed(&self) -> bool {
        self.saved != Saved::After(self.done.len())
    }

    /// The things that were added, changed or removed since the save, or that an undo put back to before it.
    pub fn differing(&self) -> BTreeSet<Subject> {
        let now = self.done.len();
        let of = |steps: &[Step]| steps.iter().flat_map(|step| step.edit.subjects()).collect::<BTreeSet<_>>();
        match &self.saved {
            Saved::After(at) if *at <= now => of(&self.done[*at..]),
            Saved::After(at) => {
                let back = self.undone.len().saturating_sub(at - now);
                of(&self.undone[back..])
            }
            Saved::Beside { fork, lost } => {
                let mut differing = of(&self.done[*fork..]);
                differing.extend(lost.iter().cloned());
                differing
            }
        }
    }

    /// What was done and still holds, the first first.
    pub fn done(&self) -> &[Step] {
        &self.done
    }

    /// What was undone and can be redone, the next to redo last.
    pub fn undone(&self) -> &[Step] {
        &self.undone
    }
}

/// Applies an edit that is known to fit, and takes it back if it is not kept.
fn again<E: std::error::Error>(
    job: &mut Job,
    way: Way,
    label: &str,
    edit: &Edit,
    keep: impl FnOnce(&Entry<'_>) -> Result<(), E>,
) -> Result<(), Refused<E>> {
    let back = apply(job, edit.clone())?;
    if let Err(error) = keep(&Entry { way, label, edit }) {
        apply(job, back)?;
        return Err(Refused::Keep(error));
    }
    Ok(())
}
