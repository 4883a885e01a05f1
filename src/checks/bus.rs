//! Control buses after the profile of IEC 62386.

use super::finding::{Finding, Unit};
use super::{Seen, list};
use crate::format::Quantity;
use crate::job::catalogue::Function;
use crate::job::wiring::{ControlBus, ControlGroup, Link};
use crate::job::{Id, Kind, Subject};
use crate::network::Lengths;
use crate::standards::bus;
use crate::standards::conductor::ohms_per_metre;
use std::collections::HashMap;

/// Feet in a metre.
const FEET: f64 = 1.0 / 0.3048;

/// The bus of a group, where it has one.
pub(super) fn check(seen: Seen<'_>, group: &ControlGroup, findings: &mut Vec<Finding>) {
    let Some(profile) = group.bus else { return };
    supply(seen, group, profile, findings);
    cables(seen, group, profile, findings);
    way(seen, group, profile, findings);
}

fn supply(seen: Seen<'_>, group: &ControlGroup, profile: ControlBus, findings: &mut Vec<Finding>) {
    let subject = || Subject::new(Kind::Group, &group.id);
    for (what, count, most) in [
        ("control gear", profile.gear, bus::MOST_GEAR),
        ("control devices", profile.devices, bus::MOST_DEVICES),
    ] {
        if count > most {
            findings.push(
                seen.find(
                    &list::BUS_ADDRESSES,
                    subject(),
                    format!(
                        "the bus of group {} has {count} addresses of {what}; there are {most}",
                        group.id
                    ),
                    format!("put {} of them on another bus", count - most),
                )
                .counts(usize::from(count), usize::from(most)),
            );
        }
    }
    let amps = profile.amps.get();
    if amps > bus::MOST_AMPS {
        findings.push(
            seen.find(
                &list::BUS_AMPS,
                subject(),
                format!("the bus of group {} is supplied with {amps} A", group.id),
                "use one supply of 0.25 A or less on a bus",
            )
            .figures(amps, bus::MOST_AMPS, Unit::Amps),
        );
    }
}

/// The pair of a bus is insulated as for line voltage; it shares no cable with Class 2 unless its supply is that.
fn cables(seen: Seen<'_>, group: &ControlGroup, profile: ControlBus, findings: &mut Vec<Finding>) {
    for link in group.links.iter().filter(|_| !profile.class_2) {
        let part = seen.index.cable_type(seen.job, &link.cable);
        let plan = link.plan.as_ref().or(part.map(|part| &part.plan));
        let Some(plan) = plan.and_then(|plan| seen.index.plan(seen.job, plan)) else { continue };
        let power = [Function::Positive, Function::Negative, Function::FirstString, Function::SecondString];
        if power.iter().any(|&function| plan.count(function) > 0) {
            findings.push(seen.find(
                &list::BUS_CABLE,
                Subject::new(Kind::Cable, &link.id),
                format!("{} carries the bus of group {} beside Class 2 conductors", link.id, group.id),
                "give the bus a cable of its own, or state that its supply is listed as Class 2",
            ));
        }
    }
}

fn way(seen: Seen<'_>, group: &ControlGroup, profile: ControlBus, findings: &mut Vec<Finding>) {
    let subject = || Subject::new(Kind::Group, &group.id);
    if let Some(link) = ring(&group.links) {
        findings.push(seen.find(
            &list::BUS_RING,
            Subject::new(Kind::Cable, &link.id),
            format!("link {} closes a ring in the bus of group {}", link.id, group.id),
            "leave it out: a bus may be a line, a star or a tree",
        ));
        return;
    }
    let lengths = Lengths::new(seen.job, seen.index);
    let celsius = seen.job.settings.conductor_celsius.get();
    let metres: Option<Vec<f64>> =
        group.links.iter().map(|link| Some(lengths.link(link)?.length.metres())).collect();
    if let Some(metres) = metres {
        let far = farthest(&group.links, &metres);
        if far > bus::MOST_METRES {
            findings.push(
                seen.find(
                    &list::BUS_LENGTH,
                    subject(),
                    format!(
                        "the bus of group {} is {} from end to end",
                        group.id,
                        Quantity::Metres.shown(Some(far))
                    ),
                    "shorten its longest way, or part it in two",
                )
                .figures(far * FEET, bus::MOST_METRES * FEET, Unit::Feet),
            );
        }
        let drops: Option<Vec<f64>> = group
            .links
            .iter()
            .zip(&metres)
            .map(|(link, &metres)| {
                let part = seen.index.cable_type(seen.job, &link.cable)?;
                let ohms = ohms_per_metre(part.gauge.get(), part.stranding, celsius)?;
                Some(bus::drop_volts(profile.amps.get(), ohms, metres))
            })
            .collect();
        if let Some(drop) = drops.map(|drops| farthest(&group.links, &drops))
            && drop > bus::MOST_DROP_VOLTS
        {
            findings.push(
                seen.find(
                    &list::BUS_DROP,
                    subject(),
                    format!(
                        "the bus of group {} loses {}",
                        group.id,
                        Unit::Volts.apart(drop, bus::MOST_DROP_VOLTS)[0]
                    ),
                    "use a heavier pair, or a shorter way",
                )
                .figures(drop, bus::MOST_DROP_VOLTS, Unit::Volts),
            );
        }
    }
}

/// A link between two points that are joined already.
fn ring(links: &[Link]) -> Option<&Link> {
    let mut root: HashMap<String, String> = HashMap::new();
    let find = |root: &HashMap<String, String>, id: &Id| {
        let mut at = id.folded();
        while let Some(next) = root.get(&at) {
            at.clone_from(next);
        }
        at
    };
    for link in links {
        let (from, to) = (find(&root, &link.from), find(&root, &link.to));
        if from == to {
            return Some(link);
        }
        root.insert(from, to);
    }
    None
}

/// The most that the figures of links come to between any two points of a bus without rings.
fn farthest(links: &[Link], figures: &[f64]) -> f64 {
    let mut near: HashMap<String, Vec<(String, f64)>> = HashMap::new();
    for (link, &figure) in links.iter().zip(figures) {
        near.entry(link.from.folded()).or_default().push((link.to.folded(), figure));
        near.entry(link.to.folded()).or_default().push((link.from.folded(), figure));
    }
    let mut most = 0.0_f64;
    for start in near.keys() {
        let mut open = vec![(start, None, 0.0)];
        while let Some((at, before, sum)) = open.pop() {
            most = most.max(sum);
            for (next, figure) in near.get(at).into_iter().flatten() {
                if Some(next) != before {
                    open.push((next, Some(at), sum + figure));
                }
            }
        }
    }
    most
}
