//! Areas, volumes and illuminances, written with their unit and kept in it.

use serde::{Deserialize, Deserializer, Serialize, Serializer, de};
use std::fmt;

/// A measure that could not be read.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("'{text}' is no {what}: write it like {like}")]
pub struct BadMeasure {
    what: &'static str,
    like: &'static str,
    text: String,
}

macro_rules! measure {
    ($(#[$doc:meta])* $name:ident, $unit:ident, $what:literal, $like:literal,
     $($variant:ident = $word:literal, $per:expr, $vdoc:literal;)+) => {
        #[doc = concat!("The unit in which ", $what, " is written.")]
        #[derive(Debug, Clone, Copy, PartialEq, Eq)]
        pub enum $unit {
            $(#[doc = $vdoc] $variant,)+
        }

        $(#[$doc])*
        #[derive(Debug, Clone, Copy, PartialEq)]
        pub struct $name {
            value: f64,
            unit: $unit,
        }

        impl $name {
            /// Takes a figure in a unit, if it is above zero and no more than a thousand million.
            pub fn new(value: f64, unit: $unit) -> Option<Self> {
                (value.is_finite() && value > 0.0 && value <= 1e9).then_some(Self { value, unit })
            }

            /// The measure in SI units (m², m³, kg or lx).
            pub fn si(self) -> f64 {
                match self.unit { $($unit::$variant => self.value * $per,)+ }
            }

            /// The figure as written, in its own unit.
            pub const fn value(self) -> f64 {
                self.value
            }
        }

        impl std::str::FromStr for $name {
            type Err = BadMeasure;
            fn from_str(text: &str) -> Result<Self, BadMeasure> {
                let bad = || BadMeasure { what: $what, like: $like, text: text.to_owned() };
                let trimmed = text.trim();
                let digits = trimmed.find(|c: char| !c.is_ascii_digit() && c != '.').unwrap_or(trimmed.len());
                let (number, unit) = trimmed.split_at(digits);
                let unit = match unit.trim() { $($word => $unit::$variant,)+ _ => return Err(bad()) };
                let value: f64 = number.parse().map_err(|_| bad())?;
                Self::new(value, unit).ok_or_else(bad)
            }
        }

        impl fmt::Display for $name {
            fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                let unit = match self.unit { $($unit::$variant => $word,)+ };
                write!(f, "{} {unit}", self.value)
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

/// Square metres in a square foot: 0.3048² exactly.
const SQUARE_FOOT: f64 = 0.092_903_04;
/// Cubic metres in a cubic inch: 0.0254³ exactly.
const CUBIC_INCH: f64 = 0.000_016_387_064;
/// Kilograms in a pound: international yard and pound agreement, 1959, exactly.
const POUND: f64 = 0.453_592_37;
/// Lux in a footcandle: lumens on a square foot, by the square metre.
const FOOTCANDLE: f64 = 1.0 / SQUARE_FOOT;

measure!(
    /// The area of a room, above zero.
    Area, AreaUnit, "area", "160 ft2 or 15 m2",
    SquareFeet = "ft2", SQUARE_FOOT, "Square feet.";
    SquareMetres = "m2", 1.0, "Square metres.";
);
measure!(
    /// The volume of a box, above zero.
    Volume, VolumeUnit, "volume", "20.3 in3 or 330 cm3",
    CubicInches = "in3", CUBIC_INCH, "Cubic inches.";
    CubicCentimetres = "cm3", 1e-6, "Cubic centimetres.";
);
measure!(
    /// What a fixture weighs or a box bears, above zero.
    Mass, MassUnit, "weight", "35 lb or 16 kg",
    Pounds = "lb", POUND, "Pounds.";
    Kilograms = "kg", 1.0, "Kilograms.";
);
measure!(
    /// Light that is wished for on a plane, above zero.
    Illuminance, IlluminanceUnit, "illuminance", "100 lx or 10 fc",
    Lux = "lx", 1.0, "Lux.";
    Footcandles = "fc", FOOTCANDLE, "Footcandles.";
);

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn areas_and_volumes_keep_their_unit() {
        assert_eq!("160 ft2".parse::<Area>().map(|a| a.to_string()), Ok("160 ft2".into()));
        assert!("160 ft2".parse::<Area>().is_ok_and(|a| (a.si() - 14.864_486_4).abs() < 1e-9));
        // NEC table 314.16(A) prints 12.5 in3 as 205 cm3.
        assert!("12.5 in3".parse::<Volume>().is_ok_and(|v| (v.si() * 1e6 - 205.0).abs() < 0.5));
        // 1 fc = 10.76 lx: IES Lighting Handbook, conversion of illuminance units.
        assert!("10 fc".parse::<Illuminance>().is_ok_and(|e| (e.si() - 107.6).abs() < 0.05));
        for bad in ["160", "0 ft2", "-1 m2", "inf ft2", "1 acre", ""] {
            assert!(bad.parse::<Area>().is_err(), "{bad}");
        }
    }
}
