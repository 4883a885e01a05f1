//! Findings by what was looked at, so that after an edit only what it reached is looked at again.

use super::finding::Finding;
use super::{Seen, accept, boxes, bus, cable, control, electrical, network, panel, room, supply};
use crate::tally::{Work, count};
use std::collections::BTreeMap;

/// What a check looks at, by position; in the order in which findings of one severity are told.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Piece {
    /// What is tied wrongly.
    Ties,
    /// A run of the network.
    Run(usize),
    /// An output of the study.
    Output(usize),
    /// The types of supply in use.
    SupplyTypes,
    /// A panel.
    Panel(usize),
    /// The controls and loops of a wall box.
    Controls(usize),
    /// A group's controls.
    Group(usize),
    /// A wall box and the ceiling boxes on its loops, as boxes.
    Boxes(usize),
    /// The types of cable in use.
    CableTypes,
    /// The feeds of a wall box and the loops that leave it, as cables.
    Cables(usize),
    /// The links of a group, as cables.
    Links(usize),
    /// What is left for make-up.
    Slack,
    /// The bus of a group.
    Bus(usize),
    /// A room, counted over all levels.
    Room(usize),
}

/// What was found at each piece of a job where anything was. Acceptances are not marked in it.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Judged {
    found: BTreeMap<Piece, Vec<Finding>>,
}

impl Judged {
    pub(super) fn whole(seen: Seen<'_>) -> Self {
        let mut judged = Self::default();
        judged.again(seen, all(seen));
        judged
    }

    /// Looks at some pieces again, and says whether anything else was found there than before.
    pub(super) fn again(&mut self, seen: Seen<'_>, pieces: impl IntoIterator<Item = Piece>) -> bool {
        let mut other = false;
        for piece in pieces {
            let mut found = Vec::new();
            judge(seen, piece, &mut found);
            if found.is_empty() {
                other |= self.found.remove(&piece).is_some();
            } else if self.found.get(&piece) != Some(&found) {
                self.found.insert(piece, found);
                other = true;
            }
        }
        other
    }

    /// All findings: worst first, then in the order of the job, and what somebody accepted last.
    pub(super) fn findings(&self, seen: Seen<'_>) -> Vec<Finding> {
        let mut findings: Vec<Finding> = self.found.values().flatten().cloned().collect();
        accept::mark(seen, &mut findings);
        findings.sort_by_key(|finding| (finding.accepted.is_some(), finding.severity));
        findings
    }
}

/// Everything there is to look at.
fn all(seen: Seen<'_>) -> Vec<Piece> {
    let mut pieces = vec![Piece::Ties, Piece::SupplyTypes, Piece::CableTypes, Piece::Slack];
    let mut each = |count: usize, kind: fn(usize) -> Piece| pieces.extend((0..count).map(kind));
    each(seen.network.runs.len(), Piece::Run);
    each(seen.study.outputs.len(), Piece::Output);
    each(seen.job.panels.len(), Piece::Panel);
    for kind in [Piece::Controls, Piece::Boxes, Piece::Cables] {
        each(seen.job.boxes.len(), kind);
    }
    for kind in [Piece::Group, Piece::Links, Piece::Bus] {
        each(seen.job.groups.len(), kind);
    }
    each(seen.study.rooms.len(), Piece::Room);
    pieces
}

fn judge(seen: Seen<'_>, piece: Piece, found: &mut Vec<Finding>) {
    count(Work::Checks);
    let wall_box = |at: usize| seen.job.boxes.get(at);
    let group = |at: usize| seen.job.groups.get(at);
    match piece {
        Piece::Ties => network::check(seen, found),
        Piece::Run(at) => electrical::check(seen, at, found),
        Piece::Output(at) => supply::output(seen, at, found),
        Piece::SupplyTypes => supply::types(seen, found),
        Piece::Panel(at) => panel::check(seen, at, found),
        Piece::Controls(at) => wall_box(at).into_iter().for_each(|it| control::check(seen, it, found)),
        Piece::Group(at) => group(at).into_iter().for_each(|it| control::group(seen, it, found)),
        Piece::Boxes(at) => wall_box(at).into_iter().for_each(|it| boxes::check(seen, it, found)),
        Piece::CableTypes => cable::types(seen, found),
        Piece::Cables(at) => wall_box(at).into_iter().for_each(|it| cable::of_box(seen, it, found)),
        Piece::Links(at) => group(at).into_iter().for_each(|it| cable::of_group(seen, it, found)),
        Piece::Slack => cable::slack(seen, found),
        Piece::Bus(at) => group(at).into_iter().for_each(|it| bus::check(seen, it, found)),
        Piece::Room(at) => room::check(seen, at, found),
    }
}
