//! What the readings of a cable tell of it, and what they can't.

use super::bridge::{Cable, Observed, Place, Where, place};
use super::expect::{Band, Judged, LEAST_INSULATION, band_of, judged, leads, meter_off};
use super::line::{Line, LineKind};
use super::open::{Bracket, bracket};
use crate::design::Design;
use crate::job::Id;
use crate::job::site::{End, Read, Reading, Side, Splice, Test};

/// A residual beyond so many standard deviations of an even spread can't be the meter's doing: its limit lies at 1.73.
const TOO_FAR: f64 = 2.5;

/// What is wrong with a cable.
#[derive(Debug, Clone, PartialEq)]
pub enum Fault {
    /// It is open somewhere in between.
    Open {
        /// The conductors that were read open by themselves; none if only the pair was.
        conductors: Vec<String>,
        /// Where.
        bracket: Bracket,
    },
    /// Something joins the two sides of the pair.
    Bridged {
        /// Where, with the bridge's ohms; none without readings from both ends.
        place: Option<Place>,
        /// Without a place: the most metres from the end it was read at.
        within: Option<(End, f64)>,
        /// The legs of the cable that it may be in, from 0.
        legs: Vec<usize>,
    },
    /// Insulation is low, but too high for a place to be found by ohms.
    Leak {
        /// The ohms that were read.
        ohms: f64,
        /// To ground rather than across the pair.
        to_ground: bool,
    },
    /// Plus and minus change places between two points of the loop.
    Crossed {
        /// The last box at which they stood right; none for the near end.
        after: Option<Id>,
        /// The first at which they were exchanged.
        before: Id,
    },
    /// IN and OUT of a box are exchanged.
    Exchanged {
        /// The box.
        at: Id,
    },
    /// A home run comes with plus and minus exchanged.
    Reversed,
    /// A figure is beyond its band.
    Beyond {
        /// What was measured.
        test: Test,
        /// Above or below.
        judged: Judged,
    },
}

/// What the readings come to.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Verdict {
    /// Nothing was read.
    NotRead,
    /// What was read is as expected, but does not tell whether it is continuous and not bridged.
    Partly,
    /// Continuous, not bridged. Never more than that.
    Sound,
    /// Something is not as expected.
    Odd,
    /// Open, bridged, crossed or leaking.
    Damaged,
}

impl Verdict {
    /// The verdict in words.
    pub const fn word(self) -> &'static str {
        match self {
            Self::NotRead => "not read",
            Self::Partly => "as expected so far",
            Self::Sound => "continuous, not bridged",
            Self::Odd => "not as expected",
            Self::Damaged => "damaged",
        }
    }
}

/// What is known of a cable from its readings.
#[derive(Debug, Clone, PartialEq)]
pub struct Diagnosis {
    /// In short.
    pub verdict: Verdict,
    /// What is wrong.
    pub faults: Vec<Fault>,
    /// Readings that contradict others.
    pub inconsistent: Vec<Test>,
    /// Readings that say nothing, each with the reason.
    pub mute: Vec<(Test, &'static str)>,
    /// Whether the copper was read through from end to end.
    pub continuous: bool,
    /// Whether the two sides were read as apart.
    pub apart: bool,
}

/// Tells what the readings of a cable say.
pub fn diagnose(design: &Design, line: &Line<'_>) -> Diagnosis {
    let mut said = Diagnosis {
        verdict: Verdict::NotRead,
        faults: Vec::new(),
        inconsistent: Vec::new(),
        mute: Vec::new(),
        continuous: false,
        apart: false,
    };
    let readings = telling(line, &mut said);
    said.inconsistent.extend(repeated(line, &readings));
    open(line, &readings, &mut said);
    bridged(line, &readings, &mut said);
    leaks(&readings, &mut said);
    battery(line, &readings, &mut said);
    said.continuous = continuous(line, &readings);
    said.apart = readings.iter().any(|reading| is_apart(reading));
    beyond(design, line, &readings, &mut said);
    said.verdict = verdict(line, &said);
    said
}

fn verdict(line: &Line<'_>, said: &Diagnosis) -> Verdict {
    let damage = |fault: &Fault| !matches!(fault, Fault::Beyond { .. });
    if said.faults.iter().any(damage) {
        Verdict::Damaged
    } else if !said.faults.is_empty() || !said.inconsistent.is_empty() {
        Verdict::Odd
    } else if said.continuous && said.apart {
        Verdict::Sound
    } else if line.readings.is_empty() {
        Verdict::NotRead
    } else {
        Verdict::Partly
    }
}

/// Leaves out readings that can't tell anything, since a box on their way is cut or has its fixture on.
fn telling<'a>(line: &Line<'a>, said: &mut Diagnosis) -> Vec<&'a Reading> {
    let cut = line.stops.iter().position(|stop| stop.splice == Splice::Cut);
    let last_cut = line.stops.iter().rposition(|stop| stop.splice == Splice::Cut);
    let fixtures = line.stops.iter().any(|stop| stop.splice == Splice::FixtureOn);
    let mut kept = Vec::new();
    for reading in line.readings {
        let stopped = match &reading.test {
            Test::Conductor(_) | Test::Joined { at: None, .. } => cut.is_some(),
            Test::Joined { at: Some(id), from } => match (line.stop(id), cut, last_cut) {
                (None, ..) => {
                    said.mute.push((reading.test.clone(), "that box is not on this cable"));
                    continue;
                }
                // Joined on the tail that comes from the meter, a cut box itself is reached.
                (Some((at, _)), Some(first), Some(last)) => match from {
                    End::Near => at > first,
                    End::Far => at < last,
                },
                _ => false,
            },
            _ => false,
        };
        let through_fixtures =
            fixtures && reading.test.unit() == "ohm" && !matches!(reading.test, Test::Conductor(_));
        if through_fixtures {
            said.mute.push((reading.test.clone(), "fixtures are on: the meter reads through them too"));
        } else if stopped && reading.figure.is_over() {
            said.mute.push((reading.test.clone(), "a box on the way is cut: splice it through first"));
        } else {
            if stopped {
                // It went through a box that is said to be cut.
                said.inconsistent.push(reading.test.clone());
            }
            kept.push(reading);
        }
    }
    kept
}

