//! The contents of a book.

use crate::format::Text;
use crate::schedule::{Cell, Column, Row, Table};

/// The sheets of a book with the pages they take, the first of them beginning on that page.
pub(in crate::sheets) fn table(entries: &[(Text, usize)], first: usize) -> Table {
    let columns = vec![Column::text("sheet", "sheet").width(20, 60).grow(), Column::figure("page", "page")];
    let mut page = first;
    let rows = entries.iter().map(|(title, count)| {
        let row = Row::new(vec![Cell::text(title.clone()), Cell::Count(i64::try_from(page).unwrap_or(0))]);
        page += count;
        row
    });
    Table::new("contents", "Contents", columns).with_rows(rows.collect())
}
