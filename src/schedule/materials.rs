//! The takeoff: every part with waste, what is still to be ordered of it, what it was counted from, and in which room.

mod counted;

use super::names::called;
use super::{Cell, Column, Row, Section, Table, Weight};
use crate::design::Design;
use crate::job::catalogue::Phase;
use crate::job::{Id, Subject};
use crate::plan::reels::{CablePlan, ReelFrom};
use crate::takeoff::{self, CableMaterial, Group, Material, Takeoff};
use crate::units::Length;
use rust_decimal::Decimal;
use rust_decimal::prelude::ToPrimitive;
use serde::Serialize;

/// The document of the sheet `materials`. Quantities are exact decimals.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Materials {
    /// Every part but cable.
    pub parts: Vec<PartEntry>,
    /// Cable by type.
    pub cables: Vec<CableEntry>,
}

/// A part in [`Materials`].
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PartEntry {
    /// Its name in `materials/KEY/quantity`.
    pub key: String,
    /// `boxes`, `small-parts`, `supplies`, `controls` or `fixtures`.
    pub group: &'static str,
    /// The catalogue entry; null where none is chosen.
    pub part: Option<String>,
    /// What people call it.
    pub name: String,
    /// `rough-in`, `panel` or `trim`.
    pub phase: &'static str,
    /// The count.
    pub counted: Decimal,
    /// Things it would be counted from whose size is unknown.
    pub uncounted: usize,
    /// What is bought beyond the count, in percent.
    pub waste_percent: Decimal,
    /// Whole pieces, waste in it.
    pub quantity: Decimal,
    /// Pieces that are bought at once; null where single ones are.
    pub pack: Option<u32>,
    /// Pieces bought already.
    pub bought: u32,
    /// Packs, or pieces, still to be ordered; null where none is chosen.
    pub order: Option<Decimal>,
    /// What it was counted from.
    pub from: Vec<FromEntry>,
}

/// What a quantity was counted from in [`Materials`].
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct FromEntry {
    /// The kind of thing.
    pub kind: &'static str,
    /// Its id.
    pub id: String,
    /// The room it is counted in; null for the whole house.
    pub room: Option<String>,
    /// How much of the quantity it needs.
    pub quantity: Decimal,
}

/// Cable of a type in [`Materials`].
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct CableEntry {
    /// The cable type.
    pub cable: String,
    /// What people call it.
    pub name: String,
    /// Its length in feet; null while any cable's is unknown.
    pub length_ft: Option<f64>,
    /// Cables of it whose length is unknown.
    pub unknown: usize,
    /// The reels still to be bought.
    pub order: Vec<ReelOrder>,
    /// What it was counted from.
    pub from: Vec<CableFrom>,
}

/// Reels of one size in [`Materials`].
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ReelOrder {
    /// Cable on one, in feet.
    pub length_ft: f64,
    /// How many.
    pub count: usize,
}

/// A cable in [`Materials`].
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct CableFrom {
    /// The cable.
    pub id: String,
    /// The room it is counted in.
    pub room: Option<String>,
    /// Its length in feet; null while it is unknown.
    pub length_ft: Option<f64>,
}

/// The document for machines.
pub fn document(design: &Design) -> Materials {
    let takeoff = takeoff::take_off(design);
    Materials {
        parts: takeoff.materials.iter().map(part_entry).collect(),
        cables: takeoff.cables.iter().map(cable_entry).collect(),
    }
}

fn part_entry(made: &Material) -> PartEntry {
    let from = made.from.iter().map(|source| FromEntry {
        kind: source.subject.kind.key(),
        id: source.subject.id.clone(),
        room: source.room.as_ref().map(Id::to_string),
        quantity: source.quantity,
    });
    PartEntry {
        key: made.key.clone(),
        group: made.group.key(),
        part: made.part.as_ref().map(|part| part.id.clone()),
        name: made.name.clone(),
        phase: made.phase.key(),
        counted: made.counted,
        uncounted: made.uncounted,
        waste_percent: made.waste_percent,
        quantity: made.quantity,
        pack: made.pack.map(std::num::NonZeroU32::get),
        bought: made.bought,
        order: made.order,
        from: from.collect(),
    }
}

fn cable_entry(cable: &CableMaterial) -> CableEntry {
    let unknown = cable.from.iter().filter(|source| source.length.is_none()).count();
    CableEntry {
        cable: cable.part.id.clone(),
        name: cable.name.clone(),
        length_ft: (unknown == 0).then(|| cable.length.feet()),
        unknown,
        order: reels_to_buy(cable)
            .into_iter()
            .map(|(length, count)| ReelOrder { length_ft: length.feet(), count })
            .collect(),
        from: cable
            .from
            .iter()
            .map(|source| CableFrom {
                id: source.subject.id.clone(),
                room: source.room.as_ref().map(Id::to_string),
                length_ft: source.length.map(Length::feet),
            })
            .collect(),
    }
}

