//! Runs, fixtures and strings: volts, drop, what the cables can carry.

use super::finding::{Finding, Unit, up};
use super::place::{highest_volts, if_it_is};
use super::{Seen, carry, green, list};
use crate::format;
use crate::job::catalogue::{Drive, FixtureType, Load, VoltRange};
use crate::job::{Id, Kind, Spot, Subject};
use crate::network::Lengths;
use crate::standards::class2;
use crate::study::{
    Of, OpenStudy, Outcome, Pick, Reason, RunStudy, StringStudy, WithOption, may_near, run_limits,
};

/// A run with its lights and strings.
pub(super) fn check(seen: Seen<'_>, run: usize, findings: &mut Vec<Finding>) {
    let Some(study) = seen.study.run(seen.network, run) else { return };
    let id = &seen.network.runs[study.run].id;
    length(seen, study, findings);
    drives(seen, study, findings);
    match &study.outcome {
        Outcome::Unknown(reasons) => unknown(seen, study, reasons, findings),
        Outcome::NoSolution => findings.push(collapse(seen, study)),
        Outcome::Solved => {
            class_2_run(seen, study, findings);
            near_collapse(seen, study, findings);
            for at in 0..study.lights.len() {
                fixture(seen, study, at, findings);
            }
            strings(seen, study, findings);
            carry::amps(seen, study, findings);
            carry::ends(seen, study, findings);
        }
    }
    carry::wet(seen, study, id, findings);
    green::check(seen, study, findings);
}

fn unknown(seen: Seen<'_>, study: &RunStudy, reasons: &[Reason], findings: &mut Vec<Finding>) {
    for reason in reasons {
        if let Reason::DoesNotFit { ceiling, fixture } = reason {
            findings.push(
                seen.find(
                    &list::UNFIT,
                    Subject::new(Kind::Fixture, ceiling),
                    format!("fixture {fixture} in {ceiling} does not fit the drive of its control"),
                    "exchange the fixture or the control",
                )
                .caused_by(loop_of(seen, ceiling)),
            );
        }
    }
    // A run on no output is reported as that; everything else that follows from it is not news.
    let run = &seen.network.runs[study.run];
    if run.output.is_some() {
        // Runs of outputs that meet are unknown together.
        let first = seen.network.parts.get(run.part).and_then(|part| part.runs.first());
        let cause = Subject::new(Kind::Cable, first.map_or(&run.id, |&first| &seen.network.runs[first].id));
        let why: Vec<String> = reasons.iter().map(ToString::to_string).collect();
        findings.push(
            seen.find(
                &list::UNKNOWN,
                Subject::new(Kind::Cable, &run.id),
                format!("the figures of run {} are unknown", run.id),
                why.join("; "),
            )
            .caused_by(cause),
        );
    }
}

/// The loop a ceiling box is on.
fn loop_of(seen: Seen<'_>, ceiling: &Id) -> Subject {
    match seen.index.spot(Kind::Fixture, ceiling) {
        Some(Spot::Ceiling { wall_box, control, at, .. }) => {
            Subject::new(Kind::Cable, &seen.job.boxes[wall_box].controls[control].loops[at].id)
        }
        _ => Subject::new(Kind::Fixture, ceiling),
    }
}

fn collapse(seen: Seen<'_>, study: &RunStudy) -> Finding {
    let subject = seen.run_subject(study);
    let limits = seen.study.limits((seen.job, seen.index, seen.network), study.run);
    let max = limits.and_then(|limits| limits.max_watts);
    let mut remedy = Vec::new();
    if let Some((limits, max)) = limits.zip(max) {
        let off = up(limits.rated_watts - max);
        remedy.push(format!("move {} or more off it", format::watts(Some(off))));
    }
    if let Some(length) = limits.and_then(|limits| limits.longest_home_run) {
        remedy.push(format!("shorten the home run below {}", length.shown(seen.job.project.units)));
    }
    remedy.push("use a heavier cable or double its conductors".into());
    let what = format!("the cables of run {} can't carry its load at any volts", subject.id);
    let picks = seen.open_of(study).map(OpenStudy::worst_picks).unwrap_or_default();
    let finding = seen.find(&list::COLLAPSE, subject, what, remedy.join(", or ")).with(&picks);
    match limits.zip(max) {
        Some((limits, max)) => finding.figures(limits.rated_watts, max, Unit::Watts),
        None => finding,
    }
}

