//! Fields of the wiring.

use super::{Field, Shape, site};
use crate::job::Kind;

const ID: Field = Field::new(&["id"], "id", "letters, digits and -; it never changes", Shape::Id);
const NAME: Field = Field::new(&["name"], "name", "what people call it", Shape::Words);
const TAG: Field = Field::new(&["tag"], "tag", "on its flags; keep it once they were made", Shape::Measure);
const CABLE_TYPE: Field = Field::new(&["cable"], "cable", "its type", Shape::Refer(Kind::CableType));
const PLAN_OF: Field =
    Field::new(&["plan"], "plan", "if not that of the cable type", Shape::Refer(Kind::ConductorPlan));
const MEASURED: Field =
    Field::new(&["measured"], "measured", "whole length with make-up; empty: estimate it", Shape::Length);
const ACROSS: Field = Field::new(&["place", "x"], "across", "from the corner of the house", Shape::Length);
const ALONG: Field = Field::new(&["place", "y"], "along", "from the corner of the house", Shape::Length);

const WAYS: &[&str] = &["Riser", "Plenum", "Wet", "Sunlight", "SharedHole", "NearEdge", "OnConduit"];
const WAY: Field = Field::new(&["way"], "way", "what it passes, with commas", Shape::ChoiceMany(WAYS));

const ONE_FOR: Field = Field::new(
    &["one_for"],
    "one for",
    "each, or the same for all of a loop, room or house",
    Shape::Choice(REACH),
);
const REACH: &[&str] = &["Each", "Loop", "Room", "House"];

pub(super) const WALL_BOX: &[Field] = &[
    ID,
    NAME,
    Field::new(&["room"], "room", "it stands in", Shape::Refer(Kind::Room)),
    ACROSS,
    ALONG,
    Field::new(&["place", "height"], "height", "above the floor", Shape::Length),
    Field::new(&["part"], "type", "its entry in the catalogue", Shape::Refer(Kind::BoxType)),
    Field::new(&["allowance_watts"], "watts set aside", "while it is not laid out", Shape::Number),
    Field::new(&["line", "gauge"], "line gauge", "AWG of line-voltage behind a barrier in it", Shape::Count),
    Field::new(&["line", "conductors"], "line conductors", "how many of them", Shape::Count),
    Field::new(&["line", "grounds"], "line grounds", "how many of them", Shape::Count),
    Field::new(&["line", "yokes"], "line yokes", "devices on them", Shape::Count),
    site::PULLED,
    site::TESTED,
    site::BOARDED,
    site::UNTESTED,
    site::TRIMMED,
    site::AGAIN,
    site::NOTE,
];

pub(super) const FEED: &[Field] = &[
    ID,
    NAME,
    Field::new(&["from"], "from", "an output like PS1.2, a panel, or another feed", Shape::Source),
    CABLE_TYPE,
    PLAN_OF,
    MEASURED,
    Field::new(&["landed"], "landed", "on its terminals; moving it costs labor", Shape::Flag),
    Field::new(&["pinned"], "pinned", "stays on its output in a balance", Shape::Flag),
    WAY,
    site::PULLED,
    site::START,
    site::END,
    site::TESTED,
    site::READINGS,
    site::BOARDED,
    site::UNTESTED,
    site::TRIMMED,
    site::AGAIN,
    site::NOTE,
    TAG,
];

pub(super) const CONTROL: &[Field] = &[
    ID,
    NAME,
    Field::new(&["part"], "type", "its entry in the catalogue", Shape::Refer(Kind::ControlType)),
    Field::new(&["open"], "or", "other types it may yet be", Shape::ReferMany(Kind::ControlType)),
    Field::new(
        &["one_for"],
        "one for",
        "each, or the same for all of a room or house",
        Shape::Choice(&["Each", "Room", "House"]),
    ),
    Field::new(&["on"], "on feed", "where the box has several", Shape::Refer(Kind::Cable)),
];

pub(super) const LOOP: &[Field] = &[
    ID,
    NAME,
    CABLE_TYPE,
    PLAN_OF,
    Field::new(
        &["path"],
        "path",
        "one way; returned, capped; returned: fed from both ends",
        Shape::Choice(&["OneWay", "ReturnedCapped", "Returned"]),
    ),
    Field::new(&["returns_to"], "returns to", "a control, if not its own", Shape::Refer(Kind::Control)),
    Field::new(&["crossed"], "crossed", "landed + to -", Shape::Flag),
    MEASURED,
    Field::new(&["return_leg"], "return leg", "measured", Shape::Length),
    Field::new(&["open"], "open", "fixtures its boxes may yet hold", Shape::ReferMany(Kind::FixtureType)),
    ONE_FOR,
    WAY,
    site::PULLED,
    site::START,
    site::END,
    site::TESTED,
    site::READINGS,
    site::BOARDED,
    site::UNTESTED,
    site::TRIMMED,
    site::AGAIN,
    site::NOTE,
    TAG,
];

pub(super) const CEILING: &[Field] = &[
    ID,
    NAME,
    Field::new(&["fixture"], "fixture", "it holds", Shape::Refer(Kind::FixtureType)),
    Field::new(&["open"], "open", "fixtures it may yet hold", Shape::ReferMany(Kind::FixtureType)),
    ONE_FOR,
    Field::new(&["blank"], "blank", "stays without a fixture", Shape::Flag),
    ACROSS,
    ALONG,
    Field::new(&["place", "height"], "height", "if not the ceiling's", Shape::Length),
    Field::new(&["room"], "room", "if not that of the wall box", Shape::Refer(Kind::Room)),
    Field::new(&["leg"], "leg", "measured, from the box before", Shape::Length),
    Field::new(&["part"], "type", "its box in the catalogue", Shape::Refer(Kind::BoxType)),
    site::PULLED,
    site::SPLICE,
    site::TESTED,
    site::WALLS,
    site::PHOTO,
    site::BOARDED,
    site::UNTESTED,
    site::TRIMMED,
    site::AGAIN,
    site::NOTE,
    TAG,
];

pub(super) const GROUP: &[Field] = &[
    ID,
    NAME,
    Field::new(&["main"], "main", "the control that drives the lights", Shape::Refer(Kind::Control)),
    Field::new(&["remotes"], "remotes", "controls that only send to it", Shape::ReferMany(Kind::Control)),
    Field::new(&["bus", "gear"], "bus gear", "control gear on its bus", Shape::Count),
    Field::new(&["bus", "devices"], "bus devices", "control devices on its bus", Shape::Count),
    Field::new(&["bus", "amps"], "bus amps", "its supply gives", Shape::Number),
    Field::new(&["bus", "class_2"], "bus Class 2", "its supply is listed so", Shape::Flag),
];

pub(super) const LINK: &[Field] = &[
    ID,
    NAME,
    Field::new(&["from"], "from", "a control", Shape::Refer(Kind::Control)),
    Field::new(&["to"], "to", "a control", Shape::Refer(Kind::Control)),
    CABLE_TYPE,
    PLAN_OF,
    MEASURED,
    WAY,
    site::PULLED,
    site::START,
    site::END,
    site::TESTED,
    site::READINGS,
    site::BOARDED,
    site::UNTESTED,
    site::TRIMMED,
    site::AGAIN,
    site::NOTE,
    TAG,
];
