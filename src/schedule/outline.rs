//! The house as an outline: levels, rooms, wall boxes, loops and fixtures, each with its figures.
//!
//! The outline itself is only positions; a row is made when it is to be shown, so a house of ten thousand fixtures
//! costs no more to draw than the screen holds.

use super::names::{called, fixture_of, place_of};
use super::voltages::sign;
use super::{Cell, Column, Row};
use crate::design::Design;
use crate::format::{self, Quantity, Text};
use crate::job::wiring::Source;
use crate::job::{Kind, Subject};
use crate::network::{ControlAt, FeedAt, Lengths, LoopAt, NetworkFlaw};
use crate::study::{LightStudy, Of, Range, RunStudy};
use std::collections::HashMap;

/// What an entry stands for, by position.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[expect(missing_docs, reason = "each variant is the kind of thing, its fields the positions")]
pub enum Item {
    Level(usize),
    Room { level: usize, room: usize },
    WallBox(usize),
    Feed(FeedAt),
    Control(ControlAt),
    Loop(LoopAt),
    Ceiling(LoopAt, usize),
}

/// One line of the outline.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Entry {
    /// How deep it stands, from 0.
    pub depth: u8,
    /// Whether something stands under it.
    pub has_below: bool,
    /// What it stands for.
    pub item: Item,
}

/// The whole outline, in the order of the house.
pub fn entries(design: &Design) -> Vec<Entry> {
    let job = &design.job;
    let mut boxes_of: HashMap<String, Vec<usize>> = HashMap::new();
    for (at, wall_box) in job.boxes.iter().enumerate() {
        boxes_of.entry(wall_box.room.folded()).or_default().push(at);
    }
    let mut entries = Vec::new();
    let mut push = |depth, item, below: usize| entries.push(Entry { depth, has_below: below > 0, item });
    for (level, entry) in job.levels.iter().enumerate() {
        push(0, Item::Level(level), entry.rooms.len());
        for (room, entry) in entry.rooms.iter().enumerate() {
            let boxes = boxes_of.get(&entry.id.folded()).map(Vec::as_slice).unwrap_or_default();
            push(1, Item::Room { level, room }, boxes.len());
            for &wall_box in boxes {
                push_box(design, wall_box, &mut push);
            }
        }
    }
    entries
}

fn push_box(design: &Design, wall_box: usize, push: &mut impl FnMut(u8, Item, usize)) {
    let entry = &design.job.boxes[wall_box];
    push(2, Item::WallBox(wall_box), entry.feeds.len() + entry.controls.len());
    for feed in 0..entry.feeds.len() {
        push(3, Item::Feed(FeedAt { wall_box, feed }), 0);
    }
    for (control, wired) in entry.controls.iter().enumerate() {
        let control = ControlAt { wall_box, control };
        push(3, Item::Control(control), wired.loops.len());
        for (at, run) in wired.loops.iter().enumerate() {
            let at = LoopAt { control, at };
            push(4, Item::Loop(at), run.ceiling.len());
            for ceiling in 0..run.ceiling.len() {
                push(5, Item::Ceiling(at, ceiling), 0);
            }
        }
    }
}

/// The columns of the outline.
pub fn columns() -> Vec<Column> {
    vec![
        Column::text("what", "level, room, box, loop, fixture").width(20, 70).grow(),
        Column::text("on", "on, length").width(6, 20).yields(2),
        Column::figure("watts", "watts").bare(Quantity::Watts),
        Column::figure("volts", "volts").bare(Quantity::Volts).yields(1),
        Column::figure("drop_percent", "drop").bare(Quantity::Percent),
        Column::text("sign", "").width(2, 2),
    ]
}

/// The widest cells that are to be expected, since rows are made only as they are shown. Where something is open watts
/// and drop are as wide as from and to at any width of screen, volts where there is room.
pub fn widest(design: &Design) -> Row {
    let open = design.is_open();
    let range =
        Range { least: 98.99, most: 99.99, exact: true, least_choice: Vec::new(), most_choice: Vec::new() };
    let [watts, percent] = if open { [1_000_000.9, 999_999.9] } else { [9999.9, 99.9] };
    Row::new(vec![
        Cell::text("w".repeat(70)),
        Cell::text("HR-0000 18-5 1000'11"),
        Cell::watts(watts),
        Cell::volts(99.99).over(open.then_some(&range)),
        Cell::percent(percent),
        Cell::text("!!"),
    ])
}

