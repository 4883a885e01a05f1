//! Feeds and links: which one a control is on, a new one, a shorter one, one output for two.

use super::cable::drop_in;
use super::mend::{control_of, free_outputs, group_of};
use super::{Remedy, Trials, part, run, set};
use crate::design::Design;
use crate::format;
use crate::job::edit::Edit;
use crate::job::wiring::{Feed, OutputRef, WallBox};
use crate::job::{Id, Kind, Spot, Subject};
use crate::network::{ControlAt, Lengths, Run};
use crate::units::{Length, LengthUnit};
use serde_json::{Value, json};

/// As many outputs, cables or boxes as are tried of each.
const MOST_TRIED: usize = 4;

/// What a run carries and loses, in words.
fn carries(after: &Design, run: &str) -> String {
    let number = Id::new(run).ok().and_then(|id| after.network.run(&id));
    let Some(number) = number else { return String::new() };
    let watts = after.study.run(&after.network, number).and_then(|study| study.source_watts);
    let id = &after.network.runs[number].id;
    format!(
        ", which then carries {}{}",
        format::watts(watts),
        drop_in(after, id, &Subject::new(Kind::Cable, id))
    )
}

/// The feeds that a control may be on; for an allowance, the feed that is left once the others are gone.
pub(super) fn named(trials: &mut Trials<'_>) -> Vec<Remedy> {
    match trials.spot() {
        Some(Spot::Control { wall_box, control }) => {
            let wall_box = &trials.design.job.boxes[wall_box];
            let control = &wall_box.controls[control].id;
            let feeds = wall_box.feeds.iter().take(MOST_TRIED);
            let name = |feed: &Feed| {
                trials.told(set(Kind::Control, control, "on", feed.id.as_str()), |after| {
                    format!("put control {control} on {}{}", feed.id, carries(after, feed.id.as_str()))
                })
            };
            feeds.filter_map(name).collect()
        }
        Some(Spot::WallBox(at)) => {
            let wall_box = &trials.design.job.boxes[at];
            let only = |kept: &Feed| {
                let gone = wall_box.feeds.iter().filter(|feed| feed.id != kept.id);
                let edits = gone.map(|feed| Edit::Remove { subject: Subject::new(Kind::Cable, &feed.id) });
                let text = format!("leave {} home run {} alone until it is laid out", wall_box.id, kept.id);
                trials.plain(text, Edit::Together(edits.collect()))
            };
            wall_box.feeds.iter().take(MOST_TRIED).filter_map(only).collect()
        }
        _ => Vec::new(),
    }
}

/// Outputs with no run, then those with watts and a terminal to spare, the emptiest first.
fn outputs_with_room(design: &Design) -> Vec<OutputRef> {
    let terminals = |output: &OutputRef| {
        let (_, supply) = design.index.supply(&design.job, &output.supply)?;
        Some(usize::from(design.index.supply_type(&design.job, &supply.part)?.terminals.get()))
    };
    let mut some: Vec<(f64, &OutputRef)> = design
        .study
        .outputs
        .iter()
        .filter(|study| !study.runs.is_empty())
        .filter(|study| terminals(&study.output).is_some_and(|terminals| study.runs.len() < terminals))
        .filter_map(|study| Some((study.percent?, &study.output)))
        .collect();
    some.sort_by(|a, b| a.0.total_cmp(&b.0));
    free_outputs(design).chain(some.into_iter().map(|(_, output)| output)).take(MOST_TRIED).cloned().collect()
}

/// A cable that brings power, as the other feeds of the job have it, or as the widest of the catalogue is.
fn feed_cables(design: &Design) -> Vec<(Id, Option<Id>)> {
    let mut found: Vec<(Id, Option<Id>)> = Vec::new();
    let feeds = design.job.boxes.iter().flat_map(|wall_box| &wall_box.feeds);
    let mut parts: Vec<_> = design.job.catalogue.cables.iter().collect();
    parts.sort_by_key(|part| std::cmp::Reverse(part.conductors));
    let known = feeds.map(|feed| (feed.cable.clone(), feed.plan.clone()));
    for cable in known.chain(parts.into_iter().map(|part| (part.id.clone(), None))) {
        if found.len() < 2 && !found.contains(&cable) {
            found.push(cable);
        }
    }
    found
}

