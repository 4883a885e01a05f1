//! Lengths of cables: pulled where the foot marks of the jacket were read, measured where somebody measured, else estimated from places.
//!
//! An estimate is a rectilinear route (across, along, up and down), plus the job's allowance in percent, plus the
//! make-up left at each end and in each ceiling box. It is rounded up once, at the end, to a whole inch or centimetre.
//! A cable between two wall boxes, or from a panel, goes up to the ceiling of the lower of its two levels and down.

use crate::job::house::{Level, Place, Room};
use crate::job::site::CableRecord;
use crate::job::wiring::{CeilingBox, Feed, Link, Loop, Source, WallBox};
use crate::job::{Id, Index, Job, Kind, Spot};
use crate::units::Length;

/// How a length is known.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Basis {
    /// It is the difference of the foot marks of the cable that was pulled; no allowance is in it.
    Pulled,
    /// Somebody measured it.
    Measured,
    /// It is reckoned from places.
    Estimated,
}

/// The length of a cable and how it is known.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct CableLength {
    /// The whole cable, make-up included.
    pub length: Length,
    /// Measured or estimated.
    pub basis: Basis,
}

/// The lengths of a loop: the whole cable and its legs.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct LoopLength {
    /// The whole cable, if it is known.
    pub whole: Option<CableLength>,
    /// Each leg in ticks of 100 nm: to each ceiling box from the one before, then the return if there is one.
    pub legs: Vec<Option<i64>>,
    /// The legs that were measured come to more than the whole that was measured.
    pub legs_exceed_whole: bool,
}

/// A place in the house in ticks of 100 nm, with the height at which cable runs there.
#[derive(Debug, Clone, Copy)]
struct Station<'a> {
    level: &'a Level,
    x: i64,
    y: i64,
    z: Option<i64>,
    ceiling: Option<i64>,
}

/// Reckons lengths for one job.
#[derive(Debug, Clone, Copy)]
pub struct Lengths<'a> {
    job: &'a Job,
    index: &'a Index,
    /// What was pulled is left aside.
    planned: bool,
}

impl<'a> Lengths<'a> {
    /// Lengths of the cables of this job: as pulled, else as measured, else estimated.
    pub const fn new(job: &'a Job, index: &'a Index) -> Self {
        Self { job, index, planned: false }
    }

    /// The same as they were before anything was pulled.
    #[must_use]
    pub const fn planned(self) -> Self {
        Self { planned: true, ..self }
    }

    /// What is known of a cable's whole length.
    fn known(&self, site: &CableRecord, measured: Option<Length>) -> Option<CableLength> {
        let pulled = site.pulled().filter(|_| !self.planned);
        let pulled = pulled.map(|length| CableLength { length, basis: Basis::Pulled });
        pulled.or_else(|| measured.map(|length| CableLength { length, basis: Basis::Measured }))
    }

    /// The length of a cable, whatever its kind.
    pub fn cable(&self, id: &Id) -> Option<CableLength> {
        match self.index.spot(Kind::Cable, id)? {
            Spot::Feed { wall_box, feed } => {
                let wall_box = self.job.boxes.get(wall_box)?;
                self.feed(wall_box, wall_box.feeds.get(feed)?)
            }
            Spot::Loop { wall_box, control, at } => {
                let wall_box = self.job.boxes.get(wall_box)?;
                self.wired_loop(wall_box, wall_box.controls.get(control)?.loops.get(at)?).whole
            }
            Spot::Link { group, link } => self.link(self.job.groups.get(group)?.links.get(link)?),
            _ => None,
        }
    }

    /// The length of a home run or an onward feed to a wall box.
    pub fn feed(&self, wall_box: &WallBox, feed: &Feed) -> Option<CableLength> {
        self.known_or(self.known(&feed.site, feed.measured), || {
            let from = match &feed.from {
                Source::Output(output) => self.panel(&self.index.supply(self.job, &output.supply)?.0.id)?,
                Source::Panel(panel) => self.panel(panel)?,
                Source::Onward(from) => self.wall_box(self.index.feed(self.job, from)?.0)?,
            };
            Self::overhead(from, self.wall_box(wall_box)?)
        })
    }

