//! How far each thing was on site in the old state, by what is done to it.

use super::Key;
use crate::design::Design;
use crate::job::catalogue::Per;
use crate::job::site::{CableRecord, Splice, Step};
use crate::job::{Kind, Stage, Subject};
use crate::takeoff::Group;
use std::collections::{HashMap, HashSet};

/// What is done to a thing.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub(super) enum Aspect {
    /// A cable is pulled.
    Pulled,
    /// A box is set.
    Set,
    /// A fixture hangs, or a control is in its box.
    Hung,
    /// The conductors in a box are joined.
    Joined,
    /// A home run is on its terminals.
    Landed,
    /// A home run is tested.
    Tested,
    /// A supply or a panel is mounted.
    Mounted,
    /// What is for the whole job.
    Whole,
}

impl Aspect {
    /// What a task does.
    pub(super) fn of_task(task: &str) -> Self {
        match task {
            "home_run" | "run_loop" | "link" | "cable_100_ft" => Self::Pulled,
            "wall_box" | "ceiling_box" => Self::Set,
            "control" | "fixture" => Self::Hung,
            "joint" => Self::Joined,
            "landing" => Self::Landed,
            "test" => Self::Tested,
            "supply" | "panel" => Self::Mounted,
            _ => Self::Whole,
        }
    }

    /// How a part comes into the house; a small part with what it is counted by.
    pub(super) const fn of_part(group: Group, per: Option<Per>) -> Self {
        match (group, per) {
            (Group::Boxes, _) | (Group::SmallParts, Some(Per::WallBox | Per::CeilingBox)) => Self::Set,
            (Group::Fixtures | Group::Controls, _)
            | (Group::SmallParts, Some(Per::Control | Per::Fixture)) => Self::Hung,
            (Group::Supplies, _) | (Group::SmallParts, Some(Per::Supply | Per::Panel)) => Self::Mounted,
            (Group::SmallParts, Some(Per::HomeRun | Per::Loop | Per::Cable)) => Self::Pulled,
            (Group::SmallParts, Some(Per::Joint) | None) => Self::Joined,
            (Group::SmallParts, Some(Per::Job)) => Self::Whole,
        }
    }
}

/// What is done in the house.
#[derive(Debug, Default)]
pub(super) struct Site {
    done: HashSet<(Aspect, Key)>,
    /// The length of pulled cables in ticks, where their foot marks were read.
    lengths: HashMap<Key, i64>,
}

pub(super) fn key(subject: &Subject) -> Key {
    (subject.kind, subject.id.to_ascii_lowercase())
}

impl Site {
    pub(super) fn of(design: &Design) -> Self {
        let mut site = Self::default();
        let job = &design.job;
        for wall_box in &job.boxes {
            let box_key = (Kind::WallBox, wall_box.id.folded());
            let step = wall_box.site.done.step();
            site.put(step >= Step::Pulled, Aspect::Set, &box_key);
            let hung = step >= Step::Trimmed;
            site.put(hung, Aspect::Joined, &box_key);
            for feed in &wall_box.feeds {
                let feed_key = (Kind::Cable, feed.id.folded());
                site.cable(&feed_key, &feed.site);
                site.put(feed.landed, Aspect::Landed, &feed_key);
                site.put(feed.site.done.is_tested(), Aspect::Tested, &feed_key);
            }
            for control in &wall_box.controls {
                site.put(hung, Aspect::Hung, &(Kind::Control, control.id.folded()));
                for run in &control.loops {
                    site.cable(&(Kind::Cable, run.id.folded()), &run.site);
                    let pulled = run.site.done.step() >= Step::Pulled;
                    for ceiling in &run.ceiling {
                        let ceiling_key = (Kind::Fixture, ceiling.id.folded());
                        let step = ceiling.site.done.step();
                        let hangs = step >= Step::Trimmed || ceiling.site.splice == Splice::FixtureOn;
                        site.put(pulled || hangs || step >= Step::Pulled, Aspect::Set, &ceiling_key);
                        site.put(hangs, Aspect::Hung, &ceiling_key);
                        site.put(hangs, Aspect::Joined, &ceiling_key);
                    }
                }
            }
        }
        for link in job.groups.iter().flat_map(|group| &group.links) {
            site.cable(&(Kind::Cable, link.id.folded()), &link.site);
        }
        // Nobody records when a supply is mounted: at trim it is.
        let mounted = job.project.stage == Stage::Trim;
        for panel in &job.panels {
            let panel_key = (Kind::Panel, panel.id.folded());
            site.put(mounted, Aspect::Mounted, &panel_key);
            site.put(mounted, Aspect::Joined, &panel_key);
            for supply in &panel.supplies {
                site.put(mounted, Aspect::Mounted, &(Kind::Supply, supply.id.folded()));
            }
        }
        site
    }

    fn put(&mut self, is: bool, aspect: Aspect, thing: &Key) {
        if is {
            self.done.insert((aspect, thing.clone()));
        }
    }

    fn cable(&mut self, cable: &Key, record: &CableRecord) {
        self.put(record.done.step() >= Step::Pulled, Aspect::Pulled, cable);
        if let Some(pulled) = record.pulled() {
            self.lengths.insert(cable.clone(), pulled.ticks());
        }
    }

    /// Whether that is done to a thing.
    pub(super) fn is_done(&self, aspect: Aspect, thing: &Key) -> bool {
        self.done.contains(&(aspect, thing.clone()))
    }

    /// The ticks of a pulled cable by its foot marks.
    pub(super) fn pulled(&self, cable: &Key) -> Option<i64> {
        self.lengths.get(cable).copied()
    }
}
