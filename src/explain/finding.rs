//! How the figure of a finding came about, and its limit.
//!
//! Most are figures of the study and are told by these; others follow from them in a step, and the rest are counted or
//! stated in job and catalogue. What would come to another number than the finding has is told as the finding has it.

use crate::checks::{self, Finding, Unit};
use crate::design::Design;
use crate::format::Quantity;
use crate::job::{Id, Kind};
use crate::study::in_words;
use crate::working::{Input, Number, Origin, Recorder, Tape, Traced};
use std::collections::HashMap;

/// The names under which the figures of findings are told: `kind/id/code`, numbered where there are several.
pub fn names(design: &Design) -> Vec<(String, &Finding)> {
    let mut seen: HashMap<String, usize> = HashMap::new();
    let with_figure = design.findings.iter().filter(|finding| finding.found.is_some());
    with_figure
        .map(|finding| {
            let base = format!("{}/{}/{}", finding.subject.kind.key(), finding.subject.id, finding.code);
            let count = seen.entry(base.clone()).or_insert(0);
            *count += 1;
            (if *count == 1 { base } else { format!("{base}-{count}") }, finding)
        })
        .collect()
}

/// Takes down the figure and the limit of every finding.
pub(super) fn record(design: &Design, tape: &mut Tape) {
    for (name, finding) in names(design) {
        let unit = quantity(finding.unit);
        if let Some(found) = finding.found {
            let traced = same(found, figure(design, tape, finding));
            let traced = traced.unwrap_or_else(|| {
                let origin = match (finding.unit, finding.choice.is_empty()) {
                    (Unit::Count, _) => Origin::Count(finding.what.clone()),
                    (_, false) => Origin::Choice(in_words(&finding.choice)),
                    (_, true) => origin(design, finding),
                };
                Traced::input(found, || Input::new(label(finding), unit, origin))
            });
            tape.figure(|| name.clone(), unit, traced);
        }
        if let Some(limit) = finding.limit {
            let traced = same(limit, of_limit(design, tape, finding)).unwrap_or_else(|| {
                Traced::input(limit, || Input::new("limit", unit, Origin::Source(finding.source.clone())))
            });
            tape.figure(|| format!("{name}-limit"), unit, traced);
        }
    }
}

/// A working, if it comes to the figure it is for.
fn same(figure: f64, traced: Option<Traced>) -> Option<Traced> {
    traced.filter(|traced| traced.value().to_bits() == figure.to_bits())
}

const fn quantity(unit: Unit) -> Quantity {
    match unit {
        Unit::Volts => Quantity::Volts,
        Unit::Amps => Quantity::Amps,
        Unit::Watts => Quantity::Watts,
        Unit::Percent => Quantity::Percent,
        Unit::Feet => Quantity::Feet,
        Unit::CubicInches => Quantity::CubicInches,
        Unit::Lux => Quantity::Lux,
        Unit::Count | Unit::None => Quantity::Count,
    }
}

/// A figure of the study, to go on with.
fn again(tape: &Tape, name: &str) -> Option<Traced> {
    let (unit, traced) = tape.get(name)?;
    Some(Traced::input(traced.value(), || Input::new(name, *unit, Origin::Figure)))
}

fn figure(design: &Design, tape: &Tape, finding: &Finding) -> Option<Traced> {
    let id = &finding.subject.id;
    let of = |name: String| again(tape, &name);
    match finding.code {
        "drop" => of(format!("fixture/{id}/drop_percent")),
        "volts-low" => of(format!("fixture/{id}/volts")),
        "class-2-run" => of(format!("run/{id}/source_watts")),
        "collapse" | "near-collapse" => of(format!("run/{id}/rated_watts")),
        "over-limit" => of(format!("output/{id}/watts")),
        "over-target" => of(format!("output/{id}/percent")),
        "ac-feed" => of(format!("panel/{id}/ac_amps")),
        "panel-heat" => of(format!("panel/{id}/heat_watts")),
        "light-level" => of(format!("room/{id}/lux")),
        "long-run" => of(format!("cable/{id}/length_ft")),
        "string-volts" | "string-60" => {
            [1, 2].iter().find_map(|n| same(finding.found?, of(format!("cable/{id}/string_{n}_volts"))))
        }
        "conductor-amps" => {
            let amps = again(tape, &format!("cable/{id}/amps"))?;
            let sides = (amps.value() / finding.found?).round();
            let count = || {
                Input::new("conductors of a side", Quantity::Count, Origin::Catalogue("its plan".to_owned()))
            };
            Some(amps / Traced::input(sides, count))
        }
        "spare" => {
            let zero = || Traced::constant(0.0);
            let mut outputs = design.study.outputs.iter().filter(|output| output.panel.as_str() == id);
            let capacity = outputs.try_fold(zero(), |sum, output| {
                Some(sum + again(tape, &format!("output/{}/limit_watts", output.output))?)
            })?;
            let taken = again(tape, &format!("panel/{id}/output_watts"))?;
            Some((capacity.clone() - taken) / capacity * Traced::constant(100.0))
        }
        "box-fill" => {
            let place = (&design.job, &design.index, &design.network, &design.study);
            checks::box_fill(place, &finding.subject)?.taken(design.job.settings.code_edition)
        }
        _ => None,
    }
}

