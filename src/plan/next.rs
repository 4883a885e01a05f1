//! What comes next: a new thing that starts like those the job has, on the output and in the slot that are next free.
//!
//! Only what is alike from one thing to the next is taken over. What is measured or decided for one thing alone (a
//! name, an area, a length, a place) is left empty, so that nothing false stands in the job because nobody looked.

mod naming;
mod outlets;
mod rated;

pub use outlets::{Outlets, Room, outputs};

use super::slots::first_free;
use crate::design::Design;
use crate::job::ids::next_name;
use crate::job::wiring::{Loop, Source};
use crate::job::{Id, Job, Kind, Spot, Subject, fields};
use serde_json::{Value, json};
use std::collections::HashSet;

/// A new thing of a kind in a place: a free id, what its neighbors have, and what `last`, the one made before it
/// anywhere, has. Without that the last one in the job serves, or the only one there is in the catalogue.
pub fn proposed(design: &Design, kind: Kind, parent: Option<&Subject>, last: Option<&Value>) -> Value {
    let mut thing = fields::blank(&design.job, &design.index, kind, parent);
    let near = neighbour(design, kind, parent);
    let model = near.or_else(|| last.cloned()).or_else(|| last_of(&design.job, kind, parent));
    if let Some(model) = &model {
        carry(&mut thing, model, alike(kind, parent));
    }
    let before = beside(design, kind, parent);
    if let Some(id) = naming::id(design, kind, parent, before.as_ref()) {
        thing["id"] = json!(id);
    }
    where_it_goes(design, kind, parent, &mut thing);
    thing
}

/// The next one after a thing that was just made there: all that is alike, with the next id, and the next name where
/// that ends in a number.
pub fn another(design: &Design, kind: Kind, parent: Option<&Subject>, made: &Value) -> Value {
    let mut thing = fields::blank(&design.job, &design.index, kind, parent);
    if is_part(kind) {
        let own = ["id", "name"];
        let names: Vec<&str> =
            made.as_object().into_iter().flatten().map(|(name, _)| name.as_str()).collect();
        let names: Vec<&str> = names.into_iter().filter(|name| !own.contains(name)).collect();
        carry(&mut thing, made, &names);
    } else {
        carry(&mut thing, made, alike(kind, parent));
        if let Some(id) = naming::id(design, kind, parent, Some(made)) {
            thing["id"] = json!(id);
        }
    }
    let name = made.get("name").and_then(Value::as_str).unwrap_or_default();
    if name.ends_with(|c: char| c.is_ascii_digit()) {
        thing["name"] = json!(next_name(name, &names(design, kind)));
    }
    where_it_goes(design, kind, parent, &mut thing);
    thing
}

/// Whether it is an entry of the catalogue.
const fn is_part(kind: Kind) -> bool {
    matches!(
        kind,
        Kind::ConductorPlan
            | Kind::CableType
            | Kind::FixtureType
            | Kind::SupplyType
            | Kind::ControlType
            | Kind::BoxType
    )
}

/// The fields that are alike from one thing of a kind to the next.
fn alike(kind: Kind, parent: Option<&Subject>) -> &'static [&'static str] {
    match (kind, parent.map(|parent| parent.kind)) {
        (Kind::Room, _) => &["ceiling"],
        (Kind::Panel, _) => &["slots"],
        (Kind::Supply | Kind::WallBox | Kind::Control, _) => &["part"],
        (Kind::Cable, Some(Kind::WallBox | Kind::Group)) => &["cable", "plan"],
        (Kind::Cable, _) => &["cable", "plan", "path"],
        (Kind::Fixture, _) => &["fixture", "open", "part", "room"],
        _ => &[],
    }
}

fn carry(thing: &mut Value, from: &Value, names: &[&str]) {
    let Some(fields) = thing.as_object_mut() else { return };
    for name in names {
        match from.get(name) {
            Some(Value::Null) | None => fields.remove(*name),
            Some(value) => fields.insert((*name).to_owned(), value.clone()),
        };
    }
}

/// The last one beside it, where that says more than the last one made anywhere: the rooms of a level are of one height,
/// the lights of a loop are of one kind.
fn neighbour(design: &Design, kind: Kind, parent: Option<&Subject>) -> Option<Value> {
    let parent = parent?;
    let id = Id::new(&parent.id).ok()?;
    let spot = design.index.spot(parent.kind, &id)?;
    let job = &design.job;
    match (kind, spot) {
        (Kind::Room, Spot::Level(at)) => {
            // Without one the height is asked for.
            let room = job.levels.get(at)?.rooms.last();
            Some(room.map_or_else(|| json!({}), |room| json!({"ceiling": room.ceiling})))
        }
        (Kind::Fixture, Spot::Loop { wall_box, control, at }) => {
            let light = job.boxes.get(wall_box)?.controls.get(control)?.loops.get(at)?.ceiling.last()?;
            serde_json::to_value(light).ok()
        }
        _ => None,
    }
}

