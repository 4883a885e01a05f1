//! A cable as a meter sees it: its conductors, how long it is, and the boxes along it.

use crate::design::Design;
use crate::job::catalogue::{CableType, ConductorPlan, Function, Metal};
use crate::job::site::{CableRecord, Meter, Reading, Splice};
use crate::job::wiring::{Feed, Link, Loop, Source, WallBox};
use crate::job::{Id, Kind, Settings, Spot};
use crate::network::{Basis, CableLength, Lengths};
use crate::standards::conductor::ohms_per_metre;
use crate::units::Length;

/// How far foot marks may be off, in percent of what lies between them. Common practice, no source.
const MARKS_PERCENT: f64 = 1.0;
/// And how far each of a cable's ends may be from where its mark is read, both together, in metres: a foot.
const MARKS_METRES: f64 = 0.3048;

/// What a cable is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum LineKind {
    /// From a panel to a wall box.
    HomeRun,
    /// From a wall box to another.
    Onward,
    /// From a wall box through ceiling boxes.
    Loop,
    /// Between two controls of a group.
    Link,
}

/// A ceiling box along a loop.
#[derive(Debug, Clone, PartialEq)]
pub struct Stop {
    /// The box.
    pub id: Id,
    /// How far along the cable it is, as a share of the whole; none while a leg is unknown.
    pub share: Option<f64>,
    /// How far that share may be off, a limit.
    pub share_off: f64,
    /// Whether readings go through it.
    pub splice: Splice,
}

/// A cable with all that readings of it are held against.
#[derive(Debug, Clone)]
pub struct Line<'a> {
    /// Its id.
    pub id: &'a Id,
    /// What it is.
    pub kind: LineKind,
    /// The wall box it goes to, or that a loop leaves from; of a link the one it leaves from.
    pub wall_box: &'a WallBox,
    /// Its type.
    pub cable: Option<&'a CableType>,
    /// What its conductors do.
    pub plan: Option<&'a ConductorPlan>,
    /// Its length and how that is known.
    pub length: Option<CableLength>,
    /// Its ceiling boxes.
    pub stops: Vec<Stop>,
    /// Whether it comes back to where it starts, so that both ends are at hand in one box.
    pub returns: bool,
    /// What happened to it on site.
    pub site: &'a CableRecord,
    /// What was read on it.
    pub readings: &'a [Reading],
    /// What readings are held against.
    pub settings: &'a Settings,
    /// The meters of the job.
    pub meters: &'a [Meter],
}

impl Line<'_> {
    /// Metres of it.
    pub fn metres(&self) -> Option<f64> {
        self.length.map(|length| length.length.metres())
    }

    /// How far its length may be off, as a share of it, a limit.
    pub fn length_off(&self) -> f64 {
        match self.length {
            Some(CableLength { basis: Basis::Estimated, .. }) | None => {
                self.settings.site.estimate_percent.get() / 100.0
            }
            Some(CableLength { length, .. }) => {
                MARKS_PERCENT / 100.0 + MARKS_METRES / length.metres().max(MARKS_METRES)
            }
        }
    }

    /// How warm it is while it is tested, where a reading does not say.
    pub const fn celsius(&self) -> f64 {
        self.settings.site.celsius.get()
    }

    /// Ohms of a metre of one conductor, by the tables; none for what they don't hold.
    pub fn ohms_per_metre(&self, celsius: f64) -> Option<f64> {
        let cable = self.cable.filter(|cable| cable.metal == Metal::Copper)?;
        ohms_per_metre(cable.gauge.get(), cable.stranding, celsius)
    }

    /// Ohms of one conductor end to end.
    pub fn conductor_ohms(&self, celsius: f64) -> Option<f64> {
        Some(self.ohms_per_metre(celsius)? * self.metres()?)
    }

    /// How many conductors make each side of the pair that is tested: plus and minus, both strings, or two of a signal.
    /// Those of one side are twisted together while the pair is read.
    pub fn sides(&self) -> Option<(usize, usize)> {
        let plan = self.plan?;
        let of = |function| plan.count(function);
        let pairs = [
            (of(Function::Positive), of(Function::Negative)),
            (of(Function::FirstString), of(Function::SecondString)),
            (of(Function::Signal).min(1), of(Function::Signal).saturating_sub(1).min(1)),
        ];
        pairs.into_iter().find(|(one, other)| *one > 0 && *other > 0)
    }

    /// The pair out and back as a multiple of one conductor.
    pub fn pair_factor(&self) -> Option<f64> {
        let (one, other) = self.sides()?;
        #[expect(clippy::cast_precision_loss, reason = "a count of conductors is small")]
        Some(1.0 / one as f64 + 1.0 / other as f64)
    }

    /// Ohms of the pair out and back.
    pub fn pair_ohms(&self, celsius: f64) -> Option<f64> {
        Some(self.conductor_ohms(celsius)? * self.pair_factor()?)
    }

    /// The marks of its conductors that carry something, in the order they are landed.
    pub fn conductors(&self) -> Vec<&str> {
        let used = self.plan.iter().flat_map(|plan| &plan.conductors);
        used.filter(|conductor| conductor.function != Function::Spare)
            .map(|conductor| conductor.name.as_str())
            .collect()
    }

    /// Whether it has a ground conductor, which is bonded somewhere.
    pub fn has_ground(&self) -> bool {
        self.plan.is_some_and(|plan| plan.count(Function::Ground) > 0)
    }

    /// Its ceiling boxes that lie between its ends: the last box of a loop that does not return is its far end.
    pub fn between(&self) -> usize {
        if self.returns { self.stops.len() } else { self.stops.len().saturating_sub(1) }
    }

    /// The stop of that box.
    pub fn stop(&self, id: &Id) -> Option<(usize, &Stop)> {
        self.stops.iter().enumerate().find(|(_, stop)| stop.id.same(id))
    }

    /// The meter a reading was taken with.
    pub fn meter(&self, reading: &Reading) -> Option<&Meter> {
        let id = reading.meter.as_ref()?;
        self.meters.iter().find(|meter| meter.id.same(id))
    }
}

