//! One finding.

use crate::format::{Quantity, machine};
use crate::job::{Accepted, Subject};
use crate::study::{Pick, Range, in_words};
use serde::{Serialize, Serializer};

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

/// The unit of a figure and its limit.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[expect(missing_docs, reason = "each is the unit it is called")]
pub enum Unit {
    Volts,
    Amps,
    Watts,
    Percent,
    Feet,
    CubicInches,
    Lux,
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
            Self::CubicInches => "in3",
            Self::Lux => "lx",
            Self::Count | Self::None => "",
        }
    }

    const fn quantity(self) -> Quantity {
        match self {
            Self::Volts => Quantity::Volts,
            Self::Amps => Quantity::Amps,
            Self::Watts => Quantity::Watts,
            Self::Percent => Quantity::Percent,
            Self::Feet => Quantity::Feet,
            Self::CubicInches => Quantity::CubicInches,
            Self::Lux => Quantity::Lux,
            Self::Count | Self::None => Quantity::Count,
        }
    }

    /// A figure in this unit as people read it.
    pub fn shown(self, figure: Option<f64>) -> String {
        self.quantity().shown(figure)
    }

    /// Two figures, told apart: with more decimals where those that are shown are alike and they are not.
    fn bare_apart(self, one: f64, other: f64) -> [String; 2] {
        let both = [one, other].map(Some);
        let shown = both.map(|figure| self.bare(figure));
        let same = shown[0] == shown[1] && one.total_cmp(&other).is_ne();
        if same { both.map(machine) } else { shown }
    }

    /// The same with the unit's symbol.
    pub(super) fn apart(self, one: f64, other: f64) -> [String; 2] {
        self.bare_apart(one, other).map(|figure| format!("{figure} {}", self.symbol()).trim_end().to_owned())
    }

    /// The same without the unit's symbol.
    pub fn bare(self, figure: Option<f64>) -> String {
        self.quantity().bare(figure)
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
    /// The thing that several findings of one cause share, like the loop of its fixtures; else the subject itself.
    pub cause: Subject,
    /// What is wrong, in a sentence that stands alone.
    pub what: String,
    /// The figure found.
    pub found: Option<f64>,
    /// Its limit.
    pub limit: Option<f64>,
    /// The unit of both.
    pub unit: Unit,
    /// Where the limit comes from: a standard with edition and place, a job setting, the catalogue, or common practice.
    pub source: String,
    /// What to do about it in general; the wing `remedy` tries out what helps here.
    pub remedy: String,
    /// The open choice with which it is so, where something is open.
    pub choice: Vec<Pick>,
    /// Who accepted it as it is, and why.
    pub accepted: Option<Accepted>,
}

impl Finding {
    /// Adds the figure found and its limit.
    pub(super) fn figures(mut self, found: f64, limit: f64, unit: Unit) -> Self {
        (self.found, self.limit, self.unit) = (Some(found), Some(limit), unit);
        self
    }

    /// Adds counts: found, and the most there may be.
    #[expect(clippy::cast_precision_loss, reason = "counts of things in a house are small")]
    pub(super) fn counts(self, found: usize, limit: usize) -> Self {
        self.figures(found as f64, limit as f64, Unit::Count)
    }

    /// Says with which open choice it is so.
    pub(super) fn with(mut self, choice: &[Pick]) -> Self {
        if !choice.is_empty() {
            self.what = format!("{}, with {}", self.what, in_words(choice));
            self.choice = choice.to_vec();
        }
        self
    }

    /// Says with which open choice a figure is at its unfavourable end.
    pub(super) fn over(self, range: Option<&Range>, least_is_worst: bool) -> Self {
        match range {
            Some(range) if !range.exact => {
                Self { what: format!("{} at most: too many choices are open to try each", self.what), ..self }
            }
            Some(range) if least_is_worst => self.with(&range.least_choice),
            Some(range) => self.with(&range.most_choice),
            None => self,
        }
    }

    /// Gives it another severity than its check's.
    pub(super) fn rated(mut self, severity: Severity) -> Self {
        self.severity = severity;
        self
    }

    /// Says what it shares with others of the same cause.
    pub(super) fn caused_by(mut self, cause: Subject) -> Self {
        self.cause = cause;
        self
    }

    /// Whether it is an error that nobody accepted.
    pub fn fails(&self) -> bool {
        self.severity == Severity::Error && self.accepted.is_none()
    }

    /// The figure found and its limit as people read them, without their unit; none where the finding has none. What is
    /// over its limit by less than is shown does not look as if it were within it.
    pub fn figures_shown(&self) -> Option<[String; 2]> {
        Some(self.unit.bare_apart(self.found?, self.limit?))
    }

    /// How far the figure is beyond its limit, in shares of the limit; 0 where there is none.
    pub fn excess(&self) -> f64 {
        match (self.found, self.limit) {
            (Some(found), Some(limit)) if limit != 0.0 => ((found - limit) / limit).abs(),
            (Some(found), Some(_)) => found.abs(),
            _ => 0.0,
        }
    }
}

/// Rounded up to the tenth, to the safe side: what has to go.
pub(super) fn up(value: f64) -> f64 {
    // A hair above a tenth is that tenth: 1.1 - 1.0 is no 0.2.
    (value * 10.0 - 1e-9).ceil() / 10.0
}
