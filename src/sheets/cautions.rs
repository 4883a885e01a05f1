//! What every sheet says, whatever is on it.

use crate::format::Text;
use crate::schedule::Table;

/// At the foot of every page, since pages get parted.
pub const EVERY_PAGE: &str = "Not a permit. Adopted local code and a licensed person decide. Verify on site.";

/// At the end of every sheet.
pub const EVERY_SHEET: [&str; 5] = [
    "This plan is no permit, approval or inspection. Class 2 wiring is done by the adopted local code, as the local \
     authority reads it, by or under a person licensed for it.",
    "Figures are computed from what was entered. Verify lengths, loads and parts on site, and against the makers' \
     instructions, before cutting, landing or energizing anything.",
    "Disconnect the supply, keep it from being switched on, and prove the wires dead before testing, cutting or \
     landing a conductor.",
    "Never make or break a live series string: the full voltage of its control stands across the gap.",
    "Copper conductors only, in terminals marked for their size and kind.",
];

/// What `?` means, on a sheet that has one.
pub const UNKNOWN: &str = "'?' means not known: something the figure depends on was not entered or could not be computed. It is not zero.";

/// What the signs beside a load bar mean.
pub const BARS: &str = "'!' beside a bar: above the target load, which '|' marks in the bar. OVER: above the limit of the output.";

/// What the sign at the end of a cell means.
pub const CUT: &str = "'~' means that the text goes on; it is whole in CSV.";

/// What `[ ]` is for.
pub const TICK: &str = "'[ ]' is a place to tick when done.";

/// What a line to write on is for.
pub const WRITE: &str = "'_______' is a place to write in what is not known yet, or what was found on site.";

/// The same where the box is drawn.
pub const TICK_DRAWN: &str = "An empty square is a place to tick when done.";

/// What stands beside a load bar that is drawn.
pub const BARS_DRAWN: &str = "'!' beside a bar: above the target load, which the line across the bar marks. OVER: above the limit of the output.";

/// What stands for a character that the fonts do not have.
pub const MISSING: &str =
    "'\u{fffd}' stands for a character that cannot be printed here; it is whole in CSV.";

/// The cautions of a sheet with these tables: their own, then those of every sheet, none twice.
pub fn of(tables: &[Table]) -> Vec<Text> {
    let general = EVERY_SHEET.iter().map(|line| Text::from(*line));
    let all = tables.iter().flat_map(|table| table.cautions.clone()).chain(general);
    all.fold(Vec::new(), |mut all, text| {
        if !all.contains(&text) {
            all.push(text);
        }
        all
    })
}