/// The one whose id the next goes on from: the last home run of the house, the last light of a loop.
fn beside(design: &Design, kind: Kind, parent: Option<&Subject>) -> Option<Value> {
    match (kind, parent?.kind) {
        (Kind::Cable, Kind::WallBox) => last_of(&design.job, kind, parent),
        (Kind::Fixture, _) => neighbour(design, kind, parent),
        _ => None,
    }
}

/// The last one in the job, or what the catalogue has only one of.
fn last_of(job: &Job, kind: Kind, parent: Option<&Subject>) -> Option<Value> {
    let loops = || {
        let controls = job.boxes.iter().rev().flat_map(|wall_box| wall_box.controls.iter().rev());
        controls.flat_map(|control| control.loops.iter().rev())
    };
    let lights = || loops().flat_map(|wired: &Loop| wired.ceiling.iter().rev());
    match (kind, parent.map(|parent| parent.kind)) {
        (Kind::Panel, _) => serde_json::to_value(job.panels.last()?).ok(),
        (Kind::Supply, _) => {
            let supply = job.panels.iter().rev().find_map(|panel| panel.supplies.last());
            serde_json::to_value(supply?).ok()
        }
        (Kind::WallBox, _) => {
            let last = job.boxes.iter().rev().find_map(|wall_box| wall_box.part.as_ref());
            let hung = |part: &Id| lights().any(|light| light.part.as_ref().is_some_and(|p| p.same(part)));
            let only = match job.catalogue.boxes.as_slice() {
                [only] if !hung(&only.id) => Some(&only.id),
                _ => None,
            };
            Some(json!({"part": last.or(only)?}))
        }
        (Kind::Control, _) => {
            let control = job.boxes.iter().rev().find_map(|wall_box| wall_box.controls.last());
            serde_json::to_value(control?).ok()
        }
        (Kind::Cable, Some(Kind::WallBox)) => {
            let feed = job.boxes.iter().rev().find_map(|wall_box| wall_box.feeds.last());
            serde_json::to_value(feed?).ok()
        }
        (Kind::Cable, Some(Kind::Group)) => {
            let link = job.groups.iter().rev().find_map(|group| group.links.last());
            serde_json::to_value(link?).ok()
        }
        (Kind::Cable, _) => serde_json::to_value(loops().next()?).ok(),
        // Which room it hangs in is told by its own loop alone.
        (Kind::Fixture, _) => lights().next().map(|light| json!({"fixture": light.fixture})),
        _ => None,
    }
}

/// The slot of a supply, the output of a home run.
fn where_it_goes(design: &Design, kind: Kind, parent: Option<&Subject>, thing: &mut Value) {
    let Some(parent) = parent else { return };
    match (kind, parent.kind) {
        (Kind::Supply, _) => {
            let panel = Id::new(&parent.id).ok().and_then(|id| design.index.panel(&design.job, &id));
            let part = thing.get("part").and_then(Value::as_str).and_then(|id| Id::new(id).ok());
            let part = part.and_then(|id| design.index.supply_type(&design.job, &id));
            let slot = panel
                .zip(part)
                .and_then(|(panel, part)| first_free(design, panel, part.slots.get().into(), &[]));
            if let Some(slot) = slot {
                thing["slot"] = json!(slot);
            }
        }
        (Kind::Cable, Kind::WallBox) => {
            if let Some(output) = Outlets::of(design).take() {
                thing["from"] = json!(Source::Output(output));
            }
        }
        // A light is in the room of its loop's box, and only its own loop knows better.
        (Kind::Fixture, _) if neighbour(design, kind, Some(parent)).is_none() => {
            if let Some(fields) = thing.as_object_mut() {
                fields.remove("room");
            }
        }
        _ => {}
    }
}

/// The names there are of a kind, in small letters.
fn names(design: &Design, kind: Kind) -> HashSet<String> {
    let named = |id: &Id| {
        let thing = fields::thing(&design.job, &design.index, &Subject::new(kind, id))?;
        Some(thing.get("name")?.as_str()?.to_lowercase())
    };
    design.index.ids(kind).filter_map(named).collect()
}
