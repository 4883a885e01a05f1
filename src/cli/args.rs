//! What can be typed, with its help.

use super::Plugs;
use crate::job::Id;
use crate::job::wiring::OutputRef;
use crate::sheets::pdf;
use crate::sheets::text::{LEAST_LINES, LEAST_WIDTH, MOST_WIDTH};
use clap::builder::{PossibleValue, PossibleValuesParser};
use clap::{Args, CommandFactory, Parser, Subcommand, ValueEnum};
use jiff::civil::Date;
use std::path::PathBuf;

/// Help is wrapped at this width even on a wider terminal.
const HELP_WIDTH: usize = 90;

/// Plans low-voltage DC lighting for whole houses: runs, loading, panel slots and cable schedules.
#[derive(Debug, Parser)]
#[command(
    name = "studbay",
    version,
    args_conflicts_with_subcommands = true,
    arg_required_else_help = true,
    disable_help_subcommand = true,
    after_help = "Examples:\n  studbay new house.ron\n  studbay house.ron\n  studbay sheet cables house.ron\n\n\
                  Exit codes: 0 fine, 1 a check fails, 2 the command or a file is unusable."
)]
pub(super) struct Cli {
    /// The job file to open in the views
    #[arg(value_name = "JOB")]
    pub(super) job: Option<PathBuf>,
    #[command(subcommand)]
    pub(super) command: Option<Command>,
}

#[derive(Debug, Subcommand)]
pub(super) enum Command {
    /// Write a small valid job with comments, to edit
    #[command(display_order = 1)]
    New(NewArgs),
    /// Print what is wrong with jobs
    #[command(display_order = 2)]
    Check(CheckArgs),
    /// Show how figures of a job came about
    Explain(ExplainArgs),
    /// Print a sheet of a job
    #[command(display_order = 3)]
    Sheet(SheetArgs),
    /// Propose the best assignment of home runs to outputs
    #[command(display_order = 4)]
    Balance(BalanceArgs),
    /// Propose slots for supplies, outputs in the order of the house, and panels for home runs
    #[command(display_order = 5)]
    Arrange(ArrangeArgs),
    /// Make rooms with their lights from a table, or write that table of a job
    #[command(display_order = 6)]
    Rooms(RoomsArgs),
    /// Print the completions of a shell
    #[command(display_order = 7)]
    Completions(CompletionsArgs),
    /// Print a page of the manual
    #[command(display_order = 8)]
    Man(ManArgs),
}

#[derive(Debug, Args)]
#[command(after_help = "Examples:\n  studbay new house.ron\n  studbay new house.ron --from last-year.ron")]
pub(super) struct NewArgs {
    /// The file to write; one that is there is left as it is
    #[arg(value_name = "FILE")]
    pub(super) file: PathBuf,
    /// Start with the catalogue and the settings of this job, and no house
    #[arg(long, value_name = "JOB")]
    pub(super) from: Option<PathBuf>,
}

#[derive(Debug, Args)]
pub(super) struct RoomsArgs {
    /// The job file
    #[arg(value_name = "JOB")]
    pub(super) job: PathBuf,
    /// Write the table of the job to this file, in place of one that is there; else it is printed
    #[arg(long, value_name = "FILE", conflicts_with_all = ["table", "write"])]
    pub(super) out: Option<PathBuf>,
    /// Read this table and say what it makes
    #[arg(long = "in", value_name = "FILE")]
    pub(super) table: Option<PathBuf>,
    /// Put what the table makes into the job file
    #[arg(long, requires = "table")]
    pub(super) write: bool,
}

/// The examples and the columns of the table of rooms.
fn rooms_help() -> String {
    format!(
        "The table has a heading row, then a row for each control with its lights. Columns may\n\
         stand in any order and be left out, except 'room'; commas, semicolons or tabs part them.\n\
         What an earlier row of the same room or box said may be left empty. Lengths, areas and\n\
         light are understood as typed: 12'6, 3.8 m, 160 ft2, 100 lx; without a unit they are in\n\
         the job's. Nothing is made while anything in the table is wrong.\n\n\
         Columns:\n{}\n\
         Examples:\n  studbay rooms house.ron --in rooms.csv\n  \
         studbay rooms house.ron --in rooms.csv --write\n  studbay rooms house.ron --out rooms.csv",
        crate::intake::help()
    )
}

#[derive(Debug, Args)]
#[command(
    after_help = "Example:\n  studbay completions bash > ~/.local/share/bash-completion/completions/studbay"
)]
pub(super) struct CompletionsArgs {
    /// The shell
    #[arg(value_name = "SHELL")]
    pub(super) shell: clap_complete::Shell,
}

