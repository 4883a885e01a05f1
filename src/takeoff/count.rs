//! The takeoff: every part that the job needs but cable, counted, with waste, and what is still to be ordered of it.

use super::Facts;
use super::amount::{Amount, line};
use super::entry::{Bought, Entry};
use super::joints::joints;
use super::material::{Group, Material};
use super::places::{Source, total};
use super::walk::{cable_lengths, ceilings, lights};
use crate::job::catalogue::{Per, Phase, SmallPart, each};
use crate::job::{Id, Kind, Subject, open};
use crate::network::CableLength;
use crate::units::{Money, Rate};
use rust_decimal::{Decimal, RoundingStrategy};
use std::collections::BTreeMap;
use std::num::NonZeroU32;

/// Every part but cable, by group and in the order of the catalogue; parts that nothing needs are left out.
pub(super) fn materials(design: Facts<'_>) -> Vec<Material> {
    let mut tally = Tally::new(design);
    tally.wall_boxes();
    tally.ceiling_boxes();
    tally.supplies();
    tally.small_parts();
    tally.joints();
    let mut all = tally.made;
    all.sort_by_key(|made| (made.group, made.part.is_none()));
    name_keys(design, &mut all);
    all
}

struct Tally<'a> {
    design: Facts<'a>,
    made: Vec<Material>,
    lengths: Vec<(Subject, Option<Id>, Option<CableLength>)>,
}

impl<'a> Tally<'a> {
    fn new(design: Facts<'a>) -> Self {
        Self { design, made: Vec::new(), lengths: cable_lengths(design) }
    }

    fn add(&mut self, group: Group, entry: &Entry<'_>, from: Vec<Source>, uncounted: usize) {
        if from.is_empty() && uncounted == 0 {
            return;
        }
        let counted = total(&from);
        let waste = entry.waste.get();
        // Waste goes to the nearest whole piece: of one cabinet at 10 % none is wasted.
        let wasted = counted
            .checked_mul(waste)
            .map_or(Decimal::ZERO, |hundredfold| hundredfold / Decimal::ONE_HUNDRED);
        let wasted = wasted.round_dp_with_strategy(0, RoundingStrategy::MidpointAwayFromZero);
        let quantity = counted.ceil().checked_add(wasted).unwrap_or(counted);
        let pieces = Decimal::from(entry.pack.map_or(1, NonZeroU32::get));
        let price = entry.price.map(Money::amount);
        let missing = (quantity - Decimal::from(entry.bought)).max(Decimal::ZERO);
        let cost = line(quantity, price, pieces);
        self.made.push(Material {
            group,
            key: entry.id.to_string(),
            part: Some(Subject::new(entry.kind, entry.id)),
            name: entry.name.to_owned(),
            phase: entry.phase,
            from,
            uncounted,
            counted,
            waste_percent: waste,
            quantity,
            pack: entry.pack,
            bought: entry.bought,
            order: Some((missing / pieces).ceil()),
            price,
            cost: Amount::at_least_with(cost.at_least(), cost.missing() + uncounted),
        });
    }

    /// A line for what is needed and not chosen: it has no price, so that no total can be whole without it.
    fn unchosen(&mut self, group: Group, key: &str, name: String, phase: Phase, from: Vec<Source>) {
        if from.is_empty() {
            return;
        }
        let counted = total(&from);
        self.made.push(Material {
            group,
            key: key.to_owned(),
            part: None,
            name,
            phase,
            from,
            uncounted: 0,
            counted,
            waste_percent: Decimal::ZERO,
            quantity: counted.ceil(),
            pack: None,
            bought: 0,
            order: None,
            price: None,
            cost: Amount::UNKNOWN,
        });
    }

    fn wall_boxes(&mut self) {
        let job = self.design.job;
        let mut of_part: BTreeMap<String, Vec<Source>> = BTreeMap::new();
        let mut controls: BTreeMap<String, Vec<Source>> = BTreeMap::new();
        let mut open: BTreeMap<Vec<String>, (Vec<Id>, Vec<Source>)> = BTreeMap::new();
        let mut none = Vec::new();
        for wall_box in &job.boxes {
            let source = one(Kind::WallBox, &wall_box.id, Some(&wall_box.room));
            match &wall_box.part {
                Some(part) => of_part.entry(part.folded()).or_default().push(source),
                None => none.push(source),
            }
            for control in &wall_box.controls {
                let source = one(Kind::Control, &control.id, Some(&wall_box.room));
                let types = control.types();
                if types.len() == 1 {
                    controls.entry(control.part.folded()).or_default().push(source);
                } else {
                    let key: Vec<String> = types.iter().map(|id| id.folded()).collect();
                    let types = || (types.into_iter().cloned().collect(), Vec::new());
                    open.entry(key).or_insert_with(types).1.push(source);
                }
            }
        }
        for wall_box in &job.boxes {
            for (run, ceiling) in ceilings(wall_box) {
                let room = ceiling.room.as_ref().unwrap_or(&wall_box.room);
                if let Some(part) = open::box_of(job, self.design.index, wall_box, run, ceiling) {
                    of_part.entry(part.folded()).or_default().push(one(
                        Kind::Fixture,
                        &ceiling.id,
                        Some(room),
                    ));
                }
            }
        }
        self.of_catalogue(Group::Boxes, &job.catalogue.boxes, job.estimate.waste.boxes, of_part);
        self.unchosen(Group::Boxes, "wall-box", "Wall box, no type chosen".into(), Phase::Rough, none);
        self.of_catalogue(Group::Controls, &job.catalogue.controls, job.estimate.waste.controls, controls);
        for (choices, from) in open.into_values() {
            self.open(Group::Controls, &choices, from);
        }
    }

