//! From a solved plan to a proposal: which point of the curve, what moves, and the edit that accepts it.

use super::gather::{Gathered, Load, Zone, tenths_to_unit};
use super::unlanded::free_id;
use super::{
    CurvePoint, FreeSupply, Move, NewSupply, Options, OutputLoad, Plan, Proposal, Solved, output_name,
};
use crate::design::Design;
use crate::job::edit::Edit;
use crate::job::wiring::OutputRef;
use crate::job::{Id, Kind, Subject};
use crate::plan::packing::{self, Budget, Curve, Instance, Packing, Point, Shortage};
use crate::plan::slots;
use crate::study::OutputStudy;
use serde_json::json;
use std::collections::BTreeMap;

/// The default point: the fewest moves that come so near the best, in percent of it.
const NEAR_PERCENT: f64 = 2.0;

/// Solves within targets; where that is impossible, within limits.
pub(super) fn solve_zone(instance: &Instance, budget: &mut Budget<'_>) -> Result<Solved, Shortage> {
    match packing::solve(instance, budget) {
        Ok(packing) => Ok(Solved { packing, over_target: false }),
        Err(shortage) => match packing::solve(&instance.at_limits(), budget) {
            Ok(packing) => Ok(Solved { packing, over_target: true }),
            Err(at_limits @ (Shortage::TooFew { .. } | Shortage::TooMuchTogether(_))) => Err(at_limits),
            Err(_) => Err(shortage),
        },
    }
}

/// Leaves fewer slots to the zones of the same panel that come after.
pub(super) fn take_slots(gathered: &mut Gathered, at: usize, solved: Option<&Solved>) {
    let Some(solved) = solved else { return };
    let zone = &gathered.zones[at];
    let panel = zone.class.panel;
    let new = solved.packing.opened.iter().filter(|opened| opened.present.is_none());
    let taken: u32 = new.map(|opened| zone.instance.kinds[opened.kind].slots).sum();
    for later in gathered.zones.iter_mut().skip(at + 1).filter(|zone| zone.class.panel == panel) {
        for kind in &mut later.instance.kinds {
            let fewer = taken.div_ceil(kind.slots.max(1));
            kind.more = kind.more.saturating_sub(usize::try_from(fewer).unwrap_or(usize::MAX));
        }
    }
}

pub(super) fn percent(height: u64, scale: u64) -> f64 {
    tenths_to_unit(height) / tenths_to_unit(scale.max(1)) * 100.0
}

impl Plan {
    /// The curve of the whole job: the moves go to the panels where they help most.
    pub fn curve(&self) -> Vec<CurvePoint> {
        let curves: Vec<Curve> = self
            .solved
            .iter()
            .map(|solved| {
                let packing = &solved.packing;
                let share = |height: u64| percent(height, packing.scale);
                Curve {
                    points: packing.curve.iter().map(|point| (point.moves, share(point.height))).collect(),
                    bounds: packing.curve_bounds.iter().map(|&bound| share(bound)).collect(),
                }
            })
            .collect();
        let joined = packing::merge(&curves);
        joined
            .into_iter()
            .map(|(moves, max_percent, bound_percent)| CurvePoint { moves, max_percent, bound_percent })
            .collect()
    }

    /// Which point of [`curve`](Self::curve) is proposed where nobody chose one.
    pub fn usual(&self) -> Option<usize> {
        usual(&self.curve())
    }

