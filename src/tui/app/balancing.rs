//! The balance at the keyboard: the proposal beside today, the point of the curve, what-if, accept or drop.
//!
//! The search runs elsewhere: the app says what is to be searched ([`App::search_task`]) and takes the news of it
//! ([`App::search_news`]); it does not know of threads.

use super::super::action::Effect;
use super::super::input::Input;
use super::super::listing::Listing;
use super::super::question::{Answer, Question};
use super::taking::Pending;
use super::{App, Asked, Prompt};
use crate::design::Design;
use crate::job::edit::Edit;
use crate::job::wiring::OutputRef;
use crate::job::{Id, Kind};
use crate::plan::balance::{self, CurvePoint, News, Options, Plan, Problem, Proposal};
use crate::plan::slots::arrangement;
use crate::schedule::{arrangement as arranged, proposal as shown};
use crate::terminal::{Key, KeyCode};

/// Watts of a run that is asked about, where nobody said others.
const USUAL_WATTS: &str = "40";

/// How the search stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(in crate::tui) enum Searching {
    /// So many percent of its steps are done.
    At(u8),
    /// It was told to end.
    Ending,
    /// It is over.
    Over,
}

/// A balance that is being looked at.
#[derive(Debug, Clone)]
pub(in crate::tui) struct Desk {
    /// What was asked, if it is not the balance itself.
    question: Option<balance::Question>,
    asked: Option<balance::Asked>,
    /// Why there is no answer.
    problems: Vec<Problem>,
    plan: Option<Plan>,
    pub proposal: Option<Proposal>,
    pub curve: Vec<CurvePoint>,
    /// The point of the curve that is proposed unless a person chooses.
    pub usual: usize,
    /// The point a person chose.
    chosen: Option<usize>,
    take_out: bool,
    pub searching: Searching,
    /// Outputs side by side.
    pub listing: Option<Listing>,
    /// What is known of a question before anything is balanced.
    pub answer: Vec<String>,
    /// What else there is to say.
    pub notes: Vec<String>,
    /// The first line shown.
    pub top: usize,
}

impl Desk {
    fn new(design: &Design, question: Option<balance::Question>) -> Self {
        let (asked, problems) = match balance::asked(design, question.as_ref()) {
            Ok(asked) => (Some(asked), Vec::new()),
            Err(problems) => (None, problems),
        };
        let answer = match (&question, &asked) {
            (Some(question), Some(asked)) => shown::answer_lines(question, &asked.fits, &asked.dark),
            _ => Vec::new(),
        };
        let searching = if asked.is_some() { Searching::At(0) } else { Searching::Over };
        let mut desk = Self {
            question,
            asked,
            problems,
            plan: None,
            proposal: None,
            curve: Vec::new(),
            usual: 0,
            chosen: None,
            take_out: false,
            searching,
            listing: None,
            answer,
            notes: Vec::new(),
            top: 0,
        };
        desk.notes = desk.words(design);
        desk
    }

    /// The point of the curve that is shown.
    pub(in crate::tui) fn point(&self) -> usize {
        self.chosen.unwrap_or(self.usual).min(self.curve.len().saturating_sub(1))
    }

    /// Makes what is shown of the plan anew.
    fn remake(&mut self, design: &Design) {
        let Some(plan) = &self.plan else { return };
        self.curve = plan.curve();
        self.usual = plan.usual().unwrap_or(0);
        let moves = self.curve.get(self.point()).map(|point| point.moves);
        let proposal =
            plan.proposal(design, &Options { moves, take_out: self.take_out, ..Options::default() });
        self.problems.clone_from(&proposal.problems);
        self.listing = proposal.feasible.then(|| Listing::of_table(design, shown::table(design, &proposal)));
        self.proposal = Some(proposal);
        self.notes = self.words(design);
    }

    fn words(&self, design: &Design) -> Vec<String> {
        let mut lines = Vec::new();
        if !self.problems.is_empty() {
            let why = if self.question.is_some() { "No answer:" } else { "Nothing is proposed:" };
            lines.push(why.into());
            for problem in &self.problems {
                lines.push(format!("! {}", problem.what));
                lines.push(format!("  do: {}", problem.remedy));
            }
        }
        let Some(proposal) = self.proposal.as_ref().filter(|proposal| proposal.feasible) else {
            return lines;
        };
        for panel in &proposal.over_target {
            lines.push(format!(
                "panel {panel} cannot keep to the target; its outputs are held to their limit"
            ));
        }
        lines.push(format!("spread: {}", shown::spread_line(proposal)));
        lines.extend(proposal.new_supplies.iter().map(|new| format!("added: {}", shown::new_line(new))));
        lines.extend(proposal.free_supplies.iter().map(|free| format!("free: {}", shown::free_line(free))));
        if proposal.moves.is_empty() {
            lines.push("no home run moves: it is as good as that today".into());
        } else {
            let moves = shown::count_of(proposal.moves.len(), "home run moves", "home runs move");
            lines.push(format!("{moves}, {} of them landed:", proposal.landed_moves));
        }
        lines
            .extend(proposal.moves.iter().map(|one| format!("  {}", shown::move_line_with_box(design, one))));
        lines
    }

