//! Lights proposed for a room, with what may be changed before they are taken.

use super::{field, number, words};
use crate::design::Design;
use crate::format::Quantity;
use crate::job::edit::Edit;
use crate::job::fields::{Field, Shape};
use crate::job::wiring::{LoopPath, Source};
use crate::job::{Id, Index, Job, Kind};
use crate::plan::next::Outlets;
use crate::plan::propose::{Basis, Proposal, propose, propose_split};
use serde_json::{Value, json};

const FROM: Field = field(&["from"], "home run from", "an output, a panel; empty: none yet", Shape::Source);

pub(super) const FIELDS: &[Field] = &[
    field(&["fixture"], "fixture", "of every light", Shape::Refer(Kind::FixtureType)),
    field(&["control"], "control", "that drives them", Shape::Refer(Kind::ControlType)),
    field(&["lights"], "lights", "how many", Shape::Count),
    field(&["boxes"], "wall boxes", "each with a home run", Shape::Count),
    field(&["controls"], "controls in each", "wall box", Shape::Count),
    field(&["loops"], "loops on each", "control", Shape::Count),
    field(&["path"], "path", "how the loops end", Shape::Choice(&["OneWay", "ReturnedCapped", "Returned"])),
    field(&["loop_cable"], "loop cable", "its type", Shape::Refer(Kind::CableType)),
    field(&["home_run_cable"], "home run cable", "its type", Shape::Refer(Kind::CableType)),
    FROM,
    field(&["name"], "box name", "a number is added from the second on", Shape::Words),
];

/// The name of the note in a draft that a person said how many lights.
const GIVEN: &str = "given";

/// What is proposed to begin with. One home run goes to the first output with room for it; of several, one output need
/// not take all.
pub(super) fn start(design: &Design, room: &Id) -> Result<Value, String> {
    let mut draft = begun(&design.job, room)?;
    if number(&draft, "boxes") == Some(1)
        && let Some(output) = Outlets::of(design).take()
    {
        draft["from"] = json!(Source::Output(output));
    }
    Ok(draft)
}

/// The fixture and control to begin with: those that most lights of the job are of, else the first of the catalogue that
/// go together.
fn begun(job: &Job, room: &Id) -> Result<Value, String> {
    if Index::new(job).0.room(job, room).is_none() {
        return Err("put the cursor on a room: lights are proposed for a room".into());
    }
    let mut hung: Vec<((&Id, &Id), usize)> = Vec::new();
    for control in job.boxes.iter().flat_map(|wall_box| &wall_box.controls) {
        for fixture in control.loops.iter().flat_map(|l| &l.ceiling).filter_map(|c| c.fixture.as_ref()) {
            let pair = (fixture, &control.part);
            match hung.iter_mut().find(|(known, _)| *known == pair) {
                Some((_, count)) => *count += 1,
                None => hung.push((pair, 1)),
            }
        }
    }
    hung.sort_by_key(|(_, count)| std::cmp::Reverse(*count));
    let parts = &job.catalogue;
    let listed = parts
        .fixtures
        .iter()
        .flat_map(|fixture| parts.controls.iter().map(|control| (&fixture.id, &control.id)));
    let pairs: Vec<(&Id, &Id)> = hung.into_iter().map(|(pair, _)| pair).chain(listed).collect();
    let mut first = None;
    for (fixture, control) in &pairs {
        match propose(job, room, fixture, control) {
            Ok(proposal) => return Ok(draft_of(&proposal)),
            Err(reason) => first = first.or(Some((*fixture, *control, reason))),
        }
    }
    // A room without an area can be given its lights by hand.
    for (fixture, control) in &pairs {
        if let Ok(proposal) = propose_split(job, room, fixture, control, 1) {
            let mut draft = draft_of(&proposal);
            draft["lights"] = Value::Null;
            return Ok(draft);
        }
    }
    Err(first.map_or_else(
        || "the catalogue needs a fixture and a control first: 6, then A".to_owned(),
        |(fixture, control, reason)| format!("nothing to propose with '{fixture}' on '{control}': {reason}"),
    ))
}

fn draft_of(proposal: &Proposal) -> Value {
    json!({
        "fixture": proposal.fixture,
        "control": proposal.control,
        "lights": proposal.lights,
        "boxes": proposal.wall_boxes,
        "controls": proposal.controls_each,
        "loops": proposal.loops_each,
        "path": proposal.path,
        "loop_cable": proposal.loop_cable,
        "home_run_cable": proposal.home_run_cable,
        "from": proposal.from,
        "name": proposal.box_name,
    })
}

