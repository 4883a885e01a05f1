//! Runs, fixtures and strings: volts, drop, what the cables can carry.

use super::Seen;
use super::finding::{Finding, Severity, Source, Unit, up};
use crate::format;
use crate::job::catalogue::{FixtureType, Load, VoltRange};
use crate::job::{Kind, Subject};
use crate::network::Lengths;
use crate::standards::class2;
use crate::study::{LightStudy, Outcome, RunStudy, StringStudy, run_limits};

pub(super) fn check(seen: Seen<'_>, findings: &mut Vec<Finding>) {
    for study in seen.study.runs(seen.network) {
        let id = &seen.network.runs[study.run].id;
        let subject = Subject::new(Kind::Cable, id);
        length(seen, study, findings);
        match &study.outcome {
            Outcome::Unknown(reasons) => {
                let why: Vec<String> = reasons.iter().map(ToString::to_string).collect();
                // A run on no output is reported as that; everything else that follows from it is not news.
                if seen.network.runs[study.run].output.is_some() {
                    findings.push(Finding::plain(
                        "unknown",
                        Severity::Error,
                        subject,
                        format!("the figures of run {id} are unknown"),
                        Source::Network,
                        why.join("; "),
                    ));
                }
            }
            Outcome::NoSolution => findings.push(collapse(seen, study)),
            Outcome::Solved => {
                class_2_run(seen, study, findings);
                for light in &study.lights {
                    fixture(seen, study, light, findings);
                }
                for string in &study.strings {
                    series(seen, string, findings);
                }
            }
        }
    }
}

fn collapse(seen: Seen<'_>, study: &RunStudy) -> Finding {
    let id = &seen.network.runs[study.run].id;
    let limits = run_limits(seen.job, seen.index, seen.network, study.run);
    let max = limits.and_then(|limits| limits.max_watts);
    let mut remedy = Vec::new();
    if let Some((limits, max)) = limits.zip(max) {
        let off = ((limits.rated_watts - max) * 10.0).ceil() / 10.0;
        remedy.push(format!("move {} or more off it", format::watts(Some(off))));
    }
    if let Some(length) = limits.and_then(|limits| limits.longest_home_run) {
        remedy.push(format!("shorten the home run below {}", length.shown(seen.job.project.units)));
    }
    remedy.push("use a heavier cable or double its conductors".into());
    let finding = Finding::plain(
        "collapse",
        Severity::Error,
        Subject::new(Kind::Cable, id),
        format!("the cables of run {id} can't carry its load at any volts"),
        Source::Standard("nodal analysis; maximum power transfer"),
        remedy.join(", or "),
    );
    match limits.zip(max) {
        Some((limits, max)) => finding.figures(limits.rated_watts, max, Unit::Watts),
        None => finding,
    }
}

fn length(seen: Seen<'_>, study: &RunStudy, findings: &mut Vec<Finding>) {
    let run = &seen.network.runs[study.run];
    let Some(&home_run) = run.feeds.first() else { return };
    let wall_box = &seen.job.boxes[home_run.wall_box];
    let Some(length) = Lengths::new(seen.job, seen.index).feed(wall_box, &wall_box.feeds[home_run.feed])
    else {
        return;
    };
    let limit = seen.job.settings.longest_home_run;
    if length.length.ticks() > limit.ticks() {
        let units = seen.job.project.units;
        findings.push(
            Finding::plain(
                "long-run",
                Severity::Warning,
                Subject::new(Kind::Cable, &run.id),
                format!("home run {} is {} long", run.id, length.length.shown(units)),
                Source::Setting("longest_home_run"),
                format!("bring it under {}, or check its drop and raise the setting", limit.shown(units)),
            )
            .figures(length.length.feet(), limit.feet(), Unit::Feet),
        );
    }
}

/// The watts of a run against what one Class 2 output of its volts may give at all.
fn class_2_run(seen: Seen<'_>, study: &RunStudy, findings: &mut Vec<Finding>) {
    let run = &seen.network.runs[study.run];
    let (Some(volts), Some(watts)) = (study.source_volts, study.source_watts) else { return };
    let supply = run.output.as_ref().and_then(|output| seen.index.supply(seen.job, &output.supply));
    let Some(part) = supply.and_then(|(_, supply)| seen.index.supply_type(seen.job, &supply.part)) else {
        return;
    };
    let highest = part.no_load_volts.map_or(volts, crate::units::Volts::get).max(volts);
    if let Some(limit) = class2::most_volt_amps(part.kind, highest)
        && watts > limit
    {
        findings.push(
            Finding::plain(
                "class-2-run",
                Severity::Error,
                Subject::new(Kind::Cable, &run.id),
                format!(
                    "run {} takes {}; a Class 2 output of its volts gives {}",
                    run.id,
                    format::watts(Some(watts)),
                    format::watts(Some(limit))
                ),
                Source::Standard("NEC ch. 9 table 11(B) (2017)"),
                format!(
                    "split it: {} or more must go to another home run",
                    format::watts(Some(watts - limit))
                ),
            )
            .figures(watts, limit, Unit::Watts),
        );
    }
}

