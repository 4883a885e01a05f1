//! The reels: what to buy, which cut comes from which reel, and what is left over.

use super::names::{box_and_room, called};
use super::{Cell, Column, Row, Section, Table, Weight};
use crate::design::Design;
use crate::format::{self, Text};
use crate::job::catalogue::CableType;
use crate::job::{Id, Kind, SharedRoute, Spot, Subject};
use crate::plan::reels::{self, CablePlan, ReelFrom, ReelPlan, Scope, Unplanned};
use crate::units::Length;
use rust_decimal::Decimal;
use serde::Serialize;

/// What a reel should end with to forgive a cut that comes out longer: 3 ft, in ticks; common practice, no source.
const SPARE: i64 = 3 * 12 * 254_000;

/// The document of the sheet `reels`.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Reels {
    /// Each cable type that is still to be cut.
    pub cables: Vec<CableReels>,
}

/// A cable type in [`Reels`].
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct CableReels {
    /// The cable type.
    pub cable: String,
    /// What the reels to buy cost; null while a price is unknown or a cut has no reel.
    pub cost: Option<Decimal>,
    /// No plan costs less.
    pub cost_bound: Option<Decimal>,
    /// Whether nothing cheaper, and as cheap nothing that leaves less, exists.
    pub proved: bool,
    /// What is left on all reels that are cut into, in feet.
    pub left_ft: f64,
    /// The reels.
    pub reels: Vec<ReelEntry>,
    /// Cables whose length is unknown.
    pub unknown: Vec<String>,
    /// Cables longer than every reel.
    pub too_long: Vec<String>,
    /// Why there is no plan; null where there is one.
    pub unplanned: Option<&'static str>,
}

/// A reel in [`Reels`].
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ReelEntry {
    /// What it is called on paper: its cable and a number.
    pub reel: String,
    /// Whether it is on hand; else it is to be bought.
    pub on_hand: bool,
    /// Cable on it before, in feet.
    pub length_ft: f64,
    /// What it costs; null for one on hand, or while it is unknown.
    pub price: Option<Decimal>,
    /// What comes from it, in the order in which it is cut.
    pub cuts: Vec<CutEntry>,
    /// What is left on it, in feet.
    pub left_ft: f64,
}

/// A cut in [`Reels`].
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct CutEntry {
    /// The cable.
    pub tag: String,
    /// How long it is cut, in feet.
    pub length_ft: f64,
}

/// The document for machines.
pub fn document(design: &Design) -> Reels {
    let of_cable = |plan: &CablePlan| CableReels {
        cable: plan.cable.to_string(),
        cost: plan.cost,
        cost_bound: plan.cost_bound,
        proved: plan.proved,
        left_ft: plan.left.feet(),
        reels: plan.reels.iter().enumerate().map(|(at, reel)| entry(plan, at, reel)).collect(),
        unknown: plan.unknown.iter().map(Id::to_string).collect(),
        too_long: plan.too_long.iter().map(|&cut| plan.cuts[cut].id.to_string()).collect(),
        unplanned: plan.unplanned.map(why),
    };
    Reels { cables: plans(design).iter().map(of_cable).collect() }
}

fn plans(design: &Design) -> Vec<CablePlan> {
    reels::plan(&design.job, &design.index, Scope::ToCut)
}

fn why(unplanned: Unplanned) -> &'static str {
    match unplanned {
        Unplanned::NoReels => "the catalogue names no reel of this cable",
        Unplanned::NotFound => "no plan was found: more reels are needed, or fewer cuts side by side",
    }
}

fn label(plan: &CablePlan, at: usize) -> String {
    format!("{} #{}", plan.cable, at + 1)
}

