//! The `studbay` program.

use std::io::{self, IsTerminal};
use std::process::ExitCode;
use studbay::cli::{Plugs, Report, run};
use studbay::design::Design;
use studbay::plan::balance::{propose, what_if};
use studbay::plan::slots::arrangement;
use studbay::sheets::{NARROWED, SHEETS};

fn main() -> ExitCode {
    let plugs = Plugs {
        open: &studbay::tui::open,
        study: &|job, _| Design::derive(job),
        check: &|job, _| Report::of(&Design::derive(job)),
        explain: &studbay::explain::explain,
        sheets: SHEETS,
        narrowed: NARROWED,
        terminal: io::stdout().is_terminal(),
        balance: &propose,
        what_if: &what_if,
        arrange: &arrangement,
    };
    // Not locked for good: the views, their threads and a panic must be able to write too.
    ExitCode::from(run(std::env::args_os(), &plugs, &mut io::stdout(), &mut io::stderr()))
}
