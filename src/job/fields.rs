//! The fields of every thing as people type them: one table for forms, filling down and pasting.
//!
//! A thing is edited through its serialized form, so a field is a path into that and a way to write and read what
//! stands there. Whether a value fits is decided where files are read, by the same types.

mod catalogue;
mod codec;
mod estimate;
mod house;
mod new;
mod site;
mod wiring;
mod words;

pub use codec::{Codec, Shape};
pub use new::blank;
pub use words::spoken;

use super::{Id, Index, Job, Kind, Spot, Subject};
use serde_json::Value;

/// A field of a kind of thing.
#[derive(Debug, Clone, Copy)]
pub struct Field {
    /// The way to it in the serialized thing; the first part is the job file's field.
    pub path: &'static [&'static str],
    /// What it is called.
    pub label: &'static str,
    /// What may stand in it, in a few words.
    pub help: &'static str,
    /// How it is written and read.
    pub shape: Shape,
}

impl Field {
    pub(in crate::job) const fn new(
        path: &'static [&'static str],
        label: &'static str,
        help: &'static str,
        shape: Shape,
    ) -> Self {
        Self { path, label, help, shape }
    }

    /// Whether it records what happened to a thing after it was planned: on site, in readings, on flags.
    pub fn is_record(&self) -> bool {
        matches!(self.path.first(), Some(&"site" | &"readings" | &"tag"))
    }

    /// Whether the field is there, given what else is chosen: the watts of a load only for a load of power.
    pub fn applies(&self, thing: &Value) -> bool {
        let mut at = thing;
        for part in self.path.iter().take(self.path.len().saturating_sub(1)) {
            match at.get(part) {
                Some(inner) => at = inner,
                // A choice stands there under another name or is left out, so this field is not part of it.
                None => {
                    return !self.path.iter().any(|part| part.starts_with(|c: char| c.is_ascii_uppercase()));
                }
            }
        }
        true
    }

    /// The text of the field in a thing; empty where it is left out.
    pub fn text(&self, thing: &Value) -> String {
        self.shape.codec().show(self.value(thing))
    }

    fn value<'a>(&self, thing: &'a Value) -> &'a Value {
        self.path.iter().fold(thing, |at, part| at.get(part).unwrap_or(&Value::Null))
    }

    /// Puts a text into a thing.
    ///
    /// # Errors
    /// What the text should look like.
    pub fn put(&self, job: &Job, thing: &mut Value, text: &str) -> Result<(), String> {
        let value = self.shape.codec().read(job, text)?;
        put_at(thing, self.path, value);
        Ok(())
    }
}

/// Puts a value at a path, making the structs on the way; a struct that loses its last field is left out.
fn put_at(thing: &mut Value, path: &[&str], value: Value) {
    let Some((first, rest)) = path.split_first() else {
        *thing = value;
        return;
    };
    if !thing.is_object() {
        if value.is_null() {
            return;
        }
        *thing = Value::Object(serde_json::Map::new());
    }
    let Some(fields) = thing.as_object_mut() else { return };
    if rest.is_empty() && value.is_null() {
        fields.remove(*first);
        return;
    }
    let inner = fields.entry((*first).to_owned()).or_insert(Value::Null);
    put_at(inner, rest, value);
    if !rest.is_empty() && (inner.is_null() || inner.as_object().is_some_and(serde_json::Map::is_empty)) {
        fields.remove(*first);
    }
}

/// The fields of a kind of thing; for a cable those of the one that is meant.
pub fn of(kind: Kind, spot: Option<Spot>) -> &'static [Field] {
    match (kind, spot) {
        (Kind::ConductorPlan, _) => catalogue::PLAN,
        (Kind::CableType, _) => catalogue::CABLE,
        (Kind::FixtureType, _) => catalogue::FIXTURE,
        (Kind::SupplyType, _) => catalogue::SUPPLY,
        (Kind::ControlType, _) => catalogue::CONTROL,
        (Kind::BoxType, _) => catalogue::BOX,
        (Kind::SmallPart, _) => estimate::SMALL_PART,
        (Kind::Meter, _) => site::METER,
        (Kind::Level, _) => house::LEVEL,
        (Kind::Room, _) => house::ROOM,
        (Kind::Panel, _) => house::PANEL,
        (Kind::Supply, _) => house::SUPPLY,
        (Kind::WallBox, _) => wiring::WALL_BOX,
        (Kind::Control, _) => wiring::CONTROL,
        (Kind::Cable, Some(Spot::Loop { .. })) => wiring::LOOP,
        (Kind::Cable, Some(Spot::Link { .. })) => wiring::LINK,
        (Kind::Cable, _) => wiring::FEED,
        (Kind::Fixture, _) => wiring::CEILING,
        (Kind::Group, _) => wiring::GROUP,
        (Kind::Project, _) => house::PROJECT,
        (Kind::Settings, _) => house::SETTINGS,
        (Kind::Estimate, _) => estimate::ESTIMATE,
        (Kind::Output | Kind::Job, _) => &[],
    }
}

