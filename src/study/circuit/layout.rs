//! A circuit made ready for solving: checked, joined, numbered and spanned by a tree.
//!
//! Nodes joined by 0 Ω become one *row*; the source's is none of them and has the number `rows`.
//! Rows are numbered in their order of elimination. The state of a solution is the drop over each
//! branch of a spanning tree rather than the volts of the rows: a drop of microvolts over a jumper
//! then keeps all its digits, and so do the amps. The tree takes low ohms first, so that a branch
//! off the tree (a *chord*, which closes a loop) has the most ohms of its loop and its amps, found
//! from the drops around it, lose nothing either.

use super::draw::{Envelope, within};
use super::factor::{Factor, elimination_order};
use super::{Circuit, Unsolved};

/// Largest figure taken, in its unit.
pub(super) const LARGEST: f64 = 1e12;
/// Smallest figure other than 0 taken for volts and ohms.
pub(super) const SMALLEST: f64 = 1e-12;

/// The branch from a row to the one before it on the way to the source.
#[derive(Debug, Clone, Copy)]
pub(super) struct Twig {
    /// Number in the circuit.
    pub(super) branch: usize,
    pub(super) row: usize,
    /// The row on the side of the source.
    pub(super) before: usize,
    pub(super) siemens: f64,
    /// Whether the branch's `a` is on the side of the source.
    pub(super) forward: bool,
    /// Place of the coupling; none beside the source.
    pub(super) place: Option<usize>,
}

/// A branch that closes a loop.
#[derive(Debug, Clone)]
pub(super) struct Chord {
    /// Number in the circuit.
    pub(super) branch: usize,
    pub(super) a: usize,
    pub(super) b: usize,
    pub(super) siemens: f64,
    pub(super) place: Option<usize>,
    /// Twigs whose drops make up that from `a` to `b`: those above `b` add, those above `a` take.
    pub(super) adds: Vec<usize>,
    pub(super) takes: Vec<usize>,
}

/// A load at a row.
#[derive(Debug, Clone)]
pub(super) struct Tap {
    /// Its row, or the number of rows at the source.
    pub(super) row: usize,
    pub(super) envelope: Envelope,
    /// Whether it may draw something even as the volts go to 0.
    pub(super) pulls: bool,
}

/// A circuit made ready for solving.
#[derive(Debug)]
pub(super) struct Layout {
    pub(super) source_volts: f64,
    /// Number of rows, which is also the number of the source.
    pub(super) rows: usize,
    /// Row of each node.
    pub(super) row_of: Vec<usize>,
    /// One for each row, from the source outward.
    pub(super) twigs: Vec<Twig>,
    pub(super) chords: Vec<Chord>,
    pub(super) taps: Vec<Tap>,
    /// Branches taken as 0 Ω that join their nodes (those that close a loop of 0 Ω are left out).
    pub(super) joints: Vec<usize>,
    /// Couplings of the branches, by place, and their conductance to the source, by row.
    pub(super) couplings: Vec<f64>,
    pub(super) to_source: Vec<f64>,
    /// Ohms along the tree from the source, by row: no less than the row's resistance to it.
    pub(super) path_ohms: Vec<f64>,
    pub(super) factor: Factor,
}