/// The thing an entry stands for.
pub fn subject(design: &Design, item: Item) -> Subject {
    let job = &design.job;
    match item {
        Item::Level(at) => Subject::new(Kind::Level, &job.levels[at].id),
        Item::Room { level, room } => Subject::new(Kind::Room, &job.levels[level].rooms[room].id),
        Item::WallBox(at) => Subject::new(Kind::WallBox, &job.boxes[at].id),
        Item::Feed(at) => Subject::new(Kind::Cable, &job.boxes[at.wall_box].feeds[at.feed].id),
        Item::Control(at) => Subject::new(Kind::Control, &job.boxes[at.wall_box].controls[at.control].id),
        Item::Loop(at) => Subject::new(
            Kind::Cable,
            &job.boxes[at.control.wall_box].controls[at.control.control].loops[at.at].id,
        ),
        Item::Ceiling(at, ceiling) => {
            let control = &job.boxes[at.control.wall_box].controls[at.control.control];
            Subject::new(Kind::Fixture, &control.loops[at.at].ceiling[ceiling].id)
        }
    }
}

/// The row of one entry; a sign before it says that what is under it is folded away.
pub fn row(design: &Design, entry: Entry, folded: bool) -> Row {
    let about = subject(design, entry.item);
    let flag = Cell::text(sign(design, &about).weight().sign().trim());
    let mut cells = match entry.item {
        Item::Level(at) => level_cells(design, at),
        Item::Room { level, room } => room_cells(design, level, room),
        Item::WallBox(at) => box_cells(design, at),
        Item::Feed(at) => feed_cells(design, at),
        Item::Control(at) => control_cells(design, at),
        Item::Loop(at) => loop_cells(design, at),
        Item::Ceiling(at, ceiling) => ceiling_cells(design, at, ceiling),
    };
    if let Some(Cell::Text(what)) = cells.first() {
        let indent = "  ".repeat(usize::from(entry.depth).saturating_sub(1));
        let sign = match (entry.depth, folded && entry.has_below) {
            (0, _) => "",
            (_, true) => "+ ",
            (_, false) => "  ",
        };
        cells[0] = Cell::Text(Text::from(format!("{indent}{sign}{what}")));
    }
    cells.push(flag);
    Row::new(cells).about(about)
}

fn level_cells(design: &Design, at: usize) -> Vec<Cell> {
    let level = &design.job.levels[at];
    let rooms = level.rooms.len();
    vec![
        Cell::from(called(&level.name, &level.id)),
        Cell::from(if rooms == 1 { "1 room".to_owned() } else { format!("{rooms} rooms") }),
        Cell::Blank,
        Cell::Blank,
        Cell::Blank,
    ]
}

fn room_cells(design: &Design, level: usize, room: usize) -> Vec<Cell> {
    let room = &design.job.levels[level].rooms[room];
    vec![
        Cell::from(called(&room.name, &room.id)),
        room.area.map_or(Cell::Blank, |area| Cell::from(area.to_string())),
        Cell::Blank,
        Cell::Blank,
        Cell::Blank,
    ]
}

