//! A reading: what was measured, the figure as it was typed, with which meter, how warm it was, and by whom.

use super::Done;
use crate::job::Id;
use std::fmt;
use std::str::FromStr;

/// An end of a cable. A home run starts in the panel; a loop starts at the control and ends at its last box, or back in
/// its wall box.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum End {
    /// Where it starts.
    Near,
    /// Where it ends.
    Far,
}

impl End {
    /// The other one.
    #[must_use]
    pub const fn other(self) -> Self {
        match self {
            Self::Near => Self::Far,
            Self::Far => Self::Near,
        }
    }
    /// What it is called.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Near => "near",
            Self::Far => "far",
        }
    }
}

/// A tail in a ceiling box.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Side {
    /// From the control.
    In,
    /// Onward.
    Out,
}

/// What was measured.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Test {
    /// One conductor by its mark, end to end, in ohms: `conductor red`.
    Conductor(String),
    /// The pair from one end, joined at the other or at a ceiling box, in ohms: `joined from near`, `joined at B3 from
    /// near`.
    Joined {
        /// Where it is joined, if not at the other end.
        at: Option<Id>,
        /// Where it is measured.
        from: End,
    },
    /// The pair from one end with nothing joined anywhere, in ohms: `across from near`.
    Across(End),
    /// Insulation between the conductors of the pair, in ohms: `insulation`.
    Insulation,
    /// Insulation from the conductors to ground, in ohms: `insulation to ground`.
    InsulationToGround,
    /// Volts at a box with the test load on there and nothing else on: `volts at B3`.
    Volts(Id),
    /// Volts of a battery at the near end, plus on plus, as they are found on a tail of a ceiling box: `battery at B3 in`.
    Battery(Id, Side),
    /// Volts at the near end of a home run with nothing on, minus where plus and minus are exchanged: `no-load volts`.
    NoLoadVolts,
    /// Amps of a home run with everything full: `amps full`.
    AmpsFull,
}

impl Test {
    /// The unit its figure is in.
    pub const fn unit(&self) -> &'static str {
        match self {
            Self::Volts(_) | Self::Battery(..) | Self::NoLoadVolts => "V",
            Self::AmpsFull => "A",
            _ => "ohm",
        }
    }
}

impl fmt::Display for Test {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Conductor(name) => write!(f, "conductor {name}"),
            Self::Joined { at: Some(at), from } => write!(f, "joined at {at} from {}", from.word()),
            Self::Joined { at: None, from } => write!(f, "joined from {}", from.word()),
            Self::Across(from) => write!(f, "across from {}", from.word()),
            Self::Insulation => f.write_str("insulation"),
            Self::InsulationToGround => f.write_str("insulation to ground"),
            Self::Volts(at) => write!(f, "volts at {at}"),
            Self::Battery(at, Side::In) => write!(f, "battery at {at} in"),
            Self::Battery(at, Side::Out) => write!(f, "battery at {at} out"),
            Self::NoLoadVolts => f.write_str("no-load volts"),
            Self::AmpsFull => f.write_str("amps full"),
        }
    }
}

impl FromStr for Test {
    type Err = String;
    fn from_str(text: &str) -> Result<Self, String> {
        let words: Vec<&str> = text.split_whitespace().collect();
        let id = |text: &str| Id::new(text).map_err(|bad| bad.to_string());
        let end = |word: &str| match word.to_lowercase().as_str() {
            "near" => Ok(End::Near),
            "far" => Ok(End::Far),
            _ => Err(format!("'{word}' is no end of a cable: write near or far")),
        };
        let side = |word: &str| match word.to_lowercase().as_str() {
            "in" => Ok(Side::In),
            "out" => Ok(Side::Out),
            _ => Err(format!("'{word}' is no tail in a box: write in or out")),
        };
        let lower: Vec<String> = words.iter().map(|word| word.to_lowercase()).collect();
        let lower: Vec<&str> = lower.iter().map(String::as_str).collect();
        match lower.as_slice() {
            ["conductor", _, ..] => Ok(Self::Conductor(words[1..].join(" "))),
            ["joined", "from", _] => Ok(Self::Joined { at: None, from: end(words[2])? }),
            ["joined", "at", _, "from", _] => {
                Ok(Self::Joined { at: Some(id(words[2])?), from: end(words[4])? })
            }
            ["across", "from", _] => Ok(Self::Across(end(words[2])?)),
            ["insulation"] => Ok(Self::Insulation),
            ["insulation", "to", "ground"] => Ok(Self::InsulationToGround),
            ["volts", "at", _] => Ok(Self::Volts(id(words[2])?)),
            ["battery", "at", _, _] => Ok(Self::Battery(id(words[2])?, side(words[3])?)),
            ["no-load", "volts"] => Ok(Self::NoLoadVolts),
            ["amps", "full"] => Ok(Self::AmpsFull),
            _ => Err(format!(
                "'{}' is no test: write conductor MARK, joined [at BOX] from near, across from near, insulation \
                 [to ground], volts at BOX, battery at BOX in, no-load volts, or amps full",
                text.trim()
            )),
        }
    }
}

