//! What one state of a job needs more than another in parts, cable by its length, and labor.

use super::Facts;
use super::cables::{lowest_for_length, type_of};
use super::count::materials;
use super::labor::labor;
use super::walk::cable_lengths;
use crate::design::Design;
use crate::job::catalogue::CableType;
use crate::job::{Index, Job};
use crate::units::{Money, to_cents};
use rust_decimal::Decimal;
use std::collections::BTreeMap;

/// How much more a changed job costs before tax, overhead and margin; less where it is below zero. Parts by the piece,
/// without waste, cable by its length at the cheapest reel, each line to the cent. None while a price, a length or the
/// hours of something that is other are not known.
pub fn more(before: &Design, after: &Job) -> Option<Decimal> {
    let index = Index::new(after).0;
    let (was, now) = (lines(Facts::of(before)), lines(Facts { job: after, index: &index }));
    let mut sum = Decimal::ZERO;
    let keys: std::collections::BTreeSet<&String> = was.keys().chain(now.keys()).collect();
    for key in keys {
        let (was, now) = (was.get(key), now.get(key));
        let count = |line: Option<&Line>| line.map_or(Some(Decimal::ZERO), |line| line.count);
        if was.is_some() && now.is_some() && count(was) == count(now) {
            continue;
        }
        let each = now.or(was)?.each?;
        let more = count(now)?.checked_sub(count(was)?)?.checked_mul(each)?;
        sum = sum.checked_add(to_cents(more))?;
    }
    Some(sum)
}

/// How much of something is needed and what one of it costs; none where that is not known.
struct Line {
    count: Option<Decimal>,
    each: Option<Decimal>,
}

fn lines(design: Facts<'_>) -> BTreeMap<String, Line> {
    let mut all = BTreeMap::new();
    for made in materials(design) {
        let each = made.each();
        let count = Some(made.counted).filter(|_| made.uncounted == 0);
        all.insert(format!("part {}", made.key), Line { count, each });
    }
    let rate = design.job.estimate.hourly_rate.map(Money::amount);
    for task in labor(design) {
        let each = match task.hours_each {
            // What is counted in another task costs nothing, whatever the rate.
            Some(hours) if hours.is_zero() => Some(Decimal::ZERO),
            hours => hours.zip(rate).and_then(|(hours, rate)| hours.checked_mul(rate)),
        };
        let count = Some(task.count).filter(|_| task.uncounted == 0);
        all.insert(format!("task {}", task.key), Line { count, each });
    }
    for (cable, _, length) in cable_lengths(design) {
        let Some(of) = type_of(design, &cable) else { continue };
        let each = design.index.cable_type(design.job, of).and_then(per_tick);
        let ticks = length.map(|length| Decimal::from(length.length.ticks()));
        let line = all
            .entry(format!("cable {}", of.folded()))
            .or_insert_with(|| Line { count: Some(Decimal::ZERO), each });
        line.count = line.count.zip(ticks).and_then(|(sum, ticks)| sum.checked_add(ticks));
    }
    all
}

fn per_tick(cable: &CableType) -> Option<Decimal> {
    lowest_for_length(cable).and_then(|(price, ticks)| price.checked_div(ticks))
}
