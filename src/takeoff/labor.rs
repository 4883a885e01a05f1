//! Labor: how often each task comes up, and the hours the firm gives it.

use super::Facts;
use super::amount::Amount;
use super::joints::{joints, plan_of};
use super::places::{Source, total};
use super::walk::{cable_lengths, ceilings, home_runs, lights};
use crate::job::catalogue::Function;
use crate::job::{Id, Kind, Subject};
use crate::units::{Hours, Money, to_cents};
use rust_decimal::{Decimal, RoundingStrategy};

/// Ticks of 100 nm in 100 ft.
const HUNDRED_FEET: i64 = 100 * 12 * 254_000;

/// A task with what it comes to.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Task {
    /// The field of the estimate that holds its hours: its name in `labor/KEY/hours`.
    pub key: &'static str,
    /// What is done.
    pub name: &'static str,
    /// What it was counted from.
    pub from: Vec<Source>,
    /// Things it would be counted from whose number is unknown.
    pub uncounted: usize,
    /// How often it comes up.
    pub count: Decimal,
    /// Hours each time; none where the firm has not said.
    pub hours_each: Option<Decimal>,
    /// Hours in all.
    pub hours: Option<Decimal>,
    /// Hours at the hourly rate.
    pub cost: Amount,
}

/// Every task that comes up.
pub(super) fn labor(design: Facts<'_>) -> Vec<Task> {
    let estimate = &design.job.estimate;
    let rate = estimate.hourly_rate.map(Money::amount);
    let tasks = estimate.hours.tasks().into_iter().map(|(key, name, hours)| {
        let (from, uncounted) = counted(design, key);
        let count = total(&from);
        let each = hours.map(Hours::get);
        let hours = each
            .and_then(|each| count.checked_mul(each))
            .filter(|_| uncounted == 0 || each == Some(Decimal::ZERO));
        let known = each.and_then(|each| count.checked_mul(each)?.checked_mul(rate?)).map(to_cents);
        let cost = match (known, each) {
            // A task that is counted in another one costs nothing, whatever the rate.
            (_, Some(each)) if each.is_zero() => Amount::known(Decimal::ZERO),
            (Some(known), _) => Amount::at_least_with(known, uncounted),
            (None, _) => Amount::UNKNOWN,
        };
        Task { key, name, from, uncounted, count, hours_each: each, hours, cost }
    });
    tasks.filter(|task| !task.count.is_zero() || task.uncounted > 0).collect()
}

/// What a task is counted from, and how many things are of unknown size.
fn counted(design: Facts<'_>, key: &str) -> (Vec<Source>, usize) {
    let job = &design.job;
    let one = |kind: Kind, id: &Id, room: Option<&Id>| {
        Source::new(Subject::new(kind, id), room.cloned(), Decimal::ONE)
    };
    let boxes = || job.boxes.iter();
    let from: Vec<Source> = match key {
        "home_run" => boxes()
            .flat_map(|b| b.feeds.iter().map(move |feed| one(Kind::Cable, &feed.id, Some(&b.room))))
            .collect(),
        "run_loop" => boxes()
            .flat_map(|b| {
                let loops = b.controls.iter().flat_map(|control| &control.loops);
                loops.map(move |run| one(Kind::Cable, &run.id, Some(&b.room)))
            })
            .collect(),
        "link" => job
            .groups
            .iter()
            .flat_map(|group| &group.links)
            .map(|link| {
                let to = design.index.control(job, &link.to).map(|(wall_box, _)| &wall_box.room);
                one(Kind::Cable, &link.id, to)
            })
            .collect(),
        "cable_100_ft" => return hundreds_of_feet(design),
        "wall_box" => boxes().map(|b| one(Kind::WallBox, &b.id, Some(&b.room))).collect(),
        "ceiling_box" => boxes()
            .flat_map(|b| {
                ceilings(b)
                    .map(move |(_, c)| one(Kind::Fixture, &c.id, Some(c.room.as_ref().unwrap_or(&b.room))))
            })
            .collect(),
        "joint" => {
            joints(design).into_iter().map(|joint| Source::new(joint.at, joint.room, Decimal::ONE)).collect()
        }
        "landing" => home_runs(design)
            .map(|(wall_box, feed)| {
                let plan = plan_of(design, &feed.cable, feed.plan.as_ref());
                let landed = plan.map_or(0, |plan| {
                    plan.conductors.iter().filter(|c| c.function != Function::Spare).count()
                });
                let subject = Subject::new(Kind::Cable, &feed.id);
                Source::new(subject, Some(wall_box.room.clone()), Decimal::from(landed))
            })
            .collect(),
        "control" => boxes()
            .flat_map(|b| b.controls.iter().map(move |c| one(Kind::Control, &c.id, Some(&b.room))))
            .collect(),
        "fixture" => boxes()
            .flat_map(|b| lights(design, b).map(|(id, room)| one(Kind::Fixture, id, Some(room))))
            .collect(),
        "supply" => job
            .panels
            .iter()
            .flat_map(|panel| &panel.supplies)
            .map(|supply| one(Kind::Supply, &supply.id, None))
            .collect(),
        "panel" => job.panels.iter().map(|panel| one(Kind::Panel, &panel.id, None)).collect(),
        "test" => home_runs(design).map(|(b, feed)| one(Kind::Cable, &feed.id, Some(&b.room))).collect(),
        "job" => vec![Source::new(Subject::new(Kind::Job, "job"), None, Decimal::ONE)],
        _ => Vec::new(),
    };
    (from, 0)
}

/// Cable in hundreds of feet, each cable to the nearest foot.
fn hundreds_of_feet(design: Facts<'_>) -> (Vec<Source>, usize) {
    let all = cable_lengths(design);
    let unknown = all.iter().filter(|(_, _, length)| length.is_none()).count();
    let known = all.into_iter().filter_map(|(cable, room, length)| {
        let hundreds = Decimal::from(length?.length.ticks()) / Decimal::from(HUNDRED_FEET);
        let whole_feet = hundreds.round_dp_with_strategy(2, RoundingStrategy::MidpointAwayFromZero);
        Some(Source::new(cable, room, whole_feet))
    });
    (known.collect(), unknown)
}
