//! A thing of a job as the job file would hold it, and what it belongs to: what an edit that moves or copies needs.

use super::fields::thing;
use super::{Id, Index, Job, Kind, Spot, Subject};
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

/// The thing of that kind and id. The heading and the settings of a job are held by no list.
pub fn held(job: &Job, index: &Index, subject: &Subject) -> Option<Held> {
    let spot = index.spot(subject.kind, &Id::new(&subject.id).ok()?)?;
    let (parent, at) = stands(job, spot)?;
    Some(Held { value: thing(job, index, subject)?, parent, at })
}

/// The value of one field of a thing; null where it is left out, `None` where there is no such thing.
pub fn field(job: &Job, index: &Index, subject: &Subject, field: &str) -> Option<Value> {
    Some(thing(job, index, subject)?.get(field).cloned().unwrap_or(Value::Null))
}

/// What a thing belongs to, and its place there.
fn stands(job: &Job, spot: Spot) -> Option<(Option<Subject>, usize)> {
    let wall_box = |at: usize| job.boxes.get(at).map(|of| Subject::new(Kind::WallBox, &of.id));
    let (parent, at) = match spot {
        Spot::ConductorPlan(at)
        | Spot::CableType(at)
        | Spot::FixtureType(at)
        | Spot::SupplyType(at)
        | Spot::ControlType(at)
        | Spot::BoxType(at)
        | Spot::Meter(at)
        | Spot::Level(at)
        | Spot::Panel(at)
        | Spot::WallBox(at)
        | Spot::Group(at) => return Some((None, at)),
        Spot::Room { level, room } => (Subject::new(Kind::Level, &job.levels.get(level)?.id), room),
        Spot::Supply { panel, supply } => (Subject::new(Kind::Panel, &job.panels.get(panel)?.id), supply),
        Spot::Feed { wall_box: of, feed } => (wall_box(of)?, feed),
        Spot::Control { wall_box: of, control } => (wall_box(of)?, control),
        Spot::Loop { wall_box, control, at } => {
            (Subject::new(Kind::Control, &job.boxes.get(wall_box)?.controls.get(control)?.id), at)
        }
        Spot::Ceiling { wall_box, control, at, ceiling } => {
            let on = job.boxes.get(wall_box)?.controls.get(control)?.loops.get(at)?;
            (Subject::new(Kind::Cable, &on.id), ceiling)
        }
        Spot::Link { group, link } => (Subject::new(Kind::Group, &job.groups.get(group)?.id), link),
    };
    Some((Some(parent), at))
}
