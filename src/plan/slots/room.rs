//! How many more supplies a panel takes as it is.

use super::{stretches, taken, width};
use crate::design::Design;
use crate::job::panel::Panel;

/// Free slots of a panel, in stretches.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Room {
    stretches: Vec<u32>,
    spare: u32,
}

impl Room {
    /// The room in a panel beside the supplies it has. Those not placed yet take their slots at the end; where some
    /// overlap, only the sum is reckoned with.
    pub fn of(design: &Design, panel: &Panel) -> Self {
        let spare = u32::from(panel.spare_slots);
        if let Some(taken) = taken(design, panel, false) {
            let free = stretches(&taken, panel.slots.get());
            return Self { stretches: free.iter().map(|(a, b)| u32::from(b - a + 1)).collect(), spare };
        }
        let used: u32 = panel.supplies.iter().map(|supply| u32::from(width(design, supply))).sum();
        Self { stretches: vec![u32::from(panel.slots.get()).saturating_sub(used)], spare }
    }

    /// Slots that may be used.
    pub fn free(&self) -> u32 {
        self.stretches.iter().sum::<u32>().saturating_sub(self.spare)
    }

    /// How many more supplies of so many slots fit.
    pub fn more(&self, width: u32) -> usize {
        let width = width.max(1);
        let whole: u32 = self.stretches.iter().map(|stretch| stretch / width).sum();
        usize::try_from(whole.min(self.free() / width)).unwrap_or(usize::MAX)
    }
}

/// The first slot at which a supply of that width fits, beside those in the panel and others that are to come; none
/// where it does not.
pub fn first_free(design: &Design, panel: &Panel, width: u16, others: &[(u16, u16)]) -> Option<u16> {
    let mut all = taken(design, panel, false)?;
    all.extend(others.iter().map(|&(first, width)| (first, first.saturating_add(width.max(1) - 1))));
    all.sort_unstable();
    stretches(&all, panel.slots.get())
        .into_iter()
        .find(|(first, last)| last - first + 1 >= width.max(1))
        .map(|(first, _)| first)
}
