//! Where each thing of a job stands, by kind and id.

use super::id::LONGEST;
use super::{Id, Job, Kind, catalogue, house, panel, wiring};
use hashbrown::hash_map::Entry;
use hashbrown::{Equivalent, HashMap};
use std::hash::{Hash, Hasher};

/// The position of a thing in the job's lists.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
#[expect(missing_docs, reason = "each variant is the list it counts in, each field the position in it")]
pub enum Spot {
    ConductorPlan(usize),
    CableType(usize),
    FixtureType(usize),
    SupplyType(usize),
    ControlType(usize),
    BoxType(usize),
    SmallPart(usize),
    Meter(usize),
    Level(usize),
    Room { level: usize, room: usize },
    Panel(usize),
    Supply { panel: usize, supply: usize },
    WallBox(usize),
    Feed { wall_box: usize, feed: usize },
    Control { wall_box: usize, control: usize },
    Loop { wall_box: usize, control: usize, at: usize },
    Ceiling { wall_box: usize, control: usize, at: usize, ceiling: usize },
    Group(usize),
    Link { group: usize, link: usize },
}

/// A kind and an id, compared without regard to case.
#[derive(Debug, Clone)]
struct Named(Kind, Id);

impl PartialEq for Named {
    fn eq(&self, other: &Self) -> bool {
        Wanted(other.0, &other.1).equivalent(self)
    }
}
impl Eq for Named {}
impl Hash for Named {
    fn hash<H: Hasher>(&self, state: &mut H) {
        Wanted(self.0, &self.1).hash(state);
    }
}

/// The same, borrowed: nothing need be cloned to look.
struct Wanted<'a>(Kind, &'a Id);

impl Equivalent<Named> for Wanted<'_> {
    fn equivalent(&self, named: &Named) -> bool {
        self.0 == named.0 && self.1.same(&named.1)
    }
}
impl Hash for Wanted<'_> {
    fn hash<H: Hasher>(&self, state: &mut H) {
        let mut folded = [0; LONGEST];
        let id = self.1.as_str().as_bytes();
        let id = folded.get_mut(..id.len()).map_or(id, |folded| {
            folded.copy_from_slice(id);
            folded.make_ascii_lowercase();
            folded
        });
        self.0.hash(state);
        state.write(id);
    }
}

/// Finds things by kind and id. Derived from a job; stale as soon as something is inserted or removed.
#[derive(Debug, Clone, Default)]
pub struct Index {
    spots: HashMap<Named, Spot>,
}

impl Index {
    /// Enters every thing of the job. Where two share an id, the first one stands and the second is reported.
    pub fn new(job: &Job) -> (Self, Vec<(Kind, Id, Spot)>) {
        let mut index = Self::default();
        let mut twice = Vec::new();
        each(job, &mut |kind, id, spot| match index.spots.entry(Named(kind, id.clone())) {
            Entry::Vacant(free) => drop(free.insert(spot)),
            Entry::Occupied(_) => twice.push((kind, id.clone(), spot)),
        });
        (index, twice)
    }

    /// Where the thing of that kind and id stands.
    pub fn spot(&self, kind: Kind, id: &Id) -> Option<Spot> {
        self.spots.get(&Wanted(kind, id)).copied()
    }

    /// All ids of a kind, in no order.
    pub fn ids(&self, kind: Kind) -> impl Iterator<Item = &Id> {
        self.spots.keys().filter(move |named| named.0 == kind).map(|named| &named.1)
    }

    /// Every thing that has an id, by kind and id.
    pub fn all(&self) -> Vec<(Kind, &Id, Spot)> {
        let mut all: Vec<_> = self.spots.iter().map(|(named, spot)| (named.0, &named.1, *spot)).collect();
        all.sort_unstable();
        all
    }

