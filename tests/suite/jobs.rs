//! Job files: read, refused with a reason, written back, edited and taken back.

use crate::support::{STARTER, project, snapshots};
use insta::assert_snapshot;
use serde_json::json;
use studbay::job::edit::{Edit, EditError, apply};
use studbay::job::{Job, Kind, Subject, read, write};

fn starter() -> Job {
    read::from_str("starter", STARTER).expect("the starter job is valid").0
}

#[test]
fn the_starter_job_reads_and_is_written_in_one_stable_layout() {
    let job = starter();
    let text = write::to_string(&job).unwrap();
    let (again, _) = read::from_str("written", &text).unwrap();
    assert_eq!(again, job);
    assert_eq!(write::to_string(&again).unwrap(), text);
    let _guard = snapshots("jobs").bind_to_scope();
    assert_snapshot!("starter_written", text);
}

/// Each case: what is exchanged in the starter job for what, and a name for the snapshot of the message.
const MISTAKES: &[(&str, &str, &str)] = &[
    ("unknown_field", "fixture: \"down-6\"", "fixtur: \"down-6\""),
    ("unknown_choice", "path: ReturnedCapped", "path: ReturnCapped"),
    ("missing_field", "path: ReturnedCapped,", ""),
    ("unknown_fixture", "fixture: \"down-6\"", "fixture: \"down-9\""),
    ("unknown_output", "Output(\"PS1.1\")", "Output(\"PS1.7\")"),
    ("unknown_supply", "Output(\"PS1.1\")", "Output(\"PS2.1\")"),
    ("twice", "id: \"F2\"", "id: \"f1\""),
    ("negative_watts", "own_watts: 0.5", "own_watts: -0.5"),
    ("zero_outputs", "outputs: 4", "outputs: 0"),
    ("not_finite", "own_watts: 0.5", "own_watts: NaN"),
    ("no_unit", "ceiling: \"9'0\"", "ceiling: \"9\""),
    ("zero_length", "cable: \"18-5\")]", "cable: \"18-5\", measured: \"0 ft\")]"),
    ("circle", "from: Output(\"PS1.1\")", "from: Onward(\"HR1\")"),
    ("volts_exchanged", "least: 20, most: 28", "least: 28, most: 20"),
    ("bad_id", "id: \"B1\"", "id: \"B 1\""),
    ("unclosed", "levels: [", "levels: ("),
    ("newer", "format: (1, 0)", "format: (9, 0)"),
    ("no_job", "format: (1, 0),", ""),
    ("field_twice", "slots: 8,", "slots: 8, slots: 8,"),
    ("bad_output", "Output(\"PS1.1\")", "Output(\"PS1\")"),
];

#[test]
fn each_mistake_is_named_with_its_place_and_what_was_meant() {
    let mut said = String::new();
    for (name, right, wrong) in MISTAKES {
        assert!(STARTER.contains(right), "{name}");
        let text = STARTER.replacen(right, wrong, 1);
        let error = read::from_str("house.ron", &text).expect_err(name);
        said.extend([name, "\n", &error.to_string(), "\n\n"]);
    }
    for (name, text) in [
        ("empty", ""),
        ("binary", "\u{0}\u{1}PK"),
        ("words", "Dear Sir"),
        ("too_early", "(format: (1, 0), project: (title: \"x\""),
    ] {
        let error = read::from_str("house.ron", text).expect_err(name);
        said.extend([name, "\n", &error.to_string(), "\n\n"]);
    }
    let _guard = snapshots("errors").bind_to_scope();
    assert_snapshot!("read", said.trim_end());
}

#[test]
fn an_edit_gives_back_the_edit_that_undoes_it() {
    let first = starter();
    let set = |kind, id: &str, field: &str, value| Edit::Set {
        subject: Subject::new(kind, id),
        field: field.into(),
        value,
    };
    let edits = vec![
        set(Kind::Cable, "HR1", "measured", json!("62'6")),
        set(Kind::WallBox, "b1", "name", json!("Bedroom, by the door")),
        set(Kind::Settings, "settings", "target_load_percent", json!(70)),
        set(Kind::Fixture, "F1", "fixture", json!(null)),
        Edit::Remove { subject: Subject::new(Kind::Fixture, "F2") },
        Edit::Insert {
            kind: Kind::Room,
            parent: Some(Subject::new(Kind::Level, "L1")),
            at: 9,
            value: json!({"id": "bath"}),
        },
        Edit::Together(vec![
            set(Kind::Cable, "HR1", "from", json!({"Output": "PS1.2"})),
            Edit::Remove { subject: Subject::new(Kind::Cable, "LP1") },
        ]),
    ];
    let mut job = first.clone();
    let mut undo = Vec::new();
    for edit in edits {
        let before = job.clone();
        undo.push(apply(&mut job, edit).unwrap());
        assert_ne!(job, before);
    }
    for inverse in undo.into_iter().rev() {
        apply(&mut job, inverse).unwrap();
    }
    assert_eq!(job, first);
}

#[test]
fn a_refused_edit_leaves_the_job_as_it_was() {
    let first = starter();
    let mut job = first.clone();
    let mut refuse = |edit: Edit| apply(&mut job, edit).expect_err("must be refused");
    let set = |kind, id: &str, field: &str, value| Edit::Set {
        subject: Subject::new(kind, id),
        field: field.into(),
        value,
    };
    assert!(matches!(
        refuse(Edit::Remove { subject: Subject::new(Kind::Room, "bed-1") }),
        EditError::Refers(_)
    ));
    assert!(matches!(refuse(set(Kind::Fixture, "F1", "fixture", json!("none"))), EditError::Refers(_)));
    assert!(matches!(refuse(set(Kind::Fixture, "F9", "fixture", json!(null))), EditError::Missing(_)));
    assert!(matches!(
        refuse(set(Kind::Settings, "settings", "target_load_percent", json!(-1))),
        EditError::Value(_)
    ));
    assert!(matches!(refuse(set(Kind::Cable, "HR1", "id", json!("HR2"))), EditError::Value(_)));
    let last_fails = Edit::Together(vec![
        set(Kind::WallBox, "B1", "name", json!("gone")),
        set(Kind::WallBox, "B9", "name", json!("nobody")),
    ]);
    assert!(matches!(refuse(last_fails), EditError::Missing(_)));
    assert_eq!(job, first);
    assert!(project("Cargo.toml").exists());
}