/// What is proposed with the fixture and control of a draft, and its lights where a person gave them.
fn proposed(job: &Job, room: &Id, draft: &Value) -> Result<Proposal, String> {
    let id = |name: &str| Id::new(words(draft, name)).map_err(|bad| format!("{name}: {bad}"));
    let (fixture, control) = (id("fixture")?, id("control")?);
    let made = if draft.get(GIVEN).is_some() {
        let lights = number(draft, "lights").filter(|lights| *lights > 0);
        propose_split(job, room, &fixture, &control, lights.ok_or("lights: at least 1")?)
    } else {
        propose(job, room, &fixture, &control)
    };
    made.map_err(|error| error.to_string())
}

/// The proposal as it was changed.
fn changed(job: &Job, room: &Id, draft: &Value) -> Result<Proposal, String> {
    let proposal = proposed(job, room, draft)?;
    let id = |name: &str| Id::new(words(draft, name)).map_err(|bad| format!("{name}: {bad}"));
    let count = |name: &str, label: &str| {
        number(draft, name).filter(|count| *count > 0).ok_or_else(|| format!("{label}: at least 1"))
    };
    let path: Option<LoopPath> = serde_json::from_value(draft["path"].clone()).ok();
    let from = match draft.get("from") {
        None | Some(Value::Null) => None,
        Some(from) => Some(serde_json::from_value(from.clone()).map_err(|error| error.to_string())?),
    };
    Ok(Proposal {
        lights: count("lights", "lights")?,
        wall_boxes: count("boxes", "wall boxes")?,
        controls_each: count("controls", "controls in each")?,
        loops_each: count("loops", "loops on each")?,
        path: path.ok_or("path: choose how the loops end")?,
        loop_cable: id("loop_cable")?,
        home_run_cable: id("home_run_cable")?,
        from,
        box_name: words(draft, "name").to_owned(),
        ..proposal
    })
}

pub(super) fn edit(job: &Job, room: &Id, draft: &Value) -> Result<(Edit, String), String> {
    let proposal = changed(job, room, draft)?;
    let edit = proposal.edit(job).map_err(|error| error.to_string())?;
    let lights = if proposal.lights == 1 { "light" } else { "lights" };
    Ok((edit, format!("put {} {lights} into room {room}", proposal.lights)))
}

/// Another fixture, control or number of lights is split anew.
pub(super) fn follow(job: &Job, room: &Id, draft: &mut Value, typed: &str) {
    match typed {
        "lights" => draft[GIVEN] = Value::Bool(true),
        "fixture" | "control" | "boxes" => {}
        _ => return,
    }
    if typed == "boxes" {
        spread(job, draft);
        return;
    }
    if let Ok(proposal) = proposed(job, room, draft) {
        draft["lights"] = json!(proposal.lights);
        draft["boxes"] = json!(proposal.wall_boxes);
        draft["controls"] = json!(proposal.controls_each);
        spread(job, draft);
    }
}

/// Of several home runs each finds its own output later: they come from the panel.
fn spread(job: &Job, draft: &mut Value) {
    let from = draft.get("from").cloned().and_then(|from| serde_json::from_value(from).ok());
    if let (Some(Source::Output(output)), Some(2..)) = (from, number(draft, "boxes"))
        && let Some((panel, _)) = Index::new(job).0.supply(job, &output.supply)
    {
        draft["from"] = json!(Source::Panel(panel.id.clone()));
    }
}

/// Where the number comes from, what light that gives, and what is wrong with it or not known.
pub(super) fn notes(job: &Job, room: &Id, draft: &Value) -> Vec<String> {
    let proposal = match changed(job, room, draft) {
        Ok(proposal) => proposal,
        Err(reason) => return vec![format!("! {reason}")],
    };
    let bare = |figure: f64| Quantity::Count.bare(Some(figure));
    let basis = match proposal.basis {
        Basis::Lumens { lux, exact } => {
            format!("By lumens: {} lights for {}.", bare(exact), Quantity::Lux.shown(Some(lux)))
        }
        Basis::Area { exact } => {
            format!("By the job's floor area for each fixture: {} lights.", bare(exact))
        }
        Basis::Given => "The number of lights is as typed.".into(),
    };
    let mut notes = vec![basis];
    notes.push(match proposal.lux(job) {
        Some(lux) => format!("They give {} on the work plane.", Quantity::Lux.shown(Some(lux))),
        None => "Light on the work plane: ? (no lumens in the catalogue, or no area)".into(),
    });
    if proposal.places(job).is_none() {
        notes.push("Places: ? (the room needs width, depth and corner)".into());
    }
    notes.extend(proposal.notes(job).into_iter().map(|note| format!("! {note}")));
    notes
}
