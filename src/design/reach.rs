//! How far an edit reaches into what is derived from the job.
//!
//! What is not listed here reaches everything, so a field that is forgotten costs time and never a wrong figure. What is
//! listed follows from what the stages read: names and headings go into no stage before the checks; where things stand
//! changes only with what is added or taken away; a part of the study reads its own runs and what hangs on them.

use crate::job::edit::Edit;
use crate::job::wiring::Source;
use crate::job::{Id, Index, Job, Kind, Spot, Subject};
use crate::network::{ControlAt, FeedAt, Network};
use std::collections::BTreeSet;

/// What an edit makes stale short of everything. Wall boxes, feeds, controls and loops stand where they stood.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
#[expect(clippy::struct_excessive_bools, reason = "each is a way of reaching by itself")]
pub(super) struct Reach {
    /// Ceiling boxes may stand elsewhere on their loops.
    pub positions: bool,
    /// Things may be tied together otherwise.
    pub ties: bool,
    /// Lights may be in other rooms, or give other light; or a room or panel itself has changed.
    pub sums: bool,
    /// Parts of the network, as it was, with something changed in them.
    pub parts: BTreeSet<usize>,
    /// Wall boxes with something changed in them, in what hangs on them or in what comes to them.
    pub boxes: BTreeSet<usize>,
    /// Panels that were changed, or a supply in them.
    pub panels: BTreeSet<usize>,
    /// Rooms that were changed, by position among all of the house.
    pub rooms: BTreeSet<usize>,
    /// Groups with a link that was changed.
    pub groups: BTreeSet<usize>,
    /// Lengths that are reckoned from places may be others, anywhere.
    pub places: bool,
    /// Cables may be of other types.
    pub cable_types: bool,
    /// What is checked anywhere may be judged otherwise.
    pub judged: bool,
}

/// How far an edit reached that was made to the job; index and network are those from before it. `None` is everything.
pub(super) fn of(edit: &Edit, job: &Job, index: &Index, network: &Network) -> Option<Reach> {
    let mut reach = Reach::default();
    Before { job, index, network }.add(edit, &mut reach)?;
    Some(reach)
}

struct Before<'a> {
    job: &'a Job,
    index: &'a Index,
    network: &'a Network,
}

