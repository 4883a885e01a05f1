//! The balance of jobs: what it proposes, what accepting it does, and what it says when nothing fits.

use crate::support::{STARTER, project, snapshots};
use insta::assert_snapshot;
use std::collections::BTreeSet;
use studbay::checks::Severity;
use studbay::design::Design;
use studbay::job::edit::apply;
use studbay::job::wiring::Source;
use studbay::job::{Id, Job, read, write};
use studbay::plan::balance::{Options, Problem, Proposal, Question, move_run, propose, what_if};
use studbay::plan::slots::{arrange, panels};

const SAMPLES: &[&str] = &["cottage", "two-story", "large-house", "apartment-block"];

fn sample(name: &str) -> Job {
    let path = project("sample-jobs").join(format!("{name}.ron"));
    read::from_str(name, &std::fs::read_to_string(path).unwrap()).unwrap().0
}

fn feeds(job: &mut Job) -> impl Iterator<Item = &mut studbay::job::wiring::Feed> {
    let all = job.boxes.iter_mut().flat_map(|wall_box| &mut wall_box.feeds);
    all.filter(|feed| !matches!(feed.from, Source::Onward(_)))
}

fn land_all(job: &mut Job) {
    for feed in feeds(job) {
        feed.landed = true;
    }
}

fn proposed(job: &Job) -> Proposal {
    propose(&Design::derive(job.clone()), &Options::default())
}

fn accepted(job: &Job, proposal: &Proposal) -> Design {
    let mut job = job.clone();
    if let Some(edit) = &proposal.edit {
        apply(&mut job, edit.clone()).unwrap();
    }
    Design::derive(job)
}

fn said(problems: &[Problem]) -> String {
    let line = |p: &Problem| format!("{}; {} [{}]\n", p.what, p.remedy, p.runs.join(" "));
    problems.iter().map(line).collect::<Vec<_>>().concat()
}

#[test]
fn every_sample_is_proved_and_accepting_it_does_what_was_shown() {
    for name in SAMPLES {
        let job = sample(name);
        let proposal = proposed(&job);
        assert!(proposal.feasible && proposal.optimal, "{name}: {proposal:#?}");
        let design = accepted(&job, &proposal);
        let runs: BTreeSet<&String> = proposal.outputs.iter().flat_map(|output| &output.runs).collect();
        assert_eq!(runs.len(), design.network.runs.len(), "{name}: a run is lost");
        for output in proposal.outputs.iter().filter(|output| !output.runs.is_empty()) {
            let study = design.study.outputs.iter().find(|s| s.output.to_string() == output.output).unwrap();
            // In whole tenths, each run rounded up: never below the study, and above it by less than 0.1 W a run.
            let more = output.watts - study.watts.unwrap();
            assert!(
                (-1e-6..0.1 * f64::from(u32::try_from(output.runs.len()).unwrap())).contains(&more),
                "{name} {}: {more}",
                output.output
            );
            assert_eq!(output.runs.len(), study.runs.len());
        }
        let worse = design.findings.iter().filter(|finding| finding.severity != Severity::Advice);
        assert_eq!(worse.count(), 0, "{name}");
        // What is balanced stays: nothing is better than the best.
        let again = propose(&design, &Options::default());
        assert_eq!((again.supplies, again.max_percent), (proposal.supplies, proposal.max_percent), "{name}");
        // And the file it makes is in the layout of files.
        let text = write::to_string(&design.job).unwrap();
        assert_eq!(write::to_string(&read::from_str(name, &text).unwrap().0).unwrap(), text);
    }
}

#[test]
fn the_same_job_gives_the_same_proposal_and_names_change_nothing() {
    let mut job = sample("two-story");
    land_all(&mut job);
    let first = proposed(&job);
    assert_eq!(first, proposed(&job));
    for wall_box in &mut job.boxes {
        wall_box.name = format!("{} renamed", wall_box.id);
    }
    for room in job.levels.iter_mut().flat_map(|level| &mut level.rooms) {
        room.name = "room".into();
    }
    for feed in feeds(&mut job) {
        feed.name = "zz".into();
    }
    assert_eq!(first, proposed(&job));
}

