//! What readings tell, in sentences that stand alone.

use crate::design::Design;
use crate::format::{self, Quantity, UNKNOWN};
use crate::job::site::End;
use crate::site::{Band, Bracket, Diagnosis, Fault, Judged, Line, LineKind, Place, Point, Verdict};
use crate::units::LengthUnit;

/// A band as people read it, without its unit.
pub fn band_words(band: &Band) -> String {
    match band {
        Band::Between { low, high, .. } => format!("{} to {}", figure_words(*low), figure_words(*high)),
        Band::AtLeast(least) => format!("OL or >{}", figure_words(*least)),
        Band::Unknown(_) => UNKNOWN.into(),
    }
}

/// A figure of ohms, volts or amps with as many digits as a meter shows; millions as `M`.
pub fn figure_words(value: f64) -> String {
    if value.abs() >= 1e5 {
        return format!("{}M", format::machine(Some(value / 1e6)));
    }
    if value.abs() >= 1000.0 {
        return format!("{}k", Quantity::Ohms.bare(Some(value / 1000.0)));
    }
    Quantity::Ohms.bare(Some(value))
}

/// Metres in the job's unit, to the whole foot or tenth of a metre: more than that no reading tells.
fn along(design: &Design, metres: f64) -> String {
    match design.job.project.units {
        LengthUnit::Feet => Quantity::Feet.shown(Some(metres / 0.3048)),
        LengthUnit::Metres => Quantity::Metres.shown(Some(metres)),
    }
}

/// What the readings of a cable tell, the worst first; nothing while nothing was read.
pub fn says(design: &Design, line: &Line<'_>, diagnosis: &Diagnosis) -> Vec<String> {
    let mut said: Vec<String> =
        diagnosis.faults.iter().flat_map(|fault| fault_words(design, line, fault)).collect();
    for test in &diagnosis.inconsistent {
        said.push(format!("'{test}' contradicts another reading: read both again before you open anything"));
    }
    for (test, why) in &diagnosis.mute {
        said.push(format!("'{test}' tells nothing: {why}"));
    }
    match diagnosis.verdict {
        Verdict::Sound => said.push("continuous, not bridged".into()),
        Verdict::Partly => {
            let missing = match (diagnosis.continuous, diagnosis.apart) {
                (true, _) => "whether it is bridged is not told: read the pair with nothing joined",
                (_, true) => {
                    "not bridged; whether it is continuous is not told: read each conductor, or the pair joined at the far end"
                }
                _ => "neither continuity nor a bridge is told yet",
            };
            said.push(missing.into());
        }
        _ => {}
    }
    said
}

fn fault_words(design: &Design, line: &Line<'_>, fault: &Fault) -> Vec<String> {
    match fault {
        Fault::Open { conductors, bracket } => open_words(line, conductors, bracket),
        Fault::Bridged { place: Some(place), legs, .. } => bridge_words(design, line, place, legs),
        Fault::Bridged { place: None, within: Some((end, metres)), .. } => vec![format!(
            "bridged, at most {} from the {} end; its place needs the pair read from the other end too",
            along(design, *metres),
            end.word()
        )],
        Fault::Bridged { .. } => vec![
            "bridged; its place needs the pair read from both ends, and gauge and length that are known"
                .into(),
        ],
        Fault::Leak { ohms, to_ground } => vec![format!(
            "insulation {} is {} ohm, too low; too high to be placed by ohms: part the loop box by box",
            if *to_ground { "to ground" } else { "between the conductors" },
            figure_words(*ohms)
        )],
        Fault::Crossed { after, before } => vec![format!(
            "plus and minus change places between {} and box {before}, or in one of them",
            after.as_ref().map_or_else(|| "the near end".to_owned(), |id| format!("box {id}"))
        )],
        Fault::Exchanged { at } => {
            vec![format!("IN and OUT are exchanged in box {at}: its OUT comes from the control")]
        }
        Fault::Reversed => vec!["plus and minus are exchanged: do not land it".into()],
        Fault::Beyond { test, judged } => vec![beyond_words(line, &test.to_string(), test.unit(), *judged)],
    }
}

