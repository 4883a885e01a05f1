//! Fields of the catalogue.

use super::{Field, Shape};
use crate::job::Kind;

const ID: Field = Field::new(&["id"], "id", "letters, digits and -; it never changes", Shape::Id);
const NAME: Field = Field::new(&["name"], "name", "what people call it", Shape::Words);
const PRICE: Field = Field::new(&["price"], "price", "of a piece or a pack, like 184.50", Shape::Measure);
const PACK: Field = Field::new(&["pack"], "pack", "pieces bought at once, at that price", Shape::Count);
const BOUGHT: Field = Field::new(&["bought"], "bought", "pieces of this job's, already", Shape::Count);

const DEPTH: Field = Field::new(&["depth"], "depth", "above the ceiling", Shape::Length);
const EXPOSURE: Field = Field::new(
    &["exposure"],
    "listed for",
    "dry, damp or wet places",
    Shape::Choice(&["Dry", "Damp", "Wet"]),
);

pub(super) const PLAN: &[Field] = &[
    ID,
    NAME,
    Field::new(
        &["conductors"],
        "conductors",
        "mark and function: red +, black -; functions + - string1 string2 signal ground spare",
        Shape::Conductors,
    ),
];

pub(super) const CABLE: &[Field] = &[
    ID,
    NAME,
    Field::new(&["gauge"], "gauge", "AWG", Shape::Count),
    Field::new(&["conductors"], "conductors", "how many", Shape::Count),
    Field::new(&["stranding"], "stranding", "solid or stranded", Shape::Choice(&["Solid", "Stranded"])),
    Field::new(
        &["metal"],
        "metal",
        "only copper is reckoned with",
        Shape::Choice(&["Copper", "Aluminum", "CopperCladAluminum"]),
    ),
    Field::new(&["plan"], "plan", "what its conductors do", Shape::Refer(Kind::ConductorPlan)),
    Field::new(&["reels"], "reels", "length and price: 500 ft 184.50, 1000 ft", Shape::Reels),
    Field::new(&["listing"], "listing", "of its jacket", Shape::Choice(&["General", "Riser", "Plenum"])),
    Field::new(&["wet"], "wet places", "it is listed for them", Shape::Flag),
    Field::new(&["sunlight"], "sunlight", "it resists it", Shape::Flag),
];

pub(super) const FIXTURE: &[Field] = &[
    ID,
    NAME,
    Field::new(
        &["load"],
        "load",
        "how it draws current",
        Shape::Form(&["Power", "Current", "Resistance", "String"]),
    ),
    Field::new(&["load", "Power", "watts"], "watts", "at any volts it works at", Shape::Number),
    Field::new(&["load", "Power", "volts", "least"], "least volts", "it needs these", Shape::Number),
    Field::new(&["load", "Power", "volts", "most"], "most volts", "it bears these", Shape::Number),
    Field::new(&["load", "Current", "amps"], "amps", "at any volts it works at", Shape::Number),
    Field::new(&["load", "Current", "volts", "least"], "least volts", "it needs these", Shape::Number),
    Field::new(&["load", "Current", "volts", "most"], "most volts", "it bears these", Shape::Number),
    Field::new(&["load", "Resistance", "watts"], "watts", "at its rated volts", Shape::Number),
    Field::new(&["load", "Resistance", "at_volts"], "rated volts", "", Shape::Number),
    Field::new(&["load", "String", "volts"], "volts", "its highest at the drive's current", Shape::Number),
    Field::new(
        &["load", "String", "second_volts"],
        "second volts",
        "of its other channel, if tunable",
        Shape::Number,
    ),
    Field::new(&["load", "String", "rated_amps"], "rated amps", "the current it is made for", Shape::Number),
    Field::new(
        &["colour"],
        "color",
        "fixed, set when hung or tunable",
        Shape::Choice(&["Fixed", "SetWhenHung", "Tunable"]),
    ),
    Field::new(&["lumens"], "lumens", "light it gives", Shape::Number),
    Field::new(&["spacing_ratio"], "spacing ratio", "most spacing over mounting height", Shape::Number),
    Field::new(&["own_box"], "own box", "it comes with one or needs none", Shape::Flag),
    Field::new(&["weight"], "weight", "like 12 lb or 5.4 kg", Shape::Measure),
    DEPTH,
    EXPOSURE,
    PRICE,
    PACK,
    BOUGHT,
];

