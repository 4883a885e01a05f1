//! The columns of the riser: where things stand by the width of the picture and the levels of the house.

use super::super::Weight;
use super::super::canvas::{Canvas, LineSet, Window};
use super::super::names::called;
use super::super::picture::Picture;
use super::draw::{HEADING, OUTPUT};
use crate::design::Design;
use crate::format::{self, Text};
use crate::job::{Kind, Subject};
use crate::network::{FeedAt, Lengths};
use std::collections::HashMap;

/// The columns of a load bar with its figure, where there is room for one.
pub(super) const BAR: i64 = 29;
const FIGURE: i64 = 10;
/// A picture of so many columns has room for load bars and names.
const WIDE: u16 = 110;
/// The columns of `2 loops, 12 lights` with its line, and the fewest that a box is shown in.
const COUNTS: i64 = 21;
pub(super) const LEAST_BOX: i64 = 12;
/// What parts one level from the next.
pub(super) const FLOOR: &str = ":";
/// The longest id that is shown whole.
const LONGEST_ID: usize = 10;

/// The columns in which things stand.
pub(super) struct Columns {
    /// The upright line of an output's runs.
    pub(super) runs: i64,
    /// The words of a home run.
    pub(super) cable: i64,
    /// The boxes on the lowest level; each level stands so much further to the right.
    pub(super) boxes: i64,
    pub(super) level: i64,
    /// The upright line of the loops.
    pub(super) loops: i64,
    pub(super) wide: bool,
}

impl Columns {
    pub(super) fn of(design: &Design, signs: &HashMap<&Subject, Weight>, width: u16) -> Self {
        let wide = width >= WIDE;
        let longest = |ids: &mut dyn Iterator<Item = usize>| {
            i64::try_from(ids.max().unwrap_or(0).min(LONGEST_ID)).unwrap_or(0)
        };
        let outputs = longest(&mut design.study.outputs.iter().map(|o| o.output.to_string().len()));
        let boxes_with_feeds = design.job.boxes.iter().enumerate();
        let feeds = boxes_with_feeds
            .flat_map(|(wall_box, entry)| (0..entry.feeds.len()).map(move |feed| FeedAt { wall_box, feed }));
        let cable = |at: FeedAt| {
            let feed = &design.job.boxes[at.wall_box].feeds[at.feed];
            let sign = signs.get(&Subject::new(Kind::Cable, &feed.id)).map_or("", |weight| weight.sign());
            cable_words(design, at).width() + sign.len()
        };
        let cables = feeds.map(cable).max().unwrap_or(0);
        let runs = OUTPUT + outputs + 1 + if wide { BAR } else { FIGURE } + 1;
        let cable = runs + 3;
        let boxes = cable + i64::try_from(cables).unwrap_or(0) + 4;
        let levels = i64::try_from(design.job.levels.len().saturating_sub(1)).unwrap_or(0);
        let level = match levels {
            0 => 0,
            some => ((i64::from(width) - boxes) / 3 / some).clamp(2, if wide { 14 } else { 6 }),
        };
        let last = boxes + levels * level;
        let rest = i64::from(width) - last;
        let words = if wide { rest / 2 } else { (rest - COUNTS).max(LEAST_BOX) };
        Self { runs, cable, boxes, level, loops: last + words, wide }
    }

    pub(super) fn of_level(&self, level: usize) -> i64 {
        self.boxes + self.level * i64::try_from(level).unwrap_or(0)
    }
}

/// The names of the levels above their columns.
pub(super) fn heading(design: &Design, columns: &Columns, width: u16, set: LineSet) -> Picture {
    let mut canvas = Canvas::new(Window { left: 0, top: 0, width, height: HEADING }, set);
    let lead = Text::from("panel, supply, output, home run");
    canvas.words(0, 0, &Text::from(lead.within(room(columns.boxes - 2)).as_ref()), Weight::Plain);
    let last = design.job.levels.len().saturating_sub(1);
    for (at, level) in design.job.levels.iter().enumerate() {
        let name = Text::from(called(&level.name, &level.id));
        let short = Text::from(level.id.as_str());
        let space = room(if at == last { i64::from(width) } else { columns.level - 1 });
        let name = if name.width() <= space { name } else { short };
        let text = Text::from(name.within(space).as_ref());
        let shape = canvas.words(columns.of_level(at), 0, &text, Weight::Plain);
        if let Some(shape) = shape {
            canvas.anchor(Subject::new(Kind::Level, &level.id), shape);
        }
    }
    canvas.finish()
}

pub(super) fn room(columns: i64) -> usize {
    usize::try_from(columns).unwrap_or(0)
}

/// A cable's id and length.
pub(super) fn cable_words(design: &Design, at: FeedAt) -> Text {
    let wall_box = &design.job.boxes[at.wall_box];
    let feed = &wall_box.feeds[at.feed];
    let length = Lengths::new(&design.job, &design.index).feed(wall_box, feed);
    let length =
        length.map_or_else(|| format::UNKNOWN.to_owned(), |l| l.length.shown(design.job.project.units));
    let id = Text::from(feed.id.as_str());
    Text::from(format!("{} {length}", id.within(LONGEST_ID)))
}
