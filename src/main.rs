//! The `studbay` program.

use std::io;
use std::process::ExitCode;
use studbay::cli::{Plugs, Report, run};
use studbay::design::Design;
use studbay::sheets::SHEETS;

fn main() -> ExitCode {
    let plugs = Plugs {
        open: None,
        study: &|job, _| Design::derive(job),
        check: &|design| Report::of(&design.findings),
        sheets: SHEETS,
    };
    ExitCode::from(run(std::env::args_os(), &plugs, &mut io::stdout().lock(), &mut io::stderr().lock()))
}
