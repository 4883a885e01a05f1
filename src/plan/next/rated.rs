//! What a home run takes by its ratings, for as long as its cables are not known.

use crate::design::Design;
use crate::job::catalogue::{ControlType, Drive, Load};
use crate::job::wiring::{CeilingBox, Control};
use crate::network::Run;
use crate::units::{Volts, Watts};

/// Watts of the controls, lights and allowances of a run at that many volts, without what its cables lose: the least it
/// can take.
pub(super) fn watts(design: &Design, run: &Run, volts: f64) -> f64 {
    let boxes = &design.job.boxes;
    let controls = run.controls.iter().filter_map(|(_, at)| boxes.get(at.wall_box)?.controls.get(at.control));
    let allowances = run.allowances.iter().filter_map(|(_, at)| boxes.get(*at)?.allowance_watts);
    controls.map(|control| of_control(design, control, volts)).sum::<f64>()
        + allowances.map(Watts::get).sum::<f64>()
}

fn of_control(design: &Design, control: &Control, volts: f64) -> f64 {
    let Some(part) = design.index.control_type(&design.job, &control.part) else { return 0.0 };
    let lights = control.loops.iter().flat_map(|wired| &wired.ceiling);
    part.own_watts.get() + lights.map(|light| of_light(design, part, light, volts)).sum::<f64>()
}

/// The most of what a light may take while it is open what hangs there.
fn of_light(design: &Design, control: &ControlType, light: &CeilingBox, volts: f64) -> f64 {
    let parts = light.fixture.iter().chain(&light.open);
    let watts =
        parts.filter_map(|id| design.index.fixture_type(&design.job, id)).map(|part| match part.load {
            Load::Power { watts, .. } | Load::Resistance { watts, .. } => watts.get(),
            Load::Current { amps, .. } => amps.get() * volts,
            Load::String { volts, second_volts, .. } => match control.drive {
                Drive::Current { amps, efficiency_percent, .. } => {
                    let second = second_volts.map_or(0.0, Volts::get);
                    amps.get() * volts.get().max(second) / (efficiency_percent.get() / 100.0)
                }
                Drive::Voltage => 0.0,
            },
        });
    watts.fold(0.0, f64::max)
}
