//! A flag for each cable end.
//!
//! OUT stands on the end that leads away from the supply, IN on the end that comes from it, RET on the end of a loop
//! that comes back. The large line is the tag with that word, at most 12 characters, so that it is read on a label of
//! 1/2 by 1 in; beneath it stands what does not change while the house is built, and may be left off.

use super::names::called;
use super::{Cell, Column, Row, Section, Table};
use crate::design::Design;
use crate::job::wiring::{Loop, LoopPath, Source, WallBox};
use crate::job::{Id, Kind, LabelGrid, Subject};
use crate::plan::tags::Tags;
use serde::Serialize;
use std::collections::HashMap;

/// The most characters of a line beneath the tag.
const MOST_BENEATH: usize = 16;

/// The document of the sheet `tags`.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct TagSheet {
    /// Every flag, in pull order: both ends of a cable one after the other.
    pub flags: Vec<Flag>,
    /// Tags that the job does not hold yet and that may still change.
    pub not_stored: usize,
    /// The sheet of labels that the job is set to.
    pub labels: LabelSheet,
}

/// The sheet of labels in [`TagSheet`], in inches.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[expect(missing_docs, reason = "each is the setting of the same name")]
pub struct LabelSheet {
    pub columns: u8,
    pub rows: u8,
    pub width_in: f64,
    pub height_in: f64,
    pub left_in: f64,
    pub top_in: f64,
    pub gap_across_in: f64,
    pub gap_down_in: f64,
}

/// A flag in [`TagSheet`].
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Flag {
    /// The large line.
    pub flag: String,
    /// The tag without the word for the end.
    pub tag: String,
    /// `OUT`, `IN` or `RET`.
    pub end: &'static str,
    /// Lines beneath it, which may be left off.
    pub beneath: Vec<String>,
    /// The cable.
    pub cable: String,
    /// Where the flag is put: a panel, a wall box or a ceiling box.
    pub at: String,
    /// The room of that.
    pub room: String,
    /// Whether the job holds the tag.
    pub stored: bool,
    /// `home-run`, `loop` or `link`.
    pub kind: &'static str,
}

/// Where an end is.
struct End<'a> {
    word: &'static str,
    at: &'a Id,
    room: &'a Id,
    beneath: [String; 2],
}

struct Flags<'a> {
    design: &'a Design,
    tags: Tags,
    all: Vec<Flag>,
}

impl Flags<'_> {
    fn add(&mut self, kind: &'static str, of: (Kind, &Id), cable: &Id, end: &End<'_>) {
        let Some(given) = self.tags.get(of.0, of.1) else { return };
        let beneath = end.beneath.iter().filter(|line| !line.is_empty());
        self.all.push(Flag {
            flag: format!("{} {}", given.tag, end.word),
            tag: given.tag.to_string(),
            end: end.word,
            beneath: beneath.map(|line| line.chars().take(MOST_BENEATH).collect()).collect(),
            cable: cable.to_string(),
            at: end.at.to_string(),
            room: end.room.to_string(),
            stored: given.stored,
            kind,
        });
    }

    /// The tag of a cable as others name it, else its id.
    fn tag_of(&self, cable: &Id) -> String {
        self.tags.get(Kind::Cable, cable).map_or_else(|| cable.to_string(), |given| given.tag.to_string())
    }

    fn room_words(&self, room: &Id) -> String {
        let room_of = self.design.index.room(&self.design.job, room);
        room_of.map_or_else(|| room.to_string(), |(_, entry)| called(&entry.name, &entry.id))
    }

    fn feeds(&mut self, wall_box: &WallBox) {
        let job = &self.design.job;
        for feed in &wall_box.feeds {
            let (kind, from, from_room) = match &feed.from {
                Source::Output(output) => match self.design.index.supply(job, &output.supply) {
                    Some((panel, _)) => ("home-run", &panel.id, &panel.room),
                    None => continue,
                },
                Source::Panel(panel) => match self.design.index.panel(job, panel) {
                    Some(panel) => ("home-run", &panel.id, &panel.room),
                    None => continue,
                },
                Source::Onward(from) => match self.design.index.feed(job, from) {
                    Some((from, _)) => ("link", &from.id, &from.room),
                    None => continue,
                },
            };
            let of = (Kind::Cable, &feed.id);
            let beneath = [format!("to {}", wall_box.id), self.room_words(&wall_box.room)];
            self.add(kind, of, &feed.id, &End { word: "OUT", at: from, room: from_room, beneath });
            let beneath = [format!("from {from}"), self.room_words(&wall_box.room)];
            self.add(
                kind,
                of,
                &feed.id,
                &End { word: "IN", at: &wall_box.id, room: &wall_box.room, beneath },
            );
        }
    }

    fn wired_loop(&mut self, wall_box: &WallBox, run: &Loop) {
        let of = (Kind::Cable, &run.id);
        let tag = self.tag_of(&run.id);
        let beneath = ["loop".to_owned(), self.room_words(&wall_box.room)];
        self.add("loop", of, &run.id, &End { word: "OUT", at: &wall_box.id, room: &wall_box.room, beneath });
        let last = run.ceiling.len().saturating_sub(1);
        for (nth, ceiling) in run.ceiling.iter().enumerate() {
            let room = ceiling.room.as_ref().unwrap_or(&wall_box.room);
            // The last box of a loop that ends has one cable end.
            let ends = if nth == last && !run.path.returns() { &["IN"][..] } else { &["IN", "OUT"] };
            for word in ends {
                let beneath = [format!("of {tag}"), self.room_words(room)];
                let end = End { word, at: &ceiling.id, room, beneath };
                self.add("loop", (Kind::Fixture, &ceiling.id), &run.id, &end);
            }
        }
        if run.path.returns() && !run.ceiling.is_empty() {
            let home = run.returns_to.as_ref().and_then(|id| self.design.index.control(&self.design.job, id));
            let home = home.map_or(wall_box, |(home, _)| home);
            let capped = if run.path == LoopPath::ReturnedCapped { "CAPPED" } else { "loop back" };
            let beneath = [capped.to_owned(), self.room_words(&home.room)];
            self.add("loop", of, &run.id, &End { word: "RET", at: &home.id, room: &home.room, beneath });
        }
    }

    fn links(&mut self) {
        let job = &self.design.job;
        for link in job.groups.iter().flat_map(|group| &group.links) {
            let end = |control: &Id| self.design.index.control(job, control).map(|(wall_box, _)| wall_box);
            let (Some(from), Some(to)) = (end(&link.from), end(&link.to)) else { continue };
            for (word, at, other) in
                [("OUT", from, format!("to {}", to.id)), ("IN", to, format!("from {}", from.id))]
            {
                let beneath = [other, "link".to_owned()];
                self.add(
                    "link",
                    (Kind::Cable, &link.id),
                    &link.id,
                    &End { word, at: &at.id, room: &at.room, beneath },
                );
            }
        }
    }
}

