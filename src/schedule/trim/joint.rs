//! How the wires are joined in a ceiling box.
//!
//! On a voltage drive the pair goes through every box, and the light hangs across it. On a current drive a string is
//! opened in each box and the light put between its ends: current leaves the control on the loop's OUT end, so a light
//! has its + toward IN. On a loop that returns, each string has one conductor; on one that ends, the string goes out on
//! one conductor and comes back on the other, and the last light joins the two.

use crate::design::Design;
use crate::job::catalogue::{ConductorPlan, Drive, FixtureColour, Function};
use crate::job::wiring::CeilingBox;
use crate::schedule::by_room::LoopWork;

/// What the conductors of a loop do, by their marks.
#[derive(Debug, Clone, Default)]
pub(super) struct Wires {
    plus: Vec<String>,
    minus: Vec<String>,
    strings: [Vec<String>; 2],
    is_string: Option<bool>,
}

/// A joint in words and parts.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub(super) struct Joint {
    pub words: String,
    pub opened: Vec<String>,
    pub jumpers: Vec<String>,
}

/// The two sides of a plan: `red orange +, black gray -`.
pub(super) fn sides(plan: Option<&ConductorPlan>) -> String {
    let Some(plan) = plan else { return "its conductors are not told".into() };
    let marks = |function| marks(plan, function).join(" ");
    let words = format!("{} +, {} -", marks(Function::Positive), marks(Function::Negative));
    match marks(Function::Spare).as_str() {
        "" => words,
        spare => format!("{words}; {spare} capped"),
    }
}

fn marks(plan: &ConductorPlan, function: Function) -> Vec<String> {
    plan.conductors.iter().filter(|c| c.function == function).map(|c| c.name.clone()).collect()
}

impl Wires {
    pub(super) fn of(design: &Design, on: &LoopWork<'_>) -> Self {
        let job = &design.job;
        let part = design.index.control_type(job, &on.control.part);
        let is_string = part.map(|part| matches!(part.drive, Drive::Current { .. }));
        let cable = design.index.cable_type(job, &on.run.cable);
        let plan = on.run.plan.as_ref().or(cable.map(|cable| &cable.plan));
        let Some(plan) = plan.and_then(|plan| design.index.plan(job, plan)) else {
            return Self { is_string, ..Self::default() };
        };
        Self {
            plus: marks(plan, Function::Positive),
            minus: marks(plan, Function::Negative),
            strings: [marks(plan, Function::FirstString), marks(plan, Function::SecondString)],
            is_string,
        }
    }
}

/// The joint in one ceiling box.
pub(super) fn joint(
    design: &Design,
    on: &LoopWork<'_>,
    wires: &Wires,
    at: usize,
    ceiling: &CeilingBox,
) -> Joint {
    let hangs = ceiling.fixture.is_some();
    let open = !ceiling.open.is_empty();
    match wires.is_string {
        Some(true) => string_joint(design, on, wires, at, ceiling),
        Some(false) if wires.plus.is_empty() || wires.minus.is_empty() => told_nothing(),
        Some(false) => {
            let (plus, minus) = (wires.plus.join(" "), wires.minus.join(" "));
            let words = match (hangs, open) {
                (true, _) => format!("{plus} to +, {minus} to -"),
                (false, true) => format!("not chosen yet: {plus} to +, {minus} to -; until then cap them"),
                (false, false) => "no light: join each wire through and cap it".to_owned(),
            };
            Joint { words, ..Joint::default() }
        }
        None => told_nothing(),
    }
}

fn told_nothing() -> Joint {
    Joint { words: "which wire does what is not told; ask before joining".into(), ..Joint::default() }
}

fn string_joint(design: &Design, on: &LoopWork<'_>, wires: &Wires, at: usize, ceiling: &CeilingBox) -> Joint {
    let returns = on.run.path.returns();
    let last = !returns && at + 1 == on.run.ceiling.len();
    let fixture = ceiling.fixture.as_ref().and_then(|id| design.index.fixture_type(&design.job, id));
    let tunable = fixture.is_some_and(|fixture| fixture.colour == FixtureColour::Tunable);
    let [first, second] = &wires.strings;
    let Some(out) = first.first() else { return told_nothing() };
    let waits = if ceiling.open.is_empty() { "no light" } else { "not chosen yet" };
    if last {
        // Out on the first conductor, back on the second: the last box joins the two.
        let Some(back) = first.get(1) else { return told_nothing() };
        let (opened, jumpers) = (vec![out.clone(), back.clone()], vec![format!("{out} to {back}")]);
        return match ceiling.fixture {
            Some(_) => Joint {
                words: format!("end of the string: {out} to +, {back} to -"),
                opened,
                jumpers: Vec::new(),
            },
            None => Joint { words: format!("{waits}: JUMPER {out} to {back}"), opened: Vec::new(), jumpers },
        };
    }
    let mut opened = Vec::new();
    let mut jumpers = Vec::new();
    let mut words = Vec::new();
    let strings = [(1, Some(out)), (2, second.first())];
    for (number, mark) in strings {
        let Some(mark) = mark else { continue };
        let uses = ceiling.fixture.is_some() && (number == 1 || tunable);
        if uses {
            words.push(format!("open {mark}: IN to +, OUT to -"));
            opened.push(mark.clone());
        } else if ceiling.fixture.is_none() {
            words.push(format!("JUMPER {mark} IN to {mark} OUT"));
            jumpers.push(mark.clone());
        } else {
            words.push(format!("{mark} through"));
        }
    }
    // The way back on a loop that ends goes through every box but the last.
    if let (false, Some(back)) = (returns, first.get(1)) {
        words.push(format!("{back} through"));
    }
    let words = words.join("; ");
    let words = if ceiling.fixture.is_none() { format!("{waits}: {words}") } else { words };
    Joint { words, opened, jumpers }
}
