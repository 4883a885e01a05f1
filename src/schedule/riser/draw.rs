//! Draws the lines of the riser that a window shows.

use super::super::canvas::{Canvas, LineSet, Stroke, Window};
use super::super::names::{called, room_of};
use super::super::picture::{Picture, Shape};
use super::super::plan::signs;
use super::super::{Cell, Weight};
use super::columns::{BAR, Columns, FLOOR, LEAST_BOX, cable_words, heading, room};
use super::{End, Head, Line, Middle, Riser};
use crate::design::Design;
use crate::format::{self, Text};
use crate::job::wiring::{Loop, LoopPath, WallBox};
use crate::job::{Id, Kind, Spot, Subject};
use crate::network::{FeedAt, Lengths};
use std::collections::HashMap;

/// Lines of the heading.
pub(super) const HEADING: u16 = 1;
/// The column of the upright line of a panel, of a supply, and of the words of an output.
const PANEL: i64 = 0;
const SUPPLY: i64 = 4;
pub(super) const OUTPUT: i64 = 7;
struct Drawing<'a> {
    design: &'a Design,
    riser: &'a Riser,
    columns: Columns,
    signs: HashMap<&'a Subject, Weight>,
    canvas: Canvas,
    width: i64,
}

impl Riser {
    /// Draws the lines from `top` on into a picture of that size, beneath a heading that names the levels.
    pub fn draw(&self, design: &Design, top: usize, width: u16, height: u16, set: LineSet) -> Picture {
        let mut picture = Picture::new(width, height);
        let signs = signs(design);
        let columns = Columns::of(design, &signs, width);
        let head = heading(design, &columns, width, set);
        let body = height.saturating_sub(HEADING);
        let canvas = Canvas::new(Window { left: 0, top: 0, width, height: body }, set);
        let mut drawing = Drawing { design, riser: self, columns, signs, canvas, width: i64::from(width) };
        for (line, y) in self.lines.iter().skip(top).zip(0..i64::from(body)) {
            drawing.line(line, y);
        }
        let body = drawing.canvas.finish();
        picture.inset(&head, 0, 0);
        picture.inset(&body, 0, HEADING);
        picture.legend = legend(design, set);
        picture
    }
}

fn legend(design: &Design, set: LineSet) -> Vec<Text> {
    let (double, single) = match set {
        LineSet::Ascii => ('=', '-'),
        LineSet::Cp437 => ('═', '─'),
    };
    let mut legend = vec![
        Text::from(format!("{double} home run or onward feed")),
        Text::from(format!("{single} loop or link")),
        "percent of the output's limit, at full level".into(),
        "! !! see the findings".into(),
        "? not known".into(),
    ];
    if design.job.levels.len() > 1 {
        legend.push(Text::from(format!(
            "{FLOOR} between the levels: a box stands on the level named above it"
        )));
    }
    legend
}