    /// The proposal for at most so many moves of landed wires, or for the fewest that come within 2 % of the best.
    /// Where limits ask for more moves than that, the fewest that they ask for.
    pub fn proposal(&self, design: &Design, options: &Options) -> Proposal {
        if !self.problems.is_empty() {
            return self.refused();
        }
        let curve = self.curve();
        let chosen = match options.moves {
            Some(most) => curve.iter().rev().find(|point| point.moves <= most).or(curve.first()),
            None => usual(&curve).and_then(|at| curve.get(at)),
        };
        let mut proposal = Proposal {
            feasible: true,
            supplies: Some(self.solved.iter().map(|solved| solved.packing.opened.len()).sum()),
            supplies_bound: Some(self.solved.iter().map(|solved| solved.packing.supplies_bound).sum()),
            unspread: self.solved.iter().map(|solved| solved.packing.unspread).sum(),
            unspread_bound: self.solved.iter().map(|solved| solved.packing.unspread_bound).sum(),
            max_percent: chosen.map(|point| point.max_percent),
            bound_percent: chosen.map(|point| point.bound_percent),
            ..self.refused()
        };
        let mut builder =
            Builder { design, plan: self, proposal: &mut proposal, inserts: vec![], sets: vec![], taken: 0 };
        let level = chosen.map_or(f64::INFINITY, |point| point.max_percent);
        for at in 0..self.solved.len() {
            builder.zone(at, level);
        }
        let mut edits: Vec<Edit> = builder.inserts.into_iter().chain(builder.sets).collect();
        emptied_outputs(design, &mut proposal);
        proposal.free_supplies = free_supplies(design, &proposal, options.take_out);
        let out = proposal.free_supplies.iter().filter(|free| free.taken_out);
        edits.extend(out.map(|free| Edit::Remove { subject: Subject::new(Kind::Supply, &free.supply) }));
        proposal.edit = (!edits.is_empty()).then_some(Edit::Together(edits));
        if let Some(point) = chosen {
            let scale = self.solved.iter().map(|solved| solved.packing.scale).max().unwrap_or(1);
            let step = percent(1, scale);
            proposal.gap_percent = Some(if point.max_percent > 0.0 {
                (point.max_percent - point.bound_percent) / point.max_percent * 100.0
            } else {
                0.0
            });
            proposal.optimal = proposal.supplies <= proposal.supplies_bound
                && proposal.unspread <= proposal.unspread_bound
                && point.max_percent - point.bound_percent <= step * (1.0 + 1e-9);
        } else {
            // There is nothing to place.
            (proposal.optimal, proposal.gap_percent) = (true, Some(0.0));
            (proposal.max_percent, proposal.bound_percent) = (Some(0.0), Some(0.0));
        }
        proposal.outputs.sort_by_key(|output| place(design, &output.output));
        proposal.landed_moves = proposal.moves.iter().map(|one| u32::from(one.landed)).sum();
        proposal.curve = curve;
        proposal
    }

    fn refused(&self) -> Proposal {
        Proposal {
            feasible: false,
            optimal: false,
            gap_percent: None,
            supplies: None,
            supplies_bound: None,
            max_percent: None,
            bound_percent: None,
            unspread: 0,
            unspread_bound: 0,
            over_target: Vec::new(),
            landed_moves: 0,
            moves: Vec::new(),
            outputs: Vec::new(),
            new_supplies: Vec::new(),
            free_supplies: Vec::new(),
            curve: Vec::new(),
            problems: self.problems.clone(),
            edit: None,
        }
    }
}

/// The place of an output in the job, new supplies last.
fn place(design: &Design, output: &str) -> (usize, usize, String, u32) {
    let (supply, number) = output.rsplit_once('.').unwrap_or((output, "0"));
    let spot = Id::new(supply).ok().and_then(|id| design.index.spot(Kind::Supply, &id));
    let number = number.parse().unwrap_or(0);
    match spot {
        Some(crate::job::Spot::Supply { panel, supply }) => (panel, supply, String::new(), number),
        _ => (usize::MAX, 0, format!("{supply:>45}"), number),
    }
}

/// The point of a curve that is proposed where nobody chose one: the fewest moves within 2 % of the best.
pub(super) fn usual(curve: &[CurvePoint]) -> Option<usize> {
    let best = curve.last()?.max_percent;
    curve.iter().position(|point| point.max_percent <= best * (1.0 + NEAR_PERCENT / 100.0))
}

/// Outputs that carry something today and nothing then are shown too.
fn emptied_outputs(design: &Design, proposal: &mut Proposal) {
    for output in &design.study.outputs {
        let name = output.output.to_string();
        let shown = proposal.outputs.iter().any(|own| own.output.eq_ignore_ascii_case(&name));
        if let (Some(limit_watts), false, false) = (output.limit_watts, output.runs.is_empty(), shown) {
            proposal.outputs.push(OutputLoad {
                output: name,
                watts: 0.0,
                percent: 0.0,
                limit_watts,
                today_watts: output.watts,
                today_percent: output.percent,
                runs: Vec::new(),
            });
        }
    }
}

