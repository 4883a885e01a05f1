//! Lengths as people on site write them, kept exactly.

use serde::{Deserialize, Deserializer, Serialize, Serializer, de};
use std::fmt;

/// Ticks of 100 nm in one inch (25.4 mm exactly), one foot, one metre.
const INCH: i64 = 254_000;
const FOOT: i64 = 12 * INCH;
const METRE: i64 = 10_000_000;
/// Nothing in a house is longer than this: 100 km.
const LONGEST: i64 = 100_000 * METRE;

/// The unit a length is shown in.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
pub enum LengthUnit {
    /// Feet and inches.
    #[default]
    Feet,
    /// Metres.
    Metres,
}

/// How a length was written, so that it is saved as its writer typed it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum LengthForm {
    /// `62'6` or `62'6 1/2`.
    FeetInches,
    /// `75 in`, with so many decimals.
    Inches(u8),
    /// `62.5 ft`, with so many decimals.
    Feet(u8),
    /// `19.2 m`, with so many decimals.
    Metres(u8),
    /// `1920 cm`, with so many decimals.
    Centimetres(u8),
    /// `19200 mm`, with so many decimals.
    Millimetres(u8),
}

/// A length in whole ticks of 100 nm, zero or more, with the form in which it was written.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Length {
    ticks: i64,
    form: LengthForm,
}

/// A length that could not be read.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("'{text}' is no length: {why}; write it like 62'6, 62.5 ft or 19.2 m")]
pub struct BadLength {
    /// What was written.
    pub text: String,
    /// What is wrong with it.
    pub why: &'static str,
}

impl Length {
    /// Nothing.
    pub const ZERO: Self = Self { ticks: 0, form: LengthForm::FeetInches };

    /// A computed length, in ticks of 100 nm, to be written in the given unit; negative counts as nothing.
    pub const fn from_ticks(ticks: i64, unit: LengthUnit) -> Self {
        let form = match unit {
            LengthUnit::Feet => LengthForm::FeetInches,
            LengthUnit::Metres => LengthForm::Metres(2),
        };
        Self { ticks: if ticks < 0 { 0 } else { ticks }, form }
    }

    /// The length and so many ticks more or less, written as it was where that is exact; none below nothing or beyond
    /// what a house can hold.
    pub fn shifted(self, by: i64) -> Option<Self> {
        let ticks = self.ticks.checked_add(by).filter(|ticks| (0..=LONGEST).contains(ticks))?;
        let exact =
            |length: &Self| Self::parse(&length.written(), None).is_ok_and(|read| read.ticks == ticks);
        // A tick is 0.0001 mm, so that the last form is always exact.
        let forms = [self.form, LengthForm::FeetInches, LengthForm::Millimetres(4)];
        forms.map(|form| Self { ticks, form }).into_iter().find(exact)
    }

    /// Whole ticks of 100 nm.
    pub const fn ticks(self) -> i64 {
        self.ticks
    }

    /// Feet, for figures and JSON.
    #[expect(clippy::cast_precision_loss, reason = "lengths stay far below 2^53 ticks")]
    pub fn feet(self) -> f64 {
        self.ticks as f64 / FOOT as f64
    }

    /// Metres.
    #[expect(clippy::cast_precision_loss, reason = "lengths stay far below 2^53 ticks")]
    pub fn metres(self) -> f64 {
        self.ticks as f64 / METRE as f64
    }

    /// Rounds up to a whole inch or centimetre, whichever the unit calls for.
    pub const fn round_up(ticks: i64, unit: LengthUnit) -> Self {
        let step = match unit {
            LengthUnit::Feet => INCH,
            LengthUnit::Metres => METRE / 100,
        };
        Self::from_ticks((ticks + step - 1) / step * step, unit)
    }

