//! Controls, their lights and their groups.

use super::finding::Finding;
use super::place::if_it_is;
use super::{Seen, list};
use crate::job::catalogue::{Colour, ControlType, Drive, FixtureColour, FixtureType, Load};
use crate::job::open::OneFor;
use crate::job::wiring::{Control, ControlGroup, Loop, LoopPath, WallBox};
use crate::job::{Id, Kind, Subject, open};
use std::collections::HashSet;

/// The controls of a wall box with their loops.
pub(super) fn wall_box(seen: Seen<'_>, wall_box: &WallBox, findings: &mut Vec<Finding>) {
    for control in &wall_box.controls {
        lights(seen, wall_box, control, findings);
        for wired in &control.loops {
            a_loop(seen, wall_box, control, wired, findings);
        }
    }
}

fn lights(seen: Seen<'_>, wall_box: &WallBox, control: &Control, findings: &mut Vec<Finding>) {
    let subject = || Subject::new(Kind::Control, &control.id);
    let (mut fixed, mut tunable, mut held) = (0_usize, 0_usize, 0_usize);
    for (wired, ceiling) in control.loops.iter().flat_map(|w| w.ceiling.iter().map(move |c| (w, c))) {
        if !seen.lit(wall_box, wired, ceiling) {
            continue;
        }
        held += 1;
        // An open choice counts against both limits that it may yet fall under.
        let colours: Vec<FixtureColour> =
            seen.held((wall_box, wired), ceiling).map(|part| part.colour).collect();
        tunable += usize::from(colours.contains(&FixtureColour::Tunable));
        fixed += usize::from(colours.iter().any(|colour| *colour != FixtureColour::Tunable));
        if ceiling.fixture.is_none() {
            let (_, reach) = open::open(seen.job, seen.index, wall_box, wired, ceiling);
            let reach = if reach.is_each() { String::new() } else { format!(" ({})", reach.words()) };
            findings.push(
                seen.find(
                    &list::OPEN_FIXTURE,
                    Subject::new(Kind::Fixture, &ceiling.id),
                    format!(
                        "the fixture in {} is still open{reach}; figures hold for the worst choice",
                        ceiling.id
                    ),
                    "choose it before trim",
                )
                .caused_by(subject()),
            );
        }
    }
    if !control.open.is_empty() {
        let reach =
            if control.one_for.is_each() { String::new() } else { format!(" ({})", control.one_for.words()) };
        findings.push(seen.find(
            &list::OPEN_CONTROL,
            subject(),
            format!(
                "the type of control {} is still open{reach}; figures hold for the worst choice",
                control.id
            ),
            "choose it before trim",
        ));
    }
    for part in seen.types(control) {
        for (colour, count, most) in
            [("fixed", fixed, part.most_fixed_lights), ("tunable", tunable, part.most_tunable_lights)]
        {
            let Some(most) = most.map(usize::from).filter(|most| count > *most) else { continue };
            findings.push(
                seen.find(
                    &list::LIGHTS,
                    subject(),
                    format!("control {} drives {count} {colour} lights; it takes {most}", control.id),
                    format!("move {} of them to another control", count - most),
                )
                .counts(count, most)
                .with(&if_it_is(control, part)),
            );
        }
    }
    if held == 0 && !control.loops.is_empty() {
        findings.push(seen.find(
            &list::IDLE_CONTROL,
            subject(),
            format!("no light hangs on the loops of control {}", control.id),
            "give its ceiling boxes fixtures, or take it out",
        ));
    }
    let is_remote = seen.job.groups.iter().flat_map(|group| &group.remotes).any(|id| id.same(&control.id));
    if is_remote && held > 0 {
        findings.push(
            seen.find(
                &list::NO_CONTROL,
                subject(),
                format!("{held} lights hang on {}, which is a remote point of its group", control.id),
                "hang them on the main control of the group, or take the control out of its remotes",
            )
            .counts(held, 0),
        );
    }
}

fn a_loop(seen: Seen<'_>, wall_box: &WallBox, control: &Control, wired: &Loop, findings: &mut Vec<Finding>) {
    let types = seen.types(control);
    let strings = types.iter().any(|part| matches!(part.drive, Drive::Current { .. }));
    let subject = || Subject::new(Kind::Cable, &wired.id);
    if wired.crossed {
        match (wired.path, strings) {
            (LoopPath::Returned, true) => findings.push(seen.find(
                &list::CROSSED,
                subject(),
                format!("loop {} comes back with its conductors exchanged: its strings are joined", wired.id),
                "land each conductor of the return on the string it left from",
            )),
            (LoopPath::ReturnedCapped, _) => findings.push(
                seen.find(
                    &list::CROSSED,
                    subject(),
                    format!(
                        "loop {} is capped with its conductors exchanged: it shorts if it is ever landed",
                        wired.id
                    ),
                    "exchange them at one end, and tag the return",
                )
                .rated(super::Severity::Advice),
            ),
            _ => {}
        }
    }
    // Only strings round a returned loop need the return to be tunable.
    let mut rooms = wired.ceiling.iter().map(|c| c.room.as_ref().unwrap_or(&wall_box.room));
    let wish = |id: &Id| seen.index.room(seen.job, id).map(|(_, room)| room).filter(|room| room.keep_tunable);
    if let Some(room) = rooms.find_map(wish)
        && wired.path == LoopPath::OneWay
        && strings
    {
        findings.push(seen.find(
            &list::KEEP_TUNABLE,
            subject(),
            format!("loop {} ends, but tunable white must stay possible in {}", wired.id, room.id),
            "bring the loop back to its wall box, and cap and tag it there",
        ));
    }
    let on_pair = types.iter().find(|part| part.colour == Colour::OnPair);
    mixed(seen, (wall_box, control, wired), on_pair.copied(), findings);
}