/// A wall box: the volts and watts of the run that ends in it, or the volts of what feeds it onward.
fn box_cells(design: &Design, at: usize) -> Vec<Cell> {
    let wall_box = &design.job.boxes[at];
    let feeds = (0..wall_box.feeds.len()).map(|feed| FeedAt { wall_box: at, feed });
    let of_feed = |feed: FeedAt| {
        let (run, position) = *design.network.run_of_feed.get(&feed)?;
        Some((position, design.study.run(&design.network, run)?))
    };
    let studies: Vec<_> = feeds.filter_map(of_feed).collect();
    let volts = studies.first().and_then(|(position, study)| study.feed_volts.get(*position)?.1);
    let home: Vec<_> = studies.iter().filter(|(position, _)| *position == 0).collect();
    let watts = home.iter().try_fold(0.0, |sum, (_, study)| Some(sum + study.source_watts?));
    let home_runs: Vec<&str> = wall_box.feeds.iter().map(|feed| feed.id.as_str()).collect();
    let unfed = design.network.flaws.contains(&NetworkFlaw::BoxWithoutFeed { wall_box: at });
    let mut on = if unfed { "no feed".to_owned() } else { home_runs.join(", ") };
    if let Some(watts) = wall_box.allowance_watts {
        on = format!("{on} {} set aside", format::watts(Some(watts.get())));
    }
    vec![
        Cell::from(format!("{} {}", wall_box.id, wall_box.name)),
        Cell::from(on),
        match home.as_slice() {
            [] => Cell::Blank,
            [(_, study)] => source_watts(study),
            _ => Cell::watts(watts),
        },
        if wall_box.feeds.is_empty() { Cell::Blank } else { Cell::volts(volts) },
        Cell::Blank,
    ]
}

/// A feed: where it comes from, what it carries, and the volts at its end.
fn feed_cells(design: &Design, at: FeedAt) -> Vec<Cell> {
    let wall_box = &design.job.boxes[at.wall_box];
    let feed = &wall_box.feeds[at.feed];
    let length = Lengths::new(&design.job, &design.index).feed(wall_box, feed);
    let length =
        length.map_or_else(|| "?".to_owned(), |length| length.length.shown(design.job.project.units));
    let (kind, from) = match &feed.from {
        Source::Output(output) => ("home run", place_of(design, output)),
        Source::Panel(panel) => ("home run", format!("{panel}, no output")),
        Source::Onward(from) => ("onward", from.to_string()),
    };
    let place = design.network.run_of_feed.get(&at);
    let study = place.and_then(|&(run, position)| Some((position, design.study.run(&design.network, run)?)));
    let (watts, volts) = match study {
        Some((0, study)) => (source_watts(study), study.feed_volts.first().and_then(|v| v.1)),
        Some((position, study)) => (Cell::Blank, study.feed_volts.get(position).and_then(|v| v.1)),
        None => (Cell::Blank, None),
    };
    let lost =
        study.and_then(|(_, study)| Some((study.source_volts? - volts?) / study.source_volts? * 100.0));
    vec![
        Cell::from(format!("{} {kind} from {from}", feed.id)),
        Cell::from(format!("{} {length}", feed.cable)),
        watts,
        Cell::volts(volts).over(study.and_then(|(position, study)| study.range(Of::FeedVolts(position)))),
        Cell::percent(lost),
    ]
}

/// The watts that a run takes from its output, from and to where something on it is open.
fn source_watts(study: &RunStudy) -> Cell {
    Cell::watts(study.source_watts).over(study.range(Of::SourceWatts))
}

/// The length of a cable of the outline, where it is known.
pub fn length(design: &Design, item: Item) -> Option<crate::units::Length> {
    let lengths = Lengths::new(&design.job, &design.index);
    match item {
        Item::Feed(at) => {
            let wall_box = &design.job.boxes[at.wall_box];
            lengths.feed(wall_box, &wall_box.feeds[at.feed]).map(|length| length.length)
        }
        Item::Loop(at) => {
            let (wall_box, _, run) = super::names::loop_at(design, at);
            lengths.wired_loop(wall_box, run).whole.map(|whole| whole.length)
        }
        _ => None,
    }
}

