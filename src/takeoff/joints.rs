//! Joints: where conductors are joined or capped, counted from the conductors that meet in each box.
//!
//! A control and a fixture have one lead a side. A joint is made for each side of a circuit:
//!
//! - in a wall box, the conductors of the feed with those that go onward and a lead of each control on it; and the lead
//!   of each control with the conductors of its loops, and of their ends where they are fed from both;
//! - in a ceiling box that holds a fixture, or is to hold one, IN and OUT with the fixture's lead. An empty box is not
//!   cut: its cable passes through;
//! - in a series string two joints of two for each conductor that the fixture opens: one for a fixed light, all of them
//!   for a tunable one;
//! - each conductor that is capped, alone: spare ones at both ends of their cable, and the end of a returned loop that
//!   is capped.
//!
//! Conductors of a control signal are landed on their controls, and those of a home run on the panel's terminals.

use super::Facts;
use crate::job::catalogue::{ConductorPlan, Drive, FixtureColour, Function};
use crate::job::wiring::{Control, Feed, Loop, LoopPath, Source, WallBox};
use crate::job::{Id, Kind, Subject, open};

/// Conductors joined, or one capped.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Joint {
    /// The box, or the panel, it is in.
    pub at: Subject,
    /// The room it is counted in; none for a panel.
    pub room: Option<Id>,
    /// The conductors that meet.
    pub wires: usize,
}

/// Sides of a circuit whose conductors meet only their own kind.
const SIDES: [Function; 2] = [Function::Positive, Function::Negative];
const STRINGS: [Function; 2] = [Function::FirstString, Function::SecondString];

/// Every joint of the job, in the order of the file.
pub(super) fn joints(design: Facts<'_>) -> Vec<Joint> {
    let mut found = Found { design, joints: Vec::new() };
    for wall_box in &design.job.boxes {
        found.wall_box(wall_box);
        for control in &wall_box.controls {
            for run in &control.loops {
                found.ceiling_boxes(wall_box, control, run);
            }
        }
    }
    found.joints
}

/// What the conductors of a cable do.
pub(super) fn plan_of<'a>(design: Facts<'a>, cable: &Id, plan: Option<&'a Id>) -> Option<&'a ConductorPlan> {
    let of_type = || design.index.cable_type(design.job, cable).map(|cable| &cable.plan);
    design.index.plan(design.job, plan.or_else(of_type)?)
}

/// Whether a control drives its loops as series strings.
fn strings(design: Facts<'_>, control: &Control) -> bool {
    let part = design.index.control_type(design.job, &control.part);
    part.is_some_and(|part| matches!(part.drive, Drive::Current { .. }))
}

fn count(plan: Option<&ConductorPlan>, function: Function) -> usize {
    plan.map_or(0, |plan| plan.count(function))
}

struct Found<'a> {
    design: Facts<'a>,
    joints: Vec<Joint>,
}

impl<'a> Found<'a> {
    fn add(&mut self, at: &Subject, room: Option<&Id>, wires: usize) {
        if wires > 0 {
            self.joints.push(Joint { at: at.clone(), room: room.cloned(), wires });
        }
    }

    /// So many conductors, each capped alone.
    fn capped(&mut self, at: &Subject, room: Option<&Id>, conductors: usize) {
        for _ in 0..conductors {
            self.add(at, room, 1);
        }
    }

    fn wall_box(&mut self, wall_box: &WallBox) {
        let design = self.design;
        let here = Subject::new(Kind::WallBox, &wall_box.id);
        let room = Some(&wall_box.room);
        let mut grounds = 0;
        for feed in &wall_box.feeds {
            let plan = plan_of(design, &feed.cable, feed.plan.as_ref());
            let onward: Vec<&Feed> = onward(design, feed);
            let controls = wall_box.controls.iter().filter(|control| is_on(wall_box, control, feed)).count();
            for side in SIDES {
                let beyond =
                    onward.iter().map(|feed| count(plan_of(design, &feed.cable, feed.plan.as_ref()), side));
                self.add(&here, room, count(plan, side) + beyond.sum::<usize>() + controls);
            }
            grounds += count(plan, Function::Ground);
            let spare = count(plan, Function::Spare);
            self.capped(&here, room, spare);
            self.far_end(feed, spare);
            for next in onward {
                grounds += count(plan_of(design, &next.cable, next.plan.as_ref()), Function::Ground);
            }
        }
        for control in &wall_box.controls {
            grounds += self.control(&here, room, control);
        }
        if grounds > 1 {
            self.add(&here, room, grounds);
        }
    }

    /// The spare conductors of a feed where it comes from.
    fn far_end(&mut self, feed: &Feed, spare: usize) {
        let design = self.design;
        match &feed.from {
            Source::Output(output) => {
                if let Some((panel, _)) = design.index.supply(design.job, &output.supply) {
                    self.capped(&Subject::new(Kind::Panel, &panel.id), None, spare);
                }
            }
            Source::Panel(panel) => self.capped(&Subject::new(Kind::Panel, panel), None, spare),
            Source::Onward(from) => {
                if let Some((from, _)) = design.index.feed(design.job, from) {
                    self.capped(&Subject::new(Kind::WallBox, &from.id), Some(&from.room), spare);
                }
            }
        }
    }

