//! The identity of things: an id never changes, a name may.

use serde::{Deserialize, Deserializer, Serialize, Serializer, de};
use std::fmt;
use std::sync::Arc;

/// The longest id that is taken.
pub(super) const LONGEST: usize = 40;

/// An immutable id: letters, digits and `-`, unique within its kind whatever the case of its letters.
#[derive(Clone, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct Id(Arc<str>);

/// A text that cannot be an id.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("'{0}' is no id: use 1 to 40 letters, digits and '-', with no spaces")]
pub struct BadId(String);

impl Id {
    /// Takes a text as an id.
    ///
    /// # Errors
    /// [`BadId`] when it is empty, longer than 40, or holds anything but ASCII letters, digits and `-`.
    pub fn new(text: &str) -> Result<Self, BadId> {
        let fits = (1..=LONGEST).contains(&text.len());
        if fits && text.chars().all(|c| c.is_ascii_alphanumeric() || c == '-') {
            Ok(Self(text.into()))
        } else {
            Err(BadId(text.chars().take(LONGEST + 1).collect()))
        }
    }

    /// The id as text.
    pub fn as_str(&self) -> &str {
        &self.0
    }

    /// The form in which ids are compared: two ids that differ by case only are the same.
    pub fn folded(&self) -> String {
        self.0.to_ascii_lowercase()
    }

    /// Whether two ids are the same thing's.
    pub fn same(&self, other: &Self) -> bool {
        self.0.eq_ignore_ascii_case(&other.0)
    }
}

impl fmt::Display for Id {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(&self.0)
    }
}

impl fmt::Debug for Id {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.0)
    }
}

impl std::str::FromStr for Id {
    type Err = BadId;
    fn from_str(text: &str) -> Result<Self, BadId> {
        Self::new(text)
    }
}

impl Serialize for Id {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.serialize_str(&self.0)
    }
}

impl<'de> Deserialize<'de> for Id {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        Self::new(&String::deserialize(deserializer)?).map_err(de::Error::custom)
    }
}

/// The kinds of thing that have an id. Within one kind an id stands once.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize)]
pub enum Kind {
    /// A cable type of the catalogue.
    CableType,
    /// A conductor plan of the catalogue.
    ConductorPlan,
    /// A fixture type of the catalogue.
    FixtureType,
    /// A supply type of the catalogue.
    SupplyType,
    /// A control type of the catalogue.
    ControlType,
    /// A box type of the catalogue.
    BoxType,
    /// A small part of the catalogue.
    SmallPart,
    /// A meter of the catalogue.
    Meter,
    /// A level of the house.
    Level,
    /// A room.
    Room,
    /// A low-voltage panel.
    Panel,
    /// A supply in a panel.
    Supply,
    /// An output of a supply, `SUPPLY.N`.
    Output,
    /// A wall box.
    WallBox,
    /// A control in a wall box.
    Control,
    /// A cable: a home run, an onward feed, a loop or a control link.
    Cable,
    /// A ceiling box on a loop, whatever it holds.
    Fixture,
    /// A control group.
    Group,
    /// The heading of the job; there is one, with the id `project`.
    Project,
    /// The settings of the job; there is one, with the id `settings`.
    Settings,
    /// The estimate of the job; there is one, with the id `estimate`.
    Estimate,
    /// The job itself; there is one, with the id `job`.
    Job,
}

impl Kind {
    /// Several of the kind.
    pub fn plural(self) -> String {
        match self.word() {
            word if word.ends_with('x') => format!("{word}es"),
            word if word.ends_with('y') => format!("{}ies", word.trim_end_matches('y')),
            word => format!("{word}s"),
        }
    }

    /// The kind as a person calls it.
    pub const fn word(self) -> &'static str {
        match self {
            Self::CableType => "cable type",
            Self::ConductorPlan => "conductor plan",
            Self::FixtureType => "fixture type",
            Self::SupplyType => "supply type",
            Self::ControlType => "control type",
            Self::BoxType => "box type",
            Self::SmallPart => "small part",
            Self::Meter => "meter",
            Self::Level => "level",
            Self::Room => "room",
            Self::Panel => "panel",
            Self::Supply => "supply",
            Self::Output => "output",
            Self::WallBox => "wall box",
            Self::Control => "control",
            Self::Cable => "cable",
            Self::Fixture => "ceiling box",
            Self::Group => "control group",
            Self::Project => "project",
            Self::Settings => "settings",
            Self::Estimate => "estimate",
            Self::Job => "job",
        }
    }

    /// The kind in the name of a figure, `kind/id/key`.
    pub const fn key(self) -> &'static str {
        match self {
            Self::CableType => "cable-type",
            Self::ConductorPlan => "plan",
            Self::FixtureType => "fixture-type",
            Self::SupplyType => "supply-type",
            Self::ControlType => "control-type",
            Self::BoxType => "box-type",
            Self::SmallPart => "small-part",
            Self::WallBox => "box",
            Self::Fixture => "fixture",
            Self::Group => "group",
            other => other.word(),
        }
    }
}

/// One thing of a job, by kind and id.
#[derive(Debug, Clone, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize)]
pub struct Subject {
    /// What kind of thing.
    pub kind: Kind,
    /// Which one; for an output `SUPPLY.N`.
    pub id: String,
}

impl Subject {
    /// Names one thing.
    pub fn new(kind: Kind, id: impl fmt::Display) -> Self {
        Self { kind, id: id.to_string() }
    }
}

impl fmt::Display for Subject {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} {}", self.kind.word(), self.id)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ids_are_plain() {
        assert!(Id::new("K1-a").is_ok_and(|id| id.folded() == "k1-a"));
        for bad in ["", "a b", "é", "a.1", "a/b", &"x".repeat(41)] {
            assert!(Id::new(bad).is_err(), "{bad}");
        }
    }
}
