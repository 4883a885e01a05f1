//! Writes the table of rooms of a job.

use super::build::MOST_LOOPS;
use super::columns::Col;
use super::lights::{self, Hung};
use super::lookup::{labels, plain};
use crate::job::house::{Level, Room};
use crate::job::wiring::{Control, Loop, LoopPath, Source, WallBox};
use crate::job::{Id, Index, Job};
use crate::plan::propose::deal;
use crate::sheets::csv::inert;
use std::collections::HashMap;

/// A table of rooms with what it cannot say.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Written {
    /// The table, separated by commas.
    pub csv: String,
    /// What of the job is not in it, a line for each kind.
    pub left_out: Vec<String>,
}

/// Writes the levels, rooms, wall boxes, controls, loops and ceiling boxes of a job as a table of rooms.
///
/// # Errors
/// When the writer fails, which a writer into memory does not.
pub fn write(job: &Job) -> Result<Written, csv::Error> {
    let mut out = Out::new(job);
    for (level, label) in job.levels.iter().zip(out.levels.clone()) {
        out.level(level, &label);
    }
    let mut writer = csv::Writer::from_writer(Vec::new());
    writer.write_record(Col::ALL.iter().map(|column| column.key()))?;
    for row in &out.rows {
        let cell = |column: &Col| row.get(column).map_or_else(String::new, |cell| inert(cell));
        writer.write_record(Col::ALL.iter().map(cell))?;
    }
    writer.flush()?;
    let bytes = writer.into_inner().map_err(|error| csv::Error::from(error.into_error()))?;
    Ok(Written { csv: String::from_utf8_lossy(&bytes).into_owned(), left_out: left_out(job) })
}

type Cells = HashMap<Col, String>;

struct Out<'a> {
    job: &'a Job,
    index: Index,
    levels: Vec<String>,
    /// The labels of the rooms, by id, with their level.
    rooms: HashMap<String, (usize, String)>,
    rows: Vec<Cells>,
}

impl<'a> Out<'a> {
    fn new(job: &'a Job) -> Self {
        let mut rooms = HashMap::new();
        for (at, level) in job.levels.iter().enumerate() {
            let names = labels(level.rooms.iter().map(|room| (&room.id, room.name.as_str())));
            for (room, label) in level.rooms.iter().zip(names) {
                rooms.insert(room.id.folded(), (at, label));
            }
        }
        let levels = labels(job.levels.iter().map(|level| (&level.id, level.name.as_str())));
        Self { job, index: Index::new(job).0, levels, rooms, rows: Vec::new() }
    }

    fn level(&mut self, level: &Level, label: &str) {
        let first = self.rows.len();
        for room in &level.rooms {
            self.room(room, label);
        }
        if self.rows.len() == first {
            self.rows.push(Cells::from([(Col::Level, label.to_owned())]));
        }
        if let (Some(elevation), Some(row)) = (level.elevation, self.rows.get_mut(first)) {
            row.insert(Col::Elevation, elevation.written());
        }
    }

    fn room(&mut self, room: &Room, level: &str) {
        let label = self.rooms.get(&room.id.folded()).map_or_else(String::new, |(_, label)| label.clone());
        let head = Cells::from([(Col::Level, level.to_owned()), (Col::Room, label)]);
        let first = self.rows.len();
        let boxes: Vec<&WallBox> = self.job.boxes.iter().filter(|b| b.room.same(&room.id)).collect();
        let names = labels(boxes.iter().map(|b| (&b.id, b.name.as_str())));
        for (wall_box, name) in boxes.into_iter().zip(names) {
            self.wall_box(wall_box, name, &head);
        }
        if self.rows.len() == first {
            self.rows.push(head);
        }
        let Some(row) = self.rows.get_mut(first) else { return };
        let facts = [
            (Col::Area, room.area.map(|area| area.to_string())),
            (Col::Width, room.width.map(crate::units::Length::written)),
            (Col::Depth, room.depth.map(crate::units::Length::written)),
            (Col::Ceiling, room.ceiling.map(crate::units::Length::written)),
            (Col::X, room.corner.map(|corner| corner.x.written())),
            (Col::Y, room.corner.map(|corner| corner.y.written())),
            (Col::Illuminance, room.illuminance.map(|wish| wish.to_string())),
        ];
        row.extend(facts.into_iter().filter_map(|(column, cell)| Some((column, cell?))));
    }

