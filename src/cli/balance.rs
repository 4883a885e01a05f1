//! `studbay balance`: the best assignment of home runs to outputs, printed, and written where that is asked for.

use super::args::{BalanceArgs, ProposalForm};
use super::{Outcome, Plugs, load, say};
use crate::format::{self, Text};
use crate::job::edit::apply;
use crate::plan::balance::{Options, Proposal};
use crate::sheets::json;
use crate::store::{Keeper, Opened, Unsaved};
use std::fmt::Write as _;
use std::io::Write;

pub(super) fn run<D>(
    args: &BalanceArgs,
    plugs: &Plugs<'_, D>,
    out: &mut dyn Write,
) -> anyhow::Result<Outcome> {
    let options = Options { moves: args.moves, ..Options::default() };
    let mut saved = None;
    let proposal = if args.write {
        // The lock is held from before the job is read, so that what is written is what was balanced.
        let Opened { mut keeper, mut job, index, .. } = Keeper::open_to_write(&args.job)?;
        let proposal = (plugs.balance)(&(plugs.study)(job.clone(), index), &options);
        if let Some(edit) = &proposal.edit {
            apply(&mut job, edit.clone())?;
            saved = Some(keeper.save(&job)?);
        }
        keeper.close(Unsaved::None);
        proposal
    } else {
        let (job, index) = load(&args.job)?;
        (plugs.balance)(&(plugs.study)(job, index), &options)
    };
    let mut text = match args.form {
        ProposalForm::Json => json::pretty(&proposal)?,
        ProposalForm::Text => said(&proposal),
    };
    if args.write && args.form == ProposalForm::Text && proposal.feasible {
        let file = Text::from(args.job.display().to_string());
        let _ = match &saved {
            Some(_) => writeln!(text, "\nwritten to {file}"),
            None => writeln!(text, "\n{file} is left as it is: nothing changes"),
        };
        if let Some(orig) = saved.and_then(|saved| saved.orig) {
            let _ =
                writeln!(text, "the file as it was is kept as {}", Text::from(orig.display().to_string()));
        }
    }
    say::print(out, text.as_bytes())?;
    Ok(if proposal.feasible { Outcome::Fine } else { Outcome::Failing })
}

/// The proposal for people.
fn said(proposal: &Proposal) -> String {
    let mut lines = Vec::new();
    if !proposal.feasible {
        lines.push("no balance:".to_owned());
        let problems = proposal.problems.iter();
        lines.extend(problems.map(|problem| format!("  {}; {}", problem.what, problem.remedy)));
        return safe(&lines);
    }
    let count = |n: Option<usize>| n.map_or_else(|| format::UNKNOWN.to_owned(), |n| n.to_string());
    let proved = proposal.supplies <= proposal.supplies_bound;
    let fewest = if proved {
        "the fewest there can be".to_owned()
    } else {
        format!("no fewer than {} can be", count(proposal.supplies_bound))
    };
    lines.push(format!("supplies        {}, {fewest}", count(proposal.supplies)));
    lines.push(format!(
        "highest output  {} of its limit; with as many moves none is below {} (gap {})",
        format::percent(proposal.max_percent),
        format::percent(proposal.bound_percent),
        format::percent(proposal.gap_percent)
    ));
    lines.push(match (proposal.unspread, proposal.unspread_bound) {
        (0, _) => "spread          every room, level and way out with two or more runs is on two supplies"
            .to_owned(),
        (n, least) => {
            format!("spread          on one supply alone: {n} of the rooms, levels and ways out; fewest possible {least}")
        }
    });
    lines.push(format!(
        "proof           {}",
        if proposal.optimal { "nothing better exists, to within 0.1 W" } else { "not proved to be the best" }
    ));
    for panel in &proposal.over_target {
        lines.push(format!(
            "target          panel {panel} cannot keep to the target; its outputs are held to their limit"
        ));
    }
    for new in &proposal.new_supplies {
        let slot = new.slot.map_or_else(|| "in no slot yet".to_owned(), |slot| format!("from slot {slot}"));
        lines.push(format!("new supply      {} ({}) in panel {} {slot}", new.supply, new.part, new.panel));
    }
    if !proposal.free_supplies.is_empty() {
        lines.push(format!("free supplies   {}", proposal.free_supplies.join(", ")));
    }
    lines.push(String::new());
    lines.push("outputs".to_owned());
    for output in &proposal.outputs {
        lines.push(format!(
            "  {:12} {:>9} {:>8}  {}",
            output.output,
            format::watts(Some(output.watts)),
            format::percent(Some(output.percent)),
            output.runs.join(" ")
        ));
    }
    lines.push(String::new());
    lines.push(format!("moves: {}, of landed wires {}", proposal.moves.len(), proposal.landed_moves));
    for one in &proposal.moves {
        let from = one.from.as_deref().unwrap_or("none");
        let landed = if one.landed { "  landed" } else { "" };
        lines.push(format!("  {:12} {from:>8} -> {}{landed}", one.run, one.to));
    }
    if proposal.curve.len() > 1 {
        lines.push(String::new());
        lines.push("landed wires moved, highest output, and what it cannot be below".to_owned());
        for point in &proposal.curve {
            lines.push(format!(
                "  {:>5} {:>9} {:>9}",
                point.moves,
                format::percent(Some(point.max_percent)),
                format::percent(Some(point.bound_percent))
            ));
        }
    }
    safe(&lines)
}

/// Lines that can be printed anywhere.
fn safe(lines: &[String]) -> String {
    let lines: Vec<String> = lines.iter().map(|line| format!("{}\n", Text::from(line.as_str()))).collect();
    lines.concat()
}
