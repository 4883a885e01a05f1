//! Newton's method on the drops of a circuit.
//!
//! # Choices at their favourable end
//! The smallest of several draws isn't convex, so its slope is of no use: the line along it may
//! rise above the draw further down, and the step pass the solution. A step is taken along the
//! steepest line that stays under the draw all the way down instead; `f(W) >= f(V) + J·(W - V)` then
//! holds for every `W` below `V`, which is all that the argument of the parent module needs. Such
//! steps converge slowly, so whenever the members chosen at an iterate are new ones, the corner
//! they make is solved by itself from there on; if it still has the smallest draws at its own
//! solution, no draw crosses another in between (two of power, current and resistance cross once
//! at most) and that solution is the highest there is.

use super::draw::Rule;
use super::layout::{Layout, Near};
use super::{Circuit, Solution, Unsolved};

/// Steps after which a circuit counts as unsolved. Quadratic convergence needs under ten; a
/// collapse, or a solution, at a relative 1e-15 from the limit needs about thirty.
const MOST_STEPS: usize = 300;

/// A step this short, as a part of the source's volts, is the last. Convergence is quadratic, or by
/// halves right at the limit, so what remains is no longer than the step.
const SHORT_STEP: f64 = 1e-13;

/// Steps after which one is the last even if only this short. Right at the limit the rounding of a
/// step is magnified by the next, so that they hover about the solution; where there is none, a gap
/// of a relative 1e-15 is crossed in half as many.
const HOVERING: (usize, f64) = (100, 1e-9);

/// Currents whose relative difference is below this are a tie between members.
const TIE: f64 = 1e-12;

/// Why a descent ended without a solution.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Stop {
    /// Proven: there is none.
    Collapse,
    /// The steps ran out.
    Unfinished,
}

/// A circuit with its state: the drops, and what follows from them.
#[derive(Debug)]
pub(super) struct Solver {
    pub(super) layout: Layout,
    /// Drop of each twig in V, counted as falling outward.
    drops: Vec<f64>,
    /// Drop from the source of each row, that of the source (0) last.
    depths: Vec<f64>,
    /// Amps of each chord from its `a` to its `b`.
    chord_amps: Vec<f64>,
    /// Amps that each row's loads draw beyond what arrives, the source last; then the step.
    missing: Vec<f64>,
    /// Amps that may be missing by rounding alone.
    noise: Vec<f64>,
    excess: Vec<f64>,
    /// The member that each smallest-of-several draw is held at, if it is.
    corner: Option<Vec<usize>>,
    /// Whether any draw is the smallest of several.
    any_least: bool,
}

impl Solver {
    /// At the flat start: no drops.
    pub(super) fn new(circuit: &Circuit) -> Result<Self, Unsolved> {
        let layout = Layout::new(circuit)?;
        let rows = layout.rows;
        Ok(Self {
            drops: vec![0.0; rows],
            depths: vec![0.0; rows + 1],
            chord_amps: vec![0.0; layout.chords.len()],
            missing: vec![0.0; rows + 1],
            noise: vec![0.0; rows + 1],
            excess: vec![0.0; rows + 1],
            corner: None,
            any_least: layout.taps.iter().any(|tap| tap.envelope.rule == Rule::Smallest),
            layout,
        })
    }

    /// The drops, for a later [`Self::run`] of a heavier load to start from.
    pub(super) fn state(&self) -> &[f64] {
        &self.drops
    }

    /// Puts back drops got from [`Self::state`].
    pub(super) fn restore(&mut self, drops: &[f64]) {
        self.drops.copy_from_slice(drops);
    }

    /// Goes from the present drops, none of which may lie below the solution, to the solution.
    ///
    /// After a failure the drops are of no use.
    pub(super) fn run(&mut self) -> Result<(), Unsolved> {
        self.corner = None;
        let outcome = if self.layout.taps.iter().any(|tap| tap.envelope.rule == Rule::Smallest) {
            self.descend_by_corners()
        } else {
            self.descend(MOST_STEPS)
        };
        outcome.map_err(|_| Unsolved::NoSolution)
    }

    fn descend_by_corners(&mut self) -> Result<(), Stop> {
        let mut tried = Vec::new();
        for _ in 0..MOST_STEPS {
            self.settle();
            let choice = self.choice();
            if tried != choice {
                let start = self.drops.clone();
                self.corner = Some(choice.clone());
                let solved = self.descend(MOST_STEPS).is_ok() && self.is_least();
                self.corner = None;
                if solved {
                    return Ok(());
                }
                self.drops = start;
                tried = choice;
            }
            match self.descend(1) {
                Err(Stop::Unfinished) => {}
                ended => return ended,
            }
        }
        Err(Stop::Unfinished)
    }

