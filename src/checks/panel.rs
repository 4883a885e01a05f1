//! Panels: slots, the AC feed, heat, and room for more.

use super::finding::{Finding, Unit, up};
use super::{Seen, list};
use crate::format;
use crate::job::panel::{AcFeed, Panel};
use crate::job::{Kind, Subject};
use crate::standards::class2::MOST_BRANCH_AMPS;
use crate::study::PanelStudy;

/// A panel: its slots, its AC feed, its heat and what it has to spare.
pub(super) fn check(seen: Seen<'_>, at: usize, findings: &mut Vec<Finding>) {
    let Some((panel, study)) = seen.job.panels.get(at).zip(seen.study.panels.get(at)) else { return };
    slots(seen, panel, findings);
    if let Some(feed) = panel.feed {
        ac(seen, panel, feed, study, findings);
    }
    heat(seen, panel, study, findings);
    spare(seen, panel, study, findings);
}

fn ac(seen: Seen<'_>, panel: &Panel, feed: AcFeed, study: &PanelStudy, findings: &mut Vec<Finding>) {
    let subject = || Subject::new(Kind::Panel, &panel.id);
    let breaker = feed.breaker_amps.get();
    let limit = breaker * seen.job.settings.continuous_percent.get() / 100.0;
    match study.ac_amps {
        Some(amps) if amps > limit => {
            let [amps_shown, limit_shown] = Unit::Amps.apart(amps, limit);
            findings.push(
                seen.find(
                    &list::AC_FEED,
                    subject(),
                    format!(
                        "panel {} takes {amps_shown}; a {breaker} A breaker carries {limit_shown} of continuous load",
                        panel.id
                    ),
                    format!("move supplies for {} or more to another circuit", format::amps(Some(up(amps - limit)))),
                )
                .figures(amps, limit, Unit::Amps)
                .over(study.ranges.as_ref().and_then(|ranges| ranges.ac_amps.as_ref()), false),
            );
        }
        Some(_) => {}
        None => findings.push(seen.find(
            &list::AC_UNKNOWN,
            subject(),
            format!("the amps of panel {}'s AC feed are unknown", panel.id),
            "enter efficiency and power factor of its supplies, and clear what makes its runs unknown",
        )),
    }
    let kind = |supply: &crate::job::panel::Supply| seen.index.supply_type(seen.job, &supply.part);
    let class_2 = panel.supplies.iter().filter_map(kind).any(|part| part.kind.is_class_2());
    if class_2 && breaker > MOST_BRANCH_AMPS {
        findings.push(
            seen.find(
                &list::AC_BRANCH,
                subject(),
                format!("the Class 2 supplies of panel {} are behind a {breaker} A breaker", panel.id),
                "feed them by a breaker of 20 A or less, or by several",
            )
            .figures(breaker, MOST_BRANCH_AMPS, Unit::Amps),
        );
    }
    for part in &seen.job.catalogue.supplies {
        let count = panel.supplies.iter().filter(|supply| supply.part.same(&part.id)).count();
        let Some(most) = part.most_per_breaker.map(usize::from).filter(|&most| count > most) else {
            continue;
        };
        findings.push(
            seen.find(
                &list::INRUSH,
                subject(),
                format!("{count} supplies of type {} start on one breaker of panel {}", part.id, panel.id),
                format!("feed {} of them by another breaker", count - most),
            )
            .counts(count, most),
        );
    }
}

fn heat(seen: Seen<'_>, panel: &Panel, study: &PanelStudy, findings: &mut Vec<Finding>) {
    let Some((heat, limit)) = study.heat_watts.zip(panel.heat_allowance_watts) else { return };
    let limit = limit.get();
    if heat > limit {
        findings.push(
            seen.find(
                &list::PANEL_HEAT,
                Subject::new(Kind::Panel, &panel.id),
                format!("panel {} makes {} of heat", panel.id, format::watts(Some(heat))),
                format!(
                    "move supplies that lose {} or more elsewhere, or air it",
                    format::watts(Some(up(heat - limit)))
                ),
            )
            .figures(heat, limit, Unit::Watts)
            .over(study.ranges.as_ref().and_then(|ranges| ranges.heat_watts.as_ref()), false),
        );
    }
}

/// The watts of a panel's outputs that nothing takes, against the job's wish.
fn spare(seen: Seen<'_>, panel: &Panel, study: &PanelStudy, findings: &mut Vec<Finding>) {
    let wish = seen.job.settings.spare_capacity_percent.get();
    let outputs = seen.study.outputs.iter().filter(|output| output.panel.same(&panel.id));
    let capacity: Option<f64> = outputs.map(|output| output.limit_watts).sum();
    let Some((capacity, taken)) = capacity.zip(study.output_watts) else { return };
    if capacity <= 0.0 {
        return;
    }
    let free = (capacity - taken) / capacity * 100.0;
    if free < wish {
        let watts = format::watts(Some(up(taken - capacity * (1.0 - wish / 100.0))));
        findings.push(
            seen.find(
                &list::SPARE,
                Subject::new(Kind::Panel, &panel.id),
                format!("panel {} has {} of its watts to spare", panel.id, format::percent(Some(free))),
                format!("add a supply, or move {watts} or more to another panel"),
            )
            .figures(free, wish, Unit::Percent)
            .over(study.ranges.as_ref().and_then(|ranges| ranges.output_watts.as_ref()), false),
        );
    }
}

fn slots(seen: Seen<'_>, panel: &Panel, findings: &mut Vec<Finding>) {
    let mut taken: Vec<(u16, u16, &crate::job::Id)> = Vec::new();
    for supply in &panel.supplies {
        let subject = || Subject::new(Kind::Supply, &supply.id);
        let Some(part) = seen.index.supply_type(seen.job, &supply.part) else { continue };
        let Some(first) = supply.slot.map(std::num::NonZeroU16::get) else {
            findings.push(seen.find(
                &list::NOT_PLACED,
                subject(),
                format!("supply {} is in no slot of panel {}", supply.id, panel.id),
                "give it a slot",
            ));
            continue;
        };
        let last = first.saturating_add(u16::from(part.slots.get()) - 1);
        if last > panel.slots.get() {
            findings.push(
                seen.find(
                    &list::SLOT_RANGE,
                    subject(),
                    format!(
                        "supply {} takes slots {first} to {last}; panel {} has {}",
                        supply.id, panel.id, panel.slots
                    ),
                    "move it down, or to another panel",
                )
                .counts(usize::from(last), usize::from(panel.slots.get())),
            );
        }
        for &(other_first, other_last, other) in &taken {
            if first <= other_last && other_first <= last {
                findings.push(seen.find(
                    &list::SLOT_OVERLAP,
                    subject(),
                    format!("supplies {other} and {} both take slot {}", supply.id, first.max(other_first)),
                    format!("move {} to slot {} or beyond", supply.id, other_last.saturating_add(1)),
                ));
            }
        }
        taken.push((first, last, &supply.id));
    }
}