/// A run that solves, but not by much. Its volts tell whether that can be at all before anything is solved again.
fn near_collapse(seen: Seen<'_>, study: &RunStudy, findings: &mut Vec<Finding>) {
    let margin = seen.job.settings.collapse_margin_percent.get() / 100.0;
    if !may_near(study, margin) {
        return;
    }
    let open = seen.open_of(study);
    let near = open.and_then(|open| open.near(study.run, seen.job));
    let (closed, picks) = near.map_or((None, Vec::new()), |(job, picks)| (Some(job), picks));
    let job = closed.as_ref().unwrap_or(seen.job);
    let Some(limits) = run_limits(job, seen.index, seen.network, study.run) else { return };
    let Some(max) = limits.max_watts else { return };
    let limit = max * (1.0 - margin);
    if limits.rated_watts > limit {
        let subject = seen.run_subject(study);
        let what = format!(
            "run {} is rated {}; its cables carry {} at most",
            subject.id,
            format::watts(Some(limits.rated_watts)),
            format::watts(Some(max))
        );
        let off = format::watts(Some(up(limits.rated_watts - limit)));
        findings.push(
            seen.find(&list::NEAR_COLLAPSE, subject, what, format!("move {off} or more off it"))
                .figures(limits.rated_watts, limit, Unit::Watts)
                .with(&picks),
        );
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
            seen.find(
                &list::LONG_RUN,
                Subject::new(Kind::Cable, &run.id),
                format!("home run {} is {} long", run.id, length.length.shown(units)),
                format!("bring it under {}, or check its drop and raise the setting", limit.shown(units)),
            )
            .figures(length.length.feet(), limit.feet(), Unit::Feet),
        );
    }
}

/// The watts of a run against what one Class 2 output of its volts may give at all.
fn class_2_run(seen: Seen<'_>, study: &RunStudy, findings: &mut Vec<Finding>) {
    let run = &seen.network.runs[study.run];
    let (Some(watts), Some(part)) = (study.source_watts, seen.supply_of(study)) else { return };
    if let Some(limit) = class2::most_volt_amps(part.kind, highest_volts(part))
        && watts > limit
    {
        let [watts_shown, limit_shown] = [watts, limit].map(|w| format::watts(Some(w)));
        findings.push(
            seen.find(
                &list::CLASS_2_RUN,
                Subject::new(Kind::Cable, &run.id),
                format!(
                    "run {} takes {watts_shown}; a Class 2 output of its volts gives {limit_shown}",
                    run.id
                ),
                format!(
                    "split it: {} or more must go to another home run",
                    format::watts(Some(up(watts - limit)))
                ),
            )
            .figures(watts, limit, Unit::Watts)
            .over(study.range(Of::SourceWatts), false),
        );
    }
}

/// The limit of drop of a kind of fixture.
pub(super) fn drop_limit(seen: Seen<'_>, part: &FixtureType) -> f64 {
    let limits = &seen.job.settings.drop_limits;
    match part.load {
        Load::Resistance { .. } => limits.resistive_percent.get(),
        _ => limits.regulated_percent.get(),
    }
}

/// What a light sees at worst with one of the fixtures that it is or may yet be: volts, and the choice.
fn at_worst<'a>(
    seen: Seen<'a>,
    study: &'a RunStudy,
    at: usize,
    part: &FixtureType,
) -> Option<(f64, &'a [Pick])> {
    let light = study.lights.get(at)?;
    let with = seen.open_of(study).map(|open| open.with.as_slice()).unwrap_or_default();
    let mine = |with: &&WithOption| with.at == light.at && with.ceiling == light.ceiling;
    if let Some(known) = with.iter().find(|with| mine(with) && with.part.same(&part.id)) {
        return Some((known.least_volts, &known.choice));
    }
    let choice = study.range(Of::Volts(at)).map(|range| range.least_choice.as_slice());
    Some((light.volts?, choice.unwrap_or_default()))
}

/// A fixture in a voltage-driven loop: its drop and its own range of volts, for each that it may yet be.
fn fixture(seen: Seen<'_>, study: &RunStudy, at: usize, findings: &mut Vec<Finding>) {
    let light = &study.lights[at];
    let (Some(source), Some(_)) = (study.source_volts, light.drop_percent) else { return };
    let on = seen.on(light.at);
    let ceiling = &on.1.ceiling[light.ceiling];
    let subject = Subject::new(Kind::Fixture, &ceiling.id);
    let cause = Subject::new(Kind::Cable, &on.1.id);
    // Of several fixtures that it may yet be the one farthest beyond its limit speaks.
    let mut drop: Option<Finding> = None;
    for part in seen.held(on, ceiling) {
        let Some((volts, choice)) = at_worst(seen, study, at, part) else { continue };
        // A string has no drop: with a control that drives strings the light has none either.
        let percent = (source - volts) / source * 100.0;
        let limit = drop_limit(seen, part);
        if percent > limit {
            let finding = seen
                .find(
                    &list::DROP,
                    subject.clone(),
                    format!("{} loses {} on the way to it", ceiling.id, format::percent(Some(percent))),
                    "shorten the run, double or enlarge its conductors, feed the loop from both ends, or move lights off",
                )
                .figures(percent, limit, Unit::Percent)
                .with(choice)
                .caused_by(cause.clone());
            if drop.as_ref().is_none_or(|known| finding.excess() > known.excess()) {
                drop = Some(finding);
            }
        }
        let (Load::Power { volts: Some(range), .. } | Load::Current { volts: Some(range), .. }) = part.load
        else {
            continue;
        };
        let VoltRange { least, most } = range;
        if volts < least.get() {
            let [got, needs] = Unit::Volts.apart(volts, least.get());
            findings.push(
                seen.find(
                    &list::VOLTS_LOW,
                    subject.clone(),
                    format!("{} gets {got}; {} needs {needs}", subject.id, part.id),
                    "bring its drop down, or choose a fixture that works at fewer volts",
                )
                .figures(volts, least.get(), Unit::Volts)
                .with(choice)
                .caused_by(cause.clone()),
            );
        }
        // With everything else off a fixture may see all that the output gives.
        if let Some(highest) = seen.supply_of(study).map(highest_volts)
            && highest > most.get()
        {
            let shown = format::volts(Some(highest));
            findings.push(
                seen.find(
                    &list::VOLTS_HIGH,
                    subject.clone(),
                    format!("{} may see {shown} at no load; {} bears {most} V", subject.id, part.id),
                    "choose a fixture made for the output's volts",
                )
                .figures(highest, most.get(), Unit::Volts)
                .caused_by(cause.clone()),
            );
        }
    }
    findings.extend(drop);
}

