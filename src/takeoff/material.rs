//! A part that the job needs, counted: what kind it is, what it was counted from, what is ordered of it.

use super::amount::Amount;
use super::places::Source;
use crate::job::Subject;
use crate::job::catalogue::Phase;
use rust_decimal::Decimal;
use std::num::NonZeroU32;

/// What kind of part a line is of, in the order of the sheet.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Group {
    /// Wall and ceiling boxes.
    Boxes,
    /// Small parts.
    SmallParts,
    /// Supplies.
    Supplies,
    /// Controls.
    Controls,
    /// Fixtures, and ceiling boxes whose fixture is still open.
    Fixtures,
}

impl Group {
    /// Every group in order.
    pub const ALL: [Self; 5] =
        [Self::Boxes, Self::SmallParts, Self::Supplies, Self::Controls, Self::Fixtures];

    /// Its name on paper.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Boxes => "Boxes",
            Self::SmallParts => "Small parts",
            Self::Supplies => "Supplies",
            Self::Controls => "Controls",
            Self::Fixtures => "Fixtures",
        }
    }

    /// Its name for machines.
    pub const fn key(self) -> &'static str {
        match self {
            Self::Boxes => "boxes",
            Self::SmallParts => "small-parts",
            Self::Supplies => "supplies",
            Self::Controls => "controls",
            Self::Fixtures => "fixtures",
        }
    }
}

/// A part that the job needs.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Material {
    /// What kind of part.
    pub group: Group,
    /// Its name in `materials/KEY/quantity`: its id, with the kind before it where two kinds have the same.
    pub key: String,
    /// The catalogue entry; none where the job has not chosen one.
    pub part: Option<Subject>,
    /// What people call it.
    pub name: String,
    /// When it is needed.
    pub phase: Phase,
    /// What it was counted from.
    pub from: Vec<Source>,
    /// Things it would be counted from whose number is unknown, as cable of unknown length.
    pub uncounted: usize,
    /// The count.
    pub counted: Decimal,
    /// What is bought beyond the count, in percent.
    pub waste_percent: Decimal,
    /// Whole pieces, waste in it.
    pub quantity: Decimal,
    /// Pieces that are bought at once.
    pub pack: Option<NonZeroU32>,
    /// Pieces bought already.
    pub bought: u32,
    /// Packs, or pieces where there are none, that are still to be ordered; none where the part is not chosen.
    pub order: Option<Decimal>,
    /// What a pack, or a piece where there are none, costs.
    pub price: Option<Decimal>,
    /// Pieces at that price.
    pub cost: Amount,
}

impl Material {
    /// What one piece costs; none where the price is not known.
    pub fn each(&self) -> Option<Decimal> {
        self.price?.checked_div(Decimal::from(self.pack.map_or(1, NonZeroU32::get)))
    }
}
