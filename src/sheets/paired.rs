//! Sheets that are made from two states of a job.

use super::json;
use crate::compare::compare;
use crate::design::Design;
use crate::job::Subject;
use crate::schedule::{Table, revision};
use std::collections::BTreeSet;

/// What is made from an earlier and a later state of a job; `D` is the studied job.
#[derive(Debug)]
pub struct Paired<D> {
    /// The name of its sheet.
    pub name: &'static str,
    /// What it is for, in a few words.
    pub about: &'static str,
    /// Its tables.
    pub tables: fn(&D, &D) -> Vec<Table>,
    /// Its document.
    pub json: fn(&D, &D) -> Result<String, serde_json::Error>,
    /// Everything that is other.
    pub others: fn(&D, &D) -> BTreeSet<Subject>,
}

/// The revision sheet.
pub const REVISION: Paired<Design> = Paired {
    name: "revision",
    about: "what is other since an earlier state, with --since OLD",
    tables: revision::tables,
    json: |old, new| json::pretty(&revision::document(old, new)),
    others: |old, new| compare(old, new).subjects().into_iter().cloned().collect(),
};
