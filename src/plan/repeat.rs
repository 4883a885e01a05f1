//! Copies a room, a wall box, a control or a loop with everything in it under new ids; a ceiling box, a supply or an
//! entry of the catalogue as it is.
//!
//! Ids and names of copies follow the rule in [`super::ids`]. Places shift by the offset, once more for each copy. What
//! was measured and what stands on flags stays with the original. A home run of a copy comes from the same panel but is on no output yet: what is
//! copied does not load an output unseen. What goes onward from, or lands on, something that is copied too goes to the
//! copy. A control group is copied where all its controls are.

use super::ids::{Ids, next_name};
use super::transfer::PlanError;
use crate::job::edit::Edit;
use crate::job::house::{Place, Room};
use crate::job::site::{BoxRecord, CableRecord};
use crate::job::value::held;
use crate::job::wiring::{ControlGroup, Loop, Source, WallBox};
use crate::job::{Id, Index, Job, Kind, Spot, Subject};
use serde::Serialize;
use std::collections::{HashMap, HashSet};

/// Most copies made at once.
pub const MOST_COPIES: usize = 200;

/// How far a copy stands from the one before, in ticks of 100 nm; negative is left or down.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Offset {
    /// Across the plan.
    pub x: i64,
    /// Up the plan.
    pub y: i64,
}

/// Copies a room with its wall boxes, a wall box, a control, a loop, a ceiling box, a supply, or an entry of the
/// catalogue so many times.
///
/// # Errors
/// [`PlanError`] when it is not there, is not one of these, or a copy would stand outside the plan.
pub fn repeat(job: &Job, subject: &Subject, count: usize, offset: Offset) -> Result<Edit, PlanError> {
    if count > MOST_COPIES {
        return Err(PlanError::TooMany(count));
    }
    let index = Index::new(job).0;
    let spot = Id::new(&subject.id).ok().and_then(|id| index.spot(subject.kind, &id));
    let spot = spot.ok_or_else(|| PlanError::Missing(subject.clone()))?;
    let mut ids = Ids::of(job);
    let mut names = Names::of(job);
    let mut edits = Vec::new();
    for nth in 1..=count {
        let mut copier = Copier {
            job,
            index: &index,
            ids: &mut ids,
            names: &mut names,
            by: steps(offset, nth).ok_or_else(|| PlanError::Outside { subject: subject.clone(), nth })?,
            new: HashMap::new(),
            room: None,
        };
        let made = match spot {
            Spot::Room { level, room } => copier.room(level, room, nth),
            Spot::WallBox(at) => copier.wall_box(at, nth),
            Spot::Loop { .. } => copier.wired_loop(subject, spot, nth),
            Spot::Control { wall_box, control } => copier.control(wall_box, control, nth),
            Spot::Ceiling { .. }
            | Spot::Supply { .. }
            | Spot::ConductorPlan(_)
            | Spot::CableType(_)
            | Spot::FixtureType(_)
            | Spot::SupplyType(_)
            | Spot::ControlType(_)
            | Spot::BoxType(_)
            | Spot::Meter(_) => copier.single(subject, nth),
            _ => return Err(PlanError::NotCopied(subject.kind)),
        };
        let made = made.map_err(|fault| match fault {
            Fault::Outside => PlanError::Outside { subject: subject.clone(), nth },
            Fault::Value(what) => PlanError::Value(what),
        })?;
        edits.extend(made);
    }
    Ok(Edit::Together(edits))
}

fn steps(offset: Offset, nth: usize) -> Option<(i64, i64)> {
    let nth = i64::try_from(nth).ok()?;
    Some((offset.x.checked_mul(nth)?, offset.y.checked_mul(nth)?))
}

enum Fault {
    Outside,
    Value(String),
}

/// The names there are, by kind.
struct Names {
    rooms: HashSet<String>,
    boxes: HashSet<String>,
}

impl Names {
    fn of(job: &Job) -> Self {
        Self {
            rooms: job
                .levels
                .iter()
                .flat_map(|level| &level.rooms)
                .map(|room| room.name.to_lowercase())
                .collect(),
            boxes: job.boxes.iter().map(|wall_box| wall_box.name.to_lowercase()).collect(),
        }
    }
}

fn named(name: &str, taken: &mut HashSet<String>) -> String {
    let next = next_name(name, taken);
    taken.insert(next.to_lowercase());
    next
}

struct Copier<'a, 'i> {
    job: &'a Job,
    index: &'a Index,
    ids: &'i mut Ids,
    names: &'i mut Names,
    by: (i64, i64),
    /// The ids of the copies, by kind and the id they are made from.
    new: HashMap<(Kind, String), Id>,
    /// The room that is copied, with its copy.
    room: Option<(Id, Id)>,
}

impl Copier<'_, '_> {
    fn copied(&mut self, kind: Kind, id: &Id, within: Option<(&Id, &Id)>) -> Id {
        let new = self.ids.copy(kind, id, within);
        self.new.insert((kind, id.folded()), new.clone());
        new
    }

