//! Cable: what of it the job needs, on which reels it is bought, and what that costs.

use super::Facts;
use super::amount::{Amount, line};
use super::walk::cable_lengths;
use crate::job::catalogue::CableType;
use crate::job::{Id, Job, Spot, Subject};
use crate::plan::reels::{self, CablePlan, ReelFrom, Scope, is_pulled};
use crate::units::{Length, Money};
use rust_decimal::Decimal;

/// A cable that is cut.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct CableSource {
    /// The cable.
    pub subject: Subject,
    /// The room it is counted in.
    pub room: Option<Id>,
    /// Its length, if that is known.
    pub length: Option<Length>,
}

/// Cable of one type.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct CableMaterial {
    /// The cable type.
    pub part: Subject,
    /// What people call it.
    pub name: String,
    /// Every cable of it.
    pub from: Vec<CableSource>,
    /// The known lengths together.
    pub length: Length,
    /// The reels of the whole job, as if nothing was pulled yet: what the cost is reckoned with.
    pub plan: CablePlan,
    /// The reels for what is still to be pulled: what is ordered.
    pub to_cut: Option<CablePlan>,
    /// The reels to buy at their prices, and what comes from reels on hand at the lowest price for its length.
    pub cost: Amount,
}

/// Every cable type that the job uses, in the order of the catalogue.
pub(super) fn cables(design: Facts<'_>) -> Vec<CableMaterial> {
    let lengths = cable_lengths(design);
    let mut to_cut: Vec<CablePlan> =
        if any_pulled(design.job) { reels::plan(design.job, design.index, Scope::ToCut) } else { Vec::new() };
    let nothing_pulled = !any_pulled(design.job);
    let mut of_plan = |plan: CablePlan| {
        let cable = design.index.cable_type(design.job, &plan.cable)?;
        let of_type = lengths
            .iter()
            .filter(|(subject, _, _)| type_of(design, subject).is_some_and(|of| of.same(&plan.cable)));
        let from: Vec<CableSource> = of_type
            .map(|(subject, room, length)| CableSource {
                subject: subject.clone(),
                room: room.clone(),
                length: length.map(|length| length.length),
            })
            .collect();
        let ticks = from.iter().filter_map(|source| source.length).map(Length::ticks).sum();
        Some(CableMaterial {
            part: Subject::new(crate::job::Kind::CableType, &plan.cable),
            name: cable.name.clone(),
            length: Length::from_ticks(ticks, design.job.project.units),
            cost: cost(cable, &plan),
            to_cut: if nothing_pulled {
                Some(plan.clone())
            } else {
                to_cut.iter().position(|cut| cut.cable == plan.cable).map(|at| to_cut.swap_remove(at))
            },
            from,
            plan,
        })
    };
    reels::plan(design.job, design.index, Scope::Whole).into_iter().filter_map(&mut of_plan).collect()
}

fn any_pulled(job: &Job) -> bool {
    let feeds = job.boxes.iter().flat_map(|wall_box| &wall_box.feeds).map(|feed| &feed.site);
    let controls = job.boxes.iter().flat_map(|wall_box| &wall_box.controls);
    let loops = controls.flat_map(|control| &control.loops).map(|run| &run.site);
    let links = job.groups.iter().flat_map(|group| &group.links).map(|link| &link.site);
    feeds.chain(loops).chain(links).any(is_pulled)
}

/// The cable type of a cable.
pub(super) fn type_of<'a>(design: Facts<'a>, cable: &Subject) -> Option<&'a Id> {
    let job = &design.job;
    match design.index.spot(cable.kind, &Id::new(&cable.id).ok()?)? {
        Spot::Feed { wall_box, feed } => Some(&job.boxes.get(wall_box)?.feeds.get(feed)?.cable),
        Spot::Loop { wall_box, control, at } => {
            Some(&job.boxes.get(wall_box)?.controls.get(control)?.loops.get(at)?.cable)
        }
        Spot::Link { group, link } => Some(&job.groups.get(group)?.links.get(link)?.cable),
        _ => None,
    }
}

/// Each reel is a line. What has no reel, no length or no price is missing, never nothing.
fn cost(cable: &CableType, plan: &CablePlan) -> Amount {
    let of_reel = |reel: &reels::ReelPlan| match reel.from {
        ReelFrom::Bought(price) => line(Decimal::ONE, price, Decimal::ONE),
        ReelFrom::OnHand(_) => {
            let taken = Decimal::from(reel.length.ticks() - reel.left.ticks());
            match lowest_for_length(cable) {
                Some((price, ticks)) => line(taken, Some(price), ticks),
                None => Amount::UNKNOWN,
            }
        }
    };
    let known: Amount = plan.reels.iter().map(of_reel).sum();
    let left_out = plan.unknown.len() + plan.too_long.len() + usize::from(plan.unplanned.is_some());
    known.plus(Amount::at_least_with(Decimal::ZERO, left_out))
}

/// The reel whose cable is the cheapest by length: its price and its ticks.
pub(super) fn lowest_for_length(cable: &CableType) -> Option<(Decimal, Decimal)> {
    let priced = cable.reels.iter().filter_map(|reel| {
        let ticks = Decimal::from(reel.length.ticks());
        let price = reel.price.map(Money::amount)?;
        Some((price.checked_div(ticks)?, price, ticks))
    });
    priced.min_by(|a, b| a.0.cmp(&b.0)).map(|(_, price, ticks)| (price, ticks))
}