fn entry(plan: &CablePlan, at: usize, reel: &ReelPlan) -> ReelEntry {
    let cut = |&cut: &usize| {
        let cut = &plan.cuts[cut];
        CutEntry { tag: cut.id.to_string(), length_ft: cut.length.feet() }
    };
    ReelEntry {
        reel: label(plan, at),
        on_hand: matches!(reel.from, ReelFrom::OnHand(_)),
        length_ft: reel.length.feet(),
        price: price(reel),
        cuts: reel.cuts.iter().map(cut).collect(),
        left_ft: reel.left.feet(),
    }
}

fn price(reel: &ReelPlan) -> Option<Decimal> {
    match reel.from {
        ReelFrom::Bought(price) => price,
        ReelFrom::OnHand(_) => None,
    }
}

/// The sheet for people: what to buy, then what to cut, then what is left.
pub fn tables(design: &Design) -> Vec<Table> {
    let plans = plans(design);
    vec![buying(design, &plans), cutting(design, &plans), off_cuts(design, &plans)]
}

fn cable_of<'a>(design: &'a Design, plan: &CablePlan) -> Option<&'a CableType> {
    design.index.cable_type(&design.job, &plan.cable)
}

fn heading(design: &Design, plan: &CablePlan) -> String {
    cable_of(design, plan).map_or_else(
        || plan.cable.to_string(),
        |cable| {
            if cable.name.trim().is_empty() {
                cable.id.to_string()
            } else {
                format!("{}  {}", cable.id, cable.name)
            }
        },
    )
}

fn buying(design: &Design, plans: &[CablePlan]) -> Table {
    let mut table = Table::new(
        "reels",
        "Reels to buy",
        vec![
            Column::text("cable", "cable").width(6, 12),
            Column::text("name", "").width(10, 34).grow(),
            Column::figure("count", "reels").width(5, 6),
            Column::figure("length_ft", "of").width(6, 10),
            Column::figure("price", "each").width(7, 12),
            Column::figure("cost", "cost").width(7, 12),
        ],
    );
    let mut rows = Vec::new();
    let mut sum = Some(Decimal::ZERO);
    for plan in plans {
        let cable = cable_of(design, plan);
        let name = cable.map(|cable| called(&cable.name, &cable.id)).unwrap_or_default();
        let subject = Subject::new(Kind::CableType, &plan.cable);
        for (length, price, count) in bought(plan) {
            let cost = price.and_then(|price| price.checked_mul(Decimal::from(count)));
            rows.push(
                Row::new(vec![
                    Cell::from(&plan.cable),
                    Cell::from(name.clone()),
                    Cell::Count(i64::try_from(count).unwrap_or(i64::MAX)),
                    Cell::length(length),
                    Cell::Money(price),
                    Cell::Money(cost),
                ])
                .about(subject.clone()),
            );
        }
        rows.extend(gaps(plan).into_iter().map(|gap| {
            Row::new(vec![
                Cell::from(&plan.cable),
                Cell::Flag(Weight::Caution, gap.into()),
                Cell::Unknown,
                Cell::Blank,
                Cell::Blank,
                Cell::Unknown,
            ])
            .about(subject.clone())
        }));
        sum = sum.zip(plan.cost).and_then(|(sum, cost)| sum.checked_add(cost));
    }
    table = table.with_rows(rows);
    table.totals.push(Row::new(vec![
        Cell::text("total"),
        Cell::Blank,
        Cell::Blank,
        Cell::Blank,
        Cell::Blank,
        Cell::Money(sum),
    ]));
    table.notes.extend(plans.iter().flat_map(|plan| proof(design, plan)).map(Text::from));
    table
}

/// Sizes with their price and how many of each are bought, the longest first.
fn bought(plan: &CablePlan) -> Vec<(Length, Option<Decimal>, usize)> {
    let mut sizes: Vec<(Length, Option<Decimal>, usize)> = Vec::new();
    for reel in &plan.reels {
        let ReelFrom::Bought(price) = reel.from else { continue };
        match sizes.iter_mut().find(|(length, of, _)| length.ticks() == reel.length.ticks() && *of == price) {
            Some((_, _, count)) => *count += 1,
            None => sizes.push((reel.length, price, 1)),
        }
    }
    sizes.sort_by_key(|(length, _, _)| std::cmp::Reverse(length.ticks()));
    sizes
}