/// Supplies that nothing would be on.
fn free_supplies(design: &Design, proposal: &Proposal, take_out: bool) -> Vec<FreeSupply> {
    let on = |id: &Id, output: &str| {
        output.rsplit_once('.').is_some_and(|(supply, _)| supply.eq_ignore_ascii_case(id.as_str()))
    };
    let used =
        |id: &Id| proposal.outputs.iter().any(|output| !output.runs.is_empty() && on(id, &output.output));
    let today = |id: &Id| {
        design.study.outputs.iter().any(|output| !output.runs.is_empty() && output.output.supply.same(id))
    };
    let panels = design.job.panels.iter();
    let all = panels.flat_map(|panel| panel.supplies.iter().map(move |supply| (panel, supply)));
    all.filter(|(_, supply)| !used(&supply.id))
        .map(|(panel, supply)| {
            let slot = supply.slot.map(std::num::NonZeroU16::get);
            FreeSupply {
                supply: supply.id.to_string(),
                panel: panel.id.to_string(),
                slot,
                last_slot: slot.map(|slot| slot.saturating_add(slots::width(design, supply) - 1)),
                emptied: today(&supply.id),
                taken_out: take_out && !supply.pinned,
            }
        })
        .collect()
}

/// An output as it is today.
fn output_of<'a>(design: &'a Design, name: &str) -> Option<&'a OutputStudy> {
    let wanted: OutputRef = name.parse().ok()?;
    let same = |own: &OutputRef| own.number == wanted.number && own.supply.same(&wanted.supply);
    design.study.outputs.iter().find(|output| same(&output.output))
}

struct Builder<'a> {
    design: &'a Design,
    plan: &'a Plan,
    proposal: &'a mut Proposal,
    inserts: Vec<Edit>,
    sets: Vec<Edit>,
    /// Ids given to new supplies so far.
    taken: usize,
}

