//! Fixtures that are still open: which of them are ready as everything is wired, and what the others need.
//!
//! A choice is tried out on the whole design, with every other open choice at its worst, so that what is called ready
//! stays ready whatever is chosen elsewhere. What was wrong without the choice is not the choice's doing.

use crate::checks::{Finding, Severity};
use crate::design::Design;
use crate::format;
use crate::job::catalogue::{BoxType, FixtureType, each};
use crate::job::edit::{Edit, apply};
use crate::job::house::{Exposure, Room};
use crate::job::wiring::{CeilingBox, Loop, WallBox};
use crate::job::{Id, Kind, Subject, open};
use crate::network::{ControlAt, LoopAt};
use crate::remedy::{Bench, Remedy};
use crate::takeoff;
use rust_decimal::Decimal;
use serde_json::{Value, json};
use std::cell::RefCell;
use std::collections::HashSet;

/// Warnings that keep a choice from being ready, beside errors.
const WARNINGS: [&str; 4] = ["drop", "either-end", "near-collapse", "conductor-amps"];

/// Something that a choice needs before it is ready.
#[derive(Debug, Clone, PartialEq)]
pub struct Need {
    /// What is wrong with it as wired.
    pub what: String,
    /// What helps.
    pub help: String,
    /// What that costs in parts, cable and labor before overhead and margin, where prices are known; less than nothing
    /// where it saves.
    pub cost: Option<Decimal>,
}

/// Whether a choice is ready.
#[derive(Debug, Clone, PartialEq)]
pub enum ChoiceState {
    /// It works as wired, hangs where it is to hang and may hang there.
    Ready,
    /// Nothing speaks against it, but these are not known.
    Unknown(Vec<String>),
    /// It needs something.
    Needs(Vec<Need>),
}

/// A fixture that boxes of a loop may yet hold.
#[derive(Debug, Clone, PartialEq)]
pub struct Choice {
    /// The fixture type.
    pub fixture: Id,
    /// The boxes that may hold it.
    pub boxes: Vec<Id>,
    /// Whether it is ready in all of them at once.
    pub state: ChoiceState,
    /// The price of the fixtures for all of them, where it is known.
    pub price: Option<Decimal>,
}

/// The open choices of a loop.
#[derive(Debug, Clone, PartialEq)]
pub struct LoopChoices {
    /// The loop.
    pub at: LoopAt,
    /// Its cable's id.
    pub id: Id,
    /// The choices, in the order in which they are first named.
    pub choices: Vec<Choice>,
}

/// The fixtures a ceiling box may yet hold.
fn offered<'a>(design: &'a Design, wall_box: &WallBox, run: &'a Loop, ceiling: &'a CeilingBox) -> &'a [Id] {
    open::open(&design.job, &design.index, wall_box, run, ceiling).0
}

/// Every loop with something open on it.
pub fn choices(design: &Design) -> Vec<LoopChoices> {
    let mut found = Vec::new();
    for (box_at, wall_box) in design.job.boxes.iter().enumerate() {
        for (control_at, control) in wall_box.controls.iter().enumerate() {
            for (at, run) in control.loops.iter().enumerate() {
                let mut fixtures: Vec<&Id> = Vec::new();
                for ceiling in &run.ceiling {
                    for id in offered(design, wall_box, run, ceiling) {
                        if !fixtures.iter().any(|known| known.same(id)) {
                            fixtures.push(id);
                        }
                    }
                }
                if fixtures.is_empty() {
                    continue;
                }
                let at = LoopAt { control: ControlAt { wall_box: box_at, control: control_at }, at };
                let trial = Trial::new(design, at);
                let choices = fixtures.into_iter().map(|fixture| trial.choice(fixture)).collect();
                found.push(LoopChoices { at, id: run.id.clone(), choices });
            }
        }
    }
    found
}

/// Whether one box may hold a fixture in place of what it holds.
pub(super) fn one_box(design: &Design, at: LoopAt, ceiling: &Id, fixture: &Id) -> Choice {
    let trial = Trial { only: Some(ceiling.clone()), ..Trial::new(design, at) };
    trial.choice(fixture)
}

