//! The plan of a level, drawn to a scale: rooms, routes and things where they are, names where there is room for them.

use super::block::Block;
use super::face::{Face, LINE};
use super::form::{Form, Turn};
use super::ink::{Fill, Ink};
use super::sketch::{SIGNS, Sign, explained, line};
use crate::format::Text;
use crate::schedule::Weight;
use crate::schedule::canvas::Stroke;
use crate::schedule::plan::{Plan, Thing, ThingKind, letter};
use crate::sheets::since::MARK;
use crate::units::LengthUnit;
use std::collections::BTreeSet;

/// Ticks of 100 nm in a foot and in a metre.
const FOOT: f32 = 3_048_000.0;
const METRE: f32 = 10_000_000.0;
/// The scales that a scale rule has, larger first: points of paper to a foot or a metre, with their names.
const IN_FEET: [(f32, &str); 7] = [
    (36.0, "1/2 in = 1 ft"),
    (27.0, "3/8 in = 1 ft"),
    (18.0, "1/4 in = 1 ft"),
    (13.5, "3/16 in = 1 ft"),
    (9.0, "1/8 in = 1 ft"),
    (6.75, "3/32 in = 1 ft"),
    (4.5, "1/16 in = 1 ft"),
];
const IN_METRES: [(f32, &str); 6] = [
    (113.39, "1:25"),
    (56.693, "1:50"),
    (37.795, "1:75"),
    (28.346, "1:100"),
    (18.898, "1:150"),
    (14.173, "1:200"),
];
/// The sizes of names, and of the letter in a fixture's sign.
const NAME: f32 = 8.0;
const ROOM: f32 = 9.0;
const LETTER: f32 = 7.5;
/// Half the size of the signs.
const SIGN: f32 = 4.6;
/// Free round the drawing, for signs and names at its edge.
const EDGE: f32 = 16.0;

/// A place on paper: left, top, right, bottom.
type Place = [f32; 4];

/// The level on as many pages as it takes to be readable, each a block as high as the page gives room for.
pub(super) struct Drawn {
    pub(super) turn: Turn,
    pub(super) pages: Vec<Block>,
    pub(super) notes: Vec<Text>,
}

#[derive(Clone, Copy)]
struct Scale {
    /// Points to a tick.
    points: f32,
    name: &'static str,
    low: (i64, i64),
    high: (i64, i64),
    unit: LengthUnit,
}

impl Scale {
    #[expect(clippy::cast_precision_loss, reason = "a place in a house to a part of a point")]
    fn at(&self, (x, y): (i64, i64)) -> (f32, f32) {
        let across = x.saturating_sub(self.low.0) as f32 * self.points;
        // Places go up the plan, paper goes down.
        let down = self.high.1.saturating_sub(y) as f32 * self.points;
        (EDGE + across, EDGE + down)
    }

    fn size(&self) -> (f32, f32) {
        let (right, bottom) = self.at((self.high.0, self.low.1));
        (right + EDGE, bottom + EDGE)
    }
}

