//! What a balance of the outputs has to keep to, beyond limits.

use super::Id;
use serde::{Deserialize, Serialize};

/// What a balance of the outputs has to keep to. Runs are named by the ids of their home runs' cables.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct BalanceRules {
    /// Of what there shall be as few as possible.
    #[serde(skip_serializing_if = "Fewest::is_default")]
    pub fewest: Fewest,
    /// In each group no two runs share an output.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub apart: Vec<Vec<Id>>,
    /// The runs of each group are on one supply.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub together: Vec<Vec<Id>>,
    /// The runs that light each way out, as both ends of a stair; they are spread over supplies like those of a room.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub ways_out: Vec<Vec<Id>>,
}

/// What a balance makes as few of as possible.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
pub enum Fewest {
    /// Supplies; all outputs of those that are used may be used.
    #[default]
    Supplies,
    /// Supplies, then outputs.
    Outputs,
}

impl BalanceRules {
    pub(super) fn is_default(&self) -> bool {
        *self == Self::default()
    }
}

impl Fewest {
    #[expect(clippy::trivially_copy_pass_by_ref, reason = "serde passes what it skips by reference")]
    const fn is_default(&self) -> bool {
        matches!(self, Self::Supplies)
    }
}
