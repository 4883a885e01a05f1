//! How light each room is, by the lumen method.

use super::part::PartStudy;
use crate::format::Quantity;
use crate::job::house::Room;
use crate::job::{Id, Index, Job, open};
use crate::network::{ControlAt, LoopAt, Network};
use crate::standards::light;
use crate::working::{Input, Number, Off, Origin, Recorder};
use std::collections::{HashMap, HashSet};

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
pub(super) fn rooms<R: Recorder>(
    job: &Job,
    index: &Index,
    network: &Network,
    parts: &[PartStudy],
    recorder: &mut R,
) -> Vec<RoomStudy> {
    let mut lights: HashMap<String, Vec<(LoopAt, usize)>> = HashMap::new();
    for (wall_box, entry) in job.boxes.iter().enumerate() {
        for control in 0..entry.controls.len() {
            of_control(job, index, ControlAt { wall_box, control }, &mut lights);
        }
    }
    let rooms = job.levels.iter().flat_map(|level| &level.rooms);
    rooms
        .map(|room| {
            let lights = lights.remove(&room.id.folded()).unwrap_or_default();
            one_room((job, index, network), parts, room, lights, recorder)
        })
        .collect()
}

/// The lights that hang in some parts of the network, and the controls that they may hang on.
pub(super) struct LitBy {
    controls: HashSet<ControlAt>,
    /// By the room's id.
    lights: HashMap<String, Vec<(LoopAt, usize)>>,
}

/// What some parts light now.
pub(super) fn lit_by(job: &Job, index: &Index, network: &Network, parts: &[usize]) -> LitBy {
    let runs = parts.iter().filter_map(|&part| network.parts.get(part)).flat_map(|part| &part.runs);
    let controls = runs.filter_map(|&run| network.runs.get(run)).flat_map(|run| &run.controls);
    let controls: HashSet<ControlAt> = controls.map(|&(_, control)| control).collect();
    let mut lights = HashMap::new();
    for &control in &controls {
        of_control(job, index, control, &mut lights);
    }
    LitBy { controls, lights }
}

/// Adds the lights of a control by their rooms.
fn of_control(
    job: &Job,
    index: &Index,
    control: ControlAt,
    lights: &mut HashMap<String, Vec<(LoopAt, usize)>>,
) {
    let wall_box = &job.boxes[control.wall_box];
    for (at, wired) in wall_box.controls[control.control].loops.iter().enumerate() {
        for (ceiling, held) in wired.ceiling.iter().enumerate() {
            if open::lit(job, index, wall_box, wired, held) {
                let room = held.room.as_ref().unwrap_or(&wall_box.room);
                lights.entry(room.folded()).or_default().push((LoopAt { control, at }, ceiling));
            }
        }
    }
}

/// Sums one room anew of whose lights only those of some parts may have come or gone.
pub(super) fn room_anew(
    (job, index, network): (&Job, &Index, &Network),
    parts: &[PartStudy],
    room: &Room,
    lit: &LitBy,
    before: &mut RoomStudy,
) {
    let mut lights = std::mem::take(&mut before.lights);
    lights.retain(|(at, _)| !lit.controls.contains(&at.control));
    lights.extend(lit.lights.get(&room.id.folded()).into_iter().flatten());
    lights.sort_unstable();
    *before = one_room((job, index, network), parts, room, lights, &mut Off);
}

/// Sums the lights of one room.
fn one_room<R: Recorder>(
    (job, index, network): (&Job, &Index, &Network),
    parts: &[PartStudy],
    room: &Room,
    lights: Vec<(LoopAt, usize)>,
    recorder: &mut R,
) -> RoomStudy {
    let watts_of = |(at, ceiling): (LoopAt, usize)| {
        let run = *network.run_of_control.get(&at.control)?;
        let study = parts.get(network.runs.get(run)?.part)?.runs.iter().find(|study| study.run == run)?;
        study.lights.iter().find(|light| light.at == at && light.ceiling == ceiling)?.watts
    };
    let lumens_of = |(at, ceiling): (LoopAt, usize)| {
        let wall_box = &job.boxes[at.control.wall_box];
        let wired = &wall_box.controls[at.control.control].loops[at.at];
        let held = open::held(job, index, wall_box, wired, &wired.ceiling[ceiling]);
        let parts = held.map(|id| index.fixture_type(job, id));
        let lumens = parts.map(|part| Some(part?.lumens?.get()));
        lumens.collect::<Option<Vec<f64>>>()?.into_iter().reduce(f64::min)
    };
    let input =
        |value: f64, label: String, unit, origin| R::Number::input(value, || Input::new(label, unit, origin));
    let id = |(at, ceiling): (LoopAt, usize)| {
        let wired = &job.boxes[at.control.wall_box].controls[at.control.control].loops[at.at];
        wired.ceiling[ceiling].id.to_string()
    };
    let lumens = super::output::total(lights.iter().map(|&light| {
        let origin = Origin::Catalogue("lumens of its fixture, the fewest of an open choice".into());
        Some(input(lumens_of(light)?, format!("lumens of {}", id(light)), Quantity::Lumens, origin))
    }));
    let watts = super::output::total(lights.iter().map(|&light| {
        let name = format!("fixture/{}/watts", id(light));
        Some(input(watts_of(light)?, name, Quantity::Watts, Origin::Figure))
    }));
    let settings = &job.settings.light;
    let factor =
        |value: f64, label: &str, key| input(value, label.into(), Quantity::Ratio, Origin::Setting(key));
    let utilization = factor(settings.utilization.get(), "utilization", "light.utilization");
    let loss = factor(settings.light_loss.get(), "light loss", "light.light_loss");
    let area = room.square_metres().map(|area| {
        let origin = Origin::Job(format!("room/{} area, or width by depth", room.id));
        input(area, "area".into(), Quantity::SquareMetres, origin)
    });
    let mut keep = |key: &str, unit, value: Option<R::Number>| {
        value.map(|value| recorder.figure(|| format!("room/{}/{key}", room.id), unit, value))
    };
    let lumens = keep("lumens", Quantity::Lumens, lumens);
    let lux = lumens.clone().zip(area.clone());
    let lux = lux.map(|(lumens, area)| light::lux(lumens, utilization, loss, area));
    let lux = keep("lux", Quantity::Lux, lux);
    let watts = keep("watts", Quantity::Watts, watts);
    let per_ft2 = watts.clone().zip(area).map(|(watts, area)| {
        let foot = Origin::Table("0.3048 m in a foot, exactly");
        watts / (area / input(SQUARE_FOOT, "m2 in a square foot".into(), Quantity::Ratio, foot))
    });
    let per_ft2 = keep("watts_per_ft2", Quantity::Ratio, per_ft2);
    let value = |number: Option<R::Number>| number.map(|number| number.value());
    RoomStudy {
        room: room.id.clone(),
        lumens: value(lumens),
        lux: value(lux),
        watts: value(watts),
        watts_per_ft2: value(per_ft2),
        lights,
    }
}
