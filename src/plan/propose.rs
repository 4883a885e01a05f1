//! Proposes the lights of a room from its size: how many, on how many loops, controls and wall boxes, and where.
//!
//! Where a wish in lux and the fixture's lumens are known the lumen method says how many, else the job's floor area for
//! each fixture. Lights are dealt evenly over wall boxes (one home run each, within the target load of an output),
//! controls (within the lights a control takes) and loops. What is proposed can be changed before it is taken.

mod choose;
mod parts;
mod take;

use super::grid::Grid;
use super::light;
use crate::job::house::{Place, Room};
use crate::job::wiring::{LoopPath, Source};
use crate::job::{Id, Index, Job, Kind};
pub(crate) use choose::{dashed, deal, home_run_cable, loop_cable, smallest_box};
use parts::{Parts, target_watts};

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
}