/// Sizes of reel still to be bought, the longest first, with how many.
fn reels_to_buy(cable: &CableMaterial) -> Vec<(Length, usize)> {
    let mut sizes: Vec<(Length, usize)> = Vec::new();
    let bought = |plan: &CablePlan| -> Vec<Length> {
        let reels = plan.reels.iter().filter(|reel| matches!(reel.from, ReelFrom::Bought(_)));
        reels.map(|reel| reel.length).collect()
    };
    for length in cable.to_cut.iter().flat_map(bought) {
        match sizes.iter_mut().find(|(of, _)| of.ticks() == length.ticks()) {
            Some((_, count)) => *count += 1,
            None => sizes.push((length, 1)),
        }
    }
    sizes.sort_by_key(|(length, _)| std::cmp::Reverse(length.ticks()));
    sizes
}

/// The sheet for people: all parts, then orders by phase, then rooms, then what each quantity was counted from.
pub fn tables(design: &Design) -> Vec<Table> {
    let takeoff = takeoff::take_off(design);
    vec![
        parts(design, &takeoff),
        orders(design, &takeoff),
        rooms(design, &takeoff),
        counted::table(design, &takeoff),
    ]
}

/// A quantity as a cell: whole where it is.
fn quantity(figure: Decimal) -> Cell {
    match figure.fract().is_zero().then(|| figure.to_i64()).flatten() {
        Some(whole) => Cell::Count(whole),
        None => Cell::from(figure.normalize().to_string()),
    }
}

fn unchosen(made: &Material) -> Cell {
    match made.part {
        Some(_) if made.uncounted == 0 => Cell::from(made.name.clone()),
        Some(_) => Cell::from(format!("{} (more: {} not countable)", made.name, made.uncounted)),
        None => Cell::Flag(Weight::Caution, made.name.as_str().into()),
    }
}

fn about(row: Row, part: Option<&Subject>) -> Row {
    match part {
        Some(part) => row.about(part.clone()),
        None => row,
    }
}

fn parts(design: &Design, takeoff: &Takeoff) -> Table {
    let mut table = Table::new(
        "materials",
        "Materials",
        vec![
            Column::text("part", "part").width(9, 14),
            Column::text("name", "").width(22, 44).grow(),
            Column::figure("counted", "counted").width(5, 9),
            Column::figure("waste_percent", "waste\n%").width(4, 6).yields(3),
            Column::figure("quantity", "needed").width(5, 9),
            Column::figure("bought", "bought").width(4, 7).yields(2),
            Column::figure("order", "order").width(5, 9),
            Column::text("unit", "as").width(11, 12).yields(1),
            Column::text("phase", "for").width(8, 8).yields(4),
        ],
    );
    let mut cables = Vec::new();
    for cable in &takeoff.cables {
        cables.extend(cable_rows(design, cable));
    }
    if !cables.is_empty() {
        table = table.with_section(Section::headed("Cable", cables).keyed("cable"));
    }
    for group in Group::ALL {
        let rows: Vec<Row> = takeoff
            .materials
            .iter()
            .filter(|made| made.group == group)
            .map(|made| {
                let row = Row::new(vec![
                    Cell::from(made.part.as_ref().map_or("", |_| made.key.as_str())),
                    unchosen(made),
                    quantity(made.counted),
                    quantity(made.waste_percent),
                    quantity(made.quantity),
                    if made.bought == 0 { Cell::Blank } else { Cell::Count(made.bought.into()) },
                    made.order.map_or(Cell::Unknown, quantity),
                    Cell::from(unit_words(made)),
                    Cell::text(made.phase.key()),
                ]);
                about(row, made.part.as_ref())
            })
            .collect();
        if !rows.is_empty() {
            table = table.with_section(Section::headed(group.word(), rows).keyed(group.key()));
        }
    }
    table.notes.push("needed: counted, and waste to the nearest whole piece. order: what is needed less what is bought, in packs where it comes in packs.".into());
    table.notes.push("Cable is ordered as the reels of the sheet 'reels'; its lengths carry allowance and make-up already.".into());
    table
}

/// Cable with its length, then each size of reel to order.
fn cable_rows(design: &Design, cable: &CableMaterial) -> Vec<Row> {
    let unknown = cable.from.iter().filter(|source| source.length.is_none()).count();
    let name = match unknown {
        0 => Cell::from(cable.name.clone()),
        n => Cell::Flag(Weight::Caution, format!("{}, {n} of unknown length not in it", cable.name).into()),
    };
    let length = cable.length.shown(design.job.project.units);
    let sizes = reels_to_buy(cable);
    let unplanned =
        cable.to_cut.as_ref().is_some_and(|plan| plan.unplanned.is_some() || !plan.too_long.is_empty());
    let row = |name: Cell, counted: Cell, count: Cell, unit: String| {
        Row::new(vec![
            Cell::from(&cable.part.id),
            name,
            counted.clone(),
            Cell::Blank,
            counted,
            Cell::Blank,
            count,
            Cell::from(unit),
            Cell::text(Phase::Rough.key()),
        ])
        .about(cable.part.clone())
    };
    let mut rows = Vec::new();
    for (at, (size, count)) in sizes.iter().enumerate() {
        let unit = format!("{} reel", size.shown(design.job.project.units));
        let count = Cell::Count(i64::try_from(*count).unwrap_or(i64::MAX));
        let (name, counted) =
            if at == 0 { (name.clone(), Cell::from(length.clone())) } else { (Cell::Blank, Cell::Blank) };
        rows.push(row(name, counted, count, unit));
    }
    if rows.is_empty() {
        let count = if unplanned { Cell::Unknown } else { Cell::Count(0) };
        rows.push(row(name, Cell::from(length), count, "reels".into()));
    } else if unplanned {
        rows.push(row(
            Cell::Flag(Weight::Caution, "some cuts are on no reel".into()),
            Cell::Blank,
            Cell::Unknown,
            "reels".into(),
        ));
    }
    rows
}

