//! The pictures: the plan of each level and the riser, to look at, and laws that hold for any size.

use crate::support::{project, snapshots};
use insta::assert_snapshot;
use proptest::prelude::*;
use std::collections::HashSet;
use std::sync::LazyLock;
use studbay::design::Design;
use studbay::format::Text;
use studbay::job::house::{Corner, Place};
use studbay::job::{Id, Job, Kind, Subject, read, write};
use studbay::schedule::canvas::LineSet;
use studbay::schedule::picture::{Direction, Picture, Shape, Spot};
use studbay::schedule::plan::{Plan, Scale, Viewport};
use studbay::schedule::riser::{Detail, Riser};
use studbay::sheets::{Drawings, Heading, Paper, SHEETS, text};
use studbay::units::{Length, LengthUnit};

fn job(name: &str) -> Job {
    let text = std::fs::read_to_string(project("sample-jobs").join(format!("{name}.ron"))).unwrap();
    read::from_str(name, &text).unwrap().0
}

const SIZES: [(u16, u16); 2] = [(80, 24), (132, 43)];
const SETS: [(LineSet, &str); 2] = [(LineSet::Ascii, "ascii"), (LineSet::Cp437, "lines")];

/// The picture with its legend beneath, as a page would show it.
fn shown(picture: &Picture) -> String {
    let legend: Vec<&str> = picture.legend.iter().map(Text::as_str).collect();
    format!("{}\n\n{}", picture.lines().join("\n"), legend.join("\n"))
}

#[test]
fn plans_of_the_samples() {
    let _guard = snapshots("pictures").bind_to_scope();
    for name in ["cottage", "two-story"] {
        let design = Design::derive(job(name));
        let unit = design.job.project.units;
        for level in 0..design.job.levels.len() {
            let plan = Plan::new(&design, level);
            for (width, height) in SIZES {
                for (set, word) in SETS {
                    let view = Viewport::fit(&plan, unit, width, height);
                    let picture = plan.draw(view, unit, set);
                    let id = &design.job.levels[level].id;
                    assert_snapshot!(format!("plan_{name}_{id}_{width}x{height}_{word}"), shown(&picture));
                }
            }
        }
    }
}

#[test]
fn risers_of_the_samples() {
    let _guard = snapshots("pictures").bind_to_scope();
    for name in ["cottage", "two-story"] {
        let design = Design::derive(job(name));
        for (width, height) in SIZES {
            let detail = if width > 100 { Detail::Loops } else { Detail::Runs };
            let riser = Riser::new(&design, detail);
            for (set, word) in SETS {
                let picture = riser.draw(&design, 0, width, height, set);
                assert_snapshot!(format!("riser_{name}_{width}x{height}_{word}"), shown(&picture));
            }
        }
    }
}

fn length(text: &str) -> Length {
    Length::parse(text, None).unwrap()
}

/// The cottage with two rooms measured, in metres.
fn measured() -> Job {
    let mut job = job("cottage");
    job.project.units = LengthUnit::Metres;
    for (room, x, y, width, depth) in [(0, "0'0", "8'0", "18'0", "16'0"), (1, "18'0", "12'0", "12'0", "12'0")]
    {
        let [x, y, width, depth] = [x, y, width, depth].map(length);
        let room = &mut job.levels[0].rooms[room];
        (room.corner, room.width, room.depth) = (Some(Corner { x, y }), Some(width), Some(depth));
    }
    job
}

#[test]
fn measured_rooms_have_walls() {
    let job = measured();
    let text = write::to_string(&job).unwrap();
    assert!(text.contains("corner: (x: \"0'0\", y: \"8'0\")"), "{text}");
    assert_eq!(read::from_str("measured", &text).unwrap().0, job);
    let _guard = snapshots("pictures").bind_to_scope();
    let plan = Plan::new(&Design::derive(job), 0);
    let view = Viewport::fit(&plan, LengthUnit::Metres, 80, 24);
    assert_snapshot!("plan_measured_ascii", shown(&plan.draw(view, LengthUnit::Metres, LineSet::Ascii)));
    assert_snapshot!("plan_measured_lines", shown(&plan.draw(view, LengthUnit::Metres, LineSet::Cp437)));
}

#[test]
fn an_outline_of_no_size_is_refused() {
    let mut job = measured();
    job.levels[0].rooms[1].depth = Some(length("0'0"));
    let error = read::from_str("flat", &write::to_string(&job).unwrap()).unwrap_err().to_string();
    assert!(error.contains("room 'kitchen'"), "{error}");
}

#[test]
fn mistakes_show_in_the_pictures() {
    let _guard = snapshots("pictures").bind_to_scope();
    let design = Design::derive(job("usual-mistakes"));
    let plan = Plan::new(&design, 0);
    let view = Viewport::fit(&plan, LengthUnit::Feet, 80, 24);
    assert_snapshot!("plan_mistakes_ascii", shown(&plan.draw(view, LengthUnit::Feet, LineSet::Ascii)));
    let riser = Riser::new(&design, Detail::Loops);
    assert_snapshot!("riser_mistakes_ascii", shown(&riser.draw(&design, 0, 100, 60, LineSet::Ascii)));
}

