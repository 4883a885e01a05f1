//! What was done to a job since it was opened: undo and redo without limit, and a mark on what differs from the file.
//!
//! Takes a job and edits, gives the job changed. It knows nothing of files: whoever must keep a step before it counts
//! hands in a function that does, and where that fails the step is taken back.

mod packed;

use super::Subject;
use super::edit::{Edit, EditError, Editable};
use packed::Packed;
use std::collections::{BTreeMap, BTreeSet};
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
#[derive(Debug, Clone, Copy, PartialEq)]
enum Saved {
    /// After so many of the steps that are done, or to be redone.
    After(usize),
    /// Off the way: it was left by undoing so far, and its steps beyond can't be redone any more.
    Beside { fork: usize },
}

/// What was done to a job, with the way back.
#[derive(Debug, Clone, PartialEq)]
pub struct History {
    done: Vec<Packed>,
    undone: Vec<Packed>,
    saved: Saved,
    /// By how many steps between the saved job and this one each thing was touched.
    differing: BTreeMap<Subject, usize>,
}

impl Default for History {
    fn default() -> Self {
        Self::new()
    }
}

impl History {
    /// Nothing was done yet, and the job is as its file holds it.
    pub const fn new() -> Self {
        Self { done: Vec::new(), undone: Vec::new(), saved: Saved::After(0), differing: BTreeMap::new() }
    }

    /// Applies an edit, has it kept, and remembers it. What was undone before can't be redone any more.
    ///
    /// # Errors
    /// [`Refused`] when the edit does not fit or is not kept; job and history are then as they were.
    pub fn perform<E: std::error::Error>(
        &mut self,
        job: &mut impl Editable,
        label: impl Into<String>,
        edit: Edit,
        keep: impl FnOnce(&Entry<'_>) -> Result<(), E>,
    ) -> Result<(), Refused<E>> {
        let label = label.into();
        let inverse = job.apply(edit.clone())?;
        if let Err(error) = keep(&Entry { way: Way::Do, label: &label, edit: &edit }) {
            job.apply(inverse)?;
            return Err(Refused::Keep(error));
        }
        self.push(Step { label, edit, inverse });
        Ok(())
    }

    fn push(&mut self, step: Step) {
        // The saved steps beyond can't be redone any more; what they touched differs from now on.
        if let Saved::After(at) = self.saved
            && at > self.done.len()
        {
            self.saved = Saved::Beside { fork: self.done.len() };
        }
        self.undone.clear();
        self.farther(step.edit.subjects());
        self.done.push(Packed::new(step));
    }

    /// A step led away from the saved job.
    fn farther(&mut self, subjects: BTreeSet<Subject>) {
        for subject in subjects {
            *self.differing.entry(subject).or_default() += 1;
        }
    }

    /// A step led back towards it.
    fn nearer(&mut self, subjects: BTreeSet<Subject>) {
        for subject in subjects {
            if let Some(count) = self.differing.get_mut(&subject) {
                *count -= 1;
                if *count == 0 {
                    self.differing.remove(&subject);
                }
            }
        }
    }

    /// Takes the last step back and gives its name; `None` where nothing is left to undo.
    ///
    /// # Errors
    /// [`Refused`] when that could not be kept; job and history are then as they were.
    pub fn undo<E: std::error::Error>(
        &mut self,
        job: &mut impl Editable,
        keep: impl FnOnce(&Entry<'_>) -> Result<(), E>,
    ) -> Result<Option<String>, Refused<E>> {
        let Some(packed) = self.done.last() else {
            return Ok(None);
        };
        let step = packed.step();
        again(job, Way::Undo, &step.label, &step.inverse, keep)?;
        let now = self.done.len();
        let subjects = step.edit.subjects();
        match &mut self.saved {
            Saved::After(at) if *at < now => self.nearer(subjects),
            Saved::After(_) => self.farther(subjects),
            Saved::Beside { fork } if *fork == now => {
                *fork -= 1;
                self.farther(subjects);
            }
            Saved::Beside { .. } => self.nearer(subjects),
        }
        self.undone.extend(self.done.pop());
        Ok(Some(step.label))
    }

    /// Takes the step undone last once more and gives its name; `None` where nothing is left to redo.
    ///
    /// # Errors
    /// [`Refused`] when that could not be kept; job and history are then as they were.
    pub fn redo<E: std::error::Error>(
        &mut self,
        job: &mut impl Editable,
        keep: impl FnOnce(&Entry<'_>) -> Result<(), E>,
    ) -> Result<Option<String>, Refused<E>> {
        let Some(packed) = self.undone.last() else {
            return Ok(None);
        };
        let step = packed.step();
        again(job, Way::Redo, &step.label, &step.edit, keep)?;
        match self.saved {
            Saved::After(at) if at > self.done.len() => self.nearer(step.edit.subjects()),
            _ => self.farther(step.edit.subjects()),
        }
        self.done.extend(self.undone.pop());
        Ok(Some(step.label))
    }

    /// The job as it is now is what the file holds.
    pub fn saved(&mut self) {
        self.saved = Saved::After(self.done.len());
        self.differing.clear();
    }

    /// Whether the job differs from what the file holds. A value that was changed and typed back counts as changed.
    pub fn changed(&self) -> bool {
        self.saved != Saved::After(self.done.len())
    }

    /// The things that were added, changed or removed since the save, or that an undo put back to before it.
    pub fn differing(&self) -> impl Iterator<Item = &Subject> {
        self.differing.keys()
    }

    /// Whether a thing is one of [`Self::differing`].
    pub fn differs(&self, subject: &Subject) -> bool {
        self.differing.contains_key(subject)
    }

    /// What was done and still holds, the first first.
    pub fn done(&self) -> impl DoubleEndedIterator<Item = Step> + ExactSizeIterator {
        self.done.iter().map(Packed::step)
    }

    /// What was undone and can be redone, the next to redo last.
    pub fn undone(&self) -> impl DoubleEndedIterator<Item = Step> + ExactSizeIterator {
        self.undone.iter().map(Packed::step)
    }
}

/// Applies an edit that is known to fit, and takes it back if it is not kept.
fn again<E: std::error::Error>(
    job: &mut impl Editable,
    way: Way,
    label: &str,
    edit: &Edit,
    keep: impl FnOnce(&Entry<'_>) -> Result<(), E>,
) -> Result<(), Refused<E>> {
    let back = job.apply(edit.clone())?;
    if let Err(error) = keep(&Entry { way, label, edit }) {
        job.apply(back)?;
        return Err(Refused::Keep(error));
    }
    Ok(())
}
