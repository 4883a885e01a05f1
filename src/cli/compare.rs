//! `studbay compare`: what is other in a later state of a job.

use super::args::{CompareArgs, ReportForm};
use super::{Outcome, Plugs, load_input, say};
use crate::sheets::{Heading, Paper, text};
use anyhow::bail;
use std::io::Write;
use std::path::Path;

pub(super) fn run<D>(
    args: &CompareArgs,
    plugs: &Plugs<'_, D>,
    out: &mut dyn Write,
) -> anyhow::Result<Outcome> {
    if args.old == Path::new("-") && args.new == Path::new("-") {
        bail!("only one of the two can come from the standard input");
    }
    let (old, old_index) = load_input(&args.old)?;
    let (new, new_index) = load_input(&args.new)?;
    let date = args.date.unwrap_or_else(|| jiff::ZonedDateTime::now().date());
    let heading = Heading::of(&new.project, date);
    let (old, new) = ((plugs.study)(old, old_index), (plugs.study)(new, new_index));
    let said = match args.form {
        ReportForm::Json => (plugs.revision.json)(&old, &new)?,
        ReportForm::Text => {
            text::print(&heading, &(plugs.revision.tables)(&old, &new), Paper::new(args.width, 0))
        }
    };
    say::print(out, said.as_bytes())?;
    Ok(Outcome::Fine)
}
