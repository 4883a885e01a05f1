//! Reads the places of a level from the job.

use super::super::Weight;
use super::super::canvas::Stroke;
use super::super::names::called;
use super::{Plan, RoomArea, Route, Thing, ThingKind};
use crate::checks::Severity;
use crate::design::Design;
use crate::job::house::{Place, Room};
use crate::job::wiring::{CeilingBox, Feed, Loop, Source, WallBox};
use crate::job::{Id, Kind, Spot, Subject, open};
use std::collections::HashMap;

type Point = (i64, i64);

/// The weight of everything that something is found about.
pub(in super::super) fn signs(design: &Design) -> HashMap<&Subject, Weight> {
    let mut signs: HashMap<&Subject, Weight> = HashMap::new();
    for finding in &design.findings {
        let weight = match finding.severity {
            Severity::Error => Weight::Bad,
            Severity::Warning => Weight::Caution,
            Severity::Advice => Weight::Plain,
        };
        let worst = signs.entry(&finding.subject).or_default();
        *worst = (*worst).max(weight);
    }
    signs
}

/// The levels a cable runs between, and where its ends are.
#[derive(Clone, Copy)]
struct Station {
    level: usize,
    at: Point,
}

struct Gather<'a> {
    design: &'a Design,
    level: usize,
    signs: HashMap<&'a Subject, Weight>,
    /// What stands in each room of the level, by the room's position.
    inside: Vec<Option<(Point, Point)>>,
    cable_at: HashMap<&'a Id, usize>,
    counts: Vec<usize>,
    plan: Plan,
}

impl Plan {
    /// Reads the places of a level, by its position; a level that isn't there is empty.
    pub fn new(design: &Design, level: usize) -> Self {
        let Some(entry) = design.job.levels.get(level) else { return Self::default() };
        let mut gather = Gather {
            design,
            level,
            signs: signs(design),
            inside: vec![None; entry.rooms.len()],
            cable_at: HashMap::new(),
            counts: vec![0; design.job.catalogue.fixtures.len()],
            plan: Self { title: called(&entry.name, &entry.id), ..Self::default() },
        };
        gather.panels();
        for wall_box in &design.job.boxes {
            gather.wall_box(wall_box);
        }
        gather.links();
        gather.types();
        for (at, room) in entry.rooms.iter().enumerate() {
            gather.room(at, room);
        }
        gather.bounds();
        gather.plan
    }
}

impl<'a> Gather<'a> {
    fn room_spot(&self, room: &Id) -> Option<(usize, usize)> {
        match self.design.index.spot(Kind::Room, room)? {
            Spot::Room { level, room } => Some((level, room)),
            _ => None,
        }
    }

    fn station(&self, room: &Id, place: Option<&Place>) -> Option<Station> {
        let place = place?;
        Some(Station { level: self.room_spot(room)?.0, at: (place.x.ticks(), place.y.ticks()) })
    }

    fn box_station(&self, wall_box: &WallBox) -> Option<Station> {
        self.station(&wall_box.room, wall_box.place.as_ref())
    }

    /// Puts a thing on the plan if it belongs to this level.
    fn put(&mut self, subject: Subject, kind: ThingKind, room: &Id, place: Option<&Place>) {
        let Some((_, room)) = self.room_spot(room).filter(|(level, _)| *level == self.level) else { return };
        let Some(place) = place else {
            self.plan.unplaced.push(subject);
            return;
        };
        let (x, y) = (place.x.ticks(), place.y.ticks());
        if let Some(inside) = self.inside.get_mut(room) {
            *inside = Some(around(*inside, (x, y)));
        }
        let weight = self.signs.get(&subject).copied().unwrap_or_default();
        self.plan.things.push(Thing { subject, kind, x, y, weight });
    }

    fn panels(&mut self) {
        for panel in &self.design.job.panels {
            self.put(
                Subject::new(Kind::Panel, &panel.id),
                ThingKind::Panel,
                &panel.room,
                panel.place.as_ref(),
            );
        }
    }

    fn wall_box(&mut self, wall_box: &'a WallBox) {
        let here = self.box_station(wall_box);
        let mut from_below = false;
        for feed in &wall_box.feeds {
            if let Some((from, to)) = self.feed_from(feed).zip(here) {
                from_below |= from.level < to.level;
                self.cable(&feed.id, Stroke::Double, from, to);
            }
        }
        let subject = Subject::new(Kind::WallBox, &wall_box.id);
        self.put(subject, ThingKind::WallBox { from_below }, &wall_box.room, wall_box.place.as_ref());
        for run in wall_box.controls.iter().flat_map(|control| &control.loops) {
            self.wired_loop(wall_box, run);
        }
    }

    fn feed_from(&self, feed: &Feed) -> Option<Station> {
        let (design, job) = (self.design, &self.design.job);
        let panel = match &feed.from {
            Source::Output(output) => design.index.supply(job, &output.supply)?.0,
            Source::Panel(panel) => design.index.panel(job, panel)?,
            Source::Onward(from) => return self.box_station(design.index.feed(job, from)?.0),
        };
        self.station(&panel.room, panel.place.as_ref())
    }

