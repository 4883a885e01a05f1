//! Other controls, breakers, supplies, links and home runs; what is left out or put in.

use super::{Remedy, Trials, bus, cable, feed, light, panel, set};
use crate::design::Design;
use crate::job::catalogue::{ControlType, LinkKind};
use crate::job::edit::Edit;
use crate::job::value::held;
use crate::job::wiring::{Control, ControlGroup, OutputRef};
use crate::job::{Id, Kind, Settings, Spot, Subject};
use crate::study::of_words;
use serde_json::json;

pub(super) fn remedies(trials: &mut Trials<'_>) -> Vec<Remedy> {
    let found = match trials.finding.code {
        "lights" | "string-unknown" | "string-volts" | "drive-amps" | "unfit" | "gangs" => {
            vec![another_control(trials)]
        }
        "mixed-colour" => vec![another_control(trials), light::alike(trials)],
        "mixed-load" => vec![light::alike(trials)],
        "group-size" => vec![another_control(trials), smaller_group(trials)],
        "no-control" => vec![no_remote(trials)],
        "idle-control" => vec![without(trials, "take out")],
        "stale-acceptance" => vec![without_acceptance(trials)],
        "bus-ring" => vec![without(trials, "leave out")],
        "isolation" => vec![feed::one_output(trials), another_link(trials)],
        "remote-cable" => vec![feed::link(trials), no_remote(trials)],
        "feed-unsaid" => return feed::named(trials),
        "no-feed" => vec![feed::home_run(trials), feed::onward(trials)],
        "long-run" => return feed::shorter(trials),
        "ac-feed" => {
            vec![panel::another_panel(trials), panel::second_feed(trials), panel::another_breaker(trials)]
        }
        "ac-branch" => vec![panel::another_breaker(trials)],
        "panel-heat" | "inrush" => vec![panel::another_panel(trials), panel::second_feed(trials)],
        "slot-range" | "slot-overlap" => vec![panel::another_panel(trials)],
        "spare" => vec![panel::another_supply(trials), panel::another_panel(trials)],
        "class-2-output" | "interrupted" | "wet-volts" => vec![panel::another_type(trials)],
        "over-limit" | "over-target" => vec![cable::less_loss(trials), cable::fewer_lights(trials)],
        "class-2-run" => vec![cable::less_loss(trials)],
        "interconnected" => vec![another_link(trials), feed::one_output(trials)],
        "slack" => vec![usual_slack(trials)],
        "room-dark" | "light-level" | "spacing" => return light::remedies(trials),
        "open-fixture" | "open-control" => vec![choose(trials)],
        "metal" | "gauge" => vec![another_type(trials)],
        "bus-addresses" | "bus-amps" | "bus-length" | "bus-drop" => return bus::remedies(trials),
        _ => Vec::new(),
    };
    found.into_iter().flatten().collect()
}

/// The control that a finding is about: itself, that of the loop or the light, or the main one of the group.
pub(super) fn control_of<'a>(trials: &Trials<'a>) -> Option<&'a Control> {
    let design = trials.design;
    match trials.spot()? {
        Spot::Control { wall_box, control }
        | Spot::Loop { wall_box, control, .. }
        | Spot::Ceiling { wall_box, control, .. } => design.job.boxes.get(wall_box)?.controls.get(control),
        Spot::Group(at) => {
            let main = &design.job.groups.get(at)?.main;
            design.index.control(&design.job, main).map(|(_, control)| control)
        }
        _ => None,
    }
}

/// The control of the catalogue that does, those of the same drive first.
fn another_control(trials: &mut Trials<'_>) -> Option<Remedy> {
    let design = trials.design;
    let control = control_of(trials)?;
    let now = design.index.control_type(&design.job, &control.part)?;
    let mut others: Vec<&ControlType> =
        design.job.catalogue.controls.iter().filter(|part| part.id != now.id).collect();
    let unlike =
        |part: &ControlType| std::mem::discriminant(&part.drive) != std::mem::discriminant(&now.drive);
    others.sort_by_key(|part| unlike(part));
    others.into_iter().take(8).find_map(|part| {
        let text = format!("use control {} for {}", part.id, control.id);
        trials.plain(text, set(Kind::Control, &control.id, "part", part.id.as_str()))
    })
}

/// A control of the catalogue whose link is stated to be isolated, at either end of the link.
fn another_link(trials: &mut Trials<'_>) -> Option<Remedy> {
    let Spot::Link { group, link } = trials.spot()? else { return None };
    let link = trials.design.job.groups.get(group)?.links.get(link)?;
    let parts = &trials.design.job.catalogue.controls;
    let isolated = parts.iter().filter(|part| part.link == Some(LinkKind::Isolated)).take(4);
    isolated.into_iter().find_map(|part| {
        [&link.to, &link.from].into_iter().find_map(|end| {
            let text = format!("use control {}, whose link is isolated, for {end}", part.id);
            trials.plain(text, set(Kind::Control, end, "part", part.id.as_str()))
        })
    })
}

