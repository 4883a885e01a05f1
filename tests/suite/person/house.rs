//! A house of ten rooms, twelve home runs and sixty fixtures, as it is typed and as its file must be.

use super::hand::Task;
use serde::de::DeserializeOwned;
use serde_json::{Value, json};
use studbay::job::wiring::CeilingBox;
use studbay::job::{Id, Job, read};
use studbay::units::Length;

/// The job a person begins with, in its file.
pub(super) const EMPTY: &str = "(format: (1, 0), project: (title: \"House on Alder Way\"))\n";

/// The rooms with their areas in square feet.
const ROOMS: [(&str, u32); 10] = [
    ("Utility", 60),
    ("Kitchen", 180),
    ("Dining", 150),
    ("Family", 260),
    ("Study", 120),
    ("Garage", 90),
    ("Oak bedroom", 170),
    ("Elm bedroom", 160),
    ("Bath", 70),
    ("Loft", 240),
];

/// Where each home run goes: the room, the box in it, and the number of its first light in the room.
const RUNS: [(usize, &str, &str, usize); 12] = [
    (0, "Door", "U1", 1),
    (1, "Door", "K1", 1),
    (1, "Window", "K2", 6),
    (2, "Door", "D1", 1),
    (3, "Door", "F1", 1),
    (3, "Window", "F2", 6),
    (4, "Door", "S1", 1),
    (5, "Door", "G1", 1),
    (6, "Door", "OB1", 1),
    (7, "Door", "EB1", 1),
    (8, "Door", "B1", 1),
    (9, "Door", "L1", 1),
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

/// The whole house, task by task, in the fast ways: one run is typed in and copied into the other rooms, then what
/// differs from run to run is typed down the cables.
pub(super) fn tasks() -> Vec<Task> {
    let mut tasks = rooms_in_a_row();
    tasks.extend(parts());
    tasks.extend(panel());
    tasks.extend(run(0));
    tasks.push(copies());
    tasks.extend(names());
    tasks.extend(lengths());
    tasks.extend(return_legs());
    tasks.push(legs());
    tasks
}

/// The first run, copied into every room that has one.
fn copies() -> Task {
    let rooms: Vec<String> = RUNS[1..].iter().map(|(room, ..)| format!("r{}", room + 1)).collect();
    let done = format!("repeat wall box U1 into {} rooms; u undoes it", rooms.len());
    let does = |job: &mut Job| {
        for (number, (room, name, ..)) in RUNS.into_iter().enumerate().skip(1) {
            // A second box of a room is called after the first.
            let name = if name == "Door" { "Door" } else { "Door 2" };
            let mut wall_box = job.boxes[0].clone();
            (wall_box.id, wall_box.name) = (id(RUNS[number].2), name.into());
            wall_box.room = id(&format!("R{}", room + 1));
            let feed = &mut wall_box.feeds[0];
            (feed.id, feed.measured) = (id(&format!("HR{}", number + 1)), None);
            feed.from = thing(json!({"Output": output_of(number)}));
            let control = &mut wall_box.controls[0];
            control.id = id(&format!("{}a", RUNS[number].2));
            let run = &mut control.loops[0];
            (run.id, run.return_leg) = (id(&format!("{}a1", RUNS[number].2)), None);
            for (at, light) in run.ceiling.iter_mut().enumerate() {
                (light.id, light.leg) = (id(&light_id(number, at + 1)), None);
            }
            job.boxes.push(wall_box);
        }
    };
    Task::until(&done, does)
        .find("U1 Door")
        .press("y", "Repeat wall box U1")
        .field("to rooms", &rooms.join(","))
        .field("home runs", "n")
        .take()
}

/// The boxes at the windows get their name.
fn names() -> Vec<Task> {
    let windows = (0..RUNS.len()).filter(|number| RUNS[*number].1 == "Window");
    let task = |number: usize| {
        let made = RUNS[number].2;
        Task::until(&format!("change wall box {made}; u undoes it"), move |job| {
            job.boxes[number].name = "Window".into();
        })
        .find(made)
        .press("e", &format!("Change wall box {made}"))
        .field("name", "Window")
        .take()
    };
    windows.map(task).collect()
}

/// Each length is typed under the one before.
fn lengths() -> Vec<Task> {
    let task = |number: usize| {
        let run = format!("HR{}", number + 1);
        let task = Task::until("", move |job| {
            job.boxes[number].feeds[0].measured = Some(length(&length_of(number)));
        });
        let task = if number == 1 {
            task.press("4", "[4 Cables]").find(&run).press("e", &format!("Change feed {run}"))
        } else {
            task
        };
        let task = task.field("measured", &length_of(number));
        if number + 1 == RUNS.len() { task.changed(&run) } else { task.on_from(&run) }
    };
    (1..RUNS.len()).map(task).collect()
}

fn return_legs() -> Vec<Task> {
    let task = |number: usize| {
        let run = format!("{}a1", RUNS[number].2);
        let task = Task::until("", move |job| {
            job.boxes[number].controls[0].loops[0].return_leg = Some(length("14'"));
        });
        let task = if number == 1 { task.find(&run).press("e", &format!("Change loop {run}")) } else { task };
        let task = task.field("return leg", "14'");
        if number + 1 == RUNS.len() { task.changed(&run) } else { task.on_from(&run) }
    };
    (1..RUNS.len()).map(task).collect()
}

/// The first light of each run gets the leg that the first of all has: they are marked, and it is filled down.
fn legs() -> Task {
    let mut task = Task::until("fill leg down over 12 marked; u undoes it", |job| {
        for number in 1..RUNS.len() {
            lights(job, number)[0].leg = Some(length("7'"));
        }
    })
    .press("1", "[1 Runs]")
    .quick("+g")
    .find("-1")
    .quick("v");
    let mut marked = 1;
    // The tenth light of a room is found by that, too.
    for word in ["K-1", "K-10", "D-1", "F-1", "F-10", "S-1", "G-1", "OB-1", "EB-1", "B-1", "L-1"] {
        task = task.here("n", &format!(" {word} "));
        if !word.ends_with('0') {
            marked += 1;
            task = task.press("v", &format!("{marked} marked"));
        }
    }
    for word in ["K-6", "F-6"] {
        marked += 1;
        task = task.find(word).press("v", &format!("{marked} marked"));
    }
    task.press("F", "Fill down over 12 ceiling boxes").field("field", "leg").take()
}

/// The output of a run: two runs of 31 W keep within the target of one of 96 W.
fn output_of(number: usize) -> String {
    format!("PS{}.{}", number / 8 + 1, number % 8 / 2 + 1)
}

fn length(text: &str) -> Length {
    Length::parse(text, None).unwrap()
}

fn length_of(number: usize) -> String {
    format!("{}'6", 20 + 3 * number)
}

/// The same with a change of mind after each run, and a save after some.
pub(super) fn hesitant_tasks() -> Vec<Task> {
    let mut tasks = rooms();
    tasks.extend(parts());
    tasks.extend(panel());
    for number in 0..RUNS.len() {
        tasks.extend(run(number));
        let made = format!("make ceiling box {}", light_id(number, LIGHTS));
        tasks.push(
            Task::until(&format!("undone: {made}"), move |job| drop(lights(job, number).pop())).quick("u"),
        );
        tasks.push(
            Task::until(&format!("done again: {made}"), move |job| {
                let last = lights(job, number).last().unwrap().clone();
                let made = id(&light_id(number, LIGHTS));
                lights(job, number).push(CeilingBox { id: made, ..last });
            })
            .quick("U"),
        );
        if number % 3 == 0 {
            tasks.push(Task::until("saved /", |_| {}).quick("s"));
        }
    }
    tasks
}

/// The level and its rooms, each with a form of its own.
pub(super) fn rooms() -> Vec<Task> {
    let mut tasks = vec![level()];
    for at in 0..ROOMS.len() {
        let task = room(at);
        let task = if at == 0 {
            task.press("a", "New room in level L1")
        } else {
            // The first time it is chosen; from then on it is what was added last at a room.
            let task = if at == 1 { task.press("A", "add ").quick("r") } else { task.quick("a") };
            task.press("", "New room in level L1")
        };
        tasks.push(filled(task, at).take());
    }
    tasks
}

/// The level and its rooms, one form after the other.
fn rooms_in_a_row() -> Vec<Task> {
    let mut tasks = vec![level()];
    let last = ROOMS.len() - 1;
    for at in 0..=last {
        let task = if at == 0 { room(at).press("a", "New room in level L1") } else { room(at) };
        let task = filled(task, at);
        tasks.push(if at == last { task.take() } else { task.more("room") });
    }
    tasks
}

fn level() -> Task {
    let level = json!({"id": "L1", "name": "Ground floor"});
    Task::making("L1", move |job| job.levels.push(thing(level.clone())))
        .first()
        .press("a", "New level")
        .field("name", "Ground floor")
        .take()
}

/// The task that makes a room.
fn room(at: usize) -> Task {
    let (name, area) = ROOMS[at];
    let made = format!("R{}", at + 1);
    let room = json!({"id": made, "name": name, "area": format!("{area} ft2"), "ceiling": "9'"});
    Task::making(&made, move |job| job.levels[0].rooms.push(thing(room.clone())))
}

/// What is typed for a room: the height of its ceiling is that of the room before.
fn filled(task: Task, at: usize) -> Task {
    let (name, area) = ROOMS[at];
    let task = task.field("name", name).field("area", &area.to_string());
    if at == 0 { task.field("ceiling", "9'") } else { task }
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
        // Type and slot are proposed.
        Task::making("PS1", move |job| job.panels[0].supplies.push(thing(first.clone())))
            .press("a", "New supply in panel P1")
            .more("supply"),
        Task::making("PS2", move |job| job.panels[0].supplies.push(thing(second.clone()))).take(),
    ]
}

