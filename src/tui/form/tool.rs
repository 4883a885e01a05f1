//! Forms that ask how something is to be done: a repeat, a move, a proposal, a fill.

mod accept;
pub(in crate::tui) mod cells;
mod copy;
mod fill;
mod propose;

use super::things;
use crate::checks::Finding;
use crate::design::Design;
use crate::job::edit::Edit;
use crate::job::fields::{Field, Shape};
use crate::job::{Id, Job, Kind, Spot, Subject};
use crate::plan::place;
use crate::units::Length;
use cells::Cells;
use serde_json::{Value, json};

/// What is to be done.
#[derive(Debug, Clone, PartialEq)]
pub(in crate::tui) enum Tool {
    /// To copy a thing, into what is marked if anything is that it can go into.
    Repeat(Subject, Vec<Subject>),
    /// To move things elsewhere.
    Move(Vec<Subject>),
    /// To take lights proposed for a room.
    Propose(Id),
    /// To give marked things the value of the first.
    FillDown(Vec<Subject>),
    /// To give things a row of pasted cells each.
    Paste(Vec<Subject>, Cells),
    /// To accept a finding as it is.
    Accept(Box<Finding>),
}

const fn field(
    path: &'static [&'static str],
    label: &'static str,
    help: &'static str,
    shape: Shape,
) -> Field {
    Field { path, label, help, shape }
}

const PLACE: Field = field(&["place"], "place", "in its list, from 1; empty: the end", Shape::Count);
const IN_LIST: &[Field] = &[PLACE];
const TO_LEVEL: &[Field] = &[field(&["to"], "to level", "it moves to", Shape::Refer(Kind::Level)), PLACE];
const TO_PANEL: &[Field] = &[field(&["to"], "to panel", "it moves to", Shape::Refer(Kind::Panel)), PLACE];
const TO_ROOM: &[Field] = &[field(&["to"], "to room", "it moves to", Shape::Refer(Kind::Room)), PLACE];
const TO_BOX: &[Field] = &[field(&["to"], "to wall box", "it moves to", Shape::Refer(Kind::WallBox)), PLACE];
const TO_CONTROL: &[Field] =
    &[field(&["to"], "to control", "it moves to", Shape::Refer(Kind::Control)), PLACE];
const TO_LOOP: &[Field] = &[field(&["to"], "to loop", "it moves to", Shape::Refer(Kind::Cable)), PLACE];

