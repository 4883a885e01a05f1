//! Materials of a change order, and what of them is done anew or taken out.

use super::done::{Aspect, Site, key};
use super::items::{Bought, Item, Items, Small, feet};
use super::{Key, OrderLine, OrderWhy, Redone, of_kind};
use crate::compare::changes::{Change, ChangeKind};
use crate::design::Design;
use crate::job::{Id, Kind, Spot, Subject};
use crate::units::to_cents;
use rust_decimal::Decimal;
use std::collections::{BTreeMap, BTreeSet, HashSet};

/// How much of something each thing needs; none where that hangs on an unknown length.
pub(super) type Needs = BTreeMap<Key, Option<Decimal>>;

/// The lines, with what follows from them for the work.
#[derive(Debug, Default)]
pub(super) struct Made {
    pub lines: Vec<OrderLine>,
    pub redone: Redone,
    /// Pulled cables that are to be taken out.
    pub cables_out: Vec<Subject>,
    /// Boxes, controls, fixtures and supplies that are to be taken out, each once for each of its parts.
    pub parts_out: Vec<Subject>,
}

impl Made {
    fn push(&mut self, subject: &Subject, bought: &Bought, why: OrderWhy, count: Option<Decimal>) {
        let is_feet = bought.aspect == Aspect::Pulled && subject.kind == Kind::Cable;
        let quantity = count.map(|count| if is_feet { feet(count) } else { count });
        let (each, cost) = match why {
            OrderWhy::NotCredited => (None, Some(Decimal::ZERO)),
            OrderWhy::MayNotReach => (None, None),
            _ => {
                let cost = quantity.zip(bought.each).and_then(|(quantity, each)| quantity.checked_mul(each));
                (bought.each, cost.map(to_cents))
            }
        };
        let (subject, part, name) = (subject.clone(), bought.part.clone(), bought.name.clone());
        self.lines.push(OrderLine { subject, part, name, why, quantity, is_feet, each, cost });
    }

    fn small(&mut self, small: &Small, why: OrderWhy, count: Option<Decimal>) {
        let subject = small.bought.part.clone().unwrap_or_else(|| Subject::new(Kind::Job, "job"));
        self.push(&subject, &small.bought, why, count);
    }

    /// A thing that is needed no more, or not this way or with this part.
    fn gone(&mut self, key: &Key, was: &Item, site: &Site, is_cable: bool) {
        if !site.is_done(was.bought.aspect, key) {
            self.push(&was.subject, &was.bought, OrderWhy::Credited, was.count.map(|count| -count));
            return;
        }
        self.push(&was.subject, &was.bought, OrderWhy::NotCredited, was.count);
        if is_cable {
            self.cables_out.push(was.subject.clone());
        } else {
            self.parts_out.push(was.subject.clone());
        }
    }
}

pub(super) fn lines(old: &Design, new: &Design, changes: &[Change], site: &Site) -> Made {
    let (before, after) = (Items::of(old), Items::of(new));
    let mut made = Made::default();
    cables(&mut made, &before, &after, &of_kind(changes, ChangeKind::Rerouted), site);
    parts(&mut made, &before, &after, site);
    moved_boxes(&mut made, changes, site);
    joints(&mut made.redone, old, new, changes);
    small_parts(&mut made, &before, &after, site);
    made
}

fn part_key(item: &Item) -> Option<(Kind, String)> {
    item.bought.part.as_ref().map(|part| (part.kind, part.id.to_ascii_lowercase()))
}

