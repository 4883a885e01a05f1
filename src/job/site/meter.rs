//! The meters a job is read with, and how far off they may be.

use crate::job::Id;
use crate::units::{Ohms, Percent};
use serde::{Deserialize, Serialize};

/// How far off a reading may be, as data sheets put it: so many percent of the reading and so many counts of the last
/// digit. Both are limits, not standard deviations.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Accuracy {
    /// Percent of the reading.
    pub percent: Percent,
    /// Counts of the last digit.
    pub counts: u8,
    /// The last digit's worth on the range that is used, in ohms, volts or amps.
    pub resolution: Ohms,
}

impl Accuracy {
    /// How far a reading may be from what is measured: the part in proportion to it, and the part that is not. A figure
    /// typed with fewer decimals than the meter shows was rounded by the one who read it.
    pub fn off(&self, reading: f64, typed_digit: f64) -> (f64, f64) {
        let digit = self.resolution.get().max(typed_digit);
        (
            self.percent.get() / 100.0 * reading.abs(),
            f64::from(self.counts) * self.resolution.get() + digit / 2.0,
        )
    }
}

/// A meter.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Meter {
    /// Its id.
    pub id: Id,
    /// What people call it.
    #[serde(default)]
    pub name: String,
    /// Its lowest range of ohms.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub ohms: Option<Accuracy>,
    /// The resistance of its leads, which is taken off every reading of ohms; left out where they are nulled.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub lead_ohms: Option<Ohms>,
    /// Its range of dc volts.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub volts: Option<Accuracy>,
    /// Its range of dc amps.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub amps: Option<Accuracy>,
}