    /// Reads a length; a bare number is taken in `bare` if that is given.
    ///
    /// # Errors
    /// [`BadLength`] when the text is no length, negative, or longer than 100 km.
    pub fn parse(text: &str, bare: Option<LengthUnit>) -> Result<Self, BadLength> {
        let bad = |why| BadLength { text: text.to_owned(), why };
        let trimmed = text.trim();
        if trimmed.is_empty() {
            return Err(bad("it is empty"));
        }
        if trimmed.starts_with('-') {
            return Err(bad("it is negative"));
        }
        if let Some((feet, inches)) = split_feet(trimmed) {
            return feet_inches(feet, inches).map_err(bad);
        }
        let digits = trimmed.find(|c: char| !c.is_ascii_digit() && c != '.').unwrap_or(trimmed.len());
        let (number, unit) = trimmed.split_at(digits);
        let (per, form): (i64, fn(u8) -> LengthForm) = match unit.trim() {
            "ft" | "feet" | "foot" => (FOOT, LengthForm::Feet),
            "in" | "\"" | "inch" | "inches" => (INCH, LengthForm::Inches),
            "m" => (METRE, LengthForm::Metres),
            "cm" => (METRE / 100, LengthForm::Centimetres),
            "mm" => (METRE / 1000, LengthForm::Millimetres),
            "" => match bare {
                Some(LengthUnit::Feet) => (FOOT, LengthForm::Feet),
                Some(LengthUnit::Metres) => (METRE, LengthForm::Metres),
                None => return Err(bad("it has no unit")),
            },
            _ => return Err(bad("its unit is not known")),
        };
        let (ticks, decimals) = decimal(number, per).map_err(bad)?;
        Ok(Self { ticks, form: form(decimals) })
    }

    /// The length as it is saved, in the form it was written.
    pub fn written(self) -> String {
        let with =
            |per: i64, decimals: u8, unit: &str| format!("{} {unit}", as_decimal(self.ticks, per, decimals));
        match self.form {
            LengthForm::FeetInches => self.feet_and_inches(),
            LengthForm::Inches(d) => with(INCH, d, "in"),
            LengthForm::Feet(d) => with(FOOT, d, "ft"),
            LengthForm::Metres(d) => with(METRE, d, "m"),
            LengthForm::Centimetres(d) => with(METRE / 100, d, "cm"),
            LengthForm::Millimetres(d) => with(METRE / 1000, d, "mm"),
        }
    }

    /// The length for reading, in the job's unit: feet and inches to the nearest 1/16, or metres to the centimetre.
    pub fn shown(self, unit: LengthUnit) -> String {
        match unit {
            LengthUnit::Feet => self.feet_and_inches(),
            LengthUnit::Metres => format!("{} m", as_decimal(self.ticks, METRE, 2)),
        }
    }

    /// A thickness or a projection for reading: below a foot in inches to the nearest 1/16, in metric in millimetres to
    /// the tenth.
    pub fn shown_small(self, unit: LengthUnit) -> String {
        match unit {
            LengthUnit::Feet if self.ticks < FOOT => {
                let inches = self.feet_and_inches();
                let inches = inches.strip_prefix("0'").unwrap_or(&inches);
                format!("{} in", inches.strip_prefix("0 ").unwrap_or(inches))
            }
            LengthUnit::Feet => self.feet_and_inches(),
            LengthUnit::Metres => {
                let tenths = (self.ticks + METRE / 20_000) / (METRE / 10_000);
                match tenths % 10 {
                    0 => format!("{} mm", tenths / 10),
                    part => format!("{}.{part} mm", tenths / 10),
                }
            }
        }
    }

    fn feet_and_inches(self) -> String {
        let sixteenths = (self.ticks * 16 + INCH / 2) / INCH;
        let (inches, part) = (sixteenths / 16, sixteenths % 16);
        let (feet, inches) = (inches / 12, inches % 12);
        if part == 0 {
            return format!("{feet}'{inches}");
        }
        let halvings = part.trailing_zeros();
        format!("{feet}'{inches} {}/{}", part >> halvings, 16 >> halvings)
    }
}

