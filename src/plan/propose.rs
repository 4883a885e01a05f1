//! Proposes the lights of a room from its size: how many, on how many loops, controls and wall boxes, and where.
//!
//! Where a wish in lux and the fixture's lumens are known the lumen method says how many, else the job's floor area for
//! each fixture. Lights are dealt evenly over wall boxes (one home run each, within the target load of an output),
//! controls (within the lights a control takes) and loops. What is proposed can be changed before it is taken.

use super::grid::Grid;
use super::ids::{Ids, prefix};
use super::light;
use crate::job::catalogue::{ControlType, Drive, FixtureColour, FixtureType, Load};
use crate::job::edit::Edit;
use crate::job::house::{Place, Room};
use crate::job::site::{BoxRecord, CableRecord};
use crate::job::wiring::{CeilingBox, Control, Feed, Loop, LoopPath, Source, WallBox};
use crate::job::{Id, Index, Job, Kind};

/// Most lights that are proposed for one room.
pub const MOST_LIGHTS: usize = 500;

/// Why nothing can be proposed or taken.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum ProposeError {
    /// There is no such thing in the job.
    #[error("there is no {} '{id}' in this job", kind.word())]
    Missing {
        /// What kind of thing.
        kind: Kind,
        /// Its id.
        id: Id,
    },
    /// The room has no floor area.
    #[error("room '{0}' has neither area nor width and depth; give one of them, or say how many lights")]
    NoArea(Id),
    /// More lights than one room may have.
    #[error(
        "{0} lights are more than the {MOST_LIGHTS} that are proposed for one room; check the area and the wish"
    )]
    TooMany(usize),
    /// The fixture is not driven by that control.
    #[error("{0}")]
    Unfit(String),
    /// No cable type can be chosen.
    #[error("the catalogue has no cable type for {0}; add one first")]
    NoCable(&'static str),
    /// The split has nothing to hang somewhere.
    #[error("{lights} lights cannot be dealt over {loops} loops; take fewer loops")]
    Split {
        /// The lights.
        lights: usize,
        /// The loops.
        loops: usize,
    },
    /// A value that does not serialize; none does.
    #[error("{0}")]
    Value(String),
}

/// Where the number of lights comes from.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Basis {
    /// The lumen method.
    Lumens {
        /// The wish, in lx.
        lux: f64,
        /// Lights it takes, before rounding up.
        exact: f64,
    },
    /// The job's floor area for each fixture.
    Area {
        /// Lights it takes, before rounding up.
        exact: f64,
    },
    /// Somebody said so.
    Given,
}

/// The lights of a room as they may be taken.
#[derive(Debug, Clone, PartialEq)]
pub struct Proposal {
    /// The room.
    pub room: Id,
    /// The fixture type of every light.
    pub fixture: Id,
    /// The control type.
    pub control: Id,
    /// How many lights.
    pub lights: usize,
    /// Wall boxes, each with its home run.
    pub wall_boxes: usize,
    /// Controls in each wall box.
    pub controls_each: usize,
    /// Loops on each control.
    pub loops_each: usize,
    /// How the loops end.
    pub path: LoopPath,
    /// The cable type of the loops.
    pub loop_cable: Id,
    /// The cable type of the home runs.
    pub home_run_cable: Id,
    /// Where the home runs come from; `None` leaves the boxes without one.
    pub from: Option<Source>,
    /// The name of the wall box; a number is added to the second and on.
    pub box_name: String,
    /// Where the first wall box stands.
    pub box_place: Option<Place>,
    /// Where the number of lights comes from.
    pub basis: Basis,
}

/// Proposes lights for a room.
///
/// # Errors
/// [`ProposeError`] when the room has no area, the parts do not fit each other, or the catalogue lacks a cable.
pub fn propose(job: &Job, room: &Id, fixture: &Id, control: &Id) -> Result<Proposal, ProposeError> {
    let parts = Parts::of(job, room, fixture, control)?;
    let (lights, basis) = parts.lights(job)?;
    parts.proposal(job, lights, basis)
}

/// Proposes how so many lights are split over boxes, controls and loops.
///
/// # Errors
/// As [`propose`], except that the room needs no area.
pub fn propose_split(
    job: &Job,
    room: &Id,
    fixture: &Id,
    control: &Id,
    lights: usize,
) -> Result<Proposal, ProposeError> {
    Parts::of(job, room, fixture, control)?.proposal(job, lights, Basis::Given)
}

