//! How near a run is to what its cables can carry at all.

use super::Study;
use super::circuit::{largest_ohms_factor, largest_power_factor};
use super::gather::{BranchIs, Drawn, gather};
use super::part::Place;
use crate::format::Quantity;
use crate::job::{Index, Job};
use crate::network::{Lengths, Network};
use crate::units::Length;
use crate::working::{Input, Number, Off, Origin, Recorder};

/// The limits of a run.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RunLimits {
    /// The watts its loads of constant power are rated for.
    pub rated_watts: f64,
    /// The most such watts its cables can carry: rated watts times the largest common factor that still solves.
    pub max_watts: Option<f64>,
    /// The length up to which its home run would carry its load; none if no length would, or any.
    pub longest_home_run: Option<Length>,
}

/// Takes down how the most watts of each run came about.
pub fn record_limits<R: Recorder>((job, index, network): Place<'_>, study: &Study, recorder: &mut R) {
    for (number, run) in network.runs.iter().enumerate() {
        let open = study.parts.get(run.part).and_then(|part| part.open.as_ref());
        let closed = open.map(|open| open.worst_job(job));
        limits_with(
            closed.as_ref().unwrap_or(job),
            index,
            network,
            number,
            recorder,
            |rated, factor, recorder| {
                let named = |key: &str| format!("run/{}/{key}", run.id);
                let rated = recorder.figure(|| named("rated_watts"), Quantity::Watts, rated);
                let factor = factor?;
                let factor = R::Number::input(factor, || {
                    Input::new("largest common factor that still solves", Quantity::Ratio, Origin::Search)
                });
                let most = rated * factor;
                Some(recorder.figure(|| named("max_watts"), Quantity::Watts, most).value())
            },
        );
    }
}

impl Study {
    /// The limits of a run, with what is open chosen as is hardest on it; see [`run_limits`].
    pub fn limits(&self, (job, index, network): Place<'_>, run: usize) -> Option<RunLimits> {
        let part = network.runs.get(run)?.part;
        match self.parts.get(part).and_then(|part| part.open.as_ref()) {
            Some(open) => run_limits(&open.worst_job(job), index, network, run),
            None => run_limits(job, index, network, run),
        }
    }
}

/// Computes the limits of a run; `None` where its circuit is unknown. It solves many times, so it is asked for when
/// it is shown, not with every edit.
pub fn run_limits(job: &Job, index: &Index, network: &Network, run: usize) -> Option<RunLimits> {
    limits_with(job, index, network, run, &mut Off, |rated, factor, _| Some(rated * factor?))
}

fn limits_with<R: Recorder>(
    job: &Job,
    index: &Index,
    network: &Network,
    run: usize,
    recorder: &mut R,
    most: impl FnOnce(R::Number, Option<f64>, &mut R) -> Option<f64>,
) -> Option<RunLimits> {
    let entry = network.runs.get(run)?;
    let gathered = gather(job, index, network, entry.part, &mut recorder.blank()).ok()?;
    let zero = || R::Number::constant(0.0);
    let mine = gathered.loads.iter().zip(&gathered.draws).filter(|((of, _), _)| *of == run);
    let rated = mine.fold(zero(), |sum, (_, draws)| match draws {
        Some(Drawn::Watts(watts)) => sum + watts.clone(),
        _ => sum,
    });
    let rated_watts = rated.value();
    let factor = largest_power_factor(&gathered.circuit).filter(|_| rated_watts > 0.0);
    let home_run = *entry.feeds.first()?;
    let branch = gathered.branches.iter().position(|(_, is)| *is == BranchIs::Feed(home_run))?;
    let wall_box = &job.boxes[home_run.wall_box];
    let now = Lengths::new(job, index).feed(wall_box, &wall_box.feeds[home_run.feed])?;
    let stretch = largest_ohms_factor(&gathered.circuit, &[branch]);
    Some(RunLimits {
        rated_watts,
        max_watts: most(rated, factor, recorder),
        longest_home_run: stretch.and_then(|factor| stretched(now.length, factor, job)),
    })
}

/// Rounded down to a foot or a tenth of a metre, to the safe side.
#[expect(
    clippy::cast_precision_loss,
    clippy::cast_possible_truncation,
    reason = "capped below 2^53 ticks first"
)]
fn stretched(now: Length, factor: f64, job: &Job) -> Option<Length> {
    let step = match job.project.units {
        crate::units::LengthUnit::Feet => 3_048_000,
        crate::units::LengthUnit::Metres => 1_000_000,
    };
    let ticks = now.ticks() as f64 * factor;
    (ticks.is_finite() && ticks < 1e15)
        .then(|| Length::from_ticks(ticks as i64 / step * step, job.project.units))
        .filter(|length| length.ticks() > 0)
}
