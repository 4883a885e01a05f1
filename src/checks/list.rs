//! Every check there is, with its severity and where its limit comes from.

use super::Severity::{self, Advice, Error, Warning};
use crate::job::Edition;

/// Where a limit comes from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Source {
    /// A place in the NEC, by edition: 2017, 2020, 2023.
    Nec([&'static str; 3]),
    /// Another published text, with edition and place.
    Text(&'static str),
    /// A setting of the job.
    Setting(&'static str),
    /// An entry of the job's catalogue.
    Catalogue(&'static str),
    /// Something else the job states.
    Job(&'static str),
    /// How it is usually done.
    CommonPractice,
    /// It follows from what is drawn, with no limit in between.
    Network,
}

impl Source {
    /// The source in words, under one edition of the NEC.
    pub fn under(self, edition: Edition) -> String {
        match self {
            Self::Nec(places) => {
                let place = match edition {
                    Edition::Nec2017 => places[0],
                    Edition::Nec2020 => places[1],
                    Edition::Nec2023 => places[2],
                };
                format!("NEC {} {place}", edition.year())
            }
            Self::Text(place) => place.to_owned(),
            Self::Setting(name) => format!("job setting {name}"),
            Self::Catalogue(name) => format!("catalogue, {name}"),
            Self::Job(name) => format!("job, {name}"),
            Self::CommonPractice => "common practice, no source".to_owned(),
            Self::Network => "the network as drawn".to_owned(),
        }
    }

    /// The source in words, under every edition where they differ.
    pub fn listed(self) -> String {
        match self {
            Self::Nec([a, b, c]) if a == b && b == c => format!("NEC 2017 to 2023 {a}"),
            Self::Nec([a, b, c]) if a == b => format!("NEC 2017, 2020 {a}; 2023 {c}"),
            Self::Nec([a, b, c]) if b == c => format!("NEC 2017 {a}; 2020, 2023 {c}"),
            Self::Nec([a, b, c]) => format!("NEC 2017 {a}; 2020 {b}; 2023 {c}"),
            other => other.under(Edition::default()),
        }
    }
}

/// A check as it is listed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Check {
    /// Its stable code.
    pub code: &'static str,
    /// How bad what it finds is, as a rule.
    pub severity: Severity,
    /// What it looks for.
    pub about: &'static str,
    /// Where its limit comes from.
    pub source: Source,
}

// NEC 2017 was read in its own text; of 2020 and 2023 the articles named here were read in theirs or in courses on the
// changes, and where a place in them is from memory it says so.
const TABLE_11B: Source =
    Source::Nec(["ch. 9 table 11(B)", "ch. 9 table 11(B)", "ch. 9 table 11(B), unchanged from memory"]);
const NOTE_4: Source = Source::Nec([
    "ch. 9 table 11(B) note 4",
    "ch. 9 table 11(B) note 4",
    "ch. 9 table 11(B) note 4, unchanged from memory",
]);
const APART: Source = Source::Nec(["725.121(B)", "725.121(B)", "725.60"]);
const BRANCH: Source = Source::Nec(["725.127", "725.127", "725.127, place from memory"]);
const LISTING: Source = Source::Nec(["725.154, 725.179", "725.154, 725.179", "art. 722"]);
const PLATE: Source = Source::Nec(["725.24 with 300.4(D)", "110.12(C) with 300.4", "722.24 with 300.4"]);
const STRAPS: Source = Source::Nec(["725.143", "725.143", "725.143, place from memory"]);
const FILL: Source = Source::Nec(["314.16(B)", "314.16(B)", "314.16(B)"]);
const CONTINUOUS: Source = Source::Nec(["210.20(A)"; 3]);
const SEPARATION: Source = Source::Nec(["725.136"; 3]);
const GREEN: Source =
    Source::Nec(["250.119 exception 1", "250.119 exception 1, unchanged from memory", "250.119 exception 1"]);
const AMPACITY: Source = Source::Setting("conductor_amps_percent of NEC 2017 table 402.5");
const BUS: Source = Source::Text("IEC 62386-101 (from public summaries)");
const LUMEN: Source = Source::Job("illuminance of the room or the settings, by the lumen method");

macro_rules! checks {
    ($($name:ident = $code:literal, $severity:ident, $source:expr, $about:literal;)+) => {
        $(pub(super) const $name: Check =
            Check { code: $code, severity: $severity, about: $about, source: $source };)+
        /// Every check, by family.
        pub const CHECKS: &[Check] = &[$($name,)+];
    };
}

checks! {
    NO_FEED = "no-feed", Error, Source::Network, "a wall box that nothing feeds";
    FEED_UNSAID = "feed-unsaid", Error, Source::Network, "a control or allowance in a box of several feeds that names none";
    NO_OUTPUT = "no-output", Error, Source::Network, "a home run on no output";
    INTERCONNECTED = "interconnected", Error, APART, "outputs that meet beyond their terminals";
    UNLIKE_OUTPUTS = "unlike-outputs", Error, APART, "outputs of different volts that meet";
    ISOLATION = "isolation", Error, APART, "a control link between outputs whose isolation is not stated";
    DOUBLE_FEED = "double-feed", Error, Source::Network, "a run fed a second time from its own output";
    DEAD_SHORT = "dead-short", Error, Source::Network, "a loop fed from both ends with its conductors exchanged";
    CROSSED = "crossed", Error, Source::Network, "a returned loop of strings, or a capped one, with its conductors exchanged";
    UNKNOWN = "unknown", Error, Source::Network, "a run whose figures can't be computed";
    UNFIT = "unfit", Error, Source::Catalogue("load, drive"), "a fixture that its control cannot drive";
    DRIVE_AMPS = "drive-amps", Error, Source::Catalogue("rated_amps, amps"), "a string fixture made for another current";
    COLLAPSE = "collapse", Error, Source::Text("nodal analysis; maximum power transfer"), "a run whose cables can't carry its load";
    NEAR_COLLAPSE = "near-collapse", Warning, Source::Setting("collapse_margin_percent"), "a run near the most its cables can carry";
    DROP = "drop", Warning, Source::Setting("drop_limits"), "volts lost on the way to a fixture";
    EITHER_END = "either-end", Warning, Source::Setting("drop_limits"), "a loop fed from both ends that one end can't feed (advice if only its drop is over)";
    VOLTS_LOW = "volts-low", Error, Source::Catalogue("fixture volts"), "a fixture with fewer volts than it needs";
    VOLTS_HIGH = "volts-high", Error, Source::Catalogue("fixture volts"), "a fixture that may see more volts than it bears";
    CONDUCTOR_AMPS = "conductor-amps", Warning, AMPACITY, "more amps in a conductor than the job allows";
    STRING_VOLTS = "string-volts", Error, Source::Catalogue("control volts"), "a series string with more volts than its control gives";
    STRING_60 = "string-60", Error, TABLE_11B, "a series string over the volts of a Class 2 circuit";
    STRING_UNKNOWN = "string-unknown", Error, Source::Catalogue("control volts"), "a series string whose control states no limit of volts";
    GREEN_WIRE = "green-wire", Error, GREEN, "a green conductor that is no ground, at volts where green is for grounds alone";
    LONG_RUN = "long-run", Warning, Source::Setting("longest_home_run"), "a home run longer than the job wants";
    CLASS_2_RUN = "class-2-run", Error, TABLE_11B, "a run that takes more watts than a Class 2 output may give";
    OVER_LIMIT = "over-limit", Error, Source::Catalogue("output_watts"), "an output that gives more than its watts";
    OVER_TARGET = "over-target", Warning, Source::Setting("target_load_percent"), "an output loaded past the job's target";
    TERMINALS = "terminals", Error, Source::Catalogue("terminals"), "more home runs on an output than its terminals take";
    CLASS_2_OUTPUT = "class-2-output", Error, TABLE_11B, "an output rated beyond Class 2 for its volts";
    WET_VOLTS = "wet-volts", Error, NOTE_4, "more than 30 V dc (12.4 V if interrupted) at a light in a wet place";
    INTERRUPTED = "interrupted", Error, NOTE_4, "a dc output interrupted at 10 to 200 Hz over 24.8 V";
    SLOT_RANGE = "slot-range", Error, Source::Job("slots of the panel"), "a supply beyond the panel's slots";
    SLOT_OVERLAP = "slot-overlap", Error, Source::Job("slots of the panel"), "two supplies in one slot";
    NOT_PLACED = "not-placed", Warning, Source::Job("slots of the panel"), "a supply in no slot";
    AC_FEED = "ac-feed", Error, CONTINUOUS, "an AC feed loaded past the continuous share of its breaker";
    AC_UNKNOWN = "ac-unknown", Warning, Source::Catalogue("power_factor"), "an AC feed whose amps can't be computed";
    AC_BRANCH = "ac-branch", Error, BRANCH, "Class 2 supplies on a branch circuit over 20 A";
    INRUSH = "inrush", Warning, Source::Catalogue("most_per_breaker"), "more supplies on a breaker than their inrush allows";
    PANEL_HEAT = "panel-heat", Warning, Source::Job("heat_allowance_watts of the panel"), "more heat than the enclosure can shed";
    SPARE = "spare", Warning, Source::Setting("spare_capacity_percent"), "less spare capacity in a panel than the job wants";
    IDLE_CONTROL = "idle-control", Advice, Source::Network, "a control with no light and in no group";
    NO_CONTROL = "no-control", Error, Source::Network, "lights on a remote point, which drives none";
    LIGHTS = "lights", Error, Source::Catalogue("most lights"), "more lights on a control than it takes";
    KEEP_TUNABLE = "keep-tunable", Warning, Source::Job("keep_tunable of the room"), "a loop that ends where tunable white must stay possible";
    MIXED_COLOUR = "mixed-colour", Error, Source::Catalogue("colour"), "fixed and tunable lights on one pair that carries colour";
    MIXED_LOAD = "mixed-load", Advice, Source::CommonPractice, "regulated and resistive lights dimmed on one loop";
    GROUP_SIZE = "group-size", Error, Source::Catalogue("most_in_step"), "more controls in a group than work in step";
    REMOTE_CABLE = "remote-cable", Error, Source::Network, "a remote point that no link reaches";
    GANGS = "gangs", Error, Source::Catalogue("gangs"), "more controls in a box than it has gangs";
    BOX_FILL = "box-fill", Advice, FILL, "more in a box than its volume (error where line voltage shares it)";
    BOX_BARRIER = "box-barrier", Error, SEPARATION, "line voltage and Class 2 in one box without a barrier";
    SHARED_HOLE = "shared-hole", Advice, Source::CommonPractice, "a Class 2 cable in one bored hole with line voltage";
    CABLE_PLACE = "cable-place", Error, LISTING, "a cable in a place it is not listed for";
    NAIL_PLATE = "nail-plate", Error, PLATE, "a cable nearer than 1-1/4 in to the edge of the wood, with no plate";
    SUPPORT = "support", Error, STRAPS, "a cable strapped to a conduit";
    METAL = "metal", Error, Source::CommonPractice, "a cable that is not copper";
    GAUGE = "gauge", Error, Source::Text("NEC ch. 9 table 8; NBS Handbook 100"), "a cable whose gauge no resistance table has";
    PLAN_COUNT = "plan-count", Error, Source::Catalogue("conductors"), "a plan with another count of conductors than its cable";
    GROUND = "ground", Warning, Source::Setting("ground_conductor"), "a home run with no ground conductor where the job wants one";
    SLACK = "slack", Warning, Source::Setting("makeup_cable_end, makeup_ceiling_box"), "no cable left over for make-up";
    BUS_ADDRESSES = "bus-addresses", Error, BUS, "more addresses on a control bus than it has";
    BUS_AMPS = "bus-amps", Error, BUS, "more than 250 mA on a control bus";
    BUS_LENGTH = "bus-length", Error, BUS, "more than 300 m between the ends of a control bus";
    BUS_DROP = "bus-drop", Error, BUS, "more than 2 V lost on a control bus";
    BUS_RING = "bus-ring", Error, BUS, "a ring in a control bus";
    BUS_CABLE = "bus-cable", Error, SEPARATION, "a control bus in one cable with Class 2, its supply not listed as that";
    ROOM_DARK = "room-dark", Advice, Source::Network, "a room with no lights that asks for some, or any such room from rough-in on";
    LIGHT_LEVEL = "light-level", Warning, LUMEN, "less light in a room than it is to have";
    LIGHT_UNKNOWN = "light-unknown", Advice, Source::Catalogue("lumens"), "a room's light level that can't be computed";
    SPACING = "spacing", Advice, Source::Catalogue("spacing_ratio"), "lights too far apart for their height";
    OPEN_FIXTURE = "open-fixture", Advice, Source::Job("open"), "a ceiling box whose fixture is still open";
    OPEN_CONTROL = "open-control", Advice, Source::Job("open"), "a control whose type is still open";
    ESTIMATED = "estimated", Warning, Source::Job("stage of the project"), "a length still estimated at rough-in";
    STALE_ACCEPTANCE = "stale-acceptance", Advice, Source::Job("accepted"), "an acceptance of something that is not found any more";
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn codes_are_short_and_given_once() {
        let mut codes: Vec<&str> = CHECKS.iter().map(|check| check.code).collect();
        assert!(codes.iter().all(|code| code.len() <= 16));
        codes.sort_unstable();
        codes.dedup();
        assert_eq!(codes.len(), CHECKS.len());
    }

    #[test]
    fn a_place_in_the_code_follows_the_edition() {
        assert_eq!(APART.under(Edition::Nec2017), "NEC 2017 725.121(B)");
        assert_eq!(APART.under(Edition::Nec2023), "NEC 2023 725.60");
        assert_eq!(APART.listed(), "NEC 2017, 2020 725.121(B); 2023 725.60");
    }
}
