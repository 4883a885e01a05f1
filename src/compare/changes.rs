//! What is other about each thing.

use super::things::{Thing, things};
use crate::design::Design;
use crate::job::fields::{self, Field};
use crate::job::site::Step;
use crate::job::{Id, Kind, Spot, Subject};
use crate::network::{Basis, CableLength, Lengths};
use serde_json::Value;
use std::collections::{HashMap, HashSet};

/// How a thing is other.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum ChangeKind {
    /// It was not there.
    Added,
    /// It is no longer there.
    Gone,
    /// A cable takes another way: from elsewhere, to elsewhere, by other boxes, or back or not.
    Rerouted,
    /// A cable is on other terminals in the panel, or a control on another feed.
    Moved,
    /// A box, a panel, a supply or a room is elsewhere or stands otherwise.
    Placed,
    /// A cable has another length.
    Length,
    /// It is another part, or a part that may yet be another.
    Part,
    /// It has another name.
    Renamed,
    /// Anything else that was entered.
    Entered,
}

impl ChangeKind {
    /// Its word on paper and for machines.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Added => "added",
            Self::Gone => "gone",
            Self::Rerouted => "re-routed",
            Self::Moved => "moved",
            Self::Placed => "placed",
            Self::Length => "length",
            Self::Part => "part",
            Self::Renamed => "renamed",
            Self::Entered => "changed",
        }
    }
}

/// One change of one thing.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Change {
    /// How it is other.
    pub kind: ChangeKind,
    /// The thing.
    pub subject: Subject,
    /// The room it is in, or was in if it is gone; none for what is in no room.
    pub room: Option<Id>,
    /// What of it is other, in a word or two; empty where that is the thing itself.
    pub what: String,
    /// What it was; empty where it was not.
    pub was: String,
    /// What it is now; empty where it is no more.
    pub now: String,
    /// How far it was on site in the old state.
    pub step: Step,
}

/// Fields that say how far the work is, not what is to be built.
const OF_THE_SITE: [&str; 6] = ["site", "readings", "tag", "landed", "pinned", "stage"];
/// Lists of things that are compared one by one.
const LISTS: [&str; 7] = ["rooms", "supplies", "feeds", "controls", "loops", "ceiling", "links"];

/// Every change, by room as the new job lists them and the old one after it, in each room in the order of the file.
pub(super) fn changes(old: &Design, new: &Design) -> Vec<Change> {
    let (before, after) = (things(&old.job), things(&new.job));
    let by_key: HashMap<String, &Thing<'_>> =
        before.iter().map(|thing| (key(&thing.subject), thing)).collect();
    let there: HashSet<String> = after.iter().map(|thing| key(&thing.subject)).collect();
    let mut all = Vec::new();
    for thing in &after {
        match by_key.get(&key(&thing.subject)) {
            Some(was) => same_thing(old, new, was, thing, &mut all),
            None => all.push(whole(new, thing, ChangeKind::Added)),
        }
    }
    for thing in before.iter().filter(|thing| !there.contains(&key(&thing.subject))) {
        all.push(whole(old, thing, ChangeKind::Gone));
    }
    let rooms: Vec<&Id> = [&new.job, &old.job]
        .into_iter()
        .flat_map(|job| job.levels.iter().flat_map(|level| &level.rooms).map(|room| &room.id))
        .collect();
    let place = |room: &Option<Id>| {
        room.as_ref()
            .map_or(usize::MAX, |id| rooms.iter().position(|room| room.same(id)).unwrap_or(usize::MAX - 1))
    };
    all.sort_by_key(|change| place(&change.room));
    all
}

fn key(subject: &Subject) -> String {
    format!("{} {}", subject.kind.key(), subject.id.to_ascii_lowercase())
}

fn whole(design: &Design, thing: &Thing<'_>, kind: ChangeKind) -> Change {
    let words = described(design, &thing.subject);
    let (was, now) = match kind {
        ChangeKind::Gone => (words, String::new()),
        _ => (String::new(), words),
    };
    let step = if kind == ChangeKind::Gone { thing.step } else { Step::ToPull };
    let room = thing.room.cloned();
    Change { kind, subject: thing.subject.clone(), room, what: String::new(), was, now, step }
}

