//! Fixtures that are still open, loop by loop: which are ready as wired, and what the others need.

use super::names::{called, loop_at};
use super::{Cell, Column, Row, Section, Table, Weight};
use crate::design::Design;
use crate::job::{Id, Kind, Subject};
use crate::site::{self, Choice, ChoiceState, LoopChoices};
use rust_decimal::Decimal;
use serde::Serialize;

/// The document of the sheet `options`.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Options {
    /// Every loop with something open on it.
    pub loops: Vec<LoopOptions>,
}

/// A loop in [`Options`].
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct LoopOptions {
    /// The loop's cable.
    #[serde(rename = "loop")]
    pub cable: String,
    /// Its choices.
    pub choices: Vec<ChoiceEntry>,
}

/// A choice in [`Options`].
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ChoiceEntry {
    /// The fixture type.
    pub fixture: String,
    /// The boxes that may hold it.
    pub boxes: Vec<String>,
    /// `ready`, `not known` or `needs`.
    pub state: &'static str,
    /// What it needs.
    pub needs: Vec<NeedEntry>,
    /// What is not known of it.
    pub unknown: Vec<String>,
    /// The fixtures for all of these boxes; null where a price is not known.
    pub price: Option<Decimal>,
}

/// Something a choice needs in [`Options`].
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct NeedEntry {
    /// What is wrong with it as wired.
    pub what: String,
    /// What helps.
    pub help: String,
    /// What that costs in parts, cable and labor, before overhead and margin; null where it is not known.
    pub cost: Option<Decimal>,
}

/// The document for machines.
pub fn document(design: &Design) -> Options {
    let loops = site::choices(design).into_iter().map(|choices| LoopOptions {
        cable: choices.id.to_string(),
        choices: choices.choices.iter().map(entry).collect(),
    });
    Options { loops: loops.collect() }
}

fn entry(choice: &Choice) -> ChoiceEntry {
    let (needs, unknown) = match &choice.state {
        ChoiceState::Ready => (Vec::new(), Vec::new()),
        ChoiceState::Unknown(unknown) => (Vec::new(), unknown.clone()),
        ChoiceState::Needs(needs) => {
            let need = |need: &site::Need| NeedEntry {
                what: need.what.clone(),
                help: need.help.clone(),
                cost: need.cost,
            };
            (needs.iter().map(need).collect(), Vec::new())
        }
    };
    ChoiceEntry {
        fixture: choice.fixture.to_string(),
        boxes: choice.boxes.iter().map(Id::to_string).collect(),
        state: state_word(&choice.state),
        needs,
        unknown,
        price: choice.price,
    }
}

/// The state in a word or two.
pub const fn state_word(state: &ChoiceState) -> &'static str {
    match state {
        ChoiceState::Ready => "ready",
        ChoiceState::Unknown(_) => "not known",
        ChoiceState::Needs(_) => "needs",
    }
}

/// The sheet: a section for each loop.
pub fn table(design: &Design) -> Table {
    let mut table = Table::new(
        "options",
        "Fixtures still open",
        vec![
            Column::text("fixture", "fixture").width(12, 30),
            Column::figure("boxes", "boxes").width(5, 6),
            Column::text("state", "as wired").width(9, 12),
            Column::text("needs", "what it needs").width(20, 60).grow(),
            Column::figure("cost", "that\ncosts").width(6, 10),
            Column::figure("price", "fixtures\ncost").width(8, 12),
        ],
    );
    for choices in site::choices(design) {
        let (wall_box, _, run) = loop_at(design, choices.at);
        let heading =
            format!("{} {} from {}", run.id, run.name, super::names::box_and_room(design, wall_box));
        table = table.with_section(Section::headed(heading, rows(design, &choices)).keyed(run.id.as_str()));
    }
    if table.sections.is_empty() {
        table.lead.push("Nothing is open: every ceiling box holds its fixture, or none.".into());
    }
    table.notes.push(
        "ready: with this fixture in all of these boxes at once, and with every other open choice at its worst, \
         nothing on the way from the output to the boxes is wrong, and it may hang there."
            .into(),
    );
    table.notes.push(
        "not known: nothing speaks against it, but the catalogue or the job does not say all of weight, depth, what \
         the box bears and where it is listed for. Fixtures cost: those for all of these boxes."
            .into(),
    );
    table.notes.push(
        "that costs: the first way named, in parts, cable by its length and labor, before tax, overhead and margin; less \
         than nothing where it saves. A box costs its own price. '?': a figure for it is missing, or nobody can say \
         beforehand."
            .into(),
    );
    table
}

fn rows(design: &Design, choices: &LoopChoices) -> Vec<Row> {
    choices.choices.iter().flat_map(|choice| choice_rows(design, choice, &choices.id)).collect()
}

fn choice_rows(design: &Design, choice: &Choice, run: &Id) -> Vec<Row> {
    let name = design
        .index
        .fixture_type(&design.job, &choice.fixture)
        .map_or_else(|| choice.fixture.to_string(), |part| called(&part.name, &part.id));
    let about = Subject::new(Kind::Cable, run);
    let state = match choice.state {
        ChoiceState::Needs(_) => Cell::Flag(Weight::Caution, "needs".into()),
        _ => Cell::text(state_word(&choice.state)),
    };
    let mut said = said(choice).into_iter();
    let first_said = said.next();
    let first = Row::new(vec![
        Cell::from(name),
        Cell::Count(i64::try_from(choice.boxes.len()).unwrap_or(i64::MAX)),
        state,
        first_said.as_ref().map_or(Cell::Blank, |(words, _)| Cell::from(words.clone())),
        cost_cell(choice, first_said.as_ref()),
        Cell::Money(choice.price),
    ])
    .about(about.clone());
    let others = said.map(|line| {
        let cost = cost_cell(choice, Some(&line));
        let cells = vec![Cell::Blank, Cell::Blank, Cell::Blank, Cell::from(line.0), cost, Cell::Blank];
        Row::new(cells).about(about.clone()).beneath()
    });
    std::iter::once(first).chain(others).collect()
}

/// What a need costs; what is only not known of a choice has no cost.
fn cost_cell(choice: &Choice, said: Option<&(String, Option<Decimal>)>) -> Cell {
    match (&choice.state, said) {
        (ChoiceState::Needs(_), Some((_, cost))) => Cell::Money(*cost),
        _ => Cell::Blank,
    }
}

/// What a choice needs, or what is not known of it, a line each with its cost.
pub fn said(choice: &Choice) -> Vec<(String, Option<Decimal>)> {
    match &choice.state {
        ChoiceState::Ready => Vec::new(),
        ChoiceState::Unknown(unknown) => unknown.iter().map(|what| (what.clone(), None)).collect(),
        ChoiceState::Needs(needs) => {
            needs.iter().map(|need| (format!("{}: {}", need.what, need.help), need.cost)).collect()
        }
    }
}