fn control_cells(design: &Design, at: ControlAt) -> Vec<Cell> {
    let control = &design.job.boxes[at.wall_box].controls[at.control];
    let part = design.index.control_type(&design.job, &control.part);
    let wall_box = &design.job.boxes[at.wall_box];
    let lights: usize =
        control.loops.iter().map(|wired| super::names::lights_of(design, wall_box, wired)).sum();
    let count = match lights {
        0 => "no lights".to_owned(),
        1 => "1 light".to_owned(),
        count => format!("{count} lights"),
    };
    vec![
        Cell::from(format!("{} {}", control.id, part.map(|p| called(&p.name, &p.id)).unwrap_or_default())),
        // On which feed a control is tells something only where its box has several.
        Cell::from(match &control.on {
            Some(on) if design.job.boxes[at.wall_box].feeds.len() > 1 => format!("{on} {count}"),
            _ => count,
        }),
        Cell::Blank,
        Cell::Blank,
        Cell::Blank,
    ]
}

fn loop_cells(design: &Design, at: LoopAt) -> Vec<Cell> {
    let (wall_box, _, run) = super::names::loop_at(design, at);
    let lengths = Lengths::new(&design.job, &design.index).wired_loop(wall_box, run);
    let lights = lights_of(design, at);
    let watts = lights.iter().try_fold(0.0, |sum, light| Some(sum + light.watts?));
    let lowest = lights.iter().map(|light| light.volts).reduce(|a, b| Some(a?.min(b?))).flatten();
    let drop = lights.iter().map(|light| light.drop_percent).reduce(|a, b| Some(a?.max(b?))).flatten();
    let string = lights.iter().any(|light| light.volts.is_some() && light.drop_percent.is_none());
    let ends = match run.path {
        crate::job::wiring::LoopPath::OneWay => "one way",
        crate::job::wiring::LoopPath::ReturnedCapped => "returned, capped",
        crate::job::wiring::LoopPath::Returned if string => "returned",
        crate::job::wiring::LoopPath::Returned => "fed from both ends",
    };
    let unit = design.job.project.units;
    let empty = lights.is_empty();
    let length = lengths.whole.map_or_else(|| "?".to_owned(), |whole| whole.length.shown(unit));
    let name = if run.name.trim().is_empty() { String::new() } else { format!(" {}", run.name) };
    vec![
        Cell::from(format!("{}{name}, {ends}", run.id)),
        Cell::from(format!("{} {length}", run.cable)),
        if empty { Cell::Blank } else { Cell::watts(watts) },
        if empty { Cell::Blank } else { Cell::volts(lowest) },
        if empty || string { Cell::Blank } else { Cell::percent(drop) },
    ]
}

fn study_of(design: &Design, at: ControlAt) -> Option<&RunStudy> {
    let run = design.network.run_of_control.get(&at);
    run.and_then(|&run| design.study.run(&design.network, run))
}

fn lights_of(design: &Design, at: LoopAt) -> Vec<&LightStudy> {
    study_of(design, at.control)
        .map(|study| study.lights.iter().filter(|light| light.at == at).collect())
        .unwrap_or_default()
}

fn ceiling_cells(design: &Design, at: LoopAt, ceiling: usize) -> Vec<Cell> {
    let (wall_box, _, run) = super::names::loop_at(design, at);
    let entry = &run.ceiling[ceiling];
    let study = study_of(design, at.control);
    let place = |study: &RunStudy| study.lights.iter().position(|l| l.at == at && l.ceiling == ceiling);
    let place = study.and_then(|study| Some((study, place(study)?)));
    let light = place.map(|(study, place)| &study.lights[place]);
    let range = |of: fn(usize) -> Of| place.and_then(|(study, place)| study.range(of(place)));
    let string = light.is_some_and(|light| light.volts.is_some() && light.drop_percent.is_none());
    let holds = crate::job::open::lit(&design.job, &design.index, wall_box, run, entry);
    let figure = |cell: Cell| if holds { cell } else { Cell::Blank };
    vec![
        Cell::from(format!("{} {}", entry.id, fixture_of(design, wall_box, run, entry))),
        Cell::Blank,
        figure(Cell::watts(light.and_then(|light| light.watts)).over(range(Of::Watts))),
        figure(Cell::volts(light.and_then(|light| light.volts)).over(range(Of::Volts))),
        if string {
            Cell::text("series")
        } else {
            figure(Cell::percent(light.and_then(|light| light.drop_percent)).over(range(Of::DropPercent)))
        },
    ]
}
