//! A house of ten rooms, twelve home runs and sixty fixtures, as it is typed and as its file must be.

use super::hand::Task;
use serde::de::DeserializeOwned;
use serde_json::{Value, json};
use studbay::job::wiring::CeilingBox;
use studbay::job::{Id, Job, read};

/// The job a person begins with, in its file.
pub(super) const EMPTY: &str = "(format: (0, 1), project: (title: \"House on Alder Way\"))\n";

/// The rooms with their areas in square feet.
const ROOMS: [(&str, u32); 10] = [
    ("Utility", 60),
    ("Kitchen", 180),
    ("Dining", 150),
    ("Parlor", 260),
    ("Study", 120),
    ("Porch", 90),
    ("Oak bedroom", 170),
    ("Elm bedroom", 160),
    ("Bath", 70),
    ("Loft", 240),
];

/// Where each home run goes: the room, and the box in it.
const RUNS: [(usize, &str); 12] = [
    (0, "Door"),
    (1, "Door"),
    (1, "Window"),
    (2, "Door"),
    (3, "Door"),
    (3, "Window"),
    (4, "Door"),
    (5, "Door"),
    (6, "Door"),
    (7, "Door"),
    (8, "Door"),
    (9, "Door"),
];

/// How many fixtures each run has.
const LIGHTS: usize = 5;

fn id(text: &str) -> Id {
    Id::new(text).unwrap()
}

/// A thing of the job with only these fields given.
fn thing<T: DeserializeOwned>(fields: Value) -> T {
    serde_json::from_value(fields).unwrap()
}

/// What the file of the empty job holds.
fn empty() -> Job {
    read::from_str("empty", EMPTY).unwrap().0
}

/// The job after some tasks.
pub(super) fn after(tasks: &[Task]) -> Job {
    let mut job = empty();
    for task in tasks {
        (task.does)(&mut job);
    }
    job
}

/// The whole house, task by task.
pub(super) fn tasks() -> Vec<Task> {
    let mut tasks = rooms();
    tasks.extend(parts());
    tasks.extend(panel());
    for number in 0..RUNS.len() {
        tasks.extend(run(number));
    }
    tasks
}

/// The same with a change of mind after each run, and a save after some.
pub(super) fn hesitant_tasks() -> Vec<Task> {
    let mut tasks = rooms();
    tasks.extend(parts());
    tasks.extend(panel());
    for number in 0..RUNS.len() {
        tasks.extend(run(number));
        let made = format!("make ceiling box B{}-1-1-{LIGHTS}", number + 1);
        tasks.push(
            Task::until(&format!("undone: {made}"), move |job| drop(lights(job, number).pop())).quick("u"),
        );
        tasks.push(
            Task::until(&format!("done again: {made}"), move |job| {
                let last = lights(job, number).last().unwrap().clone();
                let made = id(&format!("B{}-1-1-{LIGHTS}", number + 1));
                lights(job, number).push(CeilingBox { id: made, ..last });
            })
            .quick("U"),
        );
        if number % 3 == 0 {
            tasks.push(Task::until("saved ", |_| {}).quick("s"));
        }
    }
    tasks
}

/// The level and its rooms.
pub(super) fn rooms() -> Vec<Task> {
    let level = json!({"id": "L1", "name": "Ground floor"});
    let mut tasks = vec![
        Task::making("L1", move |job| job.levels.push(thing(level.clone())))
            .first()
            .press("a", "New level")
            .field("name", "Ground floor")
            .take(),
    ];
    for (at, (name, area)) in ROOMS.into_iter().enumerate() {
        let made = format!("R{}", at + 1);
        let area = format!("{area} ft2");
        let room = json!({"id": made, "name": name, "area": area, "ceiling": "9 ft"});
        let task = Task::making(&made, move |job| job.levels[0].rooms.push(thing(room.clone())));
        let task = if at == 0 {
            task.press("a", "New room in level L1")
        } else {
            task.press("A", "add ").press("r", "New room in level L1")
        };
        tasks.push(task.field("name", name).field("area", &area).field("ceiling", "9 ft").take());
    }
    tasks
}