fn of_limit(design: &Design, tape: &Tape, finding: &Finding) -> Option<Traced> {
    let settings = &design.job.settings;
    let id = &finding.subject.id;
    let setting = |value: f64, key: &'static str| {
        Traced::input(value, || Input::new(key, Quantity::Percent, Origin::Setting(key)))
    };
    match finding.code {
        "ac-feed" => {
            let panel = design.job.panels.iter().find(|panel| panel.id.as_str() == id)?;
            let breaker = Traced::input(panel.feed?.breaker_amps.get(), || {
                let origin = Origin::Job(format!("panel/{id} feed breaker_amps"));
                Input::new("breaker", Quantity::Amps, origin)
            });
            let share = Traced::input(settings.continuous_percent.get(), || {
                let source = format!("job setting continuous_percent; {}", finding.source);
                Input::new("continuous share, percent", Quantity::Ratio, Origin::Source(source))
            });
            Some(breaker * share / Traced::constant(100.0))
        }
        "near-collapse" => {
            let margin = setting(settings.collapse_margin_percent.get(), "collapse_margin_percent");
            let max = again(tape, &format!("run/{id}/max_watts"))?;
            Some(max * (Traced::constant(1.0) - margin / Traced::constant(100.0)))
        }
        "collapse" => again(tape, &format!("run/{id}/max_watts")),
        "conductor-amps" => {
            let share = settings.conductor_amps_percent.get() / 100.0;
            let amps = Traced::input(finding.limit? / share, || {
                let table = Origin::Table("NEC table 402.5 (2017), fixture wires of its gauge");
                Input::new("amps of a fixture wire", Quantity::Amps, table)
            });
            let share = setting(settings.conductor_amps_percent.get(), "conductor_amps_percent");
            Some(amps * (share / Traced::constant(100.0)))
        }
        _ => None,
    }
}

/// What the figure of a finding is called where it is no formula.
fn label(finding: &Finding) -> String {
    match finding.code {
        "volts-high" | "wet-volts" | "interrupted" => "highest volts of the output".into(),
        "class-2-output" => "output_watts".into(),
        "unlike-outputs" => "volts of the higher output".into(),
        "ac-branch" => "breaker".into(),
        "bus-amps" => "amps of its supply".into(),
        "bus-drop" => "2 x amps x ohms, summed along the bus".into(),
        "bus-length" => "lengths of its links, summed from end to end".into(),
        "drive-amps" => "amps of the control's drive".into(),
        "spacing" => "distance to the nearest light".into(),
        "either-end" => "drop at its lowest light with an end off".into(),
        _ => "found".into(),
    }
}

/// Where the figure of a finding comes from where it is no formula.
fn origin(design: &Design, finding: &Finding) -> Origin {
    let supply_of_run = || {
        let id = Id::new(&finding.cause.id).ok().or_else(|| Id::new(&finding.subject.id).ok())?;
        let spot = design.index.spot(Kind::Cable, &id)?;
        let run = match spot {
            crate::job::Spot::Feed { wall_box, feed } => {
                design.network.run_of_feed.get(&crate::network::FeedAt { wall_box, feed })?.0
            }
            crate::job::Spot::Loop { wall_box, control, .. } => {
                *design.network.run_of_control.get(&crate::network::ControlAt { wall_box, control })?
            }
            _ => return None,
        };
        let output = design.network.runs.get(run)?.output.as_ref()?;
        let (_, supply) = design.index.supply(&design.job, &output.supply)?;
        Some(supply.part.to_string())
    };
    match finding.code {
        "volts-high" | "wet-volts" => {
            let part = supply_of_run().unwrap_or_default();
            Origin::Catalogue(format!("{part} no_load_volts, or its volts if higher"))
        }
        "interrupted" | "class-2-output" => Origin::Catalogue(finding.subject.id.clone()),
        "drive-amps" | "unlike-outputs" => Origin::Catalogue(finding.what.clone()),
        "ac-branch" => Origin::Job(format!("panel/{} feed breaker_amps", finding.subject.id)),
        "spacing" => Origin::Job("places of both lights, straight across".into()),
        "either-end" => Origin::Solved,
        _ => Origin::Job(finding.what.clone()),
    }
}
