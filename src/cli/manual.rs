//! `studbay completions` and `studbay man`: what a shell and a manual need, from the table of arguments itself.

use super::args::{CompletionsArgs, ManArgs};
use super::{Outcome, say};
use anyhow::Context;
use clap::Command;
use std::io::Write;

pub(super) fn completions(
    args: &CompletionsArgs,
    mut command: Command,
    out: &mut dyn Write,
) -> anyhow::Result<Outcome> {
    let mut script = Vec::new();
    clap_complete::generate(args.shell, &mut command, "studbay", &mut script);
    say::print(out, &script)?;
    Ok(Outcome::Fine)
}

pub(super) fn page(args: &ManArgs, mut command: Command, out: &mut dyn Write) -> anyhow::Result<Outcome> {
    command.build();
    let command = match &args.command {
        None => command,
        Some(name) => {
            let mut known: Vec<&str> = command.get_subcommands().map(Command::get_name).collect();
            known.sort_unstable();
            let known = known.join(", ");
            let found = command.find_subcommand(name).cloned();
            found.with_context(|| format!("there is no command '{name}'; there are {known}"))?
        }
    };
    let mut page = Vec::new();
    clap_mangen::Man::new(command).render(&mut page).context("the page cannot be made")?;
    say::print(out, &page)?;
    Ok(Outcome::Fine)
}
