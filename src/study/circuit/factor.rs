//! Factorization of the derivative of the node equations, without subtracting.
//!
//! A matrix here is a symmetric one with off-diagonals `-w`, `w >= 0`, and diagonals
//! `excess + Σw`. It is kept in that form while it is eliminated: the Schur complement of row `k`
//! adds `w_ki·w_kj/d` to each pair of its neighbours and `w_ki/d·excess_k` to their excess. Nothing
//! cancels but what the loads take off the excess, so a jumper of micro-ohms beside a long run
//! costs no digits and a pivot near zero is one because the run is near collapse (the idea is that
//! of W. K. Grassmann, M. I. Taksar and D. P. Heyman, *Operations Research* 33 (1985), for Markov
//! chains, from memory).
//!
//! `nalgebra-sparse` was tried instead. Its Cholesky takes the diagonal ready summed, which loses
//! the excess beside a large `w`: within a millionth of the limit it called up to two in five
//! circuits with a jumper of 1e-11 Ω behind 1.5 Ω collapsed, and all of them behind 10 kΩ with
//! 1e-9 Ω. It also has no ordering of its own. The tests use it as a check on ordinary circuits.

/// An elimination order with the places its fill goes, and room for the figures.
#[derive(Debug)]
pub(super) struct Factor {
    /// For each row, where its neighbours eliminated later begin in `to`; one more closes the last.
    starts: Vec<usize>,
    /// Rows eliminated later, by row, ascending.
    to: Vec<usize>,
    /// For each row in turn and each two of its later neighbours, the place of their coupling.
    pairs: Vec<usize>,
    /// Couplings, beside `to`; after elimination divided by the pivot.
    couplings: Vec<f64>,
    /// Diagonals less the couplings.
    excess: Vec<f64>,
    pivots: Vec<f64>,
}

/// Order of elimination: what hangs on one neighbour from the leaves inward, which makes no fill; then, of what is in
/// rings, fewest neighbours first, then lowest number.
///
/// On a tree that is all; on a ring it makes a fill of one a row.
pub(super) fn elimination_order(rows: usize, edges: &[(usize, usize)]) -> Vec<usize> {
    let mut degree = vec![0_usize; rows];
    // The neighbours' numbers by exclusive or: with one neighbour left, its number.
    let mut across = vec![0_usize; rows];
    for &(a, b) in edges {
        degree[a] += 1;
        degree[b] += 1;
        across[a] ^= b;
        across[b] ^= a;
    }
    let mut order = Vec::with_capacity(rows);
    order.extend((0..rows).filter(|&row| degree[row] <= 1));
    let mut next = 0;
    while let Some(&row) = order.get(next) {
        next += 1;
        if degree[row] == 1 {
            let near = across[row];
            degree[row] = 0;
            degree[near] -= 1;
            across[near] ^= row;
            if degree[near] == 1 {
                order.push(near);
            }
        }
    }
    if order.len() < rows {
        order_of_rings(rows, edges, &mut order);
    }
    order
}

/// Goes on with what is left: fewest neighbours first, then lowest number.
fn order_of_rings(rows: usize, edges: &[(usize, usize)], order: &mut Vec<usize>) {
    let mut gone = vec![false; rows];
    for &row in &*order {
        gone[row] = true;
    }
    let mut neighbours = vec![Vec::new(); rows];
    for &(a, b) in edges.iter().filter(|&&(a, b)| !gone[a] && !gone[b]) {
        insert(&mut neighbours[a], b);
        insert(&mut neighbours[b], a);
    }
    let rest = (0..rows).filter(|&row| !gone[row]);
    let mut waiting: std::collections::BinaryHeap<_> =
        rest.map(|row| std::cmp::Reverse((neighbours[row].len(), row))).collect();
    while let Some(std::cmp::Reverse((degree, row))) = waiting.pop() {
        // A row is queued anew whenever its degree changes; older entries are stale.
        if gone[row] || degree != neighbours[row].len() {
            continue;
        }
        gone[row] = true;
        order.push(row);
        let near = std::mem::take(&mut neighbours[row]);
        for &a in &near {
            remove(&mut neighbours[a], row);
            for &b in &near {
                if a != b {
                    insert(&mut neighbours[a], b);
                }
            }
            waiting.push(std::cmp::Reverse((neighbours[a].len(), a)));
        }
    }
}

