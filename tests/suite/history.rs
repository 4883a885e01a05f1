//! Undo and redo: any steps, all the way back and forth, over real jobs.

use crate::random_edits::{edit, seed, set};
use crate::support::{STARTER, project};
use proptest::prelude::*;
use serde_json::json;
use std::convert::Infallible;
use studbay::job::edit::{Edit, EditError, apply};
use studbay::job::history::{Entry, History, Refused, Way, unkept};
use studbay::job::{Job, Kind, Subject, read, write};

fn cottage() -> Job {
    let text = std::fs::read_to_string(project("sample-jobs/cottage.ron")).unwrap();
    read::from_str("cottage", &text).unwrap().0
}

fn text(job: &Job) -> String {
    write::to_string(job).unwrap()
}

/// The job as it would be after its file was written and read, which checks everything.
fn reread(job: &Job) -> Job {
    read::from_str("again", &text(job)).unwrap_or_else(|error| panic!("an edit broke the job: {error}")).0
}

/// Each case writes and reads a whole job again and again, so there are fewer than elsewhere.
fn config() -> ProptestConfig {
    let usual = ProptestConfig::default();
    ProptestConfig { cases: usual.cases / 32, failure_persistence: None, ..usual }
}

proptest! {
    #![proptest_config(config())]

    #[test]
    fn all_the_way_back_and_forth_gives_the_same_bytes(seeds in prop::collection::vec(seed(), 1..32)) {
        let first = cottage();
        let (mut job, mut history) = (first.clone(), History::new());
        let mut states = vec![text(&job)];
        for seed in seeds {
            let edit = edit(&job, seed);
            let before = job.clone();
            if history.perform(&mut job, edit.to_string(), edit, unkept).is_ok() {
                // The quick way through `apply` lets nothing pass that the full check refuses.
                prop_assert_eq!(&reread(&job), &job);
                states.push(text(&job));
            } else {
                prop_assert_eq!(&job, &before);
            }
        }
        for state in states.iter().rev().skip(1) {
            prop_assert!(history.undo(&mut job, unkept).unwrap().is_some());
            prop_assert_eq!(&text(&job), state);
        }
        prop_assert_eq!(history.undo(&mut job, unkept).unwrap(), None);
        prop_assert_eq!(&job, &first);
        prop_assert!(!history.changed());
        for state in &states[1..] {
            prop_assert!(history.redo(&mut job, unkept).unwrap().is_some());
            prop_assert_eq!(&text(&job), state);
        }
        prop_assert_eq!(history.redo(&mut job, unkept).unwrap(), None);
    }

    #[test]
    fn an_edit_comes_back_from_the_log_as_it_went_in(seeds in prop::collection::vec(seed(), 1..30)) {
        let job = cottage();
        for seed in seeds {
            let edit = edit(&job, seed);
            let line = serde_json::to_string(&edit).unwrap();
            prop_assert_eq!(serde_json::from_str::<Edit>(&line).unwrap(), edit);
        }
    }
}

#[test]
fn an_id_that_is_taken_is_refused_and_harms_nothing() {
    let (first, _) = read::from_str("starter", STARTER).unwrap();
    let mut job = first.clone();
    let insert = |at, id: &str| Edit::Insert {
        kind: Kind::Fixture,
        parent: Some(Subject::new(Kind::Cable, "LP1")),
        at,
        value: json!({ "id": id }),
    };
    for at in [0, 2, 9] {
        let refused = apply(&mut job, insert(at, "f2")).unwrap_err();
        assert_eq!(refused, EditError::Refers("the id 'f2' is given to two ceiling boxes".into()));
        assert_eq!(job, first);
    }
    let nested = Edit::Insert {
        kind: Kind::WallBox,
        parent: None,
        at: 0,
        value: json!({"id": "B0", "room": "bed-1", "feeds": [{"id": "lp1", "from": {"Panel": "P1"}, "cable": "18-5"}]}),
    };
    assert!(matches!(apply(&mut job, nested), Err(EditError::Refers(_))));
    assert_eq!(job, first);
}

#[test]
fn of_several_edits_each_knows_the_ids_that_came_and_went_before_it() {
    let (first, _) = read::from_str("starter", STARTER).unwrap();
    let level = |id: &str, rooms: serde_json::Value| Edit::Insert {
        kind: Kind::Level,
        parent: None,
        at: 9,
        value: json!({"id": id, "name": id, "rooms": rooms}),
    };
    let room = |id: &str, level: &str| Edit::Insert {
        kind: Kind::Room,
        parent: Some(Subject::new(Kind::Level, level)),
        at: 0,
        value: json!({"id": id, "name": id}),
    };
    let refused = |edits: Vec<Edit>, why: &str| {
        let mut job = first.clone();
        let reason = apply(&mut job, Edit::Together(edits)).unwrap_err().to_string();
        assert!(reason.contains(why), "{reason}");
        assert_eq!(job, first, "{why}");
    };
    let twice = |id: &str| format!("the id '{id}' is given to two rooms");
    refused(vec![level("L8", json!([{"id": "n1", "name": ""}, {"id": "N1", "name": ""}]))], &twice("N1"));
    refused(vec![level("L8", json!([{"id": "n1", "name": ""}])), room("N1", "L8")], &twice("N1"));
    refused(vec![room("n1", "L8")], "there is no level L8");
    refused(vec![level("L8", json!([])), level("L9", json!([{"id": "bed-1", "name": ""}]))], &twice("bed-1"));
    // A room written as a list shows no id.
    refused(vec![level("L8", json!([["n1", ""]])), room("n1", "L8")], "fields with names");
    // What is gone may come again, elsewhere too, and all of it is undone.
    let gone = |kind, id: &str| Edit::Remove { subject: Subject::new(kind, id) };
    let mut job = first.clone();
    let edits = vec![
        level("L8", json!([{"id": "n1", "name": ""}])),
        gone(Kind::Level, "L8"),
        level("L9", json!([])),
        room("n1", "L9"),
        gone(Kind::Room, "N1"),
        room("N1", "L9"),
        level("L8", json!([{"id": "n2", "name": ""}])),
    ];
    let back = apply(&mut job, Edit::Together(edits)).unwrap();
    assert_eq!((job.levels.len(), job.levels[1].rooms[0].id.as_str()), (first.levels.len() + 2, "N1"));
    assert_eq!(reread(&job), job);
    apply(&mut job, back).unwrap();
    assert_eq!(job, first);
}

