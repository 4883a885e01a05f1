//! Copies: how many, where to, how far apart, and where their home runs go.

use super::{field, number, offset, words};
use crate::design::Design;
use crate::job::edit::{Edit, contents};
use crate::job::fields::{Field, Shape};
use crate::job::wiring::Source;
use crate::job::{Job, Kind, Subject};
use crate::plan::next::Outlets;
use crate::plan::place;
use crate::plan::repeat::{How, Offset, copy, repeat};
use serde_json::{Value, json};

const COUNT: Field = field(&["count"], "copies", "how many, in each place", Shape::Count);
const ACROSS: Field = field(&["across"], "across", "from one to the next, like 4' or -4'", Shape::Words);
const ALONG: Field = field(&["along"], "along", "from one to the next, like 4' or -4'", Shape::Words);
const UP: Field = field(&["up"], "up", "from one floor to the next, like 10'", Shape::Words);
/// What becomes of the home runs of copies.
const FREE: &str = "NextFree";
const RUNS: Field = field(
    &["runs"],
    "home runs",
    "on no output yet, or on the next free ones",
    Shape::Choice(&["Unassigned", FREE]),
);

const fn to(label: &'static str, kind: Kind) -> Field {
    field(&["to"], label, "with commas; empty: beside it", Shape::ReferMany(kind))
}

const LEVEL: &[Field] = &[COUNT, ACROSS, ALONG, UP, RUNS];
const ROOM: &[Field] = &[COUNT, ACROSS, ALONG, to("to levels", Kind::Level), RUNS];
const WALL_BOX: &[Field] = &[COUNT, ACROSS, ALONG, to("to rooms", Kind::Room), RUNS];
const FEED: &[Field] = &[COUNT, to("to wall boxes", Kind::WallBox), RUNS];
const CONTROL: &[Field] = &[COUNT, ACROSS, ALONG, to("to wall boxes", Kind::WallBox)];
const LOOP: &[Field] = &[COUNT, ACROSS, ALONG, to("to controls", Kind::Control)];
const CEILING: &[Field] = &[COUNT, ACROSS, ALONG, to("to loops", Kind::Cable)];
const SUPPLY: &[Field] = &[COUNT, to("to panels", Kind::Panel)];
const PLACED: &[Field] = &[COUNT, ACROSS, ALONG];
const PART: &[Field] = &[COUNT];

pub(super) fn fields(job: &Job, subject: &Subject) -> &'static [Field] {
    match (subject.kind, place::holder(job, subject)) {
        (Kind::Level, _) => LEVEL,
        (Kind::Room, _) => ROOM,
        (Kind::WallBox, _) => WALL_BOX,
        (Kind::Control, _) => CONTROL,
        (Kind::Cable, Some(Kind::WallBox)) => FEED,
        (Kind::Cable, _) => LOOP,
        (Kind::Fixture, _) => CEILING,
        (Kind::Supply, _) => SUPPLY,
        (Kind::Panel | Kind::Group, _) => PLACED,
        _ => PART,
    }
}

/// What stands in the fields at first: copies go into what is marked, if they can.
pub(super) fn start(job: &Job, subject: &Subject, marked: &[Subject]) -> Result<Value, String> {
    // What is no part of any list cannot be copied; that is better said before a form is filled in.
    repeat(job, subject, 1, Offset::default()).map_err(|error| error.to_string())?;
    let holder = place::holder(job, subject);
    let into: Vec<&str> =
        marked.iter().filter(|mark| Some(mark.kind) == holder).map(|mark| mark.id.as_str()).collect();
    let mut draft = json!({"count": 1, "across": "", "along": "", "up": "", "runs": "Unassigned"});
    if !into.is_empty() {
        draft["to"] = json!(into);
    }
    Ok(draft)
}

fn how(design: &Design, subject: &Subject, draft: &Value) -> Result<How, String> {
    let job = &design.job;
    let count = number(draft, "count").filter(|count| *count > 0).ok_or("copies: at least 1")?;
    let up = if words(draft, "up").is_empty() { None } else { Some(offset(job, draft, "up")?) };
    let holder = place::holder(job, subject);
    let named = draft.get("to").and_then(Value::as_array).into_iter().flatten();
    let into = named.filter_map(|id| Some(Subject { kind: holder?, id: id.as_str()?.to_owned() })).collect();
    Ok(How {
        count,
        offset: Offset { x: offset(job, draft, "across")?, y: offset(job, draft, "along")? },
        up,
        into,
        outlets: (words(draft, "runs") == FREE).then(|| Outlets::of(design)),
    })
}

