//! The change order: what the changes cost, by how far each thing is on site.
//!
//! What was planned and not yet done is credited, what is done is not: cable that was pulled stays paid for, and taking
//! it out is work. A cable that takes another way is the old one gone and a new one pulled. Cable is priced by its
//! length at the cheapest reel; which reels to buy is the business of another sheet. What has no price is unknown, and
//! so is every sum that holds it.

use super::changes::{Change, ChangeKind};
use super::effects::part_name;
use crate::design::Design;
use crate::job::catalogue::each;
use crate::job::site::Step;
use crate::job::wiring::{CeilingBox, WallBox};
use crate::job::{Id, Job, Kind, Stage, Subject, open};
use crate::network::{CableLength, Lengths};
use crate::units::Money;
use rust_decimal::{Decimal, RoundingStrategy};
use std::collections::{BTreeMap, HashSet};

/// Ticks of 100 nm in a foot.
const FOOT: i64 = 12 * 254_000;

/// Why a line stands in a change order.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum OrderWhy {
    /// It is needed now.
    Added,
    /// It is not needed any more, and was not done yet.
    Credited,
    /// It is not needed any more, but is done: pulled, set or hung.
    NotCredited,
    /// It has to be taken out, or left dead and capped at both ends.
    TakenOut,
    /// A cable that is in the house has to be landed on other terminals.
    Landed,
}

impl OrderWhy {
    /// Its words on paper.
    pub const fn words(self) -> &'static str {
        match self {
            Self::Added => "added",
            Self::Credited => "credited",
            Self::NotCredited => "done already, not credited",
            Self::TakenOut => "to be taken out",
            Self::Landed => "to be landed anew",
        }
    }
}

/// A line of a change order.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct OrderLine {
    /// The thing.
    pub subject: Subject,
    /// The catalogue entry; none for work.
    pub part: Option<Subject>,
    /// What people call that.
    pub name: String,
    /// Why.
    pub why: OrderWhy,
    /// Feet of cable or pieces, less than nothing where they are credited; none where a length is not known.
    pub quantity: Option<Decimal>,
    /// Whether the quantity is feet.
    pub is_feet: bool,
    /// What a foot or a piece costs; none where that is not known.
    pub each: Option<Decimal>,
    /// What the line comes to, to the cent; none where it is not known.
    pub cost: Option<Decimal>,
}

/// A change order: materials, and what is not known of it.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Order {
    /// Its lines, in the order of the file.
    pub lines: Vec<OrderLine>,
    /// What is known of the materials together.
    pub materials: Decimal,
    /// Lines of materials whose cost is not known.
    pub unknown: usize,
}

impl Order {
    /// All materials, if each line is known.
    pub fn materials_total(&self) -> Option<Decimal> {
        (self.unknown == 0).then_some(self.materials)
    }
}

/// Something that is bought for a thing.
#[derive(Debug, Clone)]
struct Item {
    subject: Subject,
    part: Subject,
    /// Pieces, or ticks of cable; none where a length is not known.
    count: Option<i64>,
    /// Whether it was done: pulled, set or hung.
    done: bool,
}

/// The change order from one state to another.
pub(super) fn order(old: &Design, new: &Design, changes: &[Change]) -> Order {
    let rerouted: HashSet<&Subject> = changes
        .iter()
        .filter(|change| change.kind == ChangeKind::Rerouted)
        .map(|change| &change.subject)
        .collect();
    let (before, after) = (items(old), items(new));
    let mut lines = Vec::new();
    for (key, now) in &after {
        match before.get(key) {
            None => lines.push(line(new, now, OrderWhy::Added, now.count)),
            Some(was) => {
                let same_part = was.part == now.part;
                let new_way = rerouted.contains(&now.subject) && is_cable(now);
                if same_part && !new_way {
                    lines.extend(longer(new, was, now));
                } else {
                    gone(old, was, &mut lines);
                    lines.push(line(new, now, OrderWhy::Added, now.count));
                }
            }
        }
    }
    for (_, was) in before.iter().filter(|(key, _)| !after.contains_key(*key)) {
        gone(old, was, &mut lines);
    }
    for (key, was) in &before {
        let moved = |change: &&Change| change.kind == ChangeKind::Moved && change.subject == was.subject;
        if was.done && key.0 == Kind::Cable && changes.iter().any(|change| moved(&change)) {
            let quantity = None;
            let work = line(old, was, OrderWhy::Landed, None);
            lines.push(OrderLine { part: None, quantity, each: None, cost: None, ..work });
        }
    }
    let mut order = Order { lines, ..Order::default() };
    for line in order.lines.iter().filter(|line| line.part.is_some()) {
        match line.cost.and_then(|cost| order.materials.checked_add(cost)) {
            Some(sum) => order.materials = sum,
            None => order.unknown += 1,
        }
    }
    order
}

fn is_cable(item: &Item) -> bool {
    item.part.kind == Kind::CableType
}

/// The same thing with more or less cable than was planned; what is pulled is paid for as it lies.
fn longer(design: &Design, was: &Item, now: &Item) -> Option<OrderLine> {
    if !is_cable(now) || was.done || was.count == now.count {
        return None;
    }
    let more = was.count.zip(now.count).map(|(was, now)| now - was);
    let why = if more.is_some_and(|more| more < 0) { OrderWhy::Credited } else { OrderWhy::Added };
    Some(line(design, now, why, more))
}

fn gone(design: &Design, was: &Item, lines: &mut Vec<OrderLine>) {
    if was.done {
        let nothing = OrderLine {
            each: None,
            cost: Some(Decimal::ZERO),
            ..line(design, was, OrderWhy::NotCredited, was.count)
        };
        lines.push(nothing);
        lines.push(OrderLine {
            part: None,
            each: None,
            cost: None,
            ..line(design, was, OrderWhy::TakenOut, was.count)
        });
    } else {
        lines.push(line(design, was, OrderWhy::Credited, was.count.map(|count| -count)));
    }
}