#[derive(Debug, Args)]
#[command(after_help = "Examples:\n  studbay man > studbay.1\n  studbay man rooms > studbay-rooms.1")]
pub(super) struct ManArgs {
    /// The command it is about; by default the program
    #[arg(value_name = "COMMAND")]
    pub(super) command: Option<String>,
}

#[derive(Debug, Args)]
#[command(
    after_help = "Examples:\n  studbay check house.ron cottage.ron\n  studbay check --as json house.ron\n  \
                        studbay check --list\n\n\
                        Text has one entry for each cause. JSON has one form for one job or many:\n  \
                        findings: [{job, code, severity, subject, found, limit, unit, source, what,\n  \
                        remedy, accepted}], jobs: [{job, errors, warnings, advice, accepted, failure}]\n\n\
                        Ends with 1 if there is an error nobody accepted, with 2 if a file cannot be used."
)]
pub(super) struct CheckArgs {
    /// The job files
    #[arg(value_name = "JOB", required_unless_present = "list")]
    pub(super) jobs: Vec<PathBuf>,
    /// The form
    #[arg(long = "as", value_name = "FORM", default_value = "text")]
    pub(super) form: ReportForm,
    /// List every check with the source of its limit, and check nothing
    #[arg(long, conflicts_with = "jobs")]
    pub(super) list: bool,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(super) enum ReportForm {
    /// To read
    Text,
    /// For programs, in full precision
    Json,
}

#[derive(Debug, Args)]
#[command(
    after_help = "Example:\n  studbay explain house.ron fixture/F3/drop_percent run/HR1/source_watts\n\n\
                        Figures are named kind/id/key: run, fixture, cable, output, supply, panel or room, the id,\n\
                        and the key in the JSON of the sheets. Without a figure their names are listed."
)]
pub(super) struct ExplainArgs {
    /// The job file
    #[arg(value_name = "JOB")]
    pub(super) job: PathBuf,
    /// The figures
    #[arg(value_name = "FIGURE")]
    pub(super) figures: Vec<String>,
}

#[derive(Debug, Args)]
#[command(after_help = "Examples:\n  studbay sheet cables house.ron --out cables.pdf\n  \
                        studbay sheet loading house.ron --out loading.csv\n  \
                        studbay sheet cables house.ron --as pdf --paper a4 | lp\n  \
                        studbay sheet cables house.ron --level upper --panel P1\n  \
                        studbay sheet tags house.ron --as csv --write")]
pub(super) struct SheetArgs {
    /// Which sheet
    // Its place is said, since changing an argument afterwards moves it to the end.
    #[arg(value_name = "NAME", index = 1)]
    pub(super) name: String,
    /// The job file
    #[arg(value_name = "JOB", index = 2)]
    pub(super) job: PathBuf,
    /// The form; by default what the name after --out ends in, or text
    #[arg(long = "as", value_name = "FORM")]
    pub(super) form: Option<Form>,
    /// Write to this file, in place of one that is there
    #[arg(long, value_name = "FILE")]
    pub(super) out: Option<PathBuf>,
    /// Print only this table of a sheet that has several, as text or CSV
    #[arg(long, value_name = "TABLE")]
    pub(super) part: Option<String>,
    /// Store the tags that are not stored yet in the job file, so that they never change; for the sheet tags
    #[arg(long)]
    pub(super) write: bool,
    /// Only what goes to boxes on this level
    #[arg(long, value_name = "LEVEL")]
    pub(super) level: Option<String>,
    /// Only what comes from this panel
    #[arg(long, value_name = "PANEL")]
    pub(super) panel: Option<String>,
    /// Only this cable type
    #[arg(long, value_name = "CABLE")]
    pub(super) cable: Option<String>,
    /// Columns of a page of text, from 40 to 400
    #[arg(long, value_name = "N", default_value_t = 80, value_parser = width)]
    pub(super) width: usize,
    /// Lines of a page of text, 30 or more; 0 for one endless page
    #[arg(long, value_name = "N", default_value_t = 60, value_parser = lines)]
    pub(super) page_lines: usize,
    /// The size of the paper of a PDF
    #[arg(long, value_name = "SIZE", default_value = "letter")]
    pub(super) paper: PaperSize,
    /// Upright paper for a PDF; by default what the sheet needs
    #[arg(long, conflicts_with = "landscape")]
    pub(super) portrait: bool,
    /// Paper on its side for a PDF; by default what the sheet needs
    #[arg(long)]
    pub(super) landscape: bool,
    /// The date on the sheet; by default today
    #[arg(long, value_name = "YYYY-MM-DD", value_parser = day)]
    pub(super) date: Option<Date>,
}

