//! The `studbay` program.

use std::io;
use std::process::ExitCode;
use studbay::cli::{Plugs, Report, run};

fn main() -> ExitCode {
    let plugs = Plugs {
        open: Some(&studbay::tui::open),
        study: &|job, index| (job, index),
        check: &|_| Report { lines: vec!["the file is a sound job".into()], failing: false },
        sheets: &[],
    };
    ExitCode::from(run(std::env::args_os(), &plugs, &mut io::stdout().lock(), &mut io::stderr().lock()))
}
