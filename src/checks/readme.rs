//! The table of checks for the handbook of the program.

use super::list::CHECKS;
use std::fmt::Write;

/// The line before the table of checks in a Markdown file.
pub const README_START: &str = "<!-- checks -->";
/// The line after it.
pub const README_END: &str = "<!-- /checks -->";

/// Every check as a Markdown table.
pub fn readme_table() -> String {
    let mut table = String::from("| Check | Severity | Finds | Limit from |\n|---|---|---|---|\n");
    for check in CHECKS {
        // Writing to a String cannot fail.
        let _ = writeln!(
            table,
            "| `{}` | {} | {} | {} |",
            check.code,
            check.severity.word(),
            check.about,
            check.source.listed()
        );
    }
    table
}
