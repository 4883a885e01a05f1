//! Records of the site in the document: how they read, what is refused, and that pulled lengths take over.

use crate::support::{design_of, design_with, starter_with};
use serde_json::json;
use studbay::design::Design;
use studbay::job::edit::{Edit, EditError, apply};
use studbay::job::{Kind, Subject, read, write};
use studbay::network::{Basis, Lengths};

fn set(kind: Kind, id: &str, field: &str, value: serde_json::Value) -> Edit {
    Edit::Set { subject: Subject::new(kind, id), field: field.into(), value }
}

fn home_run(design: &Design) -> (String, Basis) {
    let wall_box = &design.job.boxes[0];
    let length = Lengths::new(&design.job, &design.index).feed(wall_box, &wall_box.feeds[0]).unwrap();
    (length.length.written(), length.basis)
}

#[test]
fn a_pulled_length_is_the_difference_of_the_marks_and_replaces_the_estimate() {
    let mut design = design_with(&[]);
    let planned = home_run(&design);
    assert_eq!(planned.1, Basis::Estimated);
    let volts = design.study.runs(&design.network).next().unwrap().lights[0].volts.unwrap();
    let edit = set(Kind::Cable, "HR1", "site", json!({"start_mark": "712 ft", "end_mark": "650 ft"}));
    let before = design.job.clone();
    let undo = apply(&mut design.job, edit.clone()).unwrap();
    design.refresh(&edit);
    assert_eq!(home_run(&design), ("62 ft".into(), Basis::Pulled), "without any allowance");
    let pulled = design.study.runs(&design.network).next().unwrap().lights[0].volts.unwrap();
    assert!(pulled < volts, "62 ft lose more than the 45'8 of the plan: {pulled} against {volts}");
    let full = Design::derive(design.job.clone());
    assert_eq!(full.study, design.study, "what an edit made anew equals all made anew");
    let wall_box = &design.job.boxes[0];
    let lengths = Lengths::new(&design.job, &design.index).planned();
    let kept = lengths.feed(wall_box, &wall_box.feeds[0]).unwrap();
    assert_eq!((kept.length.written(), kept.basis), planned, "the estimate is kept beside it");
    apply(&mut design.job, undo).unwrap();
    assert_eq!(design.job, before);
}

#[test]
fn what_is_pulled_beats_what_was_measured_before() {
    let design = design_with(&[(
        "from: Output(\"PS1.1\"),",
        "from: Output(\"PS1.1\"), measured: \"50 ft\", site: (start_mark: \"3 m\", end_mark: \"21.5 m\"),",
    )]);
    assert_eq!(home_run(&design), ("18.5 m".into(), Basis::Pulled));
}

#[test]
fn nothing_is_boarded_untested_unless_somebody_answers_for_it() {
    let (mut job, index) = read::from_str("job", &starter_with(&[])).unwrap();
    let before = job.clone();
    let ceiling = index.ids(Kind::Fixture).next().unwrap().to_string();
    let wall = index.ids(Kind::WallBox).next().unwrap().to_string();
    let run = index
        .ids(Kind::Cable)
        .find(|id| job.boxes[0].controls.iter().flat_map(|c| &c.loops).any(|l| l.id.same(id)))
        .unwrap()
        .to_string();
    let boarded = json!({"done": {"boarded": "2026-03-11 MO"}});
    for (kind, id) in
        [(Kind::Cable, "HR1"), (Kind::Cable, run.as_str()), (Kind::Fixture, &ceiling), (Kind::WallBox, &wall)]
    {
        let refused = apply(&mut job, set(kind, id, "site", boarded.clone()));
        assert!(
            matches!(&refused, Err(EditError::Refers(why)) if why.contains("was not tested")),
            "{id}: {refused:?}"
        );
        let unsigned = json!({"done": {"boarded": "2026-03-11", "untested_because": "the board was up"}});
        assert!(apply(&mut job, set(kind, id, "site", unsigned)).is_err(), "{id}: nobody signed");
        assert_eq!(job, before);
        let signed = json!({"done": {"boarded": "2026-03-11 MO", "untested_because": "the board was up"}});
        let undo = apply(&mut job, set(kind, id, "site", signed)).unwrap();
        apply(&mut job, undo).unwrap();
        let tested = json!({"done": {"tested": "2026-03-10 MO", "boarded": "2026-03-11 MO"}});
        let undo = apply(&mut job, set(kind, id, "site", tested)).unwrap();
        apply(&mut job, undo).unwrap();
        assert_eq!(job, before);
    }
    // The test of a loop is that of its boxes; it cannot be taken back while they are boarded.
    apply(&mut job, set(Kind::Cable, &run, "site", json!({"done": {"tested": "MO"}}))).unwrap();
    apply(&mut job, set(Kind::Fixture, &ceiling, "site", boarded)).unwrap();
    assert!(apply(&mut job, set(Kind::Cable, &run, "site", json!({}))).is_err());
}

#[test]
fn records_are_saved_as_they_were_typed() {
    let text = starter_with(&[
        (
            "from: Output(\"PS1.1\"),",
            r#"from: Output("PS1.1"),
           site: (done: (pulled: "2026-03-09 MO"), start_mark: "412 ft", end_mark: "350.5 ft", note: "by the duct"),
           readings: ["conductor red: 0.41 with M1 at 18 C by 2026-03-10 MO", "insulation: >200M"],"#,
        ),
        (
            "        boxes: [\n            (id: \"wall-1\"",
            "        meters: [(id: \"M1\", ohms: (percent: 0.8, counts: 3, resolution: 0.01), lead_ohms: 0.1)],\n        boxes: [\n            (id: \"wall-1\"",
        ),
    ]);
    let (job, _) = read::from_str("job", &text).unwrap_or_else(|error| panic!("{error}"));
    let saved = write::to_string(&job).unwrap();
    for kept in ["412 ft", "350.5 ft", "0.41 with M1 at 18 C by 2026-03-10 MO", ">200M", "by the duct"] {
        assert!(saved.contains(kept), "{kept} in\n{saved}");
    }
    assert_eq!(read::from_str("job", &saved).unwrap().0, job);
    // A meter that is used is not deleted, and one that is not there is not named.
    let meter = Subject::new(Kind::Meter, "M1");
    assert!(studbay::plan::delete::delete(&job, &meter).is_err());
    let named = text.replace("with M1", "with M2");
    let error = read::from_str("job", &named).unwrap_err().to_string();
    assert!(error.contains("names the meter 'M2'"), "{error}");
    let marks = text.replace("350.5 ft", "412 ft");
    assert!(read::from_str("job", &marks).unwrap_err().to_string().contains("same mark at both ends"));
}

#[test]
fn a_copy_takes_no_record_along() {
    let design = design_of(&starter_with(&[(
        "from: Output(\"PS1.1\"),",
        "from: Output(\"PS1.1\"), site: (done: (pulled: \"MO\"), start_mark: \"9 ft\", end_mark: \"1 ft\"), \
         readings: [\"insulation: OL\"],",
    )]));
    let id = design.job.boxes[0].id.clone();
    let offset = studbay::plan::repeat::Offset::default();
    let edit =
        studbay::plan::repeat::repeat(&design.job, &Subject::new(Kind::WallBox, &id), 1, offset).unwrap();
    let mut job = design.job.clone();
    apply(&mut job, edit).unwrap();
    let copy = job.boxes.iter().find(|b| !b.id.same(&id) && b.name.contains(&job.boxes[0].name)).unwrap();
    assert!(copy.feeds[0].site.is_default() && copy.feeds[0].readings.is_empty());
}
