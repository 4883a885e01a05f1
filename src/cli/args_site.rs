//! What can be typed after the commands for the site.

use clap::Args;
use std::path::PathBuf;

#[derive(Debug, Args)]
#[command(
    after_help = "The table has a heading row and a row for each reading, mark or step. Columns, in any order, with\n\
                  commas, semicolons or tabs between:\n  \
                  id       a cable or a box\n  \
                  what     a test as on the sheet of readings (conductor red, joined from near, across from\n           \
                  near, insulation, volts at L-3 ...), start mark, end mark, a step (pulled, tested,\n           \
                  boarded, trimmed, tested again), or splice\n  \
                  figure   as the meter shows it: 1.42, OL, >200M; a length for a mark\n  \
                  meter    of the catalogue; with celsius, date and by it holds for the rows below too\n  \
                  celsius  21, or 70 F\n  \
                  date     like 2026-03-09\n  \
                  by       initials\n\n\
                  Nothing is taken while anything in the table is wrong.\n\n\
                  Examples:\n  studbay readings house.ron --from monday.csv\n  \
                  studbay readings house.ron --from monday.csv --write"
)]
pub(super) struct ReadingsArgs {
    /// The job file
    #[arg(value_name = "JOB")]
    pub(super) job: PathBuf,
    /// The table to read
    #[arg(long, value_name = "FILE")]
    pub(super) from: PathBuf,
    /// Put what it holds into the job file; without it nothing changes
    #[arg(long)]
    pub(super) write: bool,
}

#[derive(Debug, Args)]
#[command(
    after_help = "Examples:\n  studbay service house.ron L-3 L-4\n  studbay service house.ron L-3 --with pend-7\n\n\
                  Ends with 1 if the substitute needs something first."
)]
pub(super) struct ServiceArgs {
    /// The job file
    #[arg(value_name = "JOB")]
    pub(super) job: PathBuf,
    /// The ceiling boxes whose lights are dark
    #[arg(value_name = "FIXTURE", required = true)]
    pub(super) lights: Vec<String>,
    /// Check this fixture of the catalogue in their place against loop, output and box
    #[arg(long, value_name = "FIXTURE")]
    pub(super) with: Option<String>,
}