/// Tests that were made more than once with figures that no meter's error explains.
fn repeated(line: &Line<'_>, readings: &[&Reading]) -> Vec<Test> {
    let mut found = Vec::new();
    for (nth, reading) in readings.iter().enumerate() {
        for other in readings.iter().skip(nth + 1).filter(|other| other.test == reading.test) {
            let written = |reading: &Reading| reading.figure.read() != Read::AsExpected;
            if !written(reading) || !written(other) {
                continue;
            }
            let apart = match (reading.figure.value(), other.figure.value()) {
                (Some(one), Some(two)) => {
                    let off = |reading: &Reading, value: f64| {
                        let (gain, beside) =
                            meter_off(line.meter(reading), &reading.test, reading.figure.digit());
                        gain * value.abs() + beside
                    };
                    let leads =
                        leads(line.meter(reading), &reading.test) - leads(line.meter(other), &other.test);
                    (one - two - leads).abs() > off(reading, one) + off(other, two)
                }
                (None, None) => false,
                // Above a megohm a value and 'over' say the same.
                (Some(value), None) | (None, Some(value)) => value < LEAST_INSULATION,
            };
            if apart && !found.contains(&reading.test) {
                found.push(reading.test.clone());
            }
        }
    }
    found
}

fn open(line: &Line<'_>, readings: &[&Reading], said: &mut Diagnosis) {
    let Some(bracket) = bracket(line, readings) else { return };
    let conductors = readings
        .iter()
        .filter(|reading| reading.figure.is_over())
        .filter_map(|reading| match &reading.test {
            Test::Conductor(name) => Some(name.clone()),
            _ => None,
        })
        .collect();
    said.inconsistent.extend(bracket.against.iter().cloned());
    said.faults.push(Fault::Open { conductors, bracket });
}

/// Whether a reading shows the two sides apart.
fn is_apart(reading: &Reading) -> bool {
    let parted = matches!(reading.test, Test::Across(_) | Test::Insulation);
    parted && judged(&Band::AtLeast(LEAST_INSULATION), &reading.figure) == Judged::AsExpected
}

/// Whether every side was read through from end to end.
fn continuous(line: &Line<'_>, readings: &[&Reading]) -> bool {
    let through = |test: &Test| readings.iter().any(|r| r.test == *test && !r.figure.is_over());
    let pair = [End::Near, End::Far].into_iter().any(|from| through(&Test::Joined { at: None, from }));
    let doubled = line.sides().is_some_and(|(one, other)| one + other > 2);
    let each = line.conductors().iter().all(|name| through(&Test::Conductor((*name).to_owned())));
    // Of doubled conductors one may be open and the pair still read through.
    (each && !line.conductors().is_empty()) || (pair && !doubled)
}

