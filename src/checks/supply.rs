//! Outputs and supplies: watts, terminals, Class 2.

use super::Seen;
use super::finding::{Finding, Severity, Source, Unit, up};
use crate::format;
use crate::job::{Kind, Subject};
use crate::standards::class2;

pub(super) fn check(seen: Seen<'_>, findings: &mut Vec<Finding>) {
    outputs(seen, findings);
    supply_types(seen, findings);
}

fn outputs(seen: Seen<'_>, findings: &mut Vec<Finding>) {
    let target = seen.job.settings.target_load_percent.get();
    for output in &seen.study.outputs {
        let subject = || Subject::new(Kind::Output, &output.output);
        if let (Some(watts), Some(limit), Some(percent)) = (output.watts, output.limit_watts, output.percent)
        {
            let carries = format!(
                "output {} carries {} of {}",
                output.output,
                format::watts(Some(watts)),
                format::watts(Some(limit))
            );
            let off = |down_to: f64| {
                format!("move {} or more to another output", format::watts(Some(up(watts - down_to))))
            };
            if watts > limit {
                findings.push(
                    Finding::plain(
                        "over-limit",
                        Severity::Error,
                        subject(),
                        carries,
                        Source::Catalogue("output_watts"),
                        off(limit),
                    )
                    .figures(watts, limit, Unit::Watts),
                );
            } else if percent > target {
                let remedy = off(limit * target / 100.0);
                findings.push(
                    Finding::plain(
                        "over-target",
                        Severity::Warning,
                        subject(),
                        carries,
                        Source::Setting("target_load_percent"),
                        remedy,
                    )
                    .figures(percent, target, Unit::Percent),
                );
            }
        }
        let supply = seen.index.supply(seen.job, &output.output.supply);
        let Some(part) = supply.and_then(|(_, s)| seen.index.supply_type(seen.job, &s.part)) else {
            continue;
        };
        let (runs, terminals) = (output.runs.len(), usize::from(part.terminals.get()));
        if runs > terminals {
            let remedy = format!("move {} of them to another output", runs - terminals);
            #[expect(clippy::cast_precision_loss, reason = "counts of home runs are small")]
            findings.push(
                Finding::plain(
                    "terminals",
                    Severity::Error,
                    subject(),
                    format!(
                        "{runs} home runs are on output {}, whose terminals take {terminals}",
                        output.output
                    ),
                    Source::Catalogue("terminals"),
                    remedy,
                )
                .figures(runs as f64, terminals as f64, Unit::Count),
            );
        }
    }
}

/// A supply type is judged once, however many of it there are.
fn supply_types(seen: Seen<'_>, findings: &mut Vec<Finding>) {
    for part in &seen.job.catalogue.supplies {
        let used =
            seen.job.panels.iter().flat_map(|panel| &panel.supplies).any(|supply| supply.part.same(&part.id));
        let highest = part.no_load_volts.unwrap_or(part.volts).get().max(part.volts.get());
        let Some(limit) = class2::most_volt_amps(part.kind, highest).filter(|_| used) else { continue };
        let watts = part.output_watts.get();
        if watts > limit {
            findings.push(
                Finding::plain(
                    "class-2-output",
                    Severity::Error,
                    Subject::new(Kind::SupplyType, &part.id),
                    format!(
                        "supply type {} gives {} at up to {}; Class 2 allows {}",
                        part.id,
                        format::watts(Some(watts)),
                        format::volts(Some(highest)),
                        format::watts(Some(limit))
                    ),
                    Source::Standard("NEC ch. 9 table 11(B) (2017)"),
                    "enter what its nameplate says, or wire it by the rules of another class",
                )
                .figures(watts, limit, Unit::Watts),
            );
        }
    }
}