/// Every cable in pull order: feeds, loops, links.
pub fn lines(design: &Design) -> Vec<Line<'_>> {
    let job = &design.job;
    let feeds = job
        .boxes
        .iter()
        .flat_map(|wall_box| wall_box.feeds.iter().map(move |feed| of_feed(design, wall_box, feed)));
    let loops = job.boxes.iter().flat_map(|wall_box| {
        let loops = wall_box.controls.iter().flat_map(|control| &control.loops);
        loops.map(move |run| of_loop(design, wall_box, run))
    });
    let links = job.groups.iter().flat_map(|group| &group.links);
    feeds.chain(loops).chain(links.filter_map(|link| of_link(design, link))).collect()
}

/// The cable of that id.
pub fn line<'a>(design: &'a Design, id: &Id) -> Option<Line<'a>> {
    let job = &design.job;
    match design.index.spot(Kind::Cable, id)? {
        Spot::Feed { wall_box, feed } => {
            let wall_box = job.boxes.get(wall_box)?;
            Some(of_feed(design, wall_box, wall_box.feeds.get(feed)?))
        }
        Spot::Loop { wall_box, control, at } => {
            let wall_box = job.boxes.get(wall_box)?;
            Some(of_loop(design, wall_box, wall_box.controls.get(control)?.loops.get(at)?))
        }
        Spot::Link { group, link } => of_link(design, job.groups.get(group)?.links.get(link)?),
        _ => None,
    }
}

#[derive(Clone, Copy)]
struct Made<'a> {
    id: &'a Id,
    kind: LineKind,
    cable: &'a Id,
    plan: Option<&'a Id>,
    length: Option<CableLength>,
    site: &'a CableRecord,
    readings: &'a [Reading],
}

fn made<'a>(design: &'a Design, wall_box: &'a WallBox, of: Made<'a>) -> Line<'a> {
    let job = &design.job;
    let cable = design.index.cable_type(job, of.cable);
    let plan = of.plan.or(cable.map(|cable| &cable.plan)).and_then(|plan| design.index.plan(job, plan));
    Line {
        id: of.id,
        kind: of.kind,
        wall_box,
        cable,
        plan,
        length: of.length,
        stops: Vec::new(),
        returns: false,
        site: of.site,
        readings: of.readings,
        settings: &job.settings,
        meters: &job.catalogue.meters,
    }
}

fn of_feed<'a>(design: &'a Design, wall_box: &'a WallBox, feed: &'a Feed) -> Line<'a> {
    let onward = matches!(feed.from, Source::Onward(_));
    let of = Made {
        id: &feed.id,
        kind: if onward { LineKind::Onward } else { LineKind::HomeRun },
        cable: &feed.cable,
        plan: feed.plan.as_ref(),
        length: Lengths::new(&design.job, &design.index).feed(wall_box, feed),
        site: &feed.site,
        readings: &feed.readings,
    };
    made(design, wall_box, of)
}

fn of_loop<'a>(design: &'a Design, wall_box: &'a WallBox, run: &'a Loop) -> Line<'a> {
    let lengths = Lengths::new(&design.job, &design.index).wired_loop(wall_box, run);
    let of = Made {
        id: &run.id,
        kind: LineKind::Loop,
        cable: &run.cable,
        plan: run.plan.as_ref(),
        length: lengths.whole,
        site: &run.site,
        readings: &run.readings,
    };
    let mut line = made(design, wall_box, of);
    let whole: Option<i64> = lengths.legs.iter().copied().sum();
    let off = design.job.settings.site.estimate_percent.get() / 100.0;
    let mut along = Some(0);
    let mut measured = true;
    for (leg, ceiling) in lengths.legs.iter().zip(&run.ceiling) {
        along = along.zip(*leg).map(|(along, leg)| along + leg);
        measured &= ceiling.leg.is_some();
        let share =
            along.zip(whole.filter(|whole| *whole > 0)).map(|(along, whole)| metres(along) / metres(whole));
        // Both ends of the cable are certain, so what is estimated is most uncertain in its middle.
        let nearer = share.map_or(1.0, |share| share.min(1.0 - share).max(0.0));
        let share_off = if measured { MARKS_PERCENT / 100.0 } else { nearer * off };
        line.stops.push(Stop { id: ceiling.id.clone(), share, share_off, splice: ceiling.site.splice });
    }
    line.returns = run.path.returns();
    line
}

fn metres(ticks: i64) -> f64 {
    Length::from_ticks(ticks, crate::units::LengthUnit::Metres).metres()
}

fn of_link<'a>(design: &'a Design, link: &'a Link) -> Option<Line<'a>> {
    let (wall_box, _) = design.index.control(&design.job, &link.from)?;
    let of = Made {
        id: &link.id,
        kind: LineKind::Link,
        cable: &link.cable,
        plan: link.plan.as_ref(),
        length: Lengths::new(&design.job, &design.index).link(link),
        site: &link.site,
        readings: &link.readings,
    };
    Some(made(design, wall_box, of))
}
