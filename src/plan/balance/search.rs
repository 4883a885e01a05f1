//! The search as a view wants it: a good answer at once, better ones as they come, an end whenever a person has enough.
//!
//! It is the search of the command line with more and more steps. Where it is let run, its answer is the command
//! line's, or a better one.

use super::what_if::Asked;
use super::{Options, Plan, plan_of};
use crate::design::Design;

/// Steps of each round. The round before the last is what the command line takes.
const ROUNDS: [u64; 4] = [20_000, 200_000, super::STEPS, 10 * super::STEPS];

/// The first round of which it is believed that nothing fits.
const SURE: u64 = super::STEPS;

/// What is told while it searches.
#[derive(Debug, Clone)]
pub enum News {
    /// How far it has come, in whole percent; told many times.
    Progress(u8),
    /// A plan at least as good as those before.
    Better(Box<Plan>),
    /// It is over: nothing better exists, the steps are used up, or it was told to end.
    Done,
}

/// Searches until nothing better exists or the steps are used up. `tell` gets the news, and ends it by saying `false`;
/// the best plan so far was told by then, but for the very first round, which ends with what it has.
pub fn search(design: &Design, asked: &Asked, tell: &mut dyn FnMut(News) -> bool) {
    let all: u64 = ROUNDS.iter().sum();
    let (mut best, mut before) = (None::<Plan>, 0);
    for steps in ROUNDS {
        let options = Options { steps, ..Options::default() };
        let mut on = true;
        let plan = {
            let mut watch = |progress: crate::plan::packing::Progress| {
                let percent = (before + progress.done) * 100 / all;
                on &= tell(News::Progress(u8::try_from(percent).unwrap_or(100)));
                on
            };
            plan_of(design, asked.loads.clone(), asked.without.as_ref(), &options, Some(&mut watch))
        };
        before += steps;
        let doubtful = plan.is_short() && steps < SURE && on;
        if !doubtful && best.as_ref().is_none_or(|best| plan.rank() <= best.rank()) {
            best = Some(plan.clone());
            on &= tell(News::Better(Box::new(plan)));
        }
        let proved = best.as_ref().is_some_and(Plan::proved);
        if !on || (steps >= SURE && (proved || best.as_ref().is_some_and(Plan::is_short))) {
            break;
        }
    }
    tell(News::Done);
}
