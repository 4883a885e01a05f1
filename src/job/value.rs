//! A thing of a job as the job file would hold it, and what it belongs to: what an edit that moves or copies needs.

use super::{Id, Index, Job, Kind, Spot, Subject};
use serde::Serialize;
use serde_json::Value;

/// A thing with its place in the job.
#[derive(Debug, Clone, PartialEq)]
pub struct Held {
    /// The thing as the job file would hold it, with all it contains.
    pub value: Value,
    /// What it belongs to; `None` where the job itself holds the list.
    pub parent: Option<Subject>,
    /// Its place in the list.
    pub at: usize,
}

/// The thing of that kind and id.
pub fn held(job: &Job, subject: &Subject) -> Option<Held> {
    let index = Index::new(job).0;
    held_at(job, index.spot(subject.kind, &Id::new(&subject.id).ok()?)?)
}

/// The value of one field of a thing; null where it is left out, `None` where there is no such thing.
pub fn field(job: &Job, subject: &Subject, field: &str) -> Option<Value> {
    let value = match subject.kind {
        Kind::Project => serde_json::to_value(&job.project).ok()?,
        Kind::Settings => serde_json::to_value(&job.settings).ok()?,
        _ => held(job, subject)?.value,
    };
    Some(value.get(field).cloned().unwrap_or(Value::Null))
}

fn held_at(job: &Job, spot: Spot) -> Option<Held> {
    let parts = &job.catalogue;
    match spot {
        Spot::ConductorPlan(at) => top(&parts.plans, at),
        Spot::CableType(at) => top(&parts.cables, at),
        Spot::FixtureType(at) => top(&parts.fixtures, at),
        Spot::SupplyType(at) => top(&parts.supplies, at),
        Spot::ControlType(at) => top(&parts.controls, at),
        Spot::BoxType(at) => top(&parts.boxes, at),
        Spot::Level(at) => top(&job.levels, at),
        Spot::Panel(at) => top(&job.panels, at),
        Spot::WallBox(at) => top(&job.boxes, at),
        Spot::Group(at) => top(&job.groups, at),
        Spot::Room { level, room } => {
            let level = job.levels.get(level)?;
            within(Kind::Level, &level.id, &level.rooms, room)
        }
        Spot::Supply { panel, supply } => {
            let panel = job.panels.get(panel)?;
            within(Kind::Panel, &panel.id, &panel.supplies, supply)
        }
        Spot::Feed { wall_box, feed } => {
            let wall_box = job.boxes.get(wall_box)?;
            within(Kind::WallBox, &wall_box.id, &wall_box.feeds, feed)
        }
        Spot::Control { wall_box, control } => {
            let wall_box = job.boxes.get(wall_box)?;
            within(Kind::WallBox, &wall_box.id, &wall_box.controls, control)
        }
        Spot::Loop { wall_box, control, at } => {
            let control = job.boxes.get(wall_box)?.controls.get(control)?;
            within(Kind::Control, &control.id, &control.loops, at)
        }
        Spot::Ceiling { wall_box, control, at, ceiling } => {
            let on = job.boxes.get(wall_box)?.controls.get(control)?.loops.get(at)?;
            within(Kind::Cable, &on.id, &on.ceiling, ceiling)
        }
        Spot::Link { group, link } => {
            let group = job.groups.get(group)?;
            within(Kind::Group, &group.id, &group.links, link)
        }
    }
}

fn top<T: Serialize>(list: &[T], at: usize) -> Option<Held> {
    Some(Held { value: serde_json::to_value(list.get(at)?).ok()?, parent: None, at })
}

fn within<T: Serialize>(kind: Kind, parent: &Id, list: &[T], at: usize) -> Option<Held> {
    Some(Held { parent: Some(Subject::new(kind, parent)), ..top(list, at)? })
}
