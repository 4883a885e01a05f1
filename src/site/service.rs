//! Service: given the lights that are dark, what they share from the output to their boxes, and what else hangs on it.

use super::choice::{Choice, one_box};
use crate::design::Design;
use crate::job::wiring::CeilingBox;
use crate::job::{Id, Kind, Spot, open};
use crate::network::{ControlAt, LoopAt};

/// Something that lights hang on.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum On {
    /// A panel.
    Panel(Id),
    /// A supply in it.
    Supply(Id),
    /// One of its outputs.
    Output(String),
    /// A home run or an onward feed.
    Feed(Id),
    /// A wall box.
    WallBox(Id),
    /// A control.
    Control(Id),
    /// A loop, from its start.
    Loop(Id),
    /// A leg of a loop, to the box of that id.
    Leg(Id, Id),
}

/// Something the dark lights share.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Shared {
    /// What.
    pub on: On,
    /// Lights that hang on it in all.
    pub lights: usize,
    /// How many of them were named as dark.
    pub dark: usize,
}

impl Shared {
    /// Whether all that hangs on it is dark, so that it may be what failed.
    pub const fn is_suspect(&self) -> bool {
        self.dark == self.lights
    }
}

/// What dark lights share.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Dark {
    /// What all of them hang on, from the panel down.
    pub shared: Vec<Shared>,
    /// The way to each light, from the panel down.
    pub ways: Vec<(Id, Vec<On>)>,
}

/// A light on its loop.
#[derive(Debug, Clone, Copy)]
struct Light {
    at: LoopAt,
    ceiling: usize,
}

/// What the lights in these ceiling boxes share.
///
/// # Errors
/// Which of them is no ceiling box, or holds nothing.
pub fn dark(design: &Design, lights: &[Id]) -> Result<Dark, String> {
    let mut found: Vec<(Id, Light)> = Vec::new();
    for id in lights {
        let light = find(design, id).ok_or_else(|| {
            format!("'{id}' is no ceiling box of this job: name the boxes of the lights that are dark")
        })?;
        if !found.iter().any(|(known, _)| known.same(id)) {
            found.push((id.clone(), light));
        }
    }
    let ways: Vec<(Id, Vec<On>)> =
        found.iter().map(|(id, light)| (id.clone(), way(design, *light))).collect();
    let every = every_light(design);
    let every: Vec<(Light, Vec<On>)> = every.into_iter().map(|light| (light, way(design, light))).collect();
    let mut shared = Vec::new();
    if let Some((_, first)) = ways.first() {
        for on in first.iter().filter(|on| ways.iter().all(|(_, way)| way.contains(on))) {
            let hung = every.iter().filter(|(_, way)| way.contains(on));
            let is_dark = |light: &Light| {
                found.iter().any(|(_, other)| other.at == light.at && other.ceiling == light.ceiling)
            };
            let (mut lights, mut dark) = (0, 0);
            for (light, _) in hung {
                lights += 1;
                dark += usize::from(is_dark(light));
            }
            shared.push(Shared { on: on.clone(), lights, dark });
        }
    }
    Ok(Dark { shared, ways })
}

fn find(design: &Design, id: &Id) -> Option<Light> {
    match design.index.spot(Kind::Fixture, id)? {
        Spot::Ceiling { wall_box, control, at, ceiling } => {
            Some(Light { at: LoopAt { control: ControlAt { wall_box, control }, at }, ceiling })
        }
        _ => None,
    }
}

/// Every ceiling box with a fixture, or with one still open.
fn every_light(design: &Design) -> Vec<Light> {
    let mut lights = Vec::new();
    for (wall_box, entry) in design.job.boxes.iter().enumerate() {
        for (control, wired) in entry.controls.iter().enumerate() {
            for (at, run) in wired.loops.iter().enumerate() {
                let at = LoopAt { control: ControlAt { wall_box, control }, at };
                let lit = |held: &CeilingBox| open::lit(&design.job, &design.index, entry, run, held);
                let boxes = run.ceiling.iter().enumerate().filter(|(_, held)| lit(held));
                lights.extend(boxes.map(|(ceiling, _)| Light { at, ceiling }));
            }
        }
    }
    lights
}

/// What a light hangs on, from the panel down to the leg that comes to its box.
fn way(design: &Design, light: Light) -> Vec<On> {
    let job = &design.job;
    let wall_box = &job.boxes[light.at.control.wall_box];
    let control = &wall_box.controls[light.at.control.control];
    let run = &control.loops[light.at.at];
    let mut way = Vec::new();
    if let Some(&number) = design.network.run_of_control.get(&light.at.control) {
        let home = &design.network.runs[number];
        way.push(On::Panel(home.panel.clone()));
        if let Some(output) = &home.output {
            way.extend([On::Supply(output.supply.clone()), On::Output(output.to_string())]);
        }
        // Of the feeds of a run only those on the way to the control's own.
        let own = home.controls.iter().find(|(_, at)| *at == light.at.control).map(|(feed, _)| *feed);
        let mut feeds = Vec::new();
        let mut next = own.map(|own| home.feeds[own]);
        while let Some(at) = next.take() {
            let feed = &job.boxes[at.wall_box].feeds[at.feed];
            feeds.push(On::Feed(feed.id.clone()));
            if let crate::job::wiring::Source::Onward(from) = &feed.from
                && feeds.len() <= home.feeds.len()
            {
                next =
                    home.feeds.iter().copied().find(|at| job.boxes[at.wall_box].feeds[at.feed].id.same(from));
            }
        }
        way.extend(feeds.into_iter().rev());
    }
    way.extend([On::WallBox(wall_box.id.clone()), On::Control(control.id.clone()), On::Loop(run.id.clone())]);
    // A loop fed from both ends reaches a box either way, so none of its legs alone leaves one dark.
    if run.path != crate::job::wiring::LoopPath::Returned {
        let legs = run.ceiling.iter().take(light.ceiling + 1);
        way.extend(legs.map(|ceiling| On::Leg(run.id.clone(), ceiling.id.clone())));
    }
    way
}

/// A fixture in place of the one in a ceiling box, tried out against its loop, output and box.
pub type Substitute = Choice;

/// Tries a fixture in a ceiling box.
///
/// # Errors
/// There is no such box or no such fixture.
pub fn substitute(design: &Design, ceiling: &Id, fixture: &Id) -> Result<Substitute, String> {
    let light = find(design, ceiling).ok_or_else(|| format!("'{ceiling}' is no ceiling box of this job"))?;
    let part = design.index.fixture_type(&design.job, fixture);
    let part = part.ok_or_else(|| {
        format!("the catalogue has no fixture '{fixture}': enter it first, with its watts, weight and depth")
    })?;
    Ok(one_box(design, light.at, ceiling, &part.id))
}