impl Builder<'_> {
    fn zone(&mut self, at: usize, level: f64) {
        let (zone, solved) = (&self.plan.gathered.zones[at], &self.plan.solved[at]);
        let packing = &solved.packing;
        let fits = |point: &&Point| percent(point.height, packing.scale) <= level * (1.0 + 1e-12);
        let Some(point) = packing.curve.iter().find(fits).or(packing.curve.last()) else { return };
        let panel = &self.design.job.panels[zone.class.panel];
        if solved.over_target {
            self.proposal.over_target.push(panel.id.to_string());
        }
        let supplies = self.supplies(zone, solved);
        let names = names(zone, solved, &supplies);
        let mut held: Vec<Vec<usize>> = vec![Vec::new(); names.len()];
        for (item, &bin) in point.at.iter().enumerate() {
            held[bin].extend(&zone.members[item]);
        }
        self.neighbours(zone, packing, point, &mut held);
        for (bin, own) in held.iter_mut().enumerate() {
            own.sort_unstable();
            let loads: Vec<&Load> = own.iter().map(|&load| &self.plan.gathered.loads[load]).collect();
            for load in &loads {
                self.moved(load, &names[bin]);
            }
            if loads.is_empty() {
                continue;
            }
            let watts = tenths_to_unit(loads.iter().map(|load| load.weight).sum());
            let limit_watts = tenths_to_unit(packing.bins[bin].limit);
            let today = output_of(self.design, &names[bin]);
            self.proposal.outputs.push(OutputLoad {
                today_watts: today.and_then(|output| output.watts),
                today_percent: today.and_then(|output| output.percent),
                output: names[bin].clone(),
                watts,
                percent: watts / limit_watts * 100.0,
                limit_watts,
                runs: loads.iter().map(|load| load.name.clone()).collect(),
            });
        }
    }

    /// Within each supply, exchanges what whole outputs hold so that neighbours in the house are neighbours in the
    /// panel; outputs on which something stays are left alone. Loads and spread are the same after it.
    fn neighbours(&self, zone: &Zone, packing: &Packing, point: &Point, held: &mut [Vec<usize>]) {
        let items = &zone.instance.items;
        let stays = |bin: usize| {
            let home = packing.homes[bin];
            home.is_some() && point.at.iter().zip(items).any(|(&at, item)| at == bin && item.home == home)
        };
        let room = |own: &Vec<usize>| {
            own.iter().filter_map(|&load| self.plan.gathered.loads[load].rooms.first()).min().copied()
        };
        for supply in 0..packing.opened.len() {
            let free: Vec<usize> =
                (0..held.len()).filter(|&bin| packing.bins[bin].supply == supply && !stays(bin)).collect();
            let mut contents: Vec<Vec<usize>> =
                free.iter().map(|&bin| std::mem::take(&mut held[bin])).collect();
            contents.sort_by_key(|own| (own.is_empty(), room(own), own.iter().min().copied()));
            for (bin, own) in free.into_iter().zip(contents) {
                held[bin] = own;
            }
        }
    }

    /// The id of each supply that is used; new ones are named and placed.
    fn supplies(&mut self, zone: &Zone, solved: &Solved) -> Vec<Id> {
        let panel = &self.design.job.panels[zone.class.panel];
        let mut ids = Vec::new();
        for opened in &solved.packing.opened {
            if let Some(present) = opened.present {
                ids.push(panel.supplies[zone.supplies[present]].id.clone());
                continue;
            }
            let part = &self.design.job.catalogue.supplies[zone.parts[opened.kind]];
            let mut id = free_id(self.design, "PS", self.taken + 1);
            while self.proposal.new_supplies.iter().any(|new| new.supply.eq_ignore_ascii_case(id.as_str())) {
                self.taken += 1;
                id = free_id(self.design, "PS", self.taken + 1);
            }
            let earlier: Vec<(u16, u16)> = self
                .proposal
                .new_supplies
                .iter()
                .filter(|new| new.panel == panel.id.as_str())
                .filter_map(|new| Some((new.slot?, self.width(&new.part))))
                .collect();
            let slot = slots::first_free(self.design, panel, part.slots.get().into(), &earlier);
            let mut value = json!({ "id": id, "part": part.id });
            if let (Some(slot), Some(fields)) = (slot, value.as_object_mut()) {
                fields.insert("slot".into(), slot.into());
            }
            self.inserts.push(Edit::Insert {
                kind: Kind::Supply,
                parent: Some(Subject::new(Kind::Panel, &panel.id)),
                at: usize::MAX,
                value,
            });
            self.proposal.new_supplies.push(NewSupply {
                supply: id.to_string(),
                part: part.id.to_string(),
                panel: panel.id.to_string(),
                slot,
            });
            ids.push(id);
        }
        ids
    }

    fn width(&self, part: &str) -> u16 {
        let part = Id::new(part).ok();
        let part = part.and_then(|id| self.design.index.supply_type(&self.design.job, &id));
        part.map_or(1, |part| part.slots.get().into())
    }

    fn moved(&mut self, load: &Load, to: &str) {
        let from = load.output.as_ref().map(ToString::to_string);
        if from.as_ref().is_some_and(|from| from.eq_ignore_ascii_case(to)) {
            return;
        }
        if load.run.is_some() {
            self.sets.push(Edit::Set {
                subject: Subject::new(Kind::Cable, &load.name),
                field: "from".into(),
                value: json!({ "Output": to }),
            });
        }
        self.proposal.moves.push(Move {
            run: load.name.clone(),
            from,
            to: to.to_owned(),
            landed: load.landed,
        });
    }
}

/// The name of each bin. Bins of a supply follow its outputs; where some are left out the others keep theirs.
fn names(zone: &Zone, solved: &Solved, supplies: &[Id]) -> Vec<String> {
    let mut next: BTreeMap<usize, usize> = BTreeMap::new();
    let starts = zone.instance.bins_of();
    let packing = &solved.packing;
    packing
        .bins
        .iter()
        .zip(&packing.homes)
        .map(|(bin, home)| {
            let present = packing.opened[bin.supply].present;
            let number = if let (Some(home), Some(present)) = (home, present) {
                home - starts[present].start
            } else {
                let number = next.entry(bin.supply).or_insert(0);
                *number += 1;
                *number - 1
            };
            output_name(&supplies[bin.supply], number)
        })
        .collect()
}
