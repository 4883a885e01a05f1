//! Home runs on another output.

use super::{Remedy, Trials, set};
use crate::format;
use crate::job::wiring::OutputRef;
use crate::job::{Id, Kind};
use serde_json::json;

/// As many moves as are tried for each run.
const MOST_MOVES: usize = 4;

/// A run that goes from an output, or has none yet, to one of the same volts with watts and a terminal to spare.
pub(super) fn another_output(trials: &mut Trials<'_>) -> Vec<Remedy> {
    let design = trials.design;
    let subject = &trials.finding.subject;
    let from = design.study.outputs.iter().find(|output| output.output.to_string() == subject.id);
    let runs: Vec<usize> = match (subject.kind, from) {
        (Kind::Output, Some(output)) => output.runs.clone(),
        (Kind::Cable, _) => {
            Id::new(&subject.id).ok().and_then(|id| design.network.run(&id)).into_iter().collect()
        }
        _ => return Vec::new(),
    };
    let watts = |run: usize| design.study.run(&design.network, run).and_then(|study| study.source_watts);
    let mut runs: Vec<(usize, Option<f64>)> = runs.into_iter().map(|run| (run, watts(run))).collect();
    runs.sort_by(|a, b| a.1.unwrap_or(f64::MAX).total_cmp(&b.1.unwrap_or(f64::MAX)));
    let target = design.job.settings.target_load_percent.get() / 100.0;
    let mut found = Vec::new();
    for (run, load) in runs {
        // The fullest that still has room keeps the emptier ones for what is heavier.
        let mut free: Vec<(&OutputRef, f64)> = design
            .study
            .outputs
            .iter()
            .filter(|output| {
                from.is_none_or(|from| output.output != from.output && output.volts == from.volts)
            })
            .filter_map(|output| {
                let terminals = design.index.supply(&design.job, &output.output.supply);
                let part = terminals.and_then(|(_, s)| design.index.supply_type(&design.job, &s.part))?;
                let room = output.limit_watts? * target - output.watts? - load.unwrap_or(0.0);
                (output.runs.len() < usize::from(part.terminals.get()) && room >= 0.0)
                    .then_some((&output.output, room))
            })
            .collect();
        free.sort_by(|a, b| a.1.total_cmp(&b.1));
        let id = &design.network.runs[run].id;
        for (output, _) in free.into_iter().take(MOST_MOVES) {
            let with = load.map(|load| format!(" ({})", format::watts(Some(load)))).unwrap_or_default();
            let text = format!("move home run {id}{with} to output {output}");
            let edit = set(Kind::Cable, id, "from", json!({ "Output": output.to_string() }));
            if let Some(remedy) = trials.plain(text, edit) {
                found.push(remedy);
                break;
            }
        }
    }
    found
}
