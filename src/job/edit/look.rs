//! Where the things of an edit are looked for: through the whole job, or in an index first.

use super::{Edit, EditError, applied, apply};
use crate::job::{Id, Index, Job, Kind, Spot, index};

/// What edits are applied to: a job by itself, or one with its index beside it.
pub trait Editable {
    /// Applies an edit and gives the one that takes it back, as [`apply`] does.
    ///
    /// # Errors
    /// Those of [`apply`].
    fn apply(&mut self, edit: Edit) -> Result<Edit, EditError>;
}

impl Editable for Job {
    fn apply(&mut self, edit: Edit) -> Result<Edit, EditError> {
        apply(self, edit)
    }
}

/// A job with an index of it, by which things are found without going through the house. The index may be of the job as
/// it was before other edits: what it says is believed only where the thing is found there.
#[derive(Debug)]
pub struct Indexed<'a> {
    /// The job.
    pub job: &'a mut Job,
    /// Where its things stand, or stood.
    pub index: &'a Index,
}

impl Editable for Indexed<'_> {
    fn apply(&mut self, edit: Edit) -> Result<Edit, EditError> {
        applied(self.job, Look::Up(self.index), edit)
    }
}

/// How a thing is found.
#[derive(Debug, Clone, Copy)]
pub(super) enum Look<'a> {
    /// Through the whole job.
    Through,
    /// In an index first.
    Up(&'a Index),
}

impl Look<'_> {
    pub(super) fn find(self, job: &Job, kind: Kind, id: &Id) -> Option<Spot> {
        let known = match self {
            Self::Through => None,
            Self::Up(index) => index.spot(kind, id),
        };
        known.filter(|&spot| index::stands_at(job, spot, id)).or_else(|| index::find(job, kind, id))
    }
}
