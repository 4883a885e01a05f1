//! What a meter should read on a sound cable, as a band that takes in how far everything may be off: the copper, the
//! length, the supply and the meter. Limits are added, so a sound cable within them never reads outside its band.

use super::line::{Line, LineKind, line};
use crate::design::Design;
use crate::job::catalogue::Drive;
use crate::job::site::{Accuracy, End, Figure, Meter, Read, Reading, Test};
use crate::job::wiring::Source;
use crate::job::{Id, Kind, Spot};
use crate::study::Outcome;
use crate::units::Ohms;

/// Least insulation of extra-low voltage circuits, ohms, at 250 V dc: IEC 60364-6 table 6A (BS 7671 table 64 the same).
/// The NEC sets no value (from memory).
pub const LEAST_INSULATION: f64 = 0.5e6;
/// How far a supply's volts may be from its data sheet, as a share. Common practice, no source.
const SUPPLY_OFF: f64 = 0.02;

/// What is expected of a reading.
#[derive(Debug, Clone, PartialEq)]
pub enum Band {
    /// What the meter shows lies between these, its leads included.
    Between {
        /// The least.
        low: f64,
        /// What it is most likely.
        typical: f64,
        /// The most.
        high: f64,
    },
    /// At least so many ohms, or more than the meter shows.
    AtLeast(f64),
    /// It can't be said, for this reason.
    Unknown(&'static str),
}

/// How a reading stands to its band.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Judged {
    /// Nothing was read.
    NotRead,
    /// Within the band.
    AsExpected,
    /// Below it.
    Low,
    /// Above it, or beyond what the meter shows.
    High,
    /// There is no band to hold it against.
    NoBand,
}

impl Judged {
    /// What it is called.
    pub const fn word(self) -> &'static str {
        match self {
            Self::NotRead => "",
            Self::AsExpected => "ok",
            Self::Low => "low",
            Self::High => "high",
            Self::NoBand => "?",
        }
    }
}

/// A test with what is expected and what was read.
#[derive(Debug, Clone, PartialEq)]
pub struct Expected<'a> {
    /// What is to be measured.
    pub test: Test,
    /// What is expected with the meter of the reading, or with the one it will be taken with.
    pub band: Band,
    /// The last reading of it.
    pub reading: Option<&'a Reading>,
    /// How that stands to the band.
    pub judged: Judged,
}

/// How far off a reading with a meter may be: a share of the reading, and ohms, volts or amps beside that. A meter that
/// is not named is taken for a pocket meter of 1 % and 3 counts, of 0.1 ohm or 0.01 V or A: common practice, no source.
pub(super) fn meter_off(meter: Option<&Meter>, test: &Test, typed_digit: f64) -> (f64, f64) {
    let (accuracy, usual): (Option<Accuracy>, f64) = match test.unit() {
        "V" => (meter.and_then(|meter| meter.volts), 0.01),
        "A" => (meter.and_then(|meter| meter.amps), 0.01),
        _ => (meter.and_then(|meter| meter.ohms), 0.1),
    };
    match accuracy {
        Some(accuracy) => (accuracy.percent.get() / 100.0, accuracy.off(0.0, typed_digit).1),
        None => (0.01, 3.0 * usual + usual.max(typed_digit) / 2.0),
    }
}

/// Ohms of the leads that a reading holds.
pub(super) fn leads(meter: Option<&Meter>, test: &Test) -> f64 {
    if test.unit() == "ohm" { meter.and_then(|meter| meter.lead_ohms).map_or(0.0, Ohms::get) } else { 0.0 }
}

/// How readings to come will be taken.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub enum Taking<'a> {
    /// With a meter that somebody says, or does not name, and as warm as somebody says.
    By {
        /// The meter.
        meter: Option<&'a Id>,
        /// How warm the conductors are, in degrees Celsius.
        celsius: Option<f64>,
    },
    /// Nobody says: with the meter of the last reading that names one, or else with the job's first.
    #[default]
    Usual,
}

impl Taking<'_> {
    fn meter<'a>(self, design: &'a Design, line: &Line<'a>, test: &Test) -> Option<&'a Meter> {
        let named = |id: &Id| line.meters.iter().find(|meter| meter.id.same(id));
        match self {
            Self::By { meter, .. } => named(meter?),
            Self::Usual => usual_meter(design, test),
        }
    }
}