/// Trials on one loop.
struct Trial<'a> {
    design: &'a Design,
    at: LoopAt,
    wall_box: &'a WallBox,
    run: &'a Loop,
    /// One box alone, whatever it holds now.
    only: Option<Id>,
    /// The boxes that were tried last, with what is found while they hold nothing: choices are mostly of the same ones.
    empty: RefCell<Option<(Vec<Id>, Found)>>,
}

/// Findings by check and thing.
type Found = HashSet<(&'static str, Subject)>;

impl<'a> Trial<'a> {
    fn new(design: &'a Design, at: LoopAt) -> Self {
        let wall_box = &design.job.boxes[at.control.wall_box];
        let run = &wall_box.controls[at.control.control].loops[at.at];
        Self { design, at, wall_box, run, only: None, empty: RefCell::new(None) }
    }

    fn choice(&self, fixture: &Id) -> Choice {
        let boxes: Vec<&CeilingBox> = self
            .run
            .ceiling
            .iter()
            .filter(|ceiling| match &self.only {
                Some(only) => ceiling.id.same(only),
                None => {
                    offered(self.design, self.wall_box, self.run, ceiling).iter().any(|id| id.same(fixture))
                }
            })
            .collect();
        let part = self.design.index.fixture_type(&self.design.job, fixture);
        #[expect(clippy::cast_possible_wrap, reason = "a loop has few boxes")]
        let count = Decimal::from(boxes.len() as i64);
        let price = part.and_then(|part| each(part.price, part.pack)).map(|each| each * count);
        let mut needs = self.electrical(fixture, &boxes);
        let mut unknown = Vec::new();
        if let Some(part) = part {
            for ceiling in &boxes {
                self.mechanical(part, ceiling, &mut needs, &mut unknown);
            }
        }
        unknown.sort();
        unknown.dedup();
        let state = match (needs.is_empty(), unknown.is_empty()) {
            (false, _) => ChoiceState::Needs(needs),
            (true, false) => ChoiceState::Unknown(unknown),
            (true, true) => ChoiceState::Ready,
        };
        Choice { fixture: fixture.clone(), boxes: boxes.iter().map(|c| c.id.clone()).collect(), state, price }
    }

    /// The design with these boxes holding that, or nothing.
    fn with(&self, boxes: &[&CeilingBox], fixture: Option<&Id>) -> Option<Design> {
        let set = |ceiling: &CeilingBox, field: &str, value: Value| Edit::Set {
            subject: Subject::new(Kind::Fixture, &ceiling.id),
            field: field.into(),
            value,
        };
        let edits = boxes.iter().flat_map(|ceiling| {
            let held = fixture.map_or(Value::Null, |id| json!(id.as_str()));
            // Where nothing is to hang, a choice of the loop or the room must not reach either.
            let blank = json!(fixture.is_none());
            [
                set(ceiling, "blank", json!(false)),
                set(ceiling, "open", Value::Null),
                set(ceiling, "fixture", held),
                set(ceiling, "blank", blank),
            ]
        });
        let edit = Edit::Together(edits.collect());
        let mut after = self.design.clone();
        apply(&mut after.job, edit.clone()).ok()?;
        after.refresh(&edit);
        Some(after)
    }

    /// What is found while these boxes hold nothing.
    fn without(&self, boxes: &[&CeilingBox]) -> Option<Found> {
        let ids: Vec<Id> = boxes.iter().map(|ceiling| ceiling.id.clone()).collect();
        if let Some((tried, found)) = &*self.empty.borrow()
            && *tried == ids
        {
            return Some(found.clone());
        }
        let without = self.with(boxes, None)?;
        let found: Found =
            without.findings.iter().map(|finding| (finding.code, finding.subject.clone())).collect();
        *self.empty.borrow_mut() = Some((ids, found.clone()));
        Some(found)
    }

    /// What is wrong on the way from the output to these boxes with a fixture in them, and not without.
    fn electrical(&self, fixture: &Id, boxes: &[&CeilingBox]) -> Vec<Need> {
        let (Some(before), Some(with)) = (self.without(boxes), self.with(boxes, Some(fixture))) else {
            let what = format!("{fixture} cannot be put into these boxes");
            return vec![Need { what, help: "choose another".into(), cost: None }];
        };
        let way = self.way();
        let key = |finding: &Finding| (finding.code, finding.subject.clone());
        let mut seen = HashSet::new();
        let mut needs = Vec::new();
        let mut bench = Bench::new(&with);
        for finding in &with.findings {
            let counts = match finding.severity {
                Severity::Error => true,
                Severity::Warning => WARNINGS.contains(&finding.code),
                Severity::Advice => false,
            };
            let here = way.contains(&finding.subject) || way.contains(&finding.cause);
            // Of several findings of one cause the first is the worst, and one remedy serves all.
            let new = !before.contains(&key(finding)) && seen.insert((finding.code, finding.cause.clone()));
            if counts && here && new && finding.accepted.is_none() {
                let remedies = bench.remedies(finding);
                let words = |one: &Remedy| match more(&with, &one.edit) {
                    Some(more) if more.is_sign_negative() && !more.is_zero() => one.text.clone(),
                    Some(more) => format!("{}, at {}", one.text, format::money(Some(more))),
                    None => one.text.clone(),
                };
                let help = match remedies.as_slice() {
                    [] => finding.remedy.clone(),
                    some => some.iter().take(2).map(words).collect::<Vec<_>>().join(", or "),
                };
                let cost = remedies.first().and_then(|one| more(&with, &one.edit));
                needs.push(Need { what: finding.what.clone(), help, cost });
            }
        }
        needs
    }

    /// Everything from the output to the boxes of the loop.
    fn way(&self) -> HashSet<Subject> {
        let design = self.design;
        let control = &self.wall_box.controls[self.at.control.control];
        let mut way = HashSet::from([
            Subject::new(Kind::WallBox, &self.wall_box.id),
            Subject::new(Kind::Control, &control.id),
            Subject::new(Kind::Cable, &self.run.id),
        ]);
        way.extend(self.run.ceiling.iter().map(|ceiling| Subject::new(Kind::Fixture, &ceiling.id)));
        if let Some(&run) = design.network.run_of_control.get(&self.at.control) {
            let run = &design.network.runs[run];
            for feed in &run.feeds {
                way.insert(Subject::new(Kind::Cable, &design.job.boxes[feed.wall_box].feeds[feed.feed].id));
            }
            if let Some(output) = &run.output {
                way.insert(Subject::new(Kind::Output, output));
                way.insert(Subject::new(Kind::Supply, &output.supply));
            }
            way.insert(Subject::new(Kind::Panel, &run.panel));
        }
        way
    }

    /// Whether it may hang in a box: what the box bears, how deep it goes, how wet the room is.
    fn mechanical(
        &self,
        part: &FixtureType,
        ceiling: &CeilingBox,
        needs: &mut Vec<Need>,
        unknown: &mut Vec<String>,
    ) {
        let job = &self.design.job;
        let index = &self.design.index;
        let held_by = open::box_of(job, index, self.wall_box, self.run, ceiling)
            .and_then(|id| job.catalogue.boxes.iter().find(|b| b.id.same(id)));
        let room = ceiling.room.as_ref().unwrap_or(&self.wall_box.room);
        let room = self.design.index.room(job, room).map(|(_, room)| room);
        let wet = room.map_or(Exposure::Dry, |room| room.exposure);
        let mut need = |what: String, help: String, cost| {
            if !needs.iter().any(|known| known.what == what) {
                needs.push(Need { what, help, cost });
            }
        };
        match (part.weight, held_by.and_then(|held| held.bears)) {
            (Some(weight), Some(bears)) if weight.si() > bears.si() => {
                let (help, cost) = other_box(self.design, part, wet);
                need(format!("it weighs {weight}, and the box in {} bears {bears}", ceiling.id), help, cost);
            }
            (Some(_), Some(_)) => {}
            (None, _) => unknown.push(format!("weight of {}", part.id)),
            (_, None) => unknown.push(format!("what the box in {} bears", ceiling.id)),
        }
        self.depth(part, held_by, room, ceiling, &mut need, unknown);
        if wet == Exposure::Dry {
            return;
        }
        let place = if wet == Exposure::Wet { "wet" } else { "damp" };
        match part.exposure {
            Some(listed) if listed < wet => {
                need(
                    format!("it is not listed for {place} places"),
                    format!("one listed for {place} places"),
                    None,
                );
            }
            Some(_) => {}
            None => unknown.push(format!("whether {} is listed for {place} places", part.id)),
        }
        match held_by.and_then(|held| held.exposure) {
            Some(listed) if listed < wet => {
                let (help, cost) = other_box(self.design, part, wet);
                need(format!("the box in {} is not listed for {place} places", ceiling.id), help, cost);
            }
            Some(_) => {}
            None => unknown.push(format!("whether the box in {} is listed for {place} places", ceiling.id)),
        }
    }

    fn depth(
        &self,
        part: &FixtureType,
        held_by: Option<&BoxType>,
        room: Option<&Room>,
        ceiling: &CeilingBox,
        need: &mut impl FnMut(String, String, Option<Decimal>),
        unknown: &mut Vec<String>,
    ) {
        let units = self.design.job.project.units;
        let Some(depth) = part.depth else {
            unknown.push(format!("depth of {} above the ceiling", part.id));
            return;
        };
        if depth.ticks() == 0 {
            return;
        }
        let above = room.and_then(|room| room.above);
        let deep = held_by.and_then(|held| held.depth);
        if let Some(above) = above.filter(|above| above.ticks() < depth.ticks()) {
            let (depth, above) = (depth.shown(units), above.shown(units));
            need(
                format!("it goes {depth} above the ceiling at {}, where {above} are clear", ceiling.id),
                "a shallower one, or another place between the joists".into(),
                None,
            );
        } else if let Some(deep) = deep.filter(|deep| deep.ticks() < depth.ticks()) {
            let wet = room.map_or(Exposure::Dry, |room| room.exposure);
            let (help, cost) = other_box(self.design, part, wet);
            let (depth, deep) = (depth.shown(units), deep.shown(units));
            need(format!("it goes {depth} deep, and the box in {} is {deep}", ceiling.id), help, cost);
        }
        if above.is_none() {
            let room = room.map(|room| room.id.to_string()).unwrap_or_default();
            unknown.push(format!("what is clear above the ceiling of {room}"));
        }
        if deep.is_none() {
            unknown.push(format!("depth of the box in {}", ceiling.id));
        }
    }
}

/// What an edit adds to parts, cable and labor; none while a figure of it is not known.
fn more(design: &Design, edit: &Edit) -> Option<Decimal> {
    let mut job = design.job.clone();
    apply(&mut job, edit.clone()).ok()?;
    takeoff::more(design, &job)
}

/// The cheapest box of the catalogue that would hold a fixture, in words with its price.
fn other_box(design: &Design, part: &FixtureType, wet: Exposure) -> (String, Option<Decimal>) {
    let bears = |held: &&BoxType| match (part.weight, held.bears) {
        (Some(weight), Some(bears)) => weight.si() <= bears.si(),
        (None, _) => true,
        (Some(_), None) => false,
    };
    let deep = |held: &&BoxType| match (part.depth, held.depth) {
        (Some(depth), Some(deep)) => depth.ticks() <= deep.ticks(),
        (Some(depth), None) => depth.ticks() == 0,
        (None, _) => true,
    };
    let listed = |held: &&BoxType| wet == Exposure::Dry || held.exposure.is_some_and(|listed| listed >= wet);
    let ceiling = design.job.catalogue.boxes.iter().filter(|held| held.gangs == 0);
    let fits = ceiling.filter(bears).filter(deep).filter(listed);
    let price = |held: &&BoxType| each(held.price, held.pack);
    match fits.min_by_key(|held| (price(held).is_none(), price(held))) {
        Some(held) => {
            let cost = price(&held);
            let words = cost.map(|cost| format!(" at {}", format::money(Some(cost)))).unwrap_or_default();
            (format!("box {}{words}, with its brace", held.id), cost)
        }
        None => ("another box or a brace, which the catalogue does not have".into(), None),
    }
}
