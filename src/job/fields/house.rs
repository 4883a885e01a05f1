//! Fields of the house, its panels, and the job's own heading and settings.

use super::{Field, Shape};
use crate::job::Kind;

const ID: Field = Field::new(&["id"], "id", "letters, digits and -; it never changes", Shape::Id);
const NAME: Field = Field::new(&["name"], "name", "what people call it", Shape::Words);

const CEILING_KIND: Field = Field::new(
    &["rough", "ceiling_kind"],
    "ceiling kind",
    "flat truss or deep joist",
    Shape::Choice(&["FlatTruss", "DeepJoist"]),
);
const CEILING_BOARD: Field =
    Field::new(&["rough", "ceiling_board"], "ceiling board", "its thickness, like 0.625 in", Shape::Length);
const WALL_BOARD: Field =
    Field::new(&["rough", "wall_board"], "wall board", "its thickness, like 0.5 in", Shape::Length);
const BOX_BELOW: Field = Field::new(
    &["rough", "box_below"],
    "box below",
    "the framing; empty: flush with the ceiling board",
    Shape::Length,
);

pub(super) const LEVEL: &[Field] =
    &[ID, NAME, Field::new(&["elevation"], "elevation", "of its floor above the lowest", Shape::Length)];

pub(super) const ROOM: &[Field] = &[
    ID,
    NAME,
    Field::new(&["area"], "area", "like 160 ft2 or 15 m2", Shape::Area),
    Field::new(&["width"], "width", "its size across", Shape::Length),
    Field::new(&["depth"], "depth", "its size along", Shape::Length),
    Field::new(&["ceiling"], "ceiling", "its height", Shape::Length),
    Field::new(&["corner", "x"], "corner across", "from the corner of the house", Shape::Length),
    Field::new(&["corner", "y"], "corner along", "from the corner of the house", Shape::Length),
    Field::new(&["illuminance"], "light", "wished for, like 100 lx or 10 fc", Shape::Measure),
    Field::new(&["above"], "clear above", "from its ceiling up to what is above", Shape::Length),
    Field::new(&["exposure"], "exposure", "dry, damp or wet", Shape::Choice(&["Dry", "Damp", "Wet"])),
    Field::new(&["keep_tunable"], "keep tunable", "tunable white must stay possible", Shape::Flag),
    Field::new(
        &["open"],
        "open",
        "fixtures its empty boxes may yet hold",
        Shape::ReferMany(Kind::FixtureType),
    ),
    Field::new(
        &["one_for"],
        "one for",
        "each, or the same for all of a loop, room or house",
        Shape::Choice(&["Each", "Loop", "Room", "House"]),
    ),
    CEILING_KIND,
    CEILING_BOARD,
    WALL_BOARD,
    BOX_BELOW,
];

pub(super) const PANEL: &[Field] = &[
    ID,
    NAME,
    Field::new(&["room"], "room", "it hangs in", Shape::Refer(Kind::Room)),
    Field::new(&["place", "x"], "across", "from the corner of the house", Shape::Length),
    Field::new(&["place", "y"], "along", "from the corner of the house", Shape::Length),
    Field::new(&["place", "height"], "height", "above the floor", Shape::Length),
    Field::new(&["slots"], "slots", "how many", Shape::Count),
    Field::new(&["spare_slots"], "spare slots", "to keep free", Shape::Count),
    Field::new(&["feed", "volts"], "AC volts", "of its feed", Shape::Number),
    Field::new(&["feed", "breaker_amps"], "breaker amps", "of its feed", Shape::Number),
    Field::new(&["heat_allowance_watts"], "heat allowance", "watts its enclosure gives off", Shape::Number),
];

pub(super) const SUPPLY: &[Field] = &[
    ID,
    NAME,
    Field::new(&["part"], "type", "its entry in the catalogue", Shape::Refer(Kind::SupplyType)),
    Field::new(&["slot"], "slot", "its first, from 1", Shape::Count),
    Field::new(&["pinned"], "pinned", "stays in its slot", Shape::Flag),
];