/// Whether a meter says how well it reads what a test is read in.
fn reads(meter: &Meter, test: &Test) -> bool {
    match test.unit() {
        "V" => meter.volts.is_some(),
        "A" => meter.amps.is_some(),
        _ => meter.ohms.is_some(),
    }
}

/// The meter that is taken for readings to come where nobody says: that of the last reading that names one, else the
/// job's first; of those that read the unit.
pub fn usual_meter<'a>(design: &'a Design, test: &Test) -> Option<&'a Meter> {
    let meters = &design.job.catalogue.meters;
    let controls = design.job.boxes.iter().flat_map(|wall_box| &wall_box.controls);
    let loops = controls.flat_map(|control| &control.loops).map(|run| &run.readings);
    let feeds = design.job.boxes.iter().flat_map(|wall_box| &wall_box.feeds).map(|feed| &feed.readings);
    let links = design.job.groups.iter().flat_map(|group| &group.links).map(|link| &link.readings);
    let taken = feeds.chain(loops).chain(links).flatten();
    let with = taken.filter_map(|reading| {
        let id = reading.meter.as_ref()?;
        let meter = meters.iter().find(|meter| meter.id.same(id) && reads(meter, test))?;
        Some((reading.by.as_ref().and_then(|by| by.on), meter))
    });
    // Of one day the last in the file.
    let last = with.max_by_key(|(on, _)| *on).map(|(_, meter)| meter);
    last.or_else(|| meters.iter().find(|meter| reads(meter, test)))
}

/// The tests of a cable in the order they are made, each with its band and what was read.
pub fn expected<'a>(design: &'a Design, line: &Line<'a>, taking: Taking<'_>) -> Vec<Expected<'a>> {
    let celsius = match taking {
        Taking::By { celsius: Some(celsius), .. } => celsius,
        _ => line.celsius(),
    };
    let mut tests = usual_tests(design, line);
    // What was read beyond the usual ones stands behind them.
    for reading in line.readings {
        if !tests.contains(&reading.test) {
            tests.push(reading.test.clone());
        }
    }
    let one = |test: Test| {
        let reading = line.readings.iter().rev().find(|reading| reading.test == test);
        let band = match reading {
            Some(reading) => band_of(design, line, reading),
            None => band(design, line, &test, taking.meter(design, line, &test), celsius, 0.0),
        };
        let judged = reading.map_or(Judged::NotRead, |reading| judged(&band, &reading.figure));
        Expected { test, band, reading, judged }
    };
    tests.into_iter().map(one).collect()
}

/// What is usually measured on a cable.
fn usual_tests(design: &Design, line: &Line<'_>) -> Vec<Test> {
    let mut tests = Vec::new();
    // One conductor is read end to end where both ends are at hand, or with a lead that long on a home run.
    if line.returns || line.kind != LineKind::Loop {
        tests.extend(line.conductors().into_iter().map(|name| Test::Conductor(name.to_owned())));
    }
    if line.sides().is_some() {
        tests.push(Test::Across(End::Near));
        tests.push(Test::Joined { at: None, from: End::Near });
        tests.push(Test::Insulation);
        if line.has_ground() {
            tests.push(Test::InsulationToGround);
        }
    }
    match line.kind {
        LineKind::HomeRun => {
            tests.extend([Test::NoLoadVolts, Test::Volts(line.wall_box.id.clone()), Test::AmpsFull]);
        }
        LineKind::Loop if line.settings.site.test_load_ohms.is_some() && drives_volts(design, line) => {
            tests.extend(line.stops.iter().map(|stop| Test::Volts(stop.id.clone())));
        }
        _ => {}
    }
    tests
}

/// What is expected of a reading that was taken, with its meter, as warm as it was.
pub(super) fn band_of(design: &Design, line: &Line<'_>, reading: &Reading) -> Band {
    let celsius = reading.celsius.unwrap_or_else(|| line.celsius());
    band(design, line, &reading.test, line.meter(reading), celsius, reading.figure.digit())
}

/// How a figure stands to its band.
pub fn judged(band: &Band, figure: &Figure) -> Judged {
    match (band, figure.read()) {
        // Nothing can be as expected where nothing could be computed.
        (Band::Unknown(_), _) => Judged::NoBand,
        (Band::AtLeast(least), Read::Value(value) | Read::Over(Some(value))) if value < *least => Judged::Low,
        (Band::Between { low, .. }, Read::Value(value)) if value < *low => Judged::Low,
        (Band::Between { high, .. }, Read::Value(value)) if value > *high => Judged::High,
        (Band::Between { .. }, Read::Over(_)) => Judged::High,
        _ => Judged::AsExpected,
    }
}