/// A thing in a few words, for who looks for it: what it is, where it goes, what it holds.
pub(super) fn described(design: &Design, subject: &Subject) -> String {
    let job = &design.job;
    let Ok(id) = Id::new(&subject.id) else { return subject.id.clone() };
    let named = |name: &str, rest: String| {
        if name.is_empty() || rest.is_empty() { format!("{name}{rest}") } else { format!("{name}; {rest}") }
    };
    match design.index.spot(subject.kind, &id) {
        Some(Spot::Feed { wall_box, feed }) => {
            let wall_box = &job.boxes[wall_box];
            let feed = &wall_box.feeds[feed];
            let from = source_words(design, &feed.from);
            named(&feed.name, format!("{} from {from} to {}", feed.cable, wall_box.id))
        }
        Some(Spot::Loop { wall_box, control, at }) => {
            let wall_box = &job.boxes[wall_box];
            let control = &wall_box.controls[control];
            named(
                &control.loops[at].name,
                format!("{} {}", control.loops[at].cable, way(wall_box, &control.loops[at])),
            )
        }
        Some(Spot::Link { group, link }) => {
            let link = &job.groups[group].links[link];
            named(&link.name, format!("{} from {} to {}", link.cable, link.from, link.to))
        }
        Some(Spot::Ceiling { wall_box, control, at, ceiling }) => {
            let on = &job.boxes[wall_box].controls[control].loops[at];
            let ceiling = &on.ceiling[ceiling];
            let holds = ceiling.fixture.as_ref().map_or("no fixture", Id::as_str);
            named(&ceiling.name, format!("{holds} on loop {}", on.id))
        }
        Some(Spot::WallBox(at)) => job.boxes[at].name.clone(),
        Some(Spot::Control { wall_box, control }) => {
            let of = &job.boxes[wall_box];
            named(&of.controls[control].name, format!("{} in box {}", of.controls[control].part, of.id))
        }
        Some(Spot::Supply { panel, supply }) => {
            let of = &job.panels[panel];
            let supply = &of.supplies[supply];
            let slot = supply.slot.map_or_else(|| "no slot".to_owned(), |slot| format!("slot {slot}"));
            named(&supply.name, format!("{} in panel {}, {slot}", supply.part, of.id))
        }
        Some(Spot::Level(at)) => job.levels[at].name.clone(),
        Some(Spot::Room { level, room }) => job.levels[level].rooms[room].name.clone(),
        Some(Spot::Panel(at)) => named(&job.panels[at].name, format!("{} slots", job.panels[at].slots)),
        Some(Spot::Group(at)) => named(&job.groups[at].name, format!("main {}", job.groups[at].main)),
        Some(_) => fields::thing(job, &design.index, subject)
            .and_then(|thing| thing.get("name").and_then(Value::as_str).map(str::to_owned))
            .unwrap_or_default(),
        None => String::new(),
    }
}

fn source_words(design: &Design, from: &crate::job::wiring::Source) -> String {
    use crate::job::wiring::Source;
    match from {
        Source::Output(output) => match design.index.supply(&design.job, &output.supply) {
            Some((panel, supply)) => match supply.slot {
                Some(slot) => format!("{}/{slot} {output}", panel.id),
                None => format!("{}/? {output}", panel.id),
            },
            None => output.to_string(),
        },
        Source::Panel(panel) => format!("{panel}, no output yet"),
        Source::Onward(feed) => match design.index.feed(&design.job, feed) {
            Some((wall_box, _)) => format!("{} onward at {}", feed, wall_box.id),
            None => feed.to_string(),
        },
    }
}

/// The way of a loop: every box it passes, in order.
fn way(wall_box: &crate::job::wiring::WallBox, run: &crate::job::wiring::Loop) -> String {
    use crate::job::wiring::LoopPath;
    let mut stops = vec![wall_box.id.to_string()];
    stops.extend(run.ceiling.iter().map(|ceiling| ceiling.id.to_string()));
    let back = run.returns_to.as_ref().map_or_else(|| wall_box.id.to_string(), |to| format!("control {to}"));
    match run.path {
        LoopPath::OneWay => {}
        LoopPath::ReturnedCapped => stops.push(format!("{back} capped")),
        LoopPath::Returned => stops.push(back),
    }
    stops.join(" ")
}

/// What is other about a thing that is in both.
fn same_thing(old: &Design, new: &Design, was: &Thing<'_>, now: &Thing<'_>, all: &mut Vec<Change>) {
    let base = |kind, what: &str, was_words: String, now_words: String| Change {
        kind,
        subject: now.subject.clone(),
        room: now.room.cloned(),
        what: what.to_owned(),
        was: was_words,
        now: now_words,
        step: was.step,
    };
    let subject = &now.subject;
    let spots = (spot(old, &was.subject), spot(new, subject));
    let loops = (looped(old, spots.0), looped(new, spots.1));
    if let (Some((old_box, old_run)), Some((new_box, new_run))) = loops {
        let (before, after) = (way(old_box, old_run), way(new_box, new_run));
        if before != after {
            all.push(base(ChangeKind::Rerouted, "way", before, after));
        } else if within_words(was) != within_words(now) {
            all.push(base(ChangeKind::Moved, "control", within_words(was), within_words(now)));
        }
    } else if within_words(was) != within_words(now) {
        let (kind, what) = match subject.kind {
            Kind::Cable => (ChangeKind::Rerouted, "goes to"),
            Kind::Fixture => (ChangeKind::Rerouted, "on loop"),
            Kind::Control => (ChangeKind::Placed, "in box"),
            Kind::Supply => (ChangeKind::Placed, "in panel"),
            _ => (ChangeKind::Placed, "belongs to"),
        };
        all.push(base(kind, what, within_words(was), within_words(now)));
    }
    let things =
        (fields::thing(&old.job, &old.index, &was.subject), fields::thing(&new.job, &new.index, subject));
    if let (Some(before), Some(after)) = things {
        let is_loop = matches!(spots.1, Some(Spot::Loop { .. }));
        for field in fields::of(subject.kind, spots.1) {
            if let Some((kind, words)) = field_change(old, new, subject, field, is_loop, &before, &after) {
                all.push(base(kind, field.label, words.0, words.1));
            }
        }
    }
    if let Some((before, after)) = length_change(old, new, was, now) {
        all.push(base(ChangeKind::Length, "length", before, after));
    }
}

