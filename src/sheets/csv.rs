//! Tables for a spreadsheet: one row a line, the unit in the heading, nothing a spreadsheet would run.

use crate::format;
use crate::schedule::{Cell, Column, Table};

/// The first column, where a table has sections with headings.
const SECTION: &str = "section";

/// Tables as CSV, one after the other with an empty line between.
///
/// Sums are left out, since a spreadsheet would sum them again. Figures stand without unit, with up to four decimals;
/// lengths in feet, or in metres where the column's key ends in `_m`. What is not known is empty.
///
/// # Errors
/// When the writer fails, which a writer into memory does not.
pub fn write(tables: &[Table]) -> Result<Vec<u8>, csv::Error> {
    let mut out = Vec::new();
    for table in tables {
        if !out.is_empty() {
            out.push(b'\n');
        }
        one(table, &mut out)?;
    }
    Ok(out)
}

fn one(table: &Table, out: &mut Vec<u8>) -> Result<(), csv::Error> {
    let mut writer = csv::Writer::from_writer(out);
    let headed = table.sections.iter().any(|section| section.heading.is_some());
    writer.write_record(headed.then_some(SECTION).into_iter().chain(table.columns.iter().map(|c| c.key)))?;
    for section in &table.sections {
        let heading =
            section.key.as_ref().or(section.heading.as_ref()).map(|h| inert(h.as_str())).unwrap_or_default();
        for row in &section.rows {
            let cells = table.columns.iter().enumerate().map(|(at, column)| written(column, row.cell(at)));
            writer.write_record(headed.then(|| heading.clone()).into_iter().chain(cells))?;
        }
    }
    writer.flush()?;
    Ok(())
}

fn written(column: &Column, cell: &Cell) -> String {
    match cell {
        Cell::Blank | Cell::Unknown | Cell::Tick | Cell::Write | Cell::Length(None) | Cell::Money(None) => {
            String::new()
        }
        Cell::Text(text) | Cell::Flag(_, text) => inert(text.as_str()),
        Cell::Count(count) => count.to_string(),
        Cell::Figure(_, figure) | Cell::Bar { percent: figure, .. } => format::machine(*figure),
        Cell::Length(Some(length)) if column.key.ends_with("_m") => format::machine(Some(length.metres())),
        Cell::Length(Some(length)) => format::machine(Some(length.feet())),
        Cell::Money(amount @ Some(_)) => format::money(*amount),
    }
}

/// The text with a leading apostrophe if a spreadsheet would take it for a formula. A plain number is left as it is.
pub(crate) fn inert(text: &str) -> String {
    // Some spreadsheets trim a cell before they look at it, and take the wide forms of the signs too.
    let risky =
        text.trim_start().starts_with(['=', '+', '-', '@', '\u{ff1d}', '\u{ff0b}', '\u{ff0d}', '\u{ff20}']);
    if risky && !is_number(text) { format!("'{text}") } else { text.to_owned() }
}

/// The text as it was before it was made inert.
pub(crate) fn active(text: &str) -> &str {
    match text.strip_prefix('\'') {
        Some(rest) if inert(rest) == text => rest,
        _ => text,
    }
}

fn is_number(text: &str) -> bool {
    let digits = text.strip_prefix(['-', '+']).unwrap_or(text);
    let (whole, part) = digits.split_once('.').unwrap_or((digits, "0"));
    !whole.is_empty() && [whole, part].iter().all(|side| side.chars().all(|c| c.is_ascii_digit()))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn formulas_are_defused_and_numbers_are_not() {
        for formula in
            ["=1+1", "+cmd|' /C calc'!A0", "-1+1", "@SUM(A1)", " =1", "-", "\u{ff1d}1", "-1.5e", "+.5"]
        {
            assert_eq!(inert(formula), format!("'{formula}"));
            assert_eq!(active(&inert(formula)), formula);
        }
        for plain in ["-1.5", "+2", "HR1", "62'6", "3-way", "", "-0"] {
            assert_eq!(inert(plain), plain);
            assert_eq!(active(plain), plain);
        }
    }
}
