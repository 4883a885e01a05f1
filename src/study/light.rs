//! How light each room is, by the lumen method.

use super::part::PartStudy;
use crate::job::{Id, Index, Job};
use crate::network::{ControlAt, LoopAt, Network};
use crate::standards::light;
use std::collections::HashMap;

/// The light in a room.
#[derive(Debug, Clone, PartialEq)]
pub struct RoomStudy {
    /// Which room.
    pub room: Id,
    /// Its lights: loop, and position on it.
    pub lights: Vec<(LoopAt, usize)>,
    /// Lumens of its lights; unknown if those of any are. An open choice counts with its fewest.
    pub lumens: Option<f64>,
    /// Lux on the work plane; unknown without lumens or area.
    pub lux: Option<f64>,
    /// Watts its lights take; unknown if those of any are.
    pub watts: Option<f64>,
    /// The same for each square foot, for reference.
    pub watts_per_ft2: Option<f64>,
}

/// Square metres in a square foot.
const SQUARE_FOOT: f64 = 0.092_903_04;

/// Every room, in the order of the file.
pub(super) fn rooms(job: &Job, index: &Index, network: &Network, parts: &[PartStudy]) -> Vec<RoomStudy> {
    let mut lights: HashMap<String, Vec<(LoopAt, usize)>> = HashMap::new();
    for (wall_box, entry) in job.boxes.iter().enumerate() {
        for (control, wired) in entry.controls.iter().enumerate() {
            for (at, wired) in wired.loops.iter().enumerate() {
                for (ceiling, held) in wired.ceiling.iter().enumerate() {
                    if held.fixture.is_some() || !held.open.is_empty() {
                        let room = held.room.as_ref().unwrap_or(&entry.room);
                        let at = LoopAt { control: ControlAt { wall_box, control }, at };
                        lights.entry(room.folded()).or_default().push((at, ceiling));
                    }
                }
            }
        }
    }
    let watts_of = |(at, ceiling): (LoopAt, usize)| {
        let run = *network.run_of_control.get(&at.control)?;
        let study = parts.get(network.runs.get(run)?.part)?.runs.iter().find(|study| study.run == run)?;
        study.lights.iter().find(|light| light.at == at && light.ceiling == ceiling)?.watts
    };
    let lumens_of = |(at, ceiling): (LoopAt, usize)| {
        let held = &job.boxes[at.control.wall_box].controls[at.control.control].loops[at.at].ceiling[ceiling];
        let parts = held.fixture.iter().chain(&held.open).map(|id| index.fixture_type(job, id));
        let lumens = parts.map(|part| Some(part?.lumens?.get()));
        lumens.collect::<Option<Vec<f64>>>()?.into_iter().reduce(f64::min)
    };
    let rooms = job.levels.iter().flat_map(|level| &level.rooms);
    rooms
        .map(|room| {
            let lights = lights.remove(&room.id.folded()).unwrap_or_default();
            let sum = |figures: Vec<Option<f64>>| super::output::total(figures.into_iter());
            let lumens = sum(lights.iter().map(|&light| lumens_of(light)).collect());
            let watts = sum(lights.iter().map(|&light| watts_of(light)).collect());
            let settings = &job.settings;
            let utilization = room.utilization_percent.unwrap_or(settings.utilization_percent).get() / 100.0;
            let loss = settings.light_loss_percent.get() / 100.0;
            let area = room.area.map(crate::units::Area::si);
            RoomStudy {
                room: room.id.clone(),
                lumens,
                lux: lumens.zip(area).map(|(lumens, area)| light::lux(lumens, utilization, loss, area)),
                watts,
                watts_per_ft2: watts.zip(area).map(|(watts, area)| watts / (area / SQUARE_FOOT)),
                lights,
            }
        })
        .collect()
}
