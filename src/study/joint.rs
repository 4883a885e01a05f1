//! Sums over several parts in which something is open, where one choice may reach into more than one of them.
//!
//! What is summed grows with each run's watts, so its ends are where all runs are heaviest and where all are lightest. If
//! these corners agree on what the parts share, they are reached; else each combination of what is shared is gone through.

use super::choice::{self, Choice, MOST_CORNERS, Pick};
use super::part::{PartStudy, RunStudy};
use super::range::{Of, Range};
use crate::network::Network;
use std::collections::BTreeMap;

/// Watts of runs that can be at once.
#[derive(Debug, Clone, Default)]
pub(super) struct Setting {
    /// The least of each run, by its position in the network.
    pub least: BTreeMap<usize, f64>,
    /// The most of each.
    pub most: BTreeMap<usize, f64>,
    pub least_choice: Vec<Pick>,
    pub most_choice: Vec<Pick>,
    /// Whether these can be; else they are bounds.
    pub exact: bool,
}

/// A run with something open, its part's choices, and its range of watts.
struct OpenRun<'a> {
    run: usize,
    part: usize,
    study: &'a PartStudy,
    choices: &'a [Choice],
    watts: &'a Range,
}

/// The settings among which the least and the most of any sum over these runs are. None if nothing is open in them, or
/// some are unknown.
pub(super) fn settings(network: &Network, parts: &[PartStudy], runs: &[usize]) -> Vec<Setting> {
    let study_of = |run: usize| -> Option<(usize, &PartStudy, &RunStudy)> {
        let part = network.runs.get(run)?.part;
        let study = parts.get(part)?;
        Some((part, study, study.runs.iter().find(|study| study.run == run)?))
    };
    let mut open: Vec<OpenRun<'_>> = Vec::new();
    for &run in runs {
        let Some((part, study, found)) = study_of(run) else { return Vec::new() };
        if let (Some(opened), Some(watts)) = (&study.open, found.range(Of::SourceWatts)) {
            open.push(OpenRun { run, part, study, choices: &opened.choices, watts });
        }
    }
    if open.is_empty() {
        return Vec::new();
    }
    let twice = |a: &OpenRun<'_>| open.iter().filter(|b| b.part == a.part).count() > 1;
    let apart = !open.iter().any(twice);
    let picks = |choice: fn(&Range) -> &Vec<Pick>| agreed(&open, choice);
    let whole = Setting {
        least: open.iter().map(|run| (run.run, run.watts.least)).collect(),
        most: open.iter().map(|run| (run.run, run.watts.most)).collect(),
        least_choice: picks(|range| &range.least_choice).unwrap_or_default(),
        most_choice: picks(|range| &range.most_choice).unwrap_or_default(),
        exact: apart
            && open.iter().all(|run| run.watts.exact)
            && picks(|range| &range.least_choice).is_some()
            && picks(|range| &range.most_choice).is_some(),
    };
    if whole.exact || !apart {
        return vec![whole];
    }
    one_by_one(&open).unwrap_or_else(|| vec![whole])
}

/// The picks of all runs, each once; none if they differ in what is shared.
fn agreed(open: &[OpenRun<'_>], choice: fn(&Range) -> &Vec<Pick>) -> Option<Vec<Pick>> {
    let mut by_key: BTreeMap<&str, &Pick> = BTreeMap::new();
    let mut all = Vec::new();
    for run in open {
        for (of, pick) in run.choices.iter().zip(choice(run.watts)) {
            match by_key.insert(&of.key, pick) {
                Some(before) if before.part != pick.part => return None,
                Some(_) => {}
                None => all.push(pick.clone()),
            }
        }
    }
    Some(all)
}

/// A setting for each combination of what several parts share.
fn one_by_one(open: &[OpenRun<'_>]) -> Option<Vec<Setting>> {
    let mut shared: Vec<Choice> = Vec::new();
    for (at, run) in open.iter().enumerate() {
        let elsewhere = |choice: &Choice| {
            open.iter()
                .enumerate()
                .any(|(other, run)| other != at && run.choices.iter().any(|c| c.key == choice.key))
        };
        for choice in run.choices.iter().filter(|choice| choice.wide && elsewhere(choice)) {
            if !shared.iter().any(|known| known.key == choice.key) {
                shared.push(choice.clone());
            }
        }
    }
    let corners = choice::corners(&shared).filter(|&corners| corners <= MOST_CORNERS)?;
    (0..corners).map(|number| setting(open, &shared, &choice::corner(number, &shared))).collect()
}

fn setting(open: &[OpenRun<'_>], shared: &[Choice], corner: &[usize]) -> Option<Setting> {
    let mut setting = Setting { exact: true, ..Setting::default() };
    for run in open {
        let opened = run.study.open.as_ref()?;
        let table = opened.shared.as_ref();
        // What this part has of what is shared must be as in the corner; its options may stand in another order.
        let fits = |options: &[usize], wide: &[usize]| {
            wide.iter().zip(options).all(|(&at, &option)| {
                let choice = &opened.choices[at];
                shared.iter().zip(corner).all(|(known, &taken)| {
                    known.key != choice.key || known.options[taken].same(&choice.options[option])
                })
            })
        };
        let position = run.study.runs.iter().position(|study| study.run == run.run)?;
        let mut least: Option<&Range> = None;
        let mut most: Option<&Range> = None;
        if opened.choices.iter().any(|choice| shared.iter().any(|known| known.key == choice.key)) {
            let table = table?;
            for (options, ranges) in &table.table {
                let range = ranges.get(position).filter(|_| fits(options, &table.wide));
                let Some(range) = range else { continue };
                least = Some(least.filter(|known| known.least <= range.least).unwrap_or(range));
                most = Some(most.filter(|known| known.most >= range.most).unwrap_or(range));
            }
        } else {
            (least, most) = (Some(run.watts), Some(run.watts));
        }
        let (least, most) = least.zip(most)?;
        setting.least.insert(run.run, least.least);
        setting.most.insert(run.run, most.most);
        setting.exact &= least.exact && most.exact;
        for (all, picks) in
            [(&mut setting.least_choice, &least.least_choice), (&mut setting.most_choice, &most.most_choice)]
        {
            for pick in picks {
                if !all.contains(pick) {
                    all.push(pick.clone());
                }
            }
        }
    }
    Some(setting)
}

/// The range of a sum that grows with each run's watts, and the setting it is most in.
pub(super) fn range_of(
    settings: &[Setting],
    figure: impl Fn(&BTreeMap<usize, f64>) -> Option<f64>,
) -> Option<(Range, usize)> {
    let mut found: Option<(Range, usize)> = None;
    for (number, setting) in settings.iter().enumerate() {
        let (least, most) = figure(&setting.least).zip(figure(&setting.most))?;
        let (range, at) = found.get_or_insert_with(|| {
            let (least_choice, most_choice) = (setting.least_choice.clone(), setting.most_choice.clone());
            (Range { least, most, exact: setting.exact, least_choice, most_choice }, number)
        });
        range.exact &= setting.exact;
        if least < range.least {
            (range.least, range.least_choice) = (least, setting.least_choice.clone());
        }
        if most > range.most {
            (range.most, range.most_choice, *at) = (most, setting.most_choice.clone(), number);
        }
    }
    found.map(|(mut range, at)| {
        if !range.exact {
            (range.least_choice, range.most_choice) = (Vec::new(), Vec::new());
        }
        (range, at)
    })
}
