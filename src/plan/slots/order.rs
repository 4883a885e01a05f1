//! The order of outputs: neighbours in the house are neighbours in the panel.

use super::super::balance::rooms_of;
use crate::design::Design;
use crate::job::edit::Edit;
use crate::job::panel::Supply;
use crate::job::wiring::OutputRef;
use crate::job::{Kind, Subject};
use crate::study::OutputStudy;
use serde::Serialize;
use serde_json::json;

/// A run that changes its output within its supply.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct OutputMove {
    /// The home run's cable.
    pub run: String,
    /// Its output today.
    pub from: String,
    /// Its output then.
    pub to: String,
}

impl OutputMove {
    pub(super) fn edit(&self) -> Edit {
        Edit::Set {
            subject: Subject::new(Kind::Cable, &self.run),
            field: "from".into(),
            value: json!({ "Output": self.to }),
        }
    }
}

/// Exchanges what whole outputs of a supply hold, so that what they light is in the order of the house. Outputs with
/// a landed or pinned run stay. Loads are the same after it, since the outputs of a supply are alike.
pub(super) fn outputs(design: &Design) -> Vec<OutputMove> {
    let supplies = design.job.panels.iter().flat_map(|panel| &panel.supplies);
    supplies.flat_map(|supply| of_supply(design, supply)).collect()
}

fn of_supply(design: &Design, supply: &Supply) -> Vec<OutputMove> {
    let all = design.study.outputs.iter().filter(|output| output.output.supply.same(&supply.id));
    let free: Vec<&OutputStudy> = all.filter(|output| !stays(design, output)).collect();
    let mut contents: Vec<&[usize]> = free.iter().map(|output| output.runs.as_slice()).collect();
    let place = |runs: &[usize]| runs.iter().filter_map(|&run| rooms_of(design, run).first().copied()).min();
    contents.sort_by_key(|runs| (runs.is_empty(), place(runs), runs.iter().min().copied()));
    let mut moves = Vec::new();
    for (output, runs) in free.iter().zip(contents) {
        for &run in runs {
            let now = &design.network.runs[run];
            let from = now.output.as_ref().filter(|from| !same(from, &output.output));
            moves.extend(from.map(|from| OutputMove {
                run: now.id.to_string(),
                from: from.to_string(),
                to: output.output.to_string(),
            }));
        }
    }
    moves
}

fn same(one: &OutputRef, other: &OutputRef) -> bool {
    one.number == other.number && one.supply.same(&other.supply)
}

/// Whether something on the output is landed or pinned.
fn stays(design: &Design, output: &OutputStudy) -> bool {
    output.runs.iter().filter_map(|&run| design.network.runs[run].feeds.first()).any(|at| {
        let feed = &design.job.boxes[at.wall_box].feeds[at.feed];
        feed.landed || feed.pinned
    })
}