    /// The copy of what is named, or the thing itself where it is not copied.
    fn now(&self, kind: Kind, id: &Id) -> Id {
        self.new.get(&(kind, id.folded())).unwrap_or(id).clone()
    }

    fn shifted(&self, place: Option<Place>) -> Result<Option<Place>, Fault> {
        let Some(place) = place else { return Ok(None) };
        let x = place.x.shifted(self.by.0).ok_or(Fault::Outside)?;
        let y = place.y.shifted(self.by.1).ok_or(Fault::Outside)?;
        Ok(Some(Place { x, y, ..place }))
    }

    fn room(&mut self, level: usize, at: usize, nth: usize) -> Result<Vec<Edit>, Fault> {
        let job = self.job;
        let Some(floor) = job.levels.get(level) else { return Ok(Vec::new()) };
        let Some(old) = floor.rooms.get(at) else { return Ok(Vec::new()) };
        let mut room: Room = old.clone();
        room.id = self.copied(Kind::Room, &old.id, None);
        room.name = named(&old.name, &mut self.names.rooms);
        if let Some(corner) = &mut room.corner {
            corner.x = corner.x.shifted(self.by.0).ok_or(Fault::Outside)?;
            corner.y = corner.y.shifted(self.by.1).ok_or(Fault::Outside)?;
        }
        self.room = Some((old.id.clone(), room.id.clone()));
        let parent = Some(Subject::new(Kind::Level, &floor.id));
        let mut edits = vec![insert(Kind::Room, parent, at + nth, &room)?];
        let boxes: Vec<&WallBox> = job.boxes.iter().filter(|b| b.room.same(&old.id)).collect();
        edits.extend(self.wall_boxes(&boxes, job.boxes.len() + (nth - 1) * boxes.len())?);
        Ok(edits)
    }

    fn wall_box(&mut self, at: usize, nth: usize) -> Result<Vec<Edit>, Fault> {
        let Some(old) = self.job.boxes.get(at) else { return Ok(Vec::new()) };
        self.wall_boxes(&[old], at + nth)
    }

    /// Copies wall boxes together, so that what goes from one to the other does so among the copies.
    fn wall_boxes(&mut self, old: &[&WallBox], at: usize) -> Result<Vec<Edit>, Fault> {
        let mut boxes: Vec<WallBox> = Vec::new();
        for old in old {
            let mut wall_box = (*old).clone();
            wall_box.id = self.copied(Kind::WallBox, &old.id, None);
            wall_box.name = named(&old.name, &mut self.names.boxes);
            wall_box.place = self.shifted(old.place)?;
            wall_box.site = BoxRecord::default();
            if let Some((_, room)) = self.room.as_ref().filter(|(from, _)| from.same(&old.room)) {
                wall_box.room = room.clone();
            }
            for feed in &mut wall_box.feeds {
                feed.id = self.copied(Kind::Cable, &feed.id.clone(), None);
                (feed.measured, feed.tag) = (None, None);
                (feed.site, feed.readings) = (CableRecord::default(), Vec::new());
                (feed.landed, feed.pinned) = (false, false);
            }
            let within = (old.id.clone(), wall_box.id.clone());
            for control in &mut wall_box.controls {
                let before = control.id.clone();
                control.id = self.copied(Kind::Control, &before, Some((&within.0, &within.1)));
                let within = (before, control.id.clone());
                for wired in &mut control.loops {
                    self.inside(wired, Some(&within))?;
                }
            }
            boxes.push(wall_box);
        }
        let mut edits = Vec::new();
        for (nth, wall_box) in boxes.iter_mut().enumerate() {
            for feed in &mut wall_box.feeds {
                feed.from = self.source(&feed.from);
            }
            for control in &mut wall_box.controls {
                control.on = control.on.as_ref().map(|on| self.now(Kind::Cable, on));
                for wired in &mut control.loops {
                    wired.returns_to = wired.returns_to.as_ref().map(|id| self.now(Kind::Control, id));
                }
            }
            edits.push(insert(Kind::WallBox, None, at + nth, wall_box)?);
        }
        edits.extend(self.groups()?);
        Ok(edits)
    }

    /// Gives a loop and its ceiling boxes new ids and places, without what was measured.
    fn inside(&mut self, wired: &mut Loop, within: Option<&(Id, Id)>) -> Result<(), Fault> {
        let within = within.map(|(old, new)| (old, new));
        wired.id = self.copied(Kind::Cable, &wired.id.clone(), within);
        (wired.measured, wired.return_leg, wired.tag) = (None, None, None);
        (wired.site, wired.readings) = (CableRecord::default(), Vec::new());
        for light in &mut wired.ceiling {
            light.id = self.copied(Kind::Fixture, &light.id.clone(), None);
            (light.leg, light.tag) = (None, None);
            light.site = BoxRecord::default();
            light.place = self.shifted(light.place)?;
            if let Some((_, room)) =
                self.room.as_ref().filter(|(from, _)| light.room.as_ref().is_some_and(|room| room.same(from)))
            {
                light.room = Some(room.clone());
            }
        }
        Ok(())
    }

