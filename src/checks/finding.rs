//! One finding.

use crate::job::Subject;
use serde::{Serialize, Serializer};
use std::fmt;

/// How bad it is, worst first.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Severity {
    /// It must not be built like that.
    Error,
    /// It needs a look before it is built.
    Warning,
    /// It could be better.
    Advice,
}

impl Severity {
    /// The severity as a word.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Error => "error",
            Self::Warning => "warning",
            Self::Advice => "advice",
        }
    }
}

impl Serialize for Severity {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.serialize_str(self.word())
    }
}

/// Where a limit comes from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Source {
    /// A standard, with edition and place.
    Standard(&'static str),
    /// A setting of the job.
    Setting(&'static str),
    /// An entry of the job's catalogue.
    Catalogue(&'static str),
    /// How it is usually done.
    CommonPractice,
    /// It follows from what is drawn, with no limit in between.
    Network,
}

impl fmt::Display for Source {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Standard(place) => f.write_str(place),
            Self::Setting(name) => write!(f, "job setting {name}"),
            Self::Catalogue(name) => write!(f, "catalogue, {name}"),
            Self::CommonPractice => f.write_str("common practice, no source"),
            Self::Network => f.write_str("the network as drawn"),
        }
    }
}

/// The unit of a figure and its limit.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[expect(missing_docs, reason = "each is the unit it is called")]
pub enum Unit {
    Volts,
    Amps,
    Watts,
    Percent,
    Feet,
    Count,
    None,
}

impl Unit {
    /// The unit's symbol.
    pub const fn symbol(self) -> &'static str {
        match self {
            Self::Volts => "V",
            Self::Amps => "A",
            Self::Watts => "W",
            Self::Percent => "%",
            Self::Feet => "ft",
            Self::Count | Self::None => "",
        }
    }
}

/// Something that is wrong.
#[derive(Debug, Clone, PartialEq)]
pub struct Finding {
    /// The check's stable code.
    pub code: &'static str,
    /// How bad it is.
    pub severity: Severity,
    /// What it is about.
    pub subject: Subject,
    /// What is wrong, in a sentence that stands alone.
    pub what: String,
    /// The figure found.
    pub found: Option<f64>,
    /// Its limit.
    pub limit: Option<f64>,
    /// The unit of both.
    pub unit: Unit,
    /// Where the limit comes from.
    pub source: Source,
    /// What to do about it.
    pub remedy: String,
}

impl Finding {
    /// A finding without figures, about the way things are tied together.
    pub(super) fn plain(
        code: &'static str,
        severity: Severity,
        subject: Subject,
        what: String,
        source: Source,
        remedy: impl Into<String>,
    ) -> Self {
        let remedy = remedy.into();
        Self { code, severity, subject, what, found: None, limit: None, unit: Unit::None, source, remedy }
    }

    /// Adds the figure found and its limit.
    pub(super) fn figures(mut self, found: f64, limit: f64, unit: Unit) -> Self {
        (self.found, self.limit, self.unit) = (Some(found), Some(limit), unit);
        self
    }
}

/// Rounded up to the tenth, to the safe side: what has to go.
pub(super) fn up(value: f64) -> f64 {
    (value * 10.0).ceil() / 10.0
}