    fn wall_box(&mut self, wall_box: &WallBox, name: String, head: &Cells) {
        let mut head = head.clone();
        head.insert(Col::WallBox, name);
        let first = self.rows.len();
        for control in &wall_box.controls {
            self.control(wall_box, control, &head);
        }
        if self.rows.len() == first {
            self.rows.push(head);
        }
        let Some(row) = self.rows.get_mut(first) else { return };
        if let Some(place) = wall_box.place {
            row.insert(Col::BoxX, place.x.written());
            row.insert(Col::BoxY, place.y.written());
            row.extend(place.height.map(|height| (Col::BoxHeight, height.written())));
        }
        row.insert(Col::BoxType, wall_box.part.as_ref().map_or_else(|| "none".into(), Id::to_string));
        let from = wall_box.feeds.first().and_then(|feed| {
            let from = match &feed.from {
                Source::Output(output) => output.to_string(),
                Source::Panel(panel) => panel.to_string(),
                Source::Onward(_) => return None,
            };
            Some((from, feed.cable.to_string()))
        });
        match from {
            Some((from, cable)) => row.extend([(Col::From, from), (Col::HomeRun, cable)]),
            None => row.extend([(Col::From, "none".to_owned())]),
        }
    }

    fn control(&mut self, wall_box: &WallBox, control: &Control, head: &Cells) {
        let mut row = head.clone();
        row.insert(Col::Control, control.part.to_string());
        let name = plain(&control.name);
        if !name.is_empty() {
            row.insert(Col::ControlName, name);
        }
        let mut rest = control.loops.as_slice();
        if rest.is_empty() {
            self.rows.push(row);
            return;
        }
        let mut first = true;
        while let Some(head_loop) = rest.first() {
            let taken = alike(wall_box, rest);
            let (these, after) = rest.split_at(taken);
            rest = after;
            let mut row = if first { row.clone() } else { head.clone() };
            if !first {
                row.insert(Col::Control, "same".into());
            }
            first = false;
            let hung: Vec<Hung> = these.iter().flat_map(|l| &l.ceiling).map(Hung::of).collect();
            row.insert(Col::Lights, hung.len().to_string());
            row.insert(Col::Fixture, lights::written(&hung));
            row.insert(Col::Loops, taken.to_string());
            row.insert(Col::Path, path(head_loop.path).to_owned());
            row.insert(Col::LoopCable, head_loop.cable.to_string());
            if let Some(lit) = lit_room(wall_box, head_loop) {
                row.insert(Col::LightsIn, self.named(wall_box, lit));
            }
            row.retain(|_, cell| !cell.is_empty());
            self.rows.push(row);
        }
    }

    /// What `lights_in` calls a room, seen from the level of a wall box.
    fn named(&self, wall_box: &WallBox, room: &Id) -> String {
        let (level, label) = self.rooms.get(&room.folded()).cloned().unwrap_or_default();
        let here = self.index.room(self.job, &wall_box.room).map(|(here, _)| &here.id);
        let there = self.job.levels.get(level);
        if there.map(|there| &there.id) == here {
            return label;
        }
        let level = self.levels.get(level).cloned().unwrap_or_default();
        format!("{level} / {label}")
    }
}

const fn path(path: LoopPath) -> &'static str {
    match path {
        LoopPath::OneWay => "one-way",
        LoopPath::ReturnedCapped => "capped",
        LoopPath::Returned => "returned",
    }
}

/// The room that all lights of a loop hang in, if it is not that of the wall box.
fn lit_room<'a>(wall_box: &WallBox, wired: &'a Loop) -> Option<&'a Id> {
    let room = wired.ceiling.first()?.room.as_ref()?;
    let all = wired.ceiling.iter().all(|light| light.room.as_ref().is_some_and(|other| other.same(room)));
    Some(room).filter(|room| all && !room.same(&wall_box.room))
}

