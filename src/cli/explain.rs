//! `studbay explain`: how figures came about.

use super::args::ExplainArgs;
use super::{Outcome, Plugs, load, say};
use std::io::Write;

/// Explains each figure, or lists the names there are.
pub(super) fn run<D>(
    args: &ExplainArgs,
    plugs: &Plugs<'_, D>,
    out: &mut dyn Write,
) -> anyhow::Result<Outcome> {
    let (job, index) = load(&args.job)?;
    let text = (plugs.explain)(&(plugs.study)(job, index), &args.figures)?;
    say::print(out, text.as_bytes())?;
    Ok(Outcome::Fine)
}
