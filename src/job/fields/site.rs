//! Fields of what happened on site, and of the meters it was read with.

use super::{Field, Shape};

const DAY: &str = "day and initials, like 2026-03-09 MO";

pub(super) const PULLED: Field = Field::new(&["site", "done", "pulled"], "pulled", DAY, Shape::Words);
pub(super) const TESTED: Field = Field::new(&["site", "done", "tested"], "tested", DAY, Shape::Words);
pub(super) const BOARDED: Field = Field::new(&["site", "done", "boarded"], "boarded", DAY, Shape::Words);
pub(super) const UNTESTED: Field = Field::new(
    &["site", "done", "untested_because"],
    "untested because",
    "why it was boarded untested",
    Shape::Words,
);
pub(super) const TRIMMED: Field = Field::new(&["site", "done", "trimmed"], "trimmed", DAY, Shape::Words);
pub(super) const AGAIN: Field =
    Field::new(&["site", "done", "tested_again"], "tested again", DAY, Shape::Words);
pub(super) const NOTE: Field = Field::new(&["site", "note"], "site note", "what else to say", Shape::Words);
pub(super) const START: Field =
    Field::new(&["site", "start_mark"], "start mark", "foot mark at its start", Shape::Length);
pub(super) const END: Field =
    Field::new(&["site", "end_mark"], "end mark", "foot mark at its end", Shape::Length);
pub(super) const READINGS: Field =
    Field::new(&["readings"], "readings", "like conductor red: 1.42 with M1, with / between", Shape::Lines);
pub(super) const SPLICE: Field = Field::new(
    &["site", "splice"],
    "splice",
    "uncut, cut, spliced or fixture on",
    Shape::Choice(&["Uncut", "Cut", "Spliced", "FixtureOn"]),
);
pub(super) const WALLS: Field =
    Field::new(&["site", "walls"], "from walls", "like north wall 4'2 / east wall 3'0", Shape::Lines);
pub(super) const PHOTO: Field = Field::new(&["site", "photo"], "photo", "name of its file", Shape::Words);

pub(super) const METER: &[Field] = &[
    Field::new(&["id"], "id", "letters, digits and -; it never changes", Shape::Id),
    Field::new(&["name"], "name", "what people call it", Shape::Words),
    Field::new(&["ohms", "percent"], "ohms percent", "of the reading, lowest range", Shape::Number),
    Field::new(&["ohms", "counts"], "ohms counts", "of the last digit", Shape::Count),
    Field::new(&["ohms", "resolution"], "ohms digit", "the last digit, like 0.1", Shape::Number),
    Field::new(&["lead_ohms"], "lead ohms", "of its leads; empty if nulled", Shape::Number),
    Field::new(&["volts", "percent"], "volts percent", "of the reading, dc", Shape::Number),
    Field::new(&["volts", "counts"], "volts counts", "of the last digit", Shape::Count),
    Field::new(&["volts", "resolution"], "volts digit", "the last digit", Shape::Number),
    Field::new(&["amps", "percent"], "amps percent", "of the reading, dc", Shape::Number),
    Field::new(&["amps", "counts"], "amps counts", "of the last digit", Shape::Count),
    Field::new(&["amps", "resolution"], "amps digit", "the last digit", Shape::Number),
];
