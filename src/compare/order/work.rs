//! Work of a change order: what is done more or less, what is taken out, what is done again.

use super::done::{Aspect, Site, key};
use super::material::{Made, Needs, difference};
use super::{Key, OrderTask, OrderWhy};
use crate::compare::changes::{Change, ChangeKind};
use crate::design::Design;
use crate::job::{Estimate, Kind, Subject};
use crate::takeoff::{Task, cable_lengths, tasks as counted};
use crate::units::{Hours, Money, to_cents};
use rust_decimal::Decimal;
use std::collections::{BTreeMap, HashSet};

/// Every task that a change order comes to, in the order of the estimate.
pub(super) fn tasks(
    old: &Design,
    new: &Design,
    changes: &[Change],
    site: &Site,
    made: &Made,
) -> Vec<OrderTask> {
    let (before, after) = (needs(old), needs(new));
    let mut redone = made.redone.clone();
    tested_again(&mut redone, old, new, changes, site);
    let none = Needs::new();
    let mut all = Vec::new();
    for (task, name, hours) in new.job.estimate.hours.tasks() {
        let out = match task {
            "take_out_cable" => &made.cables_out,
            "take_out_part" => &made.parts_out,
            _ => &Vec::new(),
        };
        if !out.is_empty() {
            let count = Some(Decimal::from(out.len()));
            let of = Priced { task, name, hours, estimate: &new.job.estimate };
            all.push(of.line(OrderWhy::TakenOut, out.clone(), count));
        }
        let (was, now) = (before.get(task).unwrap_or(&none), after.get(task).unwrap_or(&none));
        for why in [OrderWhy::Added, OrderWhy::Again, OrderWhy::Credited] {
            let found = difference(was, now, why, Aspect::of_task(task), site, &redone);
            if found.things.is_empty() {
                continue;
            }
            // A credit gives back what the old estimate asked for.
            let of = match why {
                OrderWhy::Credited => {
                    let hours = old.job.estimate.hours.tasks().into_iter().find(|(key, ..)| *key == task);
                    let hours = hours.and_then(|(_, _, hours)| hours);
                    Priced { task, name, hours, estimate: &old.job.estimate }
                }
                _ => Priced { task, name, hours, estimate: &new.job.estimate },
            };
            let subjects = found.things.iter().map(|thing| subject(old, new, thing)).collect();
            all.push(of.line(why, subjects, found.count));
        }
    }
    all
}

/// A task with the estimate that prices it.
struct Priced<'a> {
    task: &'static str,
    name: &'static str,
    hours: Option<Hours>,
    estimate: &'a Estimate,
}

impl Priced<'_> {
    fn line(self, why: OrderWhy, on: Vec<Subject>, count: Option<Decimal>) -> OrderTask {
        let hours_each = self.hours.map(Hours::get);
        let free = hours_each.is_some_and(|each| each.is_zero());
        let hours = count.zip(hours_each).and_then(|(count, each)| count.checked_mul(each));
        let rate = self.estimate.hourly_rate.map(Money::amount);
        let cost = hours.zip(rate).and_then(|(hours, rate)| hours.checked_mul(rate)).map(to_cents);
        // A task that is counted in another one costs nothing, whatever its count and the rate.
        let (hours, cost) = if free { (Some(Decimal::ZERO), Some(Decimal::ZERO)) } else { (hours, cost) };
        OrderTask { key: self.task, name: self.name, why, on, count, hours_each, hours, cost }
    }
}

/// A thing as it is written in the job.
fn subject(old: &Design, new: &Design, (kind, id): &Key) -> Subject {
    use crate::job::{Id, Spot};
    let written = |design: &Design| {
        let job = &design.job;
        let id = match design.index.spot(*kind, &Id::new(id).ok()?)? {
            Spot::WallBox(at) => &job.boxes.get(at)?.id,
            Spot::Feed { wall_box, feed } => &job.boxes.get(wall_box)?.feeds.get(feed)?.id,
            Spot::Control { wall_box, control } => &job.boxes.get(wall_box)?.controls.get(control)?.id,
            Spot::Loop { wall_box, control, at } => {
                &job.boxes.get(wall_box)?.controls.get(control)?.loops.get(at)?.id
            }
            Spot::Ceiling { wall_box, control, at, ceiling } => {
                &job.boxes.get(wall_box)?.controls.get(control)?.loops.get(at)?.ceiling.get(ceiling)?.id
            }
            Spot::Link { group, link } => &job.groups.get(group)?.links.get(link)?.id,
            Spot::Panel(at) => &job.panels.get(at)?.id,
            Spot::Supply { panel, supply } => &job.panels.get(panel)?.supplies.get(supply)?.id,
            _ => return None,
        };
        Some(Subject::new(*kind, id))
    };
    written(new).or_else(|| written(old)).unwrap_or_else(|| Subject::new(*kind, id))
}

/// How often each task comes up at each thing.
fn needs(design: &Design) -> BTreeMap<&'static str, Needs> {
    let mut all: BTreeMap<&'static str, Needs> = BTreeMap::new();
    for Task { key: task, from, .. } in counted(design) {
        let of = all.entry(task).or_default();
        for source in from {
            let need = of.entry(key(&source.subject)).or_insert(Some(Decimal::ZERO));
            *need = need.and_then(|sum| sum.checked_add(source.quantity));
        }
    }
    let unknown = cable_lengths(design).into_iter().filter(|cable| cable.length.is_none());
    let feet = all.entry("cable_100_ft").or_default();
    feet.extend(unknown.map(|cable| (key(&cable.subject), None)));
    all
}

/// A run that is tested and is built otherwise is tested once more.
fn tested_again(redone: &mut super::Redone, old: &Design, new: &Design, changes: &[Change], site: &Site) {
    let built = |change: &&Change| {
        !matches!(change.kind, ChangeKind::Renamed | ChangeKind::Entered | ChangeKind::Length)
    };
    let other: HashSet<Key> = changes.iter().filter(built).map(|change| key(&change.subject)).collect();
    for run in &new.network.runs {
        let cable = (Kind::Cable, run.id.folded());
        let touched =
            || hangs_on(new, &run.id).iter().chain(&hangs_on(old, &run.id)).any(|on| other.contains(on));
        if site.is_done(Aspect::Tested, &cable) && touched() {
            redone.add(Aspect::Tested, cable);
        }
    }
}

/// All that hangs on a home run, itself included.
fn hangs_on(design: &Design, home_run: &crate::job::Id) -> Vec<Key> {
    let Some(run) = design.network.run(home_run).and_then(|at| design.network.runs.get(at)) else {
        return Vec::new();
    };
    let mut all = Vec::new();
    for at in &run.feeds {
        let Some(wall_box) = design.job.boxes.get(at.wall_box) else { continue };
        all.push((Kind::WallBox, wall_box.id.folded()));
        all.extend(wall_box.feeds.get(at.feed).map(|feed| (Kind::Cable, feed.id.folded())));
    }
    for (_, at) in &run.controls {
        let control = design.job.boxes.get(at.wall_box).and_then(|on| on.controls.get(at.control));
        let Some(control) = control else { continue };
        all.push((Kind::Control, control.id.folded()));
        for run in &control.loops {
            all.push((Kind::Cable, run.id.folded()));
            all.extend(run.ceiling.iter().map(|ceiling| (Kind::Fixture, ceiling.id.folded())));
        }
    }
    all
}
