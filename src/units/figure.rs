//! Single figures with one fixed unit; the job-file field that holds one carries the unit in its name.

use rust_decimal::Decimal;
use serde::{Deserialize, Deserializer, Serialize, Serializer, de};
use std::fmt;

/// A figure that cannot be what it is said to be.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[error("{what} must be {want}, not {got}")]
pub struct BadFigure {
    /// The quantity, as a person calls it.
    pub what: &'static str,
    /// The range that is allowed, in words.
    pub want: &'static str,
    /// What was given.
    pub got: String,
}

/// Writes whole values without a decimal point, as people do.
fn write_number<S: Serializer>(value: f64, serializer: S) -> Result<S::Ok, S::Error> {
    #[expect(clippy::cast_possible_truncation, reason = "checked to be whole and far below 2^53")]
    if value.fract() == 0.0 && value.abs() < 1e9 {
        serializer.serialize_i64(value as i64)
    } else {
        serializer.serialize_f64(value)
    }
}

macro_rules! figure {
    ($(#[$doc:meta])* $name:ident, $what:literal, $want:literal, $ok:expr) => {
        $(#[$doc])*
        #[derive(Debug, Clone, Copy, PartialEq, PartialOrd)]
        pub struct $name(f64);

        impl $name {
            /// Takes the figure if it lies in the type's range.
            ///
            /// # Errors
            /// [`BadFigure`] when it is not finite or out of range.
            pub fn new(value: f64) -> Result<Self, BadFigure> {
                let in_range: fn(f64) -> bool = $ok;
                if value.is_finite() && in_range(value) {
                    Ok(Self(value))
                } else {
                    Err(BadFigure { what: $what, want: $want, got: value.to_string() })
                }
            }

            /// The bare figure, in the unit the type is named for.
            pub const fn get(self) -> f64 {
                self.0
            }
        }

        impl fmt::Display for $name {
            fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                write!(f, "{}", self.0)
            }
        }

        impl std::str::FromStr for $name {
            type Err = BadFigure;
            fn from_str(text: &str) -> Result<Self, BadFigure> {
                let bad = || BadFigure { what: $what, want: $want, got: format!("'{text}'") };
                text.trim().parse::<f64>().map_err(|_| bad()).and_then(Self::new)
            }
        }

        impl Serialize for $name {
            fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
                write_number(self.0, serializer)
            }
        }

        impl<'de> Deserialize<'de> for $name {
            fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
                Self::new(f64::deserialize(deserializer)?).map_err(de::Error::custom)
            }
        }
    };
}

figure!(
    /// Watts, above zero and at most 100 kW.
    Watts, "watts", "above 0 and at most 100000", |v| v > 0.0 && v <= 100_000.0
);
figure!(
    /// Watts that may be nothing at all: a control's own draw, a supply's idle draw.
    WattsOrNone, "watts", "0 or more and at most 100000", |v| (0.0..=100_000.0).contains(&v)
);
figure!(
    /// Volts, above zero and at most 1000.
    Volts, "volts", "above 0 and at most 1000", |v| v > 0.0 && v <= 1000.0
);
figure!(
    /// Ohms, above zero and at most a million: the last digit of a meter, its leads, a test load.
    Ohms, "ohms", "above 0 and at most 1000000", |v| v > 0.0 && v <= 1_000_000.0
);
figure!(
    /// Amps, above zero and at most 1000.
    Amps, "amps", "above 0 and at most 1000", |v| v > 0.0 && v <= 1000.0
);
figure!(
    /// Lumens, above zero and at most a million.
    Lumens, "lumens", "above 0 and at most 1000000", |v| v > 0.0 && v <= 1_000_000.0
);
figure!(
    /// A temperature in degrees Celsius at which conductors are reckoned, -40 to 200.
    Celsius, "degrees Celsius", "from -40 to 200", |v| (-40.0..=200.0).contains(&v)
);
figure!(
    /// A share of a whole in percent, above 0 and at most 100: an efficiency, a target load.
    Share, "percent", "above 0 and at most 100", |v| v > 0.0 && v <= 100.0
);
figure!(
    /// A surcharge in percent, 0 to 1000: a routing allowance, a waste.
    Percent, "percent", "0 or more and at most 1000", |v| (0.0..=1000.0).contains(&v)
);
figure!(
    /// The power factor of a load on AC, above 0 and at most 1.
    PowerFactor, "power factor", "above 0 and at most 1", |v| v > 0.0 && v <= 1.0
);

figure!(
    /// A factor that only takes away, above 0 and at most 1: a utilization, a light loss.
    Factor, "the factor", "above 0 and at most 1", |v| v > 0.0 && v <= 1.0
);

figure!(
    /// A spacing over a mounting height, above 0 and at most 5.
    SpacingRatio, "spacing over height", "above 0 and at most 5", |v| v > 0.0 && v <= 5.0
);

/// An amount of money, exact to the decimal, in whatever currency the firm reckons.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub struct Money(Decimal);

impl Money {
    /// The exact amount.
    pub const fn amount(self) -> Decimal {
        self.0
    }
}

impl fmt::Display for Money {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}", self.0)
    }
}

impl std::str::FromStr for Money {
    type Err = BadFigure;
    fn from_str(text: &str) -> Result<Self, BadFigure> {
        let bad =
            || BadFigure { what: "a price", want: "0 or more, like \"184.50\"", got: format!("'{text}'") };
        let amount = Decimal::from_str_exact(text.trim()).map_err(|_| bad())?;
        if amount.is_sign_negative() && !amount.is_zero() {
            return Err(bad());
        }
        Ok(Self(amount))
    }
}

impl Serialize for Money {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_str(self)
    }
}

impl<'de> Deserialize<'de> for Money {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        String::deserialize(deserializer)?.parse().map_err(de::Error::custom)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn figures_refuse_what_cannot_be() {
        for bad in [0.0, -1.0, f64::NAN, f64::INFINITY, 1e9] {
            assert!(Watts::new(bad).is_err(), "{bad}");
        }
        assert!(WattsOrNone::new(0.0).is_ok());
        assert_eq!("6.5".parse::<Watts>().map(Watts::get), Ok(6.5));
        assert_eq!(
            "six".parse::<Watts>().map_err(|e| e.to_string()),
            Err("watts must be above 0 and at most 100000, not 'six'".into())
        );
    }

    #[test]
    fn money_keeps_its_cents() {
        assert_eq!("184.50".parse::<Money>().map(|m| m.to_string()), Ok("184.50".into()));
        assert!("-1".parse::<Money>().is_err());
    }
}