    /// The cable type of that id.
    pub fn cable_type<'a>(&self, job: &'a Job, id: &Id) -> Option<&'a catalogue::CableType> {
        match self.spot(Kind::CableType, id)? {
            Spot::CableType(at) => job.catalogue.cables.get(at),
            _ => None,
        }
    }

    /// The conductor plan of that id.
    pub fn plan<'a>(&self, job: &'a Job, id: &Id) -> Option<&'a catalogue::ConductorPlan> {
        match self.spot(Kind::ConductorPlan, id)? {
            Spot::ConductorPlan(at) => job.catalogue.plans.get(at),
            _ => None,
        }
    }

    /// The fixture type of that id.
    pub fn fixture_type<'a>(&self, job: &'a Job, id: &Id) -> Option<&'a catalogue::FixtureType> {
        match self.spot(Kind::FixtureType, id)? {
            Spot::FixtureType(at) => job.catalogue.fixtures.get(at),
            _ => None,
        }
    }

    /// The supply type of that id.
    pub fn supply_type<'a>(&self, job: &'a Job, id: &Id) -> Option<&'a catalogue::SupplyType> {
        match self.spot(Kind::SupplyType, id)? {
            Spot::SupplyType(at) => job.catalogue.supplies.get(at),
            _ => None,
        }
    }

    /// The control type of that id.
    pub fn control_type<'a>(&self, job: &'a Job, id: &Id) -> Option<&'a catalogue::ControlType> {
        match self.spot(Kind::ControlType, id)? {
            Spot::ControlType(at) => job.catalogue.controls.get(at),
            _ => None,
        }
    }

    /// The box type of that id.
    pub fn box_type<'a>(&self, job: &'a Job, id: &Id) -> Option<&'a catalogue::BoxType> {
        match self.spot(Kind::BoxType, id)? {
            Spot::BoxType(at) => job.catalogue.boxes.get(at),
            _ => None,
        }
    }

    /// The room of that id and the level it is on.
    pub fn room<'a>(&self, job: &'a Job, id: &Id) -> Option<(&'a house::Level, &'a house::Room)> {
        match self.spot(Kind::Room, id)? {
            Spot::Room { level, room } => {
                let level = job.levels.get(level)?;
                Some((level, level.rooms.get(room)?))
            }
            _ => None,
        }
    }

    /// The panel of that id.
    pub fn panel<'a>(&self, job: &'a Job, id: &Id) -> Option<&'a panel::Panel> {
        match self.spot(Kind::Panel, id)? {
            Spot::Panel(at) => job.panels.get(at),
            _ => None,
        }
    }

    /// The supply of that id and the panel it is in.
    pub fn supply<'a>(&self, job: &'a Job, id: &Id) -> Option<(&'a panel::Panel, &'a panel::Supply)> {
        match self.spot(Kind::Supply, id)? {
            Spot::Supply { panel, supply } => {
                let panel = job.panels.get(panel)?;
                Some((panel, panel.supplies.get(supply)?))
            }
            _ => None,
        }
    }

    /// The control of that id and the wall box it is in.
    pub fn control<'a>(&self, job: &'a Job, id: &Id) -> Option<(&'a wiring::WallBox, &'a wiring::Control)> {
        match self.spot(Kind::Control, id)? {
            Spot::Control { wall_box, control } => {
                let wall_box = job.boxes.get(wall_box)?;
                Some((wall_box, wall_box.controls.get(control)?))
            }
            _ => None,
        }
    }

    /// The feed with that cable id and the wall box it goes to.
    pub fn feed<'a>(&self, job: &'a Job, id: &Id) -> Option<(&'a wiring::WallBox, &'a wiring::Feed)> {
        match self.spot(Kind::Cable, id)? {
            Spot::Feed { wall_box, feed } => {
                let wall_box = job.boxes.get(wall_box)?;
                Some((wall_box, wall_box.feeds.get(feed)?))
            }
            _ => None,
        }
    }
}

/// Where the thing of that kind and id stands, found without an index: for a single question that is quicker.
pub(super) fn find(job: &Job, kind: Kind, id: &Id) -> Option<Spot> {
    let mut found = None;
    each(job, &mut |k, other, spot| {
        if found.is_none() && k == kind && other.same(id) {
            found = Some(spot);
        }
    });
    found
}

/// Whether the thing of that id is the one at a spot.
pub(super) fn stands_at(job: &Job, spot: Spot, id: &Id) -> bool {
    id_at(job, spot).is_some_and(|other| other.same(id))
}