fn band(
    design: &Design,
    line: &Line<'_>,
    test: &Test,
    meter: Option<&Meter>,
    celsius: f64,
    typed_digit: f64,
) -> Band {
    let (gain, beside) = meter_off(meter, test, typed_digit);
    let around = |typical: f64, low: f64, high: f64| {
        let leads = leads(meter, test);
        let (low, high) = (low + leads, high + leads);
        let floor = if low >= 0.0 { 0.0 } else { f64::NEG_INFINITY };
        Band::Between {
            low: (low - low.abs() * gain - beside).max(floor),
            typical: typical + leads,
            high: high + high.abs() * gain + beside,
        }
    };
    let ohms = |ohms: Option<f64>, share: f64| match ohms {
        Some(ohms) => {
            let (typical, off) =
                (ohms * share, line.settings.site.copper_percent.get() / 100.0 + line.length_off());
            around(typical, typical * (1.0 - off), typical * (1.0 + off))
        }
        None => Band::Unknown("gauge or length is not known"),
    };
    match test {
        Test::Conductor(_) => ohms(line.conductor_ohms(celsius), 1.0),
        Test::Joined { at: None, .. } => ohms(line.pair_ohms(celsius), 1.0),
        Test::Joined { at: Some(at), from } => match line.stop(at) {
            None => Band::Unknown("that box is not on this cable"),
            Some((_, stop)) => match stop.share {
                None => Band::Unknown("a length on the way is not known"),
                Some(share) => {
                    let share = if *from == End::Near { share } else { 1.0 - share };
                    let pair = line.pair_ohms(celsius);
                    let (low, high) = ((share - stop.share_off).max(0.0), share + stop.share_off);
                    match (ohms(pair, low), ohms(pair, share), ohms(pair, high)) {
                        (
                            Band::Between { low, .. },
                            Band::Between { typical, .. },
                            Band::Between { high, .. },
                        ) => Band::Between { low, typical, high },
                        (unknown, ..) => unknown,
                    }
                }
            },
        },
        Test::Across(_) | Test::Insulation | Test::InsulationToGround => Band::AtLeast(LEAST_INSULATION),
        Test::NoLoadVolts => match source_volts(design, line, false) {
            Some((low, typical, high)) => around(typical, low, high),
            None => Band::Unknown("it is on no output yet"),
        },
        Test::Volts(at) => loaded_volts(design, line, at, celsius)
            .map_or_else(Band::Unknown, |(low, typical, high)| around(typical, low, high)),
        Test::AmpsFull => full_amps(design, line)
            .map_or_else(Band::Unknown, |(low, typical, high)| around(typical, low, high)),
        Test::Battery(..) => Band::Unknown("its sign tells, not its size"),
    }
}

/// Whether the loop's control puts the home run's volts on it at full level.
fn drives_volts(design: &Design, line: &Line<'_>) -> bool {
    let Some(Spot::Loop { wall_box, control, .. }) = design.index.spot(Kind::Cable, line.id) else {
        return false;
    };
    let control = design.job.boxes.get(wall_box).and_then(|wall_box| wall_box.controls.get(control));
    let part = control.and_then(|control| design.index.control_type(&design.job, &control.part));
    part.is_some_and(|part| matches!(part.drive, Drive::Voltage))
}

/// The feeds from a wall box back to the output, the nearest first.
pub(super) fn feeds_back<'a>(design: &'a Design, feed: &Id) -> Vec<Line<'a>> {
    let mut way: Vec<Line<'a>> = Vec::new();
    let mut next = Some(feed.clone());
    while let Some(id) = next.take() {
        if way.iter().any(|line| line.id.same(&id)) {
            break; // a circle, which reading refuses
        }
        let Some(found) = line(design, &id) else { break };
        way.push(found);
        if let Some((_, feed)) = design.index.feed(&design.job, &id)
            && let Source::Onward(from) = &feed.from
        {
            next = Some(from.clone());
        }
    }
    way
}