pub(super) const SUPPLY: &[Field] = &[
    ID,
    NAME,
    Field::new(&["outputs"], "outputs", "how many", Shape::Count),
    Field::new(&["volts"], "volts", "of each output, dc", Shape::Number),
    Field::new(&["no_load_volts"], "no-load volts", "highest, dc", Shape::Number),
    Field::new(&["output_watts"], "output watts", "most from each output", Shape::Number),
    Field::new(
        &["kind"],
        "kind",
        "how an output is limited",
        Shape::Choice(&["Class2Inherent", "Class2Protected", "NotClass2"]),
    ),
    Field::new(&["terminals"], "terminals", "home runs an output takes", Shape::Count),
    Field::new(&["slots"], "slots", "it takes in the panel", Shape::Count),
    Field::new(&["efficiency_percent"], "efficiency %", "at full load", Shape::Number),
    Field::new(&["idle_watts"], "idle watts", "with nothing connected", Shape::Number),
    Field::new(&["power_factor"], "power factor", "at full load", Shape::Number),
    Field::new(&["interrupted"], "interrupted dc", "its outputs are pulsed at 10 to 200 Hz", Shape::Flag),
    Field::new(&["most_per_breaker"], "per breaker", "the most of them, for inrush", Shape::Count),
    PRICE,
    PACK,
    BOUGHT,
];

pub(super) const CONTROL: &[Field] = &[
    ID,
    NAME,
    Field::new(&["drive"], "drive", "how it drives its loops", Shape::Form(&["Voltage", "Current"])),
    Field::new(&["drive", "Current", "amps"], "amps", "regulated, of each string", Shape::Number),
    Field::new(
        &["drive", "Current", "efficiency_percent"],
        "efficiency %",
        "string over home run",
        Shape::Number,
    ),
    Field::new(
        &["drive", "Current", "most_volts"],
        "most volts",
        "on a string, whatever comes in",
        Shape::Number,
    ),
    Field::new(
        &["drive", "Current", "headroom_volts"],
        "headroom volts",
        "below those of the wall box",
        Shape::Number,
    ),
    Field::new(&["own_watts"], "own watts", "it takes for itself", Shape::Number),
    Field::new(&["most_fixed_lights"], "fixed lights", "the most it takes", Shape::Count),
    Field::new(&["most_tunable_lights"], "tunable lights", "the most it takes", Shape::Count),
    Field::new(&["colour"], "color", "how it makes color", Shape::Form(&["None", "TwoStrings", "OnPair"])),
    Field::new(
        &["colour", "TwoStrings", "channels"],
        "channels",
        "share the current or may both be full",
        Shape::Choice(&["Share", "BothFull"]),
    ),
    Field::new(&["link"], "link", "does it join circuits", Shape::Choice(&["Isolated", "Joined"])),
    Field::new(&["gangs"], "gangs", "it takes in a box", Shape::Count),
    Field::new(&["most_in_step"], "in step", "controls of a group, the most", Shape::Count),
    PRICE,
    PACK,
    BOUGHT,
];

pub(super) const BOX: &[Field] = &[
    ID,
    NAME,
    Field::new(&["gangs"], "gangs", "controls side by side", Shape::Count),
    Field::new(&["volume"], "volume", "like 20.3 in3 or 330 cm3", Shape::Volume),
    Field::new(&["internal_clamps"], "inside clamps", "it has cable clamps inside", Shape::Flag),
    Field::new(&["stud_kinds"], "stud kinds", "fixture stud, hickey: kinds of them", Shape::Count),
    Field::new(&["class_2_volume"], "Class 2 part", "its volume behind a barrier", Shape::Volume),
    Field::new(&["bears"], "bears", "with its brace, like 50 lb or 23 kg", Shape::Measure),
    DEPTH,
    EXPOSURE,
    PRICE,
    PACK,
    BOUGHT,
];