/// What a figure says.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Read {
    /// So much, in the unit of the test.
    Value(f64),
    /// More than the meter can show, or more than a bound where one is given.
    Over(Option<f64>),
}

/// A figure as it was typed: `1.42`, `OL`, `>200M`, `0.8k`.
#[derive(Debug, Clone, PartialEq)]
pub struct Figure {
    text: String,
    read: Read,
    digit: f64,
}

impl Figure {
    /// What it says.
    pub const fn read(&self) -> Read {
        self.read
    }

    /// The value, where it has one.
    pub const fn value(&self) -> Option<f64> {
        match self.read {
            Read::Value(value) => Some(value),
            Read::Over(_) => None,
        }
    }

    /// Whether it is beyond what the meter shows.
    pub const fn is_over(&self) -> bool {
        matches!(self.read, Read::Over(_))
    }

    /// The worth of its last digit, in the unit of the test.
    pub const fn digit(&self) -> f64 {
        self.digit
    }
}

impl fmt::Display for Figure {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.text)
    }
}

impl FromStr for Figure {
    type Err = String;
    fn from_str(text: &str) -> Result<Self, String> {
        let text = text.trim();
        let bad = || format!("'{text}' is no figure: write it as the meter shows it, like 1.42, OL or >200M");
        if matches!(text.to_uppercase().as_str(), "OL" | "O.L" | "O.L." | "1." | "OVER") {
            return Ok(Self { text: text.to_owned(), read: Read::Over(None), digit: 0.0 });
        }
        let (over, rest) = match text.strip_prefix('>') {
            Some(rest) => (true, rest.trim()),
            None => (false, text),
        };
        let (number, scale) = match rest.char_indices().next_back() {
            Some((at, 'k' | 'K')) => (rest[..at].trim(), 1e3),
            Some((at, 'M')) => (rest[..at].trim(), 1e6),
            Some((at, 'G')) => (rest[..at].trim(), 1e9),
            _ => (rest, 1.0),
        };
        let plain = |c: char| c.is_ascii_digit() || c == '.';
        let bare = number.strip_prefix(['-', '+']).unwrap_or(number);
        if bare.is_empty() || bare.len() > 12 || !bare.chars().all(plain) {
            return Err(bad());
        }
        let value: f64 = number.parse().map_err(|_| bad())?;
        let value = value * scale;
        if !value.is_finite() {
            return Err(bad());
        }
        let decimals = bare.split_once('.').map_or(0, |(_, decimals)| decimals.len());
        let digit = scale / 10_f64.powi(i32::try_from(decimals).unwrap_or(12));
        let read = if over { Read::Over(Some(value)) } else { Read::Value(value) };
        Ok(Self { text: text.to_owned(), read, digit })
    }
}

/// A reading, as `conductor red: 1.42 with M1 at 21 C by 2026-03-09 MO`; all but test and figure may be left out.
#[derive(Debug, Clone, PartialEq)]
pub struct Reading {
    /// What was measured.
    pub test: Test,
    /// The figure as it was typed.
    pub figure: Figure,
    /// The meter.
    pub meter: Option<Id>,
    /// How warm the conductors were, in degrees Celsius.
    pub celsius: Option<f64>,
    /// When and by whom.
    pub by: Option<Done>,
}

impl Reading {
    /// A reading of which nothing more is known.
    pub const fn new(test: Test, figure: Figure) -> Self {
        Self { test, figure, meter: None, celsius: None, by: None }
    }
}

impl fmt::Display for Reading {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}: {}", self.test, self.figure)?;
        if let Some(meter) = &self.meter {
            write!(f, " with {meter}")?;
        }
        if let Some(celsius) = self.celsius {
            write!(f, " at {celsius} C")?;
        }
        match &self.by {
            Some(by) => write!(f, " by {by}"),
            None => Ok(()),
        }
    }
}

