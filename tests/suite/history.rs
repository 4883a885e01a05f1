//! Undo and redo: any steps, all the way back and forth, over real jobs.

use crate::support::{STARTER, project};
use proptest::prelude::*;
use serde_json::{Value, json};
use std::collections::BTreeSet;
use std::convert::Infallible;
use studbay::job::edit::{Edit, EditError, apply};
use studbay::job::history::{Entry, History, Refused, Way, unkept};
use studbay::job::{Index, Job, Kind, Subject, read, write};

fn cottage() -> Job {
    let text = std::fs::read_to_string(project("sample-jobs/cottage.ron")).unwrap();
    read::from_str("cottage", &text).unwrap().0
}

/// A number from which an edit is made, given the job as it then is.
type Seed = (u8, prop::sample::Index, prop::sample::Index, u16);

fn seed() -> impl Strategy<Value = Seed> {
    (any::<u8>(), any::<prop::sample::Index>(), any::<prop::sample::Index>(), any::<u16>())
}

fn set(kind: Kind, id: &str, field: &str, value: Value) -> Edit {
    Edit::Set { subject: Subject::new(kind, id), field: field.into(), value }
}

/// An edit that the job may or may not take. Ids are drawn from those there are, and now and then from one too many.
fn edit(job: &Job, (what, first, second, number): Seed) -> Edit {
    let (index, _) = Index::new(job);
    let pick = |kind: Kind, by: prop::sample::Index| -> String {
        let ids: BTreeSet<String> = index.ids(kind).map(ToString::to_string).collect();
        let mut ids: Vec<String> = ids.into_iter().collect();
        ids.push("none-such".into());
        ids.swap_remove(by.index(ids.len()))
    };
    let length = json!(format!("{}'{}", number / 12, number % 12));
    let loops = |id: &str| json!({"id": id, "cable": pick(Kind::CableType, second), "path": "OneWay"});
    match what % 24 {
        0 => set(Kind::WallBox, &pick(Kind::WallBox, first), "name", json!(format!("box {number} \"'\\ é"))),
        1 => set(Kind::Cable, &pick(Kind::Cable, first), "measured", length),
        2 => set(Kind::Cable, &pick(Kind::Cable, first), "measured", Value::Null),
        3 => {
            set(Kind::Fixture, &pick(Kind::Fixture, first), "fixture", json!(pick(Kind::FixtureType, second)))
        }
        4 => set(Kind::Fixture, &pick(Kind::Fixture, first), "fixture", Value::Null),
        5 => set(Kind::Fixture, &pick(Kind::Fixture, first), "leg", length),
        6 => {
            set(Kind::Fixture, &pick(Kind::Fixture, first), "open", json!([pick(Kind::FixtureType, second)]))
        }
        7 => set(Kind::Settings, "settings", "routing_allowance_percent", json!(f64::from(number) / 70.3)),
        8 => set(Kind::Project, "project", "notes", json!(["a", number.to_string()])),
        9 => {
            set(Kind::Cable, &pick(Kind::Cable, first), "from", json!({"Onward": pick(Kind::Cable, second)}))
        }
        10 => set(Kind::Cable, &pick(Kind::Cable, first), "path", json!("Returned")),
        11 => set(Kind::WallBox, &pick(Kind::WallBox, first), "room", json!(pick(Kind::Room, second))),
        12 => {
            set(Kind::Control, &pick(Kind::Control, first), "loops", json!([loops(&format!("LN{number}"))]))
        }
        13 | 14 => Edit::Insert {
            kind: Kind::Fixture,
            parent: Some(Subject::new(Kind::Cable, pick(Kind::Cable, first))),
            at: usize::from(number % 9),
            // Some of these ids are taken.
            value: json!({"id": format!("f{}", number % 400), "fixture": pick(Kind::FixtureType, second)}),
        },
        15 => Edit::Insert {
            kind: Kind::Room,
            parent: Some(Subject::new(Kind::Level, pick(Kind::Level, first))),
            at: usize::from(number % 5),
            value: json!({"id": format!("room-{}", number % 50), "area": "12.5 m2"}),
        },
        16 => Edit::Insert {
            kind: Kind::Cable,
            parent: Some(Subject::new(Kind::Control, pick(Kind::Control, first))),
            at: 0,
            value: loops(&pick(Kind::Cable, first)),
        },
        17 => Edit::Insert {
            kind: Kind::Supply,
            parent: Some(Subject::new(Kind::Panel, pick(Kind::Panel, first))),
            at: 9,
            value: json!({"id": format!("PS{}", number % 20), "part": pick(Kind::SupplyType, second)}),
        },
        18 => Edit::Remove { subject: Subject::new(Kind::Fixture, pick(Kind::Fixture, first)) },
        19 => Edit::Remove { subject: Subject::new(Kind::Cable, pick(Kind::Cable, first)) },
        20 => Edit::Remove { subject: Subject::new(Kind::Room, pick(Kind::Room, first)) },
        21 => Edit::Remove { subject: Subject::new(Kind::WallBox, pick(Kind::WallBox, first)) },
        22 => Edit::Remove { subject: Subject::new(Kind::Supply, pick(Kind::Supply, first)) },
        // A ceiling box moved to another loop, and renamed on the way.
        _ => {
            let from = pick(Kind::Fixture, first);
            Edit::Together(vec![
                Edit::Remove { subject: Subject::new(Kind::Fixture, &from) },
                Edit::Insert {
                    kind: Kind::Fixture,
                    parent: Some(Subject::new(Kind::Cable, pick(Kind::Cable, second))),
                    at: usize::from(number % 4),
                    value: json!({"id": from}),
                },
                set(Kind::Fixture, &from, "name", json!("moved")),
            ])
        }
    }
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
        history.differing().into_iter().map(|subject| subject.id).collect()
    };
    history.perform(&mut job, "one", name("F1"), unkept).unwrap();
    history.perform(&mut job, "two", name("F2"), unkept).unwrap();
    assert!(history.changed());
    assert_eq!(names(&history), ["F1", "F2"]);
    history.saved();
    assert!(!history.changed() && names(&history).is_empty());
    assert_eq!(history.undo(&mut job, unkept).unwrap(), Some("two"));
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
    assert_eq!(history.undone().iter().map(|step| step.label.as_str()).collect::<Vec<_>>(), ["three", "one"]);
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