/// Everything of a level that must be on its plan, with its place if it has one.
fn on_level(job: &Job, level: usize) -> Vec<(Subject, Option<Place>)> {
    let here = |room: &Id| job.levels[level].rooms.iter().any(|entry| entry.id.same(room));
    let mut all = Vec::new();
    for panel in job.panels.iter().filter(|panel| here(&panel.room)) {
        all.push((Subject::new(Kind::Panel, &panel.id), panel.place));
    }
    for wall_box in &job.boxes {
        if here(&wall_box.room) {
            all.push((Subject::new(Kind::WallBox, &wall_box.id), wall_box.place));
        }
        for ceiling in wall_box.controls.iter().flat_map(|c| &c.loops).flat_map(|run| &run.ceiling) {
            if here(ceiling.room.as_ref().unwrap_or(&wall_box.room)) {
                all.push((Subject::new(Kind::Fixture, &ceiling.id), ceiling.place));
            }
        }
    }
    all
}

#[test]
fn the_whole_riser_shows_everything_once() {
    for name in ["cottage", "two-story", "large-house", "usual-mistakes"] {
        let design = Design::derive(job(name));
        let riser = Riser::new(&design, Detail::Loops);
        let height = u16::try_from(riser.height() + 1).unwrap();
        let picture = riser.draw(&design, 0, 200, height, LineSet::Ascii);
        let job = &design.job;
        let mut expected: Vec<Subject> = Vec::new();
        for panel in &job.panels {
            expected.push(Subject::new(Kind::Panel, &panel.id));
            expected.extend(panel.supplies.iter().map(|supply| Subject::new(Kind::Supply, &supply.id)));
        }
        expected.extend(design.study.outputs.iter().map(|output| Subject::new(Kind::Output, &output.output)));
        for wall_box in &job.boxes {
            expected.push(Subject::new(Kind::WallBox, &wall_box.id));
            expected.extend(wall_box.feeds.iter().map(|feed| Subject::new(Kind::Cable, &feed.id)));
            if !wall_box.feeds.is_empty() {
                let loops = wall_box.controls.iter().flat_map(|control| &control.loops);
                expected.extend(loops.map(|run| Subject::new(Kind::Cable, &run.id)));
            }
        }
        for subject in expected {
            let anchor = picture.anchor_of(&subject).unwrap_or_else(|| panic!("{name}: no {subject}"));
            let line = riser.line_of(&design, &subject).unwrap_or_else(|| panic!("{name}: {subject}"));
            let count = picture.anchors.iter().filter(|anchor| anchor.subject == subject).count();
            assert!(count == 1 || subject.kind == Kind::WallBox, "{name}: {subject} {count} times");
            if count == 1 {
                assert_eq!(usize::from(anchor.shape.spot().y), line + 1, "{name}: {subject}");
            }
        }
    }
}

#[test]
fn the_cursor_goes_to_the_nearest_thing() {
    let design = Design::derive(job("cottage"));
    let plan = Plan::new(&design, 0);
    let view = Viewport::fit(&plan, LengthUnit::Feet, 132, 43);
    let picture = plan.draw(view, LengthUnit::Feet, LineSet::Ascii);
    let from = |id: &str| picture.anchor_of(&Subject::new(Kind::Fixture, id)).unwrap().shape.spot();
    let to = |from: Spot, way| picture.nearest(from, way).map(|anchor| anchor.subject.id.clone());
    assert_eq!(to(from("M-1"), Direction::Right).as_deref(), Some("M-2"));
    assert_eq!(to(from("S-4"), Direction::Right).as_deref(), Some("S-3"));
    assert_eq!(to(from("S-3"), Direction::Up).as_deref(), Some("S-2"));
    assert_eq!(to(Spot { x: 0, y: 0 }, Direction::Up), None);
}

static HOUSES: LazyLock<Vec<(Design, Vec<Plan>)>> = LazyLock::new(|| {
    let houses = ["cottage", "two-story", "large-house"].map(job).into_iter().chain([measured()]);
    houses
        .map(|job| {
            let design = Design::derive(job);
            let plans = (0..design.job.levels.len()).map(|level| Plan::new(&design, level)).collect();
            (design, plans)
        })
        .collect()
});

/// That no line is wider than the picture and no thing is out of it.
fn within(picture: &Picture, width: u16, height: u16) -> Result<(), TestCaseError> {
    prop_assert_eq!((picture.width, picture.height), (width, height));
    let lines = picture.lines();
    prop_assert_eq!(lines.len(), usize::from(height));
    for line in lines {
        prop_assert!(Text::from(line.as_str()).width() <= usize::from(width), "{}", line);
    }
    for anchor in &picture.anchors {
        let corners = match &anchor.shape {
            Shape::Words { at, width } => vec![*at, Spot { x: at.x + width - 1, y: at.y }],
            Shape::Line(pieces) => pieces.iter().flat_map(|(a, b)| [*a, *b]).collect(),
        };
        for spot in corners {
            prop_assert!(spot.x < width && spot.y < height, "{anchor:?}");
        }
    }
    Ok(())
}

