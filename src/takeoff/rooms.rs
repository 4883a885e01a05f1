//! What each room comes to: every line of the takeoff shared out by what it was counted from.

use super::Facts;
use super::amount::Amount;
use super::places::{Source, split};
use super::price::Takeoff;
use crate::job::Id;
use rust_decimal::Decimal;
use std::collections::BTreeMap;

/// A room, or the whole house for what serves it all, with what it comes to.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct RoomShare {
    /// The room; none for the whole house.
    pub room: Option<Id>,
    /// Materials.
    pub materials: Amount,
    /// Labor.
    pub labor: Amount,
    /// Its part of the price before tax and allowances.
    pub price: Amount,
}

/// Rooms in the order of the job, then the whole house; rooms that nothing was counted in are left out. The shares add
/// up to the cent to what is shared out.
pub(super) fn rooms(design: Facts<'_>, takeoff: &Takeoff, price: Amount) -> Vec<RoomShare> {
    let mut materials: BTreeMap<Option<String>, Amount> = BTreeMap::new();
    let mut labor: BTreeMap<Option<String>, Amount> = BTreeMap::new();
    for made in &takeoff.materials {
        share(&mut materials, made.cost, &made.from);
    }
    for cable in &takeoff.cables {
        let from: Vec<Source> = cable
            .from
            .iter()
            .map(|source| {
                let ticks = source.length.map_or(0, crate::units::Length::ticks);
                Source::new(source.subject.clone(), source.room.clone(), Decimal::from(ticks))
            })
            .collect();
        share(&mut materials, cable.cost, &from);
    }
    for task in &takeoff.labor {
        share(&mut labor, task.cost, &task.from);
    }
    let in_order = design.job.levels.iter().flat_map(|level| &level.rooms).map(|room| Some(room.id.clone()));
    let mut all: Vec<RoomShare> = in_order
        .chain([None])
        .filter_map(|room| {
            let key = room.as_ref().map(Id::folded);
            let (materials, labor) = (materials.remove(&key), labor.remove(&key));
            (materials.is_some() || labor.is_some()).then(|| RoomShare {
                room,
                materials: materials.unwrap_or_default(),
                labor: labor.unwrap_or_default(),
                price: Amount::default(),
            })
        })
        .collect();
    let direct: Vec<Amount> = all.iter().map(|room| room.materials.plus(room.labor)).collect();
    let weights: Vec<Decimal> = direct.iter().map(|amount| amount.at_least()).collect();
    let own: usize = direct.iter().map(|amount| amount.missing()).sum();
    let shared = price.missing() > 0 && own == 0;
    for ((room, share), direct) in all.iter_mut().zip(split(price.at_least(), &weights)).zip(direct) {
        // Where the price lacks something that is no room's own, as a margin, every room's share lacks it too.
        room.price = Amount::at_least_with(share, direct.missing() + usize::from(shared));
    }
    all
}

/// Shares a line out by what it was counted from; what it lacks, every room lacks that it was counted in.
fn share(rooms: &mut BTreeMap<Option<String>, Amount>, cost: Amount, from: &[Source]) {
    let mut weights: BTreeMap<Option<String>, Decimal> = BTreeMap::new();
    for source in from {
        let weight = weights.entry(source.room.as_ref().map(Id::folded)).or_default();
        *weight = weight.checked_add(source.quantity).unwrap_or(*weight);
    }
    if weights.is_empty() {
        weights.insert(None, Decimal::ONE);
    }
    let shares = split(cost.at_least(), &weights.values().copied().collect::<Vec<_>>());
    let missing = usize::from(cost.missing() > 0);
    for (room, share) in weights.into_keys().zip(shares) {
        let sum = rooms.entry(room).or_default();
        *sum = sum.plus(Amount::at_least_with(share, missing));
    }
}
