//! From the cables of a job to cuts and reels on whole numbers, and back.

use super::search::{Answer, Problem, Size, solve};
use crate::job::catalogue::CableType;
use crate::job::site::CableRecord;
use crate::job::wiring::{Feed, Source, WallBox};
use crate::job::{Id, Index, Job, SharedRoute};
use crate::network::{CableLength, Lengths};
use crate::plan::packing::Budget;
use crate::units::Length;
use rust_decimal::Decimal;
use std::cell::RefCell;
use std::collections::{BTreeMap, VecDeque};

/// Steps of the search for one cable type: the same on any machine.
pub const STEPS: u64 = 20_000_000;
/// Reels are told apart to this many parts of the longest one; with whole inches, sixteenths or centimetres that is
/// exact.
const FINEST: u64 = 100_000_000;

/// A cable to cut.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Cut {
    /// The cable.
    pub id: Id,
    /// How long it is cut.
    pub length: Length,
    /// The route it shares with other home runs, where the job asks for that to count.
    pub route: Option<usize>,
}

/// Where a reel comes from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ReelFrom {
    /// It is to be bought, at that price.
    Bought(Option<Decimal>),
    /// It is on hand: which one, in the order of the estimate.
    OnHand(usize),
}

/// A reel that is cut into.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ReelPlan {
    /// Where it comes from.
    pub from: ReelFrom,
    /// Cable on it before.
    pub length: Length,
    /// The cuts that come from it, by position, in the order in which they are cut.
    pub cuts: Vec<usize>,
    /// What is left on it.
    pub left: Length,
}

/// Why cuts of a cable type are on no reel.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Unplanned {
    /// The catalogue names no reel of it, and none is on hand.
    NoReels,
    /// No plan was found.
    NotFound,
}

/// The cuts of one cable type and the reels they come from.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct CablePlan {
    /// The cable type.
    pub cable: Id,
    /// Every cut whose length is known.
    pub cuts: Vec<Cut>,
    /// Cables whose length is unknown; no reel is planned for them.
    pub unknown: Vec<Id>,
    /// Cuts that are longer than every reel, by position; no reel is planned for them.
    pub too_long: Vec<usize>,
    /// The reels that are cut into.
    pub reels: Vec<ReelPlan>,
    /// Why there are none.
    pub unplanned: Option<Unplanned>,
    /// What the reels to buy cost; `None` where a price is unknown.
    pub cost: Option<Decimal>,
    /// No plan costs less; `None` where the cost is unknown.
    pub cost_bound: Option<Decimal>,
    /// Whether nothing cheaper, and as cheap nothing that leaves less, exists.
    pub proved: bool,
    /// What is left on all reels that are cut into.
    pub left: Length,
    /// Sizes of reel that have no price and were not considered for that.
    pub unpriced: Vec<Length>,
    /// Routes whose cuts together are longer than every reel, so that they come from several after all.
    pub split_routes: usize,
}

/// Which cables are planned for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Scope {
    /// All of the job, as if nothing was pulled yet: what a bid is reckoned with.
    Whole,
    /// Those that are still to be pulled: what is bought and cut.
    ToCut,
}

/// Whether a cable was pulled, so that it needs no cut any more.
pub fn is_pulled(site: &CableRecord) -> bool {
    let done = &site.done;
    site.pulled().is_some() || [&done.pulled, &done.tested, &done.boarded].into_iter().any(Option::is_some)
}