    fn ceiling_boxes(&mut self) {
        let job = self.design.job;
        let mut fixtures: BTreeMap<String, Vec<Source>> = BTreeMap::new();
        let mut open: BTreeMap<Vec<String>, (Vec<Id>, Vec<Source>)> = BTreeMap::new();
        let mut none = Vec::new();
        for wall_box in &job.boxes {
            for (run, ceiling) in ceilings(wall_box) {
                let room = ceiling.room.as_ref().unwrap_or(&wall_box.room);
                let source = one(Kind::Fixture, &ceiling.id, Some(room));
                let index = self.design.index;
                if open::box_of(job, index, wall_box, run, ceiling).is_none()
                    && !open::brings_box(job, index, wall_box, run, ceiling)
                {
                    none.push(source.clone());
                }
                let (choices, _) = open::open(job, index, wall_box, run, ceiling);
                if let Some(fixture) = &ceiling.fixture {
                    fixtures.entry(fixture.folded()).or_default().push(source);
                } else if !choices.is_empty() {
                    let key = choices.iter().map(Id::folded).collect();
                    open.entry(key).or_insert_with(|| (choices.to_vec(), Vec::new())).1.push(source);
                }
            }
        }
        self.unchosen(Group::Boxes, "ceiling-box", "Ceiling box, no type chosen".into(), Phase::Rough, none);
        self.of_catalogue(Group::Fixtures, &job.catalogue.fixtures, job.estimate.waste.fixtures, fixtures);
        for (choices, from) in open.into_values() {
            self.open(Group::Fixtures, &choices, from);
        }
    }

    /// The parts of a catalogue with what each is needed for, by their ids.
    fn of_catalogue<P: Bought>(
        &mut self,
        group: Group,
        parts: &[P],
        waste: Rate,
        mut needed: BTreeMap<String, Vec<Source>>,
    ) {
        for part in parts {
            let entry = part.entry(waste);
            let from = needed.remove(&entry.id.folded()).unwrap_or_default();
            self.add(group, &entry, from, 0);
        }
    }

    /// What is still open is priced at the dearest that it may be.
    fn open(&mut self, group: Group, choices: &[Id], from: Vec<Source>) {
        let words: Vec<String> = choices.iter().map(Id::to_string).collect();
        let name = format!("Still open: {}", words.join(" or "));
        let key = format!("open-{}", words.join("-or-"));
        let each = |id: &Id| -> Option<Decimal> {
            let (job, index) = (self.design.job, self.design.index);
            let entry = match group {
                Group::Controls => index.control_type(job, id)?.entry(Rate::ZERO),
                _ => index.fixture_type(job, id)?.entry(Rate::ZERO),
            };
            each(entry.price, entry.pack)
        };
        let dearest = choices.iter().map(each).try_fold(Decimal::ZERO, |most, price| Some(most.max(price?)));
        self.unchosen(group, &key, name, Phase::Trim, from);
        if let (Some(made), Some(price)) = (self.made.last_mut(), dearest) {
            made.price = Some(price);
            made.cost = line(made.quantity, Some(price), Decimal::ONE);
        }
    }

    fn supplies(&mut self) {
        let job = self.design.job;
        for part in &job.catalogue.supplies {
            let supplies = job.panels.iter().flat_map(|panel| &panel.supplies);
            let from = supplies.filter(|supply| supply.part.same(&part.id));
            let from = from.map(|supply| one(Kind::Supply, &supply.id, None)).collect();
            self.add(Group::Supplies, &part.entry(Rate::ZERO), from, 0);
        }
    }

    fn small_parts(&mut self) {
        let job = self.design.job;
        for part in job.catalogue.small_parts.iter().filter(|part| part.per != Per::Joint) {
            let mut from = self.counted_by(part);
            from.retain(|source| !source.quantity.is_zero());
            let uncounted = match (part.per, part.every) {
                (Per::Cable, None) => 1,
                (Per::Cable, Some(_)) => {
                    self.lengths.iter().filter(|(_, _, length)| length.is_none()).count()
                }
                _ => 0,
            };
            self.add(Group::SmallParts, &part.entry(job.estimate.waste.small_parts), from, uncounted);
        }
    }

