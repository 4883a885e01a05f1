//! Takeoff and price: what has to be bought and done for a job, what it was counted from, and what it comes to.
//!
//! It takes a design and gives typed rows; it lays out nothing. Money is exact decimal: every line is rounded half up to
//! the cent once, and totals add lines. An amount that hangs on an unknown price is unknown, and so is every total that
//! holds it: an [`Amount`] says what is known at least, and how many figures are missing.

mod alternates;
mod amount;
mod cables;
mod count;
mod entry;
mod explain;
mod joints;
mod labor;
mod material;
mod more;
mod places;
mod price;
mod rooms;
mod walk;

pub use alternates::{Alternate, alternates};
pub use amount::Amount;
pub use cables::{CableMaterial, CableSource};
pub use explain::explain;
pub use joints::Joint;
pub use labor::Task;
pub use material::{Group, Material};
pub use more::more;
pub use places::{Source, split};
pub use price::{Bid, Sums, Takeoff, marked_up, price, take_off};
pub use rooms::RoomShare;

use crate::design::Design;
use crate::job::catalogue::CableType;
use crate::job::{Id, Index, Job, Subject};
use rust_decimal::Decimal;

/// What is counted from: the job and where each thing stands in it. No figure of the study is needed.
#[derive(Debug, Clone, Copy)]
struct Facts<'a> {
    job: &'a Job,
    index: &'a Index,
}

impl<'a> Facts<'a> {
    fn of(design: &'a Design) -> Self {
        Self { job: &design.job, index: &design.index }
    }
}

/// Every part that a job needs but cable. No reel is planned for it.
pub fn parts(design: &Design) -> Vec<Material> {
    count::materials(Facts::of(design))
}

/// Every task that a job needs.
pub fn tasks(design: &Design) -> Vec<Task> {
    labor::labor(Facts::of(design))
}

/// Every cable as it was planned, with the room it is counted in and its length, if that is known.
pub fn cable_lengths(design: &Design) -> Vec<CableSource> {
    walk::cable_lengths(Facts::of(design))
        .into_iter()
        .map(|(subject, room, length)| CableSource {
            subject,
            room,
            length: length.map(|length| length.length),
        })
        .collect()
}

/// The type of a cable; none where the job has no such cable.
pub fn cable_type<'a>(design: &'a Design, cable: &Subject) -> Option<&'a Id> {
    cables::type_of(Facts::of(design), cable)
}

/// What so many ticks of a cable type cost from the reel that is cheapest by length; none where no reel has a price.
pub fn cost_of_length(cable: &CableType, ticks: Decimal) -> Option<Decimal> {
    let (price, of) = cables::lowest_for_length(cable)?;
    price.checked_mul(ticks)?.checked_div(of)
}

/// Every joint of a job: conductors joined or capped, in the order of the file.
pub fn joints(design: &Design) -> Vec<Joint> {
    joints::joints(Facts::of(design))
}