fn parts() -> Vec<Task> {
    let conductors = |all: &[(&str, &str)]| -> Vec<Value> {
        all.iter().map(|(name, function)| json!({"name": name, "function": function})).collect()
    };
    let doubled = json!({"id": "home-run", "name": "both sides doubled", "conductors": conductors(&[
        ("1", "Positive"), ("2", "Positive"), ("3", "Negative"), ("4", "Negative"), ("5", "Spare"),
    ])});
    let pair = json!({"id": "pair", "name": "one pair",
        "conductors": conductors(&[("1", "Positive"), ("2", "Negative")])});
    let wide =
        json!({"id": "18-5", "name": "five conductors", "gauge": 18, "conductors": 5, "plan": "home-run"});
    let narrow =
        json!({"id": "18-2", "name": "two conductors", "gauge": 18, "conductors": 2, "plan": "pair"});
    let light = json!({"id": "down-6", "name": "downlight", "load": {"Power": {"watts": 6}}});
    let supply = json!({"id": "psu-24", "name": "four outputs", "outputs": 4, "volts": 24, "no_load_volts": 24.5,
        "output_watts": 96, "kind": "Class2Protected", "terminals": 2, "slots": 2});
    let dimmer = json!({"id": "dim-10", "name": "dimmer", "drive": "Voltage", "own_watts": 0.5, "most_fixed_lights": 10});
    let wall = json!({"id": "wall-1", "name": "one gang", "gangs": 1});
    let add = |task: Task, key: &'static str, title: &str| task.press("A", "add ").press(key, title);
    vec![
        add(
            Task::making("home-run", move |job| job.catalogue.plans.push(thing(doubled.clone())))
                .first()
                .press("6", "[6 Parts]"),
            "p",
            "New conductor plan",
        )
        .field("id", "home-run")
        .field("name", "both sides doubled")
        .field("conductors", "1 +, 2 +, 3 -, 4 -, 5 spare")
        .take(),
        add(
            Task::making("pair", move |job| job.catalogue.plans.push(thing(pair.clone()))),
            "p",
            "New conductor plan",
        )
        .field("id", "pair")
        .field("name", "one pair")
        .take(),
        add(
            Task::making("18-5", move |job| job.catalogue.cables.push(thing(wide.clone()))),
            "c",
            "New cable type",
        )
        .field("id", "18-5")
        .field("name", "five conductors")
        .field("conductors", "5")
        .take(),
        add(
            Task::making("18-2", move |job| job.catalogue.cables.push(thing(narrow.clone()))),
            "c",
            "New cable type",
        )
        .field("id", "18-2")
        .field("name", "two conductors")
        // The beginning of its name is enough.
        .field("plan", "one p")
        .take(),
        add(
            Task::making("down-6", move |job| job.catalogue.fixtures.push(thing(light.clone()))),
            "f",
            "New fixture type",
        )
        .field("id", "down-6")
        .field("name", "downlight")
        .take(),
        add(
            Task::making("psu-24", move |job| job.catalogue.supplies.push(thing(supply.clone()))),
            "s",
            "New supply type",
        )
        .field("id", "psu-24")
        .field("name", "four outputs")
        .field("no-load volts", "24.5")
        .take(),
        add(
            Task::making("dim-10", move |job| job.catalogue.controls.push(thing(dimmer.clone()))),
            "k",
            "New control type",
        )
        .field("id", "dim-10")
        .field("name", "dimmer")
        .field("fixed lights", "10")
        .take(),
        add(
            Task::making("wall-1", move |job| job.catalogue.boxes.push(thing(wall.clone()))),
            "b",
            "New box type",
        )
        .field("id", "wall-1")
        .field("name", "one gang")
        .take(),
    ]
}

fn panel() -> Vec<Task> {
    let panel = json!({"id": "P1", "name": "Lighting panel", "room": "R1", "slots": 12});
    let first = json!({"id": "PS1", "part": "psu-24", "slot": 1});
    let second = json!({"id": "PS2", "part": "psu-24", "slot": 3});
    vec![
        Task::making("P1", move |job| job.panels.push(thing(panel.clone())))
            .first()
            .press("3", "[3 Slots]")
            .press("a", "New panel")
            .field("name", "Lighting panel")
            .take(),
        Task::making("PS1", move |job| job.panels[0].supplies.push(thing(first.clone())))
            .press("a", "New supply in panel P1")
            .field("slot", "1")
            .take(),
        Task::making("PS2", move |job| job.panels[0].supplies.push(thing(second.clone())))
            .press("a", "New supply in panel P1")
            .field("slot", "3")
            .take(),
    ]
}

fn lights(job: &mut Job, number: usize) -> &mut Vec<CeilingBox> {
    &mut job.boxes[number].controls[0].loops[0].ceiling
}

/// A wall box with its home run, control, loop and fixtures.
fn run(number: usize) -> Vec<Task> {
    let (room, name) = RUNS[number];
    let box_id = format!("B{}", number + 1);
    let output = format!("PS{}.{}", number / 8 + 1, number % 8 / 2 + 1);
    let length = format!("{}'6", 20 + 3 * number);
    let run_id = format!("HR{}", number + 1);
    let wall_box = json!({"id": box_id, "name": name, "room": format!("R{}", room + 1), "part": "wall-1"});
    let feed = json!({"id": run_id, "from": {"Output": output}, "cable": "18-5", "measured": length});
    let control = json!({"id": format!("{box_id}-1"), "part": "dim-10"});
    let run = json!({"id": format!("{box_id}-1-1"), "cable": "18-2", "path": "ReturnedCapped",
        "return_leg": "14 ft"});
    let mut tasks = vec![
        Task::making(&box_id, move |job| job.boxes.push(thing(wall_box.clone())))
            .press("1", "[1 Runs]")
            .find(ROOMS[room].0)
            .press("a", &format!("New wall box in room R{}", room + 1))
            .field("name", name)
            .field("type", "one")
            .take(),
        Task::making(&run_id, move |job| job.boxes[number].feeds.push(thing(feed.clone())))
            .press("a", &format!("New feed in wall box {box_id}"))
            .field("from", &output)
            .field("measured", &length)
            .take(),
        Task::making(&format!("{box_id}-1"), move |job| {
            job.boxes[number].controls.push(thing(control.clone()));
        })
        .press("a", "New control in")
        .take(),
        Task::making(&format!("{box_id}-1-1"), move |job| {
            job.boxes[number].controls[0].loops.push(thing(run.clone()));
        })
        .press("a", "New loop in")
        .field("path", "ReturnedC")
        .field("return leg", "14 ft")
        .take(),
    ];
    for light in 1..=LIGHTS {
        // The first is nearest to the wall; where the others hang is for later.
        let leg = (light == 1).then_some("7 ft");
        let made = format!("{box_id}-1-1-{light}");
        let mut ceiling = json!({"id": made, "fixture": "down-6"});
        if let Some(leg) = leg {
            ceiling["leg"] = json!(leg);
        }
        let task = Task::making(&made, move |job| {
            lights(job, number).push(thing(ceiling.clone()));
        });
        tasks.push(match leg {
            Some(leg) => task.press("a", "New ceiling box in").field("leg", leg).take(),
            // Nothing to type: it has the fixture of the one before.
            None => task.quick("a\r"),
        });
    }
    tasks
}
