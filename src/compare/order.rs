//! The change order: what the changes cost, by how far each thing is on site.
//!
//! What was planned and not yet done is credited, what is done is not: cable that was pulled stays paid for, and taking
//! it out is work. A cable that takes another way is the old one gone and a new one pulled. Cable is priced by its
//! length at the cheapest reel; which reels to buy is the business of another sheet. Parts and work are counted as the
//! takeoff counts them, without waste. What comes is priced by the new state, what is credited by the old one; tax,
//! overhead and margin are those of the new estimate, on credits too. What has no price is unknown, and so is every sum
//! that holds it.

mod done;
mod items;
mod material;
mod work;

use super::changes::{Change, ChangeKind};
use crate::design::Design;
use crate::job::{Kind, Subject};
use crate::takeoff::{Amount, Sums, marked_up};
use done::{Aspect, Site, key};
use rust_decimal::Decimal;
use std::collections::HashSet;

/// A thing by kind and folded id, the same in both states.
type Key = (Kind, String);

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
    /// It is done, and has to be done once more: landed, set, joined or tested.
    Again,
    /// It is pulled and has to go farther than it was planned to: whether it reaches is to be seen on site.
    MayNotReach,
}

impl OrderWhy {
    /// Its words on paper.
    pub const fn words(self) -> &'static str {
        match self {
            Self::Added => "added",
            Self::Credited => "credited",
            Self::NotCredited => "done, not credited",
            Self::TakenOut => "to be taken out",
            Self::Again => "to be done again",
            Self::MayNotReach => "pulled; may not reach",
        }
    }

    /// Its name for machines.
    pub const fn key(self) -> &'static str {
        match self {
            Self::Added => "added",
            Self::Credited => "credited",
            Self::NotCredited => "not-credited",
            Self::TakenOut => "taken-out",
            Self::Again => "again",
            Self::MayNotReach => "may-not-reach",
        }
    }
}

/// Materials in a change order.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct OrderLine {
    /// What it is for; of small parts the part itself.
    pub subject: Subject,
    /// The catalogue entry; none where none is chosen.
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

/// Work in a change order.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct OrderTask {
    /// The field of the estimate that holds its hours.
    pub key: &'static str,
    /// What is done.
    pub name: &'static str,
    /// Why.
    pub why: OrderWhy,
    /// What it is done to.
    pub on: Vec<Subject>,
    /// How often, less than nothing where it is credited; none where that hangs on an unknown length.
    pub count: Option<Decimal>,
    /// Hours each time; none where the firm has not said.
    pub hours_each: Option<Decimal>,
    /// Hours in all.
    pub hours: Option<Decimal>,
    /// Hours at the hourly rate, to the cent; none where it is not known.
    pub cost: Option<Decimal>,
}

/// A change order. Credits are less than nothing, so that what is known of a sum is no least amount.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Order {
    /// Materials, in the order of the file.
    pub lines: Vec<OrderLine>,
    /// Work, in the order of the estimate.
    pub tasks: Vec<OrderTask>,
    /// All materials.
    pub materials: Amount,
    /// All work.
    pub labor: Amount,
    /// Hours of it.
    pub hours: Option<Decimal>,
    /// What the firm and the state put on both.
    pub sums: Sums,
}

impl Order {
    /// Lines whose cost is not known.
    pub fn unknown(&self) -> usize {
        let lines = self.lines.iter().filter(|line| line.cost.is_none()).count();
        lines + self.tasks.iter().filter(|task| task.cost.is_none()).count()
    }
}

/// What has to be done anew though it was done, because what it was done to is another.
#[derive(Debug, Clone, Default)]
struct Redone {
    things: HashSet<(Aspect, Key)>,
}

impl Redone {
    fn add(&mut self, aspect: Aspect, thing: Key) {
        self.things.insert((aspect, thing));
    }

    fn has(&self, aspect: Aspect, thing: &Key) -> bool {
        self.things.contains(&(aspect, thing.clone()))
    }
}

/// The change order from one state to another.
pub(super) fn order(old: &Design, new: &Design, changes: &[Change]) -> Order {
    if changes.is_empty() {
        return Order { hours: Some(Decimal::ZERO), ..Order::default() };
    }
    let site = Site::of(old);
    let made = material::lines(old, new, changes, &site);
    let tasks = work::tasks(old, new, changes, &site, &made);
    let materials: Amount = made.lines.iter().map(|line| Amount::from(line.cost)).sum();
    let labor: Amount = tasks.iter().map(|task| Amount::from(task.cost)).sum();
    let hours = tasks.iter().try_fold(Decimal::ZERO, |sum, task| sum.checked_add(task.hours?));
    let mut sums = marked_up(&new.job.estimate, materials, labor, Amount::default());
    if made.lines.is_empty() && tasks.is_empty() {
        // Nothing at any rate is nothing.
        sums = Sums::default();
    }
    Order { lines: made.lines, tasks, materials, labor, hours, sums }
}

/// The things of a kind of change.
fn of_kind(changes: &[Change], kind: ChangeKind) -> HashSet<Key> {
    changes.iter().filter(|change| change.kind == kind).map(|change| key(&change.subject)).collect()
}
