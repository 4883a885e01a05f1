//! The levels and rooms of a table: those of the job are used, new ones are made.

use super::{Made, Report, values};
use crate::intake::cells::{Row, short};
use crate::intake::columns::Col;
use crate::intake::lookup::{labels, same};
use crate::job::edit::Edit;
use crate::job::house::{Corner, Level, Room};
use crate::job::ids::{Ids, slug};
use crate::job::{Id, Job, Kind, Subject};
use serde::Serialize;
use serde_json::Value;
use std::collections::HashMap;

/// A level with what the table calls it.
struct LevelEntry {
    label: String,
    level: Level,
    made: bool,
}

/// A room with what the table calls it.
pub(super) struct RoomEntry {
    pub label: String,
    pub level: usize,
    pub room: Room,
    made: bool,
}

/// The levels and rooms of job and table together.
pub(super) struct House {
    levels: Vec<LevelEntry>,
    pub rooms: Vec<RoomEntry>,
    /// The room of each row; none where the row has none.
    pub of_row: Vec<Option<usize>>,
    found: HashMap<(usize, String), usize>,
    fills: Vec<Edit>,
}

impl House {
    pub(super) fn of(job: &Job, rows: &[Row], report: &mut Report) -> Self {
        let mut house = Self::of_job(job);
        let mut ids = Ids::of(job);
        let mut above = None;
        for row in rows {
            let level = house.level(job, row, above, &mut ids, report);
            above = level.or(above);
            let room = level.and_then(|level| house.room(job, row, level, &mut ids, report));
            house.of_row.push(room);
        }
        house
    }

    fn of_job(job: &Job) -> Self {
        let mut house = Self {
            levels: Vec::new(),
            rooms: Vec::new(),
            of_row: Vec::new(),
            found: HashMap::new(),
            fills: Vec::new(),
        };
        let names = labels(job.levels.iter().map(|level| (&level.id, level.name.as_str())));
        for (at, (level, label)) in job.levels.iter().zip(names).enumerate() {
            let names = labels(level.rooms.iter().map(|room| (&room.id, room.name.as_str())));
            for (room, label) in level.rooms.iter().zip(names) {
                house.enter(RoomEntry { label, level: at, room: room.clone(), made: false });
            }
            house.levels.push(LevelEntry {
                label,
                level: Level { rooms: Vec::new(), ..level.clone() },
                made: false,
            });
        }
        house
    }

    fn enter(&mut self, entry: RoomEntry) -> usize {
        let at = self.rooms.len();
        self.found.entry((entry.level, entry.label.to_lowercase())).or_insert(at);
        self.rooms.push(entry);
        at
    }

    fn level(
        &mut self,
        job: &Job,
        row: &Row,
        above: Option<usize>,
        ids: &mut Ids,
        report: &mut Report,
    ) -> Option<usize> {
        let name = row.cell(Col::Level);
        let elevation = report.value(row, Col::Elevation, |cell| values::length(cell, job.project.units));
        let at = if name.is_empty() {
            match (above, self.levels.len()) {
                (Some(above), _) => above,
                (None, 1) => 0,
                _ => {
                    report.flaw(row, Col::Level, "say which level; rows below may leave it empty");
                    return None;
                }
            }
        } else if let Some(at) = self.levels.iter().position(|entry| same(&entry.label, name)) {
            at
        } else if let Some(at) = self
            .levels
            .iter()
            .position(|entry| !entry.made && entry.level.id.as_str().eq_ignore_ascii_case(name))
        {
            at
        } else {
            let level = Level {
                id: ids.word(Kind::Level, &slug(name)),
                name: name.to_owned(),
                elevation: None,
                rooms: Vec::new(),
            };
            self.levels.push(LevelEntry { label: name.to_owned(), level, made: true });
            self.levels.len() - 1
        };
        if let Some(new) = elevation {
            let entry = self.levels.get_mut(at)?;
            let subject = Subject::new(Kind::Level, &entry.level.id);
            let fact = Fact { row, column: Col::Elevation, field: "elevation", subject, made: entry.made };
            let known = entry.level.elevation.as_ref();
            if fact.settled(known, &new, |a, b| a.ticks() == b.ticks(), report, &mut self.fills) {
                entry.level.elevation = Some(new);
            }
        }
        Some(at)
    }