    fn source(&self, from: &Source) -> Source {
        match from {
            Source::Panel(panel) => Source::Panel(panel.clone()),
            Source::Output(output) => match self.index.supply(self.job, &output.supply) {
                Some((panel, _)) => Source::Panel(panel.id.clone()),
                None => from.clone(),
            },
            Source::Onward(feed) => Source::Onward(self.now(Kind::Cable, feed)),
        }
    }

    /// Copies the groups all of whose controls are copied.
    fn groups(&mut self) -> Result<Vec<Edit>, Fault> {
        let job = self.job;
        let mut edits = Vec::new();
        for group in &job.groups {
            let copied = |id: &Id| self.new.contains_key(&(Kind::Control, id.folded()));
            let links = group.links.iter().all(|link| copied(&link.from) && copied(&link.to));
            if !(copied(&group.main) && group.remotes.iter().all(copied) && links) {
                continue;
            }
            let mut copy: ControlGroup = group.clone();
            copy.id = self.copied(Kind::Group, &group.id, None);
            copy.main = self.now(Kind::Control, &group.main);
            copy.remotes = group.remotes.iter().map(|id| self.now(Kind::Control, id)).collect();
            for link in &mut copy.links {
                link.id = self.copied(Kind::Cable, &link.id.clone(), None);
                link.from = self.now(Kind::Control, &link.from);
                link.to = self.now(Kind::Control, &link.to);
                (link.measured, link.tag) = (None, None);
                (link.site, link.readings) = (CableRecord::default(), Vec::new());
            }
            edits.push(insert(Kind::Group, None, usize::MAX, &copy)?);
        }
        Ok(edits)
    }

    fn wired_loop(&mut self, subject: &Subject, spot: Spot, nth: usize) -> Result<Vec<Edit>, Fault> {
        let Spot::Loop { wall_box, control, at } = spot else { return Ok(Vec::new()) };
        let old =
            self.job.boxes.get(wall_box).and_then(|b| b.controls.get(control)).and_then(|c| c.loops.get(at));
        let Some(old) = old else { return Ok(Vec::new()) };
        let mut wired = old.clone();
        self.inside(&mut wired, None)?;
        let parent = held(self.job, self.index, subject).and_then(|held| held.parent);
        Ok(vec![insert(Kind::Cable, parent, at + nth, &wired)?])
    }

    fn control(&mut self, wall_box: usize, at: usize, nth: usize) -> Result<Vec<Edit>, Fault> {
        let Some(of) = self.job.boxes.get(wall_box) else { return Ok(Vec::new()) };
        let Some(old) = of.controls.get(at) else { return Ok(Vec::new()) };
        let mut control = old.clone();
        control.id = self.ids.lettered(&of.id);
        self.new.insert((Kind::Control, old.id.folded()), control.id.clone());
        let within = (old.id.clone(), control.id.clone());
        for wired in &mut control.loops {
            self.inside(wired, Some(&within))?;
            wired.returns_to = wired.returns_to.as_ref().map(|id| self.now(Kind::Control, id));
        }
        let parent = Some(Subject::new(Kind::WallBox, &of.id));
        Ok(vec![insert(Kind::Control, parent, at + nth, &control)?])
    }

    /// Copies a thing that holds no other: a ceiling box, a supply, an entry of the catalogue.
    fn single(&mut self, subject: &Subject, nth: usize) -> Result<Vec<Edit>, Fault> {
        let Some(old) = held(self.job, self.index, subject) else { return Ok(Vec::new()) };
        let mut value = old.value;
        let place = match value.get("place") {
            Some(place) if !place.is_null() => {
                let place = serde_json::from_value(place.clone()).map_err(|e| Fault::Value(e.to_string()))?;
                self.shifted(Some(place))?
            }
            _ => None,
        };
        let id = Id::new(&subject.id).map_err(|bad| Fault::Value(bad.to_string()))?;
        let id = self.ids.copy(subject.kind, &id, None);
        if let Some(fields) = value.as_object_mut() {
            fields.insert("id".into(), id.as_str().into());
            // Measured, where it sits in the panel, what its flags say, what was done to it: all are the original's own.
            for own in ["leg", "slot", "tag", "site"] {
                fields.remove(own);
            }
            if let Some(place) = place {
                let place = serde_json::to_value(place).map_err(|e| Fault::Value(e.to_string()))?;
                fields.insert("place".into(), place);
            }
        }
        Ok(vec![Edit::Insert { kind: subject.kind, parent: old.parent, at: old.at + nth, value }])
    }
}

fn insert<T: Serialize>(kind: Kind, parent: Option<Subject>, at: usize, thing: &T) -> Result<Edit, Fault> {
    let value = serde_json::to_value(thing).map_err(|error| Fault::Value(error.to_string()))?;
    Ok(Edit::Insert { kind, parent, at, value })
}
