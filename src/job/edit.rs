//! Edits are values. [`apply`] is the one place where a job changes; it gives back the edit that undoes the change.
//!
//! A field is set through its serialized form, so that an edit is short to log, and every rule by which a file is
//! read also guards what is typed in a form.

mod look;
mod sound;
mod taken;

pub use look::{Editable, Indexed};
pub use taken::contents;

use super::{Id, Index, Job, Kind, Spot, Subject, limits, refer};
use look::Look;
use serde::{Deserialize, Serialize, de::DeserializeOwned};
use serde_json::Value;
use std::collections::BTreeSet;
use std::fmt;
use taken::Taken;

/// One change to a job. Its serialized form is that of the log, so its names are short there.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub enum Edit {
    /// Gives a field of a thing another value; null stands for a field that is left out.
    #[serde(rename = "set")]
    Set {
        /// Which thing.
        #[serde(rename = "of", with = "short")]
        subject: Subject,
        /// The field as the job file calls it.
        #[serde(rename = "f")]
        field: String,
        /// The value as the job file would hold it.
        #[serde(rename = "v")]
        value: Value,
    },
    /// Adds a thing, with all it contains, to a list of another.
    #[serde(rename = "ins")]
    Insert {
        /// What kind of thing.
        #[serde(rename = "k")]
        kind: Kind,
        /// The thing it belongs to; `None` where the job itself holds the list.
        #[serde(rename = "in", default, skip_serializing_if = "Option::is_none")]
        parent: Option<Subject>,
        /// Its place in the list; beyond the end counts as the end.
        at: usize,
        /// The thing as the job file would hold it.
        #[serde(rename = "v")]
        value: Value,
    },
    /// Takes a thing away, with all it contains.
    #[serde(rename = "rem")]
    Remove {
        /// Which thing.
        #[serde(rename = "of", with = "short")]
        subject: Subject,
    },
    /// Several edits that stand or fall together.
    #[serde(rename = "all")]
    Together(Vec<Edit>),
}

/// A subject as `[kind, id]`.
mod short {
    use super::{Kind, Subject};
    use serde::{Deserialize, Deserializer, Serialize, Serializer};

    pub(super) fn serialize<S: Serializer>(subject: &Subject, serializer: S) -> Result<S::Ok, S::Error> {
        (subject.kind, &subject.id).serialize(serializer)
    }

    pub(super) fn deserialize<'de, D: Deserializer<'de>>(deserializer: D) -> Result<Subject, D::Error> {
        <(Kind, String)>::deserialize(deserializer).map(|(kind, id)| Subject { kind, id })
    }
}

impl Edit {
    /// The things it adds, changes or takes away, without what these contain.
    pub fn subjects(&self) -> BTreeSet<Subject> {
        match self {
            Self::Set { subject, .. } | Self::Remove { subject } => BTreeSet::from([subject.clone()]),
            Self::Insert { kind, value, .. } => BTreeSet::from([Subject::new(*kind, id_of(value))]),
            Self::Together(edits) => edits.iter().flat_map(Self::subjects).collect(),
        }
    }
}

/// What it does, in words that serve where nothing better is known.
impl fmt::Display for Edit {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Set { subject, field, .. } => write!(f, "set {} of {subject}", field.replace('_', " ")),
            Self::Insert { kind, value, .. } => write!(f, "add {}", Subject::new(*kind, id_of(value))),
            Self::Remove { subject } => write!(f, "remove {subject}"),
            Self::Together(edits) => match &edits[..] {
                [] => f.write_str("nothing"),
                [first] => first.fmt(f),
                [first, others @ ..] => write!(f, "{first} and {} more", others.len()),
            },
        }
    }
}

fn id_of(value: &Value) -> &str {
    value.get("id").and_then(Value::as_str).unwrap_or_default()
}

/// Why an edit was refused. The job is as it was.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum EditError {
    /// There is no such thing.
    #[error("there is no {0}")]
    Missing(Subject),
    /// The value does not fit the field.
    #[error("{0}")]
    Value(String),
    /// The job would no longer hang together.
    #[error("{0}")]
    Refers(String),
}

/// Applies an edit to a job that hangs together and gives the edit that takes it back.
///
/// The whole job is checked again only where the change itself does not show that nothing can have come loose.
///
/// # Errors
/// [`EditError`] when the thing is not there, the value does not fit, or the job would no longer hang together; the
/// job is then unchanged.
pub fn apply(job: &mut Job, edit: Edit) -> Result<Edit, EditError> {
    applied(job, Look::Through, edit)
}

