//! Decimal figures of an estimate, exact as typed: percents, hours, quantities.

use super::BadFigure;
use rust_decimal::{Decimal, RoundingStrategy};
use serde::{Deserialize, Deserializer, Serialize, Serializer, de};
use std::fmt;

macro_rules! exact {
    ($(#[$doc:meta])* $name:ident, $what:literal, $want:literal, $most:literal) => {
        $(#[$doc])*
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
        pub struct $name(Decimal);

        impl $name {
            /// Nothing.
            pub const ZERO: Self = Self(Decimal::ZERO);
            /// One.
            pub const ONE: Self = Self(Decimal::ONE);

            /// The exact figure.
            pub const fn get(self) -> Decimal {
                self.0
            }

            /// Whether it is nothing, which the file may leave out.
            pub fn is_zero(&self) -> bool {
                self.0.is_zero()
            }

            /// Whether it is one, which the file may leave out.
            pub fn is_one(&self) -> bool {
                self.0 == Decimal::ONE
            }
        }

        impl fmt::Display for $name {
            fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                self.0.fmt(f)
            }
        }

        impl std::str::FromStr for $name {
            type Err = BadFigure;
            fn from_str(text: &str) -> Result<Self, BadFigure> {
                let bad = || BadFigure { what: $what, want: $want, got: format!("'{text}'") };
                let value = Decimal::from_str_exact(text.trim()).map_err(|_| bad())?;
                // More places than six would only be noise, and could grow past what a decimal holds.
                let fits = value <= Decimal::from($most) && value.scale() <= 6;
                if (value.is_sign_negative() && !value.is_zero()) || !fits {
                    return Err(bad());
                }
                Ok(Self(value))
            }
        }

        impl Serialize for $name {
            fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
                serializer.collect_str(self)
            }
        }

        impl<'de> Deserialize<'de> for $name {
            fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
                String::deserialize(deserializer)?.parse().map_err(de::Error::custom)
            }
        }
    };
}

exact!(
    /// A percentage of money or of a quantity, 0 to 1000 with at most six decimals.
    Rate, "percent", "0 to 1000 with at most six decimals, like \"7.25\"", 1000_u32
);
exact!(
    /// Hours of one person's work, 0 to 10,000 with at most six decimals.
    Hours, "hours", "0 to 10000 with at most six decimals, like \"0.75\"", 10_000_u32
);
exact!(
    /// A quantity of pieces, 0 to a million with at most six decimals.
    Quantity, "a quantity", "0 to 1000000 with at most six decimals, like \"2\"", 1_000_000_u32
);

/// An amount rounded half up to whole cents: the one rounding of money.
pub fn to_cents(amount: Decimal) -> Decimal {
    let mut rounded = amount.round_dp_with_strategy(2, RoundingStrategy::MidpointAwayFromZero);
    rounded.rescale(2);
    rounded
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn percents_and_hours_are_kept_as_typed() {
        assert_eq!("7.25".parse::<Rate>().map(|rate| rate.to_string()), Ok("7.25".into()));
        assert_eq!("0.50".parse::<Hours>().map(|hours| hours.to_string()), Ok("0.50".into()));
        for bad in ["-1", "1000.1", "7.25 %", "", "NaN", "0.1234567"] {
            assert!(bad.parse::<Rate>().is_err(), "{bad}");
        }
    }

    #[test]
    fn half_a_cent_goes_up() {
        let cents = |text: &str| Decimal::from_str_exact(text).map(|amount| to_cents(amount).to_string());
        assert_eq!(cents("1.005"), Ok("1.01".into()));
        assert_eq!(cents("1.0049"), Ok("1.00".into()));
        assert_eq!(cents("3"), Ok("3.00".into()));
    }
}
