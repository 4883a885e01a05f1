//! What is said when nothing fits: which rule, which runs, how many watts or terminals, and what would make it fit.

use crate::support::{sample, snapshots};
use insta::assert_snapshot;
use studbay::design::Design;
use studbay::job::edit::apply;
use studbay::job::wiring::Source;
use studbay::job::{Id, Job};
use studbay::plan::balance::{Options, propose};

fn ids(names: &[&str]) -> Vec<Id> {
    names.iter().map(|name| Id::new(name).unwrap()).collect()
}

fn pin(job: &mut Job, runs: &[&str], output: &str) {
    for feed in job.boxes.iter_mut().flat_map(|wall_box| &mut wall_box.feeds) {
        if runs.contains(&feed.id.as_str()) {
            (feed.from, feed.pinned) = (Source::Output(output.parse().unwrap()), true);
        }
    }
}

/// The two-story house with one thing changed, and what the balance says of it.
fn said(what: &str, change: impl FnOnce(&mut Job)) -> String {
    let mut job = sample("two-story").job;
    change(&mut job);
    let proposal = propose(&Design::derive(job), &Options::default());
    assert!(!proposal.feasible && proposal.edit.is_none(), "{what} fits");
    let lines = proposal.problems.iter().map(|problem| {
        assert!(!problem.runs.is_empty(), "{what}: {}", problem.what);
        format!("  {}\n    {}\n", problem.what, problem.remedy)
    });
    format!("{what}\n{}", lines.collect::<String>())
}

const NINE: [&str; 9] = ["HR01", "HR02", "HR03", "HR04", "HR05", "HR06", "HR07", "HR08", "HR09"];

#[test]
fn what_does_not_fit_is_said_with_what_would_make_it_fit() {
    let text = [
        said("supplies of 55 W an output", |job| {
            job.catalogue.supplies[0].output_watts = serde_json::from_value(55.into()).unwrap();
        }),
        said("a panel of four slots", |job| {
            job.panels[0].supplies.truncate(2);
            job.panels[0].slots = 4.try_into().unwrap();
            for feed in job.boxes.iter_mut().flat_map(|wall_box| &mut wall_box.feeds) {
                if let Source::Output(output) = &mut feed.from
                    && !["PS1", "PS2"].contains(&output.supply.as_str())
                {
                    output.supply = Id::new("PS2").unwrap();
                }
            }
        }),
        said("one terminal an output, and no slots free", |job| {
            job.catalogue.supplies[0].terminals = 1.try_into().unwrap();
            job.panels[0].slots = 8.try_into().unwrap();
        }),
        said("three runs pinned to one output", |job| pin(job, &["HR01", "HR02", "HR03"], "PS1.1")),
        said("two pinned together that must be apart", |job| {
            job.settings.balance.apart = vec![ids(&["HR11", "HR18"])];
            pin(job, &["HR11", "HR18"], "PS1.1");
        }),
        said("nine runs on one supply", |job| job.settings.balance.together = vec![ids(&NINE)]),
        said("two runs of one supply pinned to two", |job| {
            job.settings.balance.together = vec![ids(&["HR01", "HR02"]), ids(&["HR05", "HR06"])];
            pin(job, &["HR01"], "PS1.1");
            pin(job, &["HR02"], "PS2.1");
        }),
    ]
    .join("\n");
    let _guard = snapshots("balance").bind_to_scope();
    assert_snapshot!("what_does_not_fit", text);
}

#[test]
fn what_is_said_to_help_helps() {
    // Moving the watts that are named away is enough, and less is not.
    let mut job = sample("two-story").job;
    job.panels[0].supplies.truncate(3);
    job.panels[0].slots = 6.try_into().unwrap();
    job.settings.target_load_percent = "100".parse().unwrap();
    for feed in job.boxes.iter_mut().flat_map(|wall_box| &mut wall_box.feeds) {
        if let Source::Output(output) = &mut feed.from
            && output.supply.as_str() == "PS4"
        {
            output.supply = Id::new("PS3").unwrap();
        }
    }
    assert!(propose(&Design::derive(job.clone()), &Options::default()).feasible);
    job.settings.balance.together = vec![ids(&NINE)];
    let short = propose(&Design::derive(job.clone()), &Options::default());
    assert!(!short.feasible && short.problems[0].what.contains("must be on one supply"), "{short:?}");
    // Without the rule it fits, as was said.
    job.settings.balance.together.clear();
    let free = propose(&Design::derive(job.clone()), &Options::default());
    assert!(free.feasible);
    apply(&mut job, free.edit.unwrap()).unwrap();
}