impl Factor {
    /// Lays out the elimination of rows in ascending order, `edges` being the pairs that couple.
    pub(super) fn new(rows: usize, edges: &[(usize, usize)]) -> Self {
        if let Some(to) = without_fill(rows, edges) {
            return Self::laid_out(rows, to.iter().map(Option::as_slice));
        }
        let mut later = vec![Vec::new(); rows];
        for &(a, b) in edges {
            insert(&mut later[a.min(b)], a.max(b));
        }
        for row in 0..rows {
            let near = std::mem::take(&mut later[row]);
            for (nth, &a) in near.iter().enumerate() {
                for &b in &near[nth + 1..] {
                    insert(&mut later[a], b);
                }
            }
            later[row] = near;
        }
        let mut factor = Self::laid_out(rows, later.iter().map(Vec::as_slice));
        for near in &later {
            for (nth, &a) in near.iter().enumerate() {
                for &b in &near[nth + 1..] {
                    let place = factor.place(a, b);
                    factor.pairs.push(place);
                }
            }
        }
        factor
    }

    /// Room for the couplings of each row with those eliminated later.
    fn laid_out<'a>(rows: usize, later: impl Iterator<Item = &'a [usize]>) -> Self {
        let mut starts = Vec::with_capacity(rows + 1);
        let mut to = Vec::with_capacity(rows);
        for near in later {
            starts.push(to.len());
            to.extend_from_slice(near);
        }
        starts.push(to.len());
        Self {
            couplings: vec![0.0; to.len()],
            excess: vec![0.0; rows],
            pivots: vec![0.0; rows],
            pairs: Vec::new(),
            starts,
            to,
        }
    }

    /// Where the coupling of two rows is kept. They must be an edge or a fill.
    pub(super) fn place(&self, a: usize, b: usize) -> usize {
        let (first, last) = (a.min(b), a.max(b));
        let near = &self.to[self.starts[first]..self.starts[first + 1]];
        self.starts[first] + near.partition_point(|&row| row < last)
    }

    /// Number of couplings, the fill among them.
    pub(super) fn places(&self) -> usize {
        self.to.len()
    }

    /// Eliminates the matrix of the given couplings (by place) and excesses (by row).
    ///
    /// False when a pivot isn't positive: the matrix is then no nonsingular M-matrix.
    pub(super) fn eliminate(&mut self, couplings: &[f64], excess: &[f64]) -> bool {
        self.couplings.copy_from_slice(couplings);
        self.excess.copy_from_slice(excess);
        let mut pair = 0;
        for row in 0..self.excess.len() {
            let (start, end) = (self.starts[row], self.starts[row + 1]);
            let own = self.excess[row];
            let pivot = self.couplings[start..end].iter().fold(own, |sum, w| sum + w);
            // Written so that a NaN fails too.
            if !(pivot > 0.0 && pivot < f64::INFINITY) {
                return false;
            }
            self.pivots[row] = pivot;
            for nth in start..end {
                let share = self.couplings[nth] / pivot;
                self.excess[self.to[nth]] += share * own;
                for other in nth + 1..end {
                    let fill = share * self.couplings[other];
                    self.couplings[self.pairs[pair]] += fill;
                    pair += 1;
                }
                self.couplings[nth] = share;
            }
        }
        true
    }

    /// Solves for the matrix last eliminated, in place.
    pub(super) fn solve(&self, right: &mut [f64]) {
        for row in 0..right.len() {
            let own = right[row];
            for nth in self.starts[row]..self.starts[row + 1] {
                right[self.to[nth]] += self.couplings[nth] * own;
            }
        }
        for row in (0..right.len()).rev() {
            let mut own = right[row] / self.pivots[row];
            for nth in self.starts[row]..self.starts[row + 1] {
                own += self.couplings[nth] * right[self.to[nth]];
            }
            right[row] = own;
        }
    }
}

/// The one row eliminated later that each is coupled with; `None` where one has several, so that there is fill.
fn without_fill(rows: usize, edges: &[(usize, usize)]) -> Option<Vec<Option<usize>>> {
    let mut only = vec![None; rows];
    for &(a, b) in edges {
        let later = &mut only[a.min(b)];
        if later.is_some_and(|other| other != a.max(b)) {
            return None;
        }
        *later = Some(a.max(b));
    }
    Some(only)
}

fn insert(sorted: &mut Vec<usize>, value: usize) {
    if let Err(place) = sorted.binary_search(&value) {
        sorted.insert(place, value);
    }
}

fn remove(sorted: &mut Vec<usize>, value: usize) {
    if let Ok(place) = sorted.binary_search(&value) {
        sorted.remove(place);
    }
}