fn flags(design: &Design) -> (Vec<Flag>, (usize, usize)) {
    let mut flags = Flags { design, tags: Tags::of(&design.job), all: Vec::new() };
    for wall_box in &design.job.boxes {
        flags.feeds(wall_box);
    }
    for wall_box in &design.job.boxes {
        for run in wall_box.controls.iter().flat_map(|control| &control.loops) {
            flags.wired_loop(wall_box, run);
        }
    }
    flags.links();
    // The same order as that of the cable schedule, so that the two are read side by side.
    let cables = super::cables::document(design).cables;
    let order: HashMap<&str, usize> =
        cables.iter().enumerate().map(|(at, cable)| (cable.tag.as_str(), at)).collect();
    flags.all.sort_by_key(|flag| order.get(flag.cable.as_str()).copied());
    let unstored = flags.tags.unstored();
    (flags.all, unstored)
}

/// The document for machines.
pub fn document(design: &Design) -> TagSheet {
    let (flags, (not_stored, _)) = flags(design);
    let LabelGrid { columns, rows, width, height, left, top, gap_across, gap_down } =
        design.job.settings.labels;
    let inches = |length: crate::units::Length| length.feet() * 12.0;
    TagSheet {
        flags,
        not_stored,
        labels: LabelSheet {
            columns: columns.get(),
            rows: rows.get(),
            width_in: inches(width),
            height_in: inches(height),
            left_in: inches(left),
            top_in: inches(top),
            gap_across_in: inches(gap_across),
            gap_down_in: inches(gap_down),
        },
    }
}

/// The flags as a list, and as what a label printer takes: a column for each line of the label.
pub fn table(design: &Design) -> Table {
    let (flags, (not_stored, all)) = flags(design);
    let mut table = Table::new(
        "tags",
        "Tags for cable ends",
        vec![
            Column::text("done", "").width(3, 3).yields(4),
            Column::text("flag", "flag").width(12, 12),
            Column::text("line_2", "beneath").width(8, 16),
            Column::text("line_3", "").width(8, 16),
            Column::text("at", "put on\nthe cable at").width(6, 12),
            Column::text("room", "in room").width(8, 24).grow().yields(1),
            Column::text("stored", "stored").width(6, 6).yields(2),
        ],
    );
    if not_stored > 0 {
        table.lead.push(
            format!(
                "{not_stored} of {all} tags are NOT STORED yet and may still change. Before flags are made, print with \
                 --write, which stores them for good."
            )
            .into(),
        );
    }
    let headings = [("home-run", "Home runs"), ("loop", "Loops"), ("link", "Links and onward feeds")];
    for (kind, heading) in headings {
        let of_kind: Vec<&Flag> = flags.iter().filter(|flag| flag.kind == kind).collect();
        if of_kind.is_empty() {
            continue;
        }
        let rows = of_kind.iter().enumerate().map(|(nth, flag)| {
            let same = nth > 0 && of_kind.get(nth - 1).is_some_and(|before| before.cable == flag.cable);
            row(design, flag, same)
        });
        table = table.with_section(Section::headed(heading, rows.collect()).keyed(kind));
    }
    table.notes.push(
        "OUT leads away from the panel, IN comes from it, RET is the end of a loop that comes back. The last box of a \
         loop that ends there has one cable end, IN."
            .into(),
    );
    table.notes.push(
        "One flag for each cable end, both ends of a cable one after the other. A stored tag is never changed, whatever \
         comes to the house or goes."
            .into(),
    );
    table
}

fn row(design: &Design, flag: &Flag, same_cable: bool) -> Row {
    let line = |at: usize| flag.beneath.get(at).map_or(Cell::Blank, |line| Cell::from(line.as_str()));
    let room = Id::new(&flag.room).ok().and_then(|id| design.index.room(&design.job, &id));
    let room = room.map_or_else(|| flag.room.clone(), |(_, room)| called(&room.name, &room.id));
    let row = Row::new(vec![
        Cell::Tick,
        Cell::from(flag.flag.as_str()),
        line(0),
        line(1),
        Cell::from(flag.at.as_str()),
        Cell::from(room),
        Cell::text(if flag.stored { "yes" } else { "no" }),
    ])
    .about(Subject::new(Kind::Cable, &flag.cable));
    if same_cable { row.beneath() } else { row }
}
