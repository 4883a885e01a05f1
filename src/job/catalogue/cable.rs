//! Cables and what their conductors do.

use crate::job::Id;
use crate::units::{Length, Money};
use serde::{Deserialize, Serialize};
use std::num::NonZeroU8;

/// What a conductor is for. No colour is tied to a function: the plan names the conductor as it is marked.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum Function {
    /// Positive side of the circuit; several are doubled up.
    Positive,
    /// Negative side of the circuit; several are doubled up.
    Negative,
    /// The first series string of a current drive.
    FirstString,
    /// The second series string of a current drive.
    SecondString,
    /// A control signal between points of one group.
    Signal,
    /// Ground.
    Ground,
    /// Left over, capped at both ends.
    Spare,
}

impl Function {
    /// The function in a word or two, for paper.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Positive => "+",
            Self::Negative => "-",
            Self::FirstString => "string 1",
            Self::SecondString => "string 2",
            Self::Signal => "signal",
            Self::Ground => "ground",
            Self::Spare => "spare",
        }
    }
}

/// One conductor of a plan.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Conductor {
    /// How it is marked: a colour or a number.
    pub name: String,
    /// What it does.
    pub function: Function,
}

/// What each conductor of a cable does.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ConductorPlan {
    /// Its id.
    pub id: Id,
    /// What people call it.
    #[serde(default)]
    pub name: String,
    /// The conductors in the order they are landed.
    pub conductors: Vec<Conductor>,
}

impl ConductorPlan {
    /// How many conductors share a function.
    pub fn count(&self, function: Function) -> usize {
        self.conductors.iter().filter(|c| c.function == function).count()
    }
}

/// Whether a conductor is one wire or seven.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
pub enum Stranding {
    /// One wire.
    #[default]
    Solid,
    /// Seven strands.
    Stranded,
}

impl Stranding {
    /// Solid or stranded, as a word.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Solid => "solid",
            Self::Stranded => "stranded",
        }
    }
}

/// What a conductor is made of. Only copper is reckoned with; the others exist to be refused by name.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
pub enum Metal {
    /// Uncoated copper.
    #[default]
    Copper,
    /// Aluminum.
    Aluminum,
    /// Copper-clad aluminum.
    CopperCladAluminum,
}

impl Metal {
    /// Whether it is the default, which the file leaves out.
    pub fn is_copper(&self) -> bool {
        *self == Self::Copper
    }
}

/// What a cable is listed for. The listings stand from the least to the most that they cover, each as Class 2 or better.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
pub enum Listing {
    /// CL2 or CL3: general use in buildings.
    General,
    /// CL2R or CL3R: between floors too.
    Riser,
    /// CL2P or CL3P: in ducts and spaces for air too.
    Plenum,
}

/// A put-up in which a cable is bought.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Reel {
    /// Cable on it.
    pub length: Length,
    /// What it costs.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub price: Option<Money>,
}

/// A cable as bought.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct CableType {
    /// Its id.
    pub id: Id,
    /// What people call it.
    #[serde(default)]
    pub name: String,
    /// Size of each conductor, AWG.
    pub gauge: NonZeroU8,
    /// How many conductors.
    pub conductors: NonZeroU8,
    /// Solid or stranded.
    #[serde(default)]
    pub stranding: Stranding,
    /// What the conductors are made of.
    #[serde(default, skip_serializing_if = "Metal::is_copper")]
    pub metal: Metal,
    /// What its conductors do where nothing else is said.
    pub plan: Id,
    /// What its jacket says it is listed for.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub listing: Option<Listing>,
    /// It is listed for wet places.
    #[serde(default, skip_serializing_if = "crate::job::is_false")]
    pub wet: bool,
    /// It is listed for sunlight.
    #[serde(default, skip_serializing_if = "crate::job::is_false")]
    pub sunlight: bool,
    /// Reels it can be bought on.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub reels: Vec<Reel>,
}