    /// The length of a link between two controls.
    pub fn link(&self, link: &Link) -> Option<CableLength> {
        self.known_or(self.known(&link.site, link.measured), || {
            let (from, _) = self.index.control(self.job, &link.from)?;
            let (to, _) = self.index.control(self.job, &link.to)?;
            Self::overhead(self.wall_box(from)?, self.wall_box(to)?)
        })
    }

    /// The lengths of a loop that leaves from a wall box.
    pub fn wired_loop(&self, wall_box: &WallBox, run: &Loop) -> LoopLength {
        let ends = self.job.settings.makeup_cable_end.ticks();
        let slack = self.job.settings.makeup_ceiling_box.ticks();
        let last = run.ceiling.len().saturating_sub(1);
        let mut estimated = Vec::with_capacity(run.ceiling.len() + 1);
        let mut measured = Vec::with_capacity(run.ceiling.len() + 1);
        let mut before = self.wall_box(wall_box);
        for (at, ceiling) in run.ceiling.iter().enumerate() {
            let here = self.ceiling_box(wall_box, ceiling);
            // The slack of a box is shared by its two tails; the last box of a loop that ends has one tail.
            let in_tail = if at == last && !run.path.returns() { slack } else { slack - slack / 2 };
            let out_tail = if at == 0 { ends } else { slack / 2 };
            let route = before.zip(here).and_then(|(from, to)| direct(from, to));
            estimated.push(route.map(|route| self.with_allowance(route) + in_tail + out_tail));
            measured.push(ceiling.leg.map(Length::ticks));
            before = here;
        }
        if run.path.returns() && !run.ceiling.is_empty() {
            let home = match &run.returns_to {
                Some(control) => self.index.control(self.job, control).map(|(wall_box, _)| wall_box),
                None => Some(wall_box),
            };
            let route = before.zip(home.and_then(|home| self.wall_box(home)));
            let route = route.and_then(|(from, to)| direct(from, to));
            estimated.push(route.map(|route| self.with_allowance(route) + slack / 2 + ends));
            measured.push(run.return_leg.map(Length::ticks));
        }
        self.combine(self.known(&run.site, run.measured), &measured, &estimated)
    }

    /// Fits legs and whole together. A measured whole is shared out over the legs that were not measured, by their
    /// estimates, or evenly where there are none.
    fn combine(
        &self,
        whole: Option<CableLength>,
        measured: &[Option<i64>],
        estimated: &[Option<i64>],
    ) -> LoopLength {
        let Some(whole) = whole else {
            let legs: Vec<Option<i64>> = measured.iter().zip(estimated).map(|(m, e)| m.or(*e)).collect();
            let sum: Option<i64> = legs.iter().copied().sum();
            let basis = if measured.iter().all(Option::is_some) { Basis::Measured } else { Basis::Estimated };
            let whole = sum
                .filter(|_| !legs.is_empty())
                .map(|ticks| CableLength { length: Length::round_up(ticks, self.job.project.units), basis });
            return LoopLength { whole, legs, legs_exceed_whole: false };
        };
        let known: i64 = measured.iter().flatten().sum();
        let open: Vec<usize> = (0..measured.len()).filter(|&at| measured[at].is_none()).collect();
        let rest = whole.length.ticks() - known;
        let mut legs = measured.to_vec();
        let legs_exceed_whole = rest < 0 || (rest == 0 && !open.is_empty());
        if !legs_exceed_whole {
            let shares: Option<Vec<i64>> = open.iter().map(|&at| estimated[at]).collect();
            let shares = shares.filter(|s| s.iter().sum::<i64>() > 0).unwrap_or_else(|| vec![1; open.len()]);
            let all: i64 = shares.iter().sum();
            for (&at, share) in open.iter().zip(shares) {
                let part = i128::from(rest) * i128::from(share) / i128::from(all.max(1));
                legs[at] = i64::try_from(part).ok();
            }
        }
        LoopLength { whole: Some(whole), legs, legs_exceed_whole }
    }

