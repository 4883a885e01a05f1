//! What a new thing starts with.

use crate::job::ids::Ids;
use crate::job::{Id, Index, Job, Kind, Spot, Subject};
use serde_json::{Value, json};

/// A new thing of a kind in a place, with an id that is free and what its neighbors have. A cable in a wall box is a
/// feed, in a group a link, else a loop.
pub fn blank(job: &Job, index: &Index, kind: Kind, parent: Option<&Subject>) -> Value {
    let first = |kind: Kind| first_id(job, kind).unwrap_or_default();
    let parent_id = parent.map(|parent| parent.id.clone()).unwrap_or_default();
    let id = |prefix: &str| Ids::in_index(index).numbered(kind, prefix, 1).to_string();
    match (kind, parent.map(|parent| parent.kind)) {
        (Kind::ConductorPlan, _) => json!({"id": id("plan-"), "name": "", "conductors": [
            {"name": "1", "function": "Positive"}, {"name": "2", "function": "Negative"}]}),
        (Kind::CableType, _) => {
            json!({"id": id("cable-"), "name": "", "gauge": 18, "conductors": 2, "plan": first(Kind::ConductorPlan)})
        }
        (Kind::FixtureType, _) => json!({"id": id("fixture-"), "name": "", "load": {"Power": {"watts": 6}}}),
        (Kind::SupplyType, _) => json!({"id": id("supply-"), "name": "", "outputs": 4, "volts": 24,
            "output_watts": 96, "kind": "Class2Protected", "terminals": 2, "slots": 2}),
        (Kind::ControlType, _) => {
            json!({"id": id("control-"), "name": "", "drive": "Voltage", "own_watts": 0.5})
        }
        (Kind::BoxType, _) => json!({"id": id("box-"), "name": "", "gangs": 1}),
        (Kind::SmallPart, _) => json!({"id": id("small-"), "name": "", "per": "Joint"}),
        (Kind::Meter, _) => json!({"id": id("M"), "name": ""}),
        (Kind::Level, _) => json!({"id": id("L"), "name": ""}),
        (Kind::Room, _) => json!({"id": id("R"), "name": ""}),
        (Kind::Panel, _) => json!({"id": id("P"), "name": "", "room": first(Kind::Room), "slots": 12}),
        (Kind::Supply, _) => json!({"id": id("PS"), "part": first(Kind::SupplyType)}),
        (Kind::WallBox, _) => json!({"id": id("B"), "name": "", "room": parent_id}),
        (Kind::Control, _) => json!({"id": id(&format!("{parent_id}-")), "part": first(Kind::ControlType)}),
        (Kind::Cable, Some(Kind::WallBox)) => {
            json!({"id": id("HR"), "from": {"Panel": first(Kind::Panel)}, "cable": widest(job)})
        }
        (Kind::Cable, Some(Kind::Group)) => json!({"id": id("LK"), "from": first(Kind::Control),
            "to": first(Kind::Control), "cable": narrowest(job)}),
        (Kind::Cable, _) => {
            json!({"id": id(&format!("{parent_id}-")), "cable": narrowest(job), "path": "OneWay"})
        }
        (Kind::Fixture, _) => {
            let fixture = last_fixture(job, index, parent).unwrap_or_else(|| first(Kind::FixtureType));
            json!({"id": id(&format!("{parent_id}-")), "fixture": fixture})
        }
        (Kind::Group, _) => json!({"id": id("G"), "name": "", "main": first(Kind::Control)}),
        (Kind::Project | Kind::Settings | Kind::Estimate | Kind::Job | Kind::Output, _) => Value::Null,
    }
}

/// The first id of a kind, as the file has them.
fn first_id(job: &Job, kind: Kind) -> Option<String> {
    let parts = &job.catalogue;
    let id = match kind {
        Kind::ConductorPlan => parts.plans.first().map(|e| &e.id),
        Kind::CableType => parts.cables.first().map(|e| &e.id),
        Kind::FixtureType => parts.fixtures.first().map(|e| &e.id),
        Kind::SupplyType => parts.supplies.first().map(|e| &e.id),
        Kind::ControlType => parts.controls.first().map(|e| &e.id),
        Kind::Room => job.levels.iter().flat_map(|level| &level.rooms).next().map(|e| &e.id),
        Kind::Panel => job.panels.first().map(|e| &e.id),
        Kind::Control => job.boxes.iter().flat_map(|b| &b.controls).next().map(|e| &e.id),
        _ => None,
    };
    id.map(Id::to_string)
}

/// A home run usually has the most conductors of the catalogue's cables, a loop the fewest.
fn widest(job: &Job) -> String {
    job.catalogue.cables.iter().max_by_key(|c| c.conductors).map(|c| c.id.to_string()).unwrap_or_default()
}

fn narrowest(job: &Job) -> String {
    job.catalogue.cables.iter().min_by_key(|c| c.conductors).map(|c| c.id.to_string()).unwrap_or_default()
}

/// A loop goes on with the fixture it has.
fn last_fixture(job: &Job, index: &Index, parent: Option<&Subject>) -> Option<String> {
    let id = Id::new(&parent?.id).ok()?;
    let Spot::Loop { wall_box, control, at } = index.spot(Kind::Cable, &id)? else { return None };
    let run = job.boxes.get(wall_box)?.controls.get(control)?.loops.get(at)?;
    run.ceiling.last()?.fixture.as_ref().map(Id::to_string)
}