/// The cuts of every cable type that the job uses, in the order of the catalogue, with the reels they come from.
pub fn plan(job: &Job, index: &Index, scope: Scope) -> Vec<CablePlan> {
    let mut of_type: BTreeMap<String, (Vec<Cut>, Vec<Id>)> = BTreeMap::new();
    let mut routes: BTreeMap<(String, String), usize> = BTreeMap::new();
    let (now, planned) = (Lengths::new(job, index), Lengths::new(job, index).planned());
    let mut add = |cable: &Id,
                   id: &Id,
                   site: &CableRecord,
                   length: &dyn Fn(&Lengths<'_>) -> Option<CableLength>,
                   route| {
        let length = match scope {
            Scope::ToCut if is_pulled(site) => return,
            Scope::ToCut => length(&now),
            Scope::Whole => length(&planned).or_else(|| length(&now)),
        };
        let (cuts, unknown) = of_type.entry(cable.folded()).or_default();
        match length {
            Some(known) => cuts.push(Cut { id: id.clone(), length: known.length, route }),
            None => unknown.push(id.clone()),
        }
    };
    for wall_box in &job.boxes {
        for feed in &wall_box.feeds {
            let key = (origin(job, index, feed), wall_box.room.folded());
            let next = routes.len();
            let route = *routes.entry(key).or_insert(next);
            add(&feed.cable, &feed.id, &feed.site, &|lengths| lengths.feed(wall_box, feed), Some(route));
        }
    }
    for wall_box in &job.boxes {
        for run in wall_box.controls.iter().flat_map(|control| &control.loops) {
            add(&run.cable, &run.id, &run.site, &|lengths| lengths.wired_loop(wall_box, run).whole, None);
        }
    }
    for link in job.groups.iter().flat_map(|group| &group.links) {
        add(&link.cable, &link.id, &link.site, &|lengths| lengths.link(link), None);
    }
    let types = job.catalogue.cables.iter();
    types
        .filter_map(|cable| {
            let (cuts, unknown) = of_type.remove(&cable.id.folded())?;
            Some(of_cable(job, cable, cuts, unknown))
        })
        .collect()
}

/// The panel or the wall box that a feed comes from.
fn origin(job: &Job, index: &Index, feed: &Feed) -> String {
    let from_box =
        |found: Option<(&WallBox, &Feed)>| found.map(|(from, _)| from.id.folded()).unwrap_or_default();
    match &feed.from {
        Source::Output(output) => index
            .supply(job, &output.supply)
            .map(|(panel, _)| format!("panel {}", panel.id.folded()))
            .unwrap_or_default(),
        Source::Panel(panel) => format!("panel {}", panel.folded()),
        Source::Onward(from) => format!("box {}", from_box(index.feed(job, from))),
    }
}

/// A reel of the catalogue that may be bought.
#[derive(Debug, Clone, Copy)]
struct Priced {
    length: Length,
    price: Option<Decimal>,
    /// The price in the smallest unit that all prices of the cable are whole in.
    units: u64,
}

fn of_cable(job: &Job, cable: &CableType, cuts: Vec<Cut>, unknown: Vec<Id>) -> CablePlan {
    let estimate = &job.estimate;
    let on_hand: Vec<(usize, Length)> = (estimate.reels_on_hand.iter().enumerate())
        .filter(|(_, reel)| reel.cable.same(&cable.id) && reel.left.ticks() > 0)
        .map(|(at, reel)| (at, reel.left))
        .collect();
    let (sizes, unpriced) = sizes(cable);
    let priced = !cable.reels.is_empty() && sizes.iter().all(|size| size.price.is_some());
    let longest = sizes.iter().map(|size| size.length).chain(on_hand.iter().map(|(_, left)| *left));
    let longest = longest.map(Length::ticks).max();
    let zero = Length::from_ticks(0, job.project.units);
    let mut made = CablePlan {
        cable: cable.id.clone(),
        unknown,
        too_long: Vec::new(),
        reels: Vec::new(),
        unplanned: None,
        cost: None,
        cost_bound: None,
        proved: false,
        left: zero,
        unpriced,
        split_routes: 0,
        cuts,
    };
    let Some(longest) = longest else {
        made.unplanned = (!made.cuts.is_empty()).then_some(Unplanned::NoReels);
        return made;
    };
    made.too_long = (0..made.cuts.len()).filter(|&cut| made.cuts[cut].length.ticks() > longest).collect();
    let (items, split) = items(&made, estimate.shared_route, longest);
    made.split_routes = split;
    let grid = Grid::new(&made.cuts, &sizes, &on_hand);
    let problem = Problem {
        cuts: items.iter().map(|item| item.iter().map(|&cut| grid.up(made.cuts[cut].length)).sum()).collect(),
        sizes: sizes.iter().map(|size| Size { length: grid.down(size.length), price: size.units }).collect(),
        on_hand: on_hand.iter().map(|(_, left)| grid.down(*left)).collect(),
        apart: side_by_side(&made, &items, estimate.shared_route, sizes.is_empty().then_some(on_hand.len())),
    };
    let Some(answer) = solved(problem) else {
        made.unplanned = Some(Unplanned::NotFound);
        return made;
    };
    let unit = job.project.units;
    made.proved = answer.proved();
    made.reels = answer
        .used
        .iter()
        .map(|used| {
            let (from, length) = match (used.size, used.on_hand) {
                (Some(size), _) => (ReelFrom::Bought(sizes[size].price), sizes[size].length),
                (None, at) => {
                    let (at, left) = on_hand[at.unwrap_or(0)];
                    (ReelFrom::OnHand(at), left)
                }
            };
            let mut cuts: Vec<usize> =
                used.cuts.iter().flat_map(|&item| items[item].iter().copied()).collect();
            if estimate.shared_route != SharedRoute::OneReel {
                cuts.sort_by_key(|&cut| (std::cmp::Reverse(made.cuts[cut].length.ticks()), cut));
            }
            let taken: i64 = cuts.iter().map(|&cut| made.cuts[cut].length.ticks()).sum();
            ReelPlan { from, length, cuts, left: Length::from_ticks(length.ticks() - taken, unit) }
        })
        .collect();
    made.left = Length::from_ticks(made.reels.iter().map(|reel| reel.left.ticks()).sum(), unit);
    let exact = (made.too_long.is_empty() && made.unknown.is_empty() && priced) || no_purchase(&made);
    if exact {
        made.cost =
            made.reels.iter().map(price).try_fold(Decimal::ZERO, |sum, price| sum.checked_add(price?));
        made.cost_bound = if answer.cost <= answer.cost_bound {
            made.cost
        } else {
            scale(&sizes).map(|scale| Decimal::from_i128_with_scale(answer.cost_bound.into(), scale))
        };
    }
    made
}

/// Problems of which the answer is remembered: all sheets of a job, and a bid with its alternates, ask for the same few.
const REMEMBERED: usize = 16;

/// The answer to a problem. That of the last ones is remembered, which changes nothing but the time it takes.
fn solved(problem: Problem) -> Option<Answer> {
    thread_local! {
        static LAST: RefCell<VecDeque<(Problem, Option<Answer>)>> = const { RefCell::new(VecDeque::new()) };
    }
    LAST.with_borrow_mut(|last| {
        if let Some((_, answer)) = last.iter().find(|(asked, _)| *asked == problem) {
            return answer.clone();
        }
        let answer = solve(&problem, &mut Budget::new(STEPS));
        last.truncate(REMEMBERED - 1);
        last.push_front((problem, answer.clone()));
        answer
    })
}

/// Nothing is bought and nothing is missing.
fn no_purchase(made: &CablePlan) -> bool {
    made.too_long.is_empty()
        && made.unknown.is_empty()
        && made.reels.iter().all(|reel| matches!(reel.from, ReelFrom::OnHand(_)))
}

fn price(reel: &ReelPlan) -> Option<Decimal> {
    match reel.from {
        ReelFrom::Bought(price) => price,
        ReelFrom::OnHand(_) => Some(Decimal::ZERO),
    }
}

/// The decimals in which all prices are whole.
fn scale(sizes: &[Priced]) -> Option<u32> {
    sizes.iter().filter_map(|size| size.price).map(|price| price.normalize().scale()).max()
}

/// The sizes that are chosen among, and those that have no price while others have one. Where none has one, the plan
/// takes the least cable: a price of one for each whole unit of length would say the same.
fn sizes(cable: &CableType) -> (Vec<Priced>, Vec<Length>) {
    let priced: Vec<_> = cable.reels.iter().filter(|reel| reel.price.is_some()).collect();
    let unpriced: Vec<Length> =
        cable.reels.iter().filter(|reel| reel.price.is_none()).map(|reel| reel.length).collect();
    if priced.is_empty() {
        let by_length = |reel: &crate::job::catalogue::Reel| Priced {
            length: reel.length,
            price: None,
            units: u64::try_from(reel.length.ticks()).unwrap_or(0),
        };
        return (cable.reels.iter().map(by_length).collect(), unpriced);
    }
    let all: Vec<Priced> = priced
        .iter()
        .map(|reel| Priced {
            length: reel.length,
            price: reel.price.map(crate::units::Money::amount),
            units: 0,
        })
        .collect();
    let scale = scale(&all).unwrap_or(0);
    let in_units = |price: Option<Decimal>| {
        let units = price?.checked_mul(Decimal::from(10_u64.checked_pow(scale)?))?;
        u64::try_from(units.normalize().trunc()).ok().filter(|units| *units < u64::MAX / 4096)
    };
    // A price that no whole number holds is as good as none.
    let (fit, unfit): (Vec<Priced>, Vec<Priced>) =
        all.into_iter().partition(|size| in_units(size.price).is_some());
    let fit =
        fit.into_iter().map(|size| Priced { units: in_units(size.price).unwrap_or(0), ..size }).collect();
    let unpriced = unpriced.into_iter().chain(unfit.into_iter().map(|size| size.length)).collect();
    (fit, unpriced)
}

/// What is packed: each cut alone, or the cuts of a route together. Also how many routes are too long for one reel.
fn items(made: &CablePlan, shared: SharedRoute, longest: i64) -> (Vec<Vec<usize>>, usize) {
    let mut items: Vec<Vec<usize>> = Vec::new();
    let mut of_route: BTreeMap<usize, usize> = BTreeMap::new();
    for cut in (0..made.cuts.len()).filter(|cut| !made.too_long.contains(cut)) {
        let route = made.cuts[cut].route.filter(|_| shared == SharedRoute::OneReel);
        if let Some(&item) = route.and_then(|route| of_route.get(&route)) {
            items[item].push(cut);
            continue;
        }
        if let Some(route) = route {
            of_route.insert(route, items.len());
        }
        items.push(vec![cut]);
    }
    let ticks = |item: &[usize]| item.iter().map(|&cut| made.cuts[cut].length.ticks()).sum::<i64>();
    let (whole, split): (Vec<_>, Vec<_>) = items.into_iter().partition(|item| ticks(item) <= longest);
    let routes = split.len();
    let alone = split.into_iter().flatten().map(|cut| vec![cut]);
    (whole.into_iter().chain(alone).collect(), routes)
}

/// Groups of items that come from different reels. Where only reels on hand are there, and fewer than a group has cuts,
/// the group is left out.
fn side_by_side(
    made: &CablePlan,
    items: &[Vec<usize>],
    shared: SharedRoute,
    most: Option<usize>,
) -> Vec<Vec<usize>> {
    if shared != SharedRoute::SideBySide {
        return Vec::new();
    }
    let mut groups: BTreeMap<usize, Vec<usize>> = BTreeMap::new();
    for (at, item) in items.iter().enumerate() {
        if let Some(route) = item.first().and_then(|&cut| made.cuts[cut].route) {
            groups.entry(route).or_default().push(at);
        }
    }
    groups
        .into_values()
        .filter(|group| group.len() > 1 && most.is_none_or(|most| group.len() <= most))
        .collect()
}

/// Whole numbers for lengths: ticks over what divides them all.
#[derive(Debug, Clone, Copy)]
struct Grid {
    step: u64,
}

impl Grid {
    fn new(cuts: &[Cut], sizes: &[Priced], on_hand: &[(usize, Length)]) -> Self {
        let ticks = |length: Length| u64::try_from(length.ticks()).unwrap_or(0);
        let reels =
            || sizes.iter().map(|size| size.length).chain(on_hand.iter().map(|(_, left)| *left)).map(ticks);
        let all = cuts.iter().map(|cut| ticks(cut.length)).chain(reels());
        let step = all.fold(0, divisor).max(1);
        let most = reels().max().unwrap_or(0);
        Self { step: step.max(most.div_ceil(FINEST)) }
    }

    fn up(self, length: Length) -> u64 {
        u64::try_from(length.ticks()).unwrap_or(0).div_ceil(self.step)
    }

    fn down(self, length: Length) -> u64 {
        u64::try_from(length.ticks()).unwrap_or(0) / self.step
    }
}

/// The greatest common divisor.
fn divisor(a: u64, b: u64) -> u64 {
    if b == 0 { a } else { divisor(b, a % b) }
}
