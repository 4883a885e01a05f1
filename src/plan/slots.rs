//! Slots: where supplies sit in their panels, and which panel each run comes from.
//!
//! Pinned supplies stay where they are. The others are placed by width so that what is left is one stretch that can be
//! used, Class 2 from the first slot on and other supplies from the last one back. No supply is moved while nothing is
//! wrong. What hangs on the outputs of a supply is put in the order of the house as long as nothing of it is landed.

mod order;
mod panels;
mod room;

pub use order::OutputMove;
pub use panels::{NewPanel, PanelChange, PanelPlan, panels};
pub use room::{Room, first_free};

use super::balance::Problem;
use crate::design::Design;
use crate::job::catalogue::OutputKind;
use crate::job::edit::Edit;
use crate::job::panel::{Panel, Supply};
use crate::job::{Kind, Subject};
use serde::Serialize;
use std::collections::HashMap;

/// A supply that changes its slot.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct SlotMove {
    /// The supply.
    pub supply: String,
    /// Its panel.
    pub panel: String,
    /// Its first slot today; null while it is not placed.
    pub from: Option<u16>,
    /// Its first slot then.
    pub to: u16,
}

/// Slots of a panel that nothing is in.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct FreeSlots {
    /// The panel.
    pub panel: String,
    /// The first slot.
    pub first: u16,
    /// The last slot.
    pub last: u16,
    /// Slots that the job wants kept free in this panel.
    pub kept_free: u16,
}

/// Where supplies should sit.
#[derive(Debug, Clone, PartialEq, Default, Serialize)]
pub struct SlotPlan {
    /// Supplies that change their slot.
    pub moves: Vec<SlotMove>,
    /// Runs that change their output within a supply, so that neighbours in the house are neighbours in the panel.
    pub outputs: Vec<OutputMove>,
    /// What is free then, in panels where everything has its place.
    pub free: Vec<FreeSlots>,
    /// Panels in which something cannot be placed.
    pub problems: Vec<Problem>,
    /// What accepting it does to the job; none if it changes nothing.
    #[serde(skip)]
    pub edit: Option<Edit>,
}

/// Everything that is proposed about panels.
#[derive(Debug, Clone, PartialEq, Default, Serialize)]
pub struct Arrangement {
    /// Where supplies sit, and the order of their outputs.
    pub slots: SlotPlan,
    /// Which panel each home run comes from.
    pub panels: PanelPlan,
}

/// Proposes both.
pub fn arrangement(design: &Design) -> Arrangement {
    Arrangement { slots: arrange(design), panels: panels(design) }
}

/// Places the supplies of every panel, and puts what hangs on their outputs in the order of the house.
pub fn arrange(design: &Design) -> SlotPlan {
    let mut plan = SlotPlan::default();
    for panel in &design.job.panels {
        arrange_panel(design, panel, &mut plan);
    }
    plan.outputs = order::outputs(design);
    let slots = plan.moves.iter().map(|one| Edit::Set {
        subject: Subject::new(Kind::Supply, &one.supply),
        field: "slot".into(),
        value: one.to.into(),
    });
    let edits: Vec<Edit> = slots.chain(plan.outputs.iter().map(OutputMove::edit)).collect();
    plan.edit = (!edits.is_empty()).then_some(Edit::Together(edits));
    plan
}

/// Slots that a supply takes; 1 where its part is unknown.
pub(super) fn width(design: &Design, supply: &Supply) -> u16 {
    design.index.supply_type(&design.job, &supply.part).map_or(1, |part| part.slots.get().into())
}

fn line_side(design: &Design, supply: &Supply) -> bool {
    let part = design.index.supply_type(&design.job, &supply.part);
    part.is_some_and(|part| part.kind == OutputKind::NotClass2)
}

/// The slots that are taken by those supplies, first and last; none where two overlap or one is out of range.
fn taken(design: &Design, panel: &Panel, pinned_only: bool) -> Option<Vec<(u16, u16)>> {
    let mut taken: Vec<(u16, u16)> = Vec::new();
    for supply in panel.supplies.iter().filter(|supply| supply.pinned || !pinned_only) {
        let Some(first) = supply.slot.map(std::num::NonZeroU16::get) else {
            if pinned_only {
                continue;
            }
            return None;
        };
        let last = first.checked_add(width(design, supply) - 1)?;
        if last > panel.slots.get() || taken.iter().any(|&(a, b)| first <= b && a <= last) {
            return None;
        }
        taken.push((first, last));
    }
    taken.sort_unstable();
    Some(taken)
}

