//! A proposed balance beside today: what people read of it on the screen, and in part on the command line.

use super::loading::run_and_box;
use super::{Cell, Column, Row, Section, Table};
use crate::design::Design;
use crate::format::{self, Quantity};
use crate::job::wiring::OutputRef;
use crate::job::{Id, Kind, Subject};
use crate::plan::balance::{Dark, FreeSupply, Move, NewSupply, OutputLoad, Proposal, Question};

/// Every output that is used today or then, side by side, with what leaves it and what comes: those that change first.
pub fn table(design: &Design, proposal: &Proposal) -> Table {
    let target = design.job.settings.target_load_percent.get();
    let (changed, same): (Vec<_>, Vec<_>) =
        proposal.outputs.iter().partition(|output| is_changed(proposal, output));
    let rows = |of: Vec<&OutputLoad>| of.into_iter().map(|output| row(proposal, output, target)).collect();
    let sections = if changed.is_empty() || same.is_empty() {
        let all = if same.is_empty() { changed } else { same };
        vec![Section { rows: rows(all), ..Section::default() }]
    } else {
        vec![Section::headed("wires move", rows(changed)), Section::headed("as today", rows(same))]
    };
    let table = Table::new(
        "balance",
        "Balance",
        vec![
            Column::text("output", "output").width(5, 12),
            Column::figure("today_watts", "today").bare(Quantity::Watts).yields(3),
            Column::figure("today_percent", "today").bare(Quantity::Percent),
            Column::figure("watts", "then").bare(Quantity::Watts),
            Column::bar("percent", "then, % of limit").width(21, 34),
            Column::text("moves", "out and in").width(12, 60).yields(1).grow(),
        ],
    );
    sections.into_iter().fold(table, Table::with_section)
}

/// Whether a run leaves an output or comes to it.
fn is_changed(proposal: &Proposal, output: &OutputLoad) -> bool {
    let here = |name: &str| name.eq_ignore_ascii_case(&output.output);
    proposal.moves.iter().any(|one| here(&one.to) || one.from.as_deref().is_some_and(here))
}

fn row(proposal: &Proposal, output: &OutputLoad, target: f64) -> Row {
    let here = |name: &str| name.eq_ignore_ascii_case(&output.output);
    let list = |word: &str, found: Vec<&str>| {
        if found.is_empty() { None } else { Some(format!("{word} {}", found.join(" "))) }
    };
    let out = proposal.moves.iter().filter(|one| one.from.as_deref().is_some_and(here));
    let into = proposal.moves.iter().filter(|one| here(&one.to));
    let words: Vec<String> = [
        list("out", out.map(|one| one.run.as_str()).collect()),
        list("in", into.map(|one| one.run.as_str()).collect()),
    ]
    .into_iter()
    .flatten()
    .collect();
    let there = output.today_watts.is_some();
    // What is searched with is rounded up; an output that keeps its runs keeps its figures.
    let [watts, percent] = if there && !is_changed(proposal, output) {
        [output.today_watts, output.today_percent]
    } else {
        [Some(output.watts), Some(output.percent)]
    };
    Row::new(vec![
        Cell::text(output.output.as_str()),
        if there { Cell::watts(output.today_watts) } else { Cell::text("new") },
        if there { Cell::percent(output.today_percent) } else { Cell::Blank },
        Cell::watts(watts),
        Cell::bar(percent, target),
        Cell::from(words.join("; ")),
    ])
    .about(Subject::new(Kind::Output, &output.output))
}

/// The highest output today in percent of its limit; none if one of them is unknown.
pub fn highest_today(design: &Design) -> Option<f64> {
    let mut highest = 0.0_f64;
    for output in design.study.outputs.iter().filter(|output| !output.runs.is_empty()) {
        highest = highest.max(format::known(output.percent)?);
    }
    Some(highest)
}

/// How many supplies it takes, and whether fewer could do.
pub fn supplies_line(proposal: &Proposal) -> String {
    let count = |n: Option<usize>| n.map_or_else(|| format::UNKNOWN.to_owned(), |n| n.to_string());
    if proposal.supplies <= proposal.supplies_bound {
        format!("{}, the fewest there can be", count(proposal.supplies))
    } else {
        format!("{}; no fewer than {} can be", count(proposal.supplies), count(proposal.supplies_bound))
    }
}