    /// The first line: what is gained.
    pub(in crate::tui) fn title(&self, design: &Design) -> String {
        let what = match &self.question {
            None => "Balance",
            Some(_) => "What if",
        };
        let Some(proposal) = &self.proposal else {
            return match self.searching {
                Searching::Over => format!("{what}: there is no answer"),
                _ => format!("{what}: searching for a first answer"),
            };
        };
        if !proposal.feasible {
            return format!("{what}: it does not fit");
        }
        format!(
            "{what}: highest {} today, {} then; supplies {}",
            crate::format::percent(shown::highest_today(design)),
            crate::format::percent(proposal.max_percent),
            shown::supplies_line(proposal)
        )
    }

    /// The keys that do something here.
    pub(in crate::tui) fn hints(&self) -> Vec<String> {
        let mut hints = Vec::new();
        let proposal = self.proposal.as_ref();
        if self.acceptable() {
            hints.push("y:take it");
        }
        if self.curve.len() > 1 {
            hints.push("Left Right:moves");
        }
        if proposal.is_some_and(|proposal| !proposal.free_supplies.is_empty()) && self.question.is_none() {
            hints.push("o:free supplies out");
        }
        hints.push("Up Down:scroll");
        hints.push(if self.searching == Searching::Over { "Esc:drop it" } else { "Esc:enough" });
        hints.into_iter().map(String::from).collect()
    }

    fn acceptable(&self) -> bool {
        self.question.is_none() && self.proposal.as_ref().is_some_and(|proposal| proposal.edit.is_some())
    }
}

impl App {
    /// Begins a balance.
    pub(super) fn balance(&mut self) -> Effect {
        self.open_desk(None)
    }

    fn open_desk(&mut self, question: Option<balance::Question>) -> Effect {
        let desk = Desk::new(&self.design, question);
        let effect = if desk.searching == Searching::Over { Effect::None } else { Effect::Search };
        self.desk = Some(Box::new(desk));
        effect
    }

    /// What is to be searched, for the desk that is open.
    pub fn search_task(&self) -> Option<(Design, balance::Asked)> {
        let asked = self.desk.as_ref()?.asked.clone()?;
        Some((self.design.clone(), asked))
    }

    /// Takes news of the search.
    pub fn search_news(&mut self, news: News) {
        let Some(desk) = &mut self.desk else { return };
        match news {
            News::Progress(percent) => {
                if let Searching::At(at) = &mut desk.searching {
                    *at = percent;
                }
            }
            News::Better(plan) => {
                desk.plan = Some(*plan);
                desk.remake(&self.design);
            }
            News::Done => desk.searching = Searching::Over,
        }
    }

    pub(super) fn desk_key(&mut self, key: Key) -> Effect {
        let page = self.page.max(1);
        let Some(desk) = &mut self.desk else { return Effect::None };
        let point = desk.point();
        match key.code {
            KeyCode::Esc | KeyCode::Char('q') if desk.searching == Searching::Over => self.desk = None,
            KeyCode::Char('l') if key.ctrl => return Effect::Repaint,
            KeyCode::Char('z') if key.ctrl => return Effect::Suspend,
            KeyCode::Char('c') if key.ctrl => {
                self.desk = None;
                return Effect::EndSearch;
            }
            KeyCode::Esc | KeyCode::Char('q') => {
                desk.searching = Searching::Ending;
                return Effect::EndSearch;
            }
            KeyCode::Left | KeyCode::Char('h' | '<' | ',') => self.choose(point.saturating_sub(1)),
            KeyCode::Right | KeyCode::Char('l' | '>' | '.') => self.choose(point + 1),
            KeyCode::Char('o') if desk.question.is_none() => {
                desk.take_out = !desk.take_out;
                desk.remake(&self.design);
            }
            KeyCode::Char('y') | KeyCode::Enter if desk.acceptable() => return self.accept(),
            KeyCode::Up | KeyCode::Char('k') => desk.top = desk.top.saturating_sub(1),
            KeyCode::Down | KeyCode::Char('j') => desk.top = desk.top.saturating_add(1),
            KeyCode::PageUp => desk.top = desk.top.saturating_sub(page),
            KeyCode::PageDown | KeyCode::Char(' ') => desk.top = desk.top.saturating_add(page),
            KeyCode::Home | KeyCode::Char('g') => desk.top = 0,
            KeyCode::End | KeyCode::Char('G') => desk.top = usize::MAX,
            _ => {}
        }
        Effect::None
    }