fn cables(made: &mut Made, before: &Items, after: &Items, rerouted: &HashSet<Key>, site: &Site) {
    for (key, now) in &after.cables {
        let Some(was) = before.cables.get(key) else {
            made.push(&now.subject, &now.bought, OrderWhy::Added, now.count);
            continue;
        };
        let pulled = site.is_done(Aspect::Pulled, key);
        if part_key(was) != part_key(now) || rerouted.contains(key) {
            made.gone(key, was, site, true);
            made.push(&now.subject, &now.bought, OrderWhy::Added, now.count);
            if pulled {
                made.redone.add(Aspect::Pulled, key.clone());
                made.redone.add(Aspect::Landed, key.clone());
            }
        } else if was.count != now.count {
            let more = was.count.zip(now.count).map(|(was, now)| now - was);
            let shorter = more.is_some_and(|more| more < Decimal::ZERO);
            match (pulled, shorter) {
                // What is pulled is paid for as it lies.
                (true, true) => {}
                (true, false) => {
                    let reaches =
                        site.pulled(key).zip(now.count).is_some_and(|(lies, now)| Decimal::from(lies) >= now);
                    if !reaches {
                        made.push(&now.subject, &now.bought, OrderWhy::MayNotReach, more);
                    }
                }
                (false, true) => made.push(&was.subject, &was.bought, OrderWhy::Credited, more),
                (false, false) => made.push(&now.subject, &now.bought, OrderWhy::Added, more),
            }
        }
    }
    for (key, was) in before.cables.iter().filter(|(key, _)| !after.cables.contains_key(*key)) {
        made.gone(key, was, site, true);
    }
}

fn parts(made: &mut Made, before: &Items, after: &Items, site: &Site) {
    for ((key, group), now) in &after.parts {
        let was = before.parts.get(&(key.clone(), *group));
        if was.is_some_and(|was| part_key(was) == part_key(now) && was.bought.name == now.bought.name) {
            continue;
        }
        if let Some(was) = was {
            // An open choice that is another one is the same thing to hang.
            if part_key(was).is_none() && part_key(now).is_none() && was.bought.each == now.bought.each {
                continue;
            }
            made.gone(key, was, site, false);
            if site.is_done(was.bought.aspect, key) {
                made.redone.add(was.bought.aspect, key.clone());
            }
        }
        made.push(&now.subject, &now.bought, OrderWhy::Added, now.count);
    }
    for (at, was) in before.parts.iter().filter(|(at, _)| !after.parts.contains_key(*at)) {
        made.gone(&at.0, was, site, false);
    }
}

/// A box that is set and stands elsewhere now is taken out and set there.
fn moved_boxes(made: &mut Made, changes: &[Change], site: &Site) {
    for change in changes.iter().filter(|change| change.kind == ChangeKind::Placed && change.what != "room") {
        let key = key(&change.subject);
        let is_box = matches!(change.subject.kind, Kind::WallBox | Kind::Fixture);
        if is_box && site.is_done(Aspect::Set, &key) && !made.redone.has(Aspect::Set, &key) {
            made.redone.add(Aspect::Set, key);
            made.parts_out.push(change.subject.clone());
        }
    }
}

/// Where a cable, a fixture or a control is another, or a box is elsewhere, the joints in the box are made anew.
fn joints(redone: &mut Redone, old: &Design, new: &Design, changes: &[Change]) {
    let moved = of_kind(changes, ChangeKind::Moved);
    let mut boxes: Vec<Key> = Vec::new();
    for (aspect, key) in &redone.things {
        match (aspect, key.0) {
            (Aspect::Pulled, _) => boxes.extend(on_cable(old, key).into_iter().chain(on_cable(new, key))),
            (Aspect::Hung | Aspect::Set, Kind::Fixture | Kind::WallBox) => boxes.push(key.clone()),
            (Aspect::Hung, Kind::Control) => boxes.extend(box_of_control(new, key)),
            _ => {}
        }
    }
    for key in &moved {
        match key.0 {
            // A home run on other terminals changes nothing in its box; a loop on another control does.
            Kind::Cable if looped(new, key) => boxes.extend(on_cable(new, key).into_iter().take(1)),
            Kind::Cable => redone.add(Aspect::Landed, key.clone()),
            Kind::Control => boxes.extend(box_of_control(new, key)),
            _ => {}
        }
    }
    for key in boxes {
        redone.add(Aspect::Joined, key);
    }
}

fn spot(design: &Design, key: &Key) -> Option<Spot> {
    design.index.spot(key.0, &Id::new(&key.1).ok()?)
}

fn looped(design: &Design, key: &Key) -> bool {
    matches!(spot(design, key), Some(Spot::Loop { .. }))
}