/// Ohms across the pair that are far from open: something joins its two sides.
fn bridged(line: &Line<'_>, readings: &[&Reading], said: &mut Diagnosis) {
    let across: Vec<(End, f64)> = readings
        .iter()
        .filter_map(|reading| match reading.test {
            Test::Across(end) => Some((end, reading.figure.value()?)),
            _ => None,
        })
        .filter(|(_, ohms)| *ohms < LEAST_INSULATION)
        .collect();
    let Some(&(end, _)) = across.first() else { return };
    let Some((cable, seen)) = observed(line, readings) else {
        said.faults.push(Fault::Bridged { place: None, within: None, legs: Vec::new() });
        return;
    };
    let pair = cable.conductor_ohms * cable.pair_factor;
    let lowest = across.iter().map(|(_, ohms)| *ohms).fold(f64::INFINITY, f64::min);
    // So far above the wire's own ohms the wire no longer shows, and nothing can be placed.
    if lowest > 100.0 * pair.max(1.0) {
        said.faults.push(Fault::Leak { ohms: lowest, to_ground: false });
        return;
    }
    let found = place(&cable, &seen).filter(|place| {
        let low = place.share + place.share_off;
        let high = place.share - place.share_off;
        low >= 0.0 && high <= 1.0
    });
    if let Some(found) = &found {
        let odd = seen
            .iter()
            .zip(&found.residuals)
            .zip(readings_of(readings))
            .filter(|((_, r), _)| r.abs() > TOO_FAR);
        said.inconsistent.extend(odd.map(|(_, reading)| reading.test.clone()));
    }
    let within = match &found {
        Some(_) => None,
        None => within(line, &cable, &seen, end),
    };
    let legs = found.as_ref().map_or_else(Vec::new, |place| legs(line, place));
    said.faults.push(Fault::Bridged { place: found, within, legs });
}

