//! A job with everything derived from it. This is the one place that runs the stages in order.

mod reach;

use crate::checks::{self, About, Finding, Judged, Piece};
use crate::job::edit::{Edit, Indexed};
use crate::job::{Index, Job, Kind, Spot};
use crate::network::Network;
use crate::study::{Study, rooms_of};
use std::collections::BTreeSet;

/// A job and what follows from it. Nothing here is ever edited or saved but the job.
#[derive(Debug, Clone)]
pub struct Design {
    /// The document.
    pub job: Job,
    /// Where each thing stands in it.
    pub index: Index,
    /// What is tied to what.
    pub network: Network,
    /// What each thing sees and carries.
    pub study: Study,
    /// What is wrong, worst first.
    pub findings: Vec<Finding>,
    /// The same by what they are about.
    pub about: About,
    judged: Judged,
}

impl Design {
    /// Derives anew what an edit reached that was made to the job. What comes out equals a full
    /// [`derive`](Self::derive), the study to the bit. Says whether every thing stands where it stood and in what it
    /// stood, so that lines that are only positions need not be made anew.
    pub fn refresh(&mut self, edit: &Edit) -> bool {
        if let Some(reach) = reach::of(edit, &self.job, &self.index, &self.network) {
            let stand = !reach.positions && !reach.checks.every_room;
            let open = self.is_open();
            self.refresh_within(reach);
            stand && open == self.is_open()
        } else {
            (self.index, _) = Index::new(&self.job);
            self.network = Network::new(&self.job, &self.index);
            self.study = Study::new(&self.job, &self.index, &self.network);
            self.check();
            false
        }
    }

    /// Whether anything in the house is still open, which is shown from where to where.
    pub fn is_open(&self) -> bool {
        self.study.parts.iter().any(|part| part.open.is_some())
    }

    fn refresh_within(&mut self, mut reach: reach::Reach) {
        if reach.positions {
            (self.index, _) = Index::new(&self.job);
        }
        let mut stands = true;
        if reach.ties {
            let before = std::mem::replace(&mut self.network, Network::new(&self.job, &self.index));
            stands = before.parts == self.network.parts && before.runs.len() == self.network.runs.len();
            let other = before.runs.iter().zip(&self.network.runs).filter(|(before, now)| before != now);
            reach.parts.extend(other.map(|(_, now)| now.part));
        }
        if stands {
            let study = std::mem::take(&mut self.study);
            let touched: Vec<usize> = reach.parts.into_iter().collect();
            // Where things stay where they are, only the sums over what was touched are made anew.
            self.study = if reach.ties || reach.positions || reach.sums {
                study.restudy(&self.job, &self.index, &self.network, &touched)
            } else {
                study.restudy_parts(&self.job, &self.index, &self.network, &touched)
            };
            if reach.checks.everything {
                self.check();
            } else {
                self.check_again(&touched, &reach.checks);
            }
        } else {
            self.study = Study::new(&self.job, &self.index, &self.network);
            self.check();
        }
    }

    fn check(&mut self) {
        (self.judged, self.findings) = checks::judged((&self.job, &self.index, &self.network, &self.study));
        self.about = About::new(&self.findings);
    }

    /// Checks again what stands in some parts of the network, and what an edit reached besides.
    fn check_again(&mut self, parts: &[usize], reach: &reach::Looks) {
        let pieces = self.pieces(parts, reach);
        let stages = (&self.job, &self.index, &self.network, &self.study);
        if let Some(findings) = checks::again(stages, &mut self.judged, pieces) {
            self.about = About::new(&findings);
            self.findings = findings;
        }
    }

    fn pieces(&self, parts: &[usize], reach: &reach::Looks) -> BTreeSet<Piece> {
        let mut pieces: BTreeSet<Piece> = [Piece::Ties, Piece::Slack].into();
        let mut boxes = reach.boxes.clone();
        let mut rooms = reach.rooms.clone();
        let runs = parts.iter().filter_map(|&part| self.network.parts.get(part)).flat_map(|part| &part.runs);
        let runs: BTreeSet<usize> = runs.copied().collect();
        for &at in &runs {
            pieces.insert(Piece::Run(at));
            let Some(run) = self.network.runs.get(at) else { continue };
            boxes.extend(run.feeds.iter().map(|feed| feed.wall_box));
            boxes.extend(run.controls.iter().map(|(_, control)| control.wall_box));
            boxes.extend(run.allowances.iter().map(|&(_, wall_box)| wall_box));
        }
        for (at, output) in self.study.outputs.iter().enumerate() {
            if output.runs.iter().any(|run| runs.contains(run)) {
                pieces.insert(Piece::Output(at));
                if let Some(Spot::Panel(panel)) = self.index.spot(Kind::Panel, &output.panel) {
                    pieces.insert(Piece::Panel(panel));
                }
            }
        }
        for &part in parts {
            rooms.extend(rooms_of(&self.job, &self.index, &self.network, part));
        }
        for at in boxes {
            pieces.extend([Piece::Controls(at), Piece::Boxes(at), Piece::Cables(at)]);
        }
        pieces.extend(reach.panels.iter().map(|&panel| Piece::Panel(panel)));
        pieces.extend(rooms.into_iter().map(|(level, room)| Piece::Room(self.index_of_room(level, room))));
        if reach.every_room {
            pieces.extend((0..self.study.rooms.len()).map(Piece::Room));
        }
        if reach.groups {
            let groups = 0..self.job.groups.len();
            pieces.extend(groups.flat_map(|at| [Piece::Group(at), Piece::Links(at), Piece::Bus(at)]));
        }
        pieces
    }

    /// The position of a room among those of all levels.
    fn index_of_room(&self, level: usize, room: usize) -> usize {
        self.job.levels.iter().take(level).map(|level| level.rooms.len()).sum::<usize>() + room
    }

    /// The job to be edited, its things found by the index.
    pub const fn editable(&mut self) -> Indexed<'_> {
        Indexed { job: &mut self.job, index: &self.index }
    }

    /// Derives everything from a job that was read or edited without error.
    pub fn derive(job: Job) -> Self {
        let (index, _) = Index::new(&job);
        let network = Network::new(&job, &index);
        let study = Study::new(&job, &index, &network);
        let (judged, findings) = checks::judged((&job, &index, &network, &study));
        let about = About::new(&findings);
        Self { job, index, network, study, findings, about, judged }
    }
}