/// Splits at the foot mark, or at `ft` where inches follow it.
fn split_feet(text: &str) -> Option<(&str, &str)> {
    for mark in ["'", "\u{2032}", "\u{2019}"] {
        if let Some(parts) = text.split_once(mark) {
            return Some(parts);
        }
    }
    let (feet, rest) = text.split_once("ft").or_else(|| text.split_once("feet"))?;
    rest.chars().any(|c| c.is_ascii_digit()).then_some((feet, rest))
}

fn feet_inches(feet: &str, inches: &str) -> Result<Length, &'static str> {
    let feet: i64 = feet.trim().parse().map_err(|_| "its feet are no whole number")?;
    let inches =
        inches.trim().trim_end_matches("in").trim_end_matches(['"', '\u{2033}', '\u{201d}', '\'']).trim();
    let inches = inches.trim_start_matches('-').trim();
    let mut ticks =
        feet.checked_mul(FOOT).filter(|t| (0..=LONGEST).contains(t)).ok_or("it is out of range")?;
    let mut form = LengthForm::FeetInches;
    if !inches.is_empty() {
        let (whole, fraction) = match inches.split_once(' ') {
            Some((whole, fraction)) => (whole, Some(fraction.trim())),
            None if inches.contains('/') => ("0", Some(inches)),
            None => (inches, None),
        };
        let (whole_ticks, decimals) = decimal(whole, INCH)?;
        ticks += whole_ticks;
        if whole_ticks >= FOOT {
            return Err("its inches come to a foot or more");
        }
        if let Some(fraction) = fraction {
            let (top, bottom) = fraction.split_once('/').ok_or("its inches are no number")?;
            let top: i64 = top.trim().parse().map_err(|_| "its fraction is no number")?;
            let bottom: i64 = bottom.trim().parse().map_err(|_| "its fraction is no number")?;
            if decimals > 0 || !matches!(bottom, 2 | 4 | 8 | 16) || !(0..bottom).contains(&top) {
                return Err("its fraction is not in halves, quarters, eighths or sixteenths");
            }
            ticks += top * (INCH / 16) * (16 / bottom);
        } else if decimals > 0 && ticks % (INCH / 16) != 0 {
            // Not a sixteenth: feet and inches could not show it, so it is kept as decimal inches.
            form = LengthForm::Inches(decimals);
        }
    }
    Ok(Length { ticks, form })
}

/// Reads a decimal number times `per` ticks, rounded to the nearest tick, with its count of decimals.
fn decimal(text: &str, per: i64) -> Result<(i64, u8), &'static str> {
    let (whole, part) = text.split_once('.').unwrap_or((text, ""));
    if whole.is_empty() && part.is_empty() {
        return Err("it has no number");
    }
    if part.len() > 6 {
        return Err("it has more than six decimals");
    }
    if !whole.chars().chain(part.chars()).all(|c| c.is_ascii_digit()) {
        return Err("it is no number");
    }
    let whole: i64 = if whole.is_empty() { 0 } else { whole.parse().map_err(|_| "it is out of range")? };
    let decimals = u8::try_from(part.len()).unwrap_or(6);
    let scale = 10_i64.pow(u32::from(decimals));
    let part: i64 = if part.is_empty() { 0 } else { part.parse().map_err(|_| "it is no number")? };
    let ticks = i128::from(whole) * i128::from(per)
        + (i128::from(part) * i128::from(per) + i128::from(scale / 2)) / i128::from(scale);
    match i64::try_from(ticks) {
        Ok(ticks) if ticks <= LONGEST => Ok((ticks, decimals)),
        _ => Err("it is out of range"),
    }
}

fn as_decimal(ticks: i64, per: i64, decimals: u8) -> String {
    let scale = 10_i128.pow(u32::from(decimals));
    let scaled = (i128::from(ticks) * scale + i128::from(per) / 2) / i128::from(per);
    if decimals == 0 {
        return scaled.to_string();
    }
    format!("{}.{:0width$}", scaled / scale, scaled % scale, width = usize::from(decimals))
}

