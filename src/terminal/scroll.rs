//! Finding rows that only moved up or down, and moving them on the terminal.

use super::grid::{Cell, Grid};
use hashbrown::DefaultHashBuilder;
use std::hash::BuildHasher;

/// Rows `top..=bottom` move by `by` rows: up when positive, down when negative.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Shift {
    pub(super) top: usize,
    pub(super) bottom: usize,
    pub(super) by: isize,
}

impl Shift {
    pub(super) const fn count(self) -> usize {
        self.by.unsigned_abs()
    }

    pub(super) const fn is_up(self) -> bool {
        self.by > 0
    }
}

/// Finds the one shift that leaves the fewest cells to draw, if any helps.
pub(super) fn find(old: &Grid, new: &Grid) -> Option<Shift> {
    if old.rows != new.rows || old.cols != new.cols {
        return None;
    }
    let changed: Vec<usize> = (0..new.rows).filter(|&y| old.row(y) != new.row(y)).collect();
    let cells: usize = changed.iter().map(|&y| distance(old.row(y), new.row(y))).sum();
    // Moving rows costs a dozen bytes: below that it is not worth a search.
    if changed.len() < 2 || cells < 12 {
        return None;
    }
    let state = DefaultHashBuilder::default();
    let (before, after) = (hashes(old, &state), hashes(new, &state));
    let by = likeliest(&before, &after, &changed, new)?;
    best_band(old, new, by)
}

/// The distance by which most changed rows moved.
fn likeliest(before: &[u64], after: &[u64], changed: &[usize], new: &Grid) -> Option<isize> {
    let rows = before.len();
    let mut votes = vec![0_u16; rows * 2];
    for &y in changed {
        if new.row(y).iter().all(Cell::is_blank) {
            continue;
        }
        for (from, hash) in before.iter().enumerate() {
            if *hash == after[y] {
                votes[from + rows - y] += 1;
            }
        }
    }
    // Of equal counts the shorter way wins: it exposes fewer rows.
    let best = (1..votes.len())
        .filter(|&index| index != rows && votes[index] > 0)
        .max_by_key(|&index| (votes[index], usize::MAX - index.abs_diff(rows)))?;
    isize::try_from(best).ok()?.checked_sub_unsigned(rows)
}

/// The contiguous rows that gain most from being moved by `by`.
fn best_band(old: &Grid, new: &Grid, by: isize) -> Option<Shift> {
    let mut best = (0, 0, 0);
    let (mut sum, mut start) = (0_isize, 0);
    for y in 0..new.rows {
        let Some(from) = y.checked_add_signed(by).filter(|&from| from < new.rows) else {
            sum = 0;
            start = y + 1;
            continue;
        };
        if sum <= 0 {
            sum = 0;
            start = y;
        }
        let stay = distance(old.row(y), new.row(y));
        let moved = distance(old.row(from), new.row(y));
        sum += stay.cast_signed() - moved.cast_signed();
        if sum > best.0 {
            best = (sum, start, y);
        }
    }
    let (gain, first, last) = best;
    if gain <= 0 {
        return None;
    }
    let (top, bottom) =
        if by > 0 { (first, last + by.unsigned_abs()) } else { (first - by.unsigned_abs(), last) };
    Some(Shift { top, bottom, by })
}

fn distance(old: &[Cell], new: &[Cell]) -> usize {
    old.iter().zip(new).filter(|(a, b)| a != b).count()
}

fn hashes(grid: &Grid, state: &DefaultHashBuilder) -> Vec<u64> {
    (0..grid.rows).map(|y| state.hash_one(grid.row(y))).collect()
}

/// Moves the rows of a grid as the terminal does, leaving blank ones.
pub(super) fn apply(grid: &mut Grid, shift: Shift) {
    let count = shift.count();
    for step in 0..=shift.bottom - shift.top {
        let (to, from) = if shift.is_up() {
            let to = shift.top + step;
            (to, Some(to + count).filter(|&from| from <= shift.bottom))
        } else {
            let to = shift.bottom - step;
            let from = to.checked_sub(count).filter(|&from| from >= shift.top);
            (to, from)
        };
        match from {
            Some(from) => grid.copy_row(from, to),
            None => grid.row_mut(to).fill(Cell::BLANK),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::terminal::caps::Capabilities;
    use ratatui::buffer::Cell as BufferCell;

    fn grid(rows: &[&str]) -> Grid {
        let caps = Capabilities::default();
        let height = u16::try_from(rows.len()).unwrap();
        let mut grid = Grid::new(8, height, Cell::BLANK);
        for (row, y) in rows.iter().zip(0..) {
            for (c, x) in row.chars().zip(0..) {
                grid.put(x, y, BufferCell::default().set_char(c), &caps);
            }
        }
        grid
    }

    #[test]
    fn a_list_with_a_marker_moves_within_its_frame() {
        let old = grid(&["head", "  one", "  two", "  three", "> four", "foot"]);
        let new = grid(&["head", "  two", "  three", "  four", "> five", "foot"]);
        let shift = find(&old, &new).unwrap();
        assert_eq!((shift.top, shift.bottom, shift.by), (1, 4, 1));
        let back = find(&new, &old).unwrap();
        assert_eq!((back.top, back.bottom, back.by), (1, 4, -1));
        let mut moved = old.clone();
        apply(&mut moved, shift);
        assert_eq!(moved.row(1), new.row(1));
        assert!(moved.row(4).iter().all(Cell::is_blank));
        apply(&mut moved, back);
        assert_eq!(moved.row(3), old.row(3));
    }

    #[test]
    fn other_changes_move_nothing() {
        let old = grid(&["one", "two", "three"]);
        assert_eq!(find(&old, &grid(&["1", "2", "3"])), None);
        assert_eq!(find(&old, &grid(&["one", "two", "3"])), None);
        assert_eq!(find(&old, &grid(&["", "", ""])), None);
    }
}