    fn counted_by(&self, part: &SmallPart) -> Vec<Source> {
        let job = self.design.job;
        let each = part.count.get();
        let source =
            |kind: Kind, id: &Id, room: Option<&Id>| Source::new(Subject::new(kind, id), room.cloned(), each);
        let boxes = || job.boxes.iter();
        match part.per {
            Per::Joint => Vec::new(),
            Per::HomeRun => boxes()
                .flat_map(|b| b.feeds.iter().map(move |feed| source(Kind::Cable, &feed.id, Some(&b.room))))
                .collect(),
            Per::Loop => boxes()
                .flat_map(|b| {
                    let loops = b.controls.iter().flat_map(|control| &control.loops);
                    loops.map(move |run| source(Kind::Cable, &run.id, Some(&b.room)))
                })
                .collect(),
            Per::Cable => {
                let every = part.every.map_or(0, crate::units::Length::ticks);
                let needs = |length: CableLength| {
                    let ticks = length.length.ticks();
                    let pieces = if every > 0 { (ticks + every - 1) / every } else { 0 };
                    each.checked_mul(Decimal::from(pieces)).unwrap_or(each)
                };
                let known = self.lengths.iter().filter_map(|(cable, room, length)| {
                    Some(Source::new(cable.clone(), room.clone(), needs((*length)?)))
                });
                known.collect()
            }
            Per::WallBox => boxes().map(|b| source(Kind::WallBox, &b.id, Some(&b.room))).collect(),
            Per::CeilingBox => boxes()
                .flat_map(|b| {
                    ceilings(b).map(move |(_, c)| {
                        source(Kind::Fixture, &c.id, Some(c.room.as_ref().unwrap_or(&b.room)))
                    })
                })
                .collect(),
            Per::Control => boxes()
                .flat_map(|b| b.controls.iter().map(move |c| source(Kind::Control, &c.id, Some(&b.room))))
                .collect(),
            Per::Fixture => boxes()
                .flat_map(|b| lights(self.design, b).map(|(id, room)| source(Kind::Fixture, id, Some(room))))
                .collect(),
            Per::Supply => {
                let supplies = job.panels.iter().flat_map(|panel| &panel.supplies);
                supplies.map(|supply| source(Kind::Supply, &supply.id, None)).collect()
            }
            Per::Panel => job.panels.iter().map(|panel| source(Kind::Panel, &panel.id, None)).collect(),
            Per::Job => vec![Source::new(Subject::new(Kind::Job, "job"), None, each)],
        }
    }

    /// Each joint gets the connector for the fewest conductors that will do.
    fn joints(&mut self) {
        let job = self.design.job;
        let mut connectors: Vec<&SmallPart> =
            job.catalogue.small_parts.iter().filter(|part| part.per == Per::Joint).collect();
        connectors.sort_by_key(|part| part.most_wires.map_or(u8::MAX, std::num::NonZeroU8::get));
        let mut of_part: Vec<BTreeMap<(Subject, Option<Id>), Decimal>> =
            vec![BTreeMap::new(); connectors.len()];
        let mut none: BTreeMap<(Subject, Option<Id>), Decimal> = BTreeMap::new();
        for joint in joints(self.design) {
            let takes =
                |part: &&SmallPart| part.most_wires.is_none_or(|most| usize::from(most.get()) >= joint.wires);
            let at = connectors.iter().position(takes);
            let (place, each) = match at {
                Some(at) => (&mut of_part[at], connectors[at].count.get()),
                None => (&mut none, Decimal::ONE),
            };
            let sum = place.entry((joint.at, joint.room)).or_default();
            *sum = sum.checked_add(each).unwrap_or(*sum);
        }
        let sources = |places: BTreeMap<(Subject, Option<Id>), Decimal>| -> Vec<Source> {
            places.into_iter().map(|((at, room), quantity)| Source::new(at, room, quantity)).collect()
        };
        for (part, places) in connectors.iter().zip(of_part) {
            self.add(Group::SmallParts, &part.entry(job.estimate.waste.small_parts), sources(places), 0);
        }
        let name = if connectors.is_empty() {
            "Connectors: none in the catalogue"
        } else {
            "Connectors for joints of more conductors than any takes"
        };
        self.unchosen(Group::SmallParts, "connectors", name.into(), Phase::Trim, sources(none));
    }
}

fn one(kind: Kind, id: &Id, room: Option<&Id>) -> Source {
    Source::new(Subject::new(kind, id), room.cloned(), Decimal::ONE)
}

/// Puts the kind before an id that parts of several kinds have, cables among them.
fn name_keys(design: Facts<'_>, all: &mut [Material]) {
    let mut seen: BTreeMap<String, usize> = BTreeMap::new();
    for cable in &design.job.catalogue.cables {
        *seen.entry(cable.id.folded()).or_default() += 1;
    }
    for made in all.iter() {
        *seen.entry(made.key.to_ascii_lowercase()).or_default() += 1;
    }
    for made in all.iter_mut() {
        if seen.get(&made.key.to_ascii_lowercase()).is_some_and(|&n| n > 1)
            && let Some(part) = &made.part
        {
            made.key = format!("{}.{}", part.kind.key(), part.id);
        }
    }
}