impl fmt::Display for Length {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.written())
    }
}

impl Serialize for Length {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.serialize_str(&self.written())
    }
}

impl<'de> Deserialize<'de> for Length {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        let text = String::deserialize(deserializer)?;
        Self::parse(&text, None).map_err(de::Error::custom)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn ticks(text: &str) -> i64 {
        Length::parse(text, None).map_or(-1, Length::ticks)
    }

    #[test]
    fn the_ways_people_write_a_length() {
        // 1 in = 25.4 mm exactly: international yard and pound agreement, 1959.
        assert_eq!(ticks("62'6\""), 62 * FOOT + 6 * INCH);
        for same in
            ["62'6", "62' 6\"", "62' 6in", "62ft 6in", "62.5 ft", "62.5ft", "750 in", "62'-6\"", "62.500 ft"]
        {
            assert_eq!(ticks(same), ticks("62'6\""), "{same}");
        }
        assert_eq!(ticks("19.2 m"), 192_000_000);
        assert_eq!(ticks("1920cm"), ticks("19200 mm"));
        assert_eq!(ticks("0'7 1/2"), 15 * INCH / 2);
        assert_eq!(Length::parse("62.5", Some(LengthUnit::Feet)).map(Length::written), Ok("62.5 ft".into()));
    }

    #[test]
    fn what_is_no_length_says_why() {
        for (text, why) in [
            ("62.5", "no unit"),
            ("-3 ft", "negative"),
            ("", "empty"),
            ("3 yd", "unit is not known"),
            ("4'13", "a foot or more"),
            ("999999999 m", "out of range"),
            ("4'3 1/3", "fraction"),
            ("NaN", "unit is not known"),
        ] {
            let said = Length::parse(text, None).map_err(|e| e.to_string());
            assert!(said.as_ref().is_err_and(|e| e.contains(why)), "{text}: {said:?}");
        }
    }

    #[test]
    fn estimates_round_up_once() {
        assert_eq!(Length::round_up(1, LengthUnit::Feet).written(), "0'1");
        assert_eq!(Length::round_up(FOOT, LengthUnit::Feet).written(), "1'0");
        assert_eq!(Length::round_up(METRE + 1, LengthUnit::Metres).written(), "1.01 m");
    }

    proptest! {
        #[test]
        fn a_length_is_saved_as_typed(whole in 0..9999_i64, part in 0..1000_i64, unit in 0..5_usize) {
            let unit = ["ft", "in", "m", "cm", "mm"][unit];
            let text = format!("{whole}.{part:03} {unit}");
            let length = Length::parse(&text, None).map_err(|e| TestCaseError::fail(e.to_string()))?;
            prop_assert_eq!(length.written(), text);
        }

        #[test]
        fn any_length_reads_back_the_same(ticks in 0..LONGEST, metric: bool) {
            let unit = if metric { LengthUnit::Metres } else { LengthUnit::Feet };
            let length = Length::round_up(ticks, unit);
            prop_assert!(length.ticks() >= ticks);
            prop_assert_eq!(Length::parse(&length.written(), None), Ok(length));
        }

        #[test]
        fn a_length_is_shifted_exactly(ticks in 0..METRE * 100, by in -METRE * 100..METRE * 100, metric: bool) {
            let unit = if metric { LengthUnit::Metres } else { LengthUnit::Feet };
            let length = Length::round_up(ticks, unit);
            let shifted = length.shifted(by);
            prop_assert_eq!(shifted.is_some(), length.ticks() + by >= 0);
            if let Some(shifted) = shifted {
                prop_assert_eq!(shifted.ticks(), length.ticks() + by);
                prop_assert_eq!(Length::parse(&shifted.written(), None), Ok(shifted));
            }
        }

        #[test]
        fn no_text_panics(text in "\\PC{0,12}") {
            let _ = Length::parse(&text, Some(LengthUnit::Feet));
        }
    }
}