fn unit_words(made: &Material) -> String {
    match made.pack {
        Some(pack) => format!("pack of {pack}"),
        None => "each".into(),
    }
}

/// What is still to be ordered, a section for each phase.
fn orders(design: &Design, takeoff: &Takeoff) -> Table {
    let mut table = Table::new(
        "orders",
        "Orders by phase",
        vec![
            Column::text("done", "").width(3, 3),
            Column::figure("order", "order").width(5, 8),
            Column::text("unit", "as").width(6, 14),
            Column::text("part", "part").width(6, 14),
            Column::text("name", "").width(14, 44).grow(),
        ],
    );
    for phase in Phase::ALL {
        let mut rows = Vec::new();
        if phase == Phase::Rough {
            for cable in &takeoff.cables {
                rows.extend(reels_to_buy(cable).into_iter().map(|(length, count)| {
                    Row::new(vec![
                        Cell::Tick,
                        Cell::Count(i64::try_from(count).unwrap_or(i64::MAX)),
                        Cell::from(format!("{} reel", length.shown(design.job.project.units))),
                        Cell::from(&cable.part.id),
                        Cell::from(cable.name.clone()),
                    ])
                    .about(cable.part.clone())
                }));
            }
        }
        let of_phase = takeoff.materials.iter().filter(|made| made.phase == phase);
        let wanted = of_phase.filter(|made| made.order.is_none_or(|order| !order.is_zero()));
        rows.extend(wanted.map(|made| {
            let (count, unit) = match made.order {
                Some(order) => (quantity(order), unit_words(made)),
                None => (Cell::Unknown, "not chosen".into()),
            };
            let key = Cell::from(made.part.as_ref().map_or("", |_| made.key.as_str()));
            let row = Row::new(vec![Cell::Tick, count, Cell::from(unit), key, unchosen(made)]);
            about(row, made.part.as_ref())
        }));
        if !rows.is_empty() {
            let heading = match phase {
                Phase::Rough => "For rough-in",
                Phase::Panel => "For the panel",
                Phase::Trim => "For trim",
            };
            table = table.with_section(Section::headed(heading, rows).keyed(phase.key()));
        }
    }
    table
}

/// Parts by room.
fn rooms(design: &Design, takeoff: &Takeoff) -> Table {
    let mut table = Table::new(
        "rooms",
        "Materials by room",
        vec![
            Column::text("part", "part").width(6, 14),
            Column::text("name", "").width(14, 44).grow(),
            Column::figure("counted", "counted").width(6, 10),
        ],
    );
    let rooms = design.job.levels.iter().flat_map(|level| &level.rooms);
    let all = rooms.map(|room| (Some(&room.id), called(&room.name, &room.id)));
    for (room, name) in all.chain([(None, "The whole house".to_owned())]) {
        let here = |other: Option<&Id>| match (room, other) {
            (Some(room), Some(other)) => room.same(other),
            (None, None) => true,
            _ => false,
        };
        let mut rows = Vec::new();
        for cable in &takeoff.cables {
            let mine: Vec<_> = cable.from.iter().filter(|source| here(source.room.as_ref())).collect();
            if mine.is_empty() {
                continue;
            }
            let ticks: Option<i64> = mine.iter().map(|source| source.length.map(Length::ticks)).sum();
            let length = ticks.map(|ticks| Length::from_ticks(ticks, design.job.project.units));
            let length = length.map(|length| length.shown(design.job.project.units));
            let length = length.map_or(Cell::Unknown, Cell::from);
            let row = vec![Cell::from(&cable.part.id), Cell::from(cable.name.clone()), length];
            rows.push(Row::new(row).about(cable.part.clone()));
        }
        for made in &takeoff.materials {
            let mine = made.from.iter().filter(|source| here(source.room.as_ref()));
            let sum = mine.fold(Decimal::ZERO, |sum, source| sum.checked_add(source.quantity).unwrap_or(sum));
            if !sum.is_zero() {
                let key = Cell::from(made.part.as_ref().map_or("", |_| made.key.as_str()));
                rows.push(about(Row::new(vec![key, unchosen(made), quantity(sum)]), made.part.as_ref()));
            }
        }
        if !rows.is_empty() {
            let key = room.map_or("whole house", Id::as_str);
            table = table.with_section(Section::headed(name, rows).keyed(key));
        }
    }
    table.notes.push(
        "Waste is in no room. A cable counts in the room of the wall box that it goes to or leaves from."
            .into(),
    );
    table
}