pub(super) fn group_of<'a>(trials: &Trials<'a>, member: &Id) -> Option<&'a ControlGroup> {
    trials.design.job.groups.iter().find(|group| group.remotes.iter().any(|id| id.same(member)))
}

/// As many of the last remote points out of the group as it takes.
fn smaller_group(trials: &mut Trials<'_>) -> Option<Remedy> {
    let Spot::Group(at) = trials.spot()? else { return None };
    let group = trials.design.job.groups.get(at)?;
    (1..=group.remotes.len()).find_map(|fewer| {
        let (kept, out) = group.remotes.split_at(group.remotes.len() - fewer);
        let kept: Vec<&str> = kept.iter().map(Id::as_str).collect();
        let out: Vec<&str> = out.iter().map(Id::as_str).collect();
        // A link to a point that leaves the group goes with it.
        let gone = group.links.iter().filter(|link| {
            out.iter().any(|id| {
                link.to.as_str().eq_ignore_ascii_case(id) || link.from.as_str().eq_ignore_ascii_case(id)
            })
        });
        let mut edits: Vec<Edit> =
            gone.map(|link| Edit::Remove { subject: Subject::new(Kind::Cable, &link.id) }).collect();
        edits.push(set(Kind::Group, &group.id, "remotes", kept));
        trials.plain(format!("take {} out of group {}", out.join(", "), group.id), Edit::Together(edits))
    })
}

fn no_remote(trials: &mut Trials<'_>) -> Option<Remedy> {
    let control = control_of(trials)?;
    let group = group_of(trials, &control.id)?;
    let kept: Vec<&str> = group.remotes.iter().filter(|id| !id.same(&control.id)).map(Id::as_str).collect();
    let text = format!("take {} out of the remotes of group {}", control.id, group.id);
    trials.plain(text, set(Kind::Group, &group.id, "remotes", kept))
}

/// Without the thing itself.
fn without(trials: &mut Trials<'_>, verb: &str) -> Option<Remedy> {
    let subject = trials.finding.subject.clone();
    trials.plain(format!("{verb} {subject}"), Edit::Remove { subject })
}

fn without_acceptance(trials: &mut Trials<'_>) -> Option<Remedy> {
    let design = trials.design;
    let about = &trials.finding.subject;
    let found = |code: &str| design.findings.iter().any(|f| f.code == code && f.subject == *about);
    let kept: Vec<_> = design
        .job
        .accepted
        .iter()
        .filter(|accepted| accepted.subject != *about || found(&accepted.code))
        .collect();
    let value = serde_json::to_value(kept).ok()?;
    trials.plain("take the acceptance out", set(Kind::Job, "job", "accepted", value))
}

/// An output with no run on it.
pub(super) fn free_outputs(design: &Design) -> impl Iterator<Item = &OutputRef> {
    design.study.outputs.iter().filter(|output| output.runs.is_empty()).map(|output| &output.output)
}

/// A home run of its own for the last control of a box that several share.
pub(super) fn own_run(trials: &mut Trials<'_>) -> Option<Remedy> {
    let design = trials.design;
    if trials.closed() {
        return None;
    }
    let (Spot::Feed { wall_box, .. } | Spot::Loop { wall_box, .. } | Spot::Ceiling { wall_box, .. }) =
        trials.spot()?
    else {
        return None;
    };
    let wall_box = design.job.boxes.get(wall_box)?;
    let ([feed], [.., last]) = (wall_box.feeds.as_slice(), wall_box.controls.as_slice()) else { return None };
    if wall_box.controls.len() < 2 || wall_box.allowance_watts.is_some() {
        return None;
    }
    let id = trials.free_id(Kind::Cable, "HR");
    let mut value = held(&design.job, &design.index, &Subject::new(Kind::Cable, &feed.id))?.value;
    let fields = value.as_object_mut()?;
    for of_this_cable in ["measured", "landed", "pinned", "name", "site", "readings"] {
        fields.remove(of_this_cable);
    }
    free_outputs(design).take(4).find_map(|output| {
        let mut value = value.clone();
        value["id"] = json!(id);
        value["from"] = json!({"Output": output.to_string()});
        let mut edits = vec![Edit::Insert {
            kind: Kind::Cable,
            parent: Some(Subject::new(Kind::WallBox, &wall_box.id)),
            at: 1,
            value,
        }];
        for control in &wall_box.controls {
            let on = if control.id == last.id { id.as_str() } else { feed.id.as_str() };
            edits.push(set(Kind::Control, &control.id, "on", on));
        }
        let text = format!("give control {} a home run of its own, from output {output}", last.id);
        trials.plain(text, Edit::Together(edits))
    })
}

