//! Regions of a house: what has no wire, no panel and no room in common, so that an edit in one changes no figure of
//! another. What helps against a finding is tried in a house of its region alone, which costs the same in any house.

use crate::design::Design;
use crate::job::edit::Edit;
use crate::job::house::Level;
use crate::job::wiring::Source;
use crate::job::{Id, Job, Kind, Spot, Subject};
use serde_json::Value;
use std::collections::{BTreeSet, HashMap};

/// Regions by their numbers.
pub(super) type Set = BTreeSet<usize>;

/// The regions of a house.
#[derive(Debug)]
pub(super) struct Regions {
    /// Of each panel, then of each wall box, then of each room.
    of: Vec<usize>,
    panels: usize,
    boxes: usize,
    /// Where the rooms of each level begin among those of all.
    levels: Vec<usize>,
    /// How many wall boxes are in each region.
    counts: HashMap<usize, usize>,
}

/// Where a thing is.
enum At {
    Region(usize),
    /// It is not there, or may be anywhere.
    Nowhere,
    /// What is about it concerns the whole house.
    House,
}

impl Regions {
    /// The regions of a design.
    pub(super) fn of(design: &Design) -> Self {
        let job = &design.job;
        let mut rooms = 0;
        let levels = job.levels.iter().map(|level| {
            rooms += level.rooms.len();
            rooms - level.rooms.len()
        });
        let levels: Vec<usize> = levels.collect();
        let (panels, boxes) = (job.panels.len(), job.boxes.len());
        let mut regions =
            Self { of: (0..panels + boxes + rooms).collect(), panels, boxes, levels, counts: HashMap::new() };
        for at in 0..boxes {
            regions.join_box(design, at);
        }
        for group in &job.groups {
            let ends = group.links.iter().flat_map(|link| [&link.from, &link.to]);
            let controls = std::iter::once(&group.main).chain(&group.remotes).chain(ends);
            let nodes: Vec<usize> =
                controls.filter_map(|id| regions.node(design.index.spot(Kind::Control, id)?)).collect();
            nodes.windows(2).for_each(|pair| regions.join(pair[0], pair[1]));
        }
        for node in 0..regions.of.len() {
            regions.of[node] = regions.root(node);
        }
        for at in panels..panels + boxes {
            *regions.counts.entry(regions.of[at]).or_default() += 1;
        }
        regions
    }

    /// Joins a wall box with what feeds it, the rooms it lights, and where its loops return to.
    fn join_box(&mut self, design: &Design, at: usize) {
        let wall_box = &design.job.boxes[at];
        let index = &design.index;
        let mut spots = vec![index.spot(Kind::Room, &wall_box.room)];
        for feed in &wall_box.feeds {
            spots.push(match &feed.from {
                Source::Output(output) => index.spot(Kind::Supply, &output.supply),
                Source::Panel(panel) => index.spot(Kind::Panel, panel),
                Source::Onward(feed) => index.spot(Kind::Cable, feed),
            });
        }
        for control in &wall_box.controls {
            spots.extend(control.on.iter().map(|feed| index.spot(Kind::Cable, feed)));
            for wired in &control.loops {
                spots.extend(wired.returns_to.iter().map(|home| index.spot(Kind::Control, home)));
                let rooms = wired.ceiling.iter().filter_map(|held| held.room.as_ref());
                spots.extend(rooms.map(|room| index.spot(Kind::Room, room)));
            }
        }
        for spot in spots.into_iter().flatten() {
            if let Some(node) = self.node(spot) {
                self.join(self.panels + at, node);
            }
        }
    }

    fn node(&self, spot: Spot) -> Option<usize> {
        match spot {
            Spot::Panel(panel) | Spot::Supply { panel, .. } => Some(panel),
            Spot::WallBox(wall_box)
            | Spot::Feed { wall_box, .. }
            | Spot::Control { wall_box, .. }
            | Spot::Loop { wall_box, .. }
            | Spot::Ceiling { wall_box, .. } => Some(self.panels + wall_box),
            Spot::Room { level, room } => Some(self.panels + self.boxes + self.levels.get(level)? + room),
            _ => None,
        }
    }

    fn root(&mut self, mut node: usize) -> usize {
        while self.of[node] != node {
            self.of[node] = self.of[self.of[node]];
            node = self.of[node];
        }
        node
    }

    fn join(&mut self, one: usize, other: usize) {
        let (one, other) = (self.root(one), self.root(other));
        self.of[one.max(other)] = one.min(other);
    }

    fn at(&self, design: &Design, spot: Spot) -> At {
        let spot = match spot {
            Spot::Group(group) | Spot::Link { group, .. } => {
                let main = design.job.groups.get(group).map(|group| &group.main);
                main.and_then(|main| design.index.spot(Kind::Control, main))
            }
            spot => Some(spot),
        };
        spot.and_then(|spot| self.node(spot)).map_or(At::House, |node| At::Region(self.of[node]))
    }

    fn of_subject(&self, design: &Design, subject: &Subject) -> At {
        let (kind, id) = match subject.kind {
            Kind::Output => (Kind::Supply, subject.id.rsplit_once('.').map_or("", |(supply, _)| supply)),
            kind => (kind, subject.id.as_str()),
        };
        if matches!(kind, Kind::Project | Kind::Settings | Kind::Estimate | Kind::Job) {
            return At::House;
        }
        let spot = Id::new(id).ok().and_then(|id| design.index.spot(kind, &id));
        spot.map_or(At::Nowhere, |spot| self.at(design, spot))
    }

