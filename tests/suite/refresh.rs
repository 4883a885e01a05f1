//! What is derived after an edit equals what is derived in full, to the bit.

use crate::random_edits::{self, set};
use crate::random_jobs;
use crate::support::{SAMPLES, design_of, sample};
use proptest::prelude::*;
use serde_json::{Value, json};
use std::collections::BTreeSet;
use studbay::design::Design;
use studbay::job::edit::{Edit, apply};
use studbay::job::{Index, Job, Kind, Subject};
use studbay::tui::action::Action;
use studbay::tui::{App, NoLedger};

/// Everything of a design that a view or a sheet can show, every figure in full.
pub(crate) fn bits(design: &Design) -> [String; 4] {
    let network = &design.network;
    [
        format!("{:?}", design.study),
        format!("{:?}", design.findings),
        format!("{:?} {:?} {:?}", network.runs, network.parts, network.flaws),
        // The order of a map says nothing.
        format!(
            "{:?} {:?}",
            network.run_of_feed.iter().collect::<std::collections::BTreeMap<_, _>>(),
            network.run_of_control.iter().collect::<std::collections::BTreeMap<_, _>>()
        ),
    ]
}

/// Applies an edit and its inverse to a design and compares it with a full one each time; whether the job took it.
fn there_and_back(design: &mut Design, edit: &Edit) -> bool {
    let said = format!("{edit:?}");
    let Ok(inverse) = apply(&mut design.job, edit.clone()) else { return false };
    design.refresh(edit);
    let full = Design::derive(design.job.clone());
    assert_eq!(bits(design), bits(&full), "after {said}");
    let after = design.clone();
    apply(&mut design.job, inverse.clone()).unwrap();
    design.refresh(&inverse);
    assert_eq!(bits(design), bits(&Design::derive(design.job.clone())), "after taking back {said}");
    *design = after;
    true
}

fn ids(job: &Job, kind: Kind) -> Vec<String> {
    let (index, _) = Index::new(job);
    let ids: BTreeSet<String> = index.ids(kind).map(ToString::to_string).collect();
    ids.into_iter().collect()
}

/// Some of what is found, answered for.
fn accepted(job: &Job, number: u16) -> Value {
    let found = Design::derive(job.clone()).findings;
    let some = found.iter().step_by(usize::from(number % 3) + 1);
    some.map(|f| {
        json!({"code": f.code, "subject": {"kind": f.subject.kind, "id": f.subject.id}, "by": "R. Quill",
            "reason": "seen", "found": f.found})
    })
    .collect()
}

/// An edit of each field that a refresh takes for less than everything, and of some that it does not.
fn field_edit(
    job: &Job,
    what: u8,
    first: prop::sample::Index,
    second: prop::sample::Index,
    number: u16,
) -> Edit {
    let pick = |kind: Kind, by: prop::sample::Index| {
        let ids = ids(job, kind);
        if ids.is_empty() { "none-such".to_owned() } else { by.get(&ids).clone() }
    };
    let of = |kind: Kind, field: &str, value: Value| set(kind, &pick(kind, first), field, value);
    let length = json!(format!("{}'{}", number % 90 + 1, number % 12));
    let place = json!({"x": format!("{}'", number % 50), "y": format!("{}'", number % 31), "height": "4'"});
    match what % 34 {
        0 => of(Kind::WallBox, "place", place),
        1 => of(Kind::WallBox, "room", json!(pick(Kind::Room, second))),
        2 => of(
            Kind::WallBox,
            "allowance_watts",
            if number.is_multiple_of(3) { Value::Null } else { json!(number % 60 + 1) },
        ),
        3 => of(Kind::Cable, "measured", length),
        4 => of(Kind::Cable, "cable", json!(pick(Kind::CableType, second))),
        5 => of(Kind::Cable, "plan", json!(pick(Kind::ConductorPlan, second))),
        6 => of(
            Kind::Cable,
            "from",
            json!({"Output": format!("{}.{}", pick(Kind::Supply, second), number % 4 + 1)}),
        ),
        7 => of(Kind::Cable, "from", json!({"Onward": pick(Kind::Cable, second)})),
        8 => of(Kind::Cable, "from", json!({"Panel": pick(Kind::Panel, second)})),
        9 => {
            of(Kind::Cable, "path", json!(["OneWay", "ReturnedCapped", "Returned"][usize::from(number % 3)]))
        }
        10 => of(Kind::Cable, "returns_to", json!(pick(Kind::Control, second))),
        11 => of(Kind::Cable, "crossed", json!(number.is_multiple_of(2))),
        12 => of(Kind::Cable, "return_leg", length),
        13 => of(Kind::Control, "part", json!(pick(Kind::ControlType, second))),
        14 => of(Kind::Control, "on", json!(pick(Kind::Cable, second))),
        15 => of(Kind::Fixture, "place", place),
        16 => of(Kind::Fixture, "room", json!(pick(Kind::Room, second))),
        17 => of(Kind::Fixture, "fixture", json!(pick(Kind::FixtureType, second))),
        18 => of(Kind::Supply, "slot", json!(number % 12 + 1)),
        19 => of(Kind::Panel, "slots", json!(number % 12 + 1)),
        20 => of(Kind::Room, "ceiling", length),
        21 => of(Kind::Supply, "part", json!(pick(Kind::SupplyType, second))),
        22 => of(Kind::Panel, "place", place),
        23 => set(
            Kind::Project,
            "project",
            "stage",
            json!(["Planning", "RoughIn", "Trim"][usize::from(number % 3)]),
        ),
        24 => set(Kind::Job, "job", "accepted", accepted(job, number)),
        25 => of(Kind::Room, "area", json!(format!("{} ft2", number % 300 + 1))),
        26 => {
            of(Kind::Panel, "feed", json!({"volts": 120, "breaker_amps": f64::from(number % 40) / 2.0 + 0.5}))
        }
        27 => of(Kind::WallBox, "part", json!(pick(Kind::BoxType, second))),
        28 => of(Kind::Fixture, "open", json!([pick(Kind::FixtureType, second)])),
        29 => of(Kind::Fixture, "fixture", Value::Null),
        30 => {
            let links: Vec<String> =
                job.groups.iter().flat_map(|group| &group.links).map(|link| link.id.to_string()).collect();
            let id = if links.is_empty() { "none-such".to_owned() } else { first.get(&links).clone() };
            let value =
                [length, json!(pick(Kind::CableType, second)), json!(pick(Kind::ConductorPlan, second))];
            let at = usize::from(number % 3);
            set(Kind::Cable, &id, ["measured", "cable", "plan"][at], value[at].clone())
        }
        // An edit that reaches the boxes at both ends of what goes onward, and one that is far from it.
        31 => Edit::Together(vec![
            of(Kind::Cable, "from", json!({"Onward": pick(Kind::Cable, second)})),
            set(Kind::Fixture, &pick(Kind::Fixture, second), "place", place),
        ]),
        32 => set(Kind::Settings, "settings", "ground_conductor", json!(number.is_multiple_of(2))),
        _ => Edit::Together(vec![
            of(Kind::Cable, "path", json!("Returned")),
            of(Kind::Cable, "returns_to", json!(pick(Kind::Control, second))),
            set(Kind::Project, "project", "title", json!("again")),
        ]),
    }
}