fn applied(job: &mut Job, look: Look<'_>, edit: Edit) -> Result<Edit, EditError> {
    let mut taken = Taken::default();
    let inverse = changed(job, look, &mut taken, edit)?;
    if sound::holds(job, look, &inverse) {
        return Ok(inverse);
    }
    if let Err(error) = verify(job) {
        // Taking back what was just done cannot fail: it restores the very state it was made from.
        changed(job, look, &mut taken, inverse)?;
        return Err(error);
    }
    Ok(inverse)
}

/// Checks that the whole job hangs together, after edits that were applied unchecked.
pub(super) fn verify(job: &Job) -> Result<(), EditError> {
    if let Some(crowded) = limits::crowded(job) {
        return Err(EditError::Refers(crowded));
    }
    match refer::check(job).1.into_iter().next() {
        Some(first) => Err(EditError::Refers(first.what)),
        None => Ok(()),
    }
}

/// Applies an edit without a look at references. Ids are unique after it all the same, so that its inverse finds the
/// same things again.
fn changed(job: &mut Job, look: Look<'_>, taken: &mut Taken, edit: Edit) -> Result<Edit, EditError> {
    if let Edit::Set { value, .. } | Edit::Insert { value, .. } = &edit
        && let Some(what) = limits::too_much_of(value)
    {
        return Err(EditError::Value(what));
    }
    match edit {
        Edit::Set { subject, field, value } => {
            let old = set(job, look, &subject, &field, value)?;
            if taken::holds_others(&field) {
                taken.forget();
                if let Err(error) = unique(job) {
                    set(job, look, &subject, &field, old)?;
                    return Err(error);
                }
            }
            Ok(Edit::Set { subject, field, value: old })
        }
        // A list would be read as a thing too, field by field, but shows no id to find it again by.
        Edit::Insert { kind, value, .. }
            if !contents(kind, &value).iter().all(|(_, thing)| thing.is_object()) =>
        {
            Err(EditError::Value(
                "this is no thing: one is written as fields with names, like {\"id\": \"X1\", ...}".into(),
            ))
        }
        Edit::Insert { kind, parent, at, value } => {
            insert(job, look, taken, (kind, parent.as_ref(), at), value)
        }
        Edit::Remove { subject } => remove(job, look, taken, &subject),
        Edit::Together(edits) => {
            taken.several |= edits.len() > 1;
            let mut undo = Vec::with_capacity(edits.len());
            for edit in edits {
                match changed(job, look, taken, edit) {
                    Ok(inverse) => undo.push(inverse),
                    Err(error) => {
                        for inverse in undo.into_iter().rev() {
                            changed(job, look, taken, inverse)?;
                        }
                        return Err(error);
                    }
                }
            }
            undo.reverse();
            Ok(Edit::Together(undo))
        }
    }
}

/// Whether each id stands once in its kind.
fn unique(job: &Job) -> Result<(), EditError> {
    match Index::new(job).1.into_iter().next() {
        Some((kind, id, _)) => Err(twice(kind, id.as_str())),
        None => Ok(()),
    }
}

fn twice(kind: Kind, id: &str) -> EditError {
    EditError::Refers(format!("the id '{id}' is given to two {}", kind.plural()))
}

/// Sets one field of any thing that serializes, and gives its old value.
fn set_field<T: Serialize + DeserializeOwned>(
    thing: &mut T,
    field: &str,
    value: Value,
) -> Result<Value, EditError> {
    let Ok(Value::Object(mut fields)) = serde_json::to_value(&*thing) else {
        return Err(EditError::Value("this has no fields".into()));
    };
    if field == "id" {
        return Err(EditError::Value("an id never changes; change the name".into()));
    }
    let old = if value.is_null() { fields.remove(field) } else { fields.insert(field.to_owned(), value) };
    *thing =
        serde_json::from_value(Value::Object(fields)).map_err(|error| EditError::Value(error.to_string()))?;
    Ok(old.unwrap_or(Value::Null))
}

fn spot(job: &Job, look: Look<'_>, subject: &Subject) -> Result<Spot, EditError> {
    let missing = || EditError::Missing(subject.clone());
    let id = Id::new(&subject.id).map_err(|_| missing())?;
    look.find(job, subject.kind, &id).ok_or_else(missing)
}

