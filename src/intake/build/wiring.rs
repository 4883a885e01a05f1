//! The wall boxes of a table, with their home runs, controls, loops and ceiling boxes.

use super::house::{House, RoomEntry};
use super::{Made, Report, values};
use crate::intake::cells::Row;
use crate::intake::columns::Col;
use crate::intake::lights::{self, Hung, MOST_LIGHTS};
use crate::intake::lookup::{labels, only, part, same};
use crate::job::edit::Edit;
use crate::job::house::Place;
use crate::job::ids::{Ids, prefix};
use crate::job::open::OneFor;
use crate::job::site::{BoxRecord, CableRecord};
use crate::job::wiring::{CeilingBox, Control, Feed, Loop, LoopPath, WallBox};
use crate::job::{Id, Index, Job, Kind};
use crate::plan::grid::Grid;
use crate::plan::propose::{dashed, deal, home_run_cable, loop_cable, propose};
use std::collections::{HashMap, HashSet};

/// The columns that make a wall box.
const OF_BOX: &[Col] =
    &[Col::WallBox, Col::BoxX, Col::BoxY, Col::BoxHeight, Col::BoxType, Col::From, Col::HomeRun];
/// The columns that make a control with its lights.
const OF_CONTROL: &[Col] = &[
    Col::Control,
    Col::ControlName,
    Col::LightsIn,
    Col::Lights,
    Col::Fixture,
    Col::Loops,
    Col::Path,
    Col::LoopCable,
];
/// Most loops of one row.
pub(in crate::intake) const MOST_LOOPS: usize = 50;

/// A wall box that is being made, with the row that said what it is.
struct Draft<'a> {
    wall_box: WallBox,
    first: &'a Row,
}

/// What a row says of its lights.
struct Batch {
    control: Option<Id>,
    lights: Vec<Hung>,
    controls: usize,
    loops: usize,
    path: LoopPath,
    cable: Option<Id>,
    /// The room they hang in, if it is not that of the box.
    room: Option<usize>,
}

/// Gives the edits that add the wall boxes to a job that holds the rooms.
pub(super) fn wall_boxes(
    staged: &Job,
    house: &House,
    rows: &[Row],
    report: &mut Report,
    made: &mut Made,
) -> Result<Vec<Edit>, String> {
    let mut builder = Builder {
        job: staged,
        index: Index::new(staged).0,
        house,
        ids: Ids::of(staged),
        standing: standing(staged, house),
        alone: alone(staged, house, rows),
        drafts: Vec::new(),
        found: HashMap::new(),
        report,
        made,
    };
    for (row, room) in rows.iter().zip(&house.of_row) {
        if let Some(room) = room.filter(|_| row.says(OF_BOX) || row.says(OF_CONTROL)) {
            builder.row(row, room);
        }
    }
    builder.finish()
}

/// The wall boxes of the job, by room and label.
fn standing(job: &Job, house: &House) -> HashSet<(usize, String)> {
    let mut standing = HashSet::new();
    for (at, entry) in house.rooms.iter().enumerate() {
        let boxes: Vec<&WallBox> = job.boxes.iter().filter(|b| b.room.same(&entry.room.id)).collect();
        let names = labels(boxes.iter().map(|b| (&b.id, b.name.as_str())));
        standing.extend(names.into_iter().map(|label| (at, label.to_lowercase())));
    }
    standing
}

/// The rooms that one row alone lights: only there is it known how its lights stand to each other.
fn alone(job: &Job, house: &House, rows: &[Row]) -> HashSet<usize> {
    let mut counts: HashMap<usize, usize> = HashMap::new();
    for (row, room) in rows.iter().zip(&house.of_row) {
        let Some(room) = room.filter(|_| row.says(&[Col::Lights, Col::Fixture])) else { continue };
        let level = house.rooms.get(room).map_or(0, |entry| entry.level);
        let lit = row.cell(Col::LightsIn);
        let lit = if lit.is_empty() { Some(room) } else { house.find(level, lit).ok() };
        if let Some(lit) = lit {
            *counts.entry(lit).or_default() += 1;
        }
    }
    let lit: HashSet<String> = job
        .boxes
        .iter()
        .flat_map(|wall_box| {
            let lights = wall_box.controls.iter().flat_map(|c| &c.loops).flat_map(|l| &l.ceiling);
            lights.map(|light| light.room.as_ref().unwrap_or(&wall_box.room).folded())
        })
        .collect();
    let free = |room: &usize| house.id(*room).is_some_and(|id| !lit.contains(&id.folded()));
    counts.into_iter().filter(|(_, count)| *count == 1).map(|(room, _)| room).filter(free).collect()
}