/// The largest scale at which a level fits on a page, and which way the page lies; the smallest there is where none does.
fn scale(plan: &Plan, unit: LengthUnit, form: Form, room: &dyn Fn(Turn) -> (f32, f32)) -> (Scale, Turn) {
    let (low, high) = plan.bounds().unwrap_or(((0, 0), (0, 0)));
    let (scales, per): (&[(f32, &'static str)], f32) = match unit {
        LengthUnit::Feet => (&IN_FEET, FOOT),
        LengthUnit::Metres => (&IN_METRES, METRE),
    };
    let turns = form.turns();
    let of = |(points, name): (f32, &'static str)| Scale { points: points / per, name, low, high, unit };
    for &scale in scales {
        for &turn in &turns {
            let (drawn, (width, height)) = (of(scale).size(), room(turn));
            if drawn.0 <= width && drawn.1 <= height {
                return (of(scale), turn);
            }
        }
    }
    let smallest = scales.last().copied().unwrap_or((4.5, ""));
    (of(smallest), turns.last().copied().unwrap_or(Turn::Landscape))
}

/// Draws a level for paper of that form, in what `above` and the explanation of its signs leave of a page.
pub(super) fn draw(plan: &Plan, unit: LengthUnit, form: Form, above: f32) -> Drawn {
    let signs = signs(plan);
    let room = |turn: Turn| {
        let (width, height) = form.inside(turn);
        (width, height - above - explained(&signs, width).height - 2.0 * SIGNS - 30.0)
    };
    let (scale, turn) = scale(plan, unit, form, &room);
    let mut drawing = Drawing { scale, taken: Vec::new(), unnamed: Vec::new(), ink: Vec::new() };
    drawing.all(plan);
    let mut notes = Vec::new();
    if let Some(words) = plan.unplaced_words() {
        notes.push(Text::from(format!("Not drawn, {words}")));
    }
    notes.extend(plan.said().cloned());
    if !drawing.unnamed.is_empty() {
        notes.push(Text::from(format!(
            "Drawn without a name for want of room: {}",
            drawing.unnamed.join(", ")
        )));
    }
    let legend = |width| Block { holds_next: false, ..explained(&signs, width) };
    let pages = tiles(&drawing.ink, scale, room(turn), &legend(form.inside(turn).0));
    Drawn { turn, pages, notes }
}

/// Cuts a drawing into pages, with some of each neighbor on both, each with scale and signs beneath.
fn tiles(ink: &[Ink], scale: Scale, (width, height): (f32, f32), legend: &Block) -> Vec<Block> {
    let (wide, high) = scale.size();
    let overlap = 2.0 * EDGE;
    let starts = |whole: f32, part: f32| {
        let mut starts = vec![0.0_f32];
        // No house takes more pages than this; the bound holds for places typed wrong.
        while starts.last().is_some_and(|last| last + part < whole) && starts.len() < 12 {
            let next = starts.last().copied().unwrap_or(0.0) + (part - overlap).max(part / 2.0);
            starts.push(next);
        }
        starts
    };
    let (rows, columns) = (starts(high, height), starts(wide, width));
    let many = rows.len() * columns.len() > 1;
    let mut pages = Vec::new();
    for (down, top) in rows.iter().enumerate() {
        for (across, left) in columns.iter().enumerate() {
            let shown = (wide - left).min(width);
            let deep = (high - top).min(height);
            let within = [*left, *top, left + shown, top + deep];
            let part = ink.iter().filter_map(|ink| clipped(ink, within));
            let part = part.map(|ink| ink.moved(-left + ((width - shown) / 2.0).max(0.0), -top));
            let mut block = Block { ink: part.collect(), height: deep, holds_next: true, ..Block::default() };
            let words = if many {
                format!(
                    "part {} of {}, from the left and downwards; ",
                    down * columns.len() + across + 1,
                    rows.len() * columns.len()
                )
            } else {
                String::new()
            };
            block.ink.extend(ruler(scale, block.height, &words, width));
            block.height += 2.0 * SIGNS + 12.0;
            let under: Vec<Ink> =
                legend.ink.iter().cloned().map(|ink| ink.moved(0.0, block.height)).collect();
            block.ink.extend(under);
            block.height += legend.height;
            block.holds_next = false;
            pages.push(block);
        }
    }
    pages
}

/// A rule to measure with, and what the scale is when paper is printed at its size.
fn ruler(scale: Scale, top: f32, before: &str, width: f32) -> Vec<Ink> {
    let (per, steps, name) = match scale.unit {
        LengthUnit::Feet => (FOOT, [0, 5, 10, 20], "ft"),
        LengthUnit::Metres => (METRE, [0, 1, 2, 5], "m"),
    };
    let y = top + 8.0;
    let at = |step: i32| f32::from(i16::try_from(step).unwrap_or(0)) * per * scale.points;
    let mut ink = vec![Ink::rule(0.0, y, at(steps[3]), 1.0)];
    for step in steps {
        let x = at(step);
        ink.push(Ink::Line { from: (x, y - 4.0), to: (x, y), thick: 1.0, dash: None });
        let words = if step == steps[3] { format!("{step} {name}") } else { step.to_string() };
        ink.push(Ink::words(x, y + 1.0, &words, NAME, Face::Regular));
    }
    let words = format!("{before}scale {} when printed at full size", scale.name);
    let x = at(steps[3]) + 40.0;
    let words = Face::Regular.within(&words, SIGNS, width - x);
    ink.push(Ink::words(x, y - 6.0, &words, SIGNS, Face::Regular));
    ink
}

/// What of some ink is within a part of the drawing.
fn clipped(ink: &Ink, [left, top, right, bottom]: Place) -> Option<Ink> {
    let inside = |[l, t, r, b]: Place| l >= left && r <= right && t >= top && b <= bottom;
    match ink {
        // Routes and walls are straight up or across.
        Ink::Line { from, to, thick, dash } => {
            let x = (from.0.clamp(left, right), to.0.clamp(left, right));
            let y = (from.1.clamp(top, bottom), to.1.clamp(top, bottom));
            let outside = from.0.max(to.0) < left
                || from.0.min(to.0) > right
                || from.1.max(to.1) < top
                || from.1.min(to.1) > bottom;
            (!outside).then_some(Ink::Line { from: (x.0, y.0), to: (x.1, y.1), thick: *thick, dash: *dash })
        }
        Ink::Words { x, y, text, size, face } => {
            inside([*x, y - size * 0.76, x + face.width(text, *size), y + size * 0.24]).then(|| ink.clone())
        }
        Ink::Area { at, size, .. } => inside([at.0, at.1, at.0 + size.0, at.1 + size.1]).then(|| ink.clone()),
        Ink::Disc { at, radius, .. } => {
            inside([at.0 - radius, at.1 - radius, at.0 + radius, at.1 + radius]).then(|| ink.clone())
        }
    }
}

/// What the signs of a level mean.
fn signs(plan: &Plan) -> Vec<(Sign, Text)> {
    let mut signs: Vec<(Sign, Text)> = Vec::new();
    let kinds: BTreeSet<ThingKind> = plan.things().iter().map(|thing| thing.kind).collect();
    for kind in &kinds {
        let words = match kind {
            ThingKind::Panel => "panel".to_owned(),
            ThingKind::WallBox { from_below: false } => "wall box".into(),
            ThingKind::WallBox { from_below: true } => "wall box fed from below".into(),
            ThingKind::Fixture(at) => plan.types().get(*at).map_or_else(
                || "fixture of another type".into(),
                |(name, count)| format!("{name} ({count})"),
            ),
            ThingKind::Open => "fixture still open".into(),
            ThingKind::Empty => "box without fixture".into(),
            ThingKind::Rise => "goes up a level".into(),
        };
        signs.push((Sign::Drawn(sign(*kind, (5.0, 5.0))), words.into()));
    }
    let strokes = [(Stroke::Double, "home run or onward feed"), (Stroke::Single, "loop or link")];
    for (stroke, words) in strokes {
        if plan.routes().iter().any(|route| route.stroke == stroke) {
            signs.push((Sign::Line(stroke), words.into()));
        }
    }
    if plan.rooms().iter().any(|room| room.measured) {
        signs.push((Sign::Line(Stroke::Wall), "wall".into()));
    }
    if plan.rooms().iter().any(|room| !room.measured) {
        signs.push((Sign::Line(Stroke::Dotted), "not measured: round what is placed in a room".into()));
    }
    if plan.things().iter().any(|thing| thing.weight > Weight::Plain) {
        signs.push((Sign::Words, "! !! after a name: see the findings".into()));
    }
    signs
}

/// The sign of a thing round its place.
fn sign(kind: ThingKind, (x, y): (f32, f32)) -> Vec<Ink> {
    let square =
        |half: f32, fill| Ink::Area { at: (x - half, y - half), size: (2.0 * half, 2.0 * half), fill };
    let disc = |fill| Ink::Disc { at: (x, y), radius: SIGN, fill };
    let word = |text: &str, face: Face| {
        let wide = face.width(text, LETTER);
        Ink::words(x - wide / 2.0, y - LETTER * LINE / 2.0 - 0.2, text, LETTER, face)
    };
    match kind {
        ThingKind::Panel => vec![square(SIGN + 1.5, Fill::Outline(1.2)), word("P", Face::Bold)],
        ThingKind::WallBox { from_below } => {
            let mut ink = vec![square(SIGN - 1.0, Fill::Solid)];
            if from_below {
                ink.push(Ink::Line { from: (x, y - SIGN - 2.5), to: (x, y), thick: 1.0, dash: None });
            }
            ink
        }
        ThingKind::Fixture(at) => {
            vec![disc(Fill::Outline(0.6)), word(&letter(at).to_string(), Face::Regular)]
        }
        ThingKind::Open => vec![disc(Fill::Outline(0.6)), word("?", Face::Bold)],
        ThingKind::Empty => vec![disc(Fill::Outline(0.6))],
        ThingKind::Rise => vec![word("\u{25b2}", Face::Regular)],
    }
}

struct Drawing {
    scale: Scale,
    taken: Vec<Place>,
    unnamed: Vec<String>,
    ink: Vec<Ink>,
}

impl Drawing {
    fn all(&mut self, plan: &Plan) {
        for measured in [false, true] {
            for room in plan.rooms().iter().filter(|room| room.measured == measured) {
                let apart = if measured { 0.0 } else { SIGN + 2.0 };
                let (left, bottom) = self.scale.at(room.low);
                let (right, top) = self.scale.at(room.high);
                let corners = [
                    (left - apart, top - apart),
                    (right + apart, top - apart),
                    (right + apart, bottom + apart),
                    (left - apart, bottom + apart),
                ];
                let stroke = if measured { Stroke::Wall } else { Stroke::Dotted };
                for (nth, from) in corners.iter().enumerate() {
                    self.ink.push(line(*from, corners[(nth + 1) % 4], stroke));
                }
            }
        }
        for route in plan.routes() {
            self.ink.push(line(self.scale.at(route.from), self.scale.at(route.to), route.stroke));
        }
        let mut things: Vec<&Thing> = plan.things().iter().collect();
        // Panels and boxes get their places and names before the many lights.
        things.sort_by_key(|thing| (matches!(thing.kind, ThingKind::Rise), thing.kind));
        let placed: Vec<(&Thing, (f32, f32))> =
            things.into_iter().map(|thing| (thing, self.settle(thing))).collect();
        for (thing, at) in &placed {
            self.ink.extend(sign(thing.kind, *at));
        }
        for (thing, at) in &placed {
            if !matches!(thing.kind, ThingKind::Rise) {
                self.name(thing, *at, plan.is_other(&thing.subject));
            }
        }
        for room in plan.rooms() {
            self.name_room(&room.words, self.scale.at(room.low), self.scale.at(room.high));
        }
    }

    fn free(&self, [left, top, right, bottom]: Place) -> bool {
        let (width, height) = self.scale.size();
        let inside = left >= 0.0 && top >= 0.0 && right <= width && bottom <= height;
        inside && !self.taken.iter().any(|[l, t, r, b]| left < *r && *l < right && top < *b && *t < bottom)
    }

    /// Where a sign stands: at its place, or beside it where another stands there already.
    fn settle(&mut self, thing: &Thing) -> (f32, f32) {
        let (x, y) = self.scale.at((thing.x, thing.y));
        let half = if thing.kind == ThingKind::Panel { SIGN + 1.5 } else { SIGN };
        let around = |(x, y): (f32, f32)| [x - half, y - half, x + half, y + half];
        let step = 2.0 * half + 0.5;
        let beside = [
            (0.0, 0.0),
            (1.0, 0.0),
            (0.0, 1.0),
            (-1.0, 0.0),
            (0.0, -1.0),
            (1.0, 1.0),
            (-1.0, 1.0),
            (1.0, -1.0),
            (-1.0, -1.0),
            (2.0, 0.0),
            (-2.0, 0.0),
        ];
        let places = beside.map(|(right, down): (f32, f32)| (x + right * step, y + down * step));
        let at = places.into_iter().find(|at| self.free(around(*at))).unwrap_or((x, y));
        self.taken.push(around(at));
        at
    }

    /// Writes words where nothing else stands, at the first of some places given by their left top corners.
    fn write(&mut self, words: &str, size: f32, face: Face, places: &[(f32, f32)]) -> bool {
        let words = face.shown(words);
        let (width, height) = (face.width(&words, size), size * 0.95);
        let around = |(x, y): (f32, f32)| [x - 0.5, y, x + width + 0.5, y + height];
        let Some(at) = places.iter().find(|at| self.free(around(**at))) else { return false };
        let place = around(*at);
        self.taken.push(place);
        // Routes go on beneath words, but not through them.
        let blank = Ink::Area { at: (place[0], place[1]), size: (width + 1.0, height), fill: Fill::Blank };
        self.ink.push(blank);
        self.ink.push(Ink::words(at.0, at.1 - size * 0.12, &words, size, face));
        true
    }

    fn name(&mut self, thing: &Thing, (x, y): (f32, f32), is_other: bool) {
        let other = if is_other { MARK } else { "" };
        let words = format!("{other}{}{}", thing.subject.id, thing.weight.sign().trim());
        let face = if matches!(thing.kind, ThingKind::Panel | ThingKind::WallBox { .. }) {
            Face::Bold
        } else {
            Face::Regular
        };
        let (width, off) = (face.width(&face.shown(&words), NAME), SIGN + 1.5);
        let (above, below, level) = (y - off - NAME * 0.95, y + off, y - NAME * 0.48);
        let places = [
            (x + off, level),
            (x - off - width, level),
            (x - width / 2.0, below),
            (x - width / 2.0, above),
            (x + 2.0, below),
            (x + 2.0, above),
            (x - width - 2.0, below),
            (x - width - 2.0, above),
            (x - width / 2.0, below + NAME),
            (x - width / 2.0, above - NAME),
        ];
        if !self.write(&words, NAME, face, &places) {
            self.unnamed.push(thing.subject.id.clone());
        }
    }

    /// Writes the longest name of a room that has a free place, the nearest to the middle.
    fn name_room(&mut self, names: &[String], (left, bottom): (f32, f32), (right, top): (f32, f32)) {
        for name in names {
            let width = Face::Bold.width(&Face::Bold.shown(name), ROOM);
            let (room, tall) = (right - left - width - 4.0, bottom - top - ROOM - 4.0);
            if room < 0.0 || tall < 0.0 {
                continue;
            }
            let steps: Vec<f32> = [0.5, 0.4, 0.6, 0.3, 0.7, 0.2, 0.8, 0.1, 0.9, 0.0, 1.0].to_vec();
            let places: Vec<(f32, f32)> = steps
                .iter()
                .flat_map(|down| steps.iter().map(move |right| (*right, *down)))
                .map(|(across, down)| (left + 2.0 + room * across, top + 2.0 + tall * down))
                .collect();
            if self.write(name, ROOM, Face::Bold, &places) {
                return;
            }
        }
        if let Some(last) = names.last() {
            self.unnamed.push(last.clone());
        }
    }
}