    fn room(
        &mut self,
        job: &Job,
        row: &Row,
        level: usize,
        ids: &mut Ids,
        report: &mut Report,
    ) -> Option<usize> {
        let name = row.cell(Col::Room);
        if name.is_empty() {
            let others: Vec<Col> = Col::ALL
                .iter()
                .copied()
                .filter(|column| !matches!(column, Col::Level | Col::Elevation))
                .collect();
            if row.says(&others) {
                report.flaw(row, Col::Room, "say which room");
            }
            return None;
        }
        let at = if let Some(at) = self.find_on(level, name) {
            at
        } else {
            let id = ids.word(Kind::Room, &slug(name));
            let room = Room {
                above: None,
                exposure: crate::job::house::Exposure::default(),
                keep_tunable: false,
                rough: crate::job::RoughIn::default(),
                id,
                name: name.to_owned(),
                area: None,
                width: None,
                depth: None,
                corner: None,
                ceiling: None,
                illuminance: None,
                open: Vec::new(),
                one_for: crate::job::open::OneFor::Each,
            };
            self.enter(RoomEntry { label: name.to_owned(), level, room, made: true })
        };
        self.facts(job, row, at, report);
        Some(at)
    }

    fn facts(&mut self, job: &Job, row: &Row, at: usize, report: &mut Report) {
        let unit = job.project.units;
        let Some(entry) = self.rooms.get_mut(at) else { return };
        let subject = Subject::new(Kind::Room, &entry.room.id);
        let fact = |column, field| Fact { row, column, field, subject: subject.clone(), made: entry.made };
        let fills = &mut self.fills;
        let close = |a: f64, b: f64| (a - b).abs() <= 1e-9 * a.abs().max(b.abs());
        if let Some(new) = report.value(row, Col::Area, |cell| values::area(cell, unit))
            && fact(Col::Area, "area").settled(
                entry.room.area.as_ref(),
                &new,
                |a, b| close(a.si(), b.si()),
                report,
                fills,
            )
        {
            entry.room.area = Some(new);
        }
        if let Some(new) = report.value(row, Col::Illuminance, |cell| values::illuminance(cell, unit))
            && fact(Col::Illuminance, "illuminance").settled(
                entry.room.illuminance.as_ref(),
                &new,
                |a, b| close(a.si(), b.si()),
                report,
                fills,
            )
        {
            entry.room.illuminance = Some(new);
        }
        for (column, field) in [(Col::Width, "width"), (Col::Depth, "depth"), (Col::Ceiling, "ceiling")] {
            let Some(new) = report.value(row, column, |cell| values::side(cell, unit)) else { continue };
            let slot = match column {
                Col::Width => &mut entry.room.width,
                Col::Depth => &mut entry.room.depth,
                _ => &mut entry.room.ceiling,
            };
            if fact(column, field).settled(slot.as_ref(), &new, |a, b| a.ticks() == b.ticks(), report, fills)
            {
                *slot = Some(new);
            }
        }
        let x = report.value(row, Col::X, |cell| values::length(cell, unit));
        let y = report.value(row, Col::Y, |cell| values::length(cell, unit));
        match (x, y) {
            (Some(x), Some(y)) => {
                let new = Corner { x, y };
                let equal = |a: &Corner, b: &Corner| (a.x.ticks(), a.y.ticks()) == (b.x.ticks(), b.y.ticks());
                if fact(Col::X, "corner").settled(entry.room.corner.as_ref(), &new, equal, report, fills) {
                    entry.room.corner = Some(new);
                }
            }
            (Some(_), None) if row.cell(Col::Y).is_empty() => {
                report.flaw(row, Col::Y, "give x and y, or neither");
            }
            (None, Some(_)) if row.cell(Col::X).is_empty() => {
                report.flaw(row, Col::X, "give x and y, or neither");
            }
            _ => {}
        }
        if let (Some(area), Some(width), Some(depth)) = (entry.room.area, entry.room.width, entry.room.depth)
            && area.si() > width.metres() * depth.metres() * 1.01
            && row.says(&[Col::Area, Col::Width, Col::Depth])
        {
            report.flaw(row, Col::Area, "the area is more than width by depth; correct one of them");
        }
    }

