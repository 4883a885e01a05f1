//! Controls, their lights and their boxes.

use super::Seen;
use super::finding::{Finding, Severity, Source, Unit};
use crate::job::catalogue::FixtureColour;
use crate::job::{Kind, Subject};

pub(super) fn check(seen: Seen<'_>, findings: &mut Vec<Finding>) {
    for wall_box in &seen.job.boxes {
        let mut gangs = 0_u32;
        for control in &wall_box.controls {
            let Some(part) = seen.index.control_type(seen.job, &control.part) else { continue };
            gangs += u32::from(part.gangs.get());
            let (mut fixed, mut tunable) = (0_u32, 0_u32);
            for ceiling in control.loops.iter().flat_map(|l| &l.ceiling) {
                let mut held = ceiling.fixture.iter().chain(&ceiling.open).peekable();
                if held.peek().is_none() {
                    continue;
                }
                // An open choice counts as tunable if it may yet be: the lower limit is the safe one.
                let may_be_tunable = held
                    .filter_map(|id| seen.index.fixture_type(seen.job, id))
                    .any(|part| part.colour == FixtureColour::Tunable);
                *(if may_be_tunable { &mut tunable } else { &mut fixed }) += 1;
                if !ceiling.open.is_empty() {
                    findings.push(Finding::plain(
                        "open-fixture",
                        Severity::Advice,
                        Subject::new(Kind::Fixture, &ceiling.id),
                        format!(
                            "the fixture in {} is still open; figures hold for the worst choice",
                            ceiling.id
                        ),
                        Source::Network,
                        "choose it before trim",
                    ));
                }
            }
            lights(control, "fixed", fixed, part.most_fixed_lights, findings);
            lights(control, "tunable", tunable, part.most_tunable_lights, findings);
        }
        let Some(part) = wall_box
            .part
            .as_ref()
            .and_then(|part| seen.job.catalogue.boxes.iter().find(|entry| entry.id.same(part)))
        else {
            continue;
        };
        if gangs > u32::from(part.gangs) {
            findings.push(
                Finding::plain(
                    "gangs",
                    Severity::Error,
                    Subject::new(Kind::WallBox, &wall_box.id),
                    format!(
                        "the controls of wall box {} take {gangs} gangs; it has {}",
                        wall_box.id, part.gangs
                    ),
                    Source::Catalogue("gangs"),
                    "use a wider box, or split the controls over two",
                )
                .figures(f64::from(gangs), f64::from(part.gangs), Unit::Count),
            );
        }
    }
}

fn lights(
    control: &crate::job::wiring::Control,
    colour: &str,
    count: u32,
    most: Option<u16>,
    findings: &mut Vec<Finding>,
) {
    let Some(most) = most.map(u32::from).filter(|most| count > *most) else { return };
    findings.push(
        Finding::plain(
            "lights",
            Severity::Error,
            Subject::new(Kind::Control, &control.id),
            format!("control {} drives {count} {colour} lights; it takes {most}", control.id),
            Source::Catalogue("most lights"),
            format!("move {} of them to another control", count - most),
        )
        .figures(f64::from(count), f64::from(most), Unit::Count),
    );
}