    fn known_or(
        &self,
        known: Option<CableLength>,
        estimate: impl FnOnce() -> Option<i64>,
    ) -> Option<CableLength> {
        if known.is_some() {
            return known;
        }
        let ticks = self.with_allowance(estimate()?) + 2 * self.job.settings.makeup_cable_end.ticks();
        let length = Length::round_up(ticks, self.job.project.units);
        Some(CableLength { length, basis: Basis::Estimated })
    }

    /// In whole ticks, the allowance in millionths, so that no rounding of floats can make an inch more.
    fn with_allowance(&self, ticks: i64) -> i64 {
        #[expect(clippy::cast_possible_truncation, reason = "at most 1000 %, by its type")]
        let millionths = (self.job.settings.routing_allowance_percent.get() * 10_000.0).round() as i128;
        let more = (i128::from(ticks) * millionths + 999_999) / 1_000_000;
        ticks.saturating_add(i64::try_from(more).unwrap_or(i64::MAX))
    }

    fn panel(&self, id: &Id) -> Option<Station<'a>> {
        let panel = self.index.panel(self.job, id)?;
        self.station(&panel.room, panel.place.as_ref()?)
    }

    fn wall_box(&self, wall_box: &WallBox) -> Option<Station<'a>> {
        self.station(&wall_box.room, wall_box.place.as_ref()?)
    }

    fn ceiling_box(&self, wall_box: &WallBox, ceiling: &CeilingBox) -> Option<Station<'a>> {
        let station =
            self.station(ceiling.room.as_ref().unwrap_or(&wall_box.room), ceiling.place.as_ref()?)?;
        Some(Station { z: station.z.or(station.ceiling), ..station })
    }

    fn station(&self, room: &Id, place: &Place) -> Option<Station<'a>> {
        let (level, room): (&Level, &Room) = self.index.room(self.job, room)?;
        Some(Station {
            level,
            x: place.x.ticks(),
            y: place.y.ticks(),
            z: place.height.map(Length::ticks),
            ceiling: room.ceiling.map(Length::ticks),
        })
    }

    /// From one wall place to another by way of the ceiling of the lower level.
    fn overhead(from: Station<'_>, to: Station<'_>) -> Option<i64> {
        let (floor_from, floor_to) = floors(from, to)?;
        let (z_from, z_to) = (floor_from + from.z?, floor_to + to.z?);
        let plane = match floor_from.cmp(&floor_to) {
            std::cmp::Ordering::Equal => floor_from + from.ceiling?.max(to.ceiling?),
            std::cmp::Ordering::Less => floor_from + from.ceiling?,
            std::cmp::Ordering::Greater => floor_to + to.ceiling?,
        };
        Some(across(from, to) + (plane - z_from).abs() + (plane - z_to).abs())
    }
}

/// From one place straight to another: across, along, and up or down.
fn direct(from: Station<'_>, to: Station<'_>) -> Option<i64> {
    let (floor_from, floor_to) = floors(from, to)?;
    Some(across(from, to) + (floor_from + from.z? - floor_to - to.z?).abs())
}

fn across(from: Station<'_>, to: Station<'_>) -> i64 {
    (from.x - to.x).abs() + (from.y - to.y).abs()
}

/// The heights of both floors; on one level they need not be known.
fn floors(from: Station<'_>, to: Station<'_>) -> Option<(i64, i64)> {
    if from.level.id == to.level.id {
        return Some((0, 0));
    }
    Some((from.level.elevation?.ticks(), to.level.elevation?.ticks()))
}
