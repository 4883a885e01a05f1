//! Controls, their lights and their groups.

use super::finding::Finding;
use super::{Seen, list};
use crate::job::catalogue::{Colour, Drive, FixtureColour, Load};
use crate::job::wiring::{Control, ControlGroup, Loop, LoopPath, WallBox};
use crate::job::{Id, Kind, Subject};
use std::collections::HashSet;

pub(super) fn check(seen: Seen<'_>, findings: &mut Vec<Finding>) {
    for wall_box in &seen.job.boxes {
        for control in &wall_box.controls {
            lights(seen, control, findings);
            for wired in &control.loops {
                a_loop(seen, wall_box, control, wired, findings);
            }
        }
    }
    for group in &seen.job.groups {
        a_group(seen, group, findings);
    }
}

fn lights(seen: Seen<'_>, control: &Control, findings: &mut Vec<Finding>) {
    let Some(part) = seen.index.control_type(seen.job, &control.part) else { return };
    let subject = || Subject::new(Kind::Control, &control.id);
    let (mut fixed, mut tunable, mut held) = (0_usize, 0_usize, 0_usize);
    for ceiling in control.loops.iter().flat_map(|l| &l.ceiling) {
        if ceiling.fixture.is_none() && ceiling.open.is_empty() {
            continue;
        }
        held += 1;
        // An open choice counts against both limits that it may yet fall under.
        let colours: Vec<FixtureColour> = seen.held(ceiling).map(|part| part.colour).collect();
        tunable += usize::from(colours.contains(&FixtureColour::Tunable));
        fixed += usize::from(colours.iter().any(|colour| *colour != FixtureColour::Tunable));
        if !ceiling.open.is_empty() {
            findings.push(
                seen.find(
                    &list::OPEN_FIXTURE,
                    Subject::new(Kind::Fixture, &ceiling.id),
                    format!("the fixture in {} is still open; figures hold for the worst choice", ceiling.id),
                    "choose it before trim",
                )
                .caused_by(subject()),
            );
        }
    }
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
            .counts(count, most),
        );
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
    let Some(part) = seen.index.control_type(seen.job, &control.part) else { return };
    let subject = || Subject::new(Kind::Cable, &wired.id);
    if wired.crossed {
        match (wired.path, part.drive) {
            (LoopPath::Returned, Drive::Current { .. }) => findings.push(seen.find(
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
    let needs_return = matches!(part.drive, Drive::Current { .. });
    let mut rooms = wired.ceiling.iter().map(|c| c.room.as_ref().unwrap_or(&wall_box.room));
    let wish = |id: &Id| seen.index.room(seen.job, id).map(|(_, room)| room).filter(|room| room.keep_tunable);
    if let Some(room) = rooms.find_map(wish)
        && wired.path == LoopPath::OneWay
        && needs_return
    {
        findings.push(seen.find(
            &list::KEEP_TUNABLE,
            subject(),
            format!("loop {} ends, but tunable white must stay possible in {}", wired.id, room.id),
            "bring the loop back to its wall box, and cap and tag it there",
        ));
    }
    mixed(seen, part.colour, wired, findings);
}

fn mixed(seen: Seen<'_>, colour: Colour, wired: &Loop, findings: &mut Vec<Finding>) {
    let kinds = || wired.ceiling.iter().flat_map(|ceiling| seen.held(ceiling));
    let tunable = kinds().filter(|part| part.colour == FixtureColour::Tunable).count();
    let fixed = kinds().count() - tunable;
    let subject = || Subject::new(Kind::Cable, &wired.id);
    if colour == Colour::OnPair && tunable > 0 && fixed > 0 {
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
            .counts(fixed, 0),
        );
    }
    let resistive = kinds().filter(|part| matches!(part.load, Load::Resistance { .. })).count();
    let regulated =
        kinds().filter(|part| matches!(part.load, Load::Power { .. } | Load::Current { .. })).count();
    if resistive > 0 && regulated > 0 {
        findings.push(seen.find(
            &list::MIXED_LOAD,
            subject(),
            format!("loop {} mixes regulated and resistive lights, which dim unlike each other", wired.id),
            "hang them on loops of their own if they are to be dimmed together",
        ));
    }
}

fn a_group(seen: Seen<'_>, group: &ControlGroup, findings: &mut Vec<Finding>) {
    let subject = || Subject::new(Kind::Group, &group.id);
    let members = 1 + group.remotes.len();
    let main = seen.index.control(seen.job, &group.main);
    let part = main.and_then(|(_, main)| seen.index.control_type(seen.job, &main.part));
    if let Some(most) = part.and_then(|part| part.most_in_step).map(usize::from).filter(|m| members > *m) {
        findings.push(
            seen.find(
                &list::GROUP_SIZE,
                subject(),
                format!("{members} controls are in group {}; {most} work in step", group.id),
                format!("take {} of them out of the group", members - most),
            )
            .counts(members, most),
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