pub(super) fn edit(design: &Design, subject: &Subject, draft: &Value) -> Result<(Edit, String), String> {
    let how = how(design, subject, draft)?;
    let edit = copy(&design.job, subject, &how).map_err(|error| error.to_string())?;
    let times = match (how.count, how.into.as_slice()) {
        (1, []) => "once".to_owned(),
        (count, []) => format!("{count} times"),
        (1, [one]) => format!("into {one}"),
        (1, all) => format!("into {} {}", all.len(), all[0].kind.plural()),
        (count, [one]) => format!("{count} times into {one}"),
        (count, all) => format!("{count} times into {} {}", all.len(), all[0].kind.plural()),
    };
    Ok((edit, format!("repeat {subject} {times}")))
}

/// What is made, where its home runs go, and what stays with the original.
pub(super) fn notes(subject: &Subject, draft: &Value, made: &Result<(Edit, String), String>) -> Vec<String> {
    let edit = match made {
        Ok((edit, _)) => edit,
        Err(reason) => return vec![format!("! {reason}")],
    };
    let mut count = Count::default();
    count.edit(edit);
    let mut notes = vec![format!("Makes {}.", count.said())];
    let wanted = words(draft, "runs") == FREE;
    match (count.runs.as_slice(), count.waiting) {
        ([], 0) => {}
        ([], _) if !wanted => {
            notes.push("Home runs of the copies come from the same panel and are on no output yet.".into());
        }
        (runs, 0) => notes.push(format!("Home runs: {}", runs.join(", "))),
        (runs, waiting) => {
            if !runs.is_empty() {
                notes.push(format!("Home runs: {}", runs.join(", ")));
            }
            notes.push(format!("! {waiting} on no output: none has room for them within the target"));
        }
    }
    let elsewhere = draft.get("to").is_some_and(|to| !to.is_null());
    if subject.kind == Kind::WallBox && elsewhere {
        notes.push(
            "In another room it stands as it does here, from the corner; without corners, nowhere yet."
                .into(),
        );
    }
    if subject.kind == Kind::Level && words(draft, "up").is_empty() {
        notes.push(
            "The copy has no height above the lowest floor until 'up' says how far apart they are.".into(),
        );
    }
    if subject.kind == Kind::Panel {
        notes.push("No home run comes from the copy yet.".into());
    }
    notes.push("What was measured or done on site stays with the original.".into());
    notes
}

/// What an edit makes.
#[derive(Default)]
struct Count {
    made: Vec<(Kind, usize)>,
    runs: Vec<String>,
    waiting: usize,
}

impl Count {
    fn edit(&mut self, edit: &Edit) {
        match edit {
            Edit::Together(all) => all.iter().for_each(|edit| self.edit(edit)),
            Edit::Insert { kind, value, .. } => self.thing(*kind, value),
            _ => {}
        }
    }

    fn thing(&mut self, kind: Kind, value: &Value) {
        for (kind, value) in contents(kind, value) {
            match self.made.iter_mut().find(|(made, _)| *made == kind) {
                Some((_, count)) => *count += 1,
                None => self.made.push((kind, 1)),
            }
            let from = value.get("from").and_then(|from| serde_json::from_value::<Source>(from.clone()).ok());
            match from {
                Some(Source::Output(output)) => {
                    let id = value.get("id").and_then(Value::as_str).unwrap_or_default();
                    self.runs.push(format!("{id} on {output}"));
                }
                Some(Source::Panel(_)) => self.waiting += 1,
                _ => {}
            }
        }
    }

    fn said(&self) -> String {
        let one = |(kind, count): &(Kind, usize)| match count {
            1 => format!("1 {}", kind.word()),
            count => format!("{count} {}", kind.plural()),
        };
        self.made.iter().map(one).collect::<Vec<_>>().join(", ")
    }
}