/// Whether a thing as it is serialized could be read: what the types say of each field, not whether what it names is
/// there.
///
/// # Errors
/// What is wrong with it.
pub fn fits(kind: Kind, parent: Option<Kind>, thing: &Value) -> Result<(), String> {
    use super::{catalogue as parts, house, panel, wiring};
    fn read<T: serde::de::DeserializeOwned>(thing: &Value) -> Result<(), String> {
        serde_json::from_value::<T>(thing.clone()).map(|_| ()).map_err(|error| error.to_string())
    }
    match kind {
        Kind::ConductorPlan => read::<parts::ConductorPlan>(thing),
        Kind::CableType => read::<parts::CableType>(thing),
        Kind::FixtureType => read::<parts::FixtureType>(thing),
        Kind::SupplyType => read::<parts::SupplyType>(thing),
        Kind::ControlType => read::<parts::ControlType>(thing),
        Kind::BoxType => read::<parts::BoxType>(thing),
        Kind::SmallPart => read::<parts::SmallPart>(thing),
        Kind::Meter => read::<super::site::Meter>(thing),
        Kind::Level => read::<house::Level>(thing),
        Kind::Room => read::<house::Room>(thing),
        Kind::Panel => read::<panel::Panel>(thing),
        Kind::Supply => read::<panel::Supply>(thing),
        Kind::WallBox => read::<wiring::WallBox>(thing),
        Kind::Control => read::<wiring::Control>(thing),
        Kind::Cable if parent == Some(Kind::WallBox) => read::<wiring::Feed>(thing),
        Kind::Cable if parent == Some(Kind::Group) => read::<wiring::Link>(thing),
        Kind::Cable => read::<wiring::Loop>(thing),
        Kind::Fixture => read::<wiring::CeilingBox>(thing),
        Kind::Group => read::<wiring::ControlGroup>(thing),
        Kind::Project => read::<super::Project>(thing),
        Kind::Settings => read::<super::Settings>(thing),
        Kind::Estimate => read::<super::Estimate>(thing),
        Kind::Output | Kind::Job => Err(format!("the {} has no fields of its own", kind.word())),
    }
}

/// The thing that another belongs to, where lists are nested.
pub fn parent(job: &Job, spot: Spot) -> Option<Subject> {
    match spot {
        Spot::Room { level, .. } => Some(Subject::new(Kind::Level, &job.levels.get(level)?.id)),
        Spot::Supply { panel, .. } => Some(Subject::new(Kind::Panel, &job.panels.get(panel)?.id)),
        Spot::Feed { wall_box, .. } | Spot::Control { wall_box, .. } => {
            Some(Subject::new(Kind::WallBox, &job.boxes.get(wall_box)?.id))
        }
        Spot::Loop { wall_box, control, .. } => {
            Some(Subject::new(Kind::Control, &job.boxes.get(wall_box)?.controls.get(control)?.id))
        }
        Spot::Ceiling { wall_box, control, at, .. } => {
            let run = job.boxes.get(wall_box)?.controls.get(control)?.loops.get(at)?;
            Some(Subject::new(Kind::Cable, &run.id))
        }
        Spot::Link { group, .. } => Some(Subject::new(Kind::Group, &job.groups.get(group)?.id)),
        _ => None,
    }
}

/// A thing as it is serialized.
pub fn thing(job: &Job, index: &Index, subject: &Subject) -> Option<Value> {
    let value = match subject.kind {
        Kind::Project => serde_json::to_value(&job.project),
        Kind::Settings => serde_json::to_value(&job.settings),
        Kind::Estimate => serde_json::to_value(&job.estimate),
        kind => {
            let id = Id::new(&subject.id).ok()?;
            match index.spot(kind, &id)? {
                Spot::ConductorPlan(at) => serde_json::to_value(job.catalogue.plans.get(at)?),
                Spot::CableType(at) => serde_json::to_value(job.catalogue.cables.get(at)?),
                Spot::FixtureType(at) => serde_json::to_value(job.catalogue.fixtures.get(at)?),
                Spot::SupplyType(at) => serde_json::to_value(job.catalogue.supplies.get(at)?),
                Spot::ControlType(at) => serde_json::to_value(job.catalogue.controls.get(at)?),
                Spot::BoxType(at) => serde_json::to_value(job.catalogue.boxes.get(at)?),
                Spot::SmallPart(at) => serde_json::to_value(job.catalogue.small_parts.get(at)?),
                Spot::Meter(at) => serde_json::to_value(job.catalogue.meters.get(at)?),
                Spot::Level(at) => serde_json::to_value(job.levels.get(at)?),
                Spot::Room { level, room } => serde_json::to_value(job.levels.get(level)?.rooms.get(room)?),
                Spot::Panel(at) => serde_json::to_value(job.panels.get(at)?),
                Spot::Supply { panel, supply } => {
                    serde_json::to_value(job.panels.get(panel)?.supplies.get(supply)?)
                }
                Spot::WallBox(at) => serde_json::to_value(job.boxes.get(at)?),
                Spot::Feed { wall_box, feed } => {
                    serde_json::to_value(job.boxes.get(wall_box)?.feeds.get(feed)?)
                }
                Spot::Control { wall_box, control } => {
                    serde_json::to_value(job.boxes.get(wall_box)?.controls.get(control)?)
                }
                Spot::Loop { wall_box, control, at } => {
                    serde_json::to_value(job.boxes.get(wall_box)?.controls.get(control)?.loops.get(at)?)
                }
                Spot::Ceiling { wall_box, control, at, ceiling } => serde_json::to_value(
                    job.boxes.get(wall_box)?.controls.get(control)?.loops.get(at)?.ceiling.get(ceiling)?,
                ),
                Spot::Group(at) => serde_json::to_value(job.groups.get(at)?),
                Spot::Link { group, link } => serde_json::to_value(job.groups.get(group)?.links.get(link)?),
            }
        }
    };
    value.ok()
}
