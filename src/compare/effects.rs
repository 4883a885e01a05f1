//! What the changes do to loading, to findings and to what is needed.

use crate::checks::{Finding, Severity};
use crate::design::Design;
use crate::job::{Id, Job, Kind, Subject};
use crate::network::Lengths;
use crate::takeoff;
use rust_decimal::prelude::ToPrimitive;
use std::collections::{BTreeMap, HashSet};

/// An output or a panel that carries something else. What is not known is `None`.
#[derive(Debug, Clone, PartialEq)]
pub struct LoadChange {
    /// The output or the panel.
    pub subject: Subject,
    /// Whether it was there.
    pub was_there: bool,
    /// Whether it is there now.
    pub is_there: bool,
    /// Watts before: of a panel those of its AC side.
    pub was_watts: Option<f64>,
    /// Watts now.
    pub now_watts: Option<f64>,
    /// Percent of an output's limit before.
    pub was_percent: Option<f64>,
    /// Percent of an output's limit now.
    pub now_percent: Option<f64>,
}

/// Watts that differ by less are the same: what is shown has one decimal.
const SAME_WATTS: f64 = 0.05;

/// Every output and panel whose watts are other by 0.05 W or more, are known now or no longer, or that came or went.
pub(super) fn loads(old: &Design, new: &Design) -> Vec<LoadChange> {
    let (before, after) = (all_loads(old), all_loads(new));
    let mut changes = Vec::new();
    let key = |load: &Load| (load.subject.kind, load.subject.id.to_ascii_lowercase());
    for now in &after {
        let was = before.iter().find(|was| key(was) == key(now));
        let watts = was.and_then(|was| was.watts);
        let same = match (watts, now.watts) {
            (Some(was), Some(now)) => (was - now).abs() < SAME_WATTS,
            (was, now) => was.is_none() && now.is_none(),
        };
        // A new output that carries nothing is said with its supply.
        let idle = was.is_none() && now.watts.is_some_and(|watts| watts < SAME_WATTS);
        if idle || (was.is_some() && same) {
            continue;
        }
        changes.push(LoadChange {
            subject: now.subject.clone(),
            was_there: was.is_some(),
            is_there: true,
            was_watts: watts,
            now_watts: now.watts,
            was_percent: was.and_then(|was| was.percent),
            now_percent: now.percent,
        });
    }
    for was in before.iter().filter(|was| !after.iter().any(|now| key(was) == key(now))) {
        if was.watts.is_some_and(|watts| watts < SAME_WATTS) {
            continue;
        }
        changes.push(LoadChange {
            subject: was.subject.clone(),
            was_there: true,
            is_there: false,
            was_watts: was.watts,
            now_watts: None,
            was_percent: was.percent,
            now_percent: None,
        });
    }
    changes
}

struct Load {
    subject: Subject,
    watts: Option<f64>,
    percent: Option<f64>,
}

fn all_loads(design: &Design) -> Vec<Load> {
    let outputs = design.study.outputs.iter().map(|output| Load {
        subject: Subject::new(Kind::Output, &output.output),
        watts: output.watts,
        percent: output.percent,
    });
    let panels = design.study.panels.iter().map(|panel| Load {
        subject: Subject::new(Kind::Panel, &panel.panel),
        watts: panel.ac_watts,
        percent: None,
    });
    outputs.chain(panels).collect()
}

/// A finding that is new or gone.
#[derive(Debug, Clone, PartialEq)]
pub struct FindingChange {
    /// Whether it is new; else it is gone.
    pub is_new: bool,
    /// The finding.
    pub finding: Finding,
}

/// Errors and warnings that are in one of the two only: by check and thing.
pub(super) fn findings(old: &Design, new: &Design) -> Vec<FindingChange> {
    let only = |here: &[Finding], there: &[Finding], is_new: bool| {
        let there: HashSet<(&str, &Subject)> =
            there.iter().map(|other| (other.code, &other.subject)).collect();
        let worth = here.iter().filter(|finding| finding.severity != Severity::Advice);
        let only = worth.filter(|finding| !there.contains(&(finding.code, &finding.subject)));
        only.map(|finding| FindingChange { is_new, finding: finding.clone() }).collect::<Vec<_>>()
    };
    let mut all = only(&new.findings, &old.findings, true);
    all.extend(only(&old.findings, &new.findings, false));
    all
}