fn beyond_words(line: &Line<'_>, test: &str, unit: &str, judged: Judged) -> String {
    let (direction, may, not) = match (unit, judged) {
        ("ohm", Judged::High) => (
            "higher",
            "a longer cable than known, a poor splice, a thinner gauge, or warmer copper",
            "which of them, ohms alone do not tell",
        ),
        ("ohm", _) => (
            "lower",
            "a shorter cable than known, a thicker gauge, or a bridge with both ends joined",
            "a short cannot be placed from this alone",
        ),
        ("V", Judged::High) => (
            "higher",
            "another supply, or a load that is not on",
            "it does not show a fault of the cable by itself",
        ),
        ("V", _) => (
            "lower",
            "a longer cable, a poor splice, another load on, or a dimmed level, which fools a dc meter",
            "where along the cable, volts at one box do not tell",
        ),
        (_, Judged::High) => {
            ("higher", "other fixtures than planned, or a partial short", "which, amps do not tell")
        }
        _ => (
            "lower",
            "a light that is out, a loop that is open, or a dimmed level",
            "which, amps do not tell",
        ),
    };
    let known = if line.length_off() > 0.05 && unit == "ohm" { "; the length is only estimated" } else { "" };
    format!("'{test}' is {direction} than expected: {may}; {not}{known}")
}

fn open_words(line: &Line<'_>, conductors: &[String], bracket: &Bracket) -> Vec<String> {
    let what = match conductors {
        [] => "open".to_owned(),
        some => format!("{} open", some.join(" and ")),
    };
    if bracket.after >= bracket.before {
        return vec![format!(
            "{what}; the readings contradict each other about where, or it is open in two places"
        )];
    }
    let place = format!("{what} between {} and {}", point(line, bracket.after), point(line, bracket.before));
    let next = match bracket.next(line.between()) {
        Some(box_at) => {
            let id = line.stops.get(box_at).map_or_else(String::new, |stop| stop.id.to_string());
            format!("; read it joined at box {id} next")
        }
        None if line.stops.is_empty() => "; look at both ends first".into(),
        None => "; look at the splices at both, then at that leg".into(),
    };
    let mut said = vec![format!("{place}{next}")];
    if !bracket.against.is_empty() {
        said.push("more than one place may be open: some readings do not fit one".into());
    }
    said
}

/// A point of a cable in words.
fn point(line: &Line<'_>, point: Point) -> String {
    match point {
        Point::Near if line.kind == LineKind::HomeRun => "the panel".into(),
        Point::Box(at) => line.stops.get(at).map_or_else(String::new, |stop| format!("box {}", stop.id)),
        Point::Far if line.kind == LineKind::Loop && !line.returns => {
            line.stops.last().map_or_else(|| "the far end".to_owned(), |stop| format!("box {}", stop.id))
        }
        Point::Far if line.kind == LineKind::Loop => format!("the return at {}", line.wall_box.id),
        Point::Far if line.kind == LineKind::Link => "the far end".into(),
        Point::Near | Point::Far => format!("wall box {}", line.wall_box.id),
    }
}

/// A leg of a loop as the boxes at its ends.
fn leg(line: &Line<'_>, leg: usize) -> String {
    let from = leg.checked_sub(1).map_or(Point::Near, Point::Box);
    let to = if leg < line.stops.len() { Point::Box(leg) } else { Point::Far };
    format!("{} to {}", point(line, from), point(line, to))
}

fn bridge_words(design: &Design, line: &Line<'_>, place: &Place, legs: &[usize]) -> Vec<String> {
    let whole = line.metres().unwrap_or(place.metres);
    let (low, high) =
        ((place.metres - place.metres_off).max(0.0), (place.metres + place.metres_off).min(whole * 1.2));
    let mut said = vec![format!(
        "bridged {} along the cable from the {} end, between {} and {} (19 times in 20); the bridge itself about {} ohm",
        along(design, place.metres.max(0.0)),
        End::Near.word(),
        along(design, low),
        along(design, high.max(low)),
        figure_words(place.ohms)
    )];
    if line.stops.is_empty() {
        return said;
    }
    let count = if line.returns { line.stops.len() + 1 } else { line.stops.len() };
    said.push(match legs {
        [] => "that is at no leg of this loop: look at gauge and lengths first".into(),
        all if all.len() == count && count > 1 => {
            "that may be any leg of it: a better meter, or reading it in two halves, tells more".into()
        }
        some => {
            let some: Vec<String> = some.iter().map(|at| leg(line, *at)).collect();
            format!("that is in {}", some.join(", or "))
        }
    });
    said
}