impl Proposal {
    /// What is worth knowing before it is taken: limits that a change has broken, and figures that are not known.
    pub fn notes(&self, job: &Job) -> Vec<String> {
        let Ok(parts) = Parts::of(job, &self.room, &self.fixture, &self.control) else { return Vec::new() };
        let mut notes = Vec::new();
        let per_box = self.lights.div_ceil(self.wall_boxes.max(1));
        let per_control = per_box.div_ceil(self.controls_each.max(1));
        match parts.most_on_control() {
            Some(most) if per_control > most => {
                notes.push(format!("{per_control} lights on a control that takes {most}"));
            }
            None => notes.push(format!("'{}' does not say how many lights it takes", self.control)),
            _ => {}
        }
        match (parts.box_watts(per_box, self.controls_each), target_watts(job)) {
            (Some(watts), Some(target)) if watts > target => notes.push(format!(
                "{} at a wall box, more than the {} an output is to be loaded with",
                crate::format::watts(Some(watts)),
                crate::format::watts(Some(target))
            )),
            (Some(_), Some(_)) => {}
            _ => notes
                .push("the load on an output is not known: no supply, or no volts, to reckon with".into()),
        }
        notes.extend(self.spacing_note(job, parts.room));
        notes
    }

    fn spacing_note(&self, job: &Job, room: &Room) -> Option<String> {
        let rule = &job.settings.light;
        let (width, depth) = (room.width?.metres(), room.depth?.metres());
        let mounting = room.ceiling?.metres() - rule.work_plane.metres();
        if mounting <= 0.0 {
            return Some("the ceiling is no higher than the work plane".into());
        }
        let spacing = Grid::of(self.lights, width, depth).spacing(width, depth);
        let most = rule.spacing_to_height.get() * mounting;
        let unit = job.project.units;
        let shown = |metres: f64| {
            #[expect(clippy::cast_possible_truncation, reason = "a distance within a room")]
            let ticks = (metres * 1e7).round() as i64;
            crate::units::Length::round_up(ticks, unit).shown(unit)
        };
        (spacing > most + 1e-9).then(|| {
            format!(
                "lights {} apart are more than {} and leave dark between them",
                shown(spacing),
                shown(most)
            )
        })
    }

    /// The lux the lights give on the work plane; `None` where lumens or the area are not known.
    pub fn lux(&self, job: &Job) -> Option<f64> {
        let parts = Parts::of(job, &self.room, &self.fixture, &self.control).ok()?;
        let rule = &job.settings.light;
        #[expect(clippy::cast_precision_loss, reason = "a count of lights")]
        let lights = self.lights as f64;
        light::illuminance_lux(
            lights,
            parts.fixture.lumens?.get(),
            rule.utilization.get(),
            rule.light_loss.get(),
            parts.room.square_metres()?,
        )
    }

    /// The cavity ratio of the room, by which a maker's table gives the utilization.
    pub fn cavity_ratio(&self, job: &Job) -> Option<f64> {
        let parts = Parts::of(job, &self.room, &self.fixture, &self.control).ok()?;
        let height = parts.room.ceiling?.metres() - job.settings.light.work_plane.metres();
        light::cavity_ratio(height, parts.room.width?.metres(), parts.room.depth?.metres())
    }

    /// Where the lights would hang, where the room has width, depth and corner.
    pub fn places(&self, job: &Job) -> Option<Vec<Place>> {
        let (_, room) = Index::new(job).0.room(job, &self.room)?;
        let (width, depth) = (room.width?.metres(), room.depth?.metres());
        Grid::of(self.lights, width, depth).places(room, job.project.units)
    }

