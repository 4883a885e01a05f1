//! Least and most of every figure of a part, while corners of its open choices are gone through.

use super::choice::Pick;
use super::open::Shared;
use super::part::{PartStudy, RunStudy};
use super::range::{Ends, Of, Range};
use super::string::StringStudy;
use crate::job::Id;
use crate::network::LoopAt;
use std::collections::BTreeMap;

/// A light with one of the entries it may yet be.
type LightWith = (LoopAt, usize, Id);

/// What was found so far.
#[derive(Debug, Default)]
pub(super) struct Sweep {
    /// The corners looked at, by option of each choice.
    pub corners: Vec<Vec<usize>>,
    /// One for each run of the part.
    pub runs: Vec<RunSweep>,
    /// Of each string the corner with the fewest volts to spare.
    pub tight: Vec<(StringStudy, Vec<usize>)>,
    /// Of each light with each entry that matters to it the fewest volts.
    pub with: Vec<(LightWith, f64, Vec<usize>)>,
    /// Of each run that comes near what its cables can carry the share it takes, and the corner.
    pub near: Vec<(usize, f64, Vec<usize>)>,
    /// The choices that may reach into other parts, by position.
    wide: Vec<usize>,
    /// Source watts of each run with each combination of those.
    table: Option<BTreeMap<Vec<usize>, Vec<Ends>>>,
    /// Not every corner was tried: whether volts and the source's figures are reached all the same.
    bounds: Option<bool>,
}

/// What was found of one run.
#[derive(Debug, Default)]
pub(super) struct RunSweep {
    pub ends: Vec<(Of, Option<Ends>)>,
    strings: Vec<StringStudy>,
    source_volts: f64,
    /// Its lights, in the order of their figures.
    pub lights: Vec<(LoopAt, usize)>,
    /// Least and most amps and watts of each light by the entries it may be, where only bounds are known.
    pub by_entry: Vec<Option<[(f64, f64); 2]>>,
}

impl Sweep {
    pub(super) fn new(wide: Vec<usize>) -> Self {
        let table = (!wide.is_empty()).then(BTreeMap::new);
        Self { wide, table, ..Self::default() }
    }

    /// Adds what a corner gives.
    pub(super) fn add(&mut self, study: &PartStudy, corner: &[usize]) {
        let number = self.corners.len();
        self.corners.push(corner.to_vec());
        if self.runs.is_empty() {
            self.runs = study.runs.iter().map(RunSweep::new).collect();
        }
        for (sweep, run) in self.runs.iter_mut().zip(&study.runs) {
            sweep.add(run, number);
        }
        for string in study.runs.iter().flat_map(|run| &run.strings) {
            let spare =
                |string: &StringStudy| string.available_volts.map(|available| available - string.volts);
            let known = self.tight.iter_mut().find(|(k, _)| k.at == string.at && k.number == string.number);
            match known {
                // A limit that is not stated is tighter than any.
                Some((known, at)) => {
                    if spare(string).unwrap_or(f64::NEG_INFINITY) < spare(known).unwrap_or(f64::NEG_INFINITY)
                    {
                        (*known, *at) = (string.clone(), corner.to_vec());
                    }
                }
                None => self.tight.push((string.clone(), corner.to_vec())),
            }
        }
        if let Some(table) = &mut self.table {
            let options: Vec<usize> = self.wide.iter().map(|&choice| corner[choice]).collect();
            let watts = study.runs.iter().map(|run| run.source_watts.unwrap_or(0.0));
            match table.get_mut(&options) {
                Some(ends) => ends.iter_mut().zip(watts).for_each(|(ends, w)| ends.widen(w, number)),
                None => {
                    table.insert(options, watts.map(|watts| Ends::new(watts, number)).collect());
                }
            }
        }
    }

    /// Adds the volts that a light sees in a corner with the entry it takes there.
    pub(super) fn with_option(
        &mut self,
        (at, ceiling, part): (LoopAt, usize, &Id),
        volts: f64,
        corner: &[usize],
    ) {
        let mine =
            |((a, c, p), ..): &&mut (LightWith, f64, Vec<usize>)| *a == at && *c == ceiling && p == part;
        match self.with.iter_mut().find(mine) {
            Some((_, least, known)) => {
                if volts < *least {
                    (*least, *known) = (volts, corner.to_vec());
                }
            }
            None => self.with.push(((at, ceiling, part.clone()), volts, corner.to_vec())),
        }
    }