/// Lights of a loop that are one thing or another: each by itself, or all that one choice is for.
struct Unit<'a> {
    key: String,
    lights: usize,
    kinds: Vec<&'a FixtureType>,
}

fn units<'a>(seen: Seen<'a>, wall_box: &WallBox, wired: &'a Loop) -> Vec<Unit<'a>> {
    let mut units: Vec<Unit<'a>> = Vec::new();
    for ceiling in &wired.ceiling {
        let kinds: Vec<&FixtureType> = seen.held((wall_box, wired), ceiling).collect();
        if kinds.is_empty() {
            continue;
        }
        let (entries, reach) = open::open(seen.job, seen.index, wall_box, wired, ceiling);
        let room = ceiling.room.as_ref().unwrap_or(&wall_box.room);
        let mut sorted: Vec<String> = entries.iter().map(Id::folded).collect();
        sorted.sort_unstable();
        let key = match reach {
            OneFor::Each => format!("fixture {}", ceiling.id),
            OneFor::Loop => format!("loop {}", sorted.join(" ")),
            OneFor::Room => format!("room {room} {}", sorted.join(" ")),
            OneFor::House => format!("house {}", sorted.join(" ")),
        };
        match units.iter_mut().find(|unit| unit.key == key) {
            Some(unit) => unit.lights += 1,
            None => units.push(Unit { key, lights: 1, kinds }),
        }
    }
    units
}

/// The most lights that can be one thing while at least one of the others is the other.
fn most_beside(units: &[Unit<'_>], one: fn(&FixtureType) -> bool, other: fn(&FixtureType) -> bool) -> usize {
    let can = |unit: &Unit<'_>, kind: fn(&FixtureType) -> bool| unit.kinds.iter().any(|part| kind(part));
    let others = units.iter().enumerate().filter(|(_, unit)| can(unit, other));
    let beside = others.map(|(at, _)| {
        let rest = units.iter().enumerate().filter(|(other, unit)| *other != at && can(unit, one));
        rest.map(|(_, unit)| unit.lights).sum()
    });
    beside.max().unwrap_or(0)
}

fn mixed(
    seen: Seen<'_>,
    (wall_box, control, wired): (&WallBox, &Control, &Loop),
    on_pair: Option<&ControlType>,
    findings: &mut Vec<Finding>,
) {
    let units = units(seen, wall_box, wired);
    let subject = || Subject::new(Kind::Cable, &wired.id);
    let tunable = |part: &FixtureType| part.colour == FixtureColour::Tunable;
    let fixed = most_beside(&units, |part| part.colour != FixtureColour::Tunable, tunable);
    if let Some(part) = on_pair.filter(|_| fixed > 0) {
        findings.push(
            seen.find(
                &list::MIXED_COLOUR,
                subject(),
                format!(
                    "loop {} carries colour on its pair, and {fixed} of its lights can't follow it",
                    wired.id
                ),
                "hang fixed and tunable lights on loops of their own",
            )
            .counts(fixed, 0)
            .with(&if_it_is(control, part)),
        );
    }
    let regulated = |part: &FixtureType| matches!(part.load, Load::Power { .. } | Load::Current { .. });
    if most_beside(&units, |part| matches!(part.load, Load::Resistance { .. }), regulated) > 0 {
        findings.push(seen.find(
            &list::MIXED_LOAD,
            subject(),
            format!("loop {} mixes regulated and resistive lights, which dim unlike each other", wired.id),
            "hang them on loops of their own if they are to be dimmed together",
        ));
    }
}

/// A group of controls: how many work in step, and whether a link reaches each.
pub(super) fn group(seen: Seen<'_>, group: &ControlGroup, findings: &mut Vec<Finding>) {
    let subject = || Subject::new(Kind::Group, &group.id);
    let members = 1 + group.remotes.len();
    let main = seen.index.control(seen.job, &group.main);
    let types = main.map(|(_, main)| (main, seen.types(main)));
    let fewest = types.and_then(|(main, types)| {
        let stated = types.into_iter().filter_map(|part| Some((part.most_in_step.map(usize::from)?, part)));
        stated.min_by_key(|(most, _)| *most).map(|(most, part)| (main, most, part))
    });
    if let Some((main, most, part)) = fewest.filter(|(_, most, _)| members > *most) {
        findings.push(
            seen.find(
                &list::GROUP_SIZE,
                subject(),
                format!("{members} controls are in group {}; {most} work in step", group.id),
                format!("take {} of them out of the group", members - most),
            )
            .counts(members, most)
            .with(&if_it_is(main, part)),
        );
    }
    let mut reached = HashSet::from([group.main.folded()]);
    loop {
        let before = reached.len();
        for link in &group.links {
            let ends = [link.from.folded(), link.to.folded()];
            if ends.iter().any(|end| reached.contains(end)) {
                reached.extend(ends);
            }
        }
        if reached.len() == before {
            break;
        }
    }
    for remote in group.remotes.iter().filter(|remote| !reached.contains(&remote.folded())) {
        findings.push(
            seen.find(
                &list::REMOTE_CABLE,
                Subject::new(Kind::Control, remote),
                format!("no link reaches remote point {remote} from {}", group.main),
                "draw the link cable, from the main control or from a point that has one",
            )
            .caused_by(subject()),
        );
    }
}