#[test]
fn landed_wires_are_moved_as_few_as_are_asked_for() {
    let mut job = sample("two-story");
    land_all(&mut job);
    let design = Design::derive(job);
    let free = propose(&design, &Options { moves: Some(u32::MAX), ..Options::default() });
    assert!(free.curve.len() > 1, "{:?}", free.curve);
    for pair in free.curve.windows(2) {
        assert!(pair[0].moves < pair[1].moves && pair[0].max_percent > pair[1].max_percent);
        assert!(pair[0].bound_percent >= pair[1].bound_percent);
    }
    for point in &free.curve {
        let proposal = propose(&design, &Options { moves: Some(point.moves), ..Options::default() });
        assert!(proposal.landed_moves <= point.moves, "{point:?} {}", proposal.landed_moves);
        assert_eq!(proposal.max_percent, Some(point.max_percent));
        let highest = proposal.outputs.iter().map(|output| output.percent).fold(0.0, f64::max);
        assert!((highest - point.max_percent).abs() < 0.11, "{highest} {point:?}");
    }
    let usual = propose(&design, &Options::default());
    assert!(usual.max_percent.unwrap() <= free.max_percent.unwrap() * 1.02);
    assert!(usual.landed_moves <= free.landed_moves);
}

#[test]
fn pins_and_rules_hold() {
    let mut job = sample("two-story");
    let proposal = proposed(&job);
    let moved = &proposal.moves[0];
    let together: Vec<Id> = ["HR01", "HR02", "HR03"].map(|id| Id::new(id).unwrap()).to_vec();
    let on_one = proposal.outputs.iter().find(|output| output.runs.len() == 3).unwrap();
    let apart: Vec<Id> = on_one.runs.iter().map(|id| Id::new(id).unwrap()).collect();
    job.settings.balance.together.push(together.clone());
    job.settings.balance.apart.push(apart.clone());
    for feed in feeds(&mut job) {
        feed.pinned = feed.id.as_str() == moved.run;
    }
    let text = write::to_string(&job).unwrap();
    assert_eq!(read::from_str("rules", &text).unwrap().0, job, "{text}");
    let proposal = proposed(&job);
    assert!(proposal.feasible);
    assert!(proposal.moves.iter().all(|other| other.run != moved.run));
    let output_of = |id: &Id| {
        let holds =
            |output: &&studbay::plan::balance::OutputLoad| output.runs.iter().any(|run| run == id.as_str());
        proposal.outputs.iter().find(holds).unwrap().output.clone()
    };
    let supplies: BTreeSet<String> =
        together.iter().map(|id| output_of(id).split('.').next().unwrap().to_owned()).collect();
    assert_eq!(supplies.len(), 1);
    let outputs: BTreeSet<String> = apart.iter().map(output_of).collect();
    assert_eq!(outputs.len(), apart.len());
}

#[test]
fn rules_that_name_what_is_not_there_are_refused() {
    let text = STARTER.replace(
        "routing_allowance_percent: 10,",
        "routing_allowance_percent: 10, balance: (apart: [[\"HR1\", \"HR9\"], [\"LP1\", \"HR1\", \"HR1\"]]),",
    );
    let error = read::from_str("rules.ron", &text).unwrap_err();
    let _guard = snapshots("balance").bind_to_scope();
    assert_snapshot!("rules", error.to_string());
}

#[test]
fn what_does_not_fit_says_why_and_what_would_make_it_fit() {
    let mut said_so = String::new();
    let mut add = |what: &str, job: &Job| {
        let proposal = proposed(job);
        assert!(!proposal.feasible && proposal.edit.is_none() && proposal.supplies.is_none(), "{what}");
        said_so += &format!("{what}\n{}\n", said(&proposal.problems));
    };
    let mut job = sample("two-story");
    job.catalogue.supplies.iter_mut().for_each(|part| part.output_watts = "20".parse().unwrap());
    add("outputs of 20 W", &job);
    let mut job = sample("two-story");
    for panel in &mut job.panels {
        panel.supplies.truncate(2);
        panel.slots = 4.try_into().unwrap();
    }
    let kept: Vec<Id> = job.panels.iter().flat_map(|p| &p.supplies).map(|s| s.id.clone()).collect();
    let panel = job.panels[0].id.clone();
    for feed in feeds(&mut job) {
        if let Source::Output(output) = &feed.from
            && !kept.iter().any(|id| id.same(&output.supply))
        {
            feed.from = Source::Panel(panel.clone());
        }
    }
    add("four slots", &job);
    add("the house of mistakes", &sample("usual-mistakes"));
    let _guard = snapshots("balance").bind_to_scope();
    assert_snapshot!("no_fit", said_so.trim_end());
}