proptest! {
    #[test]
    fn a_plan_of_any_size_and_scale_shows_what_it_should(
        house in 0..4_usize, level in 0..3_usize, (width, height) in (0..=200_u16, 0..=80_u16),
        ticks in prop_oneof![1..100_000_000_i64, any::<i64>()],
        (left, top) in prop_oneof![(-60..60_i64, -60..60_i64), any::<(i64, i64)>()], fitted: bool, ascii: bool,
    ) {
        let (design, plans) = &HOUSES[house];
        let level = level % plans.len();
        let unit = design.job.project.units;
        let set = if ascii { LineSet::Ascii } else { LineSet::Cp437 };
        let view = if fitted {
            Viewport::fit(&plans[level], unit, width, height)
        } else {
            Viewport { scale: Scale::of_ticks(ticks), left, top, width, height }
        };
        let picture = plans[level].draw(view, unit, set);
        within(&picture, width, height)?;
        let anchors: HashSet<&Subject> = picture.anchors.iter().map(|anchor| &anchor.subject).collect();
        let (columns, lines) = view.inner();
        for (subject, place) in on_level(&design.job, level) {
            let Some(place) = place else {
                prop_assert!(plans[level].unplaced().contains(&subject));
                continue;
            };
            let (x, y) = (view.scale.column(place.x.ticks()), view.scale.line(place.y.ticks()));
            let inside = |at: i64, first: i64, count: u16| {
                i128::from(at) >= i128::from(first) && i128::from(at) < i128::from(first) + i128::from(count)
            };
            let seen = inside(x, view.left, columns) && inside(y, view.top, lines);
            prop_assert_eq!(anchors.contains(&subject), seen, "{}", subject);
        }
    }

    #[test]
    fn a_riser_of_any_size_is_drawn(
        house in 0..3_usize, detail in 0..3_usize, (width, height) in (0..=200_u16, 0..=80_u16), top in 0..200_usize,
        ascii: bool,
    ) {
        let (design, _) = &HOUSES[house];
        let riser = Riser::new(design, [Detail::Outputs, Detail::Runs, Detail::Loops][detail]);
        let set = if ascii { LineSet::Ascii } else { LineSet::Cp437 };
        within(&riser.draw(design, top, width, height, set), width, height)?;
    }
}

#[test]
fn pictures_on_paper() {
    let _guard = snapshots("pictures").bind_to_scope();
    let design = Design::derive(job("two-story"));
    let heading = Heading::of(&design.job.project, jiff::civil::date(2026, 3, 9));
    for entry in SHEETS.iter().filter(|entry| entry.is_picture()) {
        let paper = Paper::new(132, 66);
        let Some(Drawings::Picture { typed, .. }) = &entry.drawings else { unreachable!() };
        let drawings = typed(&design, paper, None);
        let sheet = text::print_drawings(&heading, &entry.name.into(), &drawings, paper);
        assert!(sheet.is_ascii(), "{sheet}");
        assert!(sheet.split(['\n', '\u{c}']).all(|line| line.len() <= 132), "{sheet}");
        assert_snapshot!(format!("sheet_{}", entry.name), sheet.replace('\u{c}', "<form feed>\n"));
        let document: serde_json::Value = serde_json::from_str(&(entry.json)(&design).unwrap()).unwrap();
        for picture in document["pictures"].as_array().unwrap() {
            let lines = picture["lines"].as_array().unwrap();
            for thing in picture["things"].as_array().unwrap() {
                assert!(usize::try_from(thing["line"].as_u64().unwrap()).unwrap() < lines.len());
            }
        }
    }
}

#[test]
fn a_plan_of_many_fixtures_draws_only_what_it_shows() {
    let mut job = job("cottage");
    let run = &mut job.boxes[0].controls[0].loops[0].ceiling;
    for at in 0..10_000_u32 {
        let mut more = run[0].clone();
        more.id = Id::new(&format!("many-{at}")).unwrap();
        let text = |feet: u32| length(&format!("{feet} ft"));
        more.place = Some(Place { x: text(at % 200), y: text(at / 200), height: None });
        run.push(more);
    }
    let design = Design::derive(job);
    let plan = Plan::new(&design, 0);
    let view =
        Viewport { scale: Scale::of_ticks(length("1 ft").ticks()), left: 0, top: -20, width: 80, height: 24 };
    let picture = plan.draw(view, LengthUnit::Feet, LineSet::Ascii);
    let things = picture.anchors.iter().filter(|anchor| anchor.subject.kind == Kind::Fixture).count();
    assert!(things > 1000 && things < 4000, "{things}");
    // Every column holds a fixture, two of them where a line stands for two feet.
    let (columns, lines) = view.inner();
    assert!(things >= usize::from(columns) * usize::from(lines.min(10)), "{things}");
}
