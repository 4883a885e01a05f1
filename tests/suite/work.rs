//! An edit costs what it changes and a key what the screen holds, counted, so that it holds on any machine.

#[path = "../bench/house.rs"]
mod house;

use crate::views::Shown;
use studbay::design::Design;
use studbay::job::edit::{Edit, apply};
use studbay::job::{Index, Job, Kind, Subject, read};
use studbay::network::Network;
use studbay::study::Study;
use studbay::tally::{Work, during};
use studbay::terminal::{Key, KeyCode};
use studbay::tui::{App, NoLedger};

const SMALL: usize = 100;
const LARGE: usize = 1_000;

fn job(fixtures: usize) -> Job {
    read::from_str("house.ron", &house::text(fixtures)).unwrap().0
}

fn measured(cable: &str) -> Edit {
    Edit::Set { subject: Subject::new(Kind::Cable, cable), field: "measured".into(), value: "33'0".into() }
}

#[test]
fn the_houses_measured_have_nothing_wrong() {
    let design = Design::derive(job(SMALL));
    let wrong: Vec<_> = design.findings.iter().filter(|finding| finding.fails()).collect();
    assert!(wrong.is_empty(), "{wrong:#?}");
    let lights: usize = design.study.rooms.iter().map(|room| room.lights.len()).sum();
    assert_eq!(lights, SMALL);
}

#[test]
fn a_full_study_solves_each_run_once_and_an_edit_solves_its_own_alone() {
    for size in [SMALL, LARGE] {
        let job = job(size);
        let (index, _) = Index::new(&job);
        let network = Network::new(&job, &index);
        let (solves, mut study) = during(Work::Solves, || Study::new(&job, &index, &network));
        assert_eq!(solves, network.runs.len() as u64, "{size}");
        let before = study.clone();
        let (solves, ()) = during(Work::Solves, || {
            let taken = std::mem::take(&mut study);
            study = taken.restudy_parts(&job, &index, &network, &[network.parts.len() - 1]);
        });
        assert_eq!(solves, 1, "{size}");
        assert_eq!(study, before, "nothing had changed");
    }
}

#[test]
fn an_edit_reaches_as_much_in_a_large_house_as_in_a_small_one() {
    let solves = |size: usize| {
        let mut design = Design::derive(job(size));
        let edit = measured("LP0-3");
        apply(&mut design.job, edit.clone()).unwrap();
        let (solves, ()) = during(Work::Solves, || design.refresh(&edit));
        let whole = Design::derive(design.job.clone());
        assert_eq!(design.study, whole.study, "to the bit");
        assert_eq!(design.findings, whole.findings);
        solves
    };
    assert_eq!(solves(SMALL), solves(LARGE));
}

#[test]
fn an_edit_makes_as_many_checks_anew_in_a_large_house_as_in_a_small_one() {
    let checks = |size: usize, edit: &Edit| {
        let mut design = Design::derive(job(size));
        apply(&mut design.job, edit.clone()).unwrap();
        let (checks, ()) = during(Work::Checks, || design.refresh(edit));
        let (all, whole) = during(Work::Checks, || Design::derive(design.job.clone()));
        assert_eq!(design.findings, whole.findings);
        (checks, all)
    };
    let of = |kind: Kind, id: &str, field: &str, value: serde_json::Value| Edit::Set {
        subject: Subject::new(kind, id),
        field: field.into(),
        value,
    };
    let first = |kind: Kind| {
        let job = job(SMALL);
        let (index, _) = Index::new(&job);
        let ids: std::collections::BTreeSet<String> = index.ids(kind).map(ToString::to_string).collect();
        ids.into_iter().next().unwrap()
    };
    for (edit, most) in [
        (measured("LP0-3"), 10),
        (of(Kind::Fixture, &first(Kind::Fixture), "fixture", serde_json::Value::Null), 10),
        (of(Kind::WallBox, &first(Kind::WallBox), "name", "by the door".into()), 2),
        (of(Kind::Supply, &first(Kind::Supply), "slot", serde_json::Value::Null), 3),
    ] {
        let ((small, all), (large, all_large)) = (checks(SMALL, &edit), checks(LARGE, &edit));
        assert_eq!(small, large, "{edit:?}");
        assert!(small <= most, "{edit:?}: {small} of {all}");
        assert!(all_large > 5 * all, "all of them go with the house: {all} and {all_large}");
    }
}

#[test]
fn a_key_in_the_runs_builds_the_rows_on_the_screen_and_no_more() {
    for size in [SMALL, LARGE] {
        let app = App::new(Design::derive(job(size)), "house.ron", Box::new(NoLedger));
        let mut shown = Shown::of(app, 80, 24);
        shown.press("+");
        for code in [KeyCode::Down, KeyCode::PageDown, KeyCode::End, KeyCode::Up] {
            let (rows, _) = during(Work::Rows, || shown.key(Key::new(code)));
            assert!(rows <= 24, "{size} {code:?}: {rows}");
        }
    }
}
