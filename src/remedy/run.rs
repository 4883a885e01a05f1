//! Home runs on another output.

use super::{Remedy, THEN, Trials, set};
use crate::design::Design;
use crate::format;
use crate::job::edit::Edit;
use crate::job::wiring::OutputRef;
use crate::job::{Id, Kind};
use crate::network::Lengths;
use serde_json::json;

/// As many moves as are tried for each run.
const MOST_MOVES: usize = 4;

/// A run that goes from an output, or has none yet, to one of the same volts with watts and a terminal to spare.
pub(super) fn another_output(trials: &mut Trials<'_>) -> Vec<Remedy> {
    let design = trials.design;
    let subject = &trials.finding.subject;
    let mut outputs = design.study.outputs.iter().filter(|_| subject.kind == Kind::Output);
    let from = outputs.find(|output| output.output.to_string() == subject.id);
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
        let mut tried: Vec<Remedy> = Vec::new();
        for output in of_each_volts(design, free) {
            let with = load.map(|load| format!(" ({})", format::watts(Some(load)))).unwrap_or_default();
            let text = format!("move home run {id}{with} to output {output}");
            let edit = set(Kind::Cable, id, "from", json!({ "Output": output.to_string() }));
            tried.extend(trials.plain(text.clone(), edit));
            if tried.last().is_some_and(|remedy| remedy.text == text) {
                break;
            }
        }
        // One with which nothing else comes to light, if there is one.
        let plain = tried.iter().position(|remedy| !remedy.text.contains(THEN)).unwrap_or(0);
        found.extend((plain < tried.len()).then(|| tried.swap_remove(plain)));
    }
    found
}

/// The first few outputs of each of the volts there are.
fn of_each_volts<'a>(design: &Design, outputs: Vec<(&'a OutputRef, f64)>) -> Vec<&'a OutputRef> {
    let volts = |output: &OutputRef| {
        design.study.outputs.iter().find(|study| study.output == *output).and_then(|study| study.volts)
    };
    let mut kept: Vec<&OutputRef> = Vec::new();
    for (output, _) in outputs {
        if kept.iter().filter(|known| volts(known) == volts(output)).count() < MOST_MOVES {
            kept.push(output);
        }
    }
    kept
}

/// A home run from an output of another panel of the same volts, where the way is short enough.
pub(super) fn nearer_panel(trials: &mut Trials<'_>, feed: &Id) -> Option<Remedy> {
    let design = trials.design;
    let run = design.network.run(feed).and_then(|run| design.network.runs.get(run))?;
    let volts = |output: &OutputRef| {
        design.study.outputs.iter().find(|study| study.output == *output).and_then(|study| study.volts)
    };
    let now = run.output.as_ref().and_then(volts);
    let others: Vec<&OutputRef> = design
        .study
        .outputs
        .iter()
        .filter(|study| !study.panel.same(&run.panel) && study.volts == now)
        .map(|study| &study.output)
        .take(MOST_MOVES)
        .collect();
    // What was measured was measured from the panel it comes from.
    others.into_iter().find_map(|output| {
        let edit = Edit::Together(vec![
            set(Kind::Cable, feed, "from", json!({ "Output": output.to_string() })),
            set(Kind::Cable, feed, "measured", json!(null)),
        ]);
        trials.told(edit, |after| {
            let units = after.job.project.units;
            let length = Lengths::new(&after.job, &after.index).cable(feed);
            let length =
                length.map(|length| format!(" ({})", length.length.shown(units))).unwrap_or_default();
            format!("bring home run {feed} from output {output}{length}")
        })
    })
}