impl Drawing<'_> {
    fn weight(&self, subject: &Subject) -> Weight {
        self.signs.get(subject).copied().unwrap_or_default()
    }

    /// Writes words about a thing in at most so many columns, its sign before them; gives the column after them.
    fn thing(&mut self, x: i64, y: i64, most: i64, subject: Subject, weight: Weight, words: &str) -> i64 {
        let text = Text::from(format!("{}{words}", weight.sign()));
        let text = Text::from(text.within(room(most.min(self.width - x).max(1))).as_ref());
        if let Some(shape) = self.canvas.words(x, y, &text, weight) {
            self.canvas.anchor(subject, shape);
        }
        x + i64::try_from(text.width()).unwrap_or(0)
    }

    fn line(&mut self, line: &Line, y: i64) {
        // What begins in a line has nothing above it.
        let begins = matches!(line.head, Head::Output { .. } | Head::Waiting);
        for (passes, x, begins) in [
            (line.panel_passes, PANEL, false),
            (line.supply_passes, SUPPLY, false),
            (line.output_passes, self.columns.runs, begins),
        ] {
            if passes {
                self.canvas.down(x, if begins { y } else { y - 1 }, y + 1, Stroke::Double);
            }
        }
        for &(feed, stroke) in &line.onward_passes {
            let x = self.box_column(feed);
            self.canvas.down(x, y - 1, y + 1, stroke);
        }
        let from = self.head(line, y);
        match line.middle {
            Middle::None => {}
            Middle::Feed { feed, last } => self.feed(line, y, feed, last, from),
            Middle::Link { group, link, from, wall_box, last } => {
                self.link(y, (group, link), from, wall_box, last);
            }
            Middle::Box(wall_box) => self.alone(y, wall_box),
        }
        if let (Middle::None, End::Loop { .. }) = (line.middle, line.end) {
            self.end(line, y, self.columns.loops);
        }
        for level in 1..self.design.job.levels.len() {
            let x = self.columns.of_level(level) - 2;
            if !self.canvas.has_words(x, y) && !self.canvas.has_words(x - 1, y) {
                self.canvas.floor(x, y, &FLOOR.into());
            }
        }
    }

    /// A branch to the right from an upright line that comes from above.
    fn branch(&mut self, x: i64, to: i64, y: i64, stroke: Stroke, goes_on: bool) {
        self.canvas.down(x, y - 1, if goes_on { y + 1 } else { y }, stroke);
        self.canvas.across(y, x, to, stroke);
    }

    /// The left of a line; gives the column from which its first run goes on.
    fn head(&mut self, line: &Line, y: i64) -> Option<i64> {
        let (design, job) = (self.design, &self.design.job);
        match line.head {
            Head::None => None,
            Head::Panel(at) => {
                let (panel, study) = (&job.panels[at], design.study.panels.get(at));
                let subject = Subject::new(Kind::Panel, &panel.id);
                let place = design.index.room(job, &panel.room);
                let place = place.map(|(level, room)| {
                    format!(", {}, {}", called(&room.name, &room.id), called(&level.name, &level.id))
                });
                let loads = study.map(|study| {
                    format!(": AC {}, {}", format::watts(study.ac_watts), format::amps(study.ac_amps))
                });
                let words = format!(
                    "{} {}{}{}",
                    panel.id,
                    panel.name,
                    place.unwrap_or_default(),
                    loads.unwrap_or_default()
                );
                let weight = self.weight(&subject);
                self.thing(PANEL, y, self.width, subject, weight, &words);
                None
            }
            Head::Supply { panel, supply, last } => {
                let supply = &job.panels[panel].supplies[supply];
                let subject = Subject::new(Kind::Supply, &supply.id);
                self.branch(PANEL, PANEL + 1, y, Stroke::Double, !last);
                let part = design.index.supply_type(job, &supply.part);
                let slot = supply.slot.map_or_else(|| "in no slot".to_owned(), |slot| format!("slot {slot}"));
                let words = format!(
                    "{} {}, {slot}",
                    supply.id,
                    part.map_or_else(|| supply.part.to_string(), |part| called(&part.name, &part.id))
                );
                let weight = self.weight(&subject);
                self.thing(SUPPLY - 1, y, self.width, subject, weight, &words);
                None
            }
            Head::Output { output, last } => {
                let study = &design.study.outputs[output];
                let subject = Subject::new(Kind::Output, &study.output);
                self.branch(SUPPLY, OUTPUT - 2, y, Stroke::Double, !last);
                let free = study.runs.is_empty();
                let target = job.settings.target_load_percent.get();
                let bar = Cell::bar(study.percent, target);
                let most = self.columns.runs - OUTPUT - 1;
                let load = if free {
                    "free".to_owned()
                } else if self.columns.wide {
                    bar.fitted(job.project.units, room(BAR), false)
                } else {
                    format!("{}{}", bar.weight().sign(), format::percent(study.percent))
                };
                // A load over its target has its own sign; what else is found has one too.
                let weight = self.weight(&subject).max(bar.weight());
                let id = Text::from(study.output.to_string());
                let after = OUTPUT + i64::try_from(id.width()).unwrap_or(0) + 1;
                let text = Text::from(format!("{id} {load}"));
                let text = Text::from(text.within(room(most.min(self.width - OUTPUT).max(1))).as_ref());
                let shape = if self.columns.wide && !free {
                    // In one with its bar on a screen, apart where the bar is drawn.
                    let load =
                        Text::from(Text::from(load).within(room(self.columns.runs - after - 1)).as_ref());
                    self.canvas.load(after, y, &bar, &load, weight);
                    self.canvas.words(OUTPUT, y, &id, weight)
                } else {
                    self.canvas.words(OUTPUT, y, &text, weight)
                };
                if let Some(shape) = shape {
                    self.canvas.anchor(subject, widened(shape, &text));
                }
                Some(OUTPUT + i64::try_from(text.width()).unwrap_or(0) + 1)
            }
            Head::Waiting => {
                self.branch(PANEL, PANEL + 1, y, Stroke::Double, false);
                let text = Text::from("on no output");
                self.canvas.words(PANEL + 3, y, &text, Weight::Caution);
                Some(PANEL + 4 + i64::try_from(text.width()).unwrap_or(0))
            }
            Head::Alone => {
                self.canvas.words(PANEL, y, &"nothing feeds".into(), Weight::Plain);
                None
            }
        }
    }

    /// The column of the box that a feed comes to: that of its level, or further right where it goes onward.
    fn box_column(&self, feed: FeedAt) -> i64 {
        let wall_box = &self.design.job.boxes[feed.wall_box];
        let of_level = self.columns.of_level(self.level_of(&wall_box.room));
        let mut way = Vec::new();
        let mut at = feed;
        while let Some(parent) = self.riser.parents.get(&at) {
            way.push((at, *parent));
            at = *parent;
        }
        // From the home run outwards: each onward feed begins beneath the box before it.
        way.iter()
            .rev()
            .fold(None, |before: Option<i64>, (at, parent)| {
                let begin = before.unwrap_or_else(|| {
                    self.columns.of_level(self.level_of(&self.design.job.boxes[parent.wall_box].room))
                });
                let words = i64::try_from(cable_words(self.design, *at).width()).unwrap_or(0);
                let level = self.columns.of_level(self.level_of(&self.design.job.boxes[at.wall_box].room));
                Some(level.max(begin + 3 + words + 4))
            })
            .unwrap_or(of_level)
    }

    fn level_of(&self, room: &Id) -> usize {
        match self.design.index.spot(Kind::Room, room) {
            Some(Spot::Room { level, .. }) => level,
            _ => 0,
        }
    }

    fn feed(&mut self, line: &Line, y: i64, at: FeedAt, last: bool, from: Option<i64>) {
        let wall_box = &self.design.job.boxes[at.wall_box];
        let feed = &wall_box.feeds[at.feed];
        let cable = Subject::new(Kind::Cable, &feed.id);
        let words = cable_words(self.design, at);
        let boxes = self.box_column(at);
        let (trunk, begin) = match self.riser.parents.get(&at) {
            Some(parent) => {
                let trunk = self.box_column(*parent);
                (trunk, trunk + 3)
            }
            None => (self.columns.runs, self.columns.cable),
        };
        if let Some(from) = from {
            self.canvas.across(y, from, begin - 2, Stroke::Double);
            if line.output_passes {
                self.canvas.down(trunk, y, y + 1, Stroke::Double);
            }
        } else {
            self.branch(trunk, begin - 2, y, Stroke::Double, !last);
        }
        let weight = self.weight(&cable);
        let after = self.thing(begin, y, boxes - begin - 2, cable, weight, words.as_str());
        self.canvas.across(y, after + 1, boxes - 2, Stroke::Double);
        let onward_of = self.design.network.run_of_feed.get(&at).copied();
        let study = onward_of.and_then(|(run, _)| self.design.study.run(&self.design.network, run));
        let figure = match onward_of {
            // The watts of a run belong to its home run; what goes onward is part of them.
            Some((_, 0)) => format::watts(study.and_then(|study| study.source_watts)),
            _ => format::volts(study.zip(onward_of).and_then(|(s, (_, nth))| s.feed_volts.get(nth)?.1)),
        };
        let subject = Subject::new(Kind::WallBox, &wall_box.id);
        let weight = self.weight(&subject);
        let name = if wall_box.name.trim().is_empty() {
            room_of(self.design, wall_box).map(|room| called(&room.name, &room.id)).unwrap_or_default()
        } else {
            wall_box.name.clone()
        };
        let aside = wall_box
            .allowance_watts
            .map(|watts| format!(", {} set aside", format::watts(Some(watts.get()))))
            .unwrap_or_default();
        let loops = self.columns.loops.max(boxes + LEAST_BOX + 2);
        let most = if line.end == End::None { self.width } else { loops - boxes - 2 };
        let words = format!("{} {figure}{aside} {name}", wall_box.id);
        let after = self.thing(boxes, y, most, subject, weight, &words);
        if line.end != End::None {
            self.canvas.across(y, after + 1, loops, Stroke::Single);
            self.end(line, y, loops);
        }
    }

    fn link(&mut self, y: i64, at: (usize, usize), from: FeedAt, wall_box: usize, last: bool) {
        let job = &self.design.job;
        let link = &job.groups[at.0].links[at.1];
        let wall_box = &job.boxes[wall_box];
        let trunk = self.box_column(from);
        self.branch(trunk, trunk + 1, y, Stroke::Single, !last);
        let length = Lengths::new(job, &self.design.index).link(link);
        let length = length.map_or_else(|| format::UNKNOWN.to_owned(), |l| l.length.shown(job.project.units));
        let subject = Subject::new(Kind::Cable, &link.id);
        let weight = self.weight(&subject);
        let after = self.thing(trunk + 3, y, 22, subject, weight, &format!("{} {length}", link.id));
        self.canvas.across(y, after + 1, after + 2, Stroke::Single);
        let subject = Subject::new(Kind::WallBox, &wall_box.id);
        let weight = self.weight(&subject);
        let words = format!("{} {}, by link only", wall_box.id, wall_box.name);
        self.thing(after + 4, y, self.width, subject, weight, &words);
    }

    fn alone(&mut self, y: i64, at: usize) {
        let wall_box = &self.design.job.boxes[at];
        let subject = Subject::new(Kind::WallBox, &wall_box.id);
        let weight = self.weight(&subject);
        let loops = wall_box.controls.iter().flat_map(|control| &control.loops);
        let words = format!("{} {}: {}", wall_box.id, wall_box.name, counts(self.design, wall_box, loops));
        self.thing(
            self.columns.of_level(self.level_of(&wall_box.room)),
            y,
            self.width,
            subject,
            weight,
            &words,
        );
    }

    fn end(&mut self, line: &Line, y: i64, x: i64) {
        let (Some(on), job) = (line.on, &self.design.job) else { return };
        let x = x.max(self.box_column(on) + LEAST_BOX + 2);
        match line.end {
            End::None => {}
            End::Count => {
                let controls = job.boxes[on.wall_box].controls.iter();
                let feed = &job.boxes[on.wall_box].feeds[on.feed].id;
                let mine = controls.filter(|c| c.on.as_ref().is_none_or(|named| named.same(feed)));
                let text =
                    Text::from(counts(self.design, &job.boxes[on.wall_box], mine.flat_map(|c| &c.loops)));
                self.canvas.words(x + 2, y, &text, Weight::Plain);
            }
            End::Loop { at, first, last } => {
                let control = &job.boxes[at.control.wall_box].controls[at.control.control];
                let run = &control.loops[at.at];
                let subject = Subject::new(Kind::Cable, &run.id);
                if first {
                    if !last {
                        self.canvas.down(x, y, y + 1, Stroke::Single);
                    }
                    self.canvas.across(y, x, x + 1, Stroke::Single);
                } else {
                    self.branch(x, x + 1, y, Stroke::Single, !last);
                }
                let weight = self.weight(&subject);
                let name = if run.name.trim().is_empty() { &control.name } else { &run.name };
                let ends = if run.path == LoopPath::OneWay { "" } else { ", returned" };
                let words = format!(
                    "{} {}{ends} {name}",
                    run.id,
                    lights(self.design, &job.boxes[at.control.wall_box], std::iter::once(run))
                );
                self.thing(x + 3, y, self.width, subject, weight, &words);
            }
        }
    }
}

/// The cells of the first words of a line that stand for all of them.
fn widened(shape: Shape, text: &Text) -> Shape {
    match shape {
        Shape::Words { at, width } => {
            Shape::Words { at, width: u16::try_from(text.width()).unwrap_or(width).max(width) }
        }
        line @ Shape::Line(_) => line,
    }
}

fn lights<'a>(design: &Design, wall_box: &WallBox, loops: impl Iterator<Item = &'a Loop>) -> String {
    match loops.map(|wired| crate::schedule::names::lights_of(design, wall_box, wired)).sum::<usize>() {
        1 => "1 light".into(),
        count => format!("{count} lights"),
    }
}

fn counts<'a>(design: &Design, wall_box: &WallBox, loops: impl Iterator<Item = &'a Loop> + Clone) -> String {
    match loops.clone().count() {
        0 => "no loops".into(),
        1 => format!("1 loop, {}", lights(design, wall_box, loops)),
        count => format!("{count} loops, {}", lights(design, wall_box, loops)),
    }
}
