//! What happened on site: how far each cable and box is, who did it when, and what was read on a meter.
//!
//! A record stands with the thing it is about, so it comes and goes with it. Everything that is read aloud and typed is
//! one short line of text, in the file, in forms and in tables alike.

mod meter;
mod reading;
mod stage;

pub use meter::{Accuracy, Meter};
pub use reading::{End, Figure, Read, Reading, Side, Test};
pub use stage::{Done, Step, Steps};

use crate::units::Length;
use serde::{Deserialize, Deserializer, Serialize, Serializer, de};
use std::fmt;

/// What is known of a cable since it was pulled.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct CableRecord {
    /// How far it is.
    #[serde(skip_serializing_if = "Steps::is_default")]
    pub done: Steps,
    /// The foot mark on the jacket at the end it starts from.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub start_mark: Option<Length>,
    /// The foot mark at its other end.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub end_mark: Option<Length>,
    /// What else there is to say.
    #[serde(skip_serializing_if = "String::is_empty")]
    pub note: String,
}

impl CableRecord {
    /// Whether there is nothing in it, so that the file leaves it out.
    pub fn is_default(&self) -> bool {
        *self == Self::default()
    }

    /// The cable that was pulled: the difference of its foot marks, which run up or down. It never gets an allowance.
    pub fn pulled(&self) -> Option<Length> {
        let (start, end) = (self.start_mark?, self.end_mark?);
        let by = (start.ticks() - end.ticks()).checked_abs().filter(|by| *by > 0)?;
        // It is told in the form in which the marks were read.
        end.shifted(by - end.ticks())
    }
}

/// Whether a ceiling box lets the readings of its loop through.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
pub enum Splice {
    /// The cable goes through it in one piece.
    #[default]
    Uncut,
    /// The cable is cut, its tails apart.
    Cut,
    /// Its tails are joined again.
    Spliced,
    /// The fixture is on.
    FixtureOn,
}

impl Splice {
    /// Whether it is the default, which the file leaves out.
    pub fn is_uncut(&self) -> bool {
        *self == Self::Uncut
    }

    /// What it is called.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Uncut => "uncut",
            Self::Cut => "cut",
            Self::Spliced => "spliced through",
            Self::FixtureOn => "fixture on",
        }
    }
}

/// How far a box stands from a wall, to find it again behind board: `north wall 4'2`.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Offset {
    /// Which wall.
    pub wall: String,
    /// How far from it.
    pub distance: Length,
}

impl fmt::Display for Offset {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} {}", self.wall, self.distance)
    }
}

impl std::str::FromStr for Offset {
    type Err = String;
    fn from_str(text: &str) -> Result<Self, String> {
        let bad = || format!("'{text}' is no offset: write the wall and the distance, like north wall 4'2");
        let text = text.trim();
        // A wall may have a number itself, so the distance is what begins with a digit and is a length.
        let begins = |at: &usize| text[..*at].ends_with(' ');
        let digits = text.char_indices().filter(|(_, c)| c.is_ascii_digit()).map(|(at, _)| at);
        let found = digits.filter(begins).find_map(|at| {
            let (wall, distance) = text.split_at(at);
            Some((wall, Length::parse(distance, None).ok()?))
        });
        let (wall, distance) = found.ok_or_else(bad)?;
        let wall = wall.trim().to_owned();
        if wall.is_empty() { Err(bad()) } else { Ok(Self { wall, distance }) }
    }
}

/// What is known of a box since its cable was pulled.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct BoxRecord {
    /// How far it is.
    #[serde(skip_serializing_if = "Steps::is_default")]
    pub done: Steps,
    /// Whether readings go through it; of ceiling boxes.
    #[serde(skip_serializing_if = "Splice::is_uncut")]
    pub splice: Splice,
    /// Its distances from two walls.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub walls: Vec<Offset>,
    /// The name of a photo's file.
    #[serde(skip_serializing_if = "String::is_empty")]
    pub photo: String,
    /// What else there is to say.
    #[serde(skip_serializing_if = "String::is_empty")]
    pub note: String,
}

impl BoxRecord {
    /// Whether there is nothing in it, so that the file leaves it out.
    pub fn is_default(&self) -> bool {
        *self == Self::default()
    }
}

/// Types that the file holds as one line of text.
macro_rules! as_text {
    ($($name:ident),+) => {
        $(impl Serialize for $name {
            fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
                serializer.collect_str(self)
            }
        }

        impl<'de> Deserialize<'de> for $name {
            fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
                String::deserialize(deserializer)?.parse().map_err(de::Error::custom)
            }
        })+
    };
}

as_text!(Offset, Done, Reading);

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_offset_is_a_wall_and_a_distance() {
        for text in ["north wall 4'2", "wall 2 3.5 m", "chimney 18 in"] {
            assert_eq!(text.parse::<Offset>().map(|o| o.to_string()), Ok(text.to_owned()), "{text}");
        }
        for bad in ["4'2", "north", "", "north wall", "north 4"] {
            assert!(bad.parse::<Offset>().is_err(), "{bad}");
        }
    }

    #[test]
    fn what_was_pulled_is_the_difference_of_the_marks() {
        let mark = |text: &str| Length::parse(text, None).ok();
        let pulled = |start: &str, end: &str| {
            let record =
                CableRecord { start_mark: mark(start), end_mark: mark(end), ..CableRecord::default() };
            record.pulled().map(|length| length.to_string())
        };
        assert_eq!(pulled("412 ft", "350 ft").as_deref(), Some("62 ft"));
        assert_eq!(pulled("350 ft", "412 ft").as_deref(), Some("62 ft"));
        assert_eq!(pulled("350 ft", "350 ft"), None);
        assert_eq!(pulled("350 ft", ""), None);
    }
}