fn within_words(thing: &Thing<'_>) -> String {
    thing.within.map(Id::to_string).unwrap_or_default()
}

fn spot(design: &Design, subject: &Subject) -> Option<Spot> {
    design.index.spot(subject.kind, &Id::new(&subject.id).ok()?)
}

fn looped(
    design: &Design,
    spot: Option<Spot>,
) -> Option<(&crate::job::wiring::WallBox, &crate::job::wiring::Loop)> {
    let Some(Spot::Loop { wall_box, control, at }) = spot else { return None };
    let wall_box = design.job.boxes.get(wall_box)?;
    Some((wall_box, wall_box.controls.get(control)?.loops.get(at)?))
}

/// One field that is other, with both texts.
fn field_change(
    old: &Design,
    new: &Design,
    subject: &Subject,
    field: &Field,
    is_loop: bool,
    before: &Value,
    after: &Value,
) -> Option<(ChangeKind, (String, String))> {
    let first = *field.path.first()?;
    // Ways of loops are compared as a whole, and lengths with what they come to.
    let told_elsewhere = is_loop && matches!(first, "path" | "returns_to");
    let length = matches!(first, "measured" | "leg" | "return_leg");
    if OF_THE_SITE.contains(&first) || LISTS.contains(&first) || told_elsewhere || length || first == "id" {
        return None;
    }
    let (was, now) = (field.text(before), field.text(after));
    if was == now {
        return None;
    }
    let kind = match (subject.kind, first) {
        (_, "name") => ChangeKind::Renamed,
        (Kind::Cable, "from") => return Some(from_change(old, new, before, after)),
        (Kind::Cable, "to" | "way") => ChangeKind::Rerouted,
        (Kind::Control, "on") => ChangeKind::Moved,
        (Kind::Cable, "cable" | "plan")
        | (Kind::Fixture, "fixture" | "open" | "part")
        | (Kind::Control | Kind::Supply | Kind::WallBox, "part") => ChangeKind::Part,
        (_, "place" | "room" | "slot" | "corner") => ChangeKind::Placed,
        _ => ChangeKind::Entered,
    };
    Some((kind, (was, now)))
}

/// A home run on another output of the same panel is moved there; from elsewhere it is another way.
fn from_change(old: &Design, new: &Design, before: &Value, after: &Value) -> (ChangeKind, (String, String)) {
    let source =
        |value: &Value| serde_json::from_value(value.get("from").cloned().unwrap_or(Value::Null)).ok();
    let words = |design, source: Option<&crate::job::wiring::Source>| {
        source.map(|source| source_words(design, source)).unwrap_or_default()
    };
    let (was, now) = (source(before), source(after));
    let panel = |design: &Design, source: Option<&crate::job::wiring::Source>| {
        use crate::job::wiring::Source;
        match source? {
            Source::Output(output) => {
                design.index.supply(&design.job, &output.supply).map(|(panel, _)| panel.id.folded())
            }
            Source::Panel(panel) => Some(panel.folded()),
            Source::Onward(_) => None,
        }
    };
    let panels = (panel(old, was.as_ref()), panel(new, now.as_ref()));
    let kind = match panels {
        (Some(one), Some(other)) if one == other => ChangeKind::Moved,
        _ => ChangeKind::Rerouted,
    };
    (kind, (words(old, was.as_ref()), words(new, now.as_ref())))
}

/// The length of a cable, whatever its kind.
pub(super) fn length_of(design: &Design, subject: &Subject) -> Option<CableLength> {
    Lengths::new(&design.job, &design.index).cable(&Id::new(&subject.id).ok()?)
}

/// Both lengths with how they are known, where they are not the same.
fn length_change(old: &Design, new: &Design, was: &Thing<'_>, now: &Thing<'_>) -> Option<(String, String)> {
    if now.subject.kind != Kind::Cable {
        return None;
    }
    let (before, after) = (length_of(old, &was.subject), length_of(new, &now.subject));
    let ticks = |length: Option<CableLength>| length.map(|length| length.length.ticks());
    let same_basis = before.map(|length| length.basis) == after.map(|length| length.basis);
    if ticks(before) == ticks(after) && (same_basis || before.is_none()) {
        return None;
    }
    let words = |length: Option<CableLength>| match length {
        None => "not known".to_owned(),
        Some(CableLength { length, basis }) => {
            let basis = match basis {
                Basis::Pulled => "pulled",
                Basis::Measured => "measured",
                Basis::Estimated => "estimated",
            };
            format!("{} {basis}", length.shown(new.job.project.units))
        }
    };
    Some((words(before), words(after)))
}