/// How much is needed of a part or of a cable type.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PartChange {
    /// Its catalogue entry.
    pub part: Subject,
    /// What people call it.
    pub name: String,
    /// Whether it is cable, counted in ticks of 100 nm; else in pieces.
    pub is_cable: bool,
    /// Needed before.
    pub was: i64,
    /// Needed now.
    pub now: i64,
    /// Cables whose length is not known, and what hangs on them, in either state: the figures are then the least.
    pub unknown: usize,
}

/// Every part and cable type of which more or less is needed.
pub(super) fn parts(old: &Design, new: &Design) -> Vec<PartChange> {
    let (before, after) = (needed(old), needed(new));
    let mut keys: Vec<&(Kind, String)> = after.keys().chain(before.keys()).collect();
    keys.sort_unstable();
    keys.dedup();
    let none = Need::default();
    keys.into_iter()
        .filter_map(|key| {
            let (was, now) = (before.get(key).unwrap_or(&none), after.get(key).unwrap_or(&none));
            let is_cable = key.0 == Kind::CableType;
            let id = if now.id.is_empty() { &was.id } else { &now.id };
            (was.count != now.count || was.unknown != now.unknown).then(|| PartChange {
                part: Subject::new(key.0, id),
                name: part_name(&new.job, key).or_else(|| part_name(&old.job, key)).unwrap_or_default(),
                is_cable,
                was: was.count,
                now: now.count,
                unknown: was.unknown + now.unknown,
            })
        })
        .collect()
}

#[derive(Debug, Clone, Default)]
struct Need {
    id: String,
    count: i64,
    unknown: usize,
}

fn needed(design: &Design) -> BTreeMap<(Kind, String), Need> {
    let job = &design.job;
    let mut all: BTreeMap<(Kind, String), Need> = BTreeMap::new();
    let mut add = |kind: Kind, id: &Id, count: Option<i64>| {
        let need = all.entry((kind, id.folded())).or_default();
        need.id = id.to_string();
        match count {
            Some(count) => need.count = need.count.saturating_add(count),
            None => need.unknown += 1,
        }
    };
    let lengths = Lengths::new(job, &design.index);
    for wall_box in &job.boxes {
        for feed in &wall_box.feeds {
            let length = lengths.feed(wall_box, feed).map(|length| length.length.ticks());
            add(Kind::CableType, &feed.cable, length);
        }
        for run in wall_box.controls.iter().flat_map(|control| &control.loops) {
            let length = lengths.wired_loop(wall_box, run).whole.map(|length| length.length.ticks());
            add(Kind::CableType, &run.cable, length);
        }
    }
    for link in job.groups.iter().flat_map(|group| &group.links) {
        add(Kind::CableType, &link.cable, lengths.link(link).map(|length| length.length.ticks()));
    }
    // The takeoff counts the rest, what a loop or a room leaves to be chosen too; without waste.
    for made in takeoff::parts(design) {
        let Some(part) = made.part else { continue };
        let need = all.entry((part.kind, part.id.to_ascii_lowercase())).or_default();
        need.count = need.count.saturating_add(made.counted.ceil().to_i64().unwrap_or(i64::MAX));
        need.unknown += made.uncounted;
        need.id = part.id;
    }
    all
}

fn part_name(job: &Job, (kind, id): &(Kind, String)) -> Option<String> {
    let parts = &job.catalogue;
    let is = |other: &Id| other.folded() == *id;
    match kind {
        Kind::CableType => parts.cables.iter().find(|e| is(&e.id)).map(|e| e.name.clone()),
        Kind::FixtureType => parts.fixtures.iter().find(|e| is(&e.id)).map(|e| e.name.clone()),
        Kind::SupplyType => parts.supplies.iter().find(|e| is(&e.id)).map(|e| e.name.clone()),
        Kind::ControlType => parts.controls.iter().find(|e| is(&e.id)).map(|e| e.name.clone()),
        Kind::BoxType => parts.boxes.iter().find(|e| is(&e.id)).map(|e| e.name.clone()),
        Kind::SmallPart => parts.small_parts.iter().find(|e| is(&e.id)).map(|e| e.name.clone()),
        _ => None,
    }
}
