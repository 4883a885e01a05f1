//! Why a figure is unknown.

use crate::job::Id;
use std::fmt;

/// Why the figures of a run can't be computed, and so what would make them known.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Reason {
    /// The run is on no output, so its volts are not known.
    OnNoOutput,
    /// It meets the network of another output.
    Interconnected,
    /// A loop fed from both ends is crossed: a dead short.
    DeadShort(Id),
    /// A cable has neither a measured length nor the places to estimate it from.
    NoLength(Id),
    /// A loop's measured legs come to more than its measured whole.
    LegsExceedWhole(Id),
    /// No table gives the resistance of a cable type's conductors.
    NoResistance(Id),
    /// The conductor plan of a cable gives no conductor to one side of the circuit.
    NoPair(Id),
    /// A fixture can't be driven by its control.
    DoesNotFit {
        /// The ceiling box.
        ceiling: Id,
        /// The fixture type.
        fixture: Id,
    },
    /// A tunable fixture in a string needs a second string, which needs a returned loop and a control that makes it.
    NoSecondString(Id),
    /// The catalogue doesn't say whether a control's two channels share the current.
    ChannelsUnstated(Id),
    /// It can't be told which of several feeds a control or an allowance in this wall box is on.
    FeedNotNamed(Id),
    /// With so many choices open it can't be told whether one of them is more than the cables carry.
    MayCollapse,
    /// More choices are open than can be gone through.
    TooManyChoices,
    /// Whether this control's link joins circuits depends on which of its open types it will be.
    LinkOpen(Id),
    /// The solver could not take the circuit.
    Circuit(String),
}

impl fmt::Display for Reason {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::OnNoOutput => write!(f, "the run is on no output: land it on one"),
            Self::Interconnected => write!(f, "it meets another output's circuit: keep them apart"),
            Self::DeadShort(id) => write!(f, "loop {id} is fed from both ends and crossed: a dead short"),
            Self::NoLength(id) => {
                write!(f, "cable {id} has no length: measure it, or give places, heights and ceilings")
            }
            Self::LegsExceedWhole(id) => {
                write!(f, "the measured legs of loop {id} come to more than its whole: check both")
            }
            Self::NoResistance(id) => {
                write!(
                    f,
                    "no table gives the resistance of cable type {id}: check gauge, stranding and metal"
                )
            }
            Self::NoPair(id) => write!(f, "the conductor plan of cable {id} has no + or no -: complete it"),
            Self::DoesNotFit { ceiling, fixture } => {
                write!(
                    f,
                    "fixture {fixture} in {ceiling} does not fit its control's drive: exchange one of them"
                )
            }
            Self::NoSecondString(id) => {
                write!(f, "tunable light {id} needs a returned loop and a control with two strings")
            }
            Self::ChannelsUnstated(id) => {
                write!(f, "control type {id} does not say whether its channels share the current")
            }
            Self::FeedNotNamed(id) => write!(f, "wall box {id} has several feeds: say which one is meant"),
            Self::MayCollapse => {
                write!(f, "one of its open choices may be more than its cables carry: choose some of them")
            }
            Self::TooManyChoices => write!(f, "too many of its choices are open: choose some of them"),
            Self::LinkOpen(id) => {
                write!(f, "the types open for control {id} link to others in unlike ways: choose its type")
            }
            Self::Circuit(what) => write!(f, "the circuit could not be solved: {what}"),
        }
    }
}
