//! A house of ten rooms, twelve home runs and sixty fixtures, as it is typed and as its file must be.

use super::hand::Task;
use std::num::{NonZeroU8, NonZeroU16};
use studbay::job::catalogue::{
    BoxType, CableType, Catalogue, Conductor, ConductorPlan, ControlType, Drive, FixtureType, Function, Load,
    OutputKind, SupplyType,
};
use studbay::job::house::{Level, Room};
use studbay::job::panel::{Panel, Supply};
use studbay::job::wiring::{CeilingBox, Control, Feed, Loop, LoopPath, Source, WallBox};
use studbay::job::{Format, Id, Job, Project, Settings};
use studbay::units::{Length, LengthUnit, Volts, Watts, WattsOrNone};

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

fn few(count: u8) -> NonZeroU8 {
    count.try_into().unwrap()
}

/// What the file of the empty job holds.
pub(super) fn empty() -> Job {
    Job {
        format: Format(0, 1),
        project: Project {
            title: "House on Alder Way".into(),
            address: String::new(),
            revision: String::new(),
            by: String::new(),
            units: LengthUnit::Feet,
            notes: Vec::new(),
        },
        settings: Settings::default(),
        catalogue: Catalogue::default(),
        levels: Vec::new(),
        panels: Vec::new(),
        boxes: Vec::new(),
        groups: Vec::new(),
    }
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
    let level = Level { id: id("L1"), name: "Ground floor".into(), elevation: None, rooms: Vec::new() };
    let mut tasks = vec![
        Task::making("L1", move |job| job.levels.push(level.clone()))
            .first()
            .press("a", "New level")
            .field("name", "Ground floor")
            .take(),
    ];
    for (at, (name, area)) in ROOMS.into_iter().enumerate() {
        let made = format!("R{}", at + 1);
        let area = format!("{area} ft2");
        let room = Room {
            id: id(&made),
            name: name.into(),
            area: Some(area.parse().unwrap()),
            width: None,
            depth: None,
            corner: None,
            ceiling: Some(Length::parse("9 ft", None).unwrap()),
            illuminance: None,
        };
        let task = Task::making(&made, move |job| job.levels[0].rooms.push(room.clone()));
        let task = if at == 0 {
            task.press("a", "New room in level L1")
        } else {
            task.press("A", "add ").press("r", "New room in level L1")
        };
        tasks.push(task.field("name", name).field("area", &area).field("ceiling", "9 ft").take());
    }
    tasks
}

fn plan(name: &str, label: &str, conductors: &[(&str, Function)]) -> ConductorPlan {
    let conductor =
        |(name, function): &(&str, Function)| Conductor { name: (*name).to_owned(), function: *function };
    ConductorPlan { id: id(name), name: label.into(), conductors: conductors.iter().map(conductor).collect() }
}

fn parts() -> Vec<Task> {
    use Function::{Negative, Positive, Spare};
    let doubled = plan(
        "home-run",
        "both sides doubled",
        &[("1", Positive), ("2", Positive), ("3", Negative), ("4", Negative), ("5", Spare)],
    );
    let pair = plan("pair", "one pair", &[("1", Positive), ("2", Negative)]);
    let cable = |name: &str, label: &str, conductors, plan| CableType {
        id: id(name),
        name: label.into(),
        gauge: few(18),
        conductors: few(conductors),
        stranding: studbay::job::catalogue::Stranding::Solid,
        metal: studbay::job::catalogue::Metal::Copper,
        plan: id(plan),
        reels: Vec::new(),
    };
    let (wide, narrow) =
        (cable("18-5", "five conductors", 5, "home-run"), cable("18-2", "two conductors", 2, "pair"));
    let light = FixtureType {
        id: id("down-6"),
        name: "downlight".into(),
        load: Load::Power { watts: Watts::new(6.0).unwrap(), volts: None },
        colour: studbay::job::catalogue::FixtureColour::Fixed,
        lumens: None,
        price: None,
    };
    let supply = SupplyType {
        id: id("psu-24"),
        name: "four outputs".into(),
        outputs: few(4),
        volts: Volts::new(24.0).unwrap(),
        no_load_volts: Some(Volts::new(24.5).unwrap()),
        output_watts: Watts::new(96.0).unwrap(),
        kind: OutputKind::Class2Protected,
        terminals: few(2),
        slots: few(2),
        efficiency_percent: None,
        idle_watts: None,
        power_factor: None,
        price: None,
    };
    let dimmer = ControlType {
        id: id("dim-10"),
        name: "dimmer".into(),
        drive: Drive::Voltage,
        own_watts: WattsOrNone::new(0.5).unwrap(),
        most_fixed_lights: Some(10),
        most_tunable_lights: None,
        colour: studbay::job::catalogue::Colour::None,
        link: None,
        gangs: few(1),
        price: None,
    };
    let wall = BoxType { id: id("wall-1"), name: "one gang".into(), gangs: 1, volume: None, price: None };
    let add = |task: Task, key: &'static str, title: &str| task.press("A", "add ").press(key, title);
    vec![
        add(
            Task::making("home-run", move |job| job.catalogue.plans.push(doubled.clone()))
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
            Task::making("pair", move |job| job.catalogue.plans.push(pair.clone())),
            "p",
            "New conductor plan",
        )
        .field("id", "pair")
        .field("name", "one pair")
        .take(),
        add(Task::making("18-5", move |job| job.catalogue.cables.push(wide.clone())), "c", "New cable type")
            .field("id", "18-5")
            .field("name", "five conductors")
            .field("conductors", "5")
            .take(),
        add(
            Task::making("18-2", move |job| job.catalogue.cables.push(narrow.clone())),
            "c",
            "New cable type",
        )
        .field("id", "18-2")
        .field("name", "two conductors")
        // The beginning of its name is enough.
        .field("plan", "one p")
        .take(),
        add(
            Task::making("down-6", move |job| job.catalogue.fixtures.push(light.clone())),
            "f",
            "New fixture type",
        )
        .field("id", "down-6")
        .field("name", "downlight")
        .take(),
        add(
            Task::making("psu-24", move |job| job.catalogue.supplies.push(supply.clone())),
            "s",
            "New supply type",
        )
        .field("id", "psu-24")
        .field("name", "four outputs")
        .field("no-load volts", "24.5")
        .take(),
        add(
            Task::making("dim-10", move |job| job.catalogue.controls.push(dimmer.clone())),
            "k",
            "New control type",
        )
        .field("id", "dim-10")
        .field("name", "dimmer")
        .field("fixed lights", "10")
        .take(),
        add(Task::making("wall-1", move |job| job.catalogue.boxes.push(wall.clone())), "b", "New box type")
            .field("id", "wall-1")
            .field("name", "one gang")
            .take(),
    ]
}

