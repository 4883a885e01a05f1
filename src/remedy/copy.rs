//! The working copy in which edits are tried: each is made, looked at, and taken back.
//!
//! Parts that an edit adds to the catalogue stay in the copy for the next edit that adds the same ones: a part that
//! nothing is made of changes no figure and no finding, and after each that comes or goes everything is derived anew.

use crate::design::Design;
use crate::job::Kind;
use crate::job::edit::{Edit, apply};

/// As many parts as stay.
const MOST_PARTS: usize = 16;

/// A copy of a design.
#[derive(Debug)]
pub(super) struct Copy {
    design: Design,
    /// The edits that added the parts that are in it beside those of the design.
    parts: Vec<Edit>,
}

impl Copy {
    pub(super) const fn of(design: Design) -> Self {
        Self { design, parts: Vec::new() }
    }

    /// What is to be seen of the design with an edit applied, if the job still hangs together; and the copy, in which
    /// the edit was taken back. Where that does not go it is gone.
    pub(super) fn with<T>(
        mut self,
        edit: &Edit,
        look: impl FnOnce(&Design) -> T,
    ) -> (Option<Self>, Option<T>) {
        let (parts, rest) = apart(edit);
        let Some(back) = self.apply(&parts, &rest) else { return (Some(self), None) };
        let (design, seen) = looked_at(self.design, &rest, back, look);
        (design.map(|design| Self { design, ..self }), Some(seen))
    }

    /// The copy without what was added to it.
    pub(super) fn put_away(mut self) -> Design {
        self.take_out();
        self.design
    }

    /// Applies an edit to the job, with the parts in the catalogue that it adds; gives what takes it back.
    fn apply(&mut self, parts: &[Edit], rest: &Edit) -> Option<Edit> {
        let back = self.lay_out(parts).then(|| apply(&mut self.design.job, rest.clone()).ok()).flatten();
        // What a job may hold in all is held by the edit's own parts, not by those of others.
        if back.is_some() || self.parts.iter().all(|part| parts.contains(part)) || !self.take_out() {
            return back;
        }
        self.lay_out(parts).then(|| apply(&mut self.design.job, rest.clone()).ok()).flatten()
    }

    /// Sees to it that parts are in the catalogue as they are to be added; whether they are.
    fn lay_out(&mut self, wanted: &[Edit]) -> bool {
        let missing: Vec<Edit> = wanted.iter().filter(|part| !self.parts.contains(part)).cloned().collect();
        if missing.is_empty() {
            return true;
        }
        let full = self.parts.len() + missing.len() > MOST_PARTS;
        let goes =
            |part: &Edit| full || missing.iter().any(|other| !other.subjects().is_disjoint(&part.subjects()));
        let (out, kept): (Vec<Edit>, Vec<Edit>) = self.parts.iter().cloned().partition(goes);
        let edits = out.iter().rev().flat_map(gone).chain(missing.iter().cloned()).collect();
        let changed = changed(&mut self.design, edits);
        if changed {
            self.parts = kept.into_iter().chain(missing).collect();
        }
        changed
    }

    /// Takes all parts out that were added; whether that went.
    fn take_out(&mut self) -> bool {
        let out = self.parts.is_empty()
            || changed(&mut self.design, self.parts.iter().rev().flat_map(gone).collect());
        if out {
            self.parts.clear();
        }
        out
    }
}

/// The edits that take away what an edit added.
fn gone(added: &Edit) -> impl Iterator<Item = Edit> {
    added.subjects().into_iter().map(|subject| Edit::Remove { subject })
}

fn changed(copy: &mut Design, edits: Vec<Edit>) -> bool {
    let edit = Edit::Together(edits);
    let applied = apply(&mut copy.job, edit.clone()).is_ok();
    if applied {
        copy.refresh(&edit);
    }
    applied
}

/// The parts that an edit adds to the catalogue, and what else it does.
fn apart(edit: &Edit) -> (Vec<Edit>, Edit) {
    let Edit::Together(edits) = edit else { return (Vec::new(), edit.clone()) };
    let part = |edit: &Edit| {
        let Edit::Insert { kind, parent: None, .. } = edit else { return false };
        matches!(
            kind,
            Kind::CableType | Kind::ConductorPlan | Kind::FixtureType | Kind::ControlType | Kind::BoxType
        )
    };
    let (parts, rest) = edits.iter().cloned().partition(part);
    (parts, Edit::Together(rest))
}

/// Looks at a design whose job has got an edit, and takes the edit back.
fn looked_at<T>(
    mut copy: Design,
    edit: &Edit,
    back: Edit,
    look: impl FnOnce(&Design) -> T,
) -> (Option<Design>, T) {
    if reaches_all(edit) {
        // Derived beside what was derived before, which then need not be made a second time.
        let after = Design::derive(copy.job);
        let seen = look(&after);
        copy.job = after.job;
        let same = apply(&mut copy.job, back).is_ok();
        return (same.then_some(copy), seen);
    }
    // Only what the edit touches is made anew, which comes to the same and costs a part of it.
    copy.refresh(edit);
    let seen = look(&copy);
    let same = apply(&mut copy.job, back.clone()).is_ok();
    if same {
        copy.refresh(&back);
    }
    (same.then_some(copy), seen)
}

/// Whether things come or go on which others are numbered, or everything is checked, so that it is as well derived anew.
fn reaches_all(edit: &Edit) -> bool {
    match edit {
        Edit::Set { field, .. } if matches!(field.as_str(), "cable" | "plan" | "from") => true,
        Edit::Set { subject, .. } => !matches!(
            subject.kind,
            Kind::Project
                | Kind::Room
                | Kind::Panel
                | Kind::WallBox
                | Kind::Control
                | Kind::Cable
                | Kind::Fixture
        ),
        Edit::Insert { kind, .. } => *kind != Kind::Fixture,
        Edit::Remove { subject } => subject.kind != Kind::Fixture,
        Edit::Together(edits) => edits.iter().any(reaches_all),
    }
}
