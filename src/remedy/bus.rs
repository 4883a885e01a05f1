//! Control buses: fewer addresses, less current, a shorter or heavier pair.

use super::cable::GAUGES;
use super::like::like;
use super::{Remedy, Trials, set};
use crate::format::Quantity;
use crate::job::edit::Edit;
use crate::job::wiring::{ControlBus, ControlGroup, Link};
use crate::job::{Kind, Spot};
use crate::network::Lengths;
use crate::standards::bus;
use crate::units::{Amps, Length, LengthUnit};
use serde_json::json;
use std::num::NonZeroU8;

pub(super) fn remedies(trials: &mut Trials<'_>) -> Vec<Remedy> {
    let Some(Spot::Group(at)) = trials.spot() else { return Vec::new() };
    let Some(group) = trials.design.job.groups.get(at) else { return Vec::new() };
    let Some(profile) = group.bus else { return Vec::new() };
    let found = match trials.finding.code {
        "bus-addresses" => vec![fewer(trials, group, profile)],
        "bus-amps" => vec![less(trials, group, profile, bus::MOST_AMPS)],
        "bus-length" => vec![shorter(trials, group)],
        "bus-drop" => {
            let drop = trials.finding.found.unwrap_or(f64::INFINITY);
            // To the hundredth of an amp below what makes the drop, which goes as the amps.
            let amps = (profile.amps.get() * bus::MOST_DROP_VOLTS / drop * 100.0).floor() / 100.0;
            vec![heavier(trials, group), shorter(trials, group), less(trials, group, profile, amps)]
        }
        _ => Vec::new(),
    };
    found.into_iter().flatten().collect()
}

fn with(group: &ControlGroup, profile: ControlBus) -> Option<Edit> {
    Some(set(Kind::Group, &group.id, "bus", serde_json::to_value(profile).ok()?))
}

fn fewer(trials: &mut Trials<'_>, group: &ControlGroup, profile: ControlBus) -> Option<Remedy> {
    let mut words = Vec::new();
    for (count, most, what) in [
        (profile.gear, bus::MOST_GEAR, "of the control gear"),
        (profile.devices, bus::MOST_DEVICES, "of the control devices"),
    ] {
        if count > most {
            words.push(format!("{} {what}", count - most));
        }
    }
    let fits = ControlBus {
        gear: profile.gear.min(bus::MOST_GEAR),
        devices: profile.devices.min(bus::MOST_DEVICES),
        ..profile
    };
    trials.plain(format!("put {} on a bus of their own", words.join(" and ")), with(group, fits)?)
}

fn less(trials: &mut Trials<'_>, group: &ControlGroup, profile: ControlBus, amps: f64) -> Option<Remedy> {
    let amps = Amps::new(amps).ok()?;
    let text = format!("supply it with {amps} A or less");
    trials.plain(text, with(group, ControlBus { amps, ..profile })?)
}

/// The longest link, to the longest whole foot or tenth of a metre that helps.
fn shorter(trials: &mut Trials<'_>, group: &ControlGroup) -> Option<Remedy> {
    let design = trials.design;
    if trials.closed() {
        return None;
    }
    let lengths = Lengths::new(&design.job, &design.index);
    let long = |link: &Link| lengths.link(link).map(|length| length.length.ticks());
    let (ticks, link) =
        group.links.iter().filter_map(|link| Some((long(link)?, link))).max_by_key(|(ticks, _)| *ticks)?;
    let units = design.job.project.units;
    let step = match units {
        LengthUnit::Feet => 3_048_000,
        LengthUnit::Metres => 1_000_000,
    };
    let edit = |steps: i64| {
        set(Kind::Cable, &link.id, "measured", json!(Length::from_ticks(steps * step, units).written()))
    };
    // Up to `low` steps it helps, from `high` on it doesn't: a shorter link never raises a drop.
    let (mut low, mut high) = (0, (ticks - 1) / step + 1);
    while high - low > 1 {
        let middle = i64::midpoint(low, high);
        let helps = trials.helps(&edit(middle));
        *(if helps { &mut low } else { &mut high }) = middle;
    }
    let length = Length::from_ticks(low * step, units).shown(units);
    trials.plain(format!("shorten link {} to {length}", link.id), edit(Some(low).filter(|low| *low > 0)?))
}

/// A heavier pair for all links of the bus: of the catalogue, or else one like the present.
fn heavier(trials: &mut Trials<'_>, group: &ControlGroup) -> Option<Remedy> {
    let design = trials.design;
    if trials.closed() {
        return None;
    }
    let now = design.index.cable_type(&design.job, &group.links.first()?.cable)?;
    let all = |part: &str| {
        let links = group.links.iter().map(|link| set(Kind::Cable, &link.id, "cable", part));
        links.collect::<Vec<Edit>>()
    };
    let mut others: Vec<_> =
        design.job.catalogue.cables.iter().filter(|part| part.gauge < now.gauge).collect();
    others.sort_by_key(|part| std::cmp::Reverse(part.gauge));
    let known = others.into_iter().take(4).find_map(|part| {
        let text = format!("use {} for the bus of group {}", part.id, group.id);
        trials.plain(text, Edit::Together(all(part.id.as_str())))
    });
    // Links of several gauges don't lose in one proportion.
    let alike = group.links.iter().all(|link| link.cable.same(&now.id));
    let lost = trials.finding.found.filter(|_| alike);
    known.or_else(|| {
        GAUGES.into_iter().filter(|&gauge| gauge < now.gauge.get()).find_map(|gauge| {
            let mut part = now.clone();
            part.gauge = NonZeroU8::new(gauge)?;
            part.reels.clear();
            let (id, insert) = like(trials, Kind::CableType, &part)?;
            let ohms = |gauge| crate::standards::conductor::ohms_per_metre(gauge, now.stranding, 75.0);
            let volts = lost.zip(ohms(gauge)).zip(ohms(now.gauge.get())).map(|((v, new), old)| v * new / old);
            let drop = volts.map(|volts| format!(" (drop {})", Quantity::Volts.shown(Some(volts))));
            let edits = std::iter::once(insert).chain(all(&id)).collect();
            let text = format!("use a {gauge} AWG pair for the bus of group {}", group.id);
            trials.plain(text + &drop.unwrap_or_default(), Edit::Together(edits))
        })
    })
}
