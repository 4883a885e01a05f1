//! Copies of levels, rooms, wall boxes and panels.

use super::copier::{Copier, Fault, insert, named};
use crate::job::edit::Edit;
use crate::job::house::Room;
use crate::job::panel::Supply;
use crate::job::site::BoxRecord;
use crate::job::wiring::{Feed, WallBox};
use crate::job::{Id, Kind, Subject};

impl Copier<'_, '_> {
    pub(super) fn level(&mut self, at: usize) -> Result<Vec<Edit>, Fault> {
        let job = self.job;
        let Some(old) = job.levels.get(at) else { return Ok(Vec::new()) };
        let mut level = old.clone();
        level.id = self.copied(Kind::Level, &old.id, None);
        level.name = named(&old.name, &mut self.names.levels, false);
        level.elevation = match (old.elevation, self.up) {
            (Some(floor), Some(up)) => Some(floor.shifted(up).ok_or(Fault::Outside)?),
            _ => None,
        };
        for room in &mut level.rooms {
            *room = self.new_room(&room.clone())?;
        }
        let rooms: Vec<&Id> = old.rooms.iter().map(|room| &room.id).collect();
        let boxes: Vec<&WallBox> =
            job.boxes.iter().filter(|b| rooms.iter().any(|room| b.room.same(room))).collect();
        let mut edits = vec![insert(Kind::Level, None, at + self.nth, &level)?];
        edits.extend(self.wall_boxes(&boxes, usize::MAX)?);
        Ok(edits)
    }

    pub(super) fn room(&mut self, level: usize, at: usize) -> Result<Vec<Edit>, Fault> {
        let job = self.job;
        let Some(floor) = job.levels.get(level) else { return Ok(Vec::new()) };
        let Some(old) = floor.rooms.get(at) else { return Ok(Vec::new()) };
        let room = self.new_room(old)?;
        let parent = self.into.clone().unwrap_or_else(|| Subject::new(Kind::Level, &floor.id));
        let mut edits = vec![insert(Kind::Room, Some(parent), self.place(at), &room)?];
        let boxes: Vec<&WallBox> = job.boxes.iter().filter(|b| b.room.same(&old.id)).collect();
        edits.extend(self.wall_boxes(&boxes, usize::MAX)?);
        Ok(edits)
    }

    fn new_room(&mut self, old: &Room) -> Result<Room, Fault> {
        let mut room = old.clone();
        room.id = self.copied(Kind::Room, &old.id, None);
        room.name = named(&old.name, &mut self.names.rooms, false);
        if let (Some(corner), Some(by)) = (&mut room.corner, self.by) {
            corner.x = corner.x.shifted(by.0).ok_or(Fault::Outside)?;
            corner.y = corner.y.shifted(by.1).ok_or(Fault::Outside)?;
        }
        Ok(room)
    }

    pub(super) fn wall_box(&mut self, at: usize) -> Result<Vec<Edit>, Fault> {
        let Some(old) = self.job.boxes.get(at) else { return Ok(Vec::new()) };
        self.wall_boxes(&[old], self.place(at))
    }

    /// Copies wall boxes together, so that what goes from one to the other does so among the copies.
    fn wall_boxes(&mut self, old: &[&WallBox], at: usize) -> Result<Vec<Edit>, Fault> {
        let mut boxes: Vec<WallBox> = Vec::new();
        for old in old {
            let mut wall_box = (*old).clone();
            wall_box.id = self.copied(Kind::WallBox, &old.id, None);
            wall_box.name = named(&old.name, &mut self.names.boxes, self.names.elsewhere);
            wall_box.place = self.shifted(old.place)?;
            wall_box.site = BoxRecord::default();
            wall_box.room = self.now(Kind::Room, &old.room);
            wall_box.feeds.iter_mut().for_each(|feed| self.anew(feed));
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
        for (nth, (wall_box, old)) in boxes.iter_mut().zip(old).enumerate() {
            for (feed, Feed { id, .. }) in wall_box.feeds.iter_mut().zip(&old.feeds) {
                feed.from = self.source(id, &feed.from);
            }
            for control in &mut wall_box.controls {
                control.on = control.on.as_ref().map(|on| self.now(Kind::Cable, on));
                for wired in &mut control.loops {
                    wired.returns_to = wired.returns_to.as_ref().map(|id| self.now(Kind::Control, id));
                }
            }
            edits.push(insert(Kind::WallBox, None, at.saturating_add(nth), wall_box)?);
        }
        edits.extend(self.groups()?);
        Ok(edits)
    }

    /// Copies a panel with its supplies in the same slots; no home run comes from the copy.
    pub(super) fn panel(&mut self, at: usize) -> Result<Vec<Edit>, Fault> {
        let Some(old) = self.job.panels.get(at) else { return Ok(Vec::new()) };
        let mut panel = old.clone();
        panel.id = self.copied(Kind::Panel, &old.id, None);
        panel.name = named(&old.name, &mut self.names.panels, false);
        panel.place = self.shifted(old.place)?;
        for Supply { id, .. } in &mut panel.supplies {
            *id = self.copied(Kind::Supply, &id.clone(), None);
        }
        Ok(vec![insert(Kind::Panel, None, at + self.nth, &panel)?])
    }
}
