//! What each quantity of a takeoff was counted from: ids, those that go on from each other taken together.

use super::{about, quantity};
use crate::design::Design;
use crate::job::Subject;
use crate::schedule::{Cell, Column, Row, Table};
use crate::takeoff::{Material, Takeoff};
use rust_decimal::Decimal;
use std::collections::{BTreeMap, HashMap};

/// What each quantity was counted from, so that a doubtful one can be looked up.
pub(super) fn table(design: &Design, takeoff: &Takeoff) -> Table {
    let mut rows = Vec::new();
    for cable in &takeoff.cables {
        let ids = cable.from.iter().map(|source| (source.subject.id.as_str(), Decimal::ONE)).collect();
        let length = Cell::from(cable.length.shown(design.job.project.units));
        rows.extend(from_rows(Cell::from(&cable.part.id), length, &in_rows(ids), Some(&cable.part)));
    }
    for made in &takeoff.materials {
        let key = if made.part.is_some() { made.key.as_str() } else { made.name.as_str() };
        rows.extend(from_rows(Cell::from(key), quantity(made.counted), &sources(made), made.part.as_ref()));
    }
    Table::new(
        "counted-from",
        "What it was counted from",
        vec![
            Column::text("part", "part").width(8, 16),
            Column::figure("counted", "counted").width(6, 10),
            Column::text("from", "from").width(24, 90).grow(),
        ],
    )
    .with_rows(rows)
}

/// Most ids in a row, so that no row is too tall for a page.
const IDS_IN_A_ROW: usize = 40;

/// What a part was counted from, over as many rows as it takes.
fn from_rows(part: Cell, counted: Cell, ids: &[String], subject: Option<&Subject>) -> Vec<Row> {
    let (first, rest) = ids.split_at(ids.len().min(IDS_IN_A_ROW));
    let more = rest.chunks(IDS_IN_A_ROW).map(|ids| vec![Cell::Blank, Cell::Blank, Cell::from(ids.join(" "))]);
    let all = std::iter::once(vec![part, counted, Cell::from(first.join(" "))]).chain(more);
    all.map(|cells| about(Row::new(cells), subject)).collect()
}

/// The ids of what a part was counted from, with how much each needs where that is not one.
fn sources(made: &Material) -> Vec<String> {
    let mut of: BTreeMap<&str, Decimal> = BTreeMap::new();
    let mut order: Vec<&str> = Vec::new();
    for source in &made.from {
        let id = source.subject.id.as_str();
        let sum = of.entry(id).or_insert_with(|| {
            order.push(id);
            Decimal::ZERO
        });
        *sum = sum.checked_add(source.quantity).unwrap_or(*sum);
    }
    let each = order.into_iter().map(|id| (id, of.get(id).copied().unwrap_or(Decimal::ONE)));
    in_rows(each.collect())
}

/// The letters an id begins with and its number; an id that is written otherwise has no number.
fn parted(id: &str) -> (&str, Option<u32>) {
    let digits = id.bytes().rev().take_while(u8::is_ascii_digit).count();
    match id.split_at_checked(id.len() - digits) {
        // What is written with zeros before it goes on in another way than by its number.
        Some((letters, digits)) if !letters.is_empty() && !digits.starts_with('0') => {
            (letters, digits.parse().ok())
        }
        _ => (id, None),
    }
}

/// Ids with how much each needs; those that go on by one from each other are taken together: `L-1..L-8:2 W-2`.
fn in_rows(mut ids: Vec<(&str, Decimal)>) -> Vec<String> {
    let mut first: HashMap<&str, usize> = HashMap::new();
    for (at, (id, _)) in ids.iter().enumerate() {
        first.entry(parted(id).0).or_insert(at);
    }
    ids.sort_by_key(|(id, _)| (first.get(parted(id).0).copied(), parted(id).1));
    let goes_on = |before: &(&str, Decimal), next: &(&str, Decimal)| {
        let ((letters, number), (other, then)) = (parted(before.0), parted(next.0));
        letters == other
            && before.1 == next.1
            && number.is_some()
            && number.and_then(|n| n.checked_add(1)) == then
    };
    let rows = ids.chunk_by(goes_on).filter_map(|row| {
        let ((first, n), (last, _)) = (row.first()?, row.last()?);
        let much = if *n == Decimal::ONE { String::new() } else { format!(":{}", n.normalize()) };
        Some(if row.len() > 1 { format!("{first}..{last}{much}") } else { format!("{first}{much}") })
    });
    rows.collect()
}

#[cfg(test)]
mod tests {
    use super::in_rows;
    use rust_decimal::Decimal;

    #[test]
    fn ids_that_go_on_by_one_stand_together() {
        let rows =
            |ids: &[(&str, u32)]| in_rows(ids.iter().map(|(id, n)| (*id, Decimal::from(*n))).collect());
        assert_eq!(rows(&[("L-10", 1), ("L-2", 1), ("L-1", 1), ("W-2", 1)]), ["L-1..L-2", "L-10", "W-2"]);
        assert_eq!(rows(&[("L-1", 2), ("L-2", 2), ("L-3", 1)]), ["L-1..L-2:2", "L-3"]);
        // What is written with zeros, or ends as no number can, stands alone.
        assert_eq!(rows(&[("HR01", 1), ("HR02", 1), ("hall", 1)]).concat(), "HR01HR02hall");
        assert_eq!(rows(&[("A-4294967295", 1), ("A-4294967296", 1)]).concat().len(), 24);
        assert!(rows(&[]).is_empty());
    }
}