    fn descend(&mut self, most_steps: usize) -> Result<(), Stop> {
        for step in 0..=most_steps {
            self.settle();
            if !self.pulled_rows_have_volts() {
                return Err(Stop::Collapse);
            }
            if self.is_balanced() {
                return Ok(());
            }
            if step == most_steps {
                break;
            }
            let layout = &mut self.layout;
            let (rows, source) = (layout.rows, layout.rows);
            if !layout.factor.eliminate(&layout.couplings, &self.excess[..rows]) {
                return Err(Stop::Collapse);
            }
            layout.factor.solve(&mut self.missing[..rows]);
            self.missing[source] = 0.0;
            let mut longest = 0.0_f64;
            for (drop, twig) in self.drops.iter_mut().zip(&layout.twigs) {
                *drop += self.missing[twig.row] - self.missing[twig.before];
                longest = longest.max(self.missing[twig.row].abs());
            }
            let short = if step < HOVERING.0 { SHORT_STEP } else { HOVERING.1 };
            if longest <= short * layout.source_volts && self.converges_fast() {
                self.settle();
                // Behind a near short the last step may still round the volts to nothing.
                let fine = self.pulled_rows_have_volts();
                return if fine { Ok(()) } else { Err(Stop::Collapse) };
            }
        }
        Err(Stop::Unfinished)
    }

    /// Whether steps are Newton's own, rather than those that pass under several draws.
    fn converges_fast(&self) -> bool {
        self.corner.is_some() || !self.any_least
    }

    /// Works out everything that follows from the drops.
    fn settle(&mut self) {
        let layout = &self.layout;
        self.missing.fill(0.0);
        self.noise.fill(0.0);
        self.excess[..layout.rows].copy_from_slice(&layout.to_source);
        for (twig, drop) in layout.twigs.iter().zip(&self.drops) {
            self.depths[twig.row] = self.depths[twig.before] + drop;
            let amps = drop * twig.siemens;
            carry(&mut self.missing, &mut self.noise, twig.before, twig.row, amps);
        }
        for (amps, chord) in self.chord_amps.iter_mut().zip(&layout.chords) {
            let fall = |twigs: &[usize]| twigs.iter().map(|&nth| self.drops[nth]).sum::<f64>();
            let (adds, takes) = (fall(&chord.adds), fall(&chord.takes));
            *amps = (adds - takes) * chord.siemens;
            carry(&mut self.missing, &mut self.noise, chord.a, chord.b, *amps);
            // Around a long loop the drops add up to far more than the chord's own.
            let rounding = (adds.abs() + takes.abs()) * chord.siemens;
            self.noise[chord.a] += rounding;
            self.noise[chord.b] += rounding;
        }
        for (nth, tap) in layout.taps.iter().enumerate() {
            let volts = (layout.source_volts - self.depths[tap.row]).max(0.0);
            let (amps, slope) = match &self.corner {
                Some(held) if tap.envelope.rule == Rule::Smallest => {
                    tap.envelope.members[held[nth]].at(volts)
                }
                _ => tap.envelope.under(volts),
            };
            self.missing[tap.row] += amps;
            self.noise[tap.row] += amps + slope.abs() * layout.source_volts;
            self.excess[tap.row] += slope;
        }
    }

    /// Whether there are volts wherever power or current is drawn.
    ///
    /// Elsewhere there are then too, as no other row can be the lowest; but behind a near short
    /// they may round to nothing, which is no collapse.
    fn pulled_rows_have_volts(&self) -> bool {
        let volts = |row: usize| self.layout.source_volts - self.depths[row];
        // Written so that a NaN fails too.
        self.layout.taps.iter().all(|tap| !tap.pulls || volts(tap.row) > 0.0)
    }

    /// Whether no more current is missing anywhere than rounding explains.
    ///
    /// A row with next to no current of its own is never rounded that finely: there it is enough
    /// that what is missing is little beside the largest current and drops nothing to speak of.
    fn is_balanced(&self) -> bool {
        let rows = self.layout.rows;
        let largest = 4.0 * self.noise[..rows].iter().copied().fold(0.0, f64::max);
        let missing = self.missing[..rows].iter().zip(&self.noise).zip(&self.layout.path_ohms);
        missing.map(|((amps, noise), ohms)| (amps.abs(), noise, ohms)).all(|(amps, noise, ohms)| {
            let little = largest.min(self.layout.source_volts / ohms);
            amps <= f64::EPSILON * (4.0 * noise + little)
        })
    }

