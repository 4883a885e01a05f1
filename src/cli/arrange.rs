//! `studbay arrange`: slots for supplies, outputs in the order of the house, panels for home runs; printed, and written
//! where that is asked for.

use super::args::{ArrangeArgs, ProposalForm};
use super::{Outcome, Plugs, load, say};
use crate::format::Text;
use crate::job::edit::{Edit, apply};
use crate::plan::slots::Arrangement;
use crate::schedule::arrangement;
use crate::sheets::json;
use crate::store::{Keeper, Opened, Unsaved};
use std::fmt::Write as _;
use std::io::Write;

pub(super) fn run<D>(
    args: &ArrangeArgs,
    plugs: &Plugs<'_, D>,
    out: &mut dyn Write,
) -> anyhow::Result<Outcome> {
    let mut said = None;
    let found = if args.write {
        let Opened { mut keeper, mut job, index, .. } = Keeper::open_to_write(&args.job)?;
        let found = (plugs.arrange)(&(plugs.study)(job.clone(), index));
        let file = Text::from(args.job.display().to_string());
        said = Some(match edit(args, &found) {
            Some(edit) => {
                apply(&mut job, edit)?;
                let saved = keeper.save(&job)?;
                let mut text = format!("\nwritten to {file}\n");
                if let Some(orig) = saved.orig {
                    let orig = Text::from(orig.display().to_string());
                    let _ = writeln!(text, "the file with its comments is kept as {orig}");
                }
                text
            }
            None => format!("\n{file} is left as it is: nothing changes\n"),
        });
        keeper.close(Unsaved::None);
        found
    } else {
        let (job, index) = load(&args.job)?;
        (plugs.arrange)(&(plugs.study)(job, index))
    };
    let mut text = match args.form {
        ProposalForm::Json => json::pretty(&found)?,
        ProposalForm::Text => {
            let lines = arrangement::lines(&found);
            lines.iter().map(|line| format!("{}\n", Text::from(line.as_str()))).collect::<Vec<_>>().concat()
        }
    };
    if args.form == ProposalForm::Text {
        text += said.as_deref().unwrap_or_default();
    }
    say::print(out, text.as_bytes())?;
    Ok(if found.slots.problems.is_empty() { Outcome::Fine } else { Outcome::Failing })
}

/// What is written: slots and the order of outputs, and panels where that is asked for.
fn edit(args: &ArrangeArgs, found: &Arrangement) -> Option<Edit> {
    let panels = found.panels.edit.clone().filter(|_| args.panels);
    let all: Vec<Edit> = found.slots.edit.clone().into_iter().chain(panels).collect();
    (!all.is_empty()).then_some(Edit::Together(all))
}