    /// The regions that some things are in; `None` where they concern the whole house.
    pub(super) fn of_subjects(&self, design: &Design, subjects: &[&Subject]) -> Option<Set> {
        let mut found = Set::new();
        for subject in subjects {
            match self.of_subject(design, subject) {
                At::Region(region) => found.insert(region),
                At::Nowhere | At::House => return None,
            };
        }
        Some(found)
    }

    /// Adds the regions that an edit changes or names; `None` where it concerns the whole house.
    pub(super) fn of_edit(&self, design: &Design, edit: &Edit, found: &mut Set) -> Option<()> {
        let mut subject = |subject: &Subject| match self.of_subject(design, subject) {
            At::Region(region) => {
                found.insert(region);
                Some(())
            }
            // What the edit itself puts there is named by where it puts it.
            At::Nowhere => Some(()),
            At::House => None,
        };
        match edit {
            Edit::Set { subject: of, value, .. } => {
                subject(of)?;
                self.named(design, value, found);
            }
            Edit::Insert { kind, parent, value, .. } => {
                if let Some(parent) = parent {
                    subject(parent)?;
                }
                if *kind == Kind::Level {
                    return None;
                }
                self.named(design, value, found);
            }
            Edit::Remove { subject: of } => subject(of)?,
            Edit::Together(edits) => edits.iter().try_for_each(|edit| self.of_edit(design, edit, found))?,
        }
        Some(())
    }

    /// Adds the regions of all that a value might name.
    fn named(&self, design: &Design, value: &Value, found: &mut Set) {
        match value {
            Value::String(text) => {
                let supply = text.rsplit_once('.').map(|(supply, _)| supply);
                for id in
                    [Some(text.as_str()), supply].into_iter().flatten().filter_map(|id| Id::new(id).ok())
                {
                    for kind in [
                        Kind::Panel,
                        Kind::Supply,
                        Kind::WallBox,
                        Kind::Control,
                        Kind::Cable,
                        Kind::Fixture,
                        Kind::Group,
                        Kind::Room,
                    ] {
                        if let Some(At::Region(region)) =
                            design.index.spot(kind, &id).map(|spot| self.at(design, spot))
                        {
                            found.insert(region);
                        }
                    }
                }
            }
            Value::Array(values) => values.iter().for_each(|value| self.named(design, value, found)),
            Value::Object(fields) => fields.values().for_each(|value| self.named(design, value, found)),
            _ => {}
        }
    }

    /// Whether some regions are so much less than the house that it pays to cut them out.
    pub(super) fn are_few(&self, regions: &Set) -> bool {
        let boxes: usize = regions.iter().filter_map(|region| self.counts.get(region)).sum();
        boxes * 2 <= self.boxes
    }

    /// The job with nothing in it but some regions, and what belongs to no region.
    pub(super) fn cut(&self, design: &Design, regions: &Set) -> Job {
        let job = &design.job;
        let has = |node: usize| regions.contains(&self.of[node]);
        let here = |spot: Spot| match self.at(design, spot) {
            At::Region(region) => regions.contains(&region),
            At::Nowhere | At::House => true,
        };
        let spots = |kind: Kind, id: &Id| design.index.spot(kind, id);
        let panels: Vec<_> =
            (0..self.panels).filter(|&at| has(at)).map(|at| job.panels[at].clone()).collect();
        // A panel hangs in a room that it need not light.
        let hung: BTreeSet<Spot> = panels.iter().filter_map(|panel| spots(Kind::Room, &panel.room)).collect();
        let levels = job.levels.iter().enumerate().map(|(level, entry)| {
            let rooms = entry.rooms.iter().enumerate().filter(|&(room, _)| {
                let spot = Spot::Room { level, room };
                hung.contains(&spot) || here(spot)
            });
            Level {
                id: entry.id.clone(),
                name: entry.name.clone(),
                elevation: entry.elevation,
                rooms: rooms.map(|(_, room)| room.clone()).collect(),
            }
        });
        let boxes = (0..self.boxes).filter(|at| has(self.panels + at)).map(|at| job.boxes[at].clone());
        let groups = job.groups.iter().enumerate().filter(|(at, _)| here(Spot::Group(*at)));
        let accepted =
            job.accepted.iter().filter(|accepted| match self.of_subject(design, &accepted.subject) {
                At::Region(region) => regions.contains(&region),
                At::Nowhere | At::House => true,
            });
        let mut settings = job.settings.clone();
        for rules in
            [&mut settings.balance.apart, &mut settings.balance.together, &mut settings.balance.ways_out]
        {
            for runs in rules {
                runs.retain(|run| spots(Kind::Cable, run).is_none_or(here));
            }
        }
        Job {
            format: job.format,
            project: job.project.clone(),
            settings,
            catalogue: job.catalogue.clone(),
            levels: levels.collect(),
            panels,
            boxes: boxes.collect(),
            groups: groups.map(|(_, group)| group.clone()).collect(),
            accepted: accepted.cloned().collect(),
            estimate: job.estimate.clone(),
        }
    }
}
