//! Shows from a change alone that the job still hangs together, where that is cheap.
//!
//! Every `true` here spares the whole-job check of `refer`, so each follows one of its rules. What is not listed is
//! not known to be sound, and is checked in full.

use super::Edit;
use super::look::Look;
use crate::job::limits::crowded;
use crate::job::wiring::{CeilingBox, Feed, Loop};
use crate::job::{Id, Job, Kind, Spot};
use crate::units::Length;

/// Whether a job that hung together before a change surely does after it. The change is known by its inverse.
pub(super) fn holds(job: &Job, look: Look<'_>, inverse: &Edit) -> bool {
    match inverse {
        Edit::Set { subject, field, .. } => match subject.kind {
            // `refer` asks nothing of these two, but of the home runs that a rule of the balance names.
            Kind::Project => true,
            Kind::Settings => field != "balance",
            // Another thing may have the same tag.
            _ if field == "tag" => false,
            kind => Id::new(&subject.id)
                .ok()
                .and_then(|id| look.find(job, kind, &id))
                .is_some_and(|spot| field_holds(job, look, spot, field)),
        },
        // A ceiling box was taken away, and nothing refers to one.
        Edit::Insert { kind, .. } => *kind == Kind::Fixture,
        // One was added: its id was looked for before.
        Edit::Remove { subject } => {
            subject.kind == Kind::Fixture
                && crowded(job).is_none()
                && Id::new(&subject.id).ok().and_then(|id| look.find(job, Kind::Fixture, &id)).is_some_and(
                    |spot| {
                        ceiling_at(job, spot)
                            .is_some_and(|ceiling| ceiling.tag.is_none() && ceiling_holds(job, look, ceiling))
                    },
                )
        }
        Edit::Together(edits) => edits.iter().all(|edit| holds(job, look, edit)),
    }
}

fn field_holds(job: &Job, look: Look<'_>, spot: Spot, field: &str) -> bool {
    if field == "name" {
        return true;
    }
    match spot {
        Spot::Level(_) => field == "elevation",
        Spot::Room { level, room } => {
            let room = job.levels.get(level).and_then(|level| level.rooms.get(room));
            matches!(field, "area" | "rough")
                || (field == "ceiling" && room.is_some_and(|room| some_length(room.ceiling)))
        }
        Spot::Panel(_) => matches!(field, "place" | "slots" | "feed"),
        Spot::Supply { .. } => field == "slot",
        Spot::Meter(_) => matches!(field, "ohms" | "lead_ohms" | "volts" | "amps"),
        Spot::WallBox(at) => job.boxes.get(at).is_some_and(|wall_box| match field {
            "place" | "allowance_watts" => true,
            "room" => there(job, look, Kind::Room, Some(&wall_box.room)),
            "part" => there(job, look, Kind::BoxType, wall_box.part.as_ref()),
            _ => false,
        }),
        Spot::Control { wall_box, control } => {
            let control = job.boxes.get(wall_box).and_then(|wall_box| wall_box.controls.get(control));
            control.is_some_and(|control| {
                field == "part" && there(job, look, Kind::ControlType, Some(&control.part))
            })
        }
        Spot::Feed { wall_box, feed } => {
            let feed = job.boxes.get(wall_box).and_then(|wall_box| wall_box.feeds.get(feed));
            feed.is_some_and(|feed| feed_holds(job, look, feed, field))
        }
        Spot::Loop { .. } => loop_at(job, spot).is_some_and(|run| loop_holds(job, look, run, field)),
        Spot::Ceiling { .. } => {
            ceiling_at(job, spot).is_some_and(|ceiling| ceiling_holds(job, look, ceiling))
        }
        _ => false,
    }
}

fn feed_holds(job: &Job, look: Look<'_>, feed: &Feed, field: &str) -> bool {
    match field {
        "measured" => some_length(feed.measured),
        "cable" => there(job, look, Kind::CableType, Some(&feed.cable)),
        "plan" => there(job, look, Kind::ConductorPlan, feed.plan.as_ref()),
        _ => false,
    }
}

fn loop_holds(job: &Job, look: Look<'_>, run: &Loop, field: &str) -> bool {
    match field {
        "path" | "crossed" => true,
        "measured" => some_length(run.measured),
        "return_leg" => some_length(run.return_leg),
        "cable" => there(job, look, Kind::CableType, Some(&run.cable)),
        "plan" => there(job, look, Kind::ConductorPlan, run.plan.as_ref()),
        "returns_to" => there(job, look, Kind::Control, run.returns_to.as_ref()),
        _ => false,
    }
}

fn ceiling_holds(job: &Job, look: Look<'_>, ceiling: &CeilingBox) -> bool {
    // Whether it may be boarded depends on its loop too.
    ceiling.site.done.boarded.is_none()
        && some_length(ceiling.leg)
        && there(job, look, Kind::Room, ceiling.room.as_ref())
        && there(job, look, Kind::BoxType, ceiling.part.as_ref())
        && there(job, look, Kind::FixtureType, ceiling.fixture.as_ref())
        && (ceiling.fixture.is_none() || ceiling.open.is_empty())
        && !(ceiling.blank && (ceiling.fixture.is_some() || !ceiling.open.is_empty()))
        && ceiling.open.iter().all(|fixture| there(job, look, Kind::FixtureType, Some(fixture)))
}

fn loop_at(job: &Job, spot: Spot) -> Option<&Loop> {
    match spot {
        Spot::Loop { wall_box, control, at } | Spot::Ceiling { wall_box, control, at, .. } => {
            job.boxes.get(wall_box)?.controls.get(control)?.loops.get(at)
        }
        _ => None,
    }
}

fn ceiling_at(job: &Job, spot: Spot) -> Option<&CeilingBox> {
    match spot {
        Spot::Ceiling { ceiling, .. } => loop_at(job, spot)?.ceiling.get(ceiling),
        _ => None,
    }
}

fn there(job: &Job, look: Look<'_>, kind: Kind, id: Option<&Id>) -> bool {
    id.is_none_or(|id| look.find(job, kind, id).is_some())
}

fn some_length(length: Option<Length>) -> bool {
    length.is_none_or(|length| length.ticks() != 0)
}
