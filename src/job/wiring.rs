//! The wiring: wall boxes with their feeds, controls and loops, and the ceiling boxes along each loop.

use super::site::{BoxRecord, CableRecord, Reading};
use super::{Id, Tag, house::Place, open::OneFor};
use crate::units::{Amps, Length, Watts};
use serde::{Deserialize, Deserializer, Serialize, Serializer, de};
use std::fmt;

/// An output of a supply, written `SUPPLY.N` with N from 1.
#[derive(Debug, Clone, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct OutputRef {
    /// The supply.
    pub supply: Id,
    /// Which of its outputs, from 1.
    pub number: u8,
}

impl fmt::Display for OutputRef {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}.{}", self.supply, self.number)
    }
}

impl std::str::FromStr for OutputRef {
    type Err = String;
    fn from_str(text: &str) -> Result<Self, String> {
        let bad = || {
            format!("'{text}' is no output: write the supply's id, a dot and the output's number, like PS1.2")
        };
        let (supply, number) = text.split_once('.').ok_or_else(bad)?;
        let number: u8 = number.parse().map_err(|_| bad())?;
        if number == 0 {
            return Err(bad());
        }
        Ok(Self { supply: Id::new(supply).map_err(|_| bad())?, number })
    }
}

impl Serialize for OutputRef {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_str(self)
    }
}

impl<'de> Deserialize<'de> for OutputRef {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        String::deserialize(deserializer)?.parse().map_err(de::Error::custom)
    }
}

/// Where a feed comes from.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub enum Source {
    /// A home run from an output.
    Output(OutputRef),
    /// A home run from a panel that is on no output yet.
    Panel(Id),
    /// Onward from another wall box, spliced to the feed with this cable id there.
    Onward(Id),
}

/// Something about the way of a cable that its listing or its protection must answer for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum Way {
    /// It goes between floors in a shaft that needs a riser cable.
    Riser,
    /// It goes through a duct or a space for air.
    Plenum,
    /// It goes through a wet place.
    Wet,
    /// It lies in the sun.
    Sunlight,
    /// It shares a bored hole with line voltage.
    SharedHole,
    /// It lies nearer than 1-1/4 in to the edge of the wood and has no plate.
    NearEdge,
    /// It is strapped to a conduit.
    OnConduit,
}

/// Line-voltage wiring that shares a wall box.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct LineWiring {
    /// Size of its conductors, AWG.
    pub gauge: std::num::NonZeroU8,
    /// Its conductors, grounds left out.
    pub conductors: u8,
    /// Its equipment grounds.
    #[serde(default)]
    pub grounds: u8,
    /// Its devices, by yokes.
    #[serde(default)]
    pub yokes: u8,
}

/// A bus between the controls of a group after the profile of IEC 62386; its cables are the group's links.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ControlBus {
    /// Addresses of control gear.
    pub gear: u16,
    /// Addresses of control devices.
    #[serde(default)]
    pub devices: u16,
    /// The most amps of its supply.
    pub amps: Amps,
    /// Its supply is listed as Class 2.
    #[serde(default, skip_serializing_if = "crate::job::is_false")]
    pub class_2: bool,
}

/// A cable that brings power to a wall box: a home run, or onward from another box.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Feed {
    /// The cable's id.
    pub id: Id,
    /// What people call it.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub name: String,
    /// What stands on its flags, once they were made; it never changes.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub tag: Option<Tag>,
    /// Where it comes from.
    pub from: Source,
    /// Its cable type.
    pub cable: Id,
    /// What its conductors do, if not what the cable type says.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub plan: Option<Id>,
    /// What is special about its way.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub way: Vec<Way>,
    /// Its whole length if it was measured, make-up included.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub measured: Option<Length>,
    /// Whether a home run is on its terminals already, so that moving it costs labor.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub landed: bool,
    /// Whether a home run stays on its output when the job is balanced.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub pinned: bool,
    /// What happened to it on site.
    #[serde(default, skip_serializing_if = "CableRecord::is_default")]
    pub site: CableRecord,
    /// What was read on it with a meter.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub readings: Vec<Reading>,
}

/// A wall box.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct WallBox {
    /// Its id.
    pub id: Id,
    /// What people call it.
    #[serde(default)]
    pub name: String,
    /// The room it stands in.
    pub room: Id,
    /// Where it stands.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub place: Option<Place>,
    /// Its entry in the catalogue.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub part: Option<Id>,
    /// Line-voltage wiring that shares the box.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub line: Option<LineWiring>,
    /// What brings power to it. Circuits of several outputs may share a box.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub feeds: Vec<Feed>,
    /// Watts set aside for a box that is not laid out yet.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub allowance_watts: Option<Watts>,
    /// What happened to it on site.
    #[serde(default, skip_serializing_if = "BoxRecord::is_default")]
    pub site: BoxRecord,
    /// Its controls with their loops.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub controls: Vec<Control>,
}

/// A control in a wall box.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Control {
    /// Its id.
    pub id: Id,
    /// What people call it.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub name: String,
    /// Its entry in the catalogue.
    pub part: Id,
    /// Other entries it may yet be, as while its way of making colour is open.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub open: Vec<Id>,
    /// How far that choice reaches.
    #[serde(default, skip_serializing_if = "OneFor::is_each")]
    pub one_for: OneFor,
    /// The feed it is on; may be left out where the box has only one.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub on: Option<Id>,
    /// The loops it drives.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub loops: Vec<Loop>,
}