#[test]
fn a_house_on_no_output_gets_its_supplies() {
    let mut job = sample("two-story");
    let panel = job.panels[0].id.clone();
    for panel in &mut job.panels {
        panel.supplies.clear();
    }
    for feed in feeds(&mut job) {
        feed.from = Source::Panel(panel.clone());
    }
    let first = job.catalogue.supplies[0].clone();
    job.catalogue.supplies.retain(|part| part.volts == first.volts);
    let proposal = proposed(&job);
    assert!(proposal.feasible && proposal.optimal, "{}", said(&proposal.problems));
    assert_eq!(proposal.new_supplies.len(), 3, "{:?}", proposal.new_supplies);
    let design = accepted(&job, &proposal);
    let worse: Vec<_> =
        design.findings.iter().filter(|finding| finding.severity != Severity::Advice).collect();
    assert!(worse.is_empty(), "{worse:#?}");
    assert!(design.network.runs.iter().all(|run| run.output.is_some()));
}

#[test]
fn fewest_outputs_are_fewer_than_all_of_the_fewest_supplies() {
    let mut job = sample("cottage");
    let used = |proposal: &Proposal| proposal.outputs.iter().filter(|output| !output.runs.is_empty()).count();
    let all = used(&proposed(&job));
    job.settings.balance.fewest = studbay::job::Fewest::Outputs;
    job.settings.target_load_percent = "100".parse().unwrap();
    let fewer = proposed(&job);
    assert!(fewer.feasible && used(&fewer) < all, "{} {all}", used(&fewer));
}

#[test]
fn questions_are_answered_and_the_job_is_as_it_was() {
    let design = Design::derive(sample("two-story"));
    let before = design.job.clone();
    let like = design.study.outputs[0].output.clone();
    let add = Question::AddRun { watts: 40.0, like: like.clone() };
    let answer = what_if(&design, &add, &Options::default()).unwrap();
    assert!(answer.proposal.outputs.iter().any(|output| output.runs.contains(&"new".to_owned())));
    let target = design.job.settings.target_load_percent.get();
    for output in &answer.fits {
        let study = design.study.outputs.iter().find(|s| s.output == *output).unwrap();
        assert!((study.watts.unwrap() + 40.0) / study.limit_watts.unwrap() * 100.0 <= target);
    }
    let lost = like.supply.clone();
    let answer = what_if(&design, &Question::LoseSupply(lost.clone()), &Options::default()).unwrap();
    let on_it = design
        .network
        .runs
        .iter()
        .filter(|run| run.output.as_ref().is_some_and(|output| output.supply.same(&lost)));
    assert_eq!(answer.dark.runs.len(), on_it.count());
    let on_lost =
        |output: &studbay::plan::balance::OutputLoad| output.output.starts_with(&format!("{lost}."));
    assert!(answer.proposal.outputs.iter().all(|output| !on_lost(output) || output.runs.is_empty()));
    for watts in [0.0, f64::NAN, -1.0] {
        assert!(
            what_if(&design, &Question::AddRun { watts, like: like.clone() }, &Options::default()).is_err()
        );
    }
    let run = design.network.runs[0].id.clone();
    let to = &design.study.outputs.last().unwrap().output;
    let both = move_run(&design, &run, to).unwrap();
    let (from_before, from_after) = both.from.unwrap();
    assert!(from_after.watts < from_before.watts && both.to.1.watts > both.to.0.watts);
    assert!(both.to.1.runs.contains(&run.to_string()));
    assert!(move_run(&design, &run, &"PS99.1".parse().unwrap()).is_err());
    assert_eq!(design.job, before);
}

#[test]
fn what_is_left_with_no_run_is_shown_and_taken_out_only_when_that_is_asked_for() {
    let mut job = sample("two-story");
    let usual = proposed(&job);
    let free: Vec<&str> = usual.free_supplies.iter().map(|free| free.supply.as_str()).collect();
    assert!(!free.is_empty() && usual.free_supplies.iter().all(|free| free.emptied && !free.taken_out));
    let outputs = usual.outputs.iter().filter(|output| output.runs.is_empty());
    assert!(outputs.clone().count() > 0 && outputs.clone().all(|output| output.today_watts > Some(0.0)));
    let design = accepted(&job, &usual);
    assert_eq!(design.job.panels[0].supplies.len(), job.panels[0].supplies.len());
    let out = Options { take_out: true, ..Options::default() };
    let emptied = propose(&Design::derive(job.clone()), &out);
    let design = accepted(&job, &emptied);
    let left: Vec<&str> = design.job.panels[0].supplies.iter().map(|supply| supply.id.as_str()).collect();
    assert!(free.iter().all(|id| !left.contains(id)), "{free:?} {left:?}");
    let free_slots = |design: &Design| arrange(design).free.iter().map(|f| f.last - f.first + 1).sum::<u16>();
    let freed: u16 = emptied.free_supplies.iter().map(|f| f.last_slot.unwrap() - f.slot.unwrap() + 1).sum();
    assert_eq!(free_slots(&design), free_slots(&Design::derive(job.clone())) + freed);
    // One that is pinned to its slot stays in the panel.
    for supply in &mut job.panels[0].supplies {
        supply.pinned = true;
    }
    let stays = propose(&Design::derive(job), &out);
    assert!(stays.free_supplies.iter().all(|free| !free.taken_out));
}

