//! What holds between runs: which stay on one output, which must be apart or on one supply, which should be spread.

use super::gather::Load;
use crate::design::Design;
use crate::job::catalogue::LinkKind;
use crate::job::{Id, Kind as Thing, Spot};
use std::collections::BTreeMap;

/// What holds between loads, by their positions.
pub(super) struct Groups {
    /// Loads with the same number stay on one output.
    pub bond: Vec<usize>,
    pub apart: Vec<Vec<usize>>,
    pub together: Vec<Vec<usize>>,
    pub spread: Vec<Vec<usize>>,
}

impl Groups {
    pub(super) fn new(design: &Design, loads: &[Load]) -> Self {
        let by_run = |run: usize| loads.iter().position(|load| load.run == Some(run));
        let by_ids = |ids: &Vec<Id>| -> Vec<usize> {
            ids.iter().filter_map(|id| design.network.run(id)).filter_map(by_run).collect()
        };
        let mut bond: Vec<usize> = (0..loads.len()).collect();
        let mut join = |a: usize, b: usize| {
            let (a, b) = (bond[a], bond[b]);
            for own in &mut bond {
                if *own == b {
                    *own = a;
                }
            }
        };
        for part in &design.network.parts {
            let own: Vec<usize> = part.runs.iter().filter_map(|&run| by_run(run)).collect();
            for pair in own.windows(2) {
                join(pair[0], pair[1]);
            }
        }
        for (a, b) in unstated_links(design) {
            if let (Some(a), Some(b)) = (by_run(a), by_run(b))
                && loads[a].output.is_some()
                && loads[a].output == loads[b].output
            {
                join(a, b);
            }
        }
        let rules = &design.job.settings.balance;
        let mut by_room: BTreeMap<(usize, Option<usize>), Vec<usize>> = BTreeMap::new();
        for (number, load) in loads.iter().enumerate() {
            for &(level, room) in &load.rooms {
                for key in [(level, None), (level, Some(room))] {
                    let list = by_room.entry(key).or_default();
                    if list.last() != Some(&number) {
                        list.push(number);
                    }
                }
            }
        }
        let mut spread: Vec<Vec<usize>> = rules.ways_out.iter().map(by_ids).collect();
        spread.extend(by_room.into_values());
        Self {
            bond,
            apart: rules.apart.iter().map(by_ids).collect(),
            together: rules.together.iter().map(by_ids).collect(),
            spread: spread.into_iter().filter(|group| group.len() > 1).collect(),
        }
    }
}

/// Runs that a control link joins whose isolation is not stated: on different outputs they might meet.
fn unstated_links(design: &Design) -> Vec<(usize, usize)> {
    let mut pairs = Vec::new();
    for link in design.job.groups.iter().flat_map(|group| &group.links) {
        let ends = [&link.from, &link.to].map(|id| {
            let (_, control) = design.index.control(&design.job, id)?;
            let kind = design.index.control_type(&design.job, &control.part).and_then(|part| part.link);
            match design.index.spot(Thing::Control, id)? {
                Spot::Control { wall_box, control } => {
                    let at = crate::network::ControlAt { wall_box, control };
                    Some((design.network.run_of_control.get(&at).copied()?, kind))
                }
                _ => None,
            }
        });
        if let [Some((a, one)), Some((b, two))] = ends
            && a != b
            && ![one, two].contains(&Some(LinkKind::Isolated))
        {
            pairs.push((a, b));
        }
    }
    pairs
}