impl Tool {
    /// The fields it asks for.
    pub(super) fn fields(&self, job: &Job) -> &'static [Field] {
        match self {
            Self::Repeat(subject, _) => copy::fields(job, subject),
            Self::Move(subjects) => match subjects.first().and_then(|first| place::holder(job, first)) {
                Some(Kind::Level) => TO_LEVEL,
                Some(Kind::Panel) => TO_PANEL,
                Some(Kind::Room) => TO_ROOM,
                Some(Kind::WallBox) => TO_BOX,
                Some(Kind::Control) => TO_CONTROL,
                Some(Kind::Cable) => TO_LOOP,
                _ => IN_LIST,
            },
            Self::Propose(_) => propose::FIELDS,
            Self::FillDown(_) => fill::FIELDS,
            Self::Paste(_, cells) => cells.fields(),
            Self::Accept(_) => accept::FIELDS,
        }
    }

    /// What stands in the fields at first.
    ///
    /// # Errors
    /// Why it cannot be done at all.
    pub(super) fn start(&self, design: &Design) -> Result<Value, String> {
        let job = &design.job;
        match self {
            Self::Repeat(subject, into) => copy::start(job, subject, into),
            Self::Move(subjects) => {
                let first = subjects.first().ok_or("there is nothing to move on this line")?;
                if is_link(design, first) {
                    return Err("a control link stays in its group; e changes its ends".into());
                }
                let (parent, at) = place::stands_in(job, first)
                    .ok_or_else(|| format!("{first} stands in no list, so it cannot be moved"))?;
                Ok(match parent {
                    Some(parent) => json!({"to": parent.id, "place": at}),
                    None => json!({"place": at}),
                })
            }
            Self::Propose(room) => propose::start(design, room),
            Self::FillDown(subjects) => fill::start(design, subjects),
            Self::Paste(subjects, cells) => cells.start(design, subjects),
            Self::Accept(_) => Ok(accept::start(job)),
        }
    }

    /// What stands above the form.
    pub(super) fn title(&self) -> String {
        let all = |subjects: &[Subject]| match subjects {
            [one] => one.to_string(),
            [first, ..] => format!("{} {}", subjects.len(), first.kind.plural()),
            [] => String::new(),
        };
        match self {
            Self::Repeat(subject, _) => format!("Repeat {subject}"),
            Self::Move(subjects) => format!("Move {}", all(subjects)),
            Self::Propose(room) => format!("Lights proposed for room {room}"),
            Self::FillDown(subjects) => format!("Fill down over {}", all(subjects)),
            Self::Paste(subjects, _) => format!("Paste into {}", all(subjects)),
            Self::Accept(finding) => format!("Accept {} of {}", finding.code, finding.subject),
        }
    }

    /// The edit that does it, and what it is called.
    ///
    /// # Errors
    /// Why what stands in the fields cannot be done.
    pub(super) fn edit(&self, design: &Design, draft: &Value) -> Result<(Edit, String), String> {
        let job = &design.job;
        match self {
            Self::Repeat(subject, _) => copy::edit(design, subject, draft),
            Self::Move(subjects) => {
                let first = subjects.first().ok_or("there is nothing to move")?;
                let to = match place::holder(job, first) {
                    Some(kind) => {
                        let id = words(draft, "to");
                        if id.is_empty() {
                            return Err(format!("name the {} it moves to", kind.word()));
                        }
                        Some(Subject { kind, id: id.to_owned() })
                    }
                    None => None,
                };
                let edit = place::move_all(job, subjects, to.as_ref(), number(draft, "place"))
                    .map_err(|error| error.to_string())?;
                let what = if subjects.len() == 1 {
                    first.to_string()
                } else {
                    format!("{} things", subjects.len())
                };
                let whither = to.map_or_else(
                    || number(draft, "place").map_or("the end".into(), |place| format!("place {place}")),
                    |to| to.to_string(),
                );
                Ok((edit, format!("move {what} to {whither}")))
            }
            Self::Propose(room) => propose::edit(job, room, draft),
            Self::FillDown(subjects) => fill::down(design, subjects, draft),
            Self::Paste(subjects, cells) => cells.edit(design, subjects, draft),
            Self::Accept(finding) => accept::edit(design, finding, draft),
        }
    }

    /// What other fields become once one was typed in.
    pub(super) fn follow(&self, design: &Design, draft: &mut Value, typed: &str, original: &Value) {
        match self {
            // In another list it goes to the end, unless a place was chosen.
            Self::Move(_) if typed == "to" => {
                let elsewhere = words(draft, "to") != words(original, "to");
                if elsewhere && draft.get("place") == original.get("place") {
                    draft["place"] = Value::Null;
                } else if !elsewhere && draft.get("place").is_none_or(Value::is_null) {
                    draft["place"] = original["place"].clone();
                }
            }
            Self::Propose(room) => propose::follow(&design.job, room, draft, typed),
            Self::Paste(subjects, cells) => cells.follow(design, subjects, draft, typed),
            _ => {}
        }
    }

    /// What there is to know about what stands in the fields, and what [`Self::edit`] made of them.
    pub(super) fn notes(
        &self,
        design: &Design,
        draft: &Value,
        made: &Result<(Edit, String), String>,
    ) -> Vec<String> {
        match self {
            Self::Propose(room) => propose::notes(&design.job, room, draft),
            Self::FillDown(subjects) => fill::notes_down(design, subjects, draft),
            Self::Paste(subjects, cells) => cells.notes(design, subjects, draft),
            Self::Repeat(subject, _) => copy::notes(subject, draft, made),
            Self::Move(_) => Vec::new(),
            Self::Accept(finding) => accept::notes(finding),
        }
    }

    /// What a field may be filled with, where it is not simply every thing of a kind.
    pub(super) fn candidates(&self, design: &Design, typed: &Field) -> Option<Vec<(String, String)>> {
        match (self, typed.shape) {
            (Self::Move(_) | Self::Repeat(..), Shape::Refer(Kind::Cable) | Shape::ReferMany(Kind::Cable)) => {
                let is_loop = |(id, _): &(String, String)| {
                    let spot = Id::new(id).ok().and_then(|id| design.index.spot(Kind::Cable, &id));
                    matches!(spot, Some(Spot::Loop { .. }))
                };
                Some(things(design, Kind::Cable).into_iter().filter(is_loop).collect())
            }
            (Self::FillDown(subjects) | Self::Paste(subjects, _), _) => {
                Some(fill::candidates(design, subjects))
            }
            _ => None,
        }
    }

    /// The thing to show when it is done, where nothing new was made.
    pub(in crate::tui) fn moved(&self) -> Option<&Subject> {
        match self {
            Self::Move(subjects) => subjects.first(),
            _ => None,
        }
    }

    /// The kind of thing that is made, to show the first of them.
    pub(in crate::tui) const fn makes(&self) -> Option<Kind> {
        match self {
            Self::Repeat(subject, _) => Some(subject.kind),
            Self::Propose(_) => Some(Kind::WallBox),
            _ => None,
        }
    }
}

fn is_link(design: &Design, subject: &Subject) -> bool {
    let spot = Id::new(&subject.id).ok().and_then(|id| design.index.spot(subject.kind, &id));
    matches!(spot, Some(Spot::Link { .. }))
}

/// A whole number of a draft.
fn number(draft: &Value, name: &str) -> Option<usize> {
    draft.get(name)?.as_u64().and_then(|number| usize::try_from(number).ok())
}

fn words<'a>(draft: &'a Value, name: &str) -> &'a str {
    draft.get(name).and_then(Value::as_str).unwrap_or_default().trim()
}

/// A distance, to the left or down where it is below zero.
fn offset(job: &Job, draft: &Value, name: &str) -> Result<i64, String> {
    let text = words(draft, name);
    if text.is_empty() {
        return Ok(0);
    }
    let (sign, text) = text.strip_prefix('-').map_or((1, text), |rest| (-1, rest));
    let length = Length::parse(text, Some(job.project.units)).map_err(|bad| format!("{name}: {bad}"))?;
    Ok(sign * length.ticks())
}
