//! The plan of a level: its rooms, panels, wall boxes and ceiling boxes at their places, with the routes of the cables.
//!
//! [`Plan::new`] reads all places of the level once, [`Plan::draw`] draws what falls into a viewport at its scale. A
//! route goes across first and then along; the way in the house may differ, its length does not. A cable between two
//! levels runs above the lower one, as its length is reckoned, and rises at its upper end.

mod draw;
mod gather;
mod scale;

pub(super) use gather::signs;
pub use scale::{Scale, Viewport};

use super::Weight;
use super::canvas::Stroke;
use crate::format::Text;
use crate::job::Subject;
use std::collections::BTreeSet;

/// What can stand at a place.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum ThingKind {
    /// A panel.
    Panel,
    /// A wall box; whether what feeds it comes up from a lower level.
    WallBox {
        /// It does.
        from_below: bool,
    },
    /// A ceiling box with a fixture, by the position of its type in the plan's list.
    Fixture(usize),
    /// A ceiling box whose fixture is still open.
    Open,
    /// A ceiling box without a fixture.
    Empty,
    /// Where a cable goes up to the next level.
    Rise,
}

/// A thing at its place, in ticks of 100 nm.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Thing {
    /// Which thing.
    pub subject: Subject,
    /// What it is.
    pub kind: ThingKind,
    /// Across the plan.
    pub x: i64,
    /// Up the plan.
    pub y: i64,
    /// The worst that is found about it.
    pub weight: Weight,
}

/// A room, from corner to corner in ticks.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct RoomArea {
    subject: Subject,
    /// What may be written in it, the longest first.
    pub words: Vec<String>,
    /// The corner nearest to the corner of the house.
    pub low: (i64, i64),
    /// The corner farthest from it.
    pub high: (i64, i64),
    /// Whether somebody measured it; else it goes round what stands in the room.
    pub measured: bool,
}

/// A straight piece of a cable's route, by its ends.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Route {
    cable: usize,
    /// What kind of line it is.
    pub stroke: Stroke,
    /// One end.
    pub from: (i64, i64),
    /// The other.
    pub to: (i64, i64),
}

/// The letters of fixture types; `o`, `v` and `x` have another meaning or look like one.
const LETTERS: &[u8] = b"abcdefghijklmnpqrstuwyz";
/// The sign of types beyond the letters, and of many things at one place.
const MANY: char = '*';

/// The letter of a fixture type by its position in the plan's list.
pub fn letter(of_type: usize) -> char {
    LETTERS.get(of_type).map_or(MANY, |letter| char::from(*letter))
}

/// A level with everything that has a place on it.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Plan {
    things: Vec<Thing>,
    rooms: Vec<RoomArea>,
    routes: Vec<Route>,
    /// The cables that routes belong to.
    cables: Vec<Subject>,
    /// The fixture types on this level with how many of each, in the order of the catalogue.
    types: Vec<(String, usize)>,
    /// Things and rooms of the level that have no place.
    unplaced: Vec<Subject>,
    /// What the level is called.
    title: String,
    bounds: Option<((i64, i64), (i64, i64))>,
    /// Things that are other since an earlier state.
    others: BTreeSet<Subject>,
    /// What is to be said about them.
    said: Option<Text>,
}

impl Plan {
    /// The panels, wall boxes and ceiling boxes of the level, and where cables go up.
    pub fn things(&self) -> &[Thing] {
        &self.things
    }

    /// Everything of the level that has no place, so that it can't be drawn.
    pub fn unplaced(&self) -> &[Subject] {
        &self.unplaced
    }

    /// Its rooms.
    pub fn rooms(&self) -> &[RoomArea] {
        &self.rooms
    }

    /// The ways of its cables.
    pub fn routes(&self) -> &[Route] {
        &self.routes
    }

    /// The fixture types on this level with how many of each, in the order of their letters.
    pub fn types(&self) -> &[(String, usize)] {
        &self.types
    }

    /// The corners of all there is to draw, the nearest to the corner of the house first; nothing if there is nothing.
    pub const fn bounds(&self) -> Option<((i64, i64), (i64, i64))> {
        self.bounds
    }

    /// What the level is called.
    pub fn title(&self) -> &str {
        &self.title
    }

    /// Marks things that are other since an earlier state, and says what is to be said about that.
    pub fn star(&mut self, things: &BTreeSet<Subject>, said: Option<Text>) {
        let here = |thing: &&Thing| things.contains(&thing.subject);
        self.others = self.things.iter().filter(here).map(|thing| thing.subject.clone()).collect();
        self.said = said;
    }

    /// Whether a thing is marked as other.
    pub fn is_other(&self, subject: &Subject) -> bool {
        self.others.contains(subject)
    }

    /// What is to be said beneath it.
    pub const fn said(&self) -> Option<&Text> {
        self.said.as_ref()
    }

    /// The place of a thing or a room: for a cable the middle of its longest piece.
    pub fn place_of(&self, subject: &Subject) -> Option<(i64, i64)> {
        let thing = self.things.iter().find(|thing| thing.subject == *subject);
        let of_room = |room: &RoomArea| (room.low.0.midpoint(room.high.0), room.low.1.midpoint(room.high.1));
        let of_route = |cable: usize| {
            let mine = self.routes.iter().filter(|route| route.cable == cable);
            let length =
                |route: &&Route| (route.from.0 - route.to.0).abs() + (route.from.1 - route.to.1).abs();
            let longest = mine.max_by_key(length)?;
            Some((longest.from.0.midpoint(longest.to.0), longest.from.1.midpoint(longest.to.1)))
        };
        thing
            .map(|thing| (thing.x, thing.y))
            .or_else(|| self.rooms.iter().find(|room| room.subject == *subject).map(of_room))
            .or_else(|| of_route(self.cables.iter().position(|cable| cable == subject)?))
    }
}
