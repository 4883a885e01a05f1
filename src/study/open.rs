//! The study of a part in which something is still open.
//!
//! Each figure is given at its unfavourable end, with its range and the choice that makes it least and most beside it.
//! Where currents only add up (one run, no loop fed from both ends, nothing resistive, everything open a fixture of
//! constant watts) the heaviest and the lightest choice have every figure's ends: lower volts anywhere mean more amps
//! everywhere. Elsewhere every corner is studied, up to [`MOST_CORNERS`] of them. Beyond that volts and the source's
//! figures still follow from the pointwise largest and smallest current (see [`Draw`](super::circuit::Draw)), and the
//! others are bounds.

use super::choice::{self, Choice, MOST_CORNERS, Pick, Scratch};
use super::ends::may_near;
use super::extreme::{self, Extremes};
use super::gather::gather;
use super::limit::run_limits;
use super::part::{self, Outcome, PartStudy, Place, RunStudy};
use super::range::{Ends, Of, Range, RunRanges};
use super::reason::Reason;
use super::string::StringStudy;
use super::sweep::{RunSweep, Sweep};
use crate::job::catalogue::Load;
use crate::job::open::held;
use crate::job::{Id, Job};
use crate::network::LoopAt;
use crate::working::{Input, Number, Off, Origin, Recorder};
use std::collections::BTreeMap;

/// What the open choices of a part come to, beside the figures of its runs.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct OpenStudy {
    /// The choices.
    pub choices: Vec<Choice>,
    /// Their options in the corner that is hardest on the part: one with no solution, or the one with the most amps.
    pub worst: Vec<usize>,
    /// Volts and drop of a light with each entry it may yet be, where its limits depend on which it is.
    pub with: Vec<WithOption>,
    /// The corner of each string that leaves its control the fewest volts to spare.
    pub tight: Vec<(StringStudy, Vec<Pick>)>,
    /// For a run that comes nearer to what its cables can carry than the job's margin: the share it
    /// takes, and the corner.
    near: Vec<(usize, f64, Vec<usize>)>,
    /// For each run, the watts from its output with each combination of the choices that may reach into other parts.
    pub(super) shared: Option<Shared>,
}

/// The worst that a light sees with one of the entries it may yet be.
#[derive(Debug, Clone, PartialEq)]
pub struct WithOption {
    /// Its loop.
    pub at: LoopAt,
    /// Its ceiling box by position.
    pub ceiling: usize,
    /// The entry.
    pub part: Id,
    /// The fewest volts across it.
    pub least_volts: f64,
    /// The choice with which it sees them.
    pub choice: Vec<Pick>,
}

/// Watts from the output for each run of a part, by the options of the wide choices (in the order of `choices`).
#[derive(Debug, Clone, PartialEq, Default)]
pub(super) struct Shared {
    /// Which choices are wide, by position.
    pub wide: Vec<usize>,
    /// For each combination of their options, for each run: least and most watts with their corners' picks.
    pub table: BTreeMap<Vec<usize>, Vec<Range>>,
}

impl OpenStudy {
    /// The job in every corner, if there are no more than are tried one by one, or else in the hardest one; one after
    /// another, with the choice.
    pub fn each(&self, job: &Job, mut see: impl FnMut(&Job, &dyn Fn() -> Vec<Pick>)) {
        let mut closed = job.clone();
        let mut at = |corner: &[usize]| {
            choice::close(&mut closed, &self.choices, corner);
            see(&closed, &|| choice::picked(&self.choices, corner));
        };
        match choice::corners(&self.choices).filter(|&corners| corners <= MOST_CORNERS) {
            Some(corners) => (0..corners).for_each(|number| at(&choice::corner(number, &self.choices))),
            None => at(&self.worst),
        }
    }

    /// The job with the choices made as in the corner that is hardest on the part.
    pub fn worst_job(&self, job: &Job) -> Job {
        let mut job = job.clone();
        choice::close(&mut job, &self.choices, &self.worst);
        job
    }

    /// The job in the corner in which a run is nearest to what its cables can carry, and the choice.
    pub fn near(&self, run: usize, job: &Job) -> Option<(Job, Vec<Pick>)> {
        let near = self.near.iter().find(|(known, ..)| *known == run).map(|(_, _, corner)| corner);
        let corner = near.unwrap_or(&self.worst);
        let mut job = job.clone();
        choice::close(&mut job, &self.choices, corner);
        Some((job, choice::picked(&self.choices, corner)))
    }

    /// That corner.
    pub fn worst_picks(&self) -> Vec<Pick> {
        choice::picked(&self.choices, &self.worst)
    }
}