fn line(design: &Design, item: &Item, why: OrderWhy, count: Option<i64>) -> OrderLine {
    let is_feet = is_cable(item);
    let quantity = count.map(|count| {
        if is_feet { (Decimal::from(count) / Decimal::from(FOOT)).round_dp(2) } else { Decimal::from(count) }
    });
    let each = price_of(&design.job, &item.part);
    let cost = quantity.zip(each).and_then(|(quantity, each)| quantity.checked_mul(each)).map(cents);
    let name = part_name(&design.job, &(item.part.kind, item.part.id.to_ascii_lowercase()));
    OrderLine {
        subject: item.subject.clone(),
        part: Some(item.part.clone()),
        name: name.unwrap_or_default(),
        why,
        quantity,
        is_feet,
        each,
        cost,
    }
}

fn cents(amount: Decimal) -> Decimal {
    amount.round_dp_with_strategy(2, RoundingStrategy::MidpointAwayFromZero)
}

/// What a piece costs, or a foot of cable from the reel that is cheapest by length.
fn price_of(job: &Job, part: &Subject) -> Option<Decimal> {
    let parts = &job.catalogue;
    let is = |id: &Id| id.as_str().eq_ignore_ascii_case(&part.id);
    match part.kind {
        Kind::CableType => {
            let reels = &parts.cables.iter().find(|e| is(&e.id))?.reels;
            let by_foot = reels.iter().filter_map(|reel| {
                let feet = Decimal::from(reel.length.ticks()).checked_div(Decimal::from(FOOT))?;
                reel.price.map(Money::amount)?.checked_div(feet)
            });
            by_foot.min()
        }
        Kind::FixtureType => parts.fixtures.iter().find(|e| is(&e.id)).and_then(|e| each(e.price, e.pack)),
        Kind::SupplyType => parts.supplies.iter().find(|e| is(&e.id)).and_then(|e| each(e.price, e.pack)),
        Kind::ControlType => parts.controls.iter().find(|e| is(&e.id)).and_then(|e| each(e.price, e.pack)),
        Kind::BoxType => parts.boxes.iter().find(|e| is(&e.id)).and_then(|e| each(e.price, e.pack)),
        _ => None,
    }
}

/// Everything that is bought, by the thing and the kind of part it is bought for.
fn items(design: &Design) -> BTreeMap<(Kind, String, Kind), Item> {
    let job = &design.job;
    let mut all = BTreeMap::new();
    let mut add = |kind: Kind, id: &Id, part_kind: Kind, part: &Id, count: Option<i64>, done: bool| {
        let subject = Subject::new(kind, id);
        let item = Item { subject, part: Subject::new(part_kind, part), count, done };
        all.insert((kind, id.folded(), part_kind), item);
    };
    // As it was planned: what was pulled is paid for by its length in the plan.
    let lengths = Lengths::new(job, &design.index).planned();
    let ticks = |length: Option<CableLength>| length.map(|length| length.length.ticks());
    for wall_box in &job.boxes {
        let (set, hung) = done(wall_box);
        if let Some(part) = &wall_box.part {
            add(Kind::WallBox, &wall_box.id, Kind::BoxType, part, Some(1), set);
        }
        for feed in &wall_box.feeds {
            let pulled = feed.site.done.step() >= Step::Pulled;
            add(
                Kind::Cable,
                &feed.id,
                Kind::CableType,
                &feed.cable,
                ticks(lengths.feed(wall_box, feed)),
                pulled,
            );
        }
        for control in &wall_box.controls {
            add(Kind::Control, &control.id, Kind::ControlType, &control.part, Some(1), hung);
            for run in &control.loops {
                let pulled = run.site.done.step() >= Step::Pulled;
                let length = ticks(lengths.wired_loop(wall_box, run).whole);
                add(Kind::Cable, &run.id, Kind::CableType, &run.cable, length, pulled);
                for ceiling in &run.ceiling {
                    let (set, hung) = ceiling_done(ceiling);
                    if let Some(part) = open::box_of(job, &design.index, wall_box, run, ceiling) {
                        add(Kind::Fixture, &ceiling.id, Kind::BoxType, part, Some(1), set || pulled);
                    }
                    if let Some(part) = &ceiling.fixture {
                        add(Kind::Fixture, &ceiling.id, Kind::FixtureType, part, Some(1), hung);
                    }
                }
            }
        }
    }
    for link in job.groups.iter().flat_map(|group| &group.links) {
        let pulled = link.site.done.step() >= Step::Pulled;
        add(Kind::Cable, &link.id, Kind::CableType, &link.cable, ticks(lengths.link(link)), pulled);
    }
    // Nobody records when a supply is mounted: at trim it is.
    let mounted = job.project.stage == Stage::Trim;
    for supply in job.panels.iter().flat_map(|panel| &panel.supplies) {
        add(Kind::Supply, &supply.id, Kind::SupplyType, &supply.part, Some(1), mounted);
    }
    all
}

/// Whether a wall box is set, and whether its controls are.
fn done(wall_box: &WallBox) -> (bool, bool) {
    let step = wall_box.site.done.step();
    (step >= Step::Pulled, step >= Step::Trimmed)
}

/// Whether a ceiling box is set, and whether its fixture hangs.
fn ceiling_done(ceiling: &CeilingBox) -> (bool, bool) {
    use crate::job::site::Splice;
    let step = ceiling.site.done.step();
    let hangs = step >= Step::Trimmed || ceiling.site.splice == Splice::FixtureOn;
    (step >= Step::Pulled, hangs)
}
