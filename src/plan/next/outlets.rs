//! What the outputs may yet give, and which comes next.

use super::rated;
use crate::design::Design;
use crate::job::Id;
use crate::job::wiring::{OutputRef, Source};

/// What an output may yet take.
#[derive(Debug, Clone, PartialEq)]
pub struct Room {
    /// Which output.
    pub output: OutputRef,
    /// The panel its supply is in.
    pub panel: Id,
    /// Its volts.
    pub volts: f64,
    /// Terminals that no home run is on.
    pub terminals: usize,
    /// Watts up to the job's target; below zero where it is over that.
    pub watts: f64,
    /// Whether cables of its runs are not known yet, so that only ratings are counted and less is free than that.
    pub before_cable: bool,
}

impl Room {
    /// Whether it can take another home run.
    pub fn is_open(&self) -> bool {
        self.terminals > 0 && self.watts > 0.0
    }
}

/// What each output may yet take, in the order of the file.
pub fn outputs(design: &Design) -> Vec<Room> {
    let target = design.job.settings.target_load_percent.get() / 100.0;
    let room = |output: &crate::study::OutputStudy| {
        let (_, supply) = design.index.supply(&design.job, &output.output.supply)?;
        let part = design.index.supply_type(&design.job, &supply.part)?;
        let volts = part.volts.get();
        let rated = || {
            let runs = output.runs.iter().filter_map(|run| design.network.runs.get(*run));
            runs.map(|run| rated::watts(design, run, volts)).sum::<f64>()
        };
        Some(Room {
            output: output.output.clone(),
            panel: output.panel.clone(),
            volts,
            terminals: usize::from(part.terminals.get()).saturating_sub(output.runs.len()),
            watts: part.output_watts.get() * target - output.watts.unwrap_or_else(rated),
            before_cable: output.watts.is_none(),
        })
    };
    design.study.outputs.iter().filter_map(room).collect()
}

/// The outputs as they fill up while home runs are put on them one by one.
#[derive(Debug, Clone)]
pub struct Outlets {
    rooms: Vec<Room>,
    /// The panel and volts of the home run made last.
    like: Option<(Id, f64)>,
    /// What a home run of this job takes on average.
    usual: f64,
}

impl Outlets {
    /// The outputs of a job as they are loaded now.
    pub fn of(design: &Design) -> Self {
        let rooms = outputs(design);
        let feeds = design.job.boxes.iter().rev().flat_map(|wall_box| wall_box.feeds.iter().rev());
        let like = feeds.filter_map(|feed| match &feed.from {
            Source::Output(output) => {
                let on = |room: &&Room| {
                    room.output.number == output.number && room.output.supply.same(&output.supply)
                };
                rooms.iter().find(on).map(|room| (room.panel.clone(), room.volts))
            }
            _ => None,
        });
        let like = like.into_iter().next();
        let volts = |output: &OutputRef| {
            let (_, supply) = design.index.supply(&design.job, &output.supply)?;
            Some(design.index.supply_type(&design.job, &supply.part)?.volts.get())
        };
        let of_run = |(number, run): (usize, &crate::network::Run)| {
            let study = design.study.run(&design.network, number);
            let rated = || Some(rated::watts(design, run, volts(run.output.as_ref()?)?));
            study.and_then(|study| study.source_watts).or_else(rated)
        };
        let runs = design.network.runs.iter().enumerate();
        let watts: Vec<f64> = runs.filter_map(of_run).filter(|watts| *watts > 0.0).collect();
        #[expect(clippy::cast_precision_loss, reason = "a house has few runs")]
        let usual = if watts.is_empty() { 0.0 } else { watts.iter().sum::<f64>() / watts.len() as f64 };
        Self { rooms, like, usual }
    }

    /// Takes a terminal for a home run of so many watts, by default of a usual one: on the first output that keeps
    /// within the target with it, of the panel asked for or else that of the home run before, and of the same volts.
    /// Where none does, none is taken.
    pub fn take(&mut self, panel: Option<&Id>, watts: Option<f64>) -> Option<OutputRef> {
        let needed = watts.unwrap_or(self.usual);
        let volts = self.like.as_ref().map(|(_, volts)| *volts);
        let near = panel.cloned().or_else(|| self.like.as_ref().map(|(panel, _)| panel.clone()));
        let fits = |room: &Room| {
            room.is_open()
                && room.watts >= needed
                && volts.is_none_or(|volts| (room.volts - volts).abs() < 0.001)
        };
        let here = |room: &Room| near.as_ref().is_none_or(|panel| room.panel.same(panel));
        let first = self.rooms.iter().position(|room| here(room) && fits(room));
        let elsewhere = || self.rooms.iter().position(fits).filter(|_| panel.is_none());
        let at = first.or_else(elsewhere)?;
        let room = self.rooms.get_mut(at)?;
        room.terminals -= 1;
        room.watts -= needed;
        Some(room.output.clone())
    }
}
