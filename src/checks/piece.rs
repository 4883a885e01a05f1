//! The checks in pieces, each of one thing, so that after an edit only those are made anew that it reached.

use super::finding::Finding;
use super::{Seen, accept, boxes, bus, cable, control, electrical, network, panel, room, supply};
use crate::job::{Index, Job};
use crate::network::Network;
use crate::study::Study;
use crate::tally::{Work, count};
use std::collections::{BTreeMap, BTreeSet};

/// A piece of the checks; the order is that of the findings. Numbers are positions in the job, the network or the study.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Piece {
    /// What is tied wrongly.
    Network,
    /// A run with its lights and strings.
    Run(usize),
    /// An output.
    Output(usize),
    /// The types of the supplies.
    SupplyTypes,
    /// A panel.
    Panel(usize),
    /// The controls of a wall box with their loops.
    Controls(usize),
    /// A group of controls.
    Group(usize),
    /// A wall box and the ceiling boxes of its loops.
    Boxes(usize),
    /// The types of the cables.
    CableTypes,
    /// The feeds and the loops of a wall box.
    Cables(usize),
    /// The links of a group.
    Links(usize),
    /// What is left over for make-up.
    Slack,
    /// The bus of a group.
    Bus(usize),
    /// A room.
    Room(usize),
}

impl Piece {
    /// Every piece there is.
    fn all(seen: Seen<'_>) -> impl Iterator<Item = Self> {
        let (job, study) = (seen.job, seen.study);
        let groups = 0..job.groups.len();
        let boxes = 0..job.boxes.len();
        [Self::Network, Self::SupplyTypes, Self::CableTypes, Self::Slack]
            .into_iter()
            .chain((0..seen.network.runs.len()).map(Self::Run))
            .chain((0..study.outputs.len()).map(Self::Output))
            .chain((0..job.panels.len()).map(Self::Panel))
            .chain(boxes.flat_map(|at| [Self::Controls(at), Self::Boxes(at), Self::Cables(at)]))
            .chain(groups.flat_map(|at| [Self::Group(at), Self::Links(at), Self::Bus(at)]))
            .chain((0..study.rooms.len()).map(Self::Room))
    }

    /// What it finds.
    fn check(self, seen: Seen<'_>) -> Vec<Finding> {
        count(Work::Checks);
        let (mut findings, job) = (Vec::new(), seen.job);
        let found = &mut findings;
        match self {
            Self::Network => network::check(seen, found),
            Self::Run(at) => electrical::check(seen, at, found),
            Self::Output(at) => {
                seen.study.outputs.get(at).into_iter().for_each(|output| supply::output(seen, output, found));
            }
            Self::SupplyTypes => supply::types(seen, found),
            Self::Panel(at) => panel::check(seen, at, found),
            Self::Controls(at) => {
                job.boxes.get(at).into_iter().for_each(|of| control::wall_box(seen, of, found));
            }
            Self::Group(at) => job.groups.get(at).into_iter().for_each(|of| control::group(seen, of, found)),
            Self::Boxes(at) => boxes::check(seen, at, found),
            Self::CableTypes => cable::types(seen, found),
            Self::Cables(at) => {
                job.boxes.get(at).into_iter().for_each(|of| cable::of_box(seen, of, found));
            }
            Self::Links(at) => job.groups.get(at).into_iter().for_each(|of| cable::links(seen, of, found)),
            Self::Slack => cable::slack(seen, found),
            Self::Bus(at) => job.groups.get(at).into_iter().for_each(|of| bus::check(seen, of, found)),
            Self::Room(at) => room::check(seen, at, found),
        }
        findings
    }
}

/// What each piece found, those that found something.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Checked {
    found: BTreeMap<Piece, Vec<Finding>>,
}

impl Checked {
    /// Every piece.
    pub fn new(job: &Job, index: &Index, network: &Network, study: &Study) -> Self {
        let seen = Seen { job, index, network, study };
        let found = Piece::all(seen).map(|piece| (piece, piece.check(seen)));
        Self { found: found.filter(|(_, findings)| !findings.is_empty()).collect() }
    }

    /// Makes some pieces anew. No thing may have come, gone or changed place since the others were made.
    pub fn anew(
        &mut self,
        (job, index, network, study): (&Job, &Index, &Network, &Study),
        pieces: &BTreeSet<Piece>,
    ) {
        let seen = Seen { job, index, network, study };
        for &piece in pieces {
            let findings = piece.check(seen);
            if findings.is_empty() {
                self.found.remove(&piece);
            } else {
                self.found.insert(piece, findings);
            }
        }
    }

    /// All findings: worst first, then in the order of the job, and what somebody accepted last.
    pub fn findings(&self, job: &Job, index: &Index, network: &Network, study: &Study) -> Vec<Finding> {
        let mut findings: Vec<Finding> = self.found.values().flatten().cloned().collect();
        accept::mark(Seen { job, index, network, study }, &mut findings);
        findings.sort_by_key(|finding| (finding.accepted.is_some(), finding.severity));
        findings
    }
}