impl FromStr for Reading {
    type Err = String;
    fn from_str(text: &str) -> Result<Self, String> {
        let (what, said) = text.split_once(':').ok_or_else(|| {
            let typed = text.trim();
            format!(
                "'{typed}' is no reading: write the test, a colon and the figure, like conductor red: 1.42"
            )
        })?;
        let (rest, by) = match said.split_once(" by ") {
            Some((rest, by)) => (rest, Some(by.parse()?)),
            None => (said, None),
        };
        let (rest, celsius) = match rest.split_once(" at ") {
            Some((rest, warm)) => (rest, Some(celsius(warm)?)),
            None => (rest, None),
        };
        let (figure, meter) = match rest.split_once(" with ") {
            Some((figure, meter)) => (figure, Some(Id::new(meter.trim()).map_err(|bad| bad.to_string())?)),
            None => (rest, None),
        };
        Ok(Self { test: what.parse()?, figure: figure.parse()?, meter, celsius, by })
    }
}

/// A temperature as it is typed, `21` or `21 C` or `70 F`.
pub(in crate::job) fn celsius(text: &str) -> Result<f64, String> {
    let bad = || format!("'{}' is no temperature: write it like 21 C or 70 F", text.trim());
    let trimmed = text.trim();
    let fahrenheit = trimmed.ends_with(['F', 'f']);
    let number = trimmed.trim_end_matches(['C', 'c', 'F', 'f']).trim();
    let value: f64 = number.parse().map_err(|_| bad())?;
    let value = if fahrenheit { (value - 32.0) / 1.8 } else { value };
    // Tenths are more than anybody knows of a cable in a wall.
    let value = (value * 10.0).round() / 10.0;
    if value.is_finite() && (-40.0..=90.0).contains(&value) { Ok(value) } else { Err(bad()) }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn a_reading_is_kept_as_it_was_typed() {
        for text in [
            "conductor red: 1.42 with M1 at 21 C by 2026-03-09 MO",
            "conductor red: 1.420",
            "joined from far: OL",
            "joined at L-3 from near: 0.8 with pocket",
            "across from near: >20M",
            "insulation: 200M by MO",
            "insulation to ground: OL",
            "volts at L-3: 22.91 at 20.5 C",
            "battery at L-3 out: -8.9",
            "no-load volts: -24.1",
            "amps full: 2.31 by 2026-03-09",
        ] {
            assert_eq!(text.parse::<Reading>().map(|reading| reading.to_string()), Ok(text.to_owned()));
        }
        assert_eq!(
            "CONDUCTOR Red :1.4".parse::<Reading>().map(|r| r.to_string()),
            Ok("conductor Red: 1.4".into())
        );
        assert_eq!("amps full: 1 at 68 F".parse::<Reading>().map(|r| r.celsius), Ok(Some(20.0)));
    }

    #[test]
    fn what_is_no_reading_says_why() {
        for (text, why) in [
            ("red 1.42", "colon"),
            ("ring red: 1.42", "no test"),
            ("joined from here: 1", "near or far"),
            ("conductor red: low", "no figure"),
            ("conductor red: 1e9", "no figure"),
            ("conductor red: 1.4 at noon", "temperature"),
            ("conductor red: 1.4 with the meter", "no id"),
            ("volts at L 3: 4", "no test"),
        ] {
            let said = text.parse::<Reading>().map(|r| r.to_string());
            assert!(said.as_ref().is_err_and(|e| e.contains(why)), "{text}: {said:?}");
        }
    }

    #[test]
    fn a_figure_knows_its_last_digit() {
        let figure = |text: &str| text.parse::<Figure>().map(|f| (f.value(), f.digit()));
        assert_eq!(figure("1.42"), Ok((Some(1.42), 0.01)));
        assert_eq!(figure("2.0k"), Ok((Some(2000.0), 100.0)));
        assert_eq!(figure(">200M"), Ok((None, 1e6)));
    }

    proptest! {
        #[test]
        fn no_text_panics(text in "\\PC{0,30}") {
            let _ = text.parse::<Reading>();
            let _ = format!("conductor red: {text}").parse::<Reading>();
            let _ = text.parse::<super::super::Offset>();
            let _ = text.parse::<Done>();
        }
    }
}
