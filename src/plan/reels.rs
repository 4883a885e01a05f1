//! Which cut from which reel: the cheapest reels that hold all cuts, then the least left over.
//!
//! Cables of one type are cut from reels of the sizes that can be bought, at their prices, and from reels that are on
//! hand, at none. It is bin packing with bins of several sizes and prices. What is found can always be cut; whether
//! anything cheaper exists is said by the bound beside it, which no plan can beat. The search stops on a count of
//! steps, never on a clock.

mod fill;
mod gather;
mod search;

pub use gather::{CablePlan, Cut, ReelFrom, ReelPlan, STEPS, Scope, Unplanned, is_pulled, plan};
pub use search::{Answer, Problem, Size, Used, solve};
