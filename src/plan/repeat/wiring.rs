//! Copies of feeds, controls, loops, groups, and of what holds nothing else.

use super::copier::{Copier, Fault, insert};
use super::letters_of;
use crate::job::edit::Edit;
use crate::job::value::held;
use crate::job::wiring::Control;
use crate::job::{Id, Kind, Spot, Subject};

impl Copier<'_, '_> {
    pub(super) fn feed(&mut self, wall_box: usize, at: usize) -> Result<Vec<Edit>, Fault> {
        let Some(of) = self.job.boxes.get(wall_box) else { return Ok(Vec::new()) };
        let Some(old) = of.feeds.get(at) else { return Ok(Vec::new()) };
        let mut feed = old.clone();
        self.anew(&mut feed);
        feed.from = self.source(&old.id, &old.from);
        let parent = self.into.clone().unwrap_or_else(|| Subject::new(Kind::WallBox, &of.id));
        Ok(vec![insert(Kind::Cable, Some(parent), self.place(at), &feed)?])
    }

    pub(super) fn wired_loop(&mut self, subject: &Subject, spot: Spot) -> Result<Vec<Edit>, Fault> {
        let Spot::Loop { wall_box, control, at } = spot else { return Ok(Vec::new()) };
        let old =
            self.job.boxes.get(wall_box).and_then(|b| b.controls.get(control)).and_then(|c| c.loops.get(at));
        let Some(old) = old else { return Ok(Vec::new()) };
        let mut wired = old.clone();
        self.inside(&mut wired, None)?;
        let own = held(self.job, self.index, subject).and_then(|held| held.parent);
        let parent = self.into.clone().or(own);
        if let Some(control) = self.into.as_ref().and_then(|into| Id::new(&into.id).ok()) {
            // It returns to the control it leaves from, and is called after it.
            wired.returns_to = None;
            wired.id = self.ids.numbered(Kind::Cable, control.as_str(), 1);
        }
        Ok(vec![insert(Kind::Cable, parent, self.place(at), &wired)?])
    }

    pub(super) fn control(&mut self, wall_box: usize, at: usize) -> Result<Vec<Edit>, Fault> {
        let Some((parent, mut control)) = self.new_control(wall_box, at)? else { return Ok(Vec::new()) };
        self.lead(&mut control);
        Ok(vec![insert(Kind::Control, Some(parent), self.place(at), &control)?])
    }

    /// Copies a group with its controls, each in the box of the original.
    pub(super) fn group(&mut self, at: usize) -> Result<Vec<Edit>, Fault> {
        let Some(group) = self.job.groups.get(at) else { return Ok(Vec::new()) };
        let mut made = Vec::new();
        for id in [&group.main].into_iter().chain(&group.remotes) {
            if let Some(Spot::Control { wall_box, control }) = self.index.spot(Kind::Control, id) {
                made.extend(self.new_control(wall_box, control)?);
            }
        }
        let mut edits = Vec::new();
        for (parent, mut control) in made {
            self.lead(&mut control);
            edits.push(insert(Kind::Control, Some(parent), usize::MAX, &control)?);
        }
        edits.extend(self.groups()?);
        Ok(edits)
    }

    fn new_control(&mut self, wall_box: usize, at: usize) -> Result<Option<(Subject, Control)>, Fault> {
        let Some(of) = self.job.boxes.get(wall_box) else { return Ok(None) };
        let Some(old) = of.controls.get(at) else { return Ok(None) };
        let mut control = old.clone();
        let target = self.into.as_ref().and_then(|into| Id::new(&into.id).ok());
        control.id = self.ids.lettered(target.as_ref().unwrap_or(&of.id));
        if target.is_some() {
            // The feeds of another box are its own.
            control.on = None;
        }
        self.new.insert((Kind::Control, old.id.folded()), control.id.clone());
        let within = (old.id.clone(), control.id.clone());
        for wired in &mut control.loops {
            self.inside(wired, Some(&within))?;
        }
        let parent = self.into.clone().unwrap_or_else(|| Subject::new(Kind::WallBox, &of.id));
        Ok(Some((parent, control)))
    }

    /// Leads the returns of a control's loops to the copies.
    fn lead(&self, control: &mut Control) {
        for wired in &mut control.loops {
            wired.returns_to = wired.returns_to.as_ref().map(|id| self.now(Kind::Control, id));
        }
    }

    /// Copies a thing that holds no other: a ceiling box, a supply, an entry of the catalogue.
    pub(super) fn single(&mut self, subject: &Subject) -> Result<Vec<Edit>, Fault> {
        let Some(old) = held(self.job, self.index, subject) else { return Ok(Vec::new()) };
        let mut value = old.value;
        let place = match value.get("place") {
            Some(place) if !place.is_null() => {
                let place = serde_json::from_value(place.clone()).map_err(|e| Fault::Value(e.to_string()))?;
                self.shifted(Some(place))?
            }
            _ => None,
        };
        if subject.kind == Kind::Fixture {
            self.letters = self.letters_of_loop();
        }
        let id = Id::new(&subject.id).map_err(|bad| Fault::Value(bad.to_string()))?;
        let id = self.copied(subject.kind, &id, None);
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
        let parent = self.into.clone().or(old.parent);
        Ok(vec![Edit::Insert { kind: subject.kind, parent, at: self.place(old.at), value }])
    }

    /// The letters of the room of the loop that a light goes into.
    fn letters_of_loop(&self) -> Option<String> {
        let id = Id::new(&self.into.as_ref()?.id).ok()?;
        let Spot::Loop { wall_box, .. } = self.index.spot(Kind::Cable, &id)? else { return None };
        let (_, room) = self.index.room(self.job, &self.job.boxes.get(wall_box)?.room)?;
        Some(letters_of(room))
    }
}