fn lights(job: &mut Job, number: usize) -> &mut Vec<CeilingBox> {
    &mut job.boxes[number].controls[0].loops[0].ceiling
}

/// The id of a light of a run, the first being 1: the letters of its box, and its number in the room.
fn light_id(number: usize, light: usize) -> String {
    let (_, _, box_id, first) = RUNS[number];
    let letters = box_id.trim_end_matches(|c: char| c.is_ascii_digit());
    format!("{letters}-{}", first + light - 1)
}

/// A wall box with its home run, control, loop and fixtures.
fn run(number: usize) -> Vec<Task> {
    let (room, name, box_id, _) = RUNS[number];
    let (output, length) = (output_of(number), length_of(number));
    let run_id = format!("HR{}", number + 1);
    let wall_box = json!({"id": box_id, "name": name, "room": format!("R{}", room + 1), "part": "wall-1"});
    let feed = json!({"id": run_id, "from": {"Output": output}, "cable": "18-5", "measured": length});
    let control = json!({"id": format!("{box_id}a"), "part": "dim-10"});
    let run = json!({"id": format!("{box_id}a1"), "cable": "18-2", "path": "ReturnedCapped",
        "return_leg": "14'"});
    let mut tasks = vec![
        Task::making(box_id, move |job| job.boxes.push(thing(wall_box.clone())))
            .press("1", "[1 Runs]")
            .find(ROOMS[room].0)
            .press("a", &format!("New wall box in room R{}", room + 1))
            .field("name", name)
            .take(),
        // The output is the next that has room for a run like the others.
        Task::making(&run_id, move |job| job.boxes[number].feeds.push(thing(feed.clone())))
            .press("a", &format!("New feed in wall box {box_id}"))
            .field("measured", &length)
            .take(),
        Task::making(&format!("{box_id}a"), move |job| {
            job.boxes[number].controls.push(thing(control.clone()));
        })
        .quick("a\r"),
        Task::making(&format!("{box_id}a1"), move |job| {
            job.boxes[number].controls[0].loops.push(thing(run.clone()));
        })
        .press("a", "New loop in"),
    ];
    // From the second run on a loop ends like the one before.
    let wired = tasks.pop().unwrap();
    let wired = if number == 0 { wired.field("path", "ReturnedC") } else { wired };
    tasks.push(wired.field("return leg", "14'").take());
    for light in 1..=LIGHTS {
        // The first is nearest to the wall; where the others hang is for later.
        let leg = (light == 1).then_some("7'");
        let made = light_id(number, light);
        let mut ceiling = json!({"id": made, "fixture": "down-6"});
        if let Some(leg) = leg {
            ceiling["leg"] = json!(leg);
        }
        let task = Task::making(&made, move |job| {
            lights(job, number).push(thing(ceiling.clone()));
        });
        let task = match leg {
            Some(leg) => task.press("a", "New ceiling box in").field("leg", leg),
            // Nothing to type: it has the fixture of the one before.
            None => task,
        };
        tasks.push(if light == LIGHTS { task.take() } else { task.more("ceiling box") });
    }
    tasks
}