pub(super) const PROJECT: &[Field] = &[
    Field::new(&["title"], "title", "of the job", Shape::Words),
    Field::new(&["address"], "address", "where the house stands", Shape::Words),
    Field::new(&["revision"], "revision", "of the plan", Shape::Words),
    Field::new(&["by"], "by", "who made it", Shape::Words),
    Field::new(&["units"], "units", "feet or meters", Shape::Choice(&["Feet", "Metres"])),
    Field::new(&["notes"], "notes", "lines, with / between", Shape::Lines),
    Field::new(&["stage"], "stage", "of the work", Shape::Choice(&["Planning", "RoughIn", "Trim"])),
];

pub(super) const SETTINGS: &[Field] = &[
    Field::new(&["conductor_celsius"], "conductor C", "at which resistance is reckoned", Shape::Number),
    Field::new(
        &["drop_limits", "regulated_percent"],
        "drop %, regulated",
        "most at a fixture",
        Shape::Number,
    ),
    Field::new(
        &["drop_limits", "resistive_percent"],
        "drop %, resistive",
        "most at a fixture",
        Shape::Number,
    ),
    Field::new(&["longest_home_run"], "longest home run", "before somebody should ask why", Shape::Length),
    Field::new(&["target_load_percent"], "target load %", "of an output's limit", Shape::Number),
    Field::new(
        &["makeup_cable_end"],
        "make-up, end",
        "left at each end in a panel or wall box",
        Shape::Length,
    ),
    Field::new(&["makeup_ceiling_box"], "make-up, ceiling", "left in each ceiling box", Shape::Length),
    Field::new(&["routing_allowance_percent"], "routing %", "added to an estimated route", Shape::Number),
    Field::new(
        &["balance", "fewest"],
        "fewest",
        "of what a balance uses as few as it can",
        Shape::Choice(&["Supplies", "Outputs"]),
    ),
    Field::new(&["light", "area_per_fixture"], "area per fixture", "where lumens can't tell", Shape::Measure),
    Field::new(&["light", "illuminance"], "light", "wished for, like 100 lx or 10 fc", Shape::Measure),
    Field::new(&["light", "utilization"], "utilization", "share of lumens on the work plane", Shape::Number),
    Field::new(&["light", "light_loss"], "light loss", "factor left after years", Shape::Number),
    Field::new(&["light", "work_plane"], "work plane", "its height above the floor", Shape::Length),
    Field::new(&["light", "spacing_to_height"], "spacing / height", "most that is even", Shape::Number),
    Field::new(&["site", "celsius"], "site C", "of cables while they are tested", Shape::Number),
    Field::new(
        &["site", "test_load_ohms"],
        "test load ohms",
        "resistor for readings of volts",
        Shape::Number,
    ),
    Field::new(&["site", "copper_percent"], "copper +-%", "of a conductor's resistance", Shape::Number),
    Field::new(&["site", "estimate_percent"], "estimate +-%", "of a length not measured", Shape::Number),
    Field::new(&["site", "load_percent"], "load +-%", "of what data sheets say", Shape::Number),
    Field::new(&["code_edition"], "NEC edition", "", Shape::Choice(&["Nec2017", "Nec2020", "Nec2023"])),
    Field::new(&["continuous_percent"], "continuous %", "of a breaker for continuous load", Shape::Number),
    Field::new(
        &["collapse_margin_percent"],
        "collapse margin %",
        "kept to what a run can carry",
        Shape::Number,
    ),
    Field::new(&["conductor_amps_percent"], "conductor amps %", "of the sanity limit", Shape::Number),
    Field::new(&["spare_capacity_percent"], "spare capacity %", "wished for in a panel", Shape::Number),
    Field::new(&["ground_conductor"], "ground wanted", "in every home run", Shape::Flag),
    CEILING_KIND,
    CEILING_BOARD,
    WALL_BOARD,
    BOX_BELOW,
    Field::new(&["labels", "columns"], "labels across", "on a sheet for tags", Shape::Count),
    Field::new(&["labels", "rows"], "labels down", "on a sheet for tags", Shape::Count),
    Field::new(&["labels", "width"], "label width", "like 1 in", Shape::Length),
    Field::new(&["labels", "height"], "label height", "like 0.5 in", Shape::Length),
    Field::new(&["labels", "left"], "labels, left", "margin to the first", Shape::Length),
    Field::new(&["labels", "top"], "labels, top", "margin to the first", Shape::Length),
    Field::new(&["labels", "gap_across"], "gap across", "between labels", Shape::Length),
    Field::new(&["labels", "gap_down"], "gap down", "between labels", Shape::Length),
];
