//! What things are called on screen and paper.

use crate::design::Design;
use crate::format::Text;
use crate::job::open;
use crate::job::wiring::{CeilingBox, Loop, OutputRef, WallBox};
use crate::job::{Id, Spot, Subject, house};
use crate::network::LoopAt;

/// A name if there is one, else the id.
pub fn called(name: &str, id: &Id) -> String {
    if name.trim().is_empty() { id.to_string() } else { name.to_owned() }
}

/// The id, with the name after it if there is one.
pub fn with_name(id: &Id, name: &str) -> Text {
    if name.trim().is_empty() { Text::from(id.as_str()) } else { Text::from(format!("{id} {name}")) }
}

/// The room a wall box stands in.
pub fn room_of<'a>(design: &'a Design, wall_box: &WallBox) -> Option<&'a house::Room> {
    design.index.room(&design.job, &wall_box.room).map(|(_, room)| room)
}

/// A wall box with its room, for somebody who looks for it.
pub fn box_and_room(design: &Design, wall_box: &WallBox) -> String {
    let room = room_of(design, wall_box).map(|room| called(&room.name, &room.id)).unwrap_or_default();
    format!("{} ({room})", wall_box.id)
}

/// Where an output sits: panel and slot, and its own name, as `P1/3 PS2.1`.
pub fn place_of(design: &Design, output: &OutputRef) -> String {
    let Some((panel, supply)) = design.index.supply(&design.job, &output.supply) else {
        return output.to_string();
    };
    match supply.slot {
        Some(slot) => format!("{}/{slot} {output}", panel.id),
        None => format!("{}/? {output}", panel.id),
    }
}

/// What a ceiling box holds, or may yet hold.
pub fn fixture_of(design: &Design, wall_box: &WallBox, wired: &Loop, ceiling: &CeilingBox) -> String {
    let named = |id: &Id| {
        design
            .index
            .fixture_type(&design.job, id)
            .map_or_else(|| id.to_string(), |part| called(&part.name, id))
    };
    let (open, reach) = open::open(&design.job, &design.index, wall_box, wired, ceiling);
    match (&ceiling.fixture, open) {
        (Some(id), _) => named(id),
        (None, []) if ceiling.blank => "blank".into(),
        (None, []) => "empty".into(),
        (None, open) => {
            let choices: Vec<String> = open.iter().map(named).collect();
            let reach = if reach.is_each() { String::new() } else { format!(", {}", reach.words()) };
            format!("open: {}{reach}", choices.join(" or "))
        }
    }
}

/// How many lights hang on a loop, or are to.
pub fn lights_of(design: &Design, wall_box: &WallBox, wired: &Loop) -> usize {
    let lit = |ceiling: &&CeilingBox| open::lit(&design.job, &design.index, wall_box, wired, ceiling);
    wired.ceiling.iter().filter(lit).count()
}

/// The wall box, control and loop at a position.
pub fn loop_at(
    design: &Design,
    at: LoopAt,
) -> (&WallBox, &crate::job::wiring::Control, &crate::job::wiring::Loop) {
    let wall_box = &design.job.boxes[at.control.wall_box];
    let control = &wall_box.controls[at.control.control];
    (wall_box, control, &control.loops[at.at])
}

/// The id of a thing with its name, if it has one.
pub fn words_of(design: &Design, subject: &Subject) -> String {
    let job = &design.job;
    let Ok(id) = Id::new(&subject.id) else { return subject.id.clone() };
    let name = match design.index.spot(subject.kind, &id) {
        Some(Spot::Level(at)) => job.levels[at].name.as_str(),
        Some(Spot::Room { level, room }) => job.levels[level].rooms[room].name.as_str(),
        Some(Spot::Panel(at)) => job.panels[at].name.as_str(),
        Some(Spot::Supply { panel, supply }) => job.panels[panel].supplies[supply].name.as_str(),
        Some(Spot::WallBox(at)) => job.boxes[at].name.as_str(),
        Some(Spot::Feed { wall_box, feed }) => job.boxes[wall_box].feeds[feed].name.as_str(),
        Some(Spot::Control { wall_box, control }) => job.boxes[wall_box].controls[control].name.as_str(),
        Some(Spot::Loop { wall_box, control, at }) => {
            job.boxes[wall_box].controls[control].loops[at].name.as_str()
        }
        Some(Spot::Ceiling { wall_box, control, at, ceiling }) => {
            let wall_box = &job.boxes[wall_box];
            let wired = &wall_box.controls[control].loops[at];
            let ceiling = &wired.ceiling[ceiling];
            return format!("{id} {} {}", ceiling.name, fixture_of(design, wall_box, wired, ceiling));
        }
        _ => "",
    };
    format!("{id} {name}")
}