impl Layout {
    pub(super) fn new(circuit: &Circuit) -> Result<Self, Unsolved> {
        let source_volts = within(circuit.source_volts, SMALLEST, "source volts")?;
        check_branches(circuit)?;
        let (row_of, rows, joints) = join(circuit);
        let spans = span(circuit, &row_of, rows);
        let edges: Vec<(usize, usize)> = (spans.tree.iter().chain(&spans.chords))
            .map(|&branch| ends(circuit, &row_of, branch))
            .filter(|&(a, b)| a != rows && b != rows)
            .collect();

        // From here on rows carry the numbers of their elimination.
        let order = elimination_order(rows, &edges);
        let mut number = vec![rows; rows + 1];
        for (nth, &row) in order.iter().enumerate() {
            number[row] = nth;
        }
        let row_of: Vec<usize> = row_of.iter().map(|&row| number[row]).collect();
        let edges: Vec<_> = edges.iter().map(|&(a, b)| (number[a], number[b])).collect();
        let factor = Factor::new(rows, &edges);
        let twigs = hang(circuit, &row_of, rows, &spans.tree, &factor)?;
        let chords = close(circuit, &row_of, rows, &spans.chords, &twigs, &factor);

        let mut path_ohms = vec![0.0; rows + 1];
        for twig in &twigs {
            path_ohms[twig.row] = path_ohms[twig.before] + circuit.branches[twig.branch].ohms;
        }
        let mut couplings = vec![0.0; factor.places()];
        let mut to_source = vec![0.0; rows];
        let joined = twigs.iter().map(|t| (t.row, t.before, t.siemens, t.place));
        for (a, b, siemens, place) in joined.chain(chords.iter().map(|c| (c.a, c.b, c.siemens, c.place))) {
            match place {
                Some(place) => couplings[place] += siemens,
                None => to_source[a.min(b)] += siemens,
            }
        }
        let taps = (circuit.loads.iter().enumerate())
            .map(|(nth, load)| {
                let Some(&row) = row_of.get(load.node) else {
                    return Err(Unsolved::Malformed(format!(
                        "load {nth} is at node {}, which does not exist",
                        load.node
                    )));
                };
                let envelope = Envelope::new(&load.draws)?;
                Ok(Tap { row, pulls: envelope.pulls(), envelope })
            })
            .collect::<Result<_, _>>()?;
        Ok(Self {
            source_volts,
            rows,
            row_of,
            twigs,
            chords,
            taps,
            joints,
            couplings,
            to_source,
            path_ohms,
            factor,
        })
    }
}

fn check_branches(circuit: &Circuit) -> Result<(), Unsolved> {
    if circuit.nodes == 0 {
        return Err(Unsolved::Malformed("there is no source node".to_owned()));
    }
    // A tree needs a branch a node: said here before a huge count is given memory.
    if circuit.nodes - 1 > circuit.branches.len() {
        return Err(Unsolved::Malformed(format!(
            "{} branches cannot connect {} nodes to the source",
            circuit.branches.len(),
            circuit.nodes
        )));
    }
    for (nth, branch) in circuit.branches.iter().enumerate() {
        within(branch.ohms, 0.0, "branch ohms")?;
        let far = branch.a.max(branch.b);
        if far >= circuit.nodes {
            return Err(Unsolved::Malformed(format!(
                "branch {nth} ends at node {far}, which does not exist"
            )));
        }
    }
    Ok(())
}

/// Joins nodes across 0 Ω: the row of each node, the number of rows, the branches that joined.
fn join(circuit: &Circuit) -> (Vec<usize>, usize, Vec<usize>) {
    let mut groups = Groups::new(circuit.nodes);
    let mut joints = Vec::new();
    for (nth, branch) in circuit.branches.iter().enumerate() {
        if branch.ohms < SMALLEST && groups.unite(branch.a, branch.b) {
            joints.push(nth);
        }
    }
    let source = groups.of(0);
    let mut row_of_group = vec![usize::MAX; circuit.nodes];
    let mut rows = 0;
    for node in 0..circuit.nodes {
        let group = groups.of(node);
        if group != source && row_of_group[group] == usize::MAX {
            row_of_group[group] = rows;
            rows += 1;
        }
    }
    row_of_group[source] = rows;
    let row_of = (0..circuit.nodes).map(|node| row_of_group[groups.of(node)]).collect();
    (row_of, rows, joints)
}

/// Branches that span the rows, and those that close loops.
struct Spans {
    tree: Vec<usize>,
    chords: Vec<usize>,
}

fn span(circuit: &Circuit, row_of: &[usize], rows: usize) -> Spans {
    let mut by_ohms: Vec<usize> = (0..circuit.branches.len())
        .filter(|&nth| {
            let (a, b) = ends(circuit, row_of, nth);
            a != b
        })
        .collect();
    by_ohms.sort_by(|&x, &y| circuit.branches[x].ohms.total_cmp(&circuit.branches[y].ohms));
    let mut groups = Groups::new(rows + 1);
    let (tree, mut chords): (Vec<_>, Vec<_>) = by_ohms.into_iter().partition(|&nth| {
        let (a, b) = ends(circuit, row_of, nth);
        groups.unite(a, b)
    });
    chords.sort_unstable();
    Spans { tree, chords }
}