/// What no reel is planned for, in words.
fn gaps(plan: &CablePlan) -> Vec<String> {
    let mut gaps = Vec::new();
    let cables = |n: usize| if n == 1 { "1 cable".to_owned() } else { format!("{n} cables") };
    if let Some(unplanned) = plan.unplanned {
        gaps.push(format!("{}: {}", cables(plan.cuts.len()), why(unplanned)));
    }
    if !plan.unknown.is_empty() {
        gaps.push(format!("{} of unknown length not in it", cables(plan.unknown.len())));
    }
    if !plan.too_long.is_empty() {
        gaps.push(format!("{} longer than every reel", cables(plan.too_long.len())));
    }
    gaps
}

/// How good the plan is, and what it left aside.
fn proof(design: &Design, plan: &CablePlan) -> Vec<String> {
    let unit = design.job.project.units;
    let mut said = Vec::new();
    if !plan.reels.is_empty() {
        let left = plan.left.shown(unit);
        said.push(match (plan.proved, plan.cost, plan.cost_bound) {
            (true, Some(_), _) => format!(
                "{}: proved, no reels are cheaper, and as cheap none leave less than {left}.",
                plan.cable
            ),
            (true, None, _) => {
                format!("{}: proved, no reels leave less than {left}; what they cost is unknown.", plan.cable)
            }
            (false, Some(cost), Some(bound)) if cost > bound => format!(
                "{}: not proved to be the cheapest; nothing costs less than {}.",
                plan.cable,
                format::money(Some(bound))
            ),
            (false, Some(_), _) => {
                format!("{}: proved to be the cheapest; that none leave less is not proved.", plan.cable)
            }
            (false, None, _) => format!("{}: not proved to be the best.", plan.cable),
        });
    }
    if !plan.unpriced.is_empty() && plan.reels.iter().any(|reel| price(reel).is_some()) {
        let sizes: Vec<String> = plan.unpriced.iter().map(|length| length.shown(unit)).collect();
        said.push(format!(
            "{}: reels of {} have no price and were left aside.",
            plan.cable,
            sizes.join(", ")
        ));
    }
    if plan.split_routes > 0 {
        said.push(format!(
            "{}: the home runs of {} routes together are longer than every reel.",
            plan.cable, plan.split_routes
        ));
    }
    said
}