fn set(
    job: &mut Job,
    look: Look<'_>,
    subject: &Subject,
    field: &str,
    value: Value,
) -> Result<Value, EditError> {
    match subject.kind {
        Kind::Project => return set_field(&mut job.project, field, value),
        Kind::Settings => return set_field(&mut job.settings, field, value),
        Kind::Estimate => return set_field(&mut job.estimate, field, value),
        // What was accepted has no id of its own: the list is set as a whole.
        Kind::Job if field == "accepted" => {
            let fits = |error: serde_json::Error| EditError::Value(error.to_string());
            let old = serde_json::to_value(&job.accepted).map_err(fits)?;
            job.accepted =
                if value.is_null() { Vec::new() } else { serde_json::from_value(value).map_err(fits)? };
            return Ok(old);
        }
        _ => {}
    }
    let spot = spot(job, look, subject)?;
    let parts = &mut job.catalogue;
    match spot {
        Spot::ConductorPlan(at) => set_field(&mut parts.plans[at], field, value),
        Spot::CableType(at) => set_field(&mut parts.cables[at], field, value),
        Spot::FixtureType(at) => set_field(&mut parts.fixtures[at], field, value),
        Spot::SupplyType(at) => set_field(&mut parts.supplies[at], field, value),
        Spot::ControlType(at) => set_field(&mut parts.controls[at], field, value),
        Spot::BoxType(at) => set_field(&mut parts.boxes[at], field, value),
        Spot::SmallPart(at) => set_field(&mut parts.small_parts[at], field, value),
        Spot::Meter(at) => set_field(&mut parts.meters[at], field, value),
        Spot::Level(at) => set_field(&mut job.levels[at], field, value),
        Spot::Room { level, room } => set_field(&mut job.levels[level].rooms[room], field, value),
        Spot::Panel(at) => set_field(&mut job.panels[at], field, value),
        Spot::Supply { panel, supply } => set_field(&mut job.panels[panel].supplies[supply], field, value),
        Spot::WallBox(at) => set_field(&mut job.boxes[at], field, value),
        Spot::Feed { wall_box, feed } => set_field(&mut job.boxes[wall_box].feeds[feed], field, value),
        Spot::Control { wall_box, control } => {
            set_field(&mut job.boxes[wall_box].controls[control], field, value)
        }
        Spot::Loop { wall_box, control, at } => {
            set_field(&mut job.boxes[wall_box].controls[control].loops[at], field, value)
        }
        Spot::Ceiling { wall_box, control, at, ceiling } => {
            set_field(&mut job.boxes[wall_box].controls[control].loops[at].ceiling[ceiling], field, value)
        }
        Spot::Group(at) => set_field(&mut job.groups[at], field, value),
        Spot::Link { group, link } => set_field(&mut job.groups[group].links[link], field, value),
    }
}

fn insert_into<T: DeserializeOwned>(list: &mut Vec<T>, at: usize, value: Value) -> Result<(), EditError> {
    let thing = serde_json::from_value(value).map_err(|error| EditError::Value(error.to_string()))?;
    if list.len() >= limits::MOST_ENTRIES {
        return Err(EditError::Value(format!(
            "the list has {} entries already, the most it may",
            list.len()
        )));
    }
    list.insert(at.min(list.len()), thing);
    Ok(())
}

fn insert(
    job: &mut Job,
    look: Look<'_>,
    taken: &mut Taken,
    (kind, parent, at): (Kind, Option<&Subject>, usize),
    value: Value,
) -> Result<Edit, EditError> {
    let id = id_of(&value).to_owned();
    let ids = taken::ids(kind, &value);
    taken.free(job, look, &ids).map_err(|(kind, id)| twice(kind, id.as_str()))?;
    let parts = &mut job.catalogue;
    match (kind, parent) {
        (Kind::ConductorPlan, _) => insert_into(&mut parts.plans, at, value)?,
        (Kind::CableType, _) => insert_into(&mut parts.cables, at, value)?,
        (Kind::FixtureType, _) => insert_into(&mut parts.fixtures, at, value)?,
        (Kind::SupplyType, _) => insert_into(&mut parts.supplies, at, value)?,
        (Kind::ControlType, _) => insert_into(&mut parts.controls, at, value)?,
        (Kind::BoxType, _) => insert_into(&mut parts.boxes, at, value)?,
        (Kind::SmallPart, _) => insert_into(&mut parts.small_parts, at, value)?,
        (Kind::Meter, _) => insert_into(&mut parts.meters, at, value)?,
        (Kind::Level, _) => insert_into(&mut job.levels, at, value)?,
        (Kind::Panel, _) => insert_into(&mut job.panels, at, value)?,
        (Kind::WallBox, _) => insert_into(&mut job.boxes, at, value)?,
        (Kind::Group, _) => insert_into(&mut job.groups, at, value)?,
        (_, Some(parent)) => match (kind, spot(job, look, parent)?) {
            (Kind::Room, Spot::Level(level)) => insert_into(&mut job.levels[level].rooms, at, value)?,
            (Kind::Supply, Spot::Panel(panel)) => insert_into(&mut job.panels[panel].supplies, at, value)?,
            (Kind::Control, Spot::WallBox(wall_box)) => {
                insert_into(&mut job.boxes[wall_box].controls, at, value)?;
            }
            (Kind::Cable, Spot::WallBox(wall_box)) => insert_into(&mut job.boxes[wall_box].feeds, at, value)?,
            (Kind::Cable, Spot::Control { wall_box, control }) => {
                insert_into(&mut job.boxes[wall_box].controls[control].loops, at, value)?;
            }
            (Kind::Fixture, Spot::Loop { wall_box, control, at: loop_at }) => {
                insert_into(&mut job.boxes[wall_box].controls[control].loops[loop_at].ceiling, at, value)?;
            }
            (Kind::Cable, Spot::Group(group)) => insert_into(&mut job.groups[group].links, at, value)?,
            _ => {
                return Err(EditError::Value(format!("a {} does not belong in {parent}", kind.word())));
            }
        },
        (_, None) => {
            return Err(EditError::Value(format!("a {} needs a place to belong to", kind.word())));
        }
    }
    taken.note(&ids, true);
    Ok(Edit::Remove { subject: Subject::new(kind, id) })
}