fn new_feed(
    trials: &Trials<'_>,
    wall_box: &WallBox,
    from: &Value,
    (cable, plan): &(Id, Option<Id>),
) -> (String, Edit) {
    let id = trials.free_id(Kind::Cable, "HR");
    let mut value = json!({"id": id, "from": from, "cable": cable.as_str()});
    if let Some(plan) = plan {
        value["plan"] = json!(plan.as_str());
    }
    let parent = Some(Subject::new(Kind::WallBox, &wall_box.id));
    (id, Edit::Insert { kind: Kind::Cable, parent, at: wall_box.feeds.len(), value })
}

/// A home run to a box that has none.
pub(super) fn home_run(trials: &mut Trials<'_>) -> Option<Remedy> {
    let design = trials.design;
    let Spot::WallBox(at) = trials.spot()? else { return None };
    if trials.closed() {
        return None;
    }
    let wall_box = design.job.boxes.get(at)?;
    let cables = feed_cables(design);
    outputs_with_room(design).into_iter().find_map(|output| {
        cables.iter().find_map(|cable| {
            let from = json!({"Output": output.to_string()});
            let (id, edit) = new_feed(trials, wall_box, &from, cable);
            trials.told(edit, |after| {
                let what = format!("bring a home run of {} to {} from output {output}", cable.0, wall_box.id);
                what + &carries(after, &id)
            })
        })
    })
}

/// A feed onward from a box in the same room, or from any that has one feed.
pub(super) fn onward(trials: &mut Trials<'_>) -> Option<Remedy> {
    let design = trials.design;
    let Spot::WallBox(at) = trials.spot()? else { return None };
    if trials.closed() {
        return None;
    }
    let wall_box = design.job.boxes.get(at)?;
    let mut others: Vec<&WallBox> = design.job.boxes.iter().filter(|other| other.feeds.len() == 1).collect();
    others.sort_by_key(|other| !other.room.same(&wall_box.room));
    others.into_iter().take(MOST_TRIED).find_map(|other| {
        let feed = other.feeds.first()?;
        let from = json!({"Onward": feed.id.as_str()});
        let (_, edit) = new_feed(trials, wall_box, &from, &(feed.cable.clone(), feed.plan.clone()));
        trials.told(edit, |after| {
            let what = format!("feed {} onward from {}, off {}", wall_box.id, other.id, feed.id);
            what + &carries(after, feed.id.as_str())
        })
    })
}

/// The home run that a control is on.
fn home_run_of<'a>(design: &'a Design, control: &Id) -> Option<&'a Run> {
    let Spot::Control { wall_box, control } = design.index.spot(Kind::Control, control)? else { return None };
    let run = *design.network.run_of_control.get(&ControlAt { wall_box, control })?;
    design.network.runs.get(run)
}

/// One output for the controls at both ends of a link.
fn joined<'a>(design: &'a Design, ends: [&Id; 2]) -> Vec<(&'a Id, &'a OutputRef)> {
    let [one, other] = ends.map(|end| home_run_of(design, end));
    let both = |run: Option<&'a Run>, to: Option<&'a Run>| Some((&run?.id, to?.output.as_ref()?));
    both(other, one).into_iter().chain(both(one, other)).collect()
}

/// The home run of one end of a link moved to the output of the other.
pub(super) fn one_output(trials: &mut Trials<'_>) -> Option<Remedy> {
    let Spot::Link { group, link } = trials.spot()? else { return None };
    let link = trials.design.job.groups.get(group)?.links.get(link)?;
    joined(trials.design, [&link.from, &link.to]).into_iter().find_map(|(run, output)| {
        let edit = set(Kind::Cable, run, "from", json!({"Output": output.to_string()}));
        trials.plain(
            format!("move home run {run} to output {output}, where the other end of {} is", link.id),
            edit,
        )
    })
}

