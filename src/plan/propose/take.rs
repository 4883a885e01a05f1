//! A proposal as an edit: wall boxes with their home runs, controls, loops and lights.

use super::{MOST_LIGHTS, Proposal, ProposeError, dashed, deal, smallest_box};
use crate::job::edit::Edit;
use crate::job::ids::{Ids, prefix};
use crate::job::open::OneFor;
use crate::job::site::{BoxRecord, CableRecord};
use crate::job::wiring::{CeilingBox, Control, Feed, Loop, WallBox};
use crate::job::{Index, Job, Kind};

impl Proposal {
    /// Takes the proposal: one edit that adds its wall boxes with all that is in them.
    ///
    /// # Errors
    /// [`ProposeError`] when there are more loops than lights, none, or too many.
    pub fn edit(&self, job: &Job) -> Result<Edit, ProposeError> {
        let index = Index::new(job).0;
        let missing = || ProposeError::Missing { kind: Kind::Room, id: self.room.clone() };
        let (_, room) = index.room(job, &self.room).ok_or_else(missing)?;
        let controls = self.wall_boxes.saturating_mul(self.controls_each);
        let loops = controls.saturating_mul(self.loops_each);
        if self.lights > MOST_LIGHTS {
            return Err(ProposeError::TooMany(self.lights));
        }
        if loops == 0 || self.lights < loops {
            return Err(ProposeError::Split { lights: self.lights, loops });
        }
        let mut ids = Ids::of(job);
        let letters = prefix(if room.name.is_empty() { room.id.as_str() } else { &room.name });
        let mut places = self.places(job).unwrap_or_default().into_iter();
        let mut edits = Vec::new();
        for (nth, lights) in deal(self.lights, self.wall_boxes).into_iter().enumerate() {
            let id = ids.numbered(Kind::WallBox, &letters, 1);
            let feeds = self.from.iter().map(|from| Feed {
                way: Vec::new(),
                id: ids.numbered(Kind::Cable, "HR", 1),
                name: String::new(),
                tag: None,
                from: from.clone(),
                cable: self.home_run_cable.clone(),
                plan: None,
                measured: None,
                landed: false,
                pinned: false,
                site: CableRecord::default(),
                readings: Vec::new(),
            });
            let feeds = feeds.collect();
            let mut wall_box = WallBox {
                site: BoxRecord::default(),
                line: None,
                name: if nth == 0 { self.box_name.clone() } else { format!("{} {}", self.box_name, nth + 1) },
                room: self.room.clone(),
                place: self.box_place.filter(|_| nth == 0),
                part: smallest_box(job, &index, &self.control, self.controls_each),
                feeds,
                allowance_watts: None,
                controls: Vec::new(),
                id,
            };
            for lights in deal(lights, self.controls_each) {
                let id = ids.lettered(&wall_box.id);
                let mut control = Control {
                    name: String::new(),
                    part: self.control.clone(),
                    open: Vec::new(),
                    one_for: OneFor::Each,
                    on: None,
                    loops: Vec::new(),
                    id,
                };
                for lights in deal(lights, self.loops_each) {
                    let id = ids.numbered(Kind::Cable, control.id.as_str(), 1);
                    let hang = |_| CeilingBox {
                        place: places.next(),
                        fixture: Some(self.fixture.clone()),
                        ..CeilingBox::new(ids.numbered(Kind::Fixture, &dashed(&letters), 1))
                    };
                    let ceiling = (0..lights).map(hang).collect();
                    let wired = Loop::new(id, self.loop_cable.clone(), self.path);
                    control.loops.push(Loop { ceiling, ..wired });
                }
                wall_box.controls.push(control);
            }
            let value =
                serde_json::to_value(&wall_box).map_err(|error| ProposeError::Value(error.to_string()))?;
            edits.push(Edit::Insert { kind: Kind::WallBox, parent: None, at: job.boxes.len() + nth, value });
        }
        Ok(Edit::Together(edits))
    }
}