#[test]
fn outputs_follow_the_order_of_the_house_and_what_is_landed_stays() {
    let mut job = sample("large-house");
    let before = Design::derive(job.clone());
    let plan = arrange(&before);
    assert!(!plan.outputs.is_empty());
    let mut after = job.clone();
    apply(&mut after, plan.edit.unwrap()).unwrap();
    let design = Design::derive(after);
    assert!(arrange(&design).edit.is_none(), "what is in order stays");
    // Every supply has the same loads as before, on other outputs.
    let loads = |design: &Design, supply: &Id| {
        let own = design.study.outputs.iter().filter(|output| output.output.supply.same(supply));
        let mut loads: Vec<String> = own.map(|output| format!("{:.6}", output.watts.unwrap())).collect();
        loads.sort();
        loads
    };
    for supply in before.job.panels.iter().flat_map(|panel| &panel.supplies) {
        assert_eq!(loads(&before, &supply.id), loads(&design, &supply.id), "{}", supply.id);
    }
    land_all(&mut job);
    assert!(arrange(&Design::derive(job)).outputs.is_empty());
}

#[test]
fn line_voltage_stays_apart_from_class_2() {
    let mut job = sample("cottage");
    let mut part = job.catalogue.supplies[0].clone();
    part.id = Id::new("LINE").unwrap();
    part.kind = studbay::job::catalogue::OutputKind::NotClass2;
    let mut line = job.panels[0].supplies[0].clone();
    (line.id, line.part) = (Id::new("LINE1").unwrap(), part.id.clone());
    line.slot = job.panels[0].supplies[0].slot;
    let width = u16::from(part.slots.get());
    job.catalogue.supplies.push(part);
    // It takes the first slots, and a Class 2 supply sits on both of its sides.
    let mut next = 1_u16;
    let panel = &mut job.panels[0];
    let mut first = panel.supplies[0].clone();
    first.id = Id::new("FIRST").unwrap();
    panel.supplies.insert(0, first);
    panel.supplies.insert(1, line);
    panel.slots = (width * 6).try_into().unwrap();
    for supply in &mut panel.supplies {
        supply.slot = Some(next.try_into().unwrap());
        next += width;
    }
    let plan = arrange(&Design::derive(job.clone()));
    assert!(plan.problems.is_empty(), "{}", said(&plan.problems));
    apply(&mut job, plan.edit.unwrap()).unwrap();
    let slot_of =
        |id: &str| job.panels[0].supplies.iter().find(|s| s.id.as_str() == id).unwrap().slot.unwrap();
    let others = job.panels[0].supplies.iter().filter(|supply| supply.id.as_str() != "LINE1");
    assert!(others.map(|supply| supply.slot.unwrap()).all(|slot| slot < slot_of("LINE1")));
}

#[test]
fn more_panels_are_proposed_where_slots_ask_for_them() {
    let mut job = sample("two-story");
    assert!(panels(&Design::derive(job.clone())).new_panels.is_empty());
    // No slots but those of two supplies: what they can't give asks for another panel.
    job.panels[0].supplies.truncate(2);
    job.panels[0].slots = 4.try_into().unwrap();
    let panel = job.panels[0].id.clone();
    for feed in feeds(&mut job) {
        if let Source::Output(output) = &feed.from
            && !["PS1", "PS2"].contains(&output.supply.as_str())
        {
            feed.from = Source::Panel(panel.clone());
        }
    }
    let plan = panels(&Design::derive(job));
    assert!(plan.new_panels.iter().any(|panel| panel.for_slots && !panel.runs.is_empty()), "{plan:#?}");
}

#[test]
fn supplies_are_placed_without_gaps_and_pinned_ones_stay() {
    let mut job = sample("large-house");
    for panel in &mut job.panels {
        for (nth, supply) in panel.supplies.iter_mut().enumerate() {
            supply.pinned = nth == 1;
            if !supply.pinned {
                supply.slot = None;
            }
        }
    }
    let plan = arrange(&Design::derive(job.clone()));
    assert!(plan.problems.is_empty(), "{}", said(&plan.problems));
    let pinned = job.clone();
    let mut placed = job;
    apply(&mut placed, plan.edit.unwrap()).unwrap();
    let design = Design::derive(placed.clone());
    let slots = ["slot-overlap", "slot-range", "not-placed"];
    assert!(design.findings.iter().all(|finding| !slots.contains(&finding.code)));
    for (before, after) in pinned.panels.iter().zip(&placed.panels) {
        assert_eq!(before.supplies[1].slot, after.supplies[1].slot);
    }
    assert!(arrange(&design).edit.is_none(), "what is placed well stays");
    // One slot short: it says so and moves nothing there.
    let mut short = pinned;
    short.panels[0].slots = 3.try_into().unwrap();
    let plan = arrange(&Design::derive(short));
    assert!(!plan.problems.is_empty());
}