/// The readings that [`observed`] takes, in its order.
fn readings_of<'a>(readings: &'a [&'a Reading]) -> impl Iterator<Item = &'a Reading> {
    readings.iter().copied().filter(|reading| reading.figure.value().is_some() && fits_bridge(&reading.test))
}

const fn fits_bridge(test: &Test) -> bool {
    matches!(test, Test::Conductor(_) | Test::Across(_) | Test::Joined { .. })
}

/// The readings of ohms as the fit takes them. `None` where gauge or length are not known.
fn observed(line: &Line<'_>, readings: &[&Reading]) -> Option<(Cable, Vec<Observed>)> {
    let cable = Cable {
        conductor_ohms: line.conductor_ohms(line.celsius())?,
        pair_factor: line.pair_factor()?,
        copper_off: line.settings.site.copper_percent.get() / 100.0,
        metres: line.metres()?,
        length_off: line.length_off(),
    };
    let mut meters: Vec<Option<&Id>> = Vec::new();
    let mut seen = Vec::new();
    for reading in readings_of(readings) {
        let of = match &reading.test {
            Test::Conductor(_) => Where::Conductor,
            Test::Across(end) => Where::Across(*end),
            Test::Joined { at: None, from: End::Near } => Where::Joined { from: End::Near, at: 1.0 },
            Test::Joined { at: None, from: End::Far } => Where::Joined { from: End::Far, at: 0.0 },
            Test::Joined { at: Some(id), from } => match line.stop(id).and_then(|(_, stop)| stop.share) {
                Some(at) => Where::Joined { from: *from, at },
                None => continue,
            },
            _ => continue,
        };
        let meter = line.meter(reading);
        let (gain_off, ohms_off) = meter_off(meter, &reading.test, reading.figure.digit());
        let id = meter.map(|meter| &meter.id);
        let number = meters.iter().position(|other| *other == id).unwrap_or_else(|| {
            meters.push(id);
            meters.len() - 1
        });
        let warm = line.ohms_per_metre(reading.celsius.unwrap_or_else(|| line.celsius()))?;
        seen.push(Observed {
            of,
            ohms: reading.figure.value()? - leads(meter, &reading.test),
            gain_off,
            meter: number,
            ohms_off,
            warmth: warm / line.ohms_per_metre(line.celsius())?,
        });
    }
    Some((cable, seen))
}

/// Read at one end alone, a bridge lies no farther than all of its ohms in the cable would reach.
fn within(line: &Line<'_>, cable: &Cable, seen: &[Observed], end: End) -> Option<(End, f64)> {
    let least = seen
        .iter()
        .filter(|one| one.of == Where::Across(end))
        .map(|one| one.ohms * (1.0 + one.gain_off) + one.ohms_off)
        .reduce(f64::min)?;
    let per_metre = cable.conductor_ohms * cable.pair_factor / cable.metres * (1.0 - cable.copper_off);
    let reach = (least / per_metre).min(line.metres()? * (1.0 + cable.length_off));
    reach.is_finite().then_some((end, reach.max(0.0)))
}

/// The legs that a place may be in, with the doubt about where the boxes are.
fn legs(line: &Line<'_>, place: &Place) -> Vec<usize> {
    let (low, high) = (place.share - place.share_off, place.share + place.share_off);
    let point = |nth: usize| line.stops.get(nth).map(|stop| (stop.share, stop.share_off));
    let count = if line.returns || line.stops.is_empty() { line.stops.len() + 1 } else { line.stops.len() };
    (0..count)
        .filter(|&leg| {
            let starts = match leg.checked_sub(1).and_then(point) {
                None => 0.0,
                Some((share, off)) => share.map_or(0.0, |share| share - off),
            };
            let ends = match point(leg) {
                None => 1.0,
                Some((share, off)) => share.map_or(1.0, |share| share + off),
            };
            low <= ends && high >= starts
        })
        .collect()
}

fn leaks(readings: &[&Reading], said: &mut Diagnosis) {
    for reading in readings {
        let to_ground = match reading.test {
            Test::InsulationToGround => true,
            Test::Insulation => false,
            _ => continue,
        };
        let low = judged(&Band::AtLeast(LEAST_INSULATION), &reading.figure) == Judged::Low;
        let known = said.faults.iter().any(|fault| matches!(fault, Fault::Bridged { .. })) && !to_ground;
        if let (true, false, Some(ohms)) = (low, known, reading.figure.value()) {
            said.faults.push(Fault::Leak { ohms, to_ground });
        }
    }
}

/// Plus on plus at the near end: a sign that changes shows a crossing, volts on OUT alone an exchange.
fn battery(line: &Line<'_>, readings: &[&Reading], said: &mut Diagnosis) {
    let found = |id: &Id, side: Side| {
        let test = Test::Battery(id.clone(), side);
        readings.iter().rev().find(|reading| reading.test == test).and_then(|reading| reading.figure.value())
    };
    let mut right: Option<Id> = None;
    let mut crossed = false;
    for stop in &line.stops {
        let (into, out) = (found(&stop.id, Side::In), found(&stop.id, Side::Out));
        // Half a volt is more than a meter's doubt and less than any battery.
        let dead = |volts: Option<f64>| volts.is_some_and(|volts| volts.abs() < 0.5);
        let shows = |volts: Option<f64>| volts.filter(|volts| volts.abs() >= 0.5);
        if stop.splice == Splice::Cut && dead(into) && shows(out).is_some() {
            said.faults.push(Fault::Exchanged { at: stop.id.clone() });
        }
        let Some(volts) = shows(into).or_else(|| shows(out)) else { continue };
        if (volts < 0.0) != crossed {
            crossed = !crossed;
            said.faults.push(Fault::Crossed { after: right.clone(), before: stop.id.clone() });
        }
        right = Some(stop.id.clone());
    }
    if line.kind == LineKind::HomeRun {
        let volts = readings.iter().rev().find(|reading| reading.test == Test::NoLoadVolts);
        if volts.and_then(|reading| reading.figure.value()).is_some_and(|volts| volts < -0.5) {
            said.faults.push(Fault::Reversed);
        }
    }
}

/// Figures outside their bands, where nothing worse explains them.
fn beyond(design: &Design, line: &Line<'_>, readings: &[&Reading], said: &mut Diagnosis) {
    let open = said.faults.iter().any(|fault| matches!(fault, Fault::Open { .. }));
    let bridged = said.faults.iter().any(|fault| matches!(fault, Fault::Bridged { .. }));
    let reversed = said.faults.contains(&Fault::Reversed);
    for reading in readings {
        let explained = match reading.test {
            Test::Across(_) | Test::Insulation | Test::InsulationToGround | Test::Battery(..) => true,
            Test::Conductor(_) => reading.figure.is_over() && open,
            Test::Joined { .. } => (reading.figure.is_over() && open) || bridged,
            Test::NoLoadVolts => reversed,
            Test::Volts(_) | Test::AmpsFull => false,
        };
        let stands = judged(&band_of(design, line, reading), &reading.figure);
        if !explained && matches!(stands, Judged::Low | Judged::High) {
            said.faults.push(Fault::Beyond { test: reading.test.clone(), judged: stands });
        }
    }
}