/// What is usual to leave, in place of nothing.
fn usual_slack(trials: &mut Trials<'_>) -> Option<Remedy> {
    let (now, usual) = (&trials.design.job.settings, Settings::default());
    let units = trials.design.job.project.units;
    let mut edits = Vec::new();
    let mut words = Vec::new();
    for (field, now, usual, place) in [
        ("makeup_cable_end", now.makeup_cable_end, usual.makeup_cable_end, "at each end"),
        ("makeup_ceiling_box", now.makeup_ceiling_box, usual.makeup_ceiling_box, "in each ceiling box"),
    ] {
        if now.ticks() == 0 {
            edits.push(set(Kind::Settings, "settings", field, usual.written()));
            words.push(format!("{} {place}", usual.shown(units)));
        }
    }
    trials.plain(format!("leave {}", words.join(" and ")), Edit::Together(edits))
}

/// Which of the entries that are open may be chosen without harm.
fn choose(trials: &mut Trials<'_>) -> Option<Remedy> {
    let design = trials.design;
    let choices =
        || design.study.parts.iter().filter_map(|part| part.open.as_ref()).flat_map(|open| &open.choices);
    let of = |choice: &crate::study::Choice| -> Vec<Subject> {
        let lights = choice.lights.iter().map(|&(at, ceiling)| {
            let control = &design.job.boxes[at.control.wall_box].controls[at.control.control];
            Subject::new(Kind::Fixture, &control.loops[at.at].ceiling[ceiling].id)
        });
        let controls = choice
            .controls
            .iter()
            .map(|at| Subject::new(Kind::Control, &design.job.boxes[at.wall_box].controls[at.control].id));
        lights.chain(controls).collect()
    };
    let key = choices().find(|choice| of(choice).contains(&trials.finding.subject))?.key.clone();
    let mine: Vec<_> = choices().filter(|choice| choice.key == key).collect();
    let first = mine.first()?;
    let mut fine = Vec::new();
    for option in &first.options {
        let close = |subject: &Subject| match subject.kind {
            Kind::Fixture => vec![
                set(Kind::Fixture, &subject.id, "open", json!([])),
                set(Kind::Fixture, &subject.id, "fixture", option.as_str()),
            ],
            _ => vec![
                set(Kind::Control, &subject.id, "open", json!([])),
                set(Kind::Control, &subject.id, "part", option.as_str()),
            ],
        };
        let edits: Vec<Edit> = mine.iter().flat_map(|choice| of(choice)).flat_map(|s| close(&s)).collect();
        let edit = Edit::Together(edits);
        if trials.helps(&edit) {
            fine.push((option, edit));
        }
    }
    let names: Vec<&str> = fine.iter().map(|(option, _)| option.as_str()).collect();
    let text = format!("choose {} for {} before trim", names.join(" or "), of_words(&first.of));
    fine.into_iter().next().map(|(_, edit)| Remedy { text, edit })
}

/// Another type of cable for all that are of this one.
fn another_type(trials: &mut Trials<'_>) -> Option<Remedy> {
    let design = trials.design;
    if trials.closed() {
        return None;
    }
    let Spot::CableType(at) = trials.spot()? else { return None };
    let now = design.job.catalogue.cables.get(at)?;
    let feeds = design.job.boxes.iter().flat_map(|b| &b.feeds).map(|feed| (&feed.id, &feed.cable));
    let loops = design.job.boxes.iter().flat_map(|b| &b.controls).flat_map(|control| &control.loops);
    let links = design.job.groups.iter().flat_map(|group| &group.links).map(|link| (&link.id, &link.cable));
    let all = feeds.chain(loops.map(|wired| (&wired.id, &wired.cable))).chain(links);
    let mine: Vec<&Id> = all.filter(|(_, cable)| cable.same(&now.id)).map(|(id, _)| id).collect();
    let mut others: Vec<_> = design
        .job
        .catalogue
        .cables
        .iter()
        .filter(|part| part.id != now.id && part.conductors == now.conductors)
        .collect();
    others.sort_by_key(|part| part.gauge.get().abs_diff(now.gauge.get()));
    others.into_iter().find_map(|part| {
        let edits = mine.iter().map(|id| set(Kind::Cable, id, "cable", part.id.as_str())).collect();
        let cables = if mine.len() == 1 { "cable" } else { "cables" };
        let text = format!("use {} for the {} {cables} of type {}", part.id, mine.len(), now.id);
        trials.plain(text, Edit::Together(edits))
    })
}
