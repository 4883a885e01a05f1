//! Edits made at random for a given job.

use proptest::prelude::*;
use serde_json::{Value, json};
use std::collections::BTreeSet;
use studbay::job::edit::Edit;
use studbay::job::{Index, Job, Kind, Subject};

/// A number from which an edit is made, given the job as it then is.
pub(crate) type Seed = (u8, prop::sample::Index, prop::sample::Index, u16);

pub(crate) fn seed() -> impl Strategy<Value = Seed> {
    (any::<u8>(), any::<prop::sample::Index>(), any::<prop::sample::Index>(), any::<u16>())
}

pub(crate) fn set(kind: Kind, id: &str, field: &str, value: Value) -> Edit {
    Edit::Set { subject: Subject::new(kind, id), field: field.into(), value }
}

/// An edit that the job may or may not take. Ids are drawn from those there are, and now and then from one too many.
pub(crate) fn edit(job: &Job, (what, first, second, number): Seed) -> Edit {
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
