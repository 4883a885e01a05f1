//! Series strings on a current drive.
//!
//! The control regulates the current, so the string's volts are those of its lights plus the loop's wire, and its load
//! on the home run is its power over the control's efficiency. A string round one conductor of a returned loop has one
//! conductor's ohms once round; on a loop that ends it goes out on one and comes back on the other.

use super::gather::{StringTrace, conductor_ohms, held};
use super::reason::Reason;
use crate::format::Quantity;
use crate::job::catalogue::{Channels, Colour, ControlType, Drive, FixtureColour, Load};
use crate::job::wiring::{Loop, LoopPath};
use crate::job::{Id, Index, Job};
use crate::network::{Basis, ControlAt, LoopAt, LoopLength};
use crate::working::{Input, Number, Origin, Recorder};

/// A series string at full level.
#[derive(Debug, Clone, PartialEq)]
pub struct StringStudy {
    /// The control that drives it.
    pub control: ControlAt,
    /// The loop it is on.
    pub at: LoopAt,
    /// 1, or 2 for the second string of a returned loop.
    pub number: u8,
    /// Volts of its lights and its wire together.
    pub volts: f64,
    /// Volts that the control can give it, once the run is solved; none if the catalogue states no limit.
    pub available_volts: Option<f64>,
    /// The regulated current.
    pub amps: f64,
    /// Watts lost in its wire.
    pub wire_watts: f64,
    /// Its lights: position on the loop, and highest volts.
    pub lights: Vec<(usize, f64)>,
    /// Whether it counts toward the load: of two strings that share the current only the heavier one.
    pub counts: bool,
}

impl StringStudy {
    /// Watts into the string.
    pub fn watts(&self) -> f64 {
        self.volts * self.amps
    }

    /// Whether the control can drive it; `None` while either side is unknown.
    pub fn holds(&self) -> Option<bool> {
        self.available_volts.map(|available| self.volts <= available)
    }

    /// The volts a control can put on a string, with so many volts at its wall box.
    pub(super) fn available(control: &ControlType, box_volts: f64) -> Option<f64> {
        let Drive::Current { most_volts, headroom_volts, .. } = control.drive else { return None };
        let stepped_down = headroom_volts.map(|headroom| (box_volts - headroom.get()).max(0.0));
        match (most_volts, stepped_down) {
            (Some(most), Some(stepped_down)) => Some(most.get().min(stepped_down)),
            (most, stepped_down) => most.map(crate::units::Volts::get).or(stepped_down),
        }
    }
}

/// The strings of a loop and the watts they take.
pub(super) struct Strings<N> {
    pub strings: Vec<(StringStudy, StringTrace<N>)>,
    pub watts: N,
}