/// How many of the first loops one row can say: alike, and with the lights as a row deals them.
fn alike(wall_box: &WallBox, loops: &[Loop]) -> usize {
    let Some(first) = loops.first() else { return 0 };
    let room = lit_room(wall_box, first);
    let mut sizes = vec![first.ceiling.len()];
    for wired in loops.iter().skip(1) {
        let lights: usize = sizes.iter().sum::<usize>() + wired.ceiling.len();
        sizes.push(wired.ceiling.len());
        let fits = wired.cable.same(&first.cable)
            && wired.path == first.path
            && lit_room(wall_box, wired).map(Id::folded) == room.map(Id::folded)
            && lights >= sizes.len()
            && sizes.len() <= MOST_LOOPS
            && lights <= lights::MOST_LIGHTS
            && deal(lights, sizes.len()) == sizes;
        if !fits {
            return sizes.len() - 1;
        }
    }
    sizes.len()
}

/// What of a job the table does not say, with how often it is there.
fn left_out(job: &Job) -> Vec<String> {
    let feeds = || job.boxes.iter().flat_map(|b| &b.feeds);
    let controls = || job.boxes.iter().flat_map(|b| &b.controls);
    let loops = || controls().flat_map(|c| &c.loops);
    let lights = || loops().flat_map(|l| &l.ceiling);
    let mixed = job.boxes.iter().flat_map(|b| b.controls.iter().flat_map(|c| &c.loops).map(move |l| (b, l)));
    let mixed = mixed.filter(|(b, l)| {
        let elsewhere = |light: &&crate::job::wiring::CeilingBox| {
            light.room.as_ref().is_some_and(|room| !room.same(&b.room))
        };
        lit_room(b, l).is_none() && l.ceiling.iter().any(|light| elsewhere(&light))
    });
    let counted = [
        (job.panels.len(), "panels with their supplies"),
        (job.groups.len(), "control groups with their links"),
        (
            feeds().filter(|f| matches!(f.from, Source::Onward(_))).count(),
            "feeds onward from another wall box",
        ),
        (job.boxes.iter().map(|b| b.feeds.len().saturating_sub(1)).sum(), "second feeds of a wall box"),
        (job.boxes.iter().filter(|b| b.allowance_watts.is_some()).count(), "watts set aside for wall boxes"),
        (controls().filter(|c| c.on.is_some()).count(), "controls on a stated feed"),
        (
            controls().filter(|c| !c.open.is_empty()).count()
                + loops().filter(|l| !l.open.is_empty()).count()
                + job
                    .levels
                    .iter()
                    .flat_map(|level| &level.rooms)
                    .filter(|room| !room.open.is_empty())
                    .count(),
            "choices left open for a control, a loop or a room",
        ),
        (lights().filter(|l| l.blank).count(), "boxes that are to stay blank"),
        (
            feeds().filter(|f| f.measured.is_some()).count()
                + loops().filter(|l| l.measured.is_some() || l.return_leg.is_some()).count()
                + lights().filter(|l| l.leg.is_some()).count(),
            "measured lengths",
        ),
        (
            feeds().filter(|f| f.plan.is_some()).count() + loops().filter(|l| l.plan.is_some()).count(),
            "conductor plans of single cables",
        ),
        (
            loops().filter(|l| l.returns_to.is_some() || l.crossed).count(),
            "returns landed elsewhere or crossed",
        ),
        (lights().filter(|l| l.place.is_some()).count(), "places of ceiling boxes"),
        (
            feeds().filter(|f| !f.site.is_default() || !f.readings.is_empty()).count()
                + loops().filter(|l| !l.site.is_default() || !l.readings.is_empty()).count()
                + lights().filter(|l| !l.site.is_default()).count(),
            "records and readings of the site",
        ),
        (
            lights().filter(|l| !l.name.is_empty()).count() + loops().filter(|l| !l.name.is_empty()).count(),
            "names of loops and ceiling boxes",
        ),
        (mixed.count(), "loops through several rooms, taken to be in that of their wall box"),
        (
            loops().filter(|l| l.ceiling.len() > lights::MOST_LIGHTS).count(),
            "loops of more lights than a row takes",
        ),
    ];
    counted.into_iter().filter(|(n, _)| *n > 0).map(|(n, what)| format!("{what} ({n})")).collect()
}
