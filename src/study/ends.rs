//! Loops fed from both ends, with either end off; and how near collapse a run may be at all.

use super::circuit::solve;
use super::gather::{BranchIs, LoadIs, gather};
use super::part::RunStudy;
use crate::job::wiring::LoopPath;
use crate::job::{Index, Job};
use crate::network::{LoopAt, Network};

/// A loop fed from both ends with one of them off.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct EndOff {
    /// The loop.
    pub at: LoopAt,
    /// Whether the end that leaves the control is off, rather than the one that returns.
    pub out_off: bool,
    /// Its lowest light by position, with its drop in percent of the output's volts; none if there is no solution.
    pub lowest: Option<(usize, f64)>,
    /// The drop of the same light with both ends on.
    pub with_both: Option<f64>,
}

/// Solves a run with each end of each of its loops fed from both ends off in turn. It solves twice for each, so it is
/// asked only of runs that have such loops.
pub fn either_end(job: &Job, index: &Index, network: &Network, run: usize) -> Vec<EndOff> {
    let Some(part) = network.runs.get(run).map(|run| run.part) else { return Vec::new() };
    let Ok(gathered) = gather(job, index, network, part, &mut crate::working::Off) else { return Vec::new() };
    let mut ends = Vec::new();
    let mut both_on = None;
    for &(_, control) in &network.runs[run].controls {
        let wired = &job.boxes[control.wall_box].controls[control.control];
        for (number, wired) in wired.loops.iter().enumerate() {
            let at = LoopAt { control, at: number };
            let of_loop = |(_, is): &(usize, BranchIs)| *is == BranchIs::Leg(at);
            let first = gathered.branches.iter().position(of_loop);
            let last = gathered.branches.iter().rposition(of_loop);
            let both = wired.path == LoopPath::Returned && !wired.ceiling.is_empty();
            let (Some(first), Some(last), true) = (first, last, both) else { continue };
            for (branch, out_off) in [(first, true), (last, false)] {
                let mut circuit = gathered.circuit.clone();
                circuit.branches.remove(branch);
                let solution = solve(&circuit).ok();
                let on = both_on.get_or_insert_with(|| solve(&gathered.circuit).ok());
                let lights =
                    gathered.loads.iter().zip(&circuit.loads).filter_map(|((_, is), load)| match is {
                        LoadIs::Light(on, ceiling) if *on == at => Some((*ceiling, load.node)),
                        _ => None,
                    });
                let lowest = solution.as_ref().and_then(|solution| {
                    let volts = lights.map(|(ceiling, node)| (ceiling, solution.volts[node]));
                    volts.min_by(|a, b| a.1.total_cmp(&b.1))
                });
                let percent = |volts: f64| (circuit.source_volts - volts) / circuit.source_volts * 100.0;
                // A loop that solves but holds no light has nothing to report.
                if solution.is_none() || lowest.is_some() {
                    let node = lowest.and_then(|(ceiling, _)| {
                        let is = LoadIs::Light(at, ceiling);
                        let load = gathered.loads.iter().position(|(_, other)| *other == is)?;
                        Some(circuit.loads[load].node)
                    });
                    let with_both = on.as_ref().zip(node).map(|(on, node)| percent(on.volts[node]));
                    let lowest = lowest.map(|(ceiling, volts)| (ceiling, percent(volts)));
                    ends.push(EndOff { at, out_off, lowest, with_both });
                }
            }
        }
    }
    ends
}

/// Whether a run could be within a margin of the most its cables can carry, by its volts alone.
///
/// With every drop of a solution scaled by μ, the currents scale by μ too, and each load of constant power gets at least
/// λ times its watts as long as μ·(1 - μ·x) >= λ·(1 - x), x being its drop as a share of the source's volts. With
/// μ = 1/(2x) for the greatest drop x that is λ = 1/(4x·(1 - x)), and for x below 0.45 it holds for every lesser drop as
/// well, since both sides are straight in x. So a run whose greatest drop has 4x·(1 - x) <= 1 - margin is farther away.
pub fn may_near(study: &RunStudy, margin: f64) -> bool {
    let Some(source) = study.source_volts else { return false };
    let feeds = study.feed_volts.iter().filter_map(|(_, volts)| *volts);
    let lights =
        study.lights.iter().filter(|light| light.drop_volts.is_some()).filter_map(|light| light.volts);
    let lowest = feeds.chain(lights).fold(source, f64::min);
    let x = (source - lowest) / source;
    x > 0.45 || 4.0 * x * (1.0 - x) > 1.0 - margin
}
