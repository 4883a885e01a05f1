//! What the program is asked about a job: how figures came about, and how its outputs are best balanced.

use super::super::action::Effect;
use super::super::question::{Answer, Question};
use super::App;
use super::taking::Pending;
use crate::explain::Workings;
use crate::format;
use crate::plan::balance::{Options, Proposal, propose};
use crate::terminal::{Key, KeyCode};

impl App {
    /// Shows how the figures of the line under the cursor came about, step by step down to the inputs.
    pub(super) fn explain(&mut self) {
        let Some(subject) = self.subject_here() else {
            self.say("this line is about nothing in particular");
            return;
        };
        let about = Workings::new(&self.design).about(&subject);
        if about.trim().is_empty() {
            self.say(format!("{subject} has no figures of its own here"));
            return;
        }
        self.ask_from_top(Question {
            text: format!("How the figures of {subject} came about"),
            lines: about.lines().map(str::to_owned).collect(),
            answers: Vec::new(),
            may_wait: true,
        });
    }

    /// Shows the best assignment of home runs to outputs, and takes it if a person says so.
    pub(super) fn balance(&mut self) {
        let proposal = propose(&self.design, &Options::default());
        let mut lines = said(&proposal);
        let mut answers = Vec::new();
        self.pending.clear();
        match (&proposal.edit, &self.read_only) {
            (Some(_), Some(reason)) => lines.push(format!("This job can only be read: {reason}")),
            (Some(edit), None) => {
                let count = proposal.moves.len();
                let label = format!("balance, moving {count} home runs");
                self.pending.push(Pending { label, edit: edit.clone(), show: None });
                answers.push(Answer { key: 'y', word: "take it", effect: Effect::Take(0) });
            }
            (None, _) => {}
        }
        self.ask_from_top(Question {
            text: "Balance of outputs: what is proposed, and what is proved of it".into(),
            lines,
            answers,
            may_wait: true,
        });
    }

    fn ask_from_top(&mut self, question: Question) {
        self.ask(question);
        self.question_top = Some(0);
    }

    /// Scrolls what a question is about; whether the key was one for that.
    pub(super) fn scroll_question(&mut self, key: Key) -> bool {
        let Some(top) = self.question_top else { return false };
        let page = self.page.max(1);
        let to = match key.code {
            KeyCode::Up => top.saturating_sub(1),
            KeyCode::Down => top + 1,
            KeyCode::PageUp => top.saturating_sub(page),
            KeyCode::PageDown | KeyCode::Char(' ') => top + page,
            KeyCode::Home => 0,
            KeyCode::End => usize::MAX,
            _ => return false,
        };
        self.question_top = Some(to);
        true
    }
}

/// A proposal in lines: before, after, what moves where.
fn said(proposal: &Proposal) -> Vec<String> {
    if !proposal.feasible {
        let problems = proposal.problems.iter();
        return problems.map(|problem| format!("{}: {}", problem.what, problem.remedy)).collect();
    }
    let mut lines = vec![
        format!(
            "supplies {}, of which none fewer than {} can do",
            proposal.supplies.map_or_else(|| "?".into(), |n| n.to_string()),
            proposal.supplies_bound.map_or_else(|| "?".into(), |n| n.to_string())
        ),
        format!(
            "highest output {} of its limit; none can be below {} with as many landed wires moved",
            format::percent(proposal.max_percent),
            format::percent(proposal.bound_percent)
        ),
        if proposal.optimal {
            "proved: nothing better exists, to within 0.1 W".into()
        } else {
            format!("not proved best: at most {} from it", format::percent(proposal.gap_percent))
        },
    ];
    if proposal.moves.is_empty() {
        lines.push("no home run moves: it is as good as that today".into());
    } else {
        lines.push(format!(
            "{} home runs move, {} of them landed:",
            proposal.moves.len(),
            proposal.landed_moves
        ));
    }
    lines.extend(proposal.moves.iter().map(|one| {
        let landed = if one.landed { ", landed" } else { "" };
        format!("  {}: {} to {}{landed}", one.run, one.from.as_deref().unwrap_or("no output"), one.to)
    }));
    lines.push("outputs then:".into());
    lines.extend(proposal.outputs.iter().map(|output| {
        let (watts, percent) = (format::watts(Some(output.watts)), format::percent(Some(output.percent)));
        format!("  {}: {watts}, {percent}: {}", output.output, output.runs.join(", "))
    }));
    lines
}