/// How a loop ends.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum LoopPath {
    /// At its last ceiling box.
    OneWay,
    /// It returns to its wall box and is capped and tagged there.
    ReturnedCapped,
    /// It returns to its wall box and is fed from both ends, or closes its strings there.
    Returned,
}

impl LoopPath {
    /// Whether there is a leg from the last ceiling box back to the wall box.
    pub const fn returns(self) -> bool {
        matches!(self, Self::ReturnedCapped | Self::Returned)
    }
}

/// A loop: one cable through its ceiling boxes.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Loop {
    /// The cable's id.
    pub id: Id,
    /// What people call it.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub name: String,
    /// What stands on its flags, once they were made; it never changes.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub tag: Option<Tag>,
    /// Its cable type.
    pub cable: Id,
    /// What its conductors do, if not what the cable type says.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub plan: Option<Id>,
    /// How it ends.
    pub path: LoopPath,
    /// The control its return lands on, if that is another than it left from.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub returns_to: Option<Id>,
    /// The return is landed with its conductors exchanged: a dead short if fed from both ends.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub crossed: bool,
    /// What is special about its way.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub way: Vec<Way>,
    /// Its whole length if it was measured, make-up included.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub measured: Option<Length>,
    /// The leg back from the last ceiling box, if it was measured.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub return_leg: Option<Length>,
    /// The fixtures its ceiling boxes may yet hold that have none and no list of their own.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub open: Vec<Id>,
    /// How far that choice reaches.
    #[serde(default, skip_serializing_if = "OneFor::is_each")]
    pub one_for: OneFor,
    /// What happened to it on site.
    #[serde(default, skip_serializing_if = "CableRecord::is_default")]
    pub site: CableRecord,
    /// What was read on it with a meter.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub readings: Vec<Reading>,
    /// Its ceiling boxes in order.
    #[serde(default)]
    pub ceiling: Vec<CeilingBox>,
}

impl Loop {
    /// A loop with nothing on it yet.
    pub fn new(id: Id, cable: Id, path: LoopPath) -> Self {
        Self {
            id,
            name: String::new(),
            tag: None,
            cable,
            plan: None,
            path,
            returns_to: None,
            crossed: false,
            way: Vec::new(),
            measured: None,
            return_leg: None,
            open: Vec::new(),
            one_for: OneFor::Each,
            site: CableRecord::default(),
            readings: Vec::new(),
            ceiling: Vec::new(),
        }
    }
}

/// A ceiling box on a loop. It holds no fixture, one, or one still open.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct CeilingBox {
    /// Its id.
    pub id: Id,
    /// What people call it.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub name: String,
    /// What stands on its flags, once they were made; it never changes.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub tag: Option<Tag>,
    /// The room it is in, if not that of the wall box.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub room: Option<Id>,
    /// Where it hangs.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub place: Option<Place>,
    /// Its box in the catalogue.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub part: Option<Id>,
    /// The leg to it from the box before, if it was measured.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub leg: Option<Length>,
    /// The fixture it holds.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub fixture: Option<Id>,
    /// The fixtures it may yet hold, while that is open; its loop or its room may list them instead.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub open: Vec<Id>,
    /// How far that choice reaches.
    #[serde(default, skip_serializing_if = "OneFor::is_each")]
    pub one_for: OneFor,
    /// It stays without a fixture, whatever its loop or its room leaves open.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub blank: bool,
    /// What happened to it on site.
    #[serde(default, skip_serializing_if = "BoxRecord::is_default")]
    pub site: BoxRecord,
}

impl CeilingBox {
    /// A ceiling box in the room of its wall box, with no fixture yet.
    pub fn new(id: Id) -> Self {
        Self {
            id,
            name: String::new(),
            tag: None,
            room: None,
            place: None,
            part: None,
            leg: None,
            fixture: None,
            open: Vec::new(),
            one_for: OneFor::Each,
            blank: false,
            site: BoxRecord::default(),
        }
    }
}

/// A cable between two controls of a group.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Link {
    /// The cable's id.
    pub id: Id,
    /// What people call it.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub name: String,
    /// What stands on its flags, once they were made; it never changes.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub tag: Option<Tag>,
    /// The control it leaves from.
    pub from: Id,
    /// The control it goes to.
    pub to: Id,
    /// Its cable type.
    pub cable: Id,
    /// What its conductors do, if not what the cable type says.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub plan: Option<Id>,
    /// What is special about its way.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub way: Vec<Way>,
    /// Its whole length if it was measured, make-up included.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub measured: Option<Length>,
    /// What happened to it on site.
    #[serde(default, skip_serializing_if = "CableRecord::is_default")]
    pub site: CableRecord,
    /// What was read on it with a meter.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub readings: Vec<Reading>,
}

/// Controls that act as one: the main control of a room with several doors, and its remote points.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ControlGroup {
    /// Its id.
    pub id: Id,
    /// What people call it.
    #[serde(default)]
    pub name: String,
    /// The control that drives the lights.
    pub main: Id,
    /// The controls that only send to it.
    #[serde(default)]
    pub remotes: Vec<Id>,
    /// The bus between them, where there is one.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub bus: Option<ControlBus>,
    /// The cables between them.
    #[serde(default)]
    pub links: Vec<Link>,
}