/// Orders the tree from the source outward.
fn hang(
    circuit: &Circuit,
    row_of: &[usize],
    rows: usize,
    tree: &[usize],
    factor: &Factor,
) -> Result<Vec<Twig>, Unsolved> {
    let near = Near::new(rows + 1, tree, |branch| ends(circuit, row_of, branch));
    let mut twigs: Vec<Twig> = Vec::with_capacity(rows);
    let mut reached = vec![false; rows + 1];
    reached[rows] = true;
    let mut next = 0;
    let mut before = rows;
    loop {
        for &branch in near.of(before) {
            let (a, b) = ends(circuit, row_of, branch);
            let row = if a == before { b } else { a };
            if !reached[row] {
                reached[row] = true;
                twigs.push(Twig {
                    branch,
                    row,
                    before,
                    siemens: 1.0 / circuit.branches[branch].ohms,
                    forward: a == before,
                    place: (before != rows).then(|| factor.place(row, before)),
                });
            }
        }
        let Some(twig) = twigs.get(next) else { break };
        before = twig.row;
        next += 1;
    }
    match row_of.iter().position(|&row| !reached[row]) {
        Some(node) => Err(Unsolved::Malformed(format!("node {node} is not connected to the source"))),
        None => Ok(twigs),
    }
}

/// Finds the loop that each chord closes.
fn close(
    circuit: &Circuit,
    row_of: &[usize],
    rows: usize,
    chords: &[usize],
    twigs: &[Twig],
    factor: &Factor,
) -> Vec<Chord> {
    // The twig above each row. Twigs run outward, so a later twig is never nearer the source.
    let mut above = vec![usize::MAX; rows + 1];
    for (nth, twig) in twigs.iter().enumerate() {
        above[twig.row] = nth;
    }
    let make = |&branch: &usize| {
        let (a, b) = ends(circuit, row_of, branch);
        let (mut adds, mut takes) = (Vec::new(), Vec::new());
        let (mut from, mut to) = (a, b);
        while from != to {
            // The later of the two cannot be on the other's way to the source: take a step from it.
            let latest = |row: usize| if row == rows { None } else { Some(above[row]) };
            if latest(to) > latest(from) {
                adds.push(above[to]);
                to = twigs[above[to]].before;
            } else {
                takes.push(above[from]);
                from = twigs[above[from]].before;
            }
        }
        Chord {
            branch,
            a,
            b,
            siemens: 1.0 / circuit.branches[branch].ohms,
            place: (a != rows && b != rows).then(|| factor.place(a, b)),
            adds,
            takes,
        }
    };
    chords.iter().map(make).collect()
}

/// The branches at each node or row, in one list.
pub(super) struct Near {
    starts: Vec<usize>,
    branches: Vec<usize>,
}

impl Near {
    /// Takes branches in order; `ends` says which two of so many places each joins.
    pub(super) fn new(places: usize, branches: &[usize], ends: impl Fn(usize) -> (usize, usize)) -> Self {
        let mut starts = vec![0; places + 1];
        for &branch in branches {
            let (a, b) = ends(branch);
            starts[a] += 1;
            starts[b] += 1;
        }
        let mut sum = 0;
        for start in &mut starts {
            sum += *start;
            *start = sum;
        }
        // Filled from the back, so that each place's begin stands where its end was and the order stays.
        let mut held = vec![0; sum];
        for &branch in branches.iter().rev() {
            let (a, b) = ends(branch);
            for place in [b, a] {
                starts[place] -= 1;
                held[starts[place]] = branch;
            }
        }
        Self { starts, branches: held }
    }

    /// The branches at a place.
    pub(super) fn of(&self, place: usize) -> &[usize] {
        &self.branches[self.starts[place]..self.starts[place + 1]]
    }
}

fn ends(circuit: &Circuit, row_of: &[usize], branch: usize) -> (usize, usize) {
    let branch = circuit.branches[branch];
    (row_of[branch.a], row_of[branch.b])
}

/// Disjoint sets.
struct Groups(Vec<usize>);

impl Groups {
    fn new(members: usize) -> Self {
        Self((0..members).collect())
    }

    fn of(&mut self, mut member: usize) -> usize {
        while self.0[member] != member {
            self.0[member] = self.0[self.0[member]];
            member = self.0[member];
        }
        member
    }

    /// Whether two sets became one. The lower number stands for it.
    fn unite(&mut self, a: usize, b: usize) -> bool {
        let (a, b) = (self.of(a), self.of(b));
        self.0[a.max(b)] = a.min(b);
        a != b
    }
}
