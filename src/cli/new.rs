//! `studbay new`: a small job to start from.

use super::args::NewArgs;
use super::{Outcome, say};
use crate::format::Text;
use crate::store;
use std::io::Write;

/// The job that is written, comments and all.
const STARTER: &str = include_str!("../job/starter.ron");

pub(super) fn run(args: &NewArgs, out: &mut dyn Write) -> anyhow::Result<Outcome> {
    store::create(&args.file, STARTER.as_bytes())?;
    let file = Text::from(args.file.display().to_string());
    let next = format!(
        "Wrote '{file}': one level, one panel, two rooms, with comments on what each part is for.\n\
         Next: edit it, then see what is wrong with it:  studbay check {file}\n"
    );
    say::print(out, next.as_bytes())?;
    Ok(Outcome::Fine)
}