    /// The room on a level that a cell names.
    fn find_on(&self, level: usize, name: &str) -> Option<usize> {
        let by_id = || {
            self.rooms.iter().position(|entry| {
                !entry.made && entry.level == level && entry.room.id.as_str().eq_ignore_ascii_case(name)
            })
        };
        self.found.get(&(level, name.to_lowercase())).copied().or_else(by_id)
    }

    /// The room that `lights_in` names: on the same level, on the level before ` / `, or the only one of that name.
    pub(super) fn find(&self, level: usize, name: &str) -> Result<usize, String> {
        if let Some(at) = self.find_on(level, name) {
            return Ok(at);
        }
        for (cut, _) in name.match_indices(" / ") {
            let (level, room) = (&name[..cut], &name[cut + 3..]);
            let level = self.levels.iter().position(|entry| same(&entry.label, level.trim()));
            if let Some(at) = level.and_then(|level| self.find_on(level, room.trim())) {
                return Ok(at);
            }
        }
        let all: Vec<usize> = (0..self.levels.len()).filter_map(|level| self.find_on(level, name)).collect();
        match all.as_slice() {
            [at] => Ok(*at),
            [] => Err(format!("there is no room '{}'", short(name))),
            _ => Err(format!("several levels have a room '{}'; write LEVEL / ROOM", short(name))),
        }
    }

    pub(super) fn made(&self) -> Made {
        Made {
            levels: self.levels.iter().filter(|entry| entry.made).count(),
            rooms: self.rooms.iter().filter(|entry| entry.made).count(),
            ..Made::default()
        }
    }

    /// The job with the levels and rooms in it, and the edits that make them.
    pub(super) fn staged(&self, job: &Job, report: &mut Report) -> (Job, Vec<Edit>) {
        let mut staged = job.clone();
        let mut edits = self.fills.clone();
        let mut insert = |kind, parent, at, value: &Value| {
            edits.push(Edit::Insert { kind, parent, at, value: value.clone() });
        };
        for (at, entry) in self.levels.iter().enumerate() {
            let new = self.rooms.iter().filter(|room| room.level == at && room.made);
            let new: Vec<Room> = new.map(|entry| entry.room.clone()).collect();
            if entry.made {
                let level = Level { rooms: new, ..entry.level.clone() };
                insert(Kind::Level, None, staged.levels.len(), &serialized(&level, report));
                staged.levels.push(level);
            } else if let Some(level) = staged.levels.get_mut(at) {
                let parent = Subject::new(Kind::Level, &level.id);
                for room in &new {
                    let at = level.rooms.len();
                    insert(Kind::Room, Some(parent.clone()), at, &serialized(room, report));
                    level.rooms.push(room.clone());
                }
                let known = self.rooms.iter().filter(|room| room.level == at && !room.made);
                for (slot, entry) in level.rooms.iter_mut().zip(known) {
                    slot.clone_from(&entry.room);
                }
            }
        }
        (staged, edits)
    }

    /// The id of a room.
    pub(super) fn id(&self, at: usize) -> Option<&Id> {
        self.rooms.get(at).map(|entry| &entry.room.id)
    }
}

fn serialized<T: Serialize>(thing: &T, report: &mut Report) -> Value {
    serde_json::to_value(thing).unwrap_or_else(|error| {
        report.flaws.push(crate::intake::Flaw { row: None, column: None, what: error.to_string() });
        Value::Null
    })
}

/// A fact of a level or room that a cell states.
struct Fact<'a> {
    row: &'a Row,
    column: Col,
    field: &'static str,
    subject: Subject,
    made: bool,
}

impl Fact<'_> {
    /// Whether the fact is new and is to be kept. Another value than the one known is a flaw.
    fn settled<T: Serialize>(
        &self,
        known: Option<&T>,
        new: &T,
        equal: impl Fn(&T, &T) -> bool,
        report: &mut Report,
        fills: &mut Vec<Edit>,
    ) -> bool {
        match known {
            Some(known) if equal(known, new) => false,
            Some(_) => {
                let what = if self.made {
                    "another row says something else; say it once".to_owned()
                } else {
                    format!("the job says something else of {}; leave the cell empty", self.subject)
                };
                report.flaw(self.row, self.column, what);
                false
            }
            None => {
                if !self.made {
                    let value = serialized(new, report);
                    fills.push(Edit::Set { subject: self.subject.clone(), field: self.field.into(), value });
                }
                true
            }
        }
    }
}