/// The strings of one loop on a current drive, and the watts they take from the home run.
pub(super) fn strings<R: Recorder>(
    job: &Job,
    index: &Index,
    at: LoopAt,
    run: &Loop,
    control: &ControlType,
    length: &LoopLength,
    recorder: &mut R,
) -> Result<Strings<R::Number>, Vec<Reason>> {
    let Drive::Current { amps, efficiency_percent, .. } = control.drive else {
        return Ok(Strings { strings: Vec::new(), watts: R::Number::constant(0.0) });
    };
    let stated = |value: f64, unit, what: &str| {
        R::Number::input(value, || {
            Input::new(what, unit, Origin::Catalogue(format!("{} {what}", control.id)))
        })
    };
    let mut reasons = Vec::new();
    let (mut first, mut second) = (Vec::new(), Vec::new());
    let wall_box = &job.boxes[at.control.wall_box];
    for (position, ceiling) in run.ceiling.iter().enumerate() {
        let (mut volts, mut second_volts): (Option<f64>, Option<f64>) = (None, None);
        for fixture in held(job, index, (wall_box, run), ceiling) {
            let Load::String { volts: one, second_volts: two, .. } = fixture.load else {
                reasons.push(Reason::DoesNotFit { ceiling: ceiling.id.clone(), fixture: fixture.id.clone() });
                continue;
            };
            volts = Some(volts.unwrap_or(0.0).max(one.get()));
            if fixture.colour == FixtureColour::Tunable {
                match (control.colour, run.path, two) {
                    (Colour::TwoStrings { .. }, LoopPath::Returned, Some(two)) => {
                        second_volts = Some(second_volts.unwrap_or(0.0).max(two.get()));
                    }
                    _ => reasons.push(Reason::NoSecondString(ceiling.id.clone())),
                }
            }
        }
        first.extend(volts.map(|volts| (position, volts)));
        second.extend(second_volts.map(|volts| (position, volts)));
    }
    let ohms = match wire_ohms::<R::Number>(job, index, run, length) {
        Ok(ohms) => recorder.figure(|| format!("cable/{}/string_ohms", run.id), Quantity::Ohms, ohms),
        Err(reason) => {
            reasons.push(reason);
            R::Number::constant(0.0)
        }
    };
    let mut strings = Vec::new();
    for (number, lights) in [(1, first), (2, second)] {
        if !lights.is_empty() {
            let amps = stated(amps.get(), Quantity::Amps, "amps");
            let of_lights: Vec<R::Number> = lights
                .iter()
                .map(|&(position, volts)| {
                    R::Number::input(volts, || {
                        let id = &run.ceiling[position].id;
                        Input::new(
                            format!("volts of {id}"),
                            Quantity::Volts,
                            Origin::Catalogue(format!("the fixture of {id}, volts")),
                        )
                    })
                })
                .collect();
            let sum = of_lights.iter().cloned().fold(R::Number::constant(0.0), |sum, volts| sum + volts);
            let volts = sum + amps.clone() * ohms.clone();
            let volts =
                recorder.figure(|| format!("cable/{}/string_{number}_volts", run.id), Quantity::Volts, volts);
            let wire_watts = amps.clone() * amps.clone() * ohms.clone();
            let study = StringStudy {
                control: at.control,
                at,
                number,
                volts: volts.value(),
                available_volts: None,
                amps: amps.value(),
                wire_watts: wire_watts.value(),
                lights,
                counts: true,
            };
            strings.push((study, StringTrace { volts, wire_watts, amps, lights: of_lights }));
        }
    }
    if let [(one, _), (two, _)] = strings.as_mut_slice() {
        match control.colour {
            Colour::TwoStrings { channels: Some(Channels::BothFull) } => {}
            // The current splits between the strings, so their joint watts are greatest with all of it in the heavier.
            Colour::TwoStrings { channels: Some(Channels::Share) } => {
                let first_counts = one.watts() >= two.watts();
                (one.counts, two.counts) = (first_counts, !first_counts);
            }
            _ => reasons.push(Reason::ChannelsUnstated(control.id.clone())),
        }
    }
    if !reasons.is_empty() {
        return Err(reasons);
    }
    let counting = strings.iter().filter(|(string, _)| string.counts);
    let watts = counting
        .fold(R::Number::constant(0.0), |sum, (_, trace)| sum + trace.volts.clone() * trace.amps.clone());
    let efficiency = stated(efficiency_percent.get(), Quantity::Percent, "efficiency_percent");
    Ok(Strings { strings, watts: watts / (efficiency / R::Number::constant(100.0)) })
}

/// Ohms of the wire of one string of a loop.
fn wire_ohms<N: Number>(job: &Job, index: &Index, run: &Loop, length: &LoopLength) -> Result<N, Reason> {
    let legs = if run.path == LoopPath::Returned { run.ceiling.len() + 1 } else { run.ceiling.len() };
    let no_length = || {
        if length.legs_exceed_whole {
            Reason::LegsExceedWhole(run.id.clone())
        } else {
            Reason::NoLength(run.id.clone())
        }
    };
    let ticks: Option<i64> = length.legs.iter().take(legs).copied().sum();
    let ticks = ticks.filter(|_| length.legs.len() >= legs).ok_or_else(no_length)?;
    let passes = if run.path == LoopPath::Returned { 1.0 } else { 2.0 };
    let basis = length.whole.map_or(Basis::Estimated, |whole| whole.basis);
    let one: N = conductor_ohms(job, index, (&run.id, &run.cable), (ticks, basis))?;
    let passes = N::input(passes, || {
        Input::new("passes", Quantity::Count, Origin::Job(format!("path of {}", run.id)))
    });
    Ok(one * passes)
}

/// The id of the wall box control, for messages.
pub(super) fn control_id(job: &Job, at: ControlAt) -> Option<&Id> {
    Some(&job.boxes.get(at.wall_box)?.controls.get(at.control)?.id)
}