    /// Takes the proposal: one edit that adds its wall boxes with all that is in them.
    ///
    /// # Errors
    /// [`ProposeError`] when there are more loops than lights, none, or too many.
    pub fn edit(&self, job: &Job) -> Result<Edit, ProposeError> {
        let index = Index::new(job).0;
        let missing = || ProposeError::Missing { kind: Kind::Room, id: self.room.clone() };
        let (_, room) = index.room(job, &self.room).ok_or_else(missing)?;
        let controls = self.wall_boxes.saturating_mul(self.controls_each);
        let loops = controls.saturating_mul(self.loops_each);
        if self.lights > MOST_LIGHTS {
            return Err(ProposeError::TooMany(self.lights));
        }
        if loops == 0 || self.lights < loops {
            return Err(ProposeError::Split { lights: self.lights, loops });
        }
        let mut ids = Ids::of(job);
        let letters = prefix(if room.name.is_empty() { room.id.as_str() } else { &room.name });
        let mut places = self.places(job).unwrap_or_default().into_iter();
        let mut edits = Vec::new();
        for (nth, lights) in deal(self.lights, self.wall_boxes).into_iter().enumerate() {
            let id = ids.numbered(Kind::WallBox, &letters, 1);
            let feeds = self.from.iter().map(|from| Feed {
                way: Vec::new(),
                id: ids.numbered(Kind::Cable, "HR", 1),
                name: String::new(),
                tag: None,
                from: from.clone(),
                cable: self.home_run_cable.clone(),
                plan: None,
                measured: None,
                landed: false,
                pinned: false,
                site: CableRecord::default(),
                readings: Vec::new(),
            });
            let feeds = feeds.collect();
            let mut wall_box = WallBox {
                site: BoxRecord::default(),
                line: None,
                name: if nth == 0 { self.box_name.clone() } else { format!("{} {}", self.box_name, nth + 1) },
                room: self.room.clone(),
                place: self.box_place.filter(|_| nth == 0),
                part: smallest_box(job, &index, &self.control, self.controls_each),
                feeds,
                allowance_watts: None,
                controls: Vec::new(),
                id,
            };
            for lights in deal(lights, self.controls_each) {
                let id = ids.lettered(&wall_box.id);
                let mut control = Control {
                    name: String::new(),
                    part: self.control.clone(),
                    on: None,
                    loops: Vec::new(),
                    id,
                };
                for lights in deal(lights, self.loops_each) {
                    let id = ids.numbered(Kind::Cable, control.id.as_str(), 1);
                    let hang = |_| CeilingBox {
                        part: None,
                        id: ids.numbered(Kind::Fixture, &dashed(&letters), 1),
                        name: String::new(),
                        tag: None,
                        room: None,
                        place: places.next(),
                        leg: None,
                        fixture: Some(self.fixture.clone()),
                        open: Vec::new(),
                        site: BoxRecord::default(),
                    };
                    let ceiling = (0..lights).map(hang).collect();
                    control.loops.push(Loop {
                        site: CableRecord::default(),
                        readings: Vec::new(),
                        way: Vec::new(),
                        id,
                        name: String::new(),
                        tag: None,
                        cable: self.loop_cable.clone(),
                        plan: None,
                        path: self.path,
                        returns_to: None,
                        crossed: false,
                        measured: None,
                        return_leg: None,
                        ceiling,
                    });
                }
                wall_box.controls.push(control);
            }
            let value =
                serde_json::to_value(&wall_box).map_err(|error| ProposeError::Value(error.to_string()))?;
            edits.push(Edit::Insert { kind: Kind::WallBox, parent: None, at: job.boxes.len() + nth, value });
        }
        Ok(Edit::Together(edits))
    }
}

/// The beginning of a ceiling box's id.
pub(crate) fn dashed(letters: &str) -> String {
    if letters.ends_with('-') { format!("{letters}F") } else { format!("{letters}-") }
}

/// Deals things over parts, as evenly as can be, the first ones getting the odd ones.
pub(crate) fn deal(things: usize, parts: usize) -> Vec<usize> {
    let parts = parts.max(1);
    (0..parts).map(|part| things / parts + usize::from(part < things % parts)).collect()
}

/// The smallest wall box of the catalogue with room for so many controls of a type.
pub(crate) fn smallest_box(job: &Job, index: &Index, control: &Id, controls: usize) -> Option<Id> {
    let gangs = usize::from(index.control_type(job, control)?.gangs.get()).saturating_mul(controls.max(1));
    let fits = job.catalogue.boxes.iter().filter(|b| usize::from(b.gangs) >= gangs);
    fits.min_by_key(|b| b.gangs).map(|b| b.id.clone())
}

/// The cable type for loops: the one most loops of the job are of, else the first with two conductors.
pub(crate) fn loop_cable(job: &Job) -> Option<Id> {
    let used = job.boxes.iter().flat_map(|b| &b.controls).flat_map(|c| &c.loops).map(|l| &l.cable);
    let first = || job.catalogue.cables.iter().find(|c| c.conductors.get() == 2).map(|c| c.id.clone());
    most(used).or_else(first)
}

