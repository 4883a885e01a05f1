//! Questions that don't touch the job: what if a run were added, or moved, or a supply failed.

use super::gather::{self, Load};
use super::{Options, OutputLoad, Problem, Proposal, plan_of};
use crate::design::Design;
use crate::format;
use crate::job::edit::{Edit, apply};
use crate::job::wiring::OutputRef;
use crate::job::{Id, Kind, Subject};
use crate::study::OutputStudy;
use serde::Serialize;
use serde_json::json;
use std::collections::BTreeMap;

/// A question about a job.
#[derive(Debug, Clone, PartialEq)]
pub enum Question {
    /// A run is added that takes so many watts, on outputs like this one.
    AddRun {
        /// Its watts at the output.
        watts: f64,
        /// An output of the panel and the volts that it is meant for.
        like: OutputRef,
    },
    /// A supply fails.
    LoseSupply(Id),
}

/// The answer to a question.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct WhatIf {
    /// The best that could be made of it.
    pub proposal: Proposal,
    /// Outputs on which the run that is added fits as they are today, the least loaded first.
    pub fits: Vec<OutputRef>,
    /// What goes dark with the supply, before anything is moved.
    pub dark: Dark,
}

/// What goes dark when a supply fails.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize)]
pub struct Dark {
    /// Its runs.
    pub runs: Vec<String>,
    /// Rooms that have no light left, by id.
    pub rooms: Vec<String>,
    /// Levels that have no light left, by id.
    pub levels: Vec<String>,
}

/// Two outputs before and after a run goes from one to the other.
#[derive(Debug, Clone, PartialEq)]
pub struct Both {
    /// The output it leaves, before and after; none if it is on none.
    pub from: Option<(OutputLoad, OutputLoad)>,
    /// The output it goes to, before and after.
    pub to: (OutputLoad, OutputLoad),
    /// The edit that does it.
    pub edit: Edit,
}

/// A question made ready for the search, with what is known of it before any search.
#[derive(Debug, Clone)]
pub struct Asked {
    pub(super) loads: Vec<Load>,
    pub(super) without: Option<Id>,
    /// Outputs on which the run that is added fits as they are today, the least loaded first.
    pub fits: Vec<OutputRef>,
    /// What goes dark with the supply, before anything is moved.
    pub dark: Dark,
}

/// Makes a question ready; without one it is the plain balance.
///
/// # Errors
/// What is missing for an answer.
pub fn asked(design: &Design, question: Option<&Question>) -> Result<Asked, Vec<Problem>> {
    let loads = gather::loads(design)?;
    let mut asked = Asked { loads, without: None, fits: Vec::new(), dark: Dark::default() };
    match question {
        None => {}
        Some(Question::AddRun { watts, like }) => {
            if !(watts.is_finite() && *watts > 0.0) {
                return Err(vec![refuse("a run takes more than 0 W".into())]);
            }
            let class = gather::class_of(design, like)
                .ok_or_else(|| vec![refuse(format!("there is no output {like}"))])?;
            asked.fits = outputs_with_room(design, class, *watts);
            asked.loads.push(Load {
                name: new_name(&asked.loads),
                run: None,
                class,
                weight: gather::tenths_up(*watts),
                output: None,
                landed: false,
                pinned: false,
                rooms: Vec::new(),
            });
        }
        Some(Question::LoseSupply(lost)) => {
            if design.index.spot(Kind::Supply, lost).is_none() {
                return Err(vec![refuse(format!("there is no supply {lost}"))]);
            }
            asked.dark = goes_dark(design, &asked.loads, lost);
            asked.without = Some(lost.clone());
        }
    }
    Ok(asked)
}

/// Answers a question.
///
/// # Errors
/// What is missing for an answer.
pub fn what_if(design: &Design, question: &Question, options: &Options) -> Result<WhatIf, Vec<Problem>> {
    let Asked { loads, without, fits, dark } = asked(design, Some(question))?;
    let plan = plan_of(design, loads, without.as_ref(), options, None);
    Ok(WhatIf { proposal: plan.proposal(design, options), fits, dark })
}

fn refuse(what: String) -> Problem {
    Problem { what, remedy: "ask anew".into(), runs: Vec::new() }
}

fn new_name(loads: &[Load]) -> String {
    let taken = |name: &String| loads.iter().any(|load| load.name.eq_ignore_ascii_case(name));
    let mut name = "new".to_owned();
    while taken(&name) {
        name.push('+');
    }
    name
}