/// A link from the main control of the group, of the cable that its other links or the thinnest of the job have; and one
/// output for both, where they may not be joined as they are.
pub(super) fn link(trials: &mut Trials<'_>) -> Option<Remedy> {
    let design = trials.design;
    let control = control_of(trials)?;
    let group = group_of(trials, &control.id)?;
    if trials.closed() {
        return None;
    }
    let mut thinnest: Vec<_> = design.job.catalogue.cables.iter().collect();
    thinnest.sort_by_key(|cable| cable.conductors);
    let mut cables: Vec<&Id> = group.links.first().map(|link| &link.cable).into_iter().collect();
    cables.extend(thinnest.into_iter().map(|cable| &cable.id));
    cables.truncate(MOST_TRIED);
    let id = trials.free_id(Kind::Cable, "LK");
    let insert = |cable: &Id| Edit::Insert {
        kind: Kind::Cable,
        parent: Some(Subject::new(Kind::Group, &group.id)),
        at: group.links.len(),
        value: json!({
            "id": id,
            "from": group.main.as_str(),
            "to": control.id.as_str(),
            "cable": cable.as_str(),
        }),
    };
    let text = |cable: &Id| format!("draw a link of {cable} from {} to {}", group.main, control.id);
    if let Some(found) = cables.iter().find_map(|cable| trials.plain(text(cable), insert(cable))) {
        return Some(found);
    }
    let moves = joined(design, [&group.main, &control.id]);
    cables.iter().find_map(|cable| {
        moves.iter().find_map(|(run, output)| {
            let landing = set(Kind::Cable, run, "from", json!({"Output": output.to_string()}));
            let text = format!("{}, and move home run {run} to output {output}", text(cable));
            trials.plain(text, Edit::Together(vec![insert(cable), landing]))
        })
    })
}

/// A loop that joins outputs of unlike volts comes back to its own control, and one of the two runs goes to an output of
/// the volts of the other, where its lights were made for those.
pub(super) fn home_again_of_like_volts(trials: &mut Trials<'_>) -> Option<Remedy> {
    let design = trials.design;
    let wired = part::loop_of(trials)?;
    let Spot::Loop { wall_box, control, .. } = trials.spot()? else { return None };
    let from = &design.job.boxes[wall_box].controls[control].id;
    let runs = [home_run_of(design, from)?, home_run_of(design, wired.returns_to.as_ref()?)?];
    let volts = |output: Option<&OutputRef>| {
        let output = output?;
        design.study.outputs.iter().find(|study| study.output == *output)?.volts
    };
    let room = outputs_with_room(design);
    [(runs[1], runs[0]), (runs[0], runs[1])].into_iter().find_map(|(run, other)| {
        let wanted = volts(other.output.as_ref())?;
        room.iter().filter(|output| volts(Some(output)) == Some(wanted)).find_map(|output| {
            let edit = Edit::Together(vec![
                set(Kind::Cable, &wired.id, "returns_to", json!(null)),
                set(Kind::Cable, &run.id, "from", json!({"Output": output.to_string()})),
            ]);
            let home = format!("bring loop {} back to the control it left from", wired.id);
            trials
                .plain(format!("{home}, and move home run {} to output {output} ({wanted} V)", run.id), edit)
        })
    })
}

/// A home run that is too long: from a nearer panel, shorter, or as it is, where its drop allows that.
pub(super) fn shorter(trials: &mut Trials<'_>) -> Vec<Remedy> {
    let design = trials.design;
    let Some(Spot::Feed { wall_box, feed }) = trials.spot() else { return Vec::new() };
    let wall_box = &design.job.boxes[wall_box];
    let feed = &wall_box.feeds[feed];
    let limit = design.job.settings.longest_home_run;
    let units = design.job.project.units;
    let mut found = Vec::new();
    if !trials.closed() {
        found.extend(run::nearer_panel(trials, &feed.id));
        let text = format!("shorten home run {} to {}", feed.id, limit.shown(units));
        found.extend(trials.plain(text, set(Kind::Cable, &feed.id, "measured", limit.written())));
    }
    let now = Lengths::new(&design.job, &design.index).feed(wall_box, feed);
    if let Some(now) = now {
        let whole = whole_up(now.length, units);
        let edit = set(Kind::Settings, "settings", "longest_home_run", whole.written());
        let lost = drop_in(design, &feed.id, &trials.finding.subject);
        let bad = design.findings.iter().any(|finding| {
            let of_drop =
                ["drop", "volts-low", "collapse", "near-collapse", "unknown"].contains(&finding.code);
            of_drop && super::cable::run_of(design, &finding.subject).is_some_and(|run| run.id == feed.id)
        });
        // A figure must say that it may be so long.
        if !bad && !lost.is_empty() {
            found
                .extend(trials.plain(format!("raise the job's limit to {}{lost}", whole.shown(units)), edit));
        }
    }
    found
}

/// The next whole foot or tenth of a metre.
fn whole_up(length: Length, units: LengthUnit) -> Length {
    let step = match units {
        LengthUnit::Feet => 3_048_000,
        LengthUnit::Metres => 1_000_000,
    };
    Length::from_ticks((length.ticks() + step - 1) / step * step, units)
}