fn cutting(design: &Design, plans: &[CablePlan]) -> Table {
    let mut table = Table::new(
        "cuts",
        "Cuts from reels",
        vec![
            Column::text("done", "").width(3, 3),
            Column::text("reel", "reel").width(4, 12),
            Column::text("tag", "cut").width(4, 10),
            Column::text("to", "what for").width(12, 48).grow(),
            Column::figure("length_ft", "length").width(6, 12),
            Column::figure("left_ft", "left on\nreel").width(6, 12),
        ],
    );
    let unit = design.job.project.units;
    for plan in plans {
        let mut rows = Vec::new();
        for (at, reel) in plan.reels.iter().enumerate() {
            rows.push(Row::new(vec![
                Cell::Blank,
                Cell::from(label(plan, at)),
                Cell::Blank,
                Cell::text(if matches!(reel.from, ReelFrom::OnHand(_)) { "on hand" } else { "new" }),
                Cell::Blank,
                Cell::length(reel.length),
            ]));
            let mut left = reel.length.ticks();
            for &cut in &reel.cuts {
                let cut = &plan.cuts[cut];
                left -= cut.length.ticks();
                rows.push(
                    cut_row(design, &cut.id, Some(cut.length), Some(Length::from_ticks(left, unit)))
                        .beneath(),
                );
            }
        }
        let lost = plan
            .too_long
            .iter()
            .map(|&cut| (&plan.cuts[cut].id, Some(plan.cuts[cut].length), "longer than every reel"));
        let lost = lost.chain(plan.unknown.iter().map(|id| (id, None, "length unknown")));
        let unplanned = plan
            .unplanned
            .into_iter()
            .flat_map(|_| &plan.cuts)
            .map(|cut| (&cut.id, Some(cut.length), "no reel"));
        rows.extend(lost.chain(unplanned).map(|(id, length, why)| {
            let mut row = cut_row(design, id, length, None);
            row.cells[1] = Cell::Flag(Weight::Caution, why.into());
            row
        }));
        if !rows.is_empty() {
            let section = Section::headed(heading(design, plan), rows).keyed(plan.cable.as_str());
            table = table.with_section(section);
        }
    }
    table.notes.push("Cut in this order: the last column is what is left on the reel after the cut. Mark both ends before cutting.".into());
    let bare = plans.iter().flat_map(|plan| &plan.reels).any(|reel| reel.left.ticks() < SPARE);
    if bare {
        table.notes.push("A reel that ends with less than 3 ft has no room for a mistake: pull what comes from it last, and measure before cutting.".into());
    }
    let pulled = "Cables that were pulled already are not in it.";
    table.notes.push(match design.job.estimate.shared_route {
        SharedRoute::Free => pulled.into(),
        SharedRoute::OneReel => format!("{pulled} Home runs from one panel to one room come from one reel.").into(),
        SharedRoute::SideBySide => {
            format!("{pulled} Home runs from one panel to one room come each from a reel of its own, to be pulled side by side.").into()
        }
    });
    table
}

fn cut_row(design: &Design, id: &Id, length: Option<Length>, left: Option<Length>) -> Row {
    Row::new(vec![
        Cell::Tick,
        Cell::Blank,
        Cell::from(id),
        Cell::from(what_for(design, id)),
        Cell::length(length),
        left.map_or(Cell::Blank, Cell::length),
    ])
    .about(Subject::new(Kind::Cable, id))
}

/// What a cable is, in a few words.
fn what_for(design: &Design, id: &Id) -> String {
    let job = &design.job;
    match design.index.spot(Kind::Cable, id) {
        Some(Spot::Feed { wall_box, .. }) => job
            .boxes
            .get(wall_box)
            .map(|to| format!("home run to {}", box_and_room(design, to)))
            .unwrap_or_default(),
        Some(Spot::Loop { wall_box, .. }) => job
            .boxes
            .get(wall_box)
            .map(|from| format!("loop from {}", box_and_room(design, from)))
            .unwrap_or_default(),
        Some(Spot::Link { group, link }) => {
            let link = job.groups.get(group).and_then(|group| group.links.get(link));
            link.map(|link| format!("link {} to {}", link.from, link.to)).unwrap_or_default()
        }
        _ => String::new(),
    }
}

fn off_cuts(design: &Design, plans: &[CablePlan]) -> Table {
    let mut rows: Vec<Row> = Vec::new();
    for plan in plans {
        let mut left: Vec<(usize, &ReelPlan)> =
            plan.reels.iter().enumerate().filter(|(_, reel)| reel.left.ticks() > 0).collect();
        left.sort_by_key(|(_, reel)| std::cmp::Reverse(reel.left.ticks()));
        rows.extend(left.into_iter().map(|(at, reel)| {
            Row::new(vec![
                Cell::from(label(plan, at)),
                Cell::from(heading(design, plan)),
                Cell::length(reel.left),
            ])
            .about(Subject::new(Kind::CableType, &plan.cable))
        }));
    }
    let mut table = Table::new(
        "off-cuts",
        "Left on reels",
        vec![
            Column::text("reel", "reel").width(6, 14),
            Column::text("name", "").width(10, 40).grow(),
            Column::figure("left_ft", "left").width(6, 12),
        ],
    )
    .with_rows(rows);
    table
        .notes
        .push("Write what is left on the reel, and enter it under reels on hand of the next job.".into());
    table
}
