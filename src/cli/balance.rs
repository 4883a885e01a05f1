//! `studbay balance`: the best assignment of home runs to outputs, printed, and written where that is asked for.

use super::args::{BalanceArgs, ProposalForm};
use super::{Outcome, Plugs, load, say};
use crate::format::{self, Text};
use crate::job::edit::apply;
use crate::plan::balance::{Options, Proposal, Question};
use crate::schedule::proposal;
use crate::sheets::json;
use crate::store::{Keeper, Opened, Unsaved};
use std::fmt::Write as _;
use std::io::Write;

pub(super) fn run<D>(
    args: &BalanceArgs,
    plugs: &Plugs<'_, D>,
    out: &mut dyn Write,
) -> anyhow::Result<Outcome> {
    let options = Options { moves: args.moves, take_out: args.take_out, ..Options::default() };
    if let Some(question) = question(args) {
        return answer(args, &question, &options, plugs, out);
    }
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
            let _ = writeln!(
                text,
                "the file with its comments is kept as {}",
                Text::from(orig.display().to_string())
            );
        }
    }
    say::print(out, text.as_bytes())?;
    Ok(if proposal.feasible { Outcome::Fine } else { Outcome::Failing })
}

/// What is asked that changes nothing.
fn question(args: &BalanceArgs) -> Option<Question> {
    if let Some(lost) = &args.lose {
        return Some(Question::LoseSupply(lost.clone()));
    }
    let (watts, like) = (args.add_watts?, args.like.clone()?);
    Some(Question::AddRun { watts, like })
}

fn answer<D>(
    args: &BalanceArgs,
    question: &Question,
    options: &Options,
    plugs: &Plugs<'_, D>,
    out: &mut dyn Write,
) -> anyhow::Result<Outcome> {
    let (job, index) = load(&args.job)?;
    let answer = match (plugs.what_if)(&(plugs.study)(job, index), question, options) {
        Ok(answer) => answer,
        Err(problems) => {
            let all: Vec<String> =
                problems.iter().map(|problem| format!("{}; {}", problem.what, problem.remedy)).collect();
            anyhow::bail!("this cannot be answered: {}", all.join("; "));
        }
    };
    let text = match args.form {
        ProposalForm::Json => json::pretty(&answer)?,
        ProposalForm::Text => {
            let mut lines = proposal::answer_lines(question, &answer.fits, &answer.dark);
            lines.push(String::new());
            lines.push("balanced anew:".into());
            safe(&lines) + &said(&answer.proposal)
        }
    };
    say::print(out, text.as_bytes())?;
    Ok(if answer.proposal.feasible { Outcome::Fine } else { Outcome::Failing })
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
    lines.push(format!("supplies        {}", proposal::supplies_line(proposal)));
    lines.push(format!(
        "highest output  {} of its limit; with as many moves none is below {} (gap {})",
        format::percent(proposal.max_percent),
        format::percent(proposal.bound_percent),
        format::percent(proposal.gap_percent)
    ));
    lines.push(format!("spread          {}", proposal::spread_line(proposal)));
    lines.push(format!("proof           {}", proposal::proof_line(proposal)));
    for panel in &proposal.over_target {
        lines.push(format!(
            "target          panel {panel} cannot keep to the target; its outputs are held to their limit"
        ));
    }
    lines.extend(
        proposal.new_supplies.iter().map(|new| format!("new supply      {}", proposal::new_line(new))),
    );
    let free = proposal.free_supplies.iter();
    lines.extend(free.map(|free| format!("free supply     {}", proposal::free_line(free))));
    if proposal.free_supplies.iter().any(|free| !free.taken_out) {
        lines.push(
            "                --take-out takes free supplies out of their panels; pinned ones stay".into(),
        );
    }
    lines.push(String::new());
    lines.push("output          today               then                runs then".to_owned());
    for output in &proposal.outputs {
        let today = match output.today_watts {
            Some(watts) => {
                format!("{:>9} {:>8}", format::watts(Some(watts)), format::percent(output.today_percent))
            }
            None => format!("{:>9} {:8}", "new", ""),
        };
        let runs = if output.runs.is_empty() { "free".to_owned() } else { output.runs.join(" ") };
        lines.push(format!(
            "  {:10} {today}  {:>9} {:>8}   {runs}",
            output.output,
            format::watts(Some(output.watts)),
            format::percent(Some(output.percent)),
        ));
    }
    lines.push(String::new());
    lines.push(format!("moves: {}, of landed wires {}", proposal.moves.len(), proposal.landed_moves));
    lines.extend(proposal.moves.iter().map(|one| format!("  {}", proposal::move_line(one))));
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