/// Stretches of slots between those taken, first and last.
fn stretches(taken: &[(u16, u16)], slots: u16) -> Vec<(u16, u16)> {
    let mut free = Vec::new();
    let mut next = 1_u16;
    for &(first, last) in taken {
        if first > next {
            free.push((next, first - 1));
        }
        next = next.max(last.saturating_add(1));
    }
    if next <= slots {
        free.push((next, slots));
    }
    free
}

/// The narrowest supply of the catalogue: a stretch of fewer slots is of no use.
fn narrowest(design: &Design) -> u16 {
    design.job.catalogue.supplies.iter().map(|part| part.slots.get().into()).min().unwrap_or(1)
}

fn arrange_panel(design: &Design, panel: &Panel, plan: &mut SlotPlan) {
    let least = narrowest(design);
    if let Some(all) = taken(design, panel, false)
        && stretches(&all, panel.slots.get()).iter().all(|(first, last)| last - first + 1 >= least)
        && sides_apart(design, panel, &[])
    {
        plan.free.extend(free_slots(panel, &all));
        return;
    }
    let refuse = |plan: &mut SlotPlan, what: String, remedy: &str| {
        plan.problems.push(Problem { what, remedy: remedy.into(), runs: Vec::new() });
    };
    let Some(pinned) = taken(design, panel, true) else {
        let what = format!(
            "pinned supplies of panel {} overlap or reach beyond its {} slots",
            panel.id, panel.slots
        );
        return refuse(plan, what, "unpin one of them");
    };
    let free = stretches(&pinned, panel.slots.get());
    let mut moving: Vec<&Supply> =
        panel.supplies.iter().filter(|supply| !supply.pinned || supply.slot.is_none()).collect();
    // As they sit today, unplaced ones last; line side at the end.
    moving.sort_by_key(|supply| (line_side(design, supply), supply.slot.is_none(), supply.slot));
    let widths: Vec<u16> = moving.iter().map(|supply| width(design, supply)).collect();
    let total: u32 = widths.iter().copied().map(u32::from).sum();
    let room: u32 = free.iter().map(|(first, last)| u32::from(last - first + 1)).sum();
    let Some(chosen) = fill(&widths, &free, least) else {
        let what = format!(
            "the supplies of panel {} take {total} slots where {room} are free, and cannot all be placed",
            panel.id
        );
        return refuse(plan, what, "move a supply to another panel, or unpin one");
    };
    if room < total + u32::from(panel.spare_slots) {
        let what = format!("panel {} keeps {} slots free, not {}", panel.id, room - total, panel.spare_slots);
        refuse(plan, what, "move a supply to another panel, or ask for fewer spare slots");
    }
    let mut all = pinned;
    let before = plan.moves.len();
    let mut next: Vec<u16> = free.iter().map(|(first, _)| *first).collect();
    let mut end: Vec<u16> = free.iter().map(|(_, last)| *last).collect();
    for ((supply, &width), &stretch) in moving.iter().zip(&widths).zip(&chosen) {
        let to = if line_side(design, supply) {
            end[stretch] -= width;
            end[stretch] + 1
        } else {
            next[stretch] += width;
            next[stretch] - width
        };
        all.push((to, to.saturating_add(width - 1)));
        let from = supply.slot.map(std::num::NonZeroU16::get);
        if from != Some(to) {
            plan.moves.push(SlotMove {
                supply: supply.id.to_string(),
                panel: panel.id.to_string(),
                from,
                to,
            });
        }
    }
    all.sort_unstable();
    plan.free.extend(free_slots(panel, &all));
    if !sides_apart(design, panel, &plan.moves[before..]) {
        let what = format!("supplies of panel {} that are not Class 2 stay among those that are", panel.id);
        refuse(plan, what, "unpin the supplies that keep their slots there");
    }
}