/// The feed of a cable: itself, or of a loop the one its control is on.
pub(super) fn feed_of<'a>(design: &'a Design, line: &Line<'a>) -> Option<&'a Id> {
    match design.index.spot(Kind::Cable, line.id)? {
        Spot::Feed { wall_box, feed } => Some(&design.job.boxes.get(wall_box)?.feeds.get(feed)?.id),
        Spot::Loop { wall_box, control, .. } => {
            let wall_box = design.job.boxes.get(wall_box)?;
            let on = wall_box.controls.get(control)?.on.as_ref();
            match (on, wall_box.feeds.as_slice()) {
                (Some(on), feeds) => feeds.iter().find(|feed| feed.id.same(on)).map(|feed| &feed.id),
                (None, [only]) => Some(&only.id),
                _ => None,
            }
        }
        _ => None,
    }
}

/// Volts of the output a cable hangs on: least, likely and most. A no-load reading of the home run beats the data sheet.
fn source_volts(design: &Design, line: &Line<'_>, measured: bool) -> Option<(f64, f64, f64)> {
    let way = feeds_back(design, feed_of(design, line)?);
    let home = way.last()?;
    let (_, feed) = design.index.feed(&design.job, home.id)?;
    let Source::Output(output) = &feed.from else { return None };
    if measured
        && let Some(reading) = home.readings.iter().rev().find(|r| r.test == Test::NoLoadVolts)
        && let Some(volts) = reading.figure.value().filter(|volts| *volts > 0.0)
    {
        let (gain, beside) = meter_off(home.meter(reading), &reading.test, reading.figure.digit());
        let off = volts * gain + beside;
        return Some((volts - off, volts, volts + off));
    }
    let (_, supply) = design.index.supply(&design.job, &output.supply)?;
    let part = design.index.supply_type(&design.job, &supply.part)?;
    let volts = part.volts.get();
    let no_load = part.no_load_volts.map_or(volts, crate::units::Volts::get);
    Some((volts.min(no_load) * (1.0 - SUPPLY_OFF), no_load, volts.max(no_load) * (1.0 + SUPPLY_OFF)))
}

/// Volts across the test load at a box with nothing else on.
fn loaded_volts(
    design: &Design,
    line: &Line<'_>,
    at: &Id,
    celsius: f64,
) -> Result<(f64, f64, f64), &'static str> {
    let load = line.settings.site.test_load_ohms.ok_or("the settings name no test load")?.get();
    if line.kind == LineKind::Loop && !drives_volts(design, line) {
        return Err("its control drives current, so its volts are not steady");
    }
    let (low, typical, high) = source_volts(design, line, true).ok_or("it is on no output yet")?;
    let mut way = feeds_back(design, feed_of(design, line).ok_or("which feed it is on is not said")?);
    let mut share = 1.0;
    if line.kind == LineKind::Loop {
        let (_, stop) = line.stop(at).ok_or("that box is not on this cable")?;
        share = stop.share.ok_or("a length on the way is not known")? + stop.share_off;
        way.push(line.clone());
    } else if !at.same(&line.wall_box.id) {
        return Err("that box is not on this cable");
    }
    let (mut least, mut likely, mut most) = (0.0, 0.0, 0.0);
    for cable in &way {
        let part = if cable.id.same(line.id) && line.kind == LineKind::Loop { share } else { 1.0 };
        let ohms = cable.pair_ohms(celsius).ok_or("gauge or length is not known")? * part;
        let off = cable.settings.site.copper_percent.get() / 100.0 + cable.length_off();
        least += ohms * (1.0 - off).max(0.0);
        likely += ohms;
        most += ohms * (1.0 + off);
    }
    let across = |volts: f64, ohms: f64| volts * load / (load + ohms);
    Ok((across(low, most), across(typical, likely), across(high, least)))
}

/// Amps of a home run with everything full, as the study has them.
fn full_amps(design: &Design, line: &Line<'_>) -> Result<(f64, f64, f64), &'static str> {
    let run = design.network.run(line.id).ok_or("it is no home run")?;
    let study = design.study.run(&design.network, run).ok_or("it was not studied")?;
    let part = design.network.runs.get(run).and_then(|run| design.study.parts.get(run.part));
    if part.is_some_and(|part| part.open.is_some()) {
        return Err("what hangs on it is still open");
    }
    let amps = study.source_amps.filter(|_| study.outcome == Outcome::Solved);
    let amps = amps.ok_or("the study has no amps for it")?;
    let off = line.settings.site.load_percent.get() / 100.0;
    Ok((amps * (1.0 - off), amps, amps * (1.0 + off)))
}