/// The id of the thing at a spot.
fn id_at(job: &Job, spot: Spot) -> Option<&Id> {
    let parts = &job.catalogue;
    let control = |wall_box: usize, control: usize| job.boxes.get(wall_box)?.controls.get(control);
    Some(match spot {
        Spot::ConductorPlan(at) => &parts.plans.get(at)?.id,
        Spot::CableType(at) => &parts.cables.get(at)?.id,
        Spot::FixtureType(at) => &parts.fixtures.get(at)?.id,
        Spot::SupplyType(at) => &parts.supplies.get(at)?.id,
        Spot::ControlType(at) => &parts.controls.get(at)?.id,
        Spot::BoxType(at) => &parts.boxes.get(at)?.id,
        Spot::SmallPart(at) => &parts.small_parts.get(at)?.id,
        Spot::Meter(at) => &parts.meters.get(at)?.id,
        Spot::Level(at) => &job.levels.get(at)?.id,
        Spot::Room { level, room } => &job.levels.get(level)?.rooms.get(room)?.id,
        Spot::Panel(at) => &job.panels.get(at)?.id,
        Spot::Supply { panel, supply } => &job.panels.get(panel)?.supplies.get(supply)?.id,
        Spot::WallBox(at) => &job.boxes.get(at)?.id,
        Spot::Feed { wall_box, feed } => &job.boxes.get(wall_box)?.feeds.get(feed)?.id,
        Spot::Control { wall_box, control: at } => &control(wall_box, at)?.id,
        Spot::Loop { wall_box, control: on, at } => &control(wall_box, on)?.loops.get(at)?.id,
        Spot::Ceiling { wall_box, control: on, at, ceiling } => {
            &control(wall_box, on)?.loops.get(at)?.ceiling.get(ceiling)?.id
        }
        Spot::Group(at) => &job.groups.get(at)?.id,
        Spot::Link { group, link } => &job.groups.get(group)?.links.get(link)?.id,
    })
}

/// Visits every thing that has an id, in the order of the file.
pub(super) fn each(job: &Job, visit: &mut impl FnMut(Kind, &Id, Spot)) {
    let parts = &job.catalogue;
    parts
        .plans
        .iter()
        .enumerate()
        .for_each(|(i, e)| visit(Kind::ConductorPlan, &e.id, Spot::ConductorPlan(i)));
    parts.cables.iter().enumerate().for_each(|(i, e)| visit(Kind::CableType, &e.id, Spot::CableType(i)));
    parts
        .fixtures
        .iter()
        .enumerate()
        .for_each(|(i, e)| visit(Kind::FixtureType, &e.id, Spot::FixtureType(i)));
    parts.supplies.iter().enumerate().for_each(|(i, e)| visit(Kind::SupplyType, &e.id, Spot::SupplyType(i)));
    parts
        .controls
        .iter()
        .enumerate()
        .for_each(|(i, e)| visit(Kind::ControlType, &e.id, Spot::ControlType(i)));
    parts.boxes.iter().enumerate().for_each(|(i, e)| visit(Kind::BoxType, &e.id, Spot::BoxType(i)));
    parts.small_parts.iter().enumerate().for_each(|(i, e)| visit(Kind::SmallPart, &e.id, Spot::SmallPart(i)));
    parts.meters.iter().enumerate().for_each(|(i, e)| visit(Kind::Meter, &e.id, Spot::Meter(i)));
    for (level, e) in job.levels.iter().enumerate() {
        visit(Kind::Level, &e.id, Spot::Level(level));
        for (room, e) in e.rooms.iter().enumerate() {
            visit(Kind::Room, &e.id, Spot::Room { level, room });
        }
    }
    for (panel, e) in job.panels.iter().enumerate() {
        visit(Kind::Panel, &e.id, Spot::Panel(panel));
        for (supply, e) in e.supplies.iter().enumerate() {
            visit(Kind::Supply, &e.id, Spot::Supply { panel, supply });
        }
    }
    for (wall_box, e) in job.boxes.iter().enumerate() {
        visit(Kind::WallBox, &e.id, Spot::WallBox(wall_box));
        for (feed, e) in e.feeds.iter().enumerate() {
            visit(Kind::Cable, &e.id, Spot::Feed { wall_box, feed });
        }
        for (control, e) in e.controls.iter().enumerate() {
            visit(Kind::Control, &e.id, Spot::Control { wall_box, control });
            for (at, e) in e.loops.iter().enumerate() {
                visit(Kind::Cable, &e.id, Spot::Loop { wall_box, control, at });
                for (ceiling, e) in e.ceiling.iter().enumerate() {
                    visit(Kind::Fixture, &e.id, Spot::Ceiling { wall_box, control, at, ceiling });
                }
            }
        }
    }
    for (group, e) in job.groups.iter().enumerate() {
        visit(Kind::Group, &e.id, Spot::Group(group));
        for (link, e) in e.links.iter().enumerate() {
            visit(Kind::Cable, &e.id, Spot::Link { group, link });
        }
    }
}