/// The cable type for home runs: the one most home runs of the job are of, else that with the most conductors.
pub(crate) fn home_run_cable(job: &Job) -> Option<Id> {
    let used = job.boxes.iter().flat_map(|b| &b.feeds).map(|f| &f.cable);
    let thickest = || {
        // The first of those that have as many.
        let cables = job.catalogue.cables.iter().rev();
        cables.max_by_key(|c| c.conductors.get()).filter(|c| c.conductors.get() > 2).map(|c| c.id.clone())
    };
    most(used).or_else(thickest)
}

fn most<'a>(ids: impl Iterator<Item = &'a Id>) -> Option<Id> {
    let mut counts: Vec<(String, Id, usize)> = Vec::new();
    for id in ids {
        let folded = id.folded();
        match counts.iter_mut().find(|(known, ..)| *known == folded) {
            Some((_, _, count)) => *count += 1,
            None => counts.push((folded, id.clone(), 1)),
        }
    }
    counts.into_iter().rev().max_by_key(|(_, _, count)| *count).map(|(_, id, _)| id)
}

/// The watts an output is to be loaded with: the target share of the smallest output there is.
fn target_watts(job: &Job) -> Option<f64> {
    supply_of(job).map(|(watts, _)| watts * job.settings.target_load_percent.get() / 100.0)
}

/// Watts and volts of the smallest output: of the panels' supplies, or of the catalogue while there are none.
fn supply_of(job: &Job) -> Option<(f64, f64)> {
    let index = Index::new(job).0;
    let placed = job.panels.iter().flat_map(|panel| &panel.supplies);
    let placed: Vec<_> = placed.filter_map(|supply| index.supply_type(job, &supply.part)).collect();
    let all = if placed.is_empty() { job.catalogue.supplies.iter().collect() } else { placed };
    let outputs = all.into_iter().map(|part| (part.output_watts.get(), part.volts.get()));
    outputs.min_by(|a, b| a.0.total_cmp(&b.0))
}

/// The things a proposal is made of.
struct Parts<'a> {
    room: &'a Room,
    fixture: &'a FixtureType,
    control: &'a ControlType,
    supply: Option<(f64, f64)>,
}

impl<'a> Parts<'a> {
    fn of(job: &'a Job, room: &Id, fixture: &Id, control: &Id) -> Result<Self, ProposeError> {
        let index = Index::new(job).0;
        let missing = |kind, id: &Id| ProposeError::Missing { kind, id: id.clone() };
        let (_, room) = index.room(job, room).ok_or_else(|| missing(Kind::Room, room))?;
        let fixture = index.fixture_type(job, fixture).ok_or_else(|| missing(Kind::FixtureType, fixture))?;
        let control = index.control_type(job, control).ok_or_else(|| missing(Kind::ControlType, control))?;
        match (fixture.load, control.drive) {
            (Load::String { .. }, Drive::Voltage) => Err(ProposeError::Unfit(format!(
                "fixture '{}' is for a series string, and control '{}' drives none",
                fixture.id, control.id
            ))),
            (Load::Power { .. } | Load::Current { .. } | Load::Resistance { .. }, Drive::Current { .. }) => {
                Err(ProposeError::Unfit(format!(
                    "control '{}' drives series strings, and fixture '{}' is not for one",
                    control.id, fixture.id
                )))
            }
            _ => Ok(Self { room, fixture, control, supply: supply_of(job) }),
        }
    }

    fn lights(&self, job: &Job) -> Result<(usize, Basis), ProposeError> {
        let area = self.room.square_metres().ok_or_else(|| ProposeError::NoArea(self.room.id.clone()))?;
        let rule = &job.settings.light;
        let wish = self.room.illuminance.or(rule.illuminance);
        let by_lumens = wish.zip(self.fixture.lumens).and_then(|(wish, lumens)| {
            let (utilization, loss) = (rule.utilization.get(), rule.light_loss.get());
            let exact = light::lights_needed(wish.si(), area, lumens.get(), utilization, loss)?;
            Some((exact, Basis::Lumens { lux: wish.si(), exact }))
        });
        let (exact, basis) = by_lumens.unwrap_or_else(|| {
            let exact = area / rule.area_per_fixture.si();
            (exact, Basis::Area { exact })
        });
        let lights = light::whole_lights(exact).unwrap_or(usize::MAX);
        if lights > MOST_LIGHTS { Err(ProposeError::TooMany(lights)) } else { Ok((lights, basis)) }
    }