    /// The member that each load takes at the present volts.
    fn choice(&self) -> Vec<usize> {
        self.layout.taps.iter().map(|tap| tap.envelope.at(self.volts(tap.row)).0).collect()
    }

    /// Whether the corner last solved has the smallest currents at its own solution.
    fn is_least(&self) -> bool {
        let Some(held) = &self.corner else {
            return false;
        };
        self.layout.taps.iter().zip(held).all(|(tap, &nth)| {
            let volts = self.volts(tap.row);
            let least = tap.envelope.at(volts).1;
            let own = tap.envelope.members[nth].at(volts).0;
            tap.envelope.rule == Rule::Largest || own <= least * (1.0 + TIE)
        })
    }

    fn volts(&self, row: usize) -> f64 {
        (self.layout.source_volts - self.depths[row]).max(0.0)
    }

    /// What the drops of a finished run mean for each node, branch and load.
    pub(super) fn solution(&self, circuit: &Circuit) -> Solution {
        let layout = &self.layout;
        let load_amps: Vec<f64> =
            layout.taps.iter().map(|tap| tap.envelope.at(self.volts(tap.row)).1).collect();
        let mut branch_amps = vec![0.0; circuit.branches.len()];
        for (twig, drop) in layout.twigs.iter().zip(&self.drops) {
            let amps = drop * twig.siemens;
            branch_amps[twig.branch] = if twig.forward { amps } else { -amps };
        }
        for (chord, amps) in layout.chords.iter().zip(&self.chord_amps) {
            branch_amps[chord.branch] = *amps;
        }
        let mut short = shortfalls(circuit, &branch_amps, &load_amps);
        // Adding 0 makes a negative zero a plain one.
        for amps in &mut branch_amps {
            *amps += 0.0;
        }
        self.fill_joints(circuit, &mut branch_amps, &mut short);
        let residual = shortfalls(circuit, &branch_amps, &load_amps);
        Solution {
            volts: layout.row_of.iter().map(|&row| self.volts(row)).collect(),
            source_amps: load_amps.iter().fold(0.0, |sum, amps| sum + amps),
            residual_amps: residual.iter().skip(1).fold(0.0, |most, amps| amps.abs().max(most)),
            branch_amps,
            load_amps,
        }
    }

    /// Amps over the 0 Ω branches, which carry whatever the nodes they join are short of.
    fn fill_joints(&self, circuit: &Circuit, branch_amps: &mut [f64], short: &mut [f64]) {
        if self.layout.joints.is_empty() {
            return;
        }
        let joins = |nth: usize| (circuit.branches[nth].a, circuit.branches[nth].b);
        let near = Near::new(circuit.nodes, &self.layout.joints, joins);
        // From each group's lowest node outward, node 0 first; then back, leaves first.
        let mut order: Vec<(usize, usize, usize)> = Vec::with_capacity(self.layout.joints.len());
        let mut reached = vec![false; circuit.nodes];
        for root in 0..circuit.nodes {
            let mut node = root;
            let mut next = order.len();
            if std::mem::replace(&mut reached[root], true) {
                continue;
            }
            loop {
                for &nth in near.of(node) {
                    let branch = circuit.branches[nth];
                    let far = if branch.a == node { branch.b } else { branch.a };
                    if !std::mem::replace(&mut reached[far], true) {
                        order.push((nth, node, far));
                    }
                }
                let Some(&(_, _, far)) = order.get(next) else {
                    break;
                };
                node = far;
                next += 1;
            }
        }
        for &(nth, node, far) in order.iter().rev() {
            let amps = short[far];
            short[node] += amps;
            branch_amps[nth] = if circuit.branches[nth].a == node { amps } else { -amps };
        }
    }
}

/// Takes amps from one row to another.
fn carry(missing: &mut [f64], noise: &mut [f64], from: usize, to: usize, amps: f64) {
    missing[from] += amps;
    missing[to] -= amps;
    noise[from] += amps.abs();
    noise[to] += amps.abs();
}

/// Amps that each node's loads and outgoing branches take beyond what arrives.
fn shortfalls(circuit: &Circuit, branch_amps: &[f64], load_amps: &[f64]) -> Vec<f64> {
    let mut short = vec![0.0; circuit.nodes];
    for (branch, amps) in circuit.branches.iter().zip(branch_amps) {
        short[branch.a] += amps;
        short[branch.b] -= amps;
    }
    for (load, amps) in circuit.loads.iter().zip(load_amps) {
        short[load.node] += amps;
    }
    short
}