/// Studies one part of the network, whatever is open in it.
pub(super) fn study<R: Recorder>(
    place: Place<'_>,
    part: usize,
    scratch: &mut Scratch,
    recorder: &mut R,
) -> PartStudy {
    let choices = choice::choices(place, part);
    if choices.is_empty() {
        return part::closed(place, part, recorder);
    }
    let mut opened = Opened { place, part, choices, job: scratch.of(place.0) };
    let study = opened.study(recorder);
    let choices = opened.choices;
    scratch.open_again(place.0, &choices);
    study
}

/// A part with its choices.
pub(super) struct Opened<'a> {
    pub place: Place<'a>,
    pub part: usize,
    pub choices: Vec<Choice>,
    /// The job, with the choices made as in the corner looked at last.
    job: &'a mut Job,
}

/// Why there are no figures, and the corner in which there are none.
pub(super) type Failed = (Outcome, Vec<usize>);

impl Opened<'_> {
    fn study<R: Recorder>(&mut self, recorder: &mut R) -> PartStudy {
        let reasons = self.reasons();
        if !reasons.is_empty() {
            return self.without_figures(&Outcome::Unknown(reasons), Vec::new());
        }
        match self.sweep() {
            Ok(sweep) => self.put_together(&sweep, recorder),
            Err((outcome, corner)) => self.without_figures(&outcome, corner),
        }
    }

    /// The job in a corner.
    pub(super) fn job_at(&mut self, corner: &[usize]) -> &Job {
        choice::close(self.job, &self.choices, corner);
        self.job
    }

    fn at<R: Recorder>(&mut self, corner: &[usize], recorder: &mut R) -> PartStudy {
        let ((_, index, network), part) = (self.place, self.part);
        part::closed((self.job_at(corner), index, network), part, recorder)
    }

    /// What is missing for the figures with any choice. A reason lies in one control with one fixture, so it is enough to
    /// give each control each of its types in turn, with its fixtures open.
    fn reasons(&mut self) -> Vec<Reason> {
        let (_, index, network) = self.place;
        let mut reasons = Vec::new();
        let controls: Vec<Choice> = self.choices.iter().filter(|c| !c.controls.is_empty()).cloned().collect();
        let turns = controls.iter().map(|choice| choice.options.len()).max().unwrap_or(1);
        for turn in 0..turns {
            let corner: Vec<usize> = controls.iter().map(|c| turn.min(c.options.len() - 1)).collect();
            choice::close(self.job, &controls, &corner);
            if let Err(missing) = gather(self.job, index, network, self.part, &mut Off) {
                for reason in missing {
                    if !reasons.contains(&reason) {
                        reasons.push(reason);
                    }
                }
            }
        }
        reasons.extend(self.unlike_links());
        reasons
    }

    /// Open controls whose links would join circuits with one type and not with another: then it is not known what is
    /// to be solved together.
    fn unlike_links(&self) -> Option<Reason> {
        let (job, index, _) = self.place;
        let links = || job.groups.iter().flat_map(|group| &group.links);
        let controls =
            self.choices.iter().flat_map(|choice| choice.controls.iter().map(move |at| (choice, at)));
        controls
            .map(|(choice, at)| (choice, &job.boxes[at.wall_box].controls[at.control].id))
            .find(|(choice, id)| {
                let kinds = choice.options.iter().map(|part| index.control_type(job, part)?.link);
                let mut kinds = kinds.collect::<Vec<_>>().into_iter();
                let first = kinds.next();
                kinds.any(|kind| Some(kind) != first)
                    && links().any(|link| link.from.same(id) || link.to.same(id))
            })
            .map(|(_, id)| Reason::LinkOpen(id.clone()))
    }

    fn sweep(&mut self) -> Result<Sweep, Failed> {
        if let Some((heavy, light)) = extreme::steady(self.place, self.part, &self.choices) {
            return self.sweep_ends(&heavy, &light);
        }
        match choice::corners(&self.choices).filter(|&corners| corners <= MOST_CORNERS) {
            Some(corners) => {
                let mut sweep = Sweep::new(self.wide());
                for number in 0..corners {
                    let corner = choice::corner(number, &self.choices);
                    let study = self.solved(&corner)?;
                    sweep.add(&study, &corner);
                    self.with_options(&mut sweep, &study, &corner);
                    self.nearing(&mut sweep, &study, &corner);
                }
                Ok(sweep)
            }
            None => self.sweep_bounds(),
        }
    }

    fn solved(&mut self, corner: &[usize]) -> Result<PartStudy, Failed> {
        let study = self.at(corner, &mut Off);
        match study.runs.iter().find(|run| run.outcome != Outcome::Solved) {
            Some(run) => Err((run.outcome.clone(), corner.to_vec())),
            None => Ok(study),
        }
    }

    fn wide(&self) -> Vec<usize> {
        (0..self.choices.len()).filter(|&choice| self.choices[choice].wide).collect()
    }

    /// The two corners that hold the ends of everything; and those a light's own entry, or a wide choice, asks for.
    fn sweep_ends(&mut self, heavy: &[usize], light: &[usize]) -> Result<Sweep, Failed> {
        let wide = self.wide();
        let mut sweep = Sweep::new(wide.clone());
        for corner in [heavy, light] {
            let study = self.solved(corner)?;
            sweep.add(&study, corner);
        }
        for choice in 0..self.choices.len() {
            if self.limits_differ(&self.choices[choice]) {
                for option in 0..self.choices[choice].options.len() {
                    let mut corner = heavy.to_vec();
                    corner[choice] = option;
                    let study = self.solved(&corner)?;
                    self.with_option(&mut sweep, choice, &study, &corner);
                }
            }
        }
        let of_wide: Vec<Choice> = wide.iter().map(|&at| self.choices[at].clone()).collect();
        match choice::corners(&of_wide).filter(|&corners| corners <= MOST_CORNERS) {
            Some(corners) => {
                for number in 0..corners {
                    let options = choice::corner(number, &of_wide);
                    for base in [heavy, light] {
                        let mut corner = base.to_vec();
                        wide.iter().zip(&options).for_each(|(&at, &option)| corner[at] = option);
                        let study = self.solved(&corner)?;
                        sweep.add(&study, &corner);
                    }
                }
            }
            None => sweep.forget_shared(),
        }
        Ok(sweep)
    }

    /// More corners than are tried: volts and the source's figures by the pointwise extreme currents, bounds for the rest.
    fn sweep_bounds(&mut self) -> Result<Sweep, Failed> {
        let extremes = extreme::pointwise(self)?;
        let mut sweep = Sweep::new(Vec::new());
        let mut exact = true;
        for Extremes { corners, reached } in extremes {
            exact &= reached;
            for corner in corners {
                let study = self.solved(&corner)?;
                sweep.add(&study, &corner);
                self.with_options(&mut sweep, &study, &corner);
            }
        }
        sweep.bounded(exact);
        for run in &mut sweep.runs {
            let lights: Vec<(LoopAt, usize)> = run.lights.clone();
            run.by_entry =
                lights.iter().enumerate().map(|(at, light)| self.by_entry(run, at, *light)).collect();
        }
        Ok(sweep)
    }

    /// Between what the amps and watts of a light surely lie, by each entry it may be at the volts it may see.
    fn by_entry(&self, run: &RunSweep, at: usize, (on, ceiling): (LoopAt, usize)) -> Option<[(f64, f64); 2]> {
        let volts = run.of(Of::Volts(at))?;
        let wall_box = &self.place.0.boxes[on.control.wall_box];
        let wired = &wall_box.controls[on.control.control].loops[on.at];
        let mut both = [(f64::INFINITY, 0.0_f64); 2];
        for id in held(self.place.0, self.place.1, wall_box, wired, &wired.ceiling[ceiling]) {
            if matches!(self.place.1.fixture_type(self.place.0, id)?.load, Load::String { .. }) {
                return None;
            }
            for volts in [volts.least.0, volts.most.0] {
                let amps = extreme::amps(self.place, id, volts);
                for (span, figure) in both.iter_mut().zip([amps, amps * volts]) {
                    *span = (span.0.min(figure), span.1.max(figure));
                }
            }
        }
        Some(both)
    }

    /// Takes down a corner that is within the margin of what a run's cables can carry, if none is nearer.
    fn nearing(&self, sweep: &mut Sweep, study: &PartStudy, corner: &[usize]) {
        let margin = self.job.settings.collapse_margin_percent.get() / 100.0;
        for run in study.runs.iter().filter(|run| may_near(run, margin)) {
            let limits = run_limits(self.job, self.place.1, self.place.2, run.run);
            let Some((rated, max)) = limits.and_then(|limits| Some((limits.rated_watts, limits.max_watts?)))
            else {
                continue;
            };
            let share = rated / max;
            match sweep.near.iter_mut().find(|(known, ..)| *known == run.run) {
                Some((_, most, at)) if share > *most => (*most, *at) = (share, corner.to_vec()),
                Some(_) => {}
                None => sweep.near.push((run.run, share, corner.to_vec())),
            }
        }
    }

    /// Whether it matters to a limit which of its entries a light is.
    fn limits_differ(&self, choice: &Choice) -> bool {
        let (job, index, _) = self.place;
        let limit = |id: &Id| {
            let part = index.fixture_type(job, id)?;
            let volts = match part.load {
                Load::Power { volts, .. } | Load::Current { volts, .. } => volts.map(|range| range.least),
                _ => None,
            };
            Some((matches!(part.load, Load::Resistance { .. }), volts))
        };
        let mut limits = choice.options.iter().map(limit);
        let first = limits.next();
        limits.any(|limit| Some(limit) != first)
    }

    fn with_options(&self, sweep: &mut Sweep, study: &PartStudy, corner: &[usize]) {
        for (at, choice) in self.choices.iter().enumerate() {
            if self.limits_differ(choice) {
                self.with_option(sweep, at, study, corner);
            }
        }
    }

    fn with_option(&self, sweep: &mut Sweep, choice: usize, study: &PartStudy, corner: &[usize]) {
        let choice_of = &self.choices[choice];
        let Some(part) = choice_of.options.get(corner[choice]) else { return };
        let all = study.runs.iter().flat_map(|run| &run.lights);
        for light in all.filter(|light| choice_of.lights.contains(&(light.at, light.ceiling))) {
            if let (Some(volts), Some(_)) = (light.volts, light.drop_percent) {
                sweep.with_option((light.at, light.ceiling, part), volts, corner);
            }
        }
    }

    fn without_figures(&self, outcome: &Outcome, worst: Vec<usize>) -> PartStudy {
        let runs = self.place.2.parts.get(self.part).map(|part| part.runs.as_slice()).unwrap_or_default();
        let blank = |&run: &usize| part::blank(self.place, run, outcome.clone());
        let open = OpenStudy { choices: self.choices.clone(), worst, ..OpenStudy::default() };
        PartStudy { runs: runs.iter().map(blank).collect(), open: Some(Box::new(open)) }
    }

    /// Puts every figure together at its unfavourable end.
    fn put_together<R: Recorder>(&mut self, sweep: &Sweep, recorder: &mut R) -> PartStudy {
        let names = |corner: &[usize]| choice::picked(&self.choices, corner);
        let ranges: Vec<RunRanges> = sweep.runs.iter().map(|run| run_ranges(run, sweep, &names)).collect();
        let tight = sweep.tight.iter().map(|(string, corner)| (string.clone(), names(corner))).collect();
        let with = sweep
            .with
            .iter()
            .map(|((at, ceiling, part), volts, corner)| WithOption {
                at: *at,
                ceiling: *ceiling,
                part: part.clone(),
                least_volts: *volts,
                choice: names(corner),
            })
            .collect();
        let worst = sweep.worst();
        let (near, shared) = (sweep.near.clone(), sweep.shared(&names));
        let open = OpenStudy { choices: self.choices.clone(), worst, with, tight, near, shared };
        let mut sheets: BTreeMap<Vec<usize>, R> = BTreeMap::new();
        let mut first = recorder.blank();
        let mut study = self.at(&open.worst, &mut first);
        let note = |picks: &[usize]| choice::in_words(&choice::picked(&open.choices, picks));
        if R::ON {
            recorder.adopt_all(&first, &note(&open.worst));
        }
        for ((run, ranges), swept) in study.runs.iter_mut().zip(ranges).zip(&sweep.runs) {
            for (of, range) in &ranges.all {
                let figure = if of.least_is_worst() { range.least } else { range.most };
                of.put(run, Some(figure));
                if !R::ON {
                    continue;
                }
                let (name, unit) = part::name_of(self.place, run, *of);
                let corner = swept.corner(*of).map(|number| sweep.corners[number].clone());
                match corner.filter(|_| range.exact) {
                    Some(corner) => {
                        let sheet = sheets.entry(corner.clone()).or_insert_with(|| {
                            let mut sheet = recorder.blank();
                            self.at(&corner, &mut sheet);
                            sheet
                        });
                        recorder.adopt(sheet, &name, &note(&corner));
                    }
                    None => {
                        recorder.figure(
                            || name,
                            unit,
                            R::Number::input(figure, || Input::new("bound", unit, Origin::Bound)),
                        );
                    }
                }
            }
            run.strings.clone_from(&swept.strings());
            run.ranges = Some(Box::new(ranges));
        }
        study.open = Some(Box::new(open));
        study
    }
}

fn run_ranges(run: &RunSweep, sweep: &Sweep, names: &dyn Fn(&[usize]) -> Vec<Pick>) -> RunRanges {
    let range = |(of, ends): &(Of, Option<Ends>)| {
        let ends = (*ends)?;
        // What no choice changes has no range; a hair is rounding.
        if !sweep.is_bound(*of) && ends.most.0 - ends.least.0 <= 1e-12 * ends.most.0.abs() {
            return None;
        }
        let range = if sweep.is_bound(*of) {
            run.bound(*of, ends)
        } else {
            Range {
                least: ends.least.0,
                most: ends.most.0,
                exact: true,
                least_choice: names(&sweep.corners[ends.least.1]),
                most_choice: names(&sweep.corners[ends.most.1]),
            }
        };
        Some((*of, range))
    };
    RunRanges { all: run.ends.iter().filter_map(range).collect() }
}

impl RunStudy {
    /// The range of a figure over what is still open.
    pub fn range(&self, of: Of) -> Option<&Range> {
        self.ranges.as_ref()?.of(of)
    }
}