    /// The side of a control that its loops leave from; gives the ground conductors that come to the box.
    fn control(&mut self, here: &Subject, room: Option<&Id>, control: &Control) -> usize {
        let design = self.design;
        let as_strings = strings(design, control);
        let functions = if as_strings { STRINGS } else { SIDES };
        let mut grounds = 0;
        let (mut leaving, mut together) = (0, [0, 0]);
        for run in &control.loops {
            let plan = plan_of(design, &run.cable, run.plan.as_ref());
            leaving += 1;
            for (at, function) in functions.into_iter().enumerate() {
                let conductors = string_or_side(plan, function, as_strings);
                together[at] += conductors;
                if as_strings {
                    // Each end of a string has a lead of its own.
                    (0..conductors).for_each(|_| self.add(here, room, 2));
                }
            }
            self.capped(here, room, count(plan, Function::Spare));
            grounds += count(plan, Function::Ground);
        }
        if leaving > 0 && !as_strings {
            let ends = self.fed_ends(control);
            for side in 0..2 {
                self.add(here, room, 1 + together[side] + ends[side]);
            }
        }
        for (run, own) in self.returning(control) {
            let plan = plan_of(design, &run.cable, run.plan.as_ref());
            let conductors = plan.map_or(0, |plan| plan.conductors.len());
            if run.path == LoopPath::ReturnedCapped {
                self.capped(here, room, conductors);
            } else {
                self.capped(here, room, count(plan, Function::Spare));
                if own {
                    let both: usize = functions.iter().map(|f| string_or_side(plan, *f, true)).sum();
                    (0..both).for_each(|_| self.add(here, room, 2));
                }
            }
        }
        grounds
    }

    /// The ends of loops fed from both ends that come back to this control, a side each.
    fn fed_ends(&self, control: &Control) -> [usize; 2] {
        let mut ends = [0, 0];
        for (run, own) in self.returning(control) {
            if run.path == LoopPath::Returned && !own {
                let plan = plan_of(self.design, &run.cable, run.plan.as_ref());
                ends[0] += count(plan, Function::Positive);
                ends[1] += count(plan, Function::Negative);
            }
        }
        ends
    }

    /// The loops that return to a control, and whether each is a series string.
    fn returning(&self, home: &Control) -> Vec<(&'a Loop, bool)> {
        let job = self.design.job;
        let mut found = Vec::new();
        for control in job.boxes.iter().flat_map(|wall_box| &wall_box.controls) {
            for run in control.loops.iter().filter(|run| run.path.returns() && !run.ceiling.is_empty()) {
                let to = run.returns_to.as_ref().unwrap_or(&control.id);
                if to.same(&home.id) {
                    found.push((run, strings(self.design, control)));
                }
            }
        }
        found
    }

    fn ceiling_boxes(&mut self, wall_box: &WallBox, control: &Control, run: &Loop) {
        let plan = plan_of(self.design, &run.cable, run.plan.as_ref());
        let as_strings = strings(self.design, control);
        for (at, ceiling) in run.ceiling.iter().enumerate() {
            let here = Subject::new(Kind::Fixture, &ceiling.id);
            let room = Some(ceiling.room.as_ref().unwrap_or(&wall_box.room));
            let ends = at + 1 == run.ceiling.len() && !run.path.returns();
            let mut held = open::held(self.design.job, self.design.index, wall_box, run, ceiling).peekable();
            match (held.peek().is_some(), as_strings) {
                (false, false) if ends => {
                    self.capped(&here, room, plan.map_or(0, |plan| plan.conductors.len()));
                }
                // The string has to close where the loop ends.
                (false, true) if ends => self.add(&here, room, 2),
                (false, _) => {}
                (true, false) => self.in_and_out(&here, room, plan, ends),
                (true, true) => {
                    let opened = if held.any(|id| tunable(self.design, id)) && !ends { 2 } else { 1 };
                    (0..2 * opened).for_each(|_| self.add(&here, room, 2));
                }
            }
        }
    }

    /// A fixture across the pair.
    fn in_and_out(&mut self, here: &Subject, room: Option<&Id>, plan: Option<&ConductorPlan>, ends: bool) {
        let cables = if ends { 1 } else { 2 };
        for side in SIDES {
            self.add(here, room, cables * count(plan, side) + 1);
        }
        let ground = count(plan, Function::Ground);
        if ground > 0 {
            self.add(here, room, cables * ground + 1);
        }
        for _ in 0..count(plan, Function::Spare) {
            self.add(here, room, cables);
        }
    }
}

/// Conductors of a loop on one string, or on one side. A plan for a pair serves a string too: its sides are the two.
fn string_or_side(plan: Option<&ConductorPlan>, function: Function, as_string: bool) -> usize {
    let own = count(plan, function);
    match function {
        Function::FirstString if as_string && own == 0 => count(plan, Function::Positive),
        Function::SecondString if as_string && own == 0 => count(plan, Function::Negative),
        _ => own,
    }
}

fn tunable(design: Facts<'_>, fixture: &Id) -> bool {
    let part = design.index.fixture_type(design.job, fixture);
    part.is_some_and(|part| part.colour == FixtureColour::Tunable)
}

/// Whether a control is on a feed of its box.
fn is_on(wall_box: &WallBox, control: &Control, feed: &Feed) -> bool {
    match &control.on {
        Some(on) => on.same(&feed.id),
        None => wall_box.feeds.len() == 1,
    }
}

/// The feeds that go onward from a feed.
fn onward<'a>(design: Facts<'a>, feed: &Feed) -> Vec<&'a Feed> {
    let feeds = design.job.boxes.iter().flat_map(|wall_box| &wall_box.feeds);
    feeds.filter(|other| matches!(&other.from, Source::Onward(from) if from.same(&feed.id))).collect()
}