/// The wall box of a cable, then the ceiling boxes on it.
fn on_cable(design: &Design, key: &Key) -> Vec<Key> {
    let job = &design.job;
    match spot(design, key) {
        Some(Spot::Feed { wall_box, .. }) => {
            job.boxes.get(wall_box).map(|on| (Kind::WallBox, on.id.folded())).into_iter().collect()
        }
        Some(Spot::Loop { wall_box, control, at }) => {
            let Some(on) = job.boxes.get(wall_box) else { return Vec::new() };
            let run = on.controls.get(control).and_then(|control| control.loops.get(at));
            let ceilings = run.into_iter().flat_map(|run| &run.ceiling);
            let ceilings = ceilings.map(|ceiling| (Kind::Fixture, ceiling.id.folded()));
            std::iter::once((Kind::WallBox, on.id.folded())).chain(ceilings).collect()
        }
        _ => Vec::new(),
    }
}

fn box_of_control(design: &Design, key: &Key) -> Option<Key> {
    let Some(Spot::Control { wall_box, .. }) = spot(design, key) else { return None };
    design.job.boxes.get(wall_box).map(|on| (Kind::WallBox, on.id.folded()))
}

/// Small parts, a line for each with what comes and one with what goes.
fn small_parts(made: &mut Made, before: &Items, after: &Items, site: &Site) {
    let none = Needs::new();
    let names: BTreeSet<&String> = after.small.keys().chain(before.small.keys()).collect();
    for name in names {
        let (was, now) = (before.small.get(name), after.small.get(name));
        let needs = (was.map_or(&none, |small| &small.needs), now.map_or(&none, |small| &small.needs));
        let count = |why: OrderWhy, small: &Small, redone: &Redone| {
            difference(needs.0, needs.1, why, small.bought.aspect, site, redone)
        };
        if let Some(small) = now {
            // What is made anew takes new parts.
            let (more, again) =
                (count(OrderWhy::Added, small, &made.redone), count(OrderWhy::Again, small, &made.redone));
            if !more.things.is_empty() || !again.things.is_empty() {
                let sum = more.count.zip(again.count).and_then(|(more, again)| more.checked_add(again));
                made.small(small, OrderWhy::Added, sum);
            }
        }
        if let Some(small) = was {
            let less = count(OrderWhy::Credited, small, &made.redone);
            if !less.things.is_empty() {
                made.small(small, OrderWhy::Credited, less.count);
            }
        }
    }
}

/// How much of something comes or goes, and for what.
#[derive(Debug, Default)]
pub(super) struct Difference {
    pub things: Vec<Key>,
    /// None where it hangs on an unknown length.
    pub count: Option<Decimal>,
}

/// What comes, goes or is done again from one state to the other, by how far each thing is.
pub(super) fn difference(
    was: &Needs,
    now: &Needs,
    why: OrderWhy,
    aspect: Aspect,
    site: &Site,
    redone: &Redone,
) -> Difference {
    let mut found = Difference { things: Vec::new(), count: Some(Decimal::ZERO) };
    let things: BTreeSet<&Key> = was.keys().chain(now.keys()).collect();
    for thing in things {
        let zero = Some(Decimal::ZERO);
        let (before, after) =
            (was.get(thing).copied().unwrap_or(zero), now.get(thing).copied().unwrap_or(zero));
        let done = site.is_done(aspect, thing);
        // What is replaced is paid for once more; else only what is other counts, and of what is done only more of it.
        let again = done && redone.has(aspect, thing);
        let more = if again {
            after
        } else if before == after {
            zero
        } else {
            before.zip(after).map(|(before, after)| after - before)
        };
        // Whether a pulled cable needs more is seen on site, where it may not reach.
        if done && aspect == Aspect::Pulled && !again {
            continue;
        }
        let counts = match (why, more) {
            (OrderWhy::Again, more) => again && was.contains_key(thing) && more != zero,
            (OrderWhy::Added, Some(more)) => !again && more > Decimal::ZERO,
            (OrderWhy::Credited, Some(more)) => !done && more < Decimal::ZERO,
            (OrderWhy::Added, None) => !again,
            _ => false,
        };
        if counts {
            found.things.push(thing.clone());
            found.count = found.count.zip(more).and_then(|(sum, more)| sum.checked_add(more));
        }
    }
    found
}