/// A fixture in a voltage-driven loop: its drop and its own range of volts, for each that it may yet be.
fn fixture(seen: Seen<'_>, study: &RunStudy, light: &LightStudy, findings: &mut Vec<Finding>) {
    let (Some(volts), Some(percent)) = (light.volts, light.drop_percent) else { return };
    let wired = &seen.job.boxes[light.at.control.wall_box].controls[light.at.control.control];
    let ceiling = &wired.loops[light.at.at].ceiling[light.ceiling];
    let subject = Subject::new(Kind::Fixture, &ceiling.id);
    let held =
        ceiling.fixture.iter().chain(&ceiling.open).filter_map(|id| seen.index.fixture_type(seen.job, id));
    let limits = &seen.job.settings.drop_limits;
    let mut drop_reported = false;
    for part in held {
        let limit = match part.load {
            Load::Resistance { .. } => limits.resistive_percent.get(),
            _ => limits.regulated_percent.get(),
        };
        if percent > limit && !drop_reported {
            drop_reported = true;
            findings.push(
                Finding::plain(
                    "drop",
                    Severity::Warning,
                    subject.clone(),
                    format!("{} loses {} on the way to it", ceiling.id, format::percent(Some(percent))),
                    Source::Setting("drop_limits"),
                    "shorten the run, double or enlarge its conductors, feed the loop from both ends, or move lights off",
                )
                .figures(percent, limit, Unit::Percent),
            );
        }
        volt_range(seen, study, part, volts, &subject, findings);
    }
}

fn volt_range(
    seen: Seen<'_>,
    study: &RunStudy,
    part: &FixtureType,
    volts: f64,
    subject: &Subject,
    findings: &mut Vec<Finding>,
) {
    let (Load::Power { volts: Some(range), .. } | Load::Current { volts: Some(range), .. }) = part.load
    else {
        return;
    };
    let VoltRange { least, most } = range;
    let source = Source::Catalogue("fixture volts");
    if volts < least.get() {
        findings.push(
            Finding::plain(
                "volts-low",
                Severity::Error,
                subject.clone(),
                format!("{} gets {}; {} needs {least} V", subject.id, format::volts(Some(volts)), part.id),
                source,
                "bring its drop down, or choose a fixture that works at fewer volts",
            )
            .figures(volts, least.get(), Unit::Volts),
        );
    }
    // With everything else off a fixture may see all that the output gives.
    let run = &seen.network.runs[study.run];
    let supply = run.output.as_ref().and_then(|output| seen.index.supply(seen.job, &output.supply));
    let supply = supply.and_then(|(_, supply)| seen.index.supply_type(seen.job, &supply.part));
    let highest = supply.map(|part| part.no_load_volts.unwrap_or(part.volts).get().max(part.volts.get()));
    if let Some(highest) = highest
        && highest > most.get()
    {
        findings.push(
            Finding::plain(
                "volts-high",
                Severity::Error,
                subject.clone(),
                format!(
                    "{} may see {} at no load; {} bears {most} V",
                    subject.id,
                    format::volts(Some(highest)),
                    part.id
                ),
                source,
                "choose a fixture made for the output's volts",
            )
            .figures(highest, most.get(), Unit::Volts),
        );
    }
}

fn series(seen: Seen<'_>, string: &StringStudy, findings: &mut Vec<Finding>) {
    let control = &seen.job.boxes[string.control.wall_box].controls[string.control.control];
    let id = &control.loops[string.at.at].id;
    let subject = || Subject::new(Kind::Cable, id);
    let needs = format!("string {} of loop {id} needs {}", string.number, format::volts(Some(string.volts)));
    match string.available_volts {
        Some(available) if string.volts > available => findings.push(
            Finding::plain(
                "string-volts",
                Severity::Error,
                subject(),
                format!("{needs}; control {} gives {}", control.id, format::volts(Some(available))),
                Source::Catalogue("control volts"),
                format!(
                    "take {} or more of lights off the string",
                    format::volts(Some(up(string.volts - available)))
                ),
            )
            .figures(string.volts, available, Unit::Volts),
        ),
        Some(_) => {}
        None => findings.push(Finding::plain(
            "string-unknown",
            Severity::Error,
            subject(),
            format!("{needs}; what control {} can give is not stated", control.id),
            Source::Catalogue("control volts"),
            "enter the control's most_volts or headroom_volts from its data sheet",
        )),
    }
    if string.volts > class2::HIGHEST_DC_VOLTS {
        findings.push(
            Finding::plain(
                "string-60",
                Severity::Error,
                subject(),
                format!("{needs}, over the volts of a Class 2 circuit"),
                Source::Standard("NEC ch. 9 table 11(B) (2017)"),
                "split the string over two loops",
            )
            .figures(string.volts, class2::HIGHEST_DC_VOLTS, Unit::Volts),
        );
    }
}
