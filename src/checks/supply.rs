//! Outputs and supplies: watts, terminals, Class 2.

use super::finding::{Finding, Unit, up};
use super::place::highest_volts;
use super::{Seen, list};
use crate::format;
use crate::job::{Kind, Subject};
use crate::standards::class2;
use crate::study::OutputStudy;

/// An output: its watts and its terminals.
pub(super) fn output(seen: Seen<'_>, output: &OutputStudy, findings: &mut Vec<Finding>) {
    let target = seen.job.settings.target_load_percent.get();
    let subject = || Subject::new(Kind::Output, &output.output);
    if let (Some(watts), Some(limit), Some(percent)) = (output.watts, output.limit_watts, output.percent) {
        let [watts_shown, limit_shown] = Unit::Watts.apart(watts, limit);
        let carries = format!("output {} carries {watts_shown} of {limit_shown}", output.output);
        let off = |down_to: f64| {
            format!("move {} or more to another output", format::watts(Some(up(watts - down_to))))
        };
        if watts > limit {
            findings.push(
                seen.find(&list::OVER_LIMIT, subject(), carries, off(limit))
                    .figures(watts, limit, Unit::Watts)
                    .over(output.ranges.as_ref().map(|ranges| &ranges.watts), false),
            );
        } else if percent > target {
            let remedy = off(limit * target / 100.0);
            findings.push(
                seen.find(&list::OVER_TARGET, subject(), carries, remedy)
                    .figures(percent, target, Unit::Percent)
                    .over(output.ranges.as_ref().map(|ranges| &ranges.percent), false),
            );
        }
    }
    let supply = seen.index.supply(seen.job, &output.output.supply);
    let Some(part) = supply.and_then(|(_, s)| seen.index.supply_type(seen.job, &s.part)) else { return };
    let (runs, terminals) = (output.runs.len(), usize::from(part.terminals.get()));
    if runs > terminals {
        findings.push(
            seen.find(
                &list::TERMINALS,
                subject(),
                format!("{runs} home runs are on output {}, whose terminals take {terminals}", output.output),
                format!("move {} of them to another output", runs - terminals),
            )
            .counts(runs, terminals),
        );
    }
}

/// A supply type is judged once, however many of it there are.
pub(super) fn types(seen: Seen<'_>, findings: &mut Vec<Finding>) {
    for part in &seen.job.catalogue.supplies {
        let mut supplies = seen.job.panels.iter().flat_map(|panel| &panel.supplies);
        if !supplies.any(|supply| supply.part.same(&part.id)) {
            continue;
        }
        let highest = highest_volts(part);
        let subject = || Subject::new(Kind::SupplyType, &part.id);
        let Some(limit) = class2::most_volt_amps(part.kind, highest) else { continue };
        let watts = part.output_watts.get();
        if watts > limit {
            findings.push(
                seen.find(
                    &list::CLASS_2_OUTPUT,
                    subject(),
                    format!(
                        "supply type {} gives {} at up to {}; Class 2 allows {}",
                        part.id,
                        format::watts(Some(watts)),
                        format::volts(Some(highest)),
                        format::watts(Some(limit))
                    ),
                    "enter what its nameplate says, or wire it by the rules of another class",
                )
                .figures(watts, limit, Unit::Watts),
            );
        }
        if part.interrupted && highest > class2::INTERRUPTED_VOLTS {
            findings.push(
                seen.find(
                    &list::INTERRUPTED,
                    subject(),
                    format!(
                        "supply type {} gives interrupted dc of {}",
                        part.id,
                        format::volts(Some(highest))
                    ),
                    "use a supply whose dc is continuous, or one of fewer volts",
                )
                .figures(highest, class2::INTERRUPTED_VOLTS, Unit::Volts),
            );
        }
    }
}
