//! Filling a field of many marked things down from the first.

use super::{field, words};
use crate::design::Design;
use crate::job::edit::Edit;
use crate::job::fields::{self, Field, Shape};
use crate::job::{Id, Job, Subject};
use serde_json::{Value, json};

pub(super) const FIELDS: &[Field] =
    &[field(&["field"], "field", "that is filled; type part of its name", Shape::Words)];

pub(super) fn start(design: &Design, subjects: &[Subject]) -> Result<Value, String> {
    let first = subjects.first().ok_or("nothing is marked: v marks")?;
    if let Some(other) = subjects.iter().find(|other| other.kind != first.kind) {
        return Err(format!("{first} and {other} are of different kinds; mark things of one kind"));
    }
    if labels(design, first).is_empty() {
        return Err(format!("{first} has no fields to fill"));
    }
    Ok(json!({"field": ""}))
}

/// The fields of a thing that can be filled; its id is its own, and what goes with another choice it has not.
pub(super) fn labels(design: &Design, subject: &Subject) -> Vec<&'static Field> {
    let spot = Id::new(&subject.id).ok().and_then(|id| design.index.spot(subject.kind, &id));
    let thing = fields::thing(&design.job, &design.index, subject);
    let applies = |field: &Field| thing.as_ref().is_none_or(|thing| field.applies(thing));
    let can = |field: &&Field| field.shape != Shape::Id && applies(field);
    fields::of(subject.kind, spot).iter().filter(can).collect()
}

/// The field of a thing that is called like another's: the watts of a lamp are elsewhere than those of a heater.
pub(super) fn alike(design: &Design, subject: &Subject, field: &'static Field) -> Option<&'static Field> {
    labels(design, subject).into_iter().find(|other| other.path == field.path || other.label == field.label)
}

pub(super) fn candidates(design: &Design, subjects: &[Subject]) -> Vec<(String, String)> {
    let Some(first) = subjects.first() else { return Vec::new() };
    labels(design, first).into_iter().map(|field| (field.label.to_owned(), String::new())).collect()
}

fn chosen(design: &Design, subjects: &[Subject], draft: &Value) -> Result<&'static Field, String> {
    let first = subjects.first().ok_or("nothing is marked")?;
    let label = words(draft, "field").to_lowercase();
    let all = labels(design, first);
    let found = all.iter().find(|field| field.label.to_lowercase() == label);
    found.copied().ok_or_else(|| {
        let names: Vec<&str> = all.iter().map(|field| field.label).collect();
        format!("name one of {}", names.join(", "))
    })
}

/// Puts a text into a field of each thing; what has it already is left alone.
fn put(
    job: &Job,
    design: &Design,
    field: &'static Field,
    texts: impl Iterator<Item = (Subject, String)>,
) -> Result<Vec<Edit>, String> {
    let mut edits = Vec::new();
    for (subject, text) in texts {
        let mut thing =
            fields::thing(job, &design.index, &subject).ok_or_else(|| format!("there is no {subject}"))?;
        let field =
            alike(design, &subject, field).ok_or_else(|| format!("{subject} has no {}", field.label))?;
        let name = field.path.first().copied().unwrap_or_default();
        let before = field.text(&thing);
        field.put(job, &mut thing, &text).map_err(|reason| format!("{subject}: {reason}"))?;
        // What has the value already is left alone.
        if before != field.text(&thing) {
            let spot = Id::new(&subject.id).ok().and_then(|id| design.index.spot(subject.kind, &id));
            let parent = spot.and_then(|spot| fields::parent(job, spot)).map(|parent| parent.kind);
            fields::fits(subject.kind, parent, &thing).map_err(|reason| format!("{subject}: {reason}"))?;
            let value = thing.get(name).cloned().unwrap_or(Value::Null);
            edits.push(Edit::Set { subject, field: name.to_owned(), value });
        }
    }
    Ok(edits)
}

pub(super) fn down(design: &Design, subjects: &[Subject], draft: &Value) -> Result<(Edit, String), String> {
    let field = chosen(design, subjects, draft)?;
    let text = first_text(design, subjects, field);
    let others = subjects.iter().skip(1).map(|subject| (subject.clone(), text.clone()));
    let edits = put(&design.job, design, field, others)?;
    if edits.is_empty() {
        return Err("all of them have that already".into());
    }
    let label = format!("fill {} down over {} marked", field.label, subjects.len());
    Ok((Edit::Together(edits), label))
}

fn first_text(design: &Design, subjects: &[Subject], field: &Field) -> String {
    let first = subjects.first().and_then(|first| fields::thing(&design.job, &design.index, first));
    first.map(|thing| field.text(&thing)).unwrap_or_default()
}

pub(super) fn notes_down(design: &Design, subjects: &[Subject], draft: &Value) -> Vec<String> {
    let Ok(field) = chosen(design, subjects, draft) else { return Vec::new() };
    let text = first_text(design, subjects, field);
    let text = if text.is_empty() { "nothing".to_owned() } else { format!("'{text}'") };
    let first = subjects.first().map(Subject::to_string).unwrap_or_default();
    vec![format!("{first} has {text}; the others get the same.")]
}
