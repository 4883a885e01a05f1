//! Every check there is.

/// A check as it is listed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Check {
    /// Its stable code.
    pub code: &'static str,
    /// What it looks for.
    pub about: &'static str,
    /// Where its limit comes from.
    pub source: &'static str,
}

const fn check(code: &'static str, about: &'static str, source: &'static str) -> Check {
    Check { code, about, source }
}

/// Every check, by family.
pub const CHECKS: &[Check] = &[
    check("no-feed", "a wall box that nothing feeds", "the network as drawn"),
    check(
        "feed-unsaid",
        "a control or allowance in a box of several feeds that names none",
        "the network as drawn",
    ),
    check("idle-control", "a control with no loop and in no group", "the network as drawn"),
    check("no-output", "a home run on no output", "the network as drawn"),
    check("interconnected", "outputs that meet beyond their terminals", "NEC 725.121(B) (2017)"),
    check(
        "isolation",
        "a control link between outputs whose isolation is not stated",
        "NEC 725.121(B) (2017)",
    ),
    check("double-feed", "a run fed a second time from its own output", "the network as drawn"),
    check("dead-short", "a loop fed from both ends with its conductors exchanged", "the network as drawn"),
    check("unknown", "a run whose figures can't be computed", "the network as drawn"),
    check("collapse", "a run whose cables can't carry its load at any volts", "nodal analysis"),
    check("drop", "volts lost on the way to a fixture", "job setting drop_limits"),
    check("volts-low", "a fixture with fewer volts than it needs", "catalogue, fixture volts"),
    check("volts-high", "a fixture that may see more volts than it bears", "catalogue, fixture volts"),
    check(
        "string-volts",
        "a series string with more volts than its control gives",
        "catalogue, control volts",
    ),
    check("string-60", "a series string over the volts of a Class 2 circuit", "NEC ch. 9 table 11(B) (2017)"),
    check(
        "string-unknown",
        "a series string whose control states no limit of volts",
        "catalogue, control volts",
    ),
    check("long-run", "a home run longer than the job wants", "job setting longest_home_run"),
    check(
        "class-2-run",
        "a run that takes more watts than a Class 2 output may give",
        "NEC ch. 9 table 11(B) (2017)",
    ),
    check("over-limit", "an output that gives more than its watts", "catalogue, output_watts"),
    check("over-target", "an output loaded past the job's target", "job setting target_load_percent"),
    check("terminals", "more home runs on an output than its terminals take", "catalogue, terminals"),
    check("class-2-output", "an output rated beyond Class 2 for its volts", "NEC ch. 9 table 11(B) (2017)"),
    check("slot-range", "a supply beyond the panel's slots", "the panel's slots"),
    check("slot-overlap", "two supplies in one slot", "the panel's slots"),
    check("not-placed", "a supply in no slot", "the panel's slots"),
    check("ac-feed", "an AC feed loaded past 80 % of its breaker", "NEC 210.20(A) (2017)"),
    check("ac-unknown", "an AC feed whose amps can't be computed", "catalogue, power factor"),
    check("lights", "more lights on a control than it takes", "catalogue, most lights"),
    check("gangs", "more controls in a box than it has gangs", "catalogue, gangs"),
    check("open-fixture", "a ceiling box whose fixture is still open", "the job"),
];
