//! Exact dc solution of one run by nodal analysis.
//!
//! Takes a [`Circuit`] (ohms of go-and-return branches, loads, a stiff source) and gives a
//! [`Solution`] (volts, amps) or says that there is none. Knows nothing of jobs, cables or
//! catalogues, never rounds and never mends its input.
//!
//! # Method
//! With `V` the node volts, Kirchhoff's current law is `f(V) = G·V + I(V) - G·Vs = 0`, where `G`
//! is the conductance matrix of the branches and `I(V)` what the loads draw. A load of constant
//! power draws `P/V`, so the equations can have several solutions; the one a run settles on when
//! switched on is the highest, and the only one that is stable.
//!
//! Newton's method from the flat start `V = Vs` finds it without any damping. `f` is convex, `f(Vs)`
//! is not negative and the off-diagonals of its derivative `J` are not positive, so every step
//! lowers every node and none passes the highest solution (the monotone Newton theorem: J. M.
//! Ortega and W. C. Rheinboldt, *Iterative Solution of Nonlinear Equations in Several Variables*,
//! Academic Press 1970, ch. 13, from memory). The converse decides a collapse: were there a
//! solution `W` below the iterate `V`, convexity would give `J·(V - W) >= f(V) >= 0` with
//! `V - W >= 0`, which makes `J` an M-matrix, with positive pivots. A pivot that is not positive,
//! or an iterate at or below zero volts, therefore proves that there is no solution.
//!
//! # Open choices
//! [`Draw::Worst`] is a maximum of convex functions, hence convex: nothing changes, the slope at a
//! kink being the larger one. [`Draw::Least`] is not; `newton` says how the same argument is
//! kept for it.
//!
//! # Source
//! The single-load case in closed form, `V = (Vs + sqrt(Vs² - 4·R·P))/2`, and its limit
//! `P = Vs²/(4·R)`, the maximum power transfer theorem: T. R. Kuphaldt, *Lessons in Electric
//! Circuits*, vol. I, chapter on dc network theorems. Worked examples: `tests/suite/figures.ron`;
//! comparison with a circuit simulator: `tests/oracle`.

mod draw;
mod factor;
mod layout;
mod limits;
mod newton;

pub use limits::{largest_ohms_factor, largest_power_factor};

use crate::tally;

/// One output with all it feeds. Node 0 is the source terminal, held at `source_volts`.
#[derive(Debug, Clone, PartialEq)]
pub struct Circuit {
    /// Volts between the source's terminals, held at any load. Above 0.
    pub source_volts: f64,
    /// Number of nodes, the source terminal among them. Every one must be reached by branches.
    pub nodes: usize,
    /// Pairs of conductors between nodes, in any order; several may join the same two nodes.
    pub branches: Vec<Branch>,
    /// What draws current, in any order; several may sit on one node, node 0 too.
    pub loads: Vec<Load>,
}

/// A pair of conductors between two nodes.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Branch {
    /// The node at which its current is counted as entering.
    pub a: usize,
    /// The node at which its current is counted as leaving.
    pub b: usize,
    /// Ohms out and back together. 0 joins the two nodes into one; anything below 1e-12 Ω, far
    /// below any contact, is taken as 0.
    pub ohms: f64,
}

/// Something that draws current at a node.
#[derive(Debug, Clone, PartialEq)]
pub struct Load {
    /// Where it is connected.
    pub node: usize,
    /// How its current depends on its volts.
    pub draws: Draw,
}

/// How a load's current depends on the volts at its node.
#[derive(Debug, Clone, PartialEq)]
pub enum Draw {
    /// Constant power, as regulated lights draw it: amps are `watts / volts`.
    Power {
        /// Watts at any volts. 0 or more.
        watts: f64,
    },
    /// Constant current.
    Current {
        /// Amps at any volts. 0 or more.
        amps: f64,
    },
    /// A fixed resistance: amps are `volts / ohms`.
    Resistance {
        /// Ohms. Above 0.
        ohms: f64,
    },
    /// An open choice at its unfavourable end: at each voltage the largest current of the members.
    /// Members may not be [`Draw::Least`].
    ///
    /// Where it solves, it is the corner (each choice at one member) with the lowest volts at
    /// every node and the most source amps. Members of one kind collapse just when a corner does;
    /// of several kinds it may also where no corner does, far below half the source's volts.
    Worst(Vec<Draw>),
    /// An open choice at its favourable end: at each voltage the smallest current of the members.
    /// Members may not be [`Draw::Worst`].
    ///
    /// Of all solutions the highest is meant. It is the solution of one of the corners (each load
    /// at one member) and nowhere below that of any other corner, so this gives the favourable end
    /// of a range of volts or of source amps without trying the corners.
    Least(Vec<Draw>),
}

/// The volts and amps of a circuit. All finite; the same circuit gives the same bits.
#[derive(Debug, Clone, PartialEq)]
pub struct Solution {
    /// Volts of each node; that of node 0 is the source's. Never negative, never above it.
    pub volts: Vec<f64>,
    /// Amps of each branch, positive from `a` to `b`. A loop made of 0 Ω branches alone has no
    /// determined currents; the last of its branches is then given none.
    pub branch_amps: Vec<f64>,
    /// Amps of each load.
    pub load_amps: Vec<f64>,
    /// Amps out of the source: the sum of the loads'.
    pub source_amps: f64,
    /// Largest amount in A by which the currents of a node, the source aside, fail to cancel.
    pub residual_amps: f64,
}

/// Why there is no solution.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum Unsolved {
    /// The branches cannot carry what the loads draw: the volts collapse.
    #[error("the run cannot carry its load at any voltage")]
    NoSolution,
    /// The circuit makes no sense: a node not connected to the source, a NaN, a negative figure.
    #[error("{0}")]
    Malformed(String),
}

/// Volts and amps of a circuit on its stable branch.
///
/// Node volts are good to about 1e-13 of the source's; at a relative distance `d` from collapse
/// that worsens as `1/sqrt(d)`.
///
/// # Domain
/// Volts above 0; ohms, watts and amps 0 or more, resistive loads above 0 Ω; nothing but 0 outside
/// 1e-12 to 1e12 in its unit, save that smaller watts, amps and branch ohms are fine.
///
/// # Errors
/// [`Unsolved::NoSolution`] when no voltage satisfies the loads, [`Unsolved::Malformed`] outside
/// the domain or when a node isn't connected to the source.
///
/// # Source
/// That of the [module](self).
pub fn solve(circuit: &Circuit) -> Result<Solution, Unsolved> {
    tally::count(tally::Work::Solves);
    let mut solver = newton::Solver::new(circuit)?;
    solver.run()?;
    Ok(solver.solution(circuit))
}
