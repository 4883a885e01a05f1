//! `studbay new`: a small job to start from.

use super::args::NewArgs;
use super::{Outcome, load, say};
use crate::format::Text;
use crate::job::write;
use crate::plan::takeover::start_from;
use crate::store;
use anyhow::Context;
use std::io::Write;

/// The job that is written, comments and all.
const STARTER: &str = include_str!("../job/starter.ron");

pub(super) fn run(args: &NewArgs, out: &mut dyn Write) -> anyhow::Result<Outcome> {
    let file = Text::from(args.file.display().to_string());
    if let Some(from) = &args.from {
        let (other, _) = load(from)?;
        let job = start_from(&other);
        let text = write::to_string(&job).context("the job cannot be written")?;
        store::create(&args.file, text.as_bytes())?;
        let next = format!(
            "Wrote '{file}': the catalogue and the settings of '{}', and no house yet.\n\
             Next: give it rooms, from a table or in the views:  studbay rooms {file} --in rooms.csv\n",
            Text::from(from.display().to_string())
        );
        say::print(out, next.as_bytes())?;
        return Ok(Outcome::Fine);
    }
    store::create(&args.file, STARTER.as_bytes())?;
    let next = format!(
        "Wrote '{file}': one level, one panel, two rooms, with comments on what each part is for.\n\
         Next: edit it, then see what is wrong with it:  studbay check {file}\n"
    );
    say::print(out, next.as_bytes())?;
    Ok(Outcome::Fine)
}