    /// The lights that one control takes, by its own limit and by the volts it has for a string.
    fn most_on_control(&self) -> Option<usize> {
        let counted = match self.fixture.colour {
            FixtureColour::Tunable => self.control.most_tunable_lights,
            FixtureColour::Fixed | FixtureColour::SetWhenHung => self.control.most_fixed_lights,
        };
        let counted = counted.map(usize::from);
        let by_volts = match (self.fixture.load, self.control.drive) {
            (Load::String { volts, second_volts, .. }, Drive::Current { most_volts, headroom_volts, .. }) => {
                let each = second_volts.map_or(volts.get(), |second| second.get().max(volts.get()));
                let stepped = headroom_volts.and_then(|h| Some(self.supply?.1 - h.get()));
                let room = match (most_volts.map(crate::units::Volts::get), stepped) {
                    (Some(a), Some(b)) => Some(a.min(b)),
                    (a, b) => a.or(b),
                };
                #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "0 to 1e6")]
                room.map(|room| (room / each).floor().clamp(0.0, 1e6) as usize)
            }
            _ => None,
        };
        match (counted, by_volts) {
            (Some(a), Some(b)) => Some(a.min(b)),
            (a, b) => a.or(b),
        }
    }

    /// Watts that a wall box with so many lights takes, without what the cable loses.
    fn box_watts(&self, lights: usize, controls: usize) -> Option<f64> {
        let each = match self.fixture.load {
            Load::Power { watts, .. } => watts.get(),
            Load::Current { amps, .. } => amps.get() * self.supply?.1,
            Load::Resistance { watts, at_volts } => watts.get() * (self.supply?.1 / at_volts.get()).powi(2),
            Load::String { volts, second_volts, .. } => {
                let Drive::Current { amps, efficiency_percent, .. } = self.control.drive else { return None };
                let volts = second_volts.map_or(volts.get(), |second| second.get().max(volts.get()));
                volts * amps.get() * 100.0 / efficiency_percent.get()
            }
        };
        #[expect(clippy::cast_precision_loss, reason = "counts of lights and controls")]
        let (lights, controls) = (lights as f64, controls as f64);
        Some(lights * each + controls * self.control.own_watts.get())
    }

    fn proposal(&self, job: &Job, lights: usize, basis: Basis) -> Result<Proposal, ProposeError> {
        if lights > MOST_LIGHTS {
            return Err(ProposeError::TooMany(lights));
        }
        let most = self.most_on_control();
        if most == Some(0) {
            return Err(ProposeError::Unfit(format!(
                "control '{}' takes no light of type '{}'",
                self.control.id, self.fixture.id
            )));
        }
        let target = target_watts(job);
        let controls_each = |boxes: usize| lights.div_ceil(boxes).div_ceil(most.unwrap_or(usize::MAX)).max(1);
        let fits = |boxes: &usize| {
            let watts = self.box_watts(lights.div_ceil(*boxes), controls_each(*boxes));
            watts.zip(target).is_none_or(|(watts, target)| watts <= target)
        };
        // Where even one light is too much for an output, one box a light is the least that is wrong; notes say so.
        let wall_boxes = (1..=lights.max(1)).find(fits).unwrap_or(lights.max(1));
        let [panel] = job.panels.as_slice() else {
            return self.filled(job, lights, wall_boxes, controls_each(wall_boxes), None, basis);
        };
        let from = Some(Source::Panel(panel.id.clone()));
        self.filled(job, lights, wall_boxes, controls_each(wall_boxes), from, basis)
    }

    fn filled(
        &self,
        job: &Job,
        lights: usize,
        wall_boxes: usize,
        controls_each: usize,
        from: Option<Source>,
        basis: Basis,
    ) -> Result<Proposal, ProposeError> {
        let room = self.room;
        let loop_cable = loop_cable(job).ok_or(ProposeError::NoCable("loops"))?;
        Ok(Proposal {
            room: room.id.clone(),
            fixture: self.fixture.id.clone(),
            control: self.control.id.clone(),
            lights,
            wall_boxes,
            controls_each,
            loops_each: 1,
            path: LoopPath::OneWay,
            home_run_cable: home_run_cable(job).ok_or(ProposeError::NoCable("home runs"))?,
            loop_cable,
            from,
            box_name: if room.name.is_empty() { room.id.to_string() } else { room.name.clone() },
            box_place: None,
            basis,
        })
    }
}