/// The strings of a run, each where its control has the fewest volts to spare.
fn strings(seen: Seen<'_>, study: &RunStudy, findings: &mut Vec<Finding>) {
    match seen.open_of(study) {
        None => study.strings.iter().for_each(|string| series(seen, string, &[], findings)),
        Some(open) => {
            let on_run =
                |string: &StringStudy| seen.network.run_of_control.get(&string.control) == Some(&study.run);
            let mine = open.tight.iter().filter(|(string, _)| on_run(string));
            mine.for_each(|(string, choice)| series(seen, string, choice, findings));
        }
    }
    for string in &study.strings {
        let id = &seen.loop_at(string.at).id;
        if string.volts > class2::HIGHEST_DC_VOLTS {
            findings.push(
                seen.find(
                    &list::STRING_60,
                    Subject::new(Kind::Cable, id),
                    format!("{}, over the volts of a Class 2 circuit", needs(id, string)),
                    "split the string over two loops",
                )
                .figures(string.volts, class2::HIGHEST_DC_VOLTS, Unit::Volts),
            );
        }
    }
}

fn needs(id: &Id, string: &StringStudy) -> String {
    format!("string {} of loop {id} needs {}", string.number, format::volts(Some(string.volts)))
}

fn series(seen: Seen<'_>, string: &StringStudy, choice: &[Pick], findings: &mut Vec<Finding>) {
    let control = seen.control_at(string.control);
    let id = &control.loops[string.at.at].id;
    let subject = || Subject::new(Kind::Cable, id);
    let needs = needs(id, string);
    match string.available_volts {
        Some(available) if string.volts > available => findings.push(
            seen.find(
                &list::STRING_VOLTS,
                subject(),
                format!("{needs}; control {} gives {}", control.id, format::volts(Some(available))),
                format!(
                    "take {} or more of lights off the string",
                    format::volts(Some(up(string.volts - available)))
                ),
            )
            .figures(string.volts, available, Unit::Volts)
            .with(choice),
        ),
        Some(_) => {}
        None => findings.push(
            seen.find(
                &list::STRING_UNKNOWN,
                subject(),
                format!("{needs}; what control {} can give is not stated", control.id),
                "enter the control's most_volts or headroom_volts from its data sheet",
            )
            .with(choice),
        ),
    }
}

/// String fixtures made for another current than their control's, with each that either may yet be.
fn drives(seen: Seen<'_>, study: &RunStudy, findings: &mut Vec<Finding>) {
    for &(_, at) in &seen.network.runs[study.run].controls {
        let control = seen.control_at(at);
        for part in seen.types(control) {
            let Drive::Current { amps, .. } = part.drive else { continue };
            for (wired, ceiling) in control.loops.iter().flat_map(|w| w.ceiling.iter().map(move |c| (w, c))) {
                for fixture in seen.held((&seen.job.boxes[at.wall_box], wired), ceiling) {
                    let Load::String { rated_amps: Some(rated), .. } = fixture.load else { continue };
                    if amps > rated {
                        findings.push(
                            seen.find(
                                &list::DRIVE_AMPS,
                                Subject::new(Kind::Fixture, &ceiling.id),
                                format!(
                                    "control {} drives {}; fixture {} in {} is made for {}",
                                    control.id,
                                    format::amps(Some(amps.get())),
                                    fixture.id,
                                    ceiling.id,
                                    format::amps(Some(rated.get()))
                                ),
                                "choose a control of the fixture's current, or a fixture of the control's",
                            )
                            .figures(amps.get(), rated.get(), Unit::Amps)
                            .with(&if_it_is(control, part))
                            .caused_by(Subject::new(Kind::Cable, &wired.id)),
                        );
                    }
                }
            }
        }
    }
}
