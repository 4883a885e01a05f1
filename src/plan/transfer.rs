//! Fills a value into many things and moves things to where else they belong, each as one edit.

use crate::job::edit::Edit;
use crate::job::value::{field as field_of, held};
use crate::job::{Index, Job, Kind, Subject};
use serde_json::Value;

/// Why something cannot be filled in, moved or copied.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum PlanError {
    /// There is no such thing.
    #[error("there is no {0}")]
    Missing(Subject),
    /// That kind of thing does not go there.
    #[error("a {} does not belong in {place}", kind.word())]
    Misplaced {
        /// The kind of thing.
        kind: Kind,
        /// Where it was to go.
        place: Subject,
    },
    /// That kind of thing is not copied.
    #[error("a {} is not copied by itself; copy what it belongs to", .0.word())]
    NotCopied(Kind),
    /// A copy would stand outside the plan.
    #[error(
        "copy {nth} of {subject} would stand left of or below where places are measured from; give another offset"
    )]
    Outside {
        /// What was copied.
        subject: Subject,
        /// Which copy, from 1.
        nth: usize,
    },
    /// Too many copies.
    #[error("{0} copies are more than the {most} made at once", most = super::repeat::MOST_COPIES)]
    TooMany(usize),
    /// Copies that hold too much together.
    #[error("{copies} copies hold {things} things, more than the {most} made at once", most = super::repeat::MOST_THINGS)]
    TooMuch {
        /// How many copies.
        copies: usize,
        /// What is in them.
        things: usize,
    },
    /// A value that does not serialize; none does.
    #[error("{0}")]
    Value(String),
}

/// Gives a field of many things one value.
///
/// # Errors
/// [`PlanError::Missing`] when one of them is not there.
pub fn fill(job: &Job, field: &str, value: &Value, subjects: &[Subject]) -> Result<Edit, PlanError> {
    let index = Index::new(job).0;
    let set = |subject: &Subject| {
        let known =
            field_of(job, &index, subject, field).ok_or_else(|| PlanError::Missing(subject.clone()))?;
        // What has the value already is left alone, so that the list of what was done stays short.
        Ok((known != *value).then(|| Edit::Set {
            subject: subject.clone(),
            field: field.to_owned(),
            value: value.clone(),
        }))
    };
    let edits: Result<Vec<Option<Edit>>, PlanError> = subjects.iter().map(set).collect();
    Ok(Edit::Together(edits?.into_iter().flatten().collect()))
}

/// Gives a field of many things the value that the first of them has.
///
/// # Errors
/// [`PlanError::Missing`] when one of them is not there.
pub fn fill_down(job: &Job, field: &str, subjects: &[Subject]) -> Result<Edit, PlanError> {
    let Some((first, rest)) = subjects.split_first() else { return Ok(Edit::Together(Vec::new())) };
    let value =
        field_of(job, &Index::new(job).0, first, field).ok_or_else(|| PlanError::Missing(first.clone()))?;
    fill(job, field, &value, rest)
}

/// Moves a thing, ids and all, to a place in the list of another: a room to a level, a supply to a panel, a control to a
/// wall box, a loop to a control, a ceiling box to a loop, a feed to a wall box. A place beyond the end is the end.
///
/// A control that moves to another box no longer says which feed it is on. A ceiling box or a loop that moves to a wall
/// box of another room keeps the room its lights hang in.
///
/// # Errors
/// [`PlanError`] when a thing is not there or does not belong there.
pub fn move_to(job: &Job, subject: &Subject, parent: &Subject, at: usize) -> Result<Edit, PlanError> {
    let missing = |subject: &Subject| PlanError::Missing(subject.clone());
    let index = Index::new(job).0;
    let thing = held(job, &index, subject).ok_or_else(|| missing(subject))?;
    let place = held(job, &index, parent).ok_or_else(|| missing(parent))?;
    let field = match (subject.kind, parent.kind) {
        (Kind::Room, Kind::Level) => "rooms",
        (Kind::Supply, Kind::Panel) => "supplies",
        (Kind::Control, Kind::WallBox) => "controls",
        (Kind::Fixture, Kind::Cable) => "ceiling",
        (Kind::Cable, Kind::Control) if thing.value.get("path").is_some() => "loops",
        (Kind::Cable, Kind::WallBox) if is_feed(&thing.value) => "feeds",
        _ => return Err(PlanError::Misplaced { kind: subject.kind, place: parent.clone() }),
    };
    // A loop has ceiling boxes, a feed has none.
    if field == "ceiling" && place.value.get("path").is_none() {
        return Err(PlanError::Misplaced { kind: subject.kind, place: parent.clone() });
    }
    let mut value = thing.value;
    let stays = thing.parent.as_ref().is_some_and(|old| held(job, &index, old).as_ref() == Some(&place));
    let mut edits = vec![Edit::Remove { subject: subject.clone() }];
    if !stays {
        match subject.kind {
            Kind::Control => {
                if let Some(fields) = value.as_object_mut() {
                    fields.remove("on");
                }
            }
            // The slots of the other panel are its own.
            Kind::Supply => {
                if let Some(fields) = value.as_object_mut() {
                    fields.remove("slot");
                }
            }
            _ => {}
        }
        let (old, new) = (room_of(job, &index, subject), room_of(job, &index, parent));
        if let (Some(old), Some(new)) = (old, new)
            && !old.eq_ignore_ascii_case(&new)
        {
            keep_room(&mut value, &old);
        }
        if field == "feeds" {
            edits.splice(0..0, off_feed(job, &subject.id));
        }
    }
    edits.push(Edit::Insert { kind: subject.kind, parent: Some(parent.clone()), at, value });
    Ok(Edit::Together(edits))
}

fn is_feed(value: &Value) -> bool {
    value.get("from").is_some() && value.get("to").is_none()
}

/// Takes the controls of a box off a feed that leaves it.
fn off_feed(job: &Job, feed: &str) -> Vec<Edit> {
    let controls = job.boxes.iter().flat_map(|wall_box| &wall_box.controls);
    let on = controls.filter(|c| c.on.as_ref().is_some_and(|on| on.as_str().eq_ignore_ascii_case(feed)));
    on.map(|control| Edit::Set {
        subject: Subject::new(Kind::Control, &control.id),
        field: "on".into(),
        value: Value::Null,
    })
    .collect()
}

/// The room of the wall box that holds a thing.
fn room_of(job: &Job, index: &Index, subject: &Subject) -> Option<String> {
    let mut subject = subject.clone();
    while subject.kind != Kind::WallBox {
        subject = held(job, index, &subject)?.parent?;
    }
    held(job, index, &subject)?.value.get("room")?.as_str().map(str::to_owned)
}

/// Writes down the room of every ceiling box in a value that has none of its own.
fn keep_room(value: &mut Value, room: &str) {
    let Some(fields) = value.as_object_mut() else { return };
    let is_ceiling =
        !fields.contains_key("path") && !fields.contains_key("part") && !fields.contains_key("from");
    if is_ceiling && !fields.contains_key("room") {
        fields.insert("room".into(), Value::String(room.to_owned()));
    }
    for list in ["loops", "ceiling"] {
        let things = fields.get_mut(list).and_then(Value::as_array_mut);
        things.into_iter().flatten().for_each(|thing| keep_room(thing, room));
    }
}