fn panel() -> Vec<Task> {
    let panel = Panel {
        id: id("P1"),
        name: "Lighting panel".into(),
        room: id("R1"),
        place: None,
        slots: NonZeroU16::new(12).unwrap(),
        feed: None,
        supplies: Vec::new(),
    };
    let supply = |name: &str, slot| Supply {
        id: id(name),
        name: String::new(),
        part: id("psu-24"),
        slot: NonZeroU16::new(slot),
    };
    let (first, second) = (supply("PS1", 1), supply("PS2", 3));
    vec![
        Task::making("P1", move |job| job.panels.push(panel.clone()))
            .first()
            .press("3", "[3 Slots]")
            .press("a", "New panel")
            .field("name", "Lighting panel")
            .take(),
        Task::making("PS1", move |job| job.panels[0].supplies.push(first.clone()))
            .press("a", "New supply in panel P1")
            .field("slot", "1")
            .take(),
        Task::making("PS2", move |job| job.panels[0].supplies.push(second.clone()))
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
    let wall_box = WallBox {
        id: id(&box_id),
        name: name.into(),
        room: id(&format!("R{}", room + 1)),
        place: None,
        part: Some(id("wall-1")),
        feeds: Vec::new(),
        allowance_watts: None,
        controls: Vec::new(),
    };
    let feed = Feed {
        id: id(&format!("HR{}", number + 1)),
        name: String::new(),
        from: Source::Output(output.parse().unwrap()),
        cable: id("18-5"),
        plan: None,
        measured: Some(Length::parse(&length, None).unwrap()),
    };
    let control = Control {
        id: id(&format!("{box_id}-1")),
        name: String::new(),
        part: id("dim-10"),
        on: None,
        loops: Vec::new(),
    };
    let run = Loop {
        id: id(&format!("{box_id}-1-1")),
        name: String::new(),
        cable: id("18-2"),
        plan: None,
        path: LoopPath::ReturnedCapped,
        returns_to: None,
        crossed: false,
        measured: None,
        return_leg: Some(Length::parse("14 ft", None).unwrap()),
        ceiling: Vec::new(),
    };
    let mut tasks = vec![
        Task::making(&box_id, move |job| job.boxes.push(wall_box.clone()))
            .press("1", "[1 Runs]")
            .find(ROOMS[room].0)
            .press("a", &format!("New wall box in room R{}", room + 1))
            .field("name", name)
            .field("type", "one")
            .take(),
        Task::making(feed.id.as_str(), {
            let feed = feed.clone();
            move |job| job.boxes[number].feeds.push(feed.clone())
        })
        .press("a", &format!("New feed in wall box {box_id}"))
        .field("from", &output)
        .field("measured", &length)
        .take(),
        Task::making(control.id.as_str(), {
            let control = control.clone();
            move |job| job.boxes[number].controls.push(control.clone())
        })
        .press("a", "New control in")
        .take(),
        Task::making(run.id.as_str(), {
            let run = run.clone();
            move |job| job.boxes[number].controls[0].loops.push(run.clone())
        })
        .press("a", "New loop in")
        .field("path", "ReturnedC")
        .field("return leg", "14 ft")
        .take(),
    ];
    for light in 1..=LIGHTS {
        // The first is nearest to the wall; where the others hang is for later.
        let leg = (light == 1).then_some("7 ft");
        let made = format!("{}-{light}", run.id);
        let ceiling = CeilingBox {
            id: id(&made),
            name: String::new(),
            room: None,
            place: None,
            leg: leg.map(|leg| Length::parse(leg, None).unwrap()),
            fixture: Some(id("down-6")),
            open: Vec::new(),
        };
        let task = Task::making(&made, move |job| {
            lights(job, number).push(ceiling.clone());
        });
        tasks.push(match leg {
            Some(leg) => task.press("a", "New ceiling box in").field("leg", leg).take(),
            // Nothing to type: it has the fixture of the one before.
            None => task.quick("a\r"),
        });
    }
    tasks
}