    fn choose(&mut self, point: usize) {
        let Some(desk) = &mut self.desk else { return };
        if point < desk.curve.len() {
            desk.chosen = Some(point);
            desk.remake(&self.design);
        }
    }

    /// Makes the proposal one edit that undo takes back.
    fn accept(&mut self) -> Effect {
        let Some(desk) = &self.desk else { return Effect::None };
        let Some((proposal, edit)) = desk.proposal.as_ref().and_then(|own| Some((own, own.edit.clone()?)))
        else {
            return Effect::None;
        };
        let moves = shown::count_of(proposal.moves.len(), "home run", "home runs");
        let label = format!("balance, moving {moves}");
        match self.commit(label.clone(), edit) {
            Ok(()) => {
                self.desk = None;
                self.say(format!("{label}; u undoes it"));
                Effect::EndSearch
            }
            Err(reason) => {
                self.say(format!("not taken: {reason}"));
                Effect::None
            }
        }
    }

    /// Begins to ask what if a run were added, or a supply failed.
    pub(super) fn ask_what_if(&mut self) {
        let here = self.subject_here();
        let text = match here {
            Some(here) if here.kind == Kind::Supply => format!("lose {}", here.id),
            _ => USUAL_WATTS.to_owned(),
        };
        self.prompt = Some(Prompt::new(Asked::WhatIf, Input::new(&text)));
    }

    /// Takes the question as it was typed: watts, or `lose` and a supply.
    pub(super) fn what_if(&mut self, text: &str) -> Effect {
        let lower = text.trim().to_lowercase();
        if lower.is_empty() {
            return Effect::None;
        }
        let question = if let Some(id) = lower.strip_prefix("lose") {
            let id = id.trim();
            let known = Id::new(id).ok().and_then(|id| self.as_spelled(&id));
            let Some(known) = known else {
                self.say(format!("there is no supply '{id}'"));
                return Effect::None;
            };
            balance::Question::LoseSupply(known)
        } else {
            let watts: Option<f64> = lower.trim_end_matches('w').trim().parse().ok();
            let Some(watts) = watts.filter(|watts| watts.is_finite() && *watts > 0.0) else {
                self.say(format!(
                    "'{text}' is neither watts, like 40, nor a supply that fails, like lose PS1"
                ));
                return Effect::None;
            };
            let Some(like) = self.output_here() else {
                self.say("there is no output for another run");
                return Effect::None;
            };
            balance::Question::AddRun { watts, like }
        };
        self.open_desk(Some(question))
    }

    /// A supply's id as the job spells it.
    fn as_spelled(&self, id: &Id) -> Option<Id> {
        self.design.index.supply(&self.design.job, id).map(|(_, own)| own.id.clone())
    }

    /// The output that the line under the cursor is about, or the first there is.
    fn output_here(&self) -> Option<OutputRef> {
        let here = self.subject_here();
        let outputs = &self.design.study.outputs;
        let own = here.and_then(|here| match here.kind {
            Kind::Output => here.id.parse().ok(),
            Kind::Supply => {
                outputs.iter().map(|output| &output.output).find(|o| o.supply.as_str() == here.id).cloned()
            }
            Kind::Cable => {
                let id = Id::new(&here.id).ok()?;
                self.design.network.runs[self.design.network.run(&id)?].output.clone()
            }
            _ => None,
        });
        own.or_else(|| outputs.first().map(|output| output.output.clone()))
    }

    /// Shows what is proposed about panels, and takes it if a person says so.
    pub(super) fn arrange(&mut self) {
        let found = arrangement(&self.design);
        let mut lines = arranged::lines(&found);
        self.pending.clear();
        let mut answers = Vec::new();
        if let Some(reason) = &self.read_only {
            lines.push(format!("This job can only be read: {reason}"));
        } else {
            let count = found.slots.moves.len() + found.slots.outputs.len();
            let slots = (format!("arrange slots and outputs, {count} changes"), found.slots.edit.clone());
            let count = found.panels.changes.len();
            let panels = (format!("give {count} home runs another panel"), found.panels.edit.clone());
            let both = match (&slots.1, &panels.1) {
                (Some(one), Some(other)) => Some(Edit::Together(vec![one.clone(), other.clone()])),
                _ => None,
            };
            let both = ("arrange slots, outputs and panels".to_owned(), both);
            let choices = [('y', "slots and outputs", slots), ('p', "panels", panels), ('b', "both", both)];
            for (key, word, (label, edit)) in choices {
                if let Some(edit) = edit {
                    answers.push(Answer { key, word, effect: Effect::Take(self.pending.len()) });
                    self.pending.push(Pending { label, edit, show: None });
                }
            }
        }
        self.ask_from_top(Question {
            text: "Slots, outputs and panels: what is proposed".into(),
            lines,
            answers,
            may_wait: true,
        });
    }
}
