//! What a home run takes by its ratings, for as long as its cables are not known.

use crate::design::Design;
use crate::job::catalogue::{ControlType, Drive, Load};
use crate::job::wiring::{Control, WallBox};
use crate::job::{Id, open};
use crate::network::Run;
use crate::units::{Volts, Watts};

/// Watts of the controls, lights and allowances of a run at that many volts, without what its cables lose: the least it
/// can take.
pub(super) fn watts(design: &Design, run: &Run, volts: f64) -> f64 {
    let boxes = &design.job.boxes;
    let controls = run.controls.iter().filter_map(|(_, at)| {
        let wall_box = boxes.get(at.wall_box)?;
        Some((wall_box, wall_box.controls.get(at.control)?))
    });
    let allowances = run.allowances.iter().filter_map(|(_, at)| boxes.get(*at)?.allowance_watts);
    controls.map(|(wall_box, control)| of_control(design, wall_box, control, volts)).sum::<f64>()
        + allowances.map(Watts::get).sum::<f64>()
}

fn of_control(design: &Design, wall_box: &WallBox, control: &Control, volts: f64) -> f64 {
    let Some(part) = design.index.control_type(&design.job, &control.part) else { return 0.0 };
    let lights = control.loops.iter().flat_map(|wired| wired.ceiling.iter().map(move |light| (wired, light)));
    let held = |(wired, light)| open::held(&design.job, &design.index, wall_box, wired, light);
    part.own_watts.get() + lights.map(|light| of_light(design, part, held(light), volts)).sum::<f64>()
}

/// The most of what a light may take while it is open what hangs there.
fn of_light<'a>(
    design: &Design,
    control: &ControlType,
    parts: impl Iterator<Item = &'a Id>,
    volts: f64,
) -> f64 {
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