/// Each step derives a whole job three times, so there are fewer than elsewhere.
fn config() -> ProptestConfig {
    let usual = ProptestConfig::default();
    ProptestConfig { cases: usual.cases / 8, failure_persistence: None, ..usual }
}

type Step = (bool, random_edits::Seed);

fn steps() -> impl Strategy<Value = Vec<Step>> {
    prop::collection::vec((any::<bool>(), random_edits::seed()), 1..10)
}

fn walk(mut design: Design, steps: Vec<Step>) {
    for (field, seed) in steps {
        let (what, first, second, number) = seed;
        let edit = if field {
            field_edit(&design.job, what, first, second, number)
        } else {
            random_edits::edit(&design.job, seed)
        };
        there_and_back(&mut design, &edit);
    }
}

proptest! {
    #![proptest_config(config())]

    #[test]
    fn any_edits_of_any_job_refresh_as_they_derive(text in random_jobs::job(), steps in steps()) {
        walk(design_of(&text), steps);
    }

    #[test]
    fn any_edits_of_a_sample_refresh_as_they_derive(
        name in prop::sample::select(vec!["cottage", "usual-mistakes"]),
        steps in steps(),
    ) {
        walk(sample(name), steps);
    }
}

#[test]
fn ordinary_edits_of_every_sample_refresh_as_they_derive() {
    for name in SAMPLES {
        let mut design = sample(name);
        let cable = ids(&design.job, Kind::Cable).pop().unwrap();
        let light = ids(&design.job, Kind::Fixture).swap_remove(0);
        let other = ids(&design.job, Kind::FixtureType).pop().unwrap();
        let removed = Edit::Remove { subject: Subject::new(Kind::Fixture, &light) };
        let edits = [
            set(Kind::Cable, &cable, "name", json!("by the stairs")),
            set(Kind::Cable, &cable, "measured", json!("41'3")),
            set(Kind::Fixture, &light, "fixture", json!(other)),
            set(Kind::Settings, "settings", "conductor_celsius", json!(30)),
            removed,
        ];
        for edit in edits {
            assert!(there_and_back(&mut design, &edit), "{name} takes an ordinary edit");
        }
    }
}

#[test]
fn what_the_cursor_stands_on_may_go_with_an_undo() {
    let design = sample("cottage");
    let room = design.job.levels.last().and_then(|level| level.rooms.last()).unwrap().id.clone();
    let mut app = App::new(design, "cottage.ron", Box::new(NoLedger));
    let value = json!({"id": "B999", "room": room.as_str()});
    app.commit("add a box", Edit::Insert { kind: Kind::WallBox, parent: None, at: 999, value }).unwrap();
    let boxes = app.design().job.boxes.len();
    app.act(Action::UnfoldAll);
    app.act(Action::Last);
    app.act(Action::Undo);
    assert_eq!(app.design().job.boxes.len(), boxes - 1);
    app.act(Action::Redo);
    assert_eq!(app.design().job.boxes.len(), boxes);
}