#[test]
fn what_could_not_be_read_again_is_refused() {
    let (first, _) = read::from_str("starter", STARTER).unwrap();
    let room = first.levels[0].rooms[0].id.as_str();
    for (kind, id, field, value, why) in [
        (Kind::Room, room, "ceiling", json!("0'0"), "a measured length of zero"),
        (Kind::Room, room, "width", json!("0'0"), "a measured length of zero"),
        (
            Kind::Settings,
            "settings",
            "balance",
            json!({"apart": [["HR1", "HR99"]]}),
            "'HR99', which is not there",
        ),
        (
            Kind::Settings,
            "settings",
            "balance",
            json!({"together": [["HR1", "LP1"]]}),
            "which is no home run",
        ),
    ] {
        let mut job = first.clone();
        let refused = apply(&mut job, set(kind, id, field, value)).unwrap_err().to_string();
        assert!(refused.contains(why), "{refused}");
        assert_eq!(job, first);
    }
}

#[test]
fn an_ordinary_edit_takes_less_than_200_bytes() {
    let mut most = 0;
    for (kind, id, field, value) in [
        (Kind::Cable, "HR12", "measured", json!("62'6 1/2")),
        (Kind::Fixture, "K3-downlight-by-the-window", "fixture", json!("down-6-tunable")),
        (Kind::WallBox, "B12", "name", json!("Master bedroom, by the door to the bath")),
        (Kind::WallBox, "B12", "place", json!({"x": "20'6", "y": "12'0", "height": "4'0"})),
        (Kind::Cable, "HR12", "from", json!({"Output": "PS1.2"})),
        (Kind::Settings, "settings", "routing_allowance_percent", json!(12.5)),
        (
            Kind::FixtureType,
            "down-6",
            "load",
            json!({"Power": {"watts": 6.5, "volts": {"least": 20, "most": 28}}}),
        ),
    ] {
        most = most.max(serde_json::to_string(&set(kind, id, field, value)).unwrap().len());
    }
    // The log adds 17 bytes, and a label of up to 60 where the edit's own words do not serve.
    assert!(most + 17 + 60 < 200, "{most}");
}

#[test]
fn the_mark_tells_what_differs_from_the_file() {
    let (mut job, _) = read::from_str("starter", STARTER).unwrap();
    let mut history = History::new();
    let name = |id: &str| set(Kind::Fixture, id, "name", json!("x"));
    let names = |history: &History| -> Vec<String> {
        history.differing().map(|subject| subject.id.clone()).collect()
    };
    history.perform(&mut job, "one", name("F1"), unkept).unwrap();
    history.perform(&mut job, "two", name("F2"), unkept).unwrap();
    assert!(history.changed());
    assert_eq!(names(&history), ["F1", "F2"]);
    history.saved();
    assert!(!history.changed() && names(&history).is_empty());
    assert_eq!(history.undo(&mut job, unkept).unwrap().as_deref(), Some("two"));
    assert!(history.changed());
    assert_eq!(names(&history), ["F2"]);
    history.redo(&mut job, unkept).unwrap();
    assert!(!history.changed());
    history.undo(&mut job, unkept).unwrap();
    // The saved state can't be reached any more.
    history.perform(&mut job, "three", name("F3"), unkept).unwrap();
    assert!(history.changed());
    assert_eq!(names(&history), ["F2", "F3"]);
    history.undo(&mut job, unkept).unwrap();
    history.undo(&mut job, unkept).unwrap();
    assert_eq!(names(&history), ["F1", "F2"]);
    assert_eq!(history.undone().map(|step| step.label).collect::<Vec<_>>(), ["three", "one"]);
}

#[derive(Debug, PartialEq, thiserror::Error)]
#[error("full")]
struct Full;

#[test]
fn what_is_not_kept_is_not_done() {
    let (first, _) = read::from_str("starter", STARTER).unwrap();
    let (mut job, mut history) = (first.clone(), History::new());
    let edit = set(Kind::Fixture, "F1", "name", json!("x"));
    let refuse = |_: &Entry<'_>| Err(Full);
    assert_eq!(history.perform(&mut job, "one", edit.clone(), refuse), Err(Refused::Keep(Full)));
    assert_eq!((&job, history.done().len()), (&first, 0));
    history
        .perform(&mut job, "one", edit.clone(), |entry| {
            assert_eq!((entry.way, entry.label, entry.edit), (Way::Do, "one", &edit));
            Ok::<(), Infallible>(())
        })
        .unwrap();
    let second = job.clone();
    assert_eq!(history.undo(&mut job, refuse), Err(Refused::Keep(Full)));
    assert_eq!((&job, history.done().len()), (&second, 1));
    history.undo(&mut job, unkept).unwrap();
    assert_eq!(history.redo(&mut job, refuse), Err(Refused::Keep(Full)));
    assert_eq!((&job, history.done().len(), history.undone().len()), (&first, 0, 1));
}
