//! Panels: slots and the AC feed.

use super::Seen;
use super::finding::{Finding, Severity, Source, Unit, up};
use crate::format;
use crate::job::panel::Panel;
use crate::job::{Kind, Subject};

/// The share of its breaker that a continuous load may use: the breaker is sized at 125 % of it.
const CONTINUOUS_SHARE: f64 = 0.8;
const SLOTS: Source = Source::Catalogue("slots");

pub(super) fn check(seen: Seen<'_>, findings: &mut Vec<Finding>) {
    for (panel, study) in seen.job.panels.iter().zip(&seen.study.panels) {
        slots(seen, panel, findings);
        let Some(feed) = panel.feed else { continue };
        let subject = Subject::new(Kind::Panel, &panel.id);
        let limit = feed.breaker_amps.get() * CONTINUOUS_SHARE;
        match study.ac_amps {
            Some(amps) if amps > limit => findings.push(
                Finding::plain(
                    "ac-feed",
                    Severity::Error,
                    subject,
                    format!(
                        "panel {} takes {}; a {} A breaker carries {} of continuous load",
                        panel.id,
                        format::amps(Some(amps)),
                        feed.breaker_amps,
                        format::amps(Some(limit))
                    ),
                    Source::Standard("NEC 210.20(A) (2017)"),
                    format!(
                        "move supplies for {} or more to another circuit",
                        format::amps(Some(up(amps - limit)))
                    ),
                )
                .figures(amps, limit, Unit::Amps),
            ),
            Some(_) => {}
            None => findings.push(Finding::plain(
                "ac-unknown",
                Severity::Warning,
                subject,
                format!("the amps of panel {}'s AC feed are unknown", panel.id),
                Source::Catalogue("power_factor, efficiency_percent"),
                "enter efficiency and power factor of its supplies, and clear what makes its runs unknown",
            )),
        }
    }
}

fn slots(seen: Seen<'_>, panel: &Panel, findings: &mut Vec<Finding>) {
    let mut taken: Vec<(u16, u16, &crate::job::Id)> = Vec::new();
    for supply in &panel.supplies {
        let subject = || Subject::new(Kind::Supply, &supply.id);
        let Some(part) = seen.index.supply_type(seen.job, &supply.part) else { continue };
        let Some(first) = supply.slot.map(std::num::NonZeroU16::get) else {
            findings.push(Finding::plain(
                "not-placed",
                Severity::Warning,
                subject(),
                format!("supply {} is in no slot of panel {}", supply.id, panel.id),
                SLOTS,
                "give it a slot",
            ));
            continue;
        };
        let last = first.saturating_add(u16::from(part.slots.get()) - 1);
        if last > panel.slots.get() {
            findings.push(
                Finding::plain(
                    "slot-range",
                    Severity::Error,
                    subject(),
                    format!(
                        "supply {} takes slots {first} to {last}; panel {} has {}",
                        supply.id, panel.id, panel.slots
                    ),
                    SLOTS,
                    "move it down, or to another panel",
                )
                .figures(f64::from(last), f64::from(panel.slots.get()), Unit::Count),
            );
        }
        for &(other_first, other_last, other) in &taken {
            if first <= other_last && other_first <= last {
                findings.push(Finding::plain(
                    "slot-overlap",
                    Severity::Error,
                    subject(),
                    format!("supplies {other} and {} both take slot {}", supply.id, first.max(other_first)),
                    SLOTS,
                    format!(
                        "move {} to slot {} or beyond, if that is free",
                        supply.id,
                        other_last.saturating_add(1)
                    ),
                ));
            }
        }
        taken.push((first, last, &supply.id));
    }
}
