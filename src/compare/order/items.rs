//! What is bought for each thing in one state of a job.

use super::Key;
use super::done::{Aspect, key};
use super::material::Needs;
use crate::design::Design;
use crate::job::catalogue::{Per, SmallPart};
use crate::job::{Kind, Subject};
use crate::takeoff::{Group, Material, cable_lengths, cable_type, cost_of_length, parts};
use rust_decimal::Decimal;
use std::collections::BTreeMap;

/// Ticks of 100 nm in a foot.
const FOOT: i64 = 12 * 254_000;

/// Something that is bought, and what a piece or a foot of it costs.
#[derive(Debug, Clone)]
pub(super) struct Bought {
    /// The catalogue entry; none where none is chosen.
    pub part: Option<Subject>,
    pub name: String,
    pub each: Option<Decimal>,
    pub aspect: Aspect,
}

/// A thing with one part that is bought for it.
#[derive(Debug, Clone)]
pub(super) struct Item {
    pub subject: Subject,
    pub bought: Bought,
    /// Pieces, or ticks of cable; none where a length is not known.
    pub count: Option<Decimal>,
}

/// A small part, with how many of it each thing needs; none where that hangs on an unknown length.
#[derive(Debug, Clone)]
pub(super) struct Small {
    pub bought: Bought,
    pub needs: Needs,
}

/// What is bought in one state.
#[derive(Debug, Default)]
pub(super) struct Items {
    /// Cables with their ticks.
    pub cables: BTreeMap<Key, Item>,
    /// Boxes, fixtures, controls and supplies, by the thing and the kind of part.
    pub parts: BTreeMap<(Key, Group), Item>,
    /// Small parts by id, those that are not chosen by name.
    pub small: BTreeMap<String, Small>,
}

/// Feet of so many ticks, to a hundredth.
pub(super) fn feet(ticks: Decimal) -> Decimal {
    (ticks / Decimal::from(FOOT)).round_dp(2)
}

impl Items {
    pub(super) fn of(design: &Design) -> Self {
        let mut items = Self::default();
        let lengths = cable_lengths(design);
        for cable in &lengths {
            if let Some(bought) = cable_of(design, &cable.subject) {
                let count = cable.length.map(|length| Decimal::from(length.ticks()));
                let item = Item { subject: cable.subject.clone(), bought, count };
                items.cables.insert(key(&cable.subject), item);
            }
        }
        let unknown: Vec<Key> =
            lengths.iter().filter(|cable| cable.length.is_none()).map(|cable| key(&cable.subject)).collect();
        for made in parts(design) {
            items.part(design, &made, &unknown);
        }
        items
    }

    fn part(&mut self, design: &Design, made: &Material, unknown: &[Key]) {
        let small = small_part(design, made);
        let bought = Bought {
            part: made.part.clone(),
            name: made.name.clone(),
            each: made.each(),
            aspect: Aspect::of_part(made.group, small.map(|part| part.per)),
        };
        if made.group != Group::SmallParts {
            for source in &made.from {
                let item = Item {
                    subject: source.subject.clone(),
                    bought: bought.clone(),
                    count: Some(source.quantity),
                };
                self.parts.insert((key(&source.subject), made.group), item);
            }
            return;
        }
        let name = made.part.as_ref().map_or_else(|| made.name.clone(), |part| part.id.to_ascii_lowercase());
        let mut needs: Needs = Needs::new();
        for source in &made.from {
            let need = needs.entry(key(&source.subject)).or_insert(Some(Decimal::ZERO));
            *need = need.and_then(|sum| sum.checked_add(source.quantity));
        }
        if small.is_some_and(|part| part.per == Per::Cable && part.every.is_some()) {
            needs.extend(unknown.iter().map(|cable| (cable.clone(), None)));
        }
        self.small.insert(name, Small { bought, needs });
    }
}

fn small_part<'a>(design: &'a Design, made: &Material) -> Option<&'a SmallPart> {
    let part = made.part.as_ref().filter(|part| part.kind == Kind::SmallPart)?;
    design.job.catalogue.small_parts.iter().find(|entry| entry.id.as_str().eq_ignore_ascii_case(&part.id))
}

/// The type of a cable, with what a foot of it costs from the reel that is cheapest by length.
fn cable_of(design: &Design, cable: &Subject) -> Option<Bought> {
    let part = cable_type(design, cable)?;
    let entry = design.index.cable_type(&design.job, part);
    Some(Bought {
        each: entry.and_then(|entry| cost_of_length(entry, Decimal::from(FOOT))),
        name: entry.map_or_else(String::new, |entry| entry.name.clone()),
        part: Some(Subject::new(Kind::CableType, part)),
        aspect: Aspect::Pulled,
    })
}
