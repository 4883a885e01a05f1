//! Fields of small parts and of the estimate.

use super::{Field, Shape};
use crate::job::Kind;

pub(super) const SMALL_PART: &[Field] = &[
    Field::new(&["id"], "id", "letters, digits and -; it never changes", Shape::Id),
    Field::new(&["name"], "name", "what people call it", Shape::Words),
    Field::new(
        &["per"],
        "counted by",
        "each of these needs it",
        Shape::Choice(&[
            "Joint",
            "HomeRun",
            "Loop",
            "Cable",
            "WallBox",
            "CeilingBox",
            "Control",
            "Fixture",
            "Supply",
            "Panel",
            "Job",
        ]),
    ),
    Field::new(&["count"], "how many", "for each of those; one if left out", Shape::Measure),
    Field::new(&["most_wires"], "most wires", "of a joint that it takes", Shape::Count),
    Field::new(&["every"], "cable for one", "where it is counted by cable", Shape::Length),
    Field::new(&["phase"], "phase", "rough, panel or trim", Shape::Choice(&["Rough", "Panel", "Trim"])),
    Field::new(&["pack"], "pack", "pieces bought at once, at that price", Shape::Count),
    Field::new(&["price"], "price", "of a piece or a pack, like 184.50", Shape::Measure),
    Field::new(&["bought"], "bought", "pieces of this job's, already", Shape::Count),
];

const fn hours(path: &'static [&'static str], label: &'static str, help: &'static str) -> Field {
    Field::new(path, label, help, Shape::Measure)
}

pub(super) const ESTIMATE: &[Field] = &[
    Field::new(&["client"], "client", "whom the bid is for", Shape::Words),
    Field::new(&["currency"], "currency", "what stands before an amount", Shape::Words),
    Field::new(&["hourly_rate"], "hourly rate", "all burdens in it, like 78.00", Shape::Measure),
    hours(&["hours", "home_run"], "h home run", "to pull one; 0 where others hold it"),
    hours(&["hours", "run_loop"], "h loop", "to pull one through its boxes"),
    hours(&["hours", "link"], "h link", "to pull a control link"),
    hours(&["hours", "cable_100_ft"], "h 100 ft", "for each 100 ft of any cable, beside those"),
    hours(&["hours", "wall_box"], "h wall box", "to set one"),
    hours(&["hours", "ceiling_box"], "h ceiling box", "to set one"),
    hours(&["hours", "joint"], "h joint", "to join or cap conductors"),
    hours(&["hours", "landing"], "h landing", "to land a conductor in the panel"),
    hours(&["hours", "control"], "h control", "to set one"),
    hours(&["hours", "fixture"], "h fixture", "to hang one"),
    hours(&["hours", "supply"], "h supply", "to mount one"),
    hours(&["hours", "panel"], "h panel", "to hang one"),
    hours(&["hours", "test"], "h test", "of a home run with its loops"),
    hours(&["hours", "take_out_cable"], "h cable out", "to take one out or cap it; change orders"),
    hours(&["hours", "take_out_part"], "h part out", "to take a box, control or light out"),
    hours(&["hours", "job"], "h job", "once for the job"),
    Field::new(&["overhead_percent"], "overhead %", "on all costs", Shape::Measure),
    Field::new(&["margin_percent"], "margin %", "of the price, not on the cost", Shape::Measure),
    Field::new(&["tax_percent"], "tax %", "0 where there is none", Shape::Measure),
    Field::new(&["tax_on"], "tax on", "what it falls on", Shape::Choice(&["Materials", "Price"])),
    Field::new(&["waste", "fixtures"], "waste % fixtures", "bought beyond the count", Shape::Measure),
    Field::new(&["waste", "controls"], "waste % controls", "bought beyond the count", Shape::Measure),
    Field::new(&["waste", "boxes"], "waste % boxes", "bought beyond the count", Shape::Measure),
    Field::new(&["waste", "small_parts"], "waste % small", "bought beyond the count", Shape::Measure),
    Field::new(&["ceiling_box"], "ceiling box", "where a box names no type", Shape::Refer(Kind::BoxType)),
    Field::new(&["reels_on_hand"], "reels on hand", "cable and length left: 18-2 420 ft", Shape::Leftovers),
    Field::new(
        &["shared_route"],
        "shared route",
        "home runs from one panel to one room",
        Shape::Choice(&["Free", "OneReel", "SideBySide"]),
    ),
    Field::new(&["allowances"], "allowances", "words and sum: Chandelier 450.00 / Mirror 80", Shape::Sums),
    Field::new(&["by_others"], "by others", "lines, with / between", Shape::Lines),
    Field::new(&["exclusions"], "exclusions", "lines, with / between", Shape::Lines),
    Field::new(&["valid_until"], "valid until", "a day like 2026-05-01", Shape::Measure),
    Field::new(&["valid_days"], "valid days", "from the date on the sheet", Shape::Count),
];
