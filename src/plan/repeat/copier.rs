//! What every copy needs: new ids and names, places shifted, references led to the copies.

use super::{Names, letters_of};
use crate::job::edit::Edit;
use crate::job::house::Place;
use crate::job::ids::{Ids, next_name};
use crate::job::site::{BoxRecord, CableRecord};
use crate::job::wiring::{ControlGroup, Feed, Loop, Source};
use crate::job::{Id, Index, Job, Kind, Subject};
use crate::plan::next::Outlets;
use crate::plan::propose::dashed;
use serde::Serialize;
use std::collections::{HashMap, HashSet};

pub(super) enum Fault {
    Outside,
    Value(String),
}

/// Makes one copy.
pub(super) struct Copier<'a, 'i> {
    pub job: &'a Job,
    pub index: &'a Index,
    pub ids: &'i mut Ids,
    pub names: &'i mut Names,
    pub outlets: Option<&'i mut Outlets>,
    /// How far places shift; without that a copy has none.
    pub by: Option<(i64, i64)>,
    /// How much higher a copied level is.
    pub up: Option<i64>,
    /// What the copy goes into, if not where the original is.
    pub into: Option<Subject>,
    /// The letters of the room it goes into.
    pub letters: Option<String>,
    /// The ids of the copies, by kind and the id they are made from.
    pub new: HashMap<(Kind, String), Id>,
    /// Which copy it is, from 1.
    pub nth: usize,
}

/// The name of a copy; in another place a name that is free there stays.
pub(super) fn named(name: &str, taken: &mut HashSet<String>, elsewhere: bool) -> String {
    let free = elsewhere && !taken.contains(&name.to_lowercase());
    let next = if free { name.to_owned() } else { next_name(name, taken) };
    taken.insert(next.to_lowercase());
    next
}

impl Copier<'_, '_> {
    /// Looks at where a wall box goes: in another room it takes that room's letters and its place from the corner.
    pub(super) fn settle(&mut self, subject: &Subject) {
        let into = self.into.as_ref().filter(|into| into.kind == Kind::Room && subject.kind == Kind::WallBox);
        let Some(room) = into.and_then(|into| Id::new(&into.id).ok()) else { return };
        let Some((_, room)) = self.index.room(self.job, &room) else { return };
        let of = self.job.boxes.iter().find(|wall_box| *subject == Subject::new(Kind::WallBox, &wall_box.id));
        let from = of.and_then(|of| self.index.room(self.job, &of.room)).map(|(_, room)| room);
        let Some(from) = from else { return };
        self.letters = Some(letters_of(room));
        self.new.insert((Kind::Room, from.id.folded()), room.id.clone());
        self.by = self.by.zip(from.corner.zip(room.corner)).and_then(|(by, (old, new))| {
            let across = new.x.ticks().checked_sub(old.x.ticks())?.checked_add(by.0)?;
            Some((across, new.y.ticks().checked_sub(old.y.ticks())?.checked_add(by.1)?))
        });
    }

    /// Where in its list a copy stands: after the original, or at the end of another list.
    pub(super) fn place(&self, at: usize) -> usize {
        if self.into.is_some() { usize::MAX } else { at.saturating_add(self.nth) }
    }

    pub(super) fn copied(&mut self, kind: Kind, id: &Id, within: Option<(&Id, &Id)>) -> Id {
        let new = match (kind, &self.letters) {
            (Kind::WallBox, Some(letters)) => self.ids.numbered(kind, letters, 1),
            (Kind::Fixture, Some(letters)) => self.ids.numbered(kind, &dashed(letters), 1),
            _ => self.ids.copy(kind, id, within),
        };
        self.new.insert((kind, id.folded()), new.clone());
        new
    }

    /// The copy of what is named, or the thing itself where it is not copied.
    pub(super) fn now(&self, kind: Kind, id: &Id) -> Id {
        self.new.get(&(kind, id.folded())).unwrap_or(id).clone()
    }

    pub(super) fn shifted(&self, place: Option<Place>) -> Result<Option<Place>, Fault> {
        let (Some(place), Some(by)) = (place, self.by) else { return Ok(None) };
        let x = place.x.shifted(by.0).ok_or(Fault::Outside)?;
        let y = place.y.shifted(by.1).ok_or(Fault::Outside)?;
        Ok(Some(Place { x, y, ..place }))
    }

    /// Gives a feed a new id, without what was measured or done.
    pub(super) fn anew(&mut self, feed: &mut Feed) {
        feed.id = self.copied(Kind::Cable, &feed.id.clone(), None);
        (feed.measured, feed.tag) = (None, None);
        (feed.site, feed.readings) = (CableRecord::default(), Vec::new());
        (feed.landed, feed.pinned) = (false, false);
    }

    /// Gives a loop and its ceiling boxes new ids and places, without what was measured.
    pub(super) fn inside(&mut self, wired: &mut Loop, within: Option<&(Id, Id)>) -> Result<(), Fault> {
        let within = within.map(|(old, new)| (old, new));
        wired.id = self.copied(Kind::Cable, &wired.id.clone(), within);
        (wired.measured, wired.return_leg, wired.tag) = (None, None, None);
        (wired.site, wired.readings) = (CableRecord::default(), Vec::new());
        for light in &mut wired.ceiling {
            light.id = self.copied(Kind::Fixture, &light.id.clone(), None);
            (light.leg, light.tag) = (None, None);
            light.site = BoxRecord::default();
            light.place = self.shifted(light.place)?;
            light.room = light.room.as_ref().map(|room| self.now(Kind::Room, room));
        }
        Ok(())
    }

    /// Where the copy of a feed comes from.
    pub(super) fn source(&mut self, original: &Id, from: &Source) -> Source {
        let panel = match from {
            Source::Onward(feed) => return Source::Onward(self.now(Kind::Cable, feed)),
            Source::Panel(panel) => panel.clone(),
            Source::Output(output) => match self.index.supply(self.job, &output.supply) {
                Some((panel, _)) => panel.id.clone(),
                None => return from.clone(),
            },
        };
        let output = self.outlets.as_mut().and_then(|outlets| outlets.take_like(original, &panel, from));
        output.map_or(Source::Panel(panel), Source::Output)
    }

    /// Copies the groups all of whose controls are copied.
    pub(super) fn groups(&mut self) -> Result<Vec<Edit>, Fault> {
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
            copy.name = named(&group.name, &mut self.names.groups, false);
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
}

pub(super) fn insert<T: Serialize>(
    kind: Kind,
    parent: Option<Subject>,
    at: usize,
    thing: &T,
) -> Result<Edit, Fault> {
    let value = serde_json::to_value(thing).map_err(|error| Fault::Value(error.to_string()))?;
    Ok(Edit::Insert { kind, parent, at, value })
}
