//! Findings that somebody accepted as they are.

use super::Subject;
use serde::{Deserialize, Serialize};

/// A finding that a person answers for. It stays listed, and comes back when its figure gets worse than `found`.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Accepted {
    /// The check's code.
    pub code: String,
    /// What the finding is about.
    pub subject: Subject,
    /// Who accepted it.
    pub by: String,
    /// Why.
    pub reason: String,
    /// The figure that was accepted; left out where the finding has none.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub found: Option<f64>,
}