impl Before<'_> {
    fn add(&self, edit: &Edit, reach: &mut Reach) -> Option<()> {
        match edit {
            Edit::Set { subject, field, .. } => self.set(subject, field, reach),
            Edit::Insert { kind: Kind::Fixture, parent: Some(parent), .. } => {
                self.ceiling_box(self.spot(parent)?, reach)
            }
            Edit::Remove { subject } if subject.kind == Kind::Fixture => {
                self.ceiling_box(self.spot(subject)?, reach)
            }
            Edit::Together(edits) => edits.iter().try_for_each(|edit| self.add(edit, reach)),
            Edit::Insert { .. } | Edit::Remove { .. } => None,
        }
    }

    fn spot(&self, subject: &Subject) -> Option<Spot> {
        self.index.spot(subject.kind, &Id::new(&subject.id).ok()?)
    }

    /// A ceiling box comes or goes. A returned loop that gets its first one may land on another control.
    fn ceiling_box(&self, spot: Spot, reach: &mut Reach) -> Option<()> {
        reach.positions = true;
        reach.ties = true;
        match spot {
            Spot::Loop { wall_box, control, .. } | Spot::Ceiling { wall_box, control, .. } => {
                self.control(ControlAt { wall_box, control }, reach);
                reach.boxes.insert(wall_box);
                Some(())
            }
            _ => None,
        }
    }

    fn set(&self, subject: &Subject, field: &str, reach: &mut Reach) -> Option<()> {
        match (subject.kind, field) {
            (Kind::Project, "units") | (Kind::Settings, _) => return None,
            // Past planning more is asked of lengths and rooms.
            (Kind::Project, "stage") => {
                reach.judged = true;
                return Some(());
            }
            // Who answers for a finding is put to it when all are put together.
            (Kind::Job, "accepted") => return Some(()),
            (Kind::Project | Kind::Estimate, _) | (_, "name" | "tag" | "price" | "pack" | "bought") => {
                return Some(());
            }
            _ => {}
        }
        let spot = self.spot(subject)?;
        reach.cable_types |= subject.kind == Kind::Cable && field == "cable";
        self.checked(spot, field, reach);
        match (spot, field) {
            (Spot::Panel(_), "feed") | (Spot::Room { .. }, "area") => reach.sums = true,
            (Spot::Supply { .. }, "slot")
            | (Spot::Panel(_), "slots")
            | (Spot::Room { .. }, "rough")
            | (Spot::WallBox(_), "part")
            | (Spot::Link { .. }, "measured" | "cable" | "plan" | "site")
            | (Spot::WallBox(_) | Spot::Ceiling { .. }, "site")
            | (_, "readings")
            | (Spot::Meter(_), _) => {}
            (Spot::WallBox(at), "place" | "room") => {
                reach.sums = true;
                self.wall_box(at, reach)?;
            }
            (Spot::WallBox(at), "allowance_watts") => {
                reach.ties = true;
                self.wall_box(at, reach)?;
            }
            (Spot::Feed { wall_box, feed }, "measured" | "cable" | "plan" | "site") => {
                self.feed(FeedAt { wall_box, feed }, reach);
            }
            (Spot::Feed { wall_box, feed }, "from") => {
                reach.ties = true;
                self.feed(FeedAt { wall_box, feed }, reach);
            }
            (Spot::Control { wall_box, control }, "on" | "part")
            | (Spot::Loop { wall_box, control, .. }, "path" | "returns_to" | "crossed") => {
                reach.ties = true;
                self.control(ControlAt { wall_box, control }, reach);
            }
            (Spot::Loop { wall_box, control, .. }, "measured" | "return_leg" | "cable" | "plan" | "site") => {
                self.control(ControlAt { wall_box, control }, reach);
            }
            (Spot::Ceiling { wall_box, control, .. }, "room" | "place" | "leg" | "fixture" | "open") => {
                reach.sums = true;
                self.control(ControlAt { wall_box, control }, reach);
            }
            _ => return None,
        }
        Some(())
    }

    /// What of the checks looks at a thing beside the figures that the study has of it.
    fn checked(&self, spot: Spot, field: &str, reach: &mut Reach) {
        match spot {
            Spot::Panel(at) | Spot::Supply { panel: at, .. } => {
                reach.panels.insert(at);
            }
            Spot::Room { level, room } => {
                let before = self.job.levels.iter().take(level).map(|level| level.rooms.len());
                reach.rooms.insert(before.sum::<usize>() + room);
            }
            Spot::WallBox(at) => {
                reach.boxes.insert(at);
                reach.places |= matches!(field, "place" | "room");
            }
            Spot::Feed { wall_box, feed } => {
                reach.boxes.insert(wall_box);
                self.spliced(FeedAt { wall_box, feed }, reach);
            }
            Spot::Control { wall_box, .. } | Spot::Loop { wall_box, .. } | Spot::Ceiling { wall_box, .. } => {
                reach.boxes.insert(wall_box);
            }
            Spot::Link { group, link } => {
                reach.groups.insert(group);
                let link = self.job.groups.get(group).and_then(|group| group.links.get(link));
                for end in link.into_iter().flat_map(|link| [&link.from, &link.to]) {
                    if let Some(Spot::Control { wall_box, .. }) = self.index.spot(Kind::Control, end) {
                        reach.boxes.insert(wall_box);
                    }
                }
            }
            _ => {}
        }
    }

    /// The box from which a feed goes onward holds an end of it too. From which it went before is not known any more: it
    /// is one of those on its run.
    fn spliced(&self, at: FeedAt, reach: &mut Reach) {
        let feed = self.job.boxes.get(at.wall_box).and_then(|wall_box| wall_box.feeds.get(at.feed));
        if let Some(Source::Onward(from)) = feed.map(|feed| &feed.from)
            && let Some(Spot::Feed { wall_box, .. }) = self.index.spot(Kind::Cable, from)
        {
            reach.boxes.insert(wall_box);
        }
        let run = self.network.run_of_feed.get(&at).and_then(|&(run, _)| self.network.runs.get(run));
        match run {
            Some(run) => reach.boxes.extend(run.feeds.iter().map(|feed| feed.wall_box)),
            None => reach.boxes.extend(0..self.job.boxes.len()),
        }
    }

    fn feed(&self, at: FeedAt, reach: &mut Reach) {
        let run = self.network.run_of_feed.get(&at);
        reach.parts.extend(run.and_then(|&(run, _)| Some(self.network.runs.get(run)?.part)));
    }

    fn control(&self, at: ControlAt, reach: &mut Reach) {
        let run = self.network.run_of_control.get(&at);
        reach.parts.extend(run.and_then(|&run| Some(self.network.runs.get(run)?.part)));
    }

    /// All that comes to a wall box or leaves from it, with the loops of other boxes that return to it.
    fn wall_box(&self, at: usize, reach: &mut Reach) -> Option<()> {
        let entry = self.job.boxes.get(at)?;
        (0..entry.feeds.len()).for_each(|feed| self.feed(FeedAt { wall_box: at, feed }, reach));
        (0..entry.controls.len())
            .for_each(|control| self.control(ControlAt { wall_box: at, control }, reach));
        for (wall_box, other) in self.job.boxes.iter().enumerate() {
            for (control, wired) in other.controls.iter().enumerate() {
                let mut homes = wired.loops.iter().filter_map(|run| run.returns_to.as_ref());
                if homes.any(|home| entry.controls.iter().any(|control| control.id.same(home))) {
                    self.control(ControlAt { wall_box, control }, reach);
                }
            }
        }
        Some(())
    }
}
