//! The document: everything a person decides about a house, and nothing that can be computed from it.
//!
//! A [`Job`] is what the job file holds. It is read and checked by [`mod@read`], laid out by [`mod@write`], and changed only
//! by [`edit::apply`]. Everything else in the program is derived from it and thrown away.

mod accepted;
mod balance;
pub mod catalogue;
pub mod edit;
mod estimate;
pub mod fields;
pub mod history;
pub mod house;
mod id;
pub mod ids;
mod index;
pub mod limits;
pub mod locate;
pub mod open;
pub mod panel;
mod project;
pub mod read;
mod refer;
mod rough;
mod settings;
pub mod site;
mod tag;
pub mod value;
pub mod wiring;
pub mod write;

pub use accepted::Accepted;
pub use balance::{BalanceRules, Fewest};
pub use estimate::{Allowance, Estimate, LaborUnits, ReelOnHand, SharedRoute, TaxOn, Waste};
pub use id::{BadId, Id, Kind, Subject};
pub use index::{Index, Spot};
pub use project::{Format, Project, Stage};
pub use rough::{CeilingKind, LabelGrid, RoughIn};
pub use settings::{DropLimits, Edition, LightRule, Settings, SiteRule};
pub use tag::{BadTag, Tag};

use serde::{Deserialize, Serialize};

/// Whether a flag is at its default, which the file leaves out.
#[expect(clippy::trivially_copy_pass_by_ref, reason = "serde passes a reference")]
fn is_false(flag: &bool) -> bool {
    !flag
}

/// Whether a count is nothing, which the file leaves out.
#[expect(clippy::trivially_copy_pass_by_ref, reason = "serde passes a reference")]
fn is_zero(count: &u8) -> bool {
    *count == 0
}

/// Whether nothing was bought yet, which the file leaves out.
#[expect(clippy::trivially_copy_pass_by_ref, reason = "serde passes a reference")]
fn is_none_bought(count: &u32) -> bool {
    *count == 0
}

/// A whole house, as its job file holds it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Job {
    /// The version of the file's format.
    pub format: Format,
    /// What the job is and who answers for it.
    pub project: Project,
    /// Limits and allowances of this job.
    #[serde(default)]
    pub settings: Settings,
    /// The parts this job may use.
    #[serde(default)]
    pub catalogue: catalogue::Catalogue,
    /// The levels of the house with their rooms, lowest first.
    #[serde(default)]
    pub levels: Vec<house::Level>,
    /// The low-voltage panels with their supplies.
    #[serde(default)]
    pub panels: Vec<panel::Panel>,
    /// The wall boxes with what feeds them, their controls and their loops.
    #[serde(default)]
    pub boxes: Vec<wiring::WallBox>,
    /// Controls that act as one, with the link cables between them.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub groups: Vec<wiring::ControlGroup>,
    /// Findings that somebody accepted as they are.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub accepted: Vec<Accepted>,
    /// What the bid is reckoned with beside the parts' prices.
    #[serde(default, skip_serializing_if = "Estimate::is_default")]
    pub estimate: Estimate,
}