/// Outputs that can take so many watts more within their target, with a terminal free.
fn outputs_with_room(design: &Design, class: gather::Class, watts: f64) -> Vec<OutputRef> {
    let target = design.job.settings.target_load_percent.get() / 100.0;
    let mut found: Vec<(&OutputStudy, f64)> = Vec::new();
    for output in &design.study.outputs {
        let supply = design.index.supply(&design.job, &output.output.supply);
        let part = supply.and_then(|(_, supply)| design.index.supply_type(&design.job, &supply.part));
        let (Some(part), Some(has), Some(limit)) = (part, output.watts, output.limit_watts) else { continue };
        let free = output.runs.len() < usize::from(part.terminals.get());
        if free && gather::class_of(design, &output.output) == Some(class) && has + watts <= limit * target {
            found.push((output, has / limit));
        }
    }
    found.sort_by(|(_, a), (_, b)| a.total_cmp(b));
    found.into_iter().map(|(output, _)| output.output.clone()).collect()
}

/// The runs of a supply, and the rooms and levels that have no other.
fn goes_dark(design: &Design, loads: &[Load], lost: &Id) -> Dark {
    let on_it = |load: &Load| load.output.as_ref().is_some_and(|output| output.supply.same(lost));
    let mut lit: BTreeMap<(usize, Option<usize>), bool> = BTreeMap::new();
    for load in loads.iter().filter(|load| load.output.is_some()) {
        for &(level, room) in &load.rooms {
            for key in [(level, None), (level, Some(room))] {
                *lit.entry(key).or_default() |= !on_it(load);
            }
        }
    }
    let levels = &design.job.levels;
    let dark = || lit.iter().filter(|(_, still)| !**still).map(|(key, _)| *key);
    Dark {
        runs: loads.iter().filter(|load| on_it(load)).map(|load| load.name.clone()).collect(),
        rooms: dark().filter_map(|(level, room)| Some(levels[level].rooms[room?].id.to_string())).collect(),
        levels: dark()
            .filter(|(_, room)| room.is_none())
            .map(|(level, _)| levels[level].id.to_string())
            .collect(),
    }
}

/// Outputs that a run may be on, in the order of the panel: those of its volts and class, or all of its panel while it
/// is on none; and which of them it is on.
pub fn outputs_for(design: &Design, run: &Id) -> (Vec<OutputRef>, Option<usize>) {
    let Some(run) = design.network.run(run).map(|number| &design.network.runs[number]) else {
        return (Vec::new(), None);
    };
    let class = run.output.as_ref().and_then(|output| gather::class_of(design, output));
    let fits = |output: &&OutputStudy| match class {
        Some(class) => gather::class_of(design, &output.output) == Some(class),
        None => output.panel.same(&run.panel),
    };
    let outputs: Vec<OutputRef> =
        design.study.outputs.iter().filter(fits).map(|output| output.output.clone()).collect();
    let own = |output: &OutputRef| {
        run.output.as_ref().is_some_and(|own| own.number == output.number && own.supply.same(&output.supply))
    };
    let at = outputs.iter().position(own);
    (outputs, at)
}

/// Moves one run, and shows both outputs before and after. Over limits it still shows them: that is what was asked.
///
/// # Errors
/// Why the run cannot go there, or its watts are unknown.
pub fn move_run(design: &Design, run: &Id, to: &OutputRef) -> Result<Both, Problem> {
    let no = |what: String| Problem { what, remedy: "choose another".into(), runs: vec![run.to_string()] };
    let number = design.network.run(run).ok_or_else(|| no(format!("there is no run {run}")))?;
    let edit = Edit::Set {
        subject: Subject::new(Kind::Cable, run),
        field: "from".into(),
        value: json!({ "Output": to.to_string() }),
    };
    let mut then = design.clone();
    apply(&mut then.job, edit.clone()).map_err(|error| no(error.to_string()))?;
    // Other volts make other watts, and two circuits may meet: it is studied, not added up.
    then.refresh(&edit);
    let pair = |output: &OutputRef| -> Result<(OutputLoad, OutputLoad), Problem> {
        let of = |design: &Design| {
            load_of(design, output).ok_or_else(|| no(format!("the watts of output {output} are not known")))
        };
        let (before, mut after) = (of(design)?, of(&then)?);
        (after.today_watts, after.today_percent) = (Some(before.watts), Some(before.percent));
        Ok((before, after))
    };
    let from = design.network.runs[number].output.as_ref().map(pair).transpose()?;
    Ok(Both { from, to: pair(to)?, edit })
}

/// An output as the study sees it; none if its watts are unknown.
fn load_of(design: &Design, output: &OutputRef) -> Option<OutputLoad> {
    let same = |own: &OutputRef| own.number == output.number && own.supply.same(&output.supply);
    let study = design.study.outputs.iter().find(|study| same(&study.output))?;
    Some(OutputLoad {
        output: study.output.to_string(),
        watts: format::known(study.watts)?,
        percent: format::known(study.percent)?,
        limit_watts: study.limit_watts?,
        today_watts: None,
        today_percent: None,
        runs: study.runs.iter().map(|&run| design.network.runs[run].id.to_string()).collect(),
    })
}
