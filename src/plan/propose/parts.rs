//! The room, fixture, control and supply that a proposal is made of, and what follows from them.

use super::{Basis, MOST_LIGHTS, Proposal, ProposeError, home_run_cable, loop_cable};
use crate::job::catalogue::{ControlType, Drive, FixtureColour, FixtureType, Load};
use crate::job::house::Room;
use crate::job::wiring::{LoopPath, Source};
use crate::job::{Id, Index, Job, Kind};
use crate::plan::light;

/// The watts an output is to be loaded with: the target share of the smallest output there is.
pub(super) fn target_watts(job: &Job) -> Option<f64> {
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
pub(super) struct Parts<'a> {
    pub(super) room: &'a Room,
    pub(super) fixture: &'a FixtureType,
    control: &'a ControlType,
    supply: Option<(f64, f64)>,
}

impl<'a> Parts<'a> {
    pub(super) fn of(job: &'a Job, room: &Id, fixture: &Id, control: &Id) -> Result<Self, ProposeError> {
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

    pub(super) fn lights(&self, job: &Job) -> Result<(usize, Basis), ProposeError> {
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
    pub(super) fn most_on_control(&self) -> Option<usize> {
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
    pub(super) fn box_watts(&self, lights: usize, controls: usize) -> Option<f64> {
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

    pub(super) fn proposal(&self, job: &Job, lights: usize, basis: Basis) -> Result<Proposal, ProposeError> {
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