    /// What each wide choice comes to is not known one by one.
    pub(super) fn forget_shared(&mut self) {
        self.table = None;
    }

    /// Not every corner was tried.
    pub(super) fn bounded(&mut self, reached: bool) {
        self.bounds = Some(reached);
        self.table = None;
    }

    /// Whether only a bound of a figure is known.
    pub(super) fn is_bound(&self, of: Of) -> bool {
        let source = matches!(
            of,
            Of::SourceAmps
                | Of::SourceWatts
                | Of::FeedVolts(_)
                | Of::Volts(_)
                | Of::DropVolts(_)
                | Of::DropPercent(_)
        );
        self.bounds.is_some_and(|reached| !(reached && source))
    }

    /// The corner with the most amps.
    pub(super) fn worst(&self) -> Vec<usize> {
        let most = self.runs.iter().filter_map(|run| Some(run.of(Of::SourceAmps)?.most));
        let corner = most.max_by(|a, b| a.0.total_cmp(&b.0)).map_or(0, |(_, corner)| corner);
        self.corners.get(corner).cloned().unwrap_or_default()
    }

    /// The watts of the runs with each combination of wide choices.
    pub(super) fn shared(&self, names: &dyn Fn(&[usize]) -> Vec<Pick>) -> Option<Shared> {
        let range = |ends: &Ends| Range {
            least: ends.least.0,
            most: ends.most.0,
            exact: true,
            least_choice: names(&self.corners[ends.least.1]),
            most_choice: names(&self.corners[ends.most.1]),
        };
        let table = self.table.as_ref()?.iter();
        let table =
            table.map(|(options, ends)| (options.clone(), ends.iter().map(range).collect())).collect();
        Some(Shared { wide: self.wide.clone(), table })
    }
}

impl RunSweep {
    fn new(run: &RunStudy) -> Self {
        Self {
            ends: Of::all(run).into_iter().map(|of| (of, None)).collect(),
            strings: Vec::new(),
            source_volts: run.source_volts.unwrap_or(0.0),
            lights: run.lights.iter().map(|light| (light.at, light.ceiling)).collect(),
            by_entry: Vec::new(),
        }
    }

    fn add(&mut self, run: &RunStudy, corner: usize) {
        for (of, ends) in &mut self.ends {
            Ends::add(ends, of.read(run), corner);
        }
        for string in &run.strings {
            let known = self.strings.iter_mut().find(|k| k.at == string.at && k.number == string.number);
            match known {
                Some(known) if string.volts > known.volts => *known = string.clone(),
                Some(_) => {}
                None => self.strings.push(string.clone()),
            }
        }
    }

    /// The strings, each where it has the most volts.
    pub(super) fn strings(&self) -> Vec<StringStudy> {
        self.strings.clone()
    }

    pub(super) fn of(&self, of: Of) -> Option<Ends> {
        self.ends.iter().find(|(known, _)| *known == of).and_then(|(_, ends)| *ends)
    }

    /// The corner in which a figure has its unfavourable end.
    pub(super) fn corner(&self, of: Of) -> Option<usize> {
        let ends = self.of(of)?;
        Some(if of.least_is_worst() { ends.least.1 } else { ends.most.1 })
    }

    /// Between what a figure surely lies, the ends being those of the pointwise extremes.
    pub(super) fn bound(&self, of: Of, ends: Ends) -> Range {
        let most = |of: Of| self.of(of).map_or(f64::INFINITY, |ends| ends.most.0);
        let by_entry = |light: usize, at: usize| {
            self.by_entry.get(light).copied().flatten().map(|both| Range::bound(both[at].0, both[at].1))
        };
        match of {
            Of::Volts(_) | Of::FeedVolts(_) => Range::bound(ends.least.0, self.source_volts),
            Of::SourceAmps | Of::SourceWatts | Of::DropVolts(_) | Of::DropPercent(_) => {
                Range::bound(0.0, ends.most.0)
            }
            Of::CableAmps(_) => Range::bound(0.0, most(Of::SourceAmps)),
            Of::Amps(light) => by_entry(light, 0).unwrap_or_else(|| Range::bound(0.0, most(Of::SourceAmps))),
            Of::Watts(light) => {
                by_entry(light, 1).unwrap_or_else(|| Range::bound(0.0, most(Of::SourceWatts)))
            }
            Of::LossWatts | Of::ControlWatts | Of::CableLoss(_) => Range::bound(0.0, most(Of::SourceWatts)),
        }
    }
}