    fn wired_loop(&mut self, wall_box: &'a WallBox, run: &'a Loop) {
        let mut before = self.box_station(wall_box);
        for ceiling in &run.ceiling {
            let room = ceiling.room.as_ref().unwrap_or(&wall_box.room);
            let here = self.station(room, ceiling.place.as_ref());
            if let Some((from, to)) = before.zip(here) {
                self.cable(&run.id, Stroke::Single, from, to);
            }
            let kind = self.kind_of(wall_box, run, ceiling);
            self.put(Subject::new(Kind::Fixture, &ceiling.id), kind, room, ceiling.place.as_ref());
            before = here;
        }
        if run.path.returns() && !run.ceiling.is_empty() {
            let home = match &run.returns_to {
                Some(control) => self.design.index.control(&self.design.job, control).map(|(b, _)| b),
                None => Some(wall_box),
            };
            if let Some((from, to)) = before.zip(home.and_then(|home| self.box_station(home))) {
                self.cable(&run.id, Stroke::Single, from, to);
            }
        }
    }

    fn kind_of(&self, wall_box: &WallBox, run: &Loop, ceiling: &CeilingBox) -> ThingKind {
        let types = &self.design.job.catalogue.fixtures;
        match &ceiling.fixture {
            Some(id) => ThingKind::Fixture(types.iter().position(|t| t.id.same(id)).unwrap_or(types.len())),
            None if !open::lit(&self.design.job, &self.design.index, wall_box, run, ceiling) => {
                ThingKind::Empty
            }
            None => ThingKind::Open,
        }
    }

    fn links(&mut self) {
        let (design, job) = (self.design, &self.design.job);
        for link in job.groups.iter().flat_map(|group| &group.links) {
            let end = |id: &Id| self.box_station(design.index.control(job, id)?.0);
            if let Some((from, to)) = end(&link.from).zip(end(&link.to)) {
                self.cable(&link.id, Stroke::Single, from, to);
            }
        }
    }

    /// Adds the way of a cable from one place to another, if it runs above this level.
    fn cable(&mut self, id: &'a Id, stroke: Stroke, from: Station, to: Station) {
        let lower = from.level.min(to.level);
        if lower != self.level {
            return;
        }
        let subject = Subject::new(Kind::Cable, id);
        let cable = *self.cable_at.entry(id).or_insert_with(|| {
            self.plan.cables.push(subject.clone());
            self.plan.cables.len() - 1
        });
        let corner = (to.at.0, from.at.1);
        for (from, to) in [(from.at, corner), (corner, to.at)] {
            if from != to {
                self.plan.routes.push(Route { cable, stroke, from, to });
            }
        }
        for end in [from, to] {
            if end.level > lower {
                let weight = self.signs.get(&subject).copied().unwrap_or_default();
                let (x, y) = end.at;
                self.plan.things.push(Thing {
                    subject: subject.clone(),
                    kind: ThingKind::Rise,
                    x,
                    y,
                    weight,
                });
            }
        }
    }

    /// Numbers the fixture types that are on the level and counts their fixtures.
    fn types(&mut self) {
        for thing in &self.plan.things {
            if let ThingKind::Fixture(at) = thing.kind
                && let Some(count) = self.counts.get_mut(at)
            {
                *count += 1;
            }
        }
        let mut numbers = vec![usize::MAX; self.counts.len()];
        for (at, part) in self.design.job.catalogue.fixtures.iter().enumerate() {
            if self.counts[at] > 0 {
                numbers[at] = self.plan.types.len();
                self.plan.types.push((called(&part.name, &part.id), self.counts[at]));
            }
        }
        for thing in &mut self.plan.things {
            if let ThingKind::Fixture(at) = thing.kind {
                thing.kind = ThingKind::Fixture(numbers.get(at).copied().unwrap_or(usize::MAX));
            }
        }
    }

    fn room(&mut self, at: usize, room: &Room) {
        let subject = Subject::new(Kind::Room, &room.id);
        let measured = room.outline().map(|outline| {
            let low = (outline.x.ticks(), outline.y.ticks());
            (low, (low.0 + outline.width.ticks(), low.1 + outline.depth.ticks()))
        });
        let Some((low, high)) = measured.or(self.inside[at]) else {
            self.plan.unplaced.push(subject);
            return;
        };
        let name = called(&room.name, &room.id);
        let mut words: Vec<String> = Vec::new();
        if measured.is_none() {
            words.extend(room.area.map(|area| format!("{name}, {area}, not measured")));
            words.push(format!("{name}, not measured"));
            words.push(format!("{name}?"));
        } else {
            words.extend(room.area.map(|area| format!("{name}, {area}")));
            words.push(name);
        }
        words.push(room.id.to_string());
        self.plan.rooms.push(RoomArea { subject, words, low, high, measured: measured.is_some() });
    }

    fn bounds(&mut self) {
        let things = self.plan.things.iter().map(|thing| (thing.x, thing.y));
        let rooms = self.plan.rooms.iter().flat_map(|room| [room.low, room.high]);
        let all = things.chain(rooms).chain(self.plan.routes.iter().flat_map(|route| [route.from, route.to]));
        self.plan.bounds = all.fold(None, |bounds, point| Some(around(bounds, point)));
    }
}

fn around(bounds: Option<(Point, Point)>, (x, y): Point) -> (Point, Point) {
    let (low, high) = bounds.unwrap_or(((x, y), (x, y)));
    ((low.0.min(x), low.1.min(y)), (high.0.max(x), high.1.max(y)))
}