struct Builder<'a, 'r> {
    job: &'a Job,
    index: Index,
    house: &'a House,
    ids: Ids,
    standing: HashSet<(usize, String)>,
    alone: HashSet<usize>,
    drafts: Vec<Draft<'a>>,
    found: HashMap<(usize, String), usize>,
    report: &'r mut Report,
    made: &'r mut Made,
}

impl<'a> Builder<'a, '_> {
    fn row(&mut self, row: &'a Row, room: usize) {
        let Some(entry) = self.house.rooms.get(room) else { return };
        let label = match row.cell(Col::WallBox) {
            "" => entry.label.clone(),
            label => label.to_owned(),
        };
        let key = (room, label.to_lowercase());
        if self.standing.contains(&key) {
            let what =
                format!("the wall box '{label}' is in this room of the job already; leave its rows out");
            self.report.flaw(row, Col::WallBox, what);
            return;
        }
        let at = if let Some(&at) = self.found.get(&key) {
            self.agrees(at, row);
            at
        } else {
            let draft = self.draft(row, entry, label);
            self.drafts.push(draft);
            self.found.insert(key, self.drafts.len() - 1);
            self.drafts.len() - 1
        };
        if row.says(OF_CONTROL)
            && let Some(batch) = self.batch(row, entry, room, at)
        {
            self.hang(row, at, room, &batch);
        }
    }

    /// What later rows say of the box must be what the first one said.
    fn agrees(&mut self, at: usize, row: &Row) {
        let Some(draft) = self.drafts.get(at) else { return };
        for &column in OF_BOX.iter().filter(|column| **column != Col::WallBox) {
            let (said, again) = (draft.first.cell(column), row.cell(column));
            if !again.is_empty() && !same(said, again) {
                let what = format!("row {} says something else of this box; say it once", draft.first.number);
                self.report.flaw(row, column, what);
            }
        }
    }

    fn draft(&mut self, row: &'a Row, entry: &RoomEntry, name: String) -> Draft<'a> {
        let job = self.job;
        let letters = prefix(&entry.label);
        let from = match row.cell(Col::From) {
            "" => match job.panels.as_slice() {
                [] => None,
                [panel] => Some(crate::job::wiring::Source::Panel(panel.id.clone())),
                _ => {
                    self.report.flaw(row, Col::From, "say which panel or output, or 'none'");
                    None
                }
            },
            cell => values::source(job, &self.index, cell)
                .map_err(|what| self.report.flaw(row, Col::From, what))
                .ok()
                .flatten(),
        };
        let cable = self
            .report
            .value(row, Col::HomeRun, |cell| part(&job.catalogue, Kind::CableType, cell))
            .or_else(|| home_run_cable(job).filter(|_| row.cell(Col::HomeRun).is_empty()));
        if from.is_some() && cable.is_none() && row.cell(Col::HomeRun).is_empty() {
            self.report.flaw(row, Col::HomeRun, "say which cable type; the catalogue has none for home runs");
        }
        if row.cell(Col::From).eq_ignore_ascii_case("none") && row.says(&[Col::HomeRun]) {
            self.report.flaw(row, Col::HomeRun, "there is no home run where 'from' is 'none'");
        }
        let id = self.ids.numbered(Kind::WallBox, &letters, 1);
        let feeds = from.zip(cable).map(|(from, cable)| Feed {
            way: Vec::new(),
            id: self.ids.numbered(Kind::Cable, "HR", 1),
            name: String::new(),
            tag: None,
            from,
            cable,
            plan: None,
            measured: None,
            landed: false,
            pinned: false,
            site: CableRecord::default(),
            readings: Vec::new(),
        });
        let wall_box = WallBox {
            site: BoxRecord::default(),
            line: None,
            id,
            name,
            room: entry.room.id.clone(),
            place: self.place(row),
            part: self
                .report
                .value(row, Col::BoxType, |cell| match cell {
                    cell if cell.eq_ignore_ascii_case("none") => Ok(None),
                    cell => part(&job.catalogue, Kind::BoxType, cell).map(Some),
                })
                .flatten(),
            feeds: feeds.into_iter().collect(),
            allowance_watts: None,
            controls: Vec::new(),
        };
        Draft { wall_box, first: row }
    }

    fn place(&mut self, row: &Row) -> Option<Place> {
        let unit = self.job.project.units;
        let mut value = |column| self.report.value(row, column, |cell| values::length(cell, unit));
        let (x, y, height) = (value(Col::BoxX), value(Col::BoxY), value(Col::BoxHeight));
        let empty = |column| row.cell(column).is_empty();
        match (empty(Col::BoxX), empty(Col::BoxY), empty(Col::BoxHeight)) {
            (true, false, _) => self.report.flaw(row, Col::BoxX, "give box_x and box_y, or neither"),
            (false, true, _) => self.report.flaw(row, Col::BoxY, "give box_x and box_y, or neither"),
            (true, true, false) => {
                self.report.flaw(row, Col::BoxHeight, "a height alone is no place; give box_x and box_y too");
            }
            _ => {}
        }
        Some(Place { x: x?, y: y?, height })
    }

    fn batch(&mut self, row: &Row, entry: &RoomEntry, room: usize, at: usize) -> Option<Batch> {
        let flaws = self.report.flaws.len();
        let parts = &self.job.catalogue;
        let control = match row.cell(Col::Control) {
            cell if cell.eq_ignore_ascii_case("same") => {
                if row.says(&[Col::ControlName]) {
                    self.report.flaw(row, Col::ControlName, "the control above has its name already");
                }
                let last = self.drafts.get(at).and_then(|draft| draft.wall_box.controls.last());
                last.map(|control| control.part.clone())
                    .ok_or_else(|| "there is no control above in this wall box".to_owned())
            }
            "" => only(parts, Kind::ControlType),
            cell => part(parts, Kind::ControlType, cell),
        };
        let control = control.map_err(|what| self.report.flaw(row, Col::Control, what)).ok();
        let lit = self.report.value(row, Col::LightsIn, |cell| self.house.find(entry.level, cell));
        let path = self.report.value(row, Col::Path, values::path).unwrap_or(LoopPath::OneWay);
        let cable = self.report.value(row, Col::LoopCable, |cell| part(parts, Kind::CableType, cell));
        let loops = self.report.value(row, Col::Loops, |cell| values::count(cell, MOST_LOOPS));
        let mut batch = Batch {
            control,
            lights: Vec::new(),
            controls: 1,
            loops: 0,
            path,
            cable: cable.or_else(|| loop_cable(self.job)),
            room: lit.filter(|lit| *lit != room),
        };
        if row.cell(Col::Lights).eq_ignore_ascii_case("propose") {
            self.proposed(row, lit.unwrap_or(room), loops, &mut batch);
        } else {
            let lights = self.report.value(row, Col::Lights, |cell| values::count(cell, MOST_LIGHTS));
            self.counted(row, lights, loops, &mut batch);
        }
        if batch.loops > 0 && batch.cable.is_none() && row.cell(Col::LoopCable).is_empty() {
            self.report.flaw(row, Col::LoopCable, "say which cable type; the catalogue has none for loops");
        }
        (self.report.flaws.len() == flaws).then_some(batch)
    }

    fn counted(&mut self, row: &Row, lights: Option<usize>, loops: Option<usize>, batch: &mut Batch) {
        let parts = &self.job.catalogue;
        if !row.cell(Col::Lights).is_empty() && lights.is_none() {
            return;
        }
        let fixture = row.cell(Col::Fixture);
        let hung = match (fixture, lights) {
            ("", None | Some(0)) => Ok(Vec::new()),
            ("", Some(lights)) => only(parts, Kind::FixtureType)
                .map(|id| vec![Hung { fixture: Some(id), open: Vec::new() }; lights]),
            (cell, lights) => lights::read(parts, cell, lights),
        };
        let Ok(hung) = hung.map_err(|what| self.report.flaw(row, Col::Fixture, what)) else { return };
        // A loop may be there before its ceiling boxes are.
        batch.loops = loops.unwrap_or(usize::from(!hung.is_empty()));
        if batch.loops == 0 && !hung.is_empty() {
            self.report.flaw(row, Col::Loops, "lights need a loop");
        } else if batch.loops > hung.len().max(1) {
            let what = format!("{} lights cannot be dealt over {} loops", hung.len(), batch.loops);
            self.report.flaw(row, Col::Loops, what);
        }
        batch.lights = hung;
    }

    fn proposed(&mut self, row: &Row, lit: usize, loops: Option<usize>, batch: &mut Batch) {
        let parts = &self.job.catalogue;
        if row.cell(Col::Control).eq_ignore_ascii_case("same") {
            self.report.flaw(row, Col::Lights, "lights are proposed for a control of their own");
            return;
        }
        let fixture = match row.cell(Col::Fixture) {
            "" => only(parts, Kind::FixtureType),
            cell => part(parts, Kind::FixtureType, cell),
        };
        let Ok(fixture) = fixture.map_err(|what| self.report.flaw(row, Col::Fixture, what)) else { return };
        let Some(room) = self.house.id(lit) else { return };
        let Some(control) = batch.control.clone() else { return };
        match propose(self.job, room, &fixture, &control) {
            Err(error) => self.report.flaw(row, Col::Lights, error.to_string()),
            Ok(proposal) if proposal.wall_boxes > 1 => {
                let what = format!(
                    "{} lights are proposed on {} home runs; write a row with a number of lights for each",
                    proposal.lights, proposal.wall_boxes
                );
                self.report.flaw(row, Col::Lights, what);
            }
            Ok(proposal) => {
                batch.controls = proposal.controls_each;
                batch.loops = loops.unwrap_or(proposal.loops_each).max(1);
                if batch.loops * batch.controls > proposal.lights {
                    let what = format!("{} lights cannot be dealt over so many loops", proposal.lights);
                    self.report.flaw(row, Col::Loops, what);
                }
                batch.lights = vec![Hung { fixture: Some(fixture), open: Vec::new() }; proposal.lights];
            }
        }
    }

    fn hang(&mut self, row: &Row, at: usize, room: usize, batch: &Batch) {
        let lit = batch.room.unwrap_or(room);
        let mut places = self.places(lit, batch.lights.len()).into_iter();
        let letters = self.house.rooms.get(lit).map_or_else(String::new, |entry| prefix(&entry.label));
        let lit_id = batch.room.and_then(|room| self.house.id(room)).cloned();
        let mut lights = batch.lights.iter();
        let goes_on = row.cell(Col::Control).eq_ignore_ascii_case("same");
        for on_control in deal(batch.lights.len(), batch.controls) {
            let Some(draft) = self.drafts.get_mut(at) else { return };
            if let Some(part) = batch.control.clone().filter(|_| !goes_on) {
                let id = self.ids.lettered(&draft.wall_box.id);
                draft.wall_box.controls.push(Control {
                    id,
                    name: row.cell(Col::ControlName).to_owned(),
                    part,
                    open: Vec::new(),
                    one_for: OneFor::Each,
                    on: None,
                    loops: Vec::new(),
                });
            }
            let Some(control) = draft.wall_box.controls.last_mut() else { return };
            if batch.loops == 0 {
                continue;
            }
            for on_loop in deal(on_control, batch.loops) {
                let Some(cable) = batch.cable.clone() else { return };
                let id = self.ids.numbered(Kind::Cable, control.id.as_str(), 1);
                let hang = |hung: &Hung| CeilingBox {
                    room: lit_id.clone(),
                    place: places.next(),
                    fixture: hung.fixture.clone(),
                    open: hung.open.clone(),
                    ..CeilingBox::new(self.ids.numbered(Kind::Fixture, &dashed(&letters), 1))
                };
                let ceiling = lights.by_ref().take(on_loop).map(hang).collect();
                control.loops.push(Loop { ceiling, ..Loop::new(id, cable, batch.path) });
            }
        }
    }

    fn places(&self, lit: usize, lights: usize) -> Vec<Place> {
        let Some(entry) = self.house.rooms.get(lit).filter(|_| lights > 0 && self.alone.contains(&lit))
        else {
            return Vec::new();
        };
        let sides = entry.room.width.zip(entry.room.depth);
        let grid = sides.map(|(width, depth)| Grid::of(lights, width.metres(), depth.metres()));
        grid.and_then(|grid| grid.places(&entry.room, self.job.project.units)).unwrap_or_default()
    }

    fn finish(self) -> Result<Vec<Edit>, String> {
        let mut edits = Vec::with_capacity(self.drafts.len());
        for (nth, draft) in self.drafts.into_iter().enumerate() {
            let mut wall_box = draft.wall_box;
            if draft.first.cell(Col::BoxType).is_empty() {
                let gangs = wall_box.controls.iter().filter_map(|control| {
                    self.index.control_type(self.job, &control.part).map(|part| u32::from(part.gangs.get()))
                });
                let gangs: u32 = gangs.sum::<u32>().max(1);
                let fits = self.job.catalogue.boxes.iter().filter(|part| u32::from(part.gangs) >= gangs);
                wall_box.part = fits.min_by_key(|part| part.gangs).map(|part| part.id.clone());
            }
            self.made.wall_boxes += 1;
            self.made.home_runs += wall_box.feeds.len();
            self.made.controls += wall_box.controls.len();
            let loops = wall_box.controls.iter().flat_map(|control| &control.loops);
            for wired in loops {
                self.made.loops += 1;
                self.made.lights += wired.ceiling.len();
            }
            let value = serde_json::to_value(&wall_box).map_err(|error| error.to_string())?;
            edits.push(Edit::Insert {
                kind: Kind::WallBox,
                parent: None,
                at: self.job.boxes.len() + nth,
                value,
            });
        }
        Ok(edits)
    }
}
