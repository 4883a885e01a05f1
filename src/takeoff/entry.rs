//! What the catalogue says of a part that is bought, whatever its kind.

use crate::job::catalogue::{BoxType, ControlType, FixtureType, Phase, SmallPart, SupplyType};
use crate::job::{Id, Kind};
use crate::units::{Money, Rate};
use std::num::NonZeroU32;

/// An entry as far as buying goes.
pub(super) struct Entry<'a> {
    pub id: &'a Id,
    pub name: &'a str,
    pub kind: Kind,
    /// When it is needed.
    pub phase: Phase,
    /// What a pack costs, or a piece where there are none.
    pub price: Option<Money>,
    /// Pieces that are bought at once.
    pub pack: Option<NonZeroU32>,
    /// Pieces bought already.
    pub bought: u32,
    /// What is bought beyond the count.
    pub waste: Rate,
}

/// A part of the catalogue that is bought.
pub(super) trait Bought {
    /// The part, with so much waste.
    fn entry(&self, waste: Rate) -> Entry<'_>;
}

macro_rules! bought {
    ($($part:ident as $kind:ident in $phase:expr;)*) => {$(
        impl Bought for $part {
            fn entry(&self, waste: Rate) -> Entry<'_> {
                let Self { id, name, price, pack, bought, .. } = self;
                let phase: fn(&Self) -> Phase = $phase;
                Entry {
                    id,
                    name,
                    kind: Kind::$kind,
                    phase: phase(self),
                    price: *price,
                    pack: *pack,
                    bought: *bought,
                    waste,
                }
            }
        }
    )*};
}

bought! {
    BoxType as BoxType in |_| Phase::Rough;
    SmallPart as SmallPart in |part| part.phase;
    SupplyType as SupplyType in |_| Phase::Panel;
    ControlType as ControlType in |_| Phase::Trim;
    FixtureType as FixtureType in |_| Phase::Trim;
}