fn free_slots(panel: &Panel, taken: &[(u16, u16)]) -> Vec<FreeSlots> {
    let free = stretches(taken, panel.slots.get()).into_iter();
    free.map(|(first, last)| FreeSlots {
        panel: panel.id.to_string(),
        first,
        last,
        kept_free: panel.spare_slots,
    })
    .collect()
}

/// Whether every supply beyond Class 2 sits on one side of all that are Class 2, after these moves.
fn sides_apart(design: &Design, panel: &Panel, moves: &[SlotMove]) -> bool {
    let slot = |supply: &Supply| {
        let then = moves.iter().find(|one| supply.id.as_str() == one.supply).map(|one| one.to);
        then.or(supply.slot.map(std::num::NonZeroU16::get))
    };
    let mut sides: Vec<(u16, bool)> =
        panel.supplies.iter().filter_map(|supply| Some((slot(supply)?, line_side(design, supply)))).collect();
    sides.sort_unstable();
    sides.windows(2).filter(|pair| pair[0].1 != pair[1].1).count() <= 1
}

/// The stretch each width goes into, so that as little as possible is left in pieces too narrow to use; exact, over
/// how many of each width are left. `None` if they do not all fit.
fn fill(widths: &[u16], free: &[(u16, u16)], least: u16) -> Option<Vec<usize>> {
    let mut kinds: Vec<u16> = widths.to_vec();
    kinds.sort_unstable();
    kinds.dedup();
    let counts: Vec<u16> = kinds
        .iter()
        .map(|kind| u16::try_from(widths.iter().filter(|width| *width == kind).count()).unwrap_or(u16::MAX))
        .collect();
    let lengths: Vec<u16> = free.iter().map(|(first, last)| last - first + 1).collect();
    let mut search = Filler { kinds: &kinds, lengths: &lengths, least, known: HashMap::new() };
    search.best(0, &counts)?;
    let (mut left, mut into) = (counts, vec![Vec::new(); kinds.len()]);
    for stretch in 0..lengths.len() {
        let (_, used) = search.best(stretch, &left)?;
        for (kind, &n) in used.iter().enumerate() {
            left[kind] -= n;
            into[kind].extend(std::iter::repeat_n(stretch, n.into()));
        }
    }
    for list in &mut into {
        list.reverse();
    }
    widths.iter().map(|width| into[kinds.iter().position(|kind| kind == width)?].pop()).collect()
}

/// What is wasted from a stretch on, and how many of each width go into it.
type Filling = Option<(u32, Vec<u16>)>;

struct Filler<'a> {
    kinds: &'a [u16],
    lengths: &'a [u16],
    least: u16,
    known: HashMap<(usize, Vec<u16>), Filling>,
}

impl Filler<'_> {
    fn best(&mut self, stretch: usize, left: &[u16]) -> Filling {
        if stretch == self.lengths.len() {
            return left.iter().all(|&n| n == 0).then(|| (0, vec![0; left.len()]));
        }
        if let Some(known) = self.known.get(&(stretch, left.to_vec())) {
            return known.clone();
        }
        let mut best: Filling = None;
        let mut used = vec![0; left.len()];
        loop {
            let filled: u32 =
                used.iter().zip(self.kinds).map(|(&n, &kind)| u32::from(n) * u32::from(kind)).sum();
            let length = u32::from(self.lengths[stretch]);
            if filled <= length {
                let after: Vec<u16> = left.iter().zip(&used).map(|(a, b)| a - b).collect();
                if let Some((later, _)) = self.best(stretch + 1, &after) {
                    let rest = length - filled;
                    let waste = later + if rest < u32::from(self.least) { rest } else { 0 };
                    // As much as possible in the earlier stretches: what is left is then in one piece.
                    if best.as_ref().is_none_or(|(least, own)| {
                        (waste, own) < (*least, &used)
                            || (waste == *least
                                && filled
                                    > own
                                        .iter()
                                        .zip(self.kinds)
                                        .map(|(&n, &kind)| u32::from(n) * u32::from(kind))
                                        .sum())
                    }) {
                        best = Some((waste, used.clone()));
                    }
                }
            }
            // Count up in the mixed base of how many there are.
            let Some(kind) = (0..used.len()).find(|&kind| used[kind] < left[kind]) else { break };
            used[kind] += 1;
            used[..kind].fill(0);
        }
        self.known.insert((stretch, left.to_vec()), best.clone());
        best
    }
}