impl SheetArgs {
    /// The paper of a PDF.
    pub(super) const fn page(&self) -> pdf::Form {
        let turn = match (self.portrait, self.landscape) {
            (true, _) => Some(pdf::Turn::Portrait),
            (_, true) => Some(pdf::Turn::Landscape),
            _ => None,
        };
        let size = match self.paper {
            PaperSize::Letter => pdf::Size::Letter,
            PaperSize::A4 => pdf::Size::A4,
        };
        pdf::Form { size, turn }
    }
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(super) enum PaperSize {
    /// 8.5 by 11 in
    Letter,
    /// 210 by 297 mm
    A4,
}

#[derive(Debug, Args)]
#[command(
    after_help = "Examples:\n  studbay balance house.ron\n  studbay balance house.ron --moves 4 --write\n  \
                        studbay balance house.ron --add-watts 40 --like PS1.1\n  \
                        studbay balance house.ron --lose PS2\n\n\
                        Ends with 1 if the runs do not fit, with 2 if the file cannot be used."
)]
pub(super) struct BalanceArgs {
    /// The job file
    #[arg(value_name = "JOB")]
    pub(super) job: PathBuf,
    /// Save the job as proposed; without it nothing changes
    #[arg(long)]
    pub(super) write: bool,
    /// Landed wires to move at most; by default the fewest within 2 % of the best
    #[arg(long, value_name = "N")]
    pub(super) moves: Option<u32>,
    /// Take supplies that end up with no run out of their panels; those pinned to their slots stay
    #[arg(long)]
    pub(super) take_out: bool,
    /// What if there were one more run of so many watts, on outputs like that of --like
    #[arg(long, value_name = "WATTS", requires = "like", conflicts_with = "write")]
    pub(super) add_watts: Option<f64>,
    /// An output of the panel and the volts that the run of --add-watts is meant for
    #[arg(long, value_name = "OUTPUT", requires = "add_watts")]
    pub(super) like: Option<OutputRef>,
    /// What if this supply failed
    #[arg(long, value_name = "SUPPLY", conflicts_with_all = ["write", "add_watts"], value_parser = supply)]
    pub(super) lose: Option<Id>,
    /// The form
    #[arg(long = "as", value_name = "FORM", default_value = "text")]
    pub(super) form: ProposalForm,
}

#[derive(Debug, Args)]
#[command(after_help = "Examples:\n  studbay arrange house.ron\n  studbay arrange house.ron --write\n  \
                        studbay arrange house.ron --panels --write\n\n\
                        Ends with 1 if something cannot be placed, with 2 if the file cannot be used.")]
pub(super) struct ArrangeArgs {
    /// The job file
    #[arg(value_name = "JOB")]
    pub(super) job: PathBuf,
    /// Take the panel that keeps cable short for each home run, too; such runs are then on no output until balanced
    #[arg(long)]
    pub(super) panels: bool,
    /// Save the job as proposed; without it nothing changes
    #[arg(long)]
    pub(super) write: bool,
    /// The form
    #[arg(long = "as", value_name = "FORM", default_value = "text")]
    pub(super) form: ProposalForm,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(super) enum ProposalForm {
    /// For people
    Text,
    /// For programs, in full precision
    Json,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(super) enum Form {
    /// Pages to print
    Text,
    /// Pages to print, set in letters
    Pdf,
    /// A spreadsheet
    Csv,
    /// For programs, in full precision
    Json,
}

/// The command line with the sheets that there are.
pub(super) fn command<D>(plugs: &Plugs<'_, D>) -> clap::Command {
    let names: Vec<PossibleValue> =
        plugs.sheets.iter().map(|sheet| PossibleValue::new(sheet.name).help(sheet.about)).collect();
    let command = Cli::command().max_term_width(HELP_WIDTH).mut_subcommand("sheet", |sheet| {
        sheet.mut_arg("name", |name| name.value_parser(PossibleValuesParser::new(names)))
    });
    command.mut_subcommand("rooms", |rooms| rooms.after_help(rooms_help()))
}

fn day(text: &str) -> Result<Date, String> {
    text.parse().map_err(|_| "it must be a day like 2026-03-09".into())
}

fn supply(text: &str) -> Result<Id, String> {
    Id::new(text).map_err(|_| "it must be the id of a supply, like PS1".into())
}

fn width(text: &str) -> Result<usize, String> {
    within(text, LEAST_WIDTH, MOST_WIDTH)
}

fn lines(text: &str) -> Result<usize, String> {
    if text == "0" { Ok(0) } else { within(text, LEAST_LINES, 10_000) }
}

fn within(text: &str, least: usize, most: usize) -> Result<usize, String> {
    text.parse()
        .ok()
        .filter(|n| (least..=most).contains(n))
        .ok_or_else(|| format!("it must be a whole number from {least} to {most}"))
}
