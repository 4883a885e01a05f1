//! Service in words: the way from slot to box, what dark lights share, and what a substitute needs.

use super::names::{place_of, words_of};
use super::options::{said, state_word};
use crate::design::Design;
use crate::format;
use crate::job::{Id, Kind, Subject};
use crate::site::{Choice, Dark, On, Shared, line};

/// One step of the way in words.
fn on_words(design: &Design, on: &On) -> String {
    let words = |kind, id: &Id| words_of(design, &Subject::new(kind, id)).trim().to_owned();
    match on {
        On::Panel(id) => format!("panel {}", words(Kind::Panel, id)),
        On::Supply(id) => {
            let slot = design.index.supply(&design.job, id).and_then(|(_, supply)| supply.slot);
            let slot = slot.map_or_else(|| "in no slot".to_owned(), |slot| format!("in slot {slot}"));
            format!("supply {id} {slot}")
        }
        On::Output(output) => match output.parse() {
            Ok(output) => format!("output {}", place_of(design, &output)),
            Err(_) => format!("output {output}"),
        },
        On::Feed(id) => match line(design, id) {
            Some(line) => {
                let cable = line.cable.map_or_else(String::new, |cable| format!(", {}", cable.id));
                let length = line.length.map_or_else(
                    || format::UNKNOWN.to_owned(),
                    |length| length.length.shown(design.job.project.units),
                );
                format!("cable {id}{cable}, {length}")
            }
            None => format!("cable {id}"),
        },
        On::WallBox(id) => format!("wall box {}", words(Kind::WallBox, id)),
        On::Control(id) => format!("control {}", words(Kind::Control, id)),
        On::Loop(id) => format!("loop {}", words(Kind::Cable, id)),
        On::Leg(run, to) => match line(design, run) {
            Some(line) => {
                let at = line.stop(to).map_or(0, |(at, _)| at);
                let before = at.checked_sub(1).and_then(|before| line.stops.get(before));
                let from =
                    before.map_or_else(|| line.wall_box.id.to_string(), |stop| format!("OUT of {}", stop.id));
                format!("leg {from} to IN of {to} (box {} of {})", at + 1, line.stops.len())
            }
            None => format!("leg to {to}"),
        },
    }
}

/// What dark lights share, the likeliest first, then the way to each.
pub fn dark_lines(design: &Design, dark: &Dark) -> Vec<String> {
    let mut lines = Vec::new();
    let names: Vec<String> = dark.ways.iter().map(|(id, _)| id.to_string()).collect();
    lines.push(format!("Dark: {}", names.join(", ")));
    let suspects: Vec<&Shared> = dark.shared.iter().filter(|shared| shared.is_suspect()).collect();
    let lit: Vec<&Shared> = dark.shared.iter().filter(|shared| !shared.is_suspect()).collect();
    lines.push(String::new());
    if suspects.is_empty() {
        match dark.ways.as_slice() {
            [_] => lines.push("Nothing but this light is dark: look at its splices, then at the fixture.".into()),
            _ => lines.push(
                "Whatever they share also feeds lights that were not named as dark. If those are lit, look for more \
                 than one cause; if not, name them too."
                    .into(),
            ),
        }
    } else {
        lines.push(
            "All that hangs on these is dark, from the panel down; look at the first of them first:".into(),
        );
        lines.extend(
            suspects
                .iter()
                .map(|shared| format!("  {} ({})", on_words(design, &shared.on), lights(shared.lights))),
        );
    }
    if !lit.is_empty() {
        lines.push(String::new());
        lines.push(
            "They share these too, but other lights hang on them; if those are lit, it is not that:".into(),
        );
        lines.extend(lit.iter().map(|shared| {
            format!(
                "  {} ({} of {} named dark)",
                on_words(design, &shared.on),
                shared.dark,
                lights(shared.lights)
            )
        }));
    }
    for (id, way) in &dark.ways {
        lines.push(String::new());
        lines.push(format!("The way to {}:", words_of(design, &Subject::new(Kind::Fixture, id)).trim()));
        lines.extend(way.iter().map(|on| format!("  {}", on_words(design, on))));
    }
    lines.push(String::new());
    lines.push(
        "Prove conductors dead before you open a splice. Never make or break a live series string.".into(),
    );
    lines
}

fn lights(count: usize) -> String {
    if count == 1 { "1 light".into() } else { format!("{count} lights") }
}

/// Whether a fixture would do in place of another.
pub fn substitute_lines(design: &Design, light: &Id, choice: &Choice) -> Vec<String> {
    let light = words_of(design, &Subject::new(Kind::Fixture, light));
    let mut lines = vec![format!("{} in {}: {}", choice.fixture, light.trim(), state_word(&choice.state))];
    lines.extend(said(choice).into_iter().map(|(words, cost)| {
        let cost = cost.map(|cost| format!(", {}", format::money(Some(cost)))).unwrap_or_default();
        format!("  {words}{cost}")
    }));
    lines
}