/// How rooms, levels and ways out hang on supplies.
pub fn spread_line(proposal: &Proposal) -> String {
    match (proposal.unspread, proposal.unspread_bound) {
        (0, _) => "every room, level and way out with two or more runs is on two supplies".to_owned(),
        (n, least) => {
            format!("on one supply alone: {n} of the rooms, levels and ways out; fewest possible {least}")
        }
    }
}

/// How many home runs move and how rooms and ways out hang then, in one line; none if nothing moves.
pub fn moves_line(proposal: &Proposal) -> Option<String> {
    if proposal.moves.is_empty() {
        return None;
    }
    let moves = count_of(proposal.moves.len(), "home run moves", "home runs move");
    let alone = match proposal.unspread {
        0 => "none of its rooms or ways out".to_owned(),
        n => count_of(n, "room, level or way out", "rooms, levels and ways out"),
    };
    let hang = if proposal.unspread > 1 { "hang" } else { "hangs" };
    Some(format!("{moves}, {} landed; {alone} {hang} on one supply", proposal.landed_moves))
}

/// What is proved of it.
pub fn proof_line(proposal: &Proposal) -> String {
    if proposal.optimal {
        "proved: nothing better exists, to within 0.1 W".into()
    } else if proposal.supplies > proposal.supplies_bound || proposal.unspread > proposal.unspread_bound {
        format!("not proved best: evenness at most {} from it", format::percent(proposal.gap_percent))
    } else {
        format!("not proved best: at most {} from it", format::percent(proposal.gap_percent))
    }
}

/// A run that moves.
pub fn move_line(one: &Move) -> String {
    let from = one.from.as_deref().unwrap_or("none");
    let landed = if one.landed { "  landed" } else { "" };
    format!("{:12} {from:>8} -> {}{landed}", one.run, one.to)
}

/// A run that moves, with the box it goes to.
pub fn move_line_with_box(design: &Design, one: &Move) -> String {
    let run = Id::new(&one.run).ok().and_then(|id| design.network.run(&id));
    let place = run.map(|run| run_and_box(design, run)).unwrap_or_default();
    let from = one.from.as_deref().unwrap_or("none");
    let landed = if one.landed { ", landed" } else { "" };
    let name = if place.is_empty() { one.run.clone() } else { place };
    format!("{name}: {from} -> {}{landed}", one.to)
}

/// A supply that is added.
pub fn new_line(new: &NewSupply) -> String {
    let slot = new.slot.map_or_else(|| "in no slot yet".to_owned(), |slot| format!("from slot {slot}"));
    format!("{} ({}) in panel {}, {slot}", new.supply, new.part, new.panel)
}

/// A supply that nothing is on then.
pub fn free_line(free: &FreeSupply) -> String {
    let slots = match (free.slot, free.last_slot) {
        (Some(first), Some(last)) if first == last => format!("slot {first}"),
        (Some(first), Some(last)) => format!("slots {first}-{last}"),
        _ => "in no slot".to_owned(),
    };
    let emptied = if free.emptied { ", emptied by this" } else { "" };
    let out = if free.taken_out { ": taken out" } else { ": stays where it is" };
    format!("{} in panel {}, {slots}{emptied}{out}", free.supply, free.panel)
}

/// What is known of a question before anything is balanced.
pub fn answer_lines(question: &Question, fits: &[OutputRef], dark: &Dark) -> Vec<String> {
    match question {
        Question::AddRun { watts, like } => {
            let shown = format::watts(Some(*watts));
            let first = fits.first().map(|output| {
                let more = fits.len() - 1;
                let others = match more {
                    0 => String::new(),
                    1 => "; one more output has room for it".to_owned(),
                    n => format!("; {n} more outputs have room for it"),
                };
                format!("what if one more run takes {shown}: it fits on {output} as it is{others}")
            });
            vec![first.unwrap_or_else(|| {
                format!("what if one more run takes {shown}: no output like {like} has room for it as it is")
            })]
        }
        Question::LoseSupply(lost) => {
            let listed = |all: &[String]| if all.is_empty() { "none".to_owned() } else { all.join(", ") };
            vec![
                format!(
                    "what if {lost} fails: no light is left in rooms: {}; on levels: {}",
                    listed(&dark.rooms),
                    listed(&dark.levels)
                ),
                format!(
                    "{} go dark: {}",
                    count_of(dark.runs.len(), "home run", "home runs"),
                    listed(&dark.runs)
                ),
            ]
        }
    }
}

/// A number of things with its word.
pub fn count_of(n: usize, one: &str, many: &str) -> String {
    if n == 1 { format!("1 {one}") } else { format!("{n} {many}") }
}