fn remove_from<T: Serialize>(list: &mut Vec<T>, at: usize) -> Result<Value, EditError> {
    let value = serde_json::to_value(&list[at]).map_err(|error| EditError::Value(error.to_string()))?;
    list.remove(at);
    Ok(value)
}

fn remove(job: &mut Job, look: Look<'_>, taken: &mut Taken, subject: &Subject) -> Result<Edit, EditError> {
    let spot = spot(job, look, subject)?;
    let parts = &mut job.catalogue;
    let (parent, at, value) = match spot {
        Spot::ConductorPlan(at) => (None, at, remove_from(&mut parts.plans, at)?),
        Spot::CableType(at) => (None, at, remove_from(&mut parts.cables, at)?),
        Spot::FixtureType(at) => (None, at, remove_from(&mut parts.fixtures, at)?),
        Spot::SupplyType(at) => (None, at, remove_from(&mut parts.supplies, at)?),
        Spot::ControlType(at) => (None, at, remove_from(&mut parts.controls, at)?),
        Spot::BoxType(at) => (None, at, remove_from(&mut parts.boxes, at)?),
        Spot::SmallPart(at) => (None, at, remove_from(&mut parts.small_parts, at)?),
        Spot::Meter(at) => (None, at, remove_from(&mut parts.meters, at)?),
        Spot::Level(at) => (None, at, remove_from(&mut job.levels, at)?),
        Spot::Panel(at) => (None, at, remove_from(&mut job.panels, at)?),
        Spot::WallBox(at) => (None, at, remove_from(&mut job.boxes, at)?),
        Spot::Group(at) => (None, at, remove_from(&mut job.groups, at)?),
        Spot::Room { level, room } => {
            let level = &mut job.levels[level];
            (Some(Subject::new(Kind::Level, &level.id)), room, remove_from(&mut level.rooms, room)?)
        }
        Spot::Supply { panel, supply } => {
            let panel = &mut job.panels[panel];
            (Some(Subject::new(Kind::Panel, &panel.id)), supply, remove_from(&mut panel.supplies, supply)?)
        }
        Spot::Feed { wall_box, feed } => {
            let wall_box = &mut job.boxes[wall_box];
            (Some(Subject::new(Kind::WallBox, &wall_box.id)), feed, remove_from(&mut wall_box.feeds, feed)?)
        }
        Spot::Control { wall_box, control } => {
            let wall_box = &mut job.boxes[wall_box];
            (
                Some(Subject::new(Kind::WallBox, &wall_box.id)),
                control,
                remove_from(&mut wall_box.controls, control)?,
            )
        }
        Spot::Loop { wall_box, control, at } => {
            let control = &mut job.boxes[wall_box].controls[control];
            (Some(Subject::new(Kind::Control, &control.id)), at, remove_from(&mut control.loops, at)?)
        }
        Spot::Ceiling { wall_box, control, at, ceiling } => {
            let on = &mut job.boxes[wall_box].controls[control].loops[at];
            (Some(Subject::new(Kind::Cable, &on.id)), ceiling, remove_from(&mut on.ceiling, ceiling)?)
        }
        Spot::Link { group, link } => {
            let group = &mut job.groups[group];
            (Some(Subject::new(Kind::Group, &group.id)), link, remove_from(&mut group.links, link)?)
        }
    };
    taken.note(&taken::ids(subject.kind, &value), false);
    Ok(Edit::Insert { kind: subject.kind, parent, at, value })
}
