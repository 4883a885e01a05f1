//! The ids that are taken while one edit after another is applied, so that each need not go through the whole house.

use super::{Look, id_of};
use crate::job::{Id, Index, Job, Kind};
use serde_json::Value;
use std::collections::{HashMap, HashSet};

/// Fields that hold things with ids of their own, and what these are.
const HOLDS_OTHERS: [(&str, Kind); 7] = [
    ("rooms", Kind::Room),
    ("supplies", Kind::Supply),
    ("feeds", Kind::Cable),
    ("controls", Kind::Control),
    ("loops", Kind::Cable),
    ("ceiling", Kind::Fixture),
    ("links", Kind::Cable),
];

/// Whether things with ids of their own are in a field of that name.
pub(super) fn holds_others(field: &str) -> bool {
    HOLDS_OTHERS.iter().any(|(name, _)| *name == field)
}

/// A thing as the job file would hold it, and all it contains, from the outside in.
pub fn contents(kind: Kind, thing: &Value) -> Vec<(Kind, &Value)> {
    let mut all = vec![(kind, thing)];
    let mut at = 0;
    while let Some((_, thing)) = all.get(at) {
        let fields =
            HOLDS_OTHERS.iter().filter_map(|(name, kind)| Some((*kind, thing.get(name)?.as_array()?)));
        let inner: Vec<_> =
            fields.flat_map(|(kind, list)| list.iter().map(move |thing| (kind, thing))).collect();
        all.extend(inner);
        at += 1;
    }
    all
}

/// The ids of a job: those it had when they were first asked for, and what became of others since.
#[derive(Debug, Default)]
pub(super) struct Taken {
    begin: Option<Index>,
    since: HashMap<(Kind, String), bool>,
    /// Whether more than one edit is applied, so that it pays to know them all.
    pub several: bool,
}

impl Taken {
    /// Whether a thing may be inserted: its id and those of all it contains are free. The job is as it was before.
    ///
    /// # Errors
    /// The first id that is taken.
    pub(super) fn free(&mut self, job: &Job, look: Look<'_>, ids: &[(Kind, Id)]) -> Result<(), (Kind, Id)> {
        if !self.several
            && let [(kind, id)] = ids
        {
            return match look.find(job, *kind, id) {
                Some(_) => Err((*kind, id.clone())),
                None => Ok(()),
            };
        }
        let begin = self.begin.get_or_insert_with(|| Index::new(job).0);
        let mut inside = HashSet::with_capacity(ids.len());
        let taken = ids.iter().find(|(kind, id)| {
            let known = self.since.get(&(*kind, id.folded())).copied();
            known.unwrap_or_else(|| begin.spot(*kind, id).is_some()) || !inside.insert((*kind, id.folded()))
        });
        taken.map_or(Ok(()), |taken| Err(taken.clone()))
    }

    /// Things came or went.
    pub(super) fn note(&mut self, ids: &[(Kind, Id)], there: bool) {
        if self.begin.is_some() {
            self.since.extend(ids.iter().map(|(kind, id)| ((*kind, id.folded()), there)));
        }
    }

    /// What is known no longer holds.
    pub(super) fn forget(&mut self) {
        self.begin = None;
        self.since.clear();
    }
}

/// The ids of a thing and of all it contains; what has none that could be one is left to the reading of it.
pub(super) fn ids(kind: Kind, thing: &Value) -> Vec<(Kind, Id)> {
    let ids = contents(kind, thing).into_iter().map(|(kind, thing)| (kind, Id::new(id_of(thing))));
    ids.filter_map(|(kind, id)| Some((kind, id.ok()?))).collect()
}
