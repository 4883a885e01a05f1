//! Reads volts and amps off a solution, each with what it must come to by the laws it was solved by.

use super::circuit::Solution;
use super::gather::{BranchIs, Drawn, Gathered};
use super::part::LightStudy;
use crate::format::Quantity;
use crate::job::wiring::OutputRef;
use crate::job::{Index, Job};
use crate::working::{Input, Number, Origin, Recorder};

/// A solved part, to be read.
pub(super) struct Reading<'a, N> {
    pub job: &'a Job,
    pub index: &'a Index,
    pub gathered: &'a Gathered<N>,
    pub solution: &'a Solution,
    pub output: Option<&'a OutputRef>,
}

impl<N: Number> Reading<'_, N> {
    /// Volts at the output.
    pub(super) fn source_volts(&self) -> N {
        N::input(self.gathered.circuit.source_volts, || {
            let supply = self.output.and_then(|output| self.index.supply(self.job, &output.supply));
            let part = supply.map(|(_, supply)| supply.part.to_string()).unwrap_or_default();
            Input::new("output volts", Quantity::Volts, Origin::Catalogue(format!("{part} volts")))
        })
    }

    /// Volts at a node: those of the output less the drops on the way there, at the solved amps.
    pub(super) fn volts(&self, node: usize) -> N {
        N::solved(self.solution.volts[node], Quantity::Volts, || {
            self.way(node).into_iter().fold(self.source_volts(), |volts, (branch, outward)| {
                let drop = self.branch_amps(branch) * self.gathered.ohms[branch].clone();
                if outward { volts - drop } else { volts + drop }
            })
        })
    }

    /// The branches from the output to a node, by the fewest of them, each with whether it is gone along from `a` to `b`.
    fn way(&self, node: usize) -> Vec<(usize, bool)> {
        let circuit = &self.gathered.circuit;
        let mut from: Vec<Option<(usize, bool, usize)>> = vec![None; circuit.nodes];
        let mut open = std::collections::VecDeque::from([0]);
        while let Some(at) = open.pop_front() {
            for (number, branch) in circuit.branches.iter().enumerate() {
                for (near, far, outward) in [(branch.a, branch.b, true), (branch.b, branch.a, false)] {
                    if near == at && far != 0 && from[far].is_none() {
                        from[far] = Some((number, outward, near));
                        open.push_back(far);
                    }
                }
            }
        }
        let mut way = Vec::new();
        let mut at = node;
        while let Some((number, outward, before)) = from[at] {
            way.push((number, outward));
            at = before;
        }
        way.reverse();
        way
    }

    /// Amps of a branch, as the solver found them.
    pub(super) fn branch_amps(&self, branch: usize) -> N {
        N::input(self.solution.branch_amps[branch], || {
            Input::new(format!("amps of {}", self.branch_name(branch)), Quantity::Amps, Origin::Solved)
        })
    }

    /// The same without regard to its direction.
    pub(super) fn size_of_amps(&self, branch: usize) -> N {
        N::input(self.solution.branch_amps[branch].abs(), || {
            Input::new(format!("amps of {}", self.branch_name(branch)), Quantity::Amps, Origin::Solved)
        })
    }

    fn branch_name(&self, branch: usize) -> String {
        let (_, is) = self.gathered.branches[branch];
        match is {
            BranchIs::Feed(at) => self.job.boxes[at.wall_box].feeds[at.feed].id.to_string(),
            BranchIs::Leg(at) => {
                let first =
                    self.gathered.branches.iter().position(|(_, other)| *other == is).unwrap_or(branch);
                let wired = &self.job.boxes[at.control.wall_box].controls[at.control.control].loops[at.at];
                format!("{} leg {}", wired.id, branch - first + 1)
            }
        }
    }

    /// Amps of a load: by its kind its watts over its volts, its amps, or its volts over its ohms.
    pub(super) fn load_amps(&self, load: usize) -> N {
        let amps = self.solution.load_amps[load];
        let node = self.gathered.circuit.loads[load].node;
        match &self.gathered.draws[load] {
            Some(drawn) => N::solved(amps, Quantity::Amps, || match drawn.clone() {
                Drawn::Watts(watts) => watts / self.volts(node),
                Drawn::Amps(amps) => amps,
                Drawn::Siemens(siemens) => siemens * self.volts(node),
            }),
            None => {
                N::input(amps, || Input::new("amps of the worst open choice", Quantity::Amps, Origin::Solved))
            }
        }
    }
}

/// What a light sees, while it is being put together.
#[derive(Debug, Clone)]
pub(super) struct LightSum<N> {
    pub volts: Option<N>,
    pub amps: Option<N>,
    pub watts: Option<N>,
    /// It is across the pair, so that there is a drop on the way to it.
    pub in_parallel: bool,
}

impl<N> Default for LightSum<N> {
    fn default() -> Self {
        Self { volts: None, amps: None, watts: None, in_parallel: false }
    }
}

impl<N: Number> LightSum<N> {
    /// Adds what a string gives to it.
    pub(super) fn add_string(&mut self, volts: &N, amps: &N) {
        let zero = || N::constant(0.0);
        self.volts = Some(volts.clone().larger(self.volts.take().unwrap_or_else(zero)));
        self.amps = Some(amps.clone());
        self.watts = Some(self.watts.take().unwrap_or_else(zero) + volts.clone() * amps.clone());
    }

    /// Gives a light its figures.
    pub(super) fn read<R: Recorder<Number = N>>(
        self,
        light: &mut LightStudy,
        source_volts: &N,
        name: impl Fn(&str) -> String,
        recorder: &mut R,
    ) {
        let (Some(volts), Some(amps)) = (self.volts, self.amps) else { return };
        let volts = recorder.figure(|| name("volts"), Quantity::Volts, volts);
        let amps = recorder.figure(|| name("amps"), Quantity::Amps, amps);
        light.volts = Some(volts.value());
        light.amps = Some(amps.value());
        let watts = self.watts.unwrap_or_else(|| volts.clone() * amps);
        light.watts = Some(recorder.figure(|| name("watts"), Quantity::Watts, watts).value());
        if self.in_parallel {
            let drop = source_volts.clone() - volts;
            let drop = recorder.figure(|| name("drop_volts"), Quantity::Volts, drop);
            light.drop_volts = Some(drop.value());
            let percent = drop / source_volts.clone() * N::constant(100.0);
            light.drop_percent =
                Some(recorder.figure(|| name("drop_percent"), Quantity::Percent, percent).value());
        }
    }
}