#[test]
fn runs_come_from_the_panel_that_keeps_cable_short() {
    let mut job = sample("large-house");
    let plan = panels(&Design::derive(job.clone()));
    assert!(plan.bound_ft <= plan.after_ft && plan.after_ft <= plan.before_ft);
    // A second panel far off, and every run on it: they come back.
    let far = job.panels[0].id.clone();
    for feed in feeds(&mut job) {
        feed.measured = None;
    }
    let before = panels(&Design::derive(job.clone()));
    for feed in feeds(&mut job).take(10) {
        feed.from = Source::Panel(far.clone());
    }
    let after = panels(&Design::derive(job.clone()));
    assert!(after.bound_ft <= before.before_ft + 1e-6);
    // With a limit that no panel keeps, panels are proposed until every run is within it.
    job.settings.longest_home_run = serde_json::from_value("40 ft".into()).unwrap();
    let design = Design::derive(job);
    let plan = panels(&design);
    assert!(!plan.new_panels.is_empty());
    assert!(plan.new_panels.iter().all(|panel| panel.longest_ft <= 40.0));
}

#[test]
fn the_command_writes_only_when_it_is_told_to() {
    use crate::cli::drive;
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("house.ron");
    let text = std::fs::read(project("sample-jobs/two-story.ron")).unwrap();
    std::fs::write(&path, &text).unwrap();
    let shown = drive(folder.path(), &["balance", "DIR/house.ron"]);
    assert_eq!(std::fs::read(&path).unwrap(), text, "without --write nothing changes");
    let json = drive(folder.path(), &["balance", "DIR/house.ron", "--as", "json"]);
    let document: serde_json::Value = serde_json::from_str(json.split("--- ").next().unwrap()).unwrap();
    for key in [
        "optimal",
        "gap_percent",
        "supplies",
        "max_percent",
        "moves",
        "outputs",
        "feasible",
        "bound_percent",
        "curve",
    ] {
        assert!(!document[key].is_null(), "{key}: {document}");
    }
    let written = drive(folder.path(), &["balance", "DIR/house.ron", "--write"]);
    assert!(written.contains("written to DIR/house.ron") && written.ends_with("exit 0"), "{written}");
    let after = Design::derive(read::from_str("house", &std::fs::read_to_string(&path).unwrap()).unwrap().0);
    for one in document["moves"].as_array().unwrap() {
        let run = after.network.run(&Id::new(one["run"].as_str().unwrap()).unwrap()).unwrap();
        assert_eq!(after.network.runs[run].output.as_ref().unwrap().to_string(), one["to"].as_str().unwrap());
    }
    let bytes = std::fs::read(&path).unwrap();
    let nothing = drive(folder.path(), &["balance", "DIR/house.ron", "--write"]);
    if nothing.contains("is left as it is") {
        assert_eq!(std::fs::read(&path).unwrap(), bytes);
    }
    std::fs::copy(project("sample-jobs/usual-mistakes.ron"), &path).unwrap();
    let refused = drive(folder.path(), &["balance", "DIR/house.ron", "--write"]);
    assert!(refused.starts_with("no balance:") && refused.ends_with("exit 1"), "{refused}");
    let _guard = snapshots("balance").bind_to_scope();
    assert_snapshot!("two_story", shown);
}

#[test]
fn a_run_that_is_deleted_leaves_the_rules_of_the_balance() {
    let mut job = sample("two-story");
    let ids = |names: &[&str]| -> Vec<Id> { names.iter().map(|id| Id::new(id).unwrap()).collect() };
    job.settings.balance.apart = vec![ids(&["HR01", "HR02", "HR03"]), ids(&["HR01", "HR04"])];
    let subject = studbay::job::Subject::new(studbay::job::Kind::Cable, "HR01");
    let before = job.clone();
    let undo = apply(&mut job, studbay::plan::delete::delete(&before, &subject).unwrap()).unwrap();
    assert_eq!(job.settings.balance.apart, [ids(&["HR02", "HR03"])]);
    apply(&mut job, undo).unwrap();
    assert_eq!(job, before);
}
