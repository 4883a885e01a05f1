//! The fast ways in: the table of rooms, proposals, copies, moves, take over and delete.

use crate::support::{STARTER, project, snapshots};
use insta::assert_snapshot;
use proptest::prelude::*;
use serde_json::json;
use studbay::intake;
use studbay::job::edit::{Edit, apply};
use studbay::job::wiring::{CeilingBox, Loop, Source};
use studbay::job::{Id, Job, Kind, Subject, read, write};
use studbay::plan::delete::{delete, dependents};
use studbay::plan::light::{cavity_ratio, illuminance_lux, lights_needed, whole_lights};
use studbay::plan::propose::{Basis, propose, propose_split};
use studbay::plan::repeat::{Offset, repeat};
use studbay::plan::takeover::{What, start_from, take_over};
use studbay::plan::transfer::{fill, fill_down, move_to};

const FOOT: i64 = 3_048_000;

fn id(text: &str) -> Id {
    Id::new(text).unwrap()
}

fn starter() -> Job {
    read::from_str("starter", STARTER).unwrap().0
}

fn sample(name: &str) -> Job {
    let text = std::fs::read_to_string(project("sample-jobs").join(name)).unwrap();
    read::from_str(name, &text).unwrap().0
}

fn samples() -> Vec<Job> {
    let names = ["apartment-block", "cottage", "large-house", "two-story", "usual-mistakes"];
    names.iter().map(|name| sample(&format!("{name}.ron"))).collect()
}

/// Applies an edit, and shows that it is undone and that the job still reads.
fn done(job: &Job, edit: Edit) -> Job {
    let mut after = job.clone();
    let inverse = apply(&mut after, edit).unwrap();
    let mut back = after.clone();
    apply(&mut back, inverse).unwrap();
    assert_eq!(&back, job, "an edit is taken back whole");
    let text = write::to_string(&after).unwrap();
    assert_eq!(read::from_str("after", &text).unwrap().0, after);
    after
}

fn loops(job: &Job) -> impl Iterator<Item = &Loop> {
    job.boxes.iter().flat_map(|b| &b.controls).flat_map(|c| &c.loops)
}

fn lights(job: &Job) -> impl Iterator<Item = &CeilingBox> {
    loops(job).flat_map(|l| &l.ceiling)
}

/// A house with the catalogue of a job, one panel in a utility room, and nothing else.
fn bare(other: &Job) -> Job {
    let mut job = start_from(other);
    let level = json!({"id": "L1", "name": "Main floor", "elevation": "0'0",
        "rooms": [{"id": "utility", "name": "Utility", "ceiling": "9'0"}]});
    let panel = json!({"id": "P1", "name": "Panel", "room": "utility", "slots": 40,
        "place": {"x": "2'0", "y": "3'0", "height": "5'0"}});
    let insert = |kind, value| Edit::Insert { kind, parent: None, at: 0, value };
    let edit = Edit::Together(vec![insert(Kind::Level, level), insert(Kind::Panel, panel)]);
    apply(&mut job, edit).unwrap();
    job
}

#[test]
fn worked_examples_of_the_lumen_method() {
    let close = |got: Option<f64>, want: f64, half_digit: f64| {
        let got = got.unwrap();
        assert!((got - want).abs() <= half_digit, "{got} is not {want}");
    };
    // Theraja and Theraja, A Textbook of Electrical Technology, vol. III, ch. 49.
    // Example 49.20, p. 1919: 8 x 12 m, 15 lamps of 1600 lm, 100 lx; the coefficient of utilization is 0.4.
    close(illuminance_lux(15.0, 1600.0, 0.4, 1.0, 8.0 * 12.0), 100.0, 0.5);
    // Example 49.21, p. 1919: 30 x 10 m, 250 lx, 0.4, depreciation 0.9, 300 W at 14 lm/W; 49.60, taken as 50.
    close(lights_needed(250.0, 30.0 * 10.0, 300.0 * 14.0, 0.4, 0.9), 49.60, 0.005);
    assert_eq!(lights_needed(250.0, 300.0, 4200.0, 0.4, 0.9).and_then(whole_lights), Some(50));
    // Example 49.24, p. 1920: 120 x 40 m, 60 lx, 0.5, depreciation 1.2 as a divisor, 40 W at 45 lm/W; 384 tubes.
    close(lights_needed(60.0, 120.0 * 40.0, 40.0 * 45.0, 0.5, 1.0 / 1.2), 384.0, 0.5);
    assert_eq!(lights_needed(60.0, 4800.0, 1800.0, 0.5, 1.0 / 1.2).and_then(whole_lights), Some(384));
    // Example 49.25, p. 1920: 30 x 20 m, 144 lx, 0.6, 0.75; 24 lamps of 500 W at 16 lm/W, and of 300 W at 13 lm/W an
    // exact 49.23, which the book rounds to 49 and a design must round up.
    close(lights_needed(144.0, 30.0 * 20.0, 500.0 * 16.0, 0.6, 0.75), 24.0, 0.5);
    close(lights_needed(144.0, 600.0, 300.0 * 13.0, 0.6, 0.75), 49.23, 0.005);
    assert_eq!(lights_needed(144.0, 600.0, 3900.0, 0.6, 0.75).and_then(whole_lights), Some(50));
    // Example 49.26, p. 1920: 60 x 15 m, 100 lx, 0.4, 1.2, 16 lm/W; 16875 W in 36 lamps, 500 W each.
    let watts = lights_needed(100.0, 60.0 * 15.0, 16.0, 0.4, 1.0 / 1.2);
    close(watts, 16_875.0, 0.5);
    // Chakrabarti and Soni, A Text Book on Power System Engineering, example 4.4.8, p. 758.
    close(illuminance_lux(20.0, 500.0 * 15.0, 0.7, 0.5, 36.6 * 15.25), 94.1, 0.05);
    // Gordon, Interior Lighting for Designers: a room of 40 x 15 ft, lights 9.5 ft above the work plane.
    close(cavity_ratio(9.5, 40.0, 15.0), 4.35, 0.005);
    close(cavity_ratio(2.5, 40.0, 15.0), 1.15, 0.006);
    for bad in [0.0, -1.0, f64::NAN, f64::INFINITY] {
        assert_eq!(lights_needed(100.0, 10.0, bad, 0.5, 0.8), None);
        assert_eq!(illuminance_lux(bad, 500.0, 0.5, 0.8, 10.0), None);
        assert_eq!(cavity_ratio(bad, 4.0, 4.0), None);
    }
}

fn roomed(fields: serde_json::Value) -> Job {
    let mut job = starter();
    let parent = Some(Subject::new(Kind::Level, "L1"));
    apply(&mut job, Edit::Insert { kind: Kind::Room, parent, at: 9, value: fields }).unwrap();
    job
}

#[test]
fn a_room_proposes_its_lights() {
    // Common practice, no source: 160 ft2 takes four lights of 6 W and 300 ft2 eight.
    for (area, want) in [("160 ft2", 4), ("300 ft2", 8), ("20 ft2", 1)] {
        let job = roomed(json!({"id": "den", "area": area}));
        let proposal = propose(&job, &id("den"), &id("down-6"), &id("dim-10")).unwrap();
        assert_eq!(proposal.lights, want, "{area}");
        assert!(matches!(proposal.basis, Basis::Area { .. }));
        assert_eq!((proposal.wall_boxes, proposal.controls_each, proposal.loops_each), (1, 1, 1));
        assert_eq!(proposal.places(&job), None, "no size, no places");
    }
    // 100 lx on 20 x 15 ft with lights of 550 lm: 100 * 27.871 / (550 * 0.6 * 0.8) = 10.56, so eleven, and a dimmer
    // that takes ten: two of them. 66 W and 1 W of their own are within 80 % of 96 W.
    let job =
        roomed(json!({"id": "den", "name": "Den", "width": "20 ft", "depth": "15 ft", "ceiling": "9 ft",
        "corner": {"x": "10 ft", "y": "0 ft"}, "illuminance": "100 lx"}));
    let proposal = propose(&job, &id("den"), &id("down-6"), &id("dim-10")).unwrap();
    assert!(matches!(proposal.basis, Basis::Lumens { exact, .. } if (exact - 10.557).abs() < 1e-3));
    assert_eq!((proposal.lights, proposal.wall_boxes, proposal.controls_each), (11, 1, 2));
    assert!(proposal.lux(&job).is_some_and(|lux| (100.0..110.0).contains(&lux)));
    assert!(proposal.notes(&job).is_empty(), "{:?}", proposal.notes(&job));
    let after = done(&job, proposal.edit(&job).unwrap());
    let den = after.boxes.last().unwrap();
    assert_eq!((den.id.as_str(), den.name.as_str(), den.controls.len()), ("D1", "Den", 2));
    assert_eq!(den.feeds[0].from, Source::Panel(id("P1")));
    let sizes: Vec<usize> = den.controls.iter().flat_map(|c| &c.loops).map(|l| l.ceiling.len()).collect();
    assert_eq!(sizes, [6, 5]);
    assert!(den.controls.iter().flat_map(|c| &c.loops).flat_map(|l| &l.ceiling).all(|l| l.place.is_some()));

    // Changed before it is taken: what it breaks is said.
    let mut changed = proposal.clone();
    (changed.controls_each, changed.lights) = (1, 14);
    let notes = changed.notes(&job);
    assert!(notes[0].contains("14 lights on a control that takes 10"), "{notes:?}");
    assert!(notes[1].contains("84.5 W at a wall box, more than the 76.8 W"), "{notes:?}");
    changed.loops_each = 15;
    assert!(changed.edit(&job).unwrap_err().to_string().contains("cannot be dealt over 15 loops"));

    // Six controls of ten 6 W lights are 360 W: not one home run.
    let split = propose_split(&job, &id("den"), &id("down-6"), &id("dim-10"), 60).unwrap();
    assert_eq!((split.wall_boxes, split.controls_each), (5, 2));
    let none = propose(&roomed(json!({"id": "den"})), &id("den"), &id("down-6"), &id("dim-10"));
    assert!(none.unwrap_err().to_string().contains("neither area nor width"));
}

#[test]
fn spacing_is_held_against_the_mounting_height() {
    // Gordon, Interior Lighting for Designers, figure 13.15: spacing criterion 1.5, ceiling 8 ft, work plane 2.5 ft:
    // mounting height 5.5 ft, spacing 8.25 ft.
    let at = |width: &str| {
        let room = json!({"id": "den", "width": width, "depth": "8 ft", "ceiling": "8 ft"});
        let job = roomed(room);
        propose_split(&job, &id("den"), &id("down-6"), &id("dim-10"), 4).unwrap().notes(&job)
    };
    assert_eq!(at("33 ft"), Vec::<String>::new());
    assert!(at("33'1").iter().any(|note| note.contains("are more than 8'3")), "{:?}", at("33'1"));
}

const ROOMS: &str = "\
level,elevation,room,width,depth,ceiling,x,y,box,box_x,box_y,box_height,control,control_name,lights,fixture,loops,path,lights_in
Main floor,0 ft,Kitchen,20 ft,15 ft,9 ft,10 ft,0,Kitchen door,12 ft,4 ft,4 ft,dim-10,Ceiling,8,down-6,2,capped,
,,Kitchen,,,,,,Kitchen door,,,,dim-10,Pantry,1,,,,Pantry
,,Pantry,4 ft,6 ft,9 ft,30 ft,0,,,,,,,,,,,
,,\"Hall, front\",6',12'6,9 ft,,,,,,,dim-10,,propose,down-6,,,
Upper floor,10 ft,Bedroom 2,12 ft,12 ft,8 ft,,,Door,,,,dim-10,,,3 down-6 + 1 none,1,returned,
,,=cmd,,,,,,,,,,,,,,,,
";

#[test]
fn a_table_of_rooms_makes_them_and_is_written_the_same() {
    let job = bare(&starter());
    let taken = intake::read(&job, ROOMS).unwrap();
    let made = taken.made;
    assert_eq!((made.levels, made.rooms, made.wall_boxes, made.controls), (1, 5, 3, 4));
    assert_eq!((made.home_runs, made.loops, made.lights), (3, 5, 15));
    let after = done(&job, taken.edit);
    let ids: Vec<&str> = after.boxes.iter().map(|b| b.id.as_str()).collect();
    assert_eq!(ids, ["K1", "HF1", "B2-1"]);
    let pantry = lights(&after).find(|l| l.id.as_str() == "P-1").unwrap();
    assert_eq!(pantry.room, Some(id("pantry")));
    assert!(pantry.place.is_some(), "one light in the middle of the pantry");
    let written = intake::write(&after).unwrap();
    let _guard = snapshots("intake").bind_to_scope();
    assert_snapshot!("written", format!("{}\nnot in it: {}", written.csv, written.left_out.join("; ")));
    // Into a job with the same catalogue and panel it makes the same house again, and the same table of it.
    let again = done(&job, intake::read(&job, &written.csv).unwrap().edit);
    assert_eq!(intake::write(&again).unwrap().csv, written.csv);
    assert_eq!(again.levels, after.levels);
    assert_eq!(loops(&again).count(), loops(&after).count());
    // Once more into the same job it makes nothing twice.
    let twice = intake::read(&after, &written.csv).unwrap_err().to_string();
    assert!(twice.contains("row 3, column 'box': the wall box 'Kitchen door' is in this room"), "{twice}");
    // As pasted from a spreadsheet.
    let tabs = written.csv.replace("\"Hall, front\"", "Hall; front").replace(',', "\t").replace('\n', "\r\n");
    assert_eq!(intake::read(&job, &tabs).unwrap().made, made);
}

#[test]
fn every_sample_job_goes_out_and_in_again() {
    for job in samples() {
        let first = intake::write(&job).unwrap();
        // The panels stand in rooms, so a job to read it into has its levels and rooms, and no wiring.
        let mut empty = job.clone();
        (empty.boxes, empty.groups) = (Vec::new(), Vec::new());
        let taken =
            intake::read(&empty, &first.csv).map_err(|e| format!("{}: {e}", job.project.title)).unwrap();
        let after = done(&empty, taken.edit);
        assert_eq!(intake::write(&after).unwrap().csv, first.csv, "{}", job.project.title);
        assert_eq!(lights(&after).count(), lights(&job).count());
        assert_eq!(loops(&after).count(), loops(&job).count());
    }
}

#[test]
fn each_flaw_of_a_table_is_named_by_row_and_column() {
    let job = bare(&sample("two-story.ron"));
    let mut said = String::new();
    for (name, table) in [
        ("empty", ""),
        ("no room column", "level,area\nMain floor,12"),
        ("headings", "room,arae,area,Area,colour of the walls\nDen,1,2,3,4"),
        ("under no heading", "room\nDen,12"),
        (
            "figures",
            "level,room,area,width,depth,ceiling,x,illuminance,box_x,box_height,lights,loops,path\n\
             Main floor,Den,12 acres,wide,0,-9 ft,3 ft,bright,2 ft,4 ft,many,2.5,around\n\
             ,Hall,500 ft2,10 ft,10 ft,9 ft,,,,4 ft,,,\n",
        ),
        (
            "parts",
            "room,box_type,from,home_run,control,lights,fixture,loops,loop_cable,lights_in\n\
             A,gang,P9,18-6,dim-13,4,down-7,,,\n\
             B,,PS1.1,18-5,same,4,down-6,,,\n\
             C,,none,18-5,dim-12,4,3 down-6,5,,Attic\n\
             D,,,,,4,down-6,,,\n\
             E,,,,dim-12,4,,,,\n\
             F,,,,dim-12,2,down-6,3,,\n\
             G,,,,dim-12,2,down-6 + down-4,,,\n\
             H,,,,dim-12,propose,down-6,,,\n\
             I,,,,dim-12,501,down-6,,,\n",
        ),
        (
            "said twice",
            "room,area,box_type\nDen,160 ft2,wall-1\nden,170,wall-2\nUtility,60 ft2,none\nUtility,61 ft2,\n",
        ),
        ("no room", "room,lights\n,4"),
        ("level", "level,room\n,Den\nAttic,Den\n"),
    ] {
        let job = if name == "level" { start_from(&job) } else { job.clone() };
        let error = intake::read(&job, table).map(|taken| taken.made).expect_err(name);
        said.push_str(&format!("{name}\n{error}\n\n"));
    }
    let _guard = snapshots("errors").bind_to_scope();
    assert_snapshot!("rooms", said.trim_end());
}

#[test]
fn a_table_keeps_within_its_limits() {
    let job = bare(&starter());
    let many: String =
        std::iter::once("room\n".to_owned()).chain((0..5_001).map(|n| format!("R{n}\n"))).collect();
    assert!(intake::read(&job, &many).unwrap_err().to_string().contains("more than 5000 rows"));
    let long = format!("room\n{}\n", "x".repeat(401));
    assert!(intake::read(&job, &long).unwrap_err().to_string().contains("longer than 400"));
    let huge = " ".repeat(intake::MOST_BYTES + 1);
    assert!(intake::read(&job, &huge).unwrap_err().to_string().contains("bytes"));
    let wide = format!("room{}\n", ",".repeat(300));
    assert!(intake::read(&job, &wide).unwrap_err().to_string().contains("columns"));
}

#[test]
fn a_house_of_10_rooms_12_runs_and_60_fixtures_is_built_from_a_table_and_edits() {
    let mut job = bare(&starter());
    let mut table = String::from(
        "room\twidth\tdepth\tceiling\tx\ty\tbox\tbox_x\tbox_y\tbox_height\tcontrol\tlights\tfixture\n",
    );
    for room in 1..=9 {
        let (x, y) = (room % 3 * 16, 10 + room / 3 * 12);
        table.push_str(&format!(
            "Room {room}\t16 ft\t12 ft\t9 ft\t{x}\t{y}\tDoor {room}\t{}'6\t{y}\t4 ft\tdim-10\t5\tdown-6\n",
            x + 1
        ));
    }
    // The room of the panel is there already, and its size is filled in.
    table.push_str("Utility\t8 ft\t7 ft\t9 ft\t0\t0\t\t\t\t\t\t\t\n");
    job = done(&job, intake::read(&job, &table).unwrap().edit);
    let two = repeat(&job, &Subject::new(Kind::WallBox, "R9-1"), 2, Offset { x: 4 * FOOT, y: 0 }).unwrap();
    job = done(&job, two);
    let mut proposal = propose_split(&job, &id("utility"), &id("down-6"), &id("dim-10"), 5).unwrap();
    let place = json!({"x": "7'6", "y": "3 ft", "height": "4 ft"});
    proposal.box_place = Some(serde_json::from_value(place).unwrap());
    job = done(&job, proposal.edit(&job).unwrap());
    assert_eq!(job.levels.iter().map(|l| l.rooms.len()).sum::<usize>(), 10);
    assert_eq!(job.boxes.iter().map(|b| b.feeds.len()).sum::<usize>(), 12);
    assert_eq!(lights(&job).filter(|l| l.fixture.is_some()).count(), 60);
    let supplies = (1..=3).map(|n| Edit::Insert {
        kind: Kind::Supply,
        parent: Some(Subject::new(Kind::Panel, "P1")),
        at: n,
        value: json!({"id": format!("PS{n}"), "part": "psu-24"}),
    });
    job = done(&job, Edit::Together(supplies.collect()));
    let runs: Vec<Id> = job.boxes.iter().flat_map(|b| &b.feeds).map(|f| f.id.clone()).collect();
    for (nth, run) in runs.iter().enumerate() {
        let value = json!({"Output": format!("PS{}.{}", nth / 4 + 1, nth % 4 + 1)});
        job = done(&job, fill(&job, "from", &value, &[Subject::new(Kind::Cable, run)]).unwrap());
    }
    let design = studbay::design::Design::derive(job);
    let errors: Vec<_> =
        design.findings.iter().filter(|f| f.severity == studbay::checks::Severity::Error).collect();
    assert!(errors.is_empty(), "{errors:?}");
}

#[test]
fn copies_have_new_ids_and_places_and_nothing_measured() {
    let job = sample("two-story.ron");
    let offset = Offset { x: 20 * FOOT, y: 0 };
    let after = done(&job, repeat(&job, &Subject::new(Kind::Room, "bed-2"), 2, offset).unwrap());
    let level = after.levels.iter().find(|l| l.rooms.iter().any(|r| r.id.as_str() == "bed-2")).unwrap();
    let at = level.rooms.iter().position(|r| r.id.as_str() == "bed-2").unwrap();
    let names: Vec<&str> = level.rooms[at..at + 3].iter().map(|r| r.name.as_str()).collect();
    assert_eq!(names, ["Bedroom 2", "Bedroom 5", "Bedroom 6"]);
    let x1 = after.boxes.iter().find(|b| b.id.as_str() == "X1").unwrap();
    let copies: Vec<_> = after.boxes.iter().skip(job.boxes.len()).collect();
    assert_eq!(copies.iter().map(|b| b.id.as_str()).collect::<Vec<_>>(), ["X2", "X3"]);
    assert_eq!(copies[1].controls[0].id.as_str(), "X3a");
    assert_eq!(copies[1].controls[0].loops[0].id.as_str(), "X3a1");
    let moved = copies[1].place.unwrap().x.ticks() - x1.place.unwrap().x.ticks();
    assert_eq!(moved, 40 * FOOT);
    assert!(matches!(copies[0].feeds[0].from, Source::Panel(_)), "a copy loads no output");
    assert!(copies.iter().all(|b| b.feeds.iter().all(|f| f.measured.is_none())));

    // A loop within its control, and a group whose controls are all copied.
    let run = Subject::new(Kind::Cable, "X1a1");
    let after = done(&job, repeat(&job, &run, 1, offset).unwrap());
    let x1 = after.boxes.iter().find(|b| b.id.as_str() == "X1").unwrap();
    assert_eq!(x1.controls[0].loops[1].id.as_str(), "X1a2");
    let kitchen = job.boxes.iter().find(|b| b.id.as_str() == "K1").unwrap().room.clone();
    let after = done(&job, repeat(&job, &Subject::new(Kind::Room, &kitchen), 1, offset).unwrap());
    assert_eq!(after.groups.len(), job.groups.len() + 1);
    let back = repeat(&job, &run, 1, Offset { x: -100 * FOOT, y: 0 }).unwrap_err().to_string();
    assert!(back.contains("would stand left of or below"), "{back}");
    assert!(repeat(&job, &Subject::new(Kind::Panel, "P1"), 1, offset).is_err());
    assert!(repeat(&job, &run, 100_000, offset).is_err());
}

#[test]
fn things_move_with_their_ids() {
    let job = sample("two-story.ron");
    let upper = job.levels.last().unwrap().id.clone();
    let subject = |kind, id: &str| Subject::new(kind, id);
    let go = |what: Subject, to: Subject| move_to(&job, &what, &to, usize::MAX);
    let after = done(&job, go(subject(Kind::Room, "kitchen"), Subject::new(Kind::Level, &upper)).unwrap());
    assert_eq!(after.levels.last().unwrap().rooms.last().unwrap().id.as_str(), "kitchen");
    // A loop to a control in another room: its lights still hang where they did.
    let after = done(&job, go(subject(Kind::Cable, "X1a1"), subject(Kind::Control, "Y1a")).unwrap());
    let y1 = after.boxes.iter().find(|b| b.id.as_str() == "Y1").unwrap();
    assert_eq!(y1.controls[0].loops[1].id.as_str(), "X1a1");
    assert!(y1.controls[0].loops[1].ceiling.iter().all(|l| l.room == Some(id("bed-2"))));
    let after = done(&job, go(subject(Kind::Fixture, "X-1"), subject(Kind::Cable, "Y1a1")).unwrap());
    assert_eq!(lights(&after).count(), lights(&job).count());
    done(&job, move_to(&job, &subject(Kind::Fixture, "X-1"), &subject(Kind::Cable, "X1a1"), 2).unwrap());
    for (what, to) in [
        (subject(Kind::Room, "kitchen"), subject(Kind::WallBox, "X1")),
        (subject(Kind::Fixture, "X-1"), subject(Kind::Cable, "HR24")),
        (subject(Kind::Cable, "HR24"), subject(Kind::Control, "Y1a")),
        (subject(Kind::Cable, "X1a1"), subject(Kind::WallBox, "Y1")),
    ] {
        let said = go(what, to).unwrap_err().to_string();
        assert!(said.contains("does not belong in"), "{said}");
    }
}

#[test]
fn a_value_is_filled_down() {
    let job = sample("two-story.ron");
    let marked: Vec<Subject> = ["X-1", "X-2", "Y-1"].map(|id| Subject::new(Kind::Fixture, id)).to_vec();
    let after = done(&job, fill(&job, "fixture", &json!("tune-7"), &marked).unwrap());
    assert_eq!(
        lights(&after).filter(|l| l.fixture == Some(id("tune-7"))).count(),
        3 + lights(&job).filter(|l| l.fixture == Some(id("tune-7"))).count()
    );
    let edit =
        fill_down(&after, "fixture", &[marked[0].clone(), Subject::new(Kind::Fixture, "Z-1")]).unwrap();
    assert!(matches!(&edit, Edit::Together(edits) if edits.len() == 1));
    assert!(fill(&job, "fixture", &json!(null), &[Subject::new(Kind::Fixture, "nobody")]).is_err());
}

#[test]
fn catalogue_and_settings_are_taken_over() {
    let (job, mut other) = (starter(), sample("two-story.ron"));
    other.settings.light.area_per_fixture = "30 ft2".parse().unwrap();
    let taken = take_over(&job, &other, &What::All, false);
    assert_eq!(
        taken.differing,
        [
            Subject::new(Kind::ConductorPlan, "pair"),
            Subject::new(Kind::CableType, "18-5"),
            Subject::new(Kind::CableType, "18-2"),
            Subject::new(Kind::FixtureType, "down-6"),
            Subject::new(Kind::BoxType, "wall-1")
        ]
    );
    let after = done(&job, taken.edit);
    assert_eq!(after.settings, other.settings);
    assert_eq!(after.catalogue.fixtures[0], job.catalogue.fixtures[0], "what differs stays");
    assert!(other.catalogue.fixtures.iter().all(|f| after.catalogue.fixtures.iter().any(|g| g.id == f.id)));
    let replaced = done(&job, take_over(&job, &other, &What::OfKind(Kind::FixtureType), true).edit);
    assert_eq!(replaced.catalogue.fixtures[0], other.catalogue.fixtures[0]);
    // A cable type brings what its conductors do.
    let link = What::These(vec![Subject::new(Kind::CableType, "20-2")]);
    let taken = take_over(&job, &other, &link, false);
    assert_eq!(
        taken.new,
        [Subject::new(Kind::ConductorPlan, "signal"), Subject::new(Kind::CableType, "20-2")]
    );
    done(&job, taken.edit);
    let again = take_over(&other, &other, &What::All, false);
    assert_eq!((again.edit, again.new.len(), again.differing.len()), (Edit::Together(Vec::new()), 0, 0));
    let fresh = start_from(&other);
    assert_eq!((&fresh.catalogue, fresh.boxes.len()), (&other.catalogue, 0));
}

#[test]
fn what_is_deleted_says_what_goes_with_it() {
    let job = sample("two-story.ron");
    let mut said = String::new();
    for (kind, id) in [
        (Kind::FixtureType, "down-6"),
        (Kind::ConductorPlan, "pair"),
        (Kind::Supply, "PS1"),
        (Kind::Panel, "P1"),
        (Kind::Room, "laundry"),
        (Kind::Room, "bed-2"),
        (Kind::Room, "closet-3"),
        (Kind::Level, "L2"),
        (Kind::WallBox, "K1"),
        (Kind::Control, "K2c"),
        (Kind::Control, "K1a"),
        (Kind::Cable, "HR24"),
        (Kind::Cable, "LK01"),
        (Kind::Fixture, "X-1"),
        (Kind::Project, "project"),
    ] {
        let subject = Subject::new(kind, id);
        let Ok(dependents) = dependents(&job, &subject) else { panic!("no {subject}") };
        said.push_str(&format!("{subject}\n"));
        dependents.goes.iter().for_each(|line| said.push_str(&format!("  {line}\n")));
        match delete(&job, &subject) {
            Ok(edit) => {
                let after = done(&job, edit);
                assert_ne!(after, job);
                assert!(dependents.keeps.is_empty());
            }
            Err(error) => said.push_str(&format!("  refused: {error}\n")),
        }
    }
    let _guard = snapshots("intake").bind_to_scope();
    assert_snapshot!("delete", said.trim_end());
}

#[test]
fn whatever_can_be_deleted_leaves_a_sound_job() {
    for job in samples().iter().take(4) {
        let subjects = subjects(job);
        let step = subjects.len() / 60 + 1;
        for subject in subjects.iter().step_by(step) {
            let mut after = job.clone();
            match delete(job, subject) {
                Ok(edit) => assert!(apply(&mut after, edit).is_ok(), "{subject}"),
                Err(error) => assert!(error.to_string().contains("cannot go: "), "{error}"),
            }
        }
    }
}

#[test]
fn whatever_is_copied_or_moved_leaves_a_sound_job() {
    for job in samples().iter().take(4) {
        let subjects = subjects(job);
        let places: Vec<&Subject> = subjects.iter().filter(|s| s.kind == Kind::Cable).collect();
        let step = subjects.len() / 24 + 1;
        let (mut copied, mut moved) = (0, 0);
        for (nth, subject) in subjects.iter().enumerate().step_by(step) {
            if let Ok(edit) = repeat(job, subject, 2, Offset { x: FOOT, y: 7 }) {
                assert!(apply(&mut job.clone(), edit).is_ok(), "{subject}");
                copied += 1;
            }
            let to = places[nth * 7 % places.len()];
            if let Ok(edit) = move_to(job, subject, to, nth % 3) {
                let mut after = job.clone();
                apply(&mut after, edit).unwrap();
                assert_eq!(lights(&after).count(), lights(job).count());
                moved += 1;
            }
        }
        assert!(copied > 2 && moved > 2, "{copied} copied, {moved} moved");
    }
}

fn subjects(job: &Job) -> Vec<Subject> {
    let index = studbay::job::Index::new(job).0;
    let kinds = [
        Kind::CableType,
        Kind::ConductorPlan,
        Kind::FixtureType,
        Kind::SupplyType,
        Kind::ControlType,
        Kind::BoxType,
        Kind::Meter,
        Kind::Level,
        Kind::Room,
        Kind::Panel,
        Kind::Supply,
        Kind::WallBox,
        Kind::Control,
        Kind::Cable,
        Kind::Fixture,
        Kind::Group,
    ];
    let mut all: Vec<Subject> =
        kinds.iter().flat_map(|kind| index.ids(*kind).map(|id| Subject::new(*kind, id))).collect();
    all.sort();
    all
}

/// A cell of a table that may be anything, often something that means something.
fn cell() -> impl Strategy<Value = String> {
    prop_oneof![
        3 => Just(String::new()),
        4 => proptest::sample::select(vec!["Den", "Hall", "Main floor", "down-6", "dim-10", "4", "2", "12 ft", "160 ft2",
            "same", "none", "propose", "P1", "PS1.1", "18-5", "18-2", "3 down-6 + 1 none", "wall-1", "capped"])
            .prop_map(String::from),
        1 => "\\PC{0,12}",
        1 => "[=+@'\"\t\n,;-]{1,4}[a-z]{0,3}",
    ]
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(200))]

    #[test]
    fn hostile_tables_never_panic(text in "[\\PC\n\t,;\"]{0,200}") {
        let job = bare(&starter());
        let _ = intake::read(&job, &text);
        let _ = intake::read(&job, &format!("level,room,box,lights,fixture,control\n{text}"));
    }

    #[test]
    fn what_a_table_makes_is_written_and_read_the_same(
        rows in proptest::collection::vec((cell(), cell(), cell(), cell(), cell(), cell()), 1..12),
    ) {
        let job = bare(&starter());
        let mut writer = csv::Writer::from_writer(Vec::new());
        writer.write_record(["level", "room", "box", "control", "lights", "fixture"]).unwrap();
        for (level, room, wall_box, control, lights, fixture) in &rows {
            writer.write_record([level, room, wall_box, control, lights, fixture]).unwrap();
        }
        let table = String::from_utf8(writer.into_inner().unwrap()).unwrap();
        let Ok(taken) = intake::read(&job, &table) else { return Ok(()) };
        let after = done(&job, taken.edit);
        let first = intake::write(&after).unwrap().csv;
        for line in first.lines() {
            for risky in ["=", "+", "@", ",=", ",+", ",@"] {
                prop_assert!(!line.starts_with(risky) || risky.starts_with(','));
                prop_assert!(!risky.starts_with(',') || !line.contains(risky) || line.contains('"'), "{line}");
            }
        }
        let again = intake::read(&job, &first).map_err(|e| TestCaseError::fail(format!("{e}\n{first}")))?;
        let again = done(&job, again.edit);
        prop_assert_eq!(intake::write(&again).unwrap().csv, first);
    }

    #[test]
    fn hostile_names_go_out_and_in_again(names in proptest::collection::vec("\\PC{0,8}", 6)) {
        let mut job = bare(&starter());
        for (nth, name) in names.iter().enumerate() {
            let value = json!({"id": format!("r{nth}"), "name": name});
            let parent = Some(Subject::new(Kind::Level, "L1"));
            apply(&mut job, Edit::Insert { kind: Kind::Room, parent, at: 99, value }).unwrap();
        }
        let first = intake::write(&job).unwrap().csv;
        let mut empty = start_from(&job);
        let taken = intake::read(&empty, &first).map_err(|e| TestCaseError::fail(e.to_string()))?;
        apply(&mut empty, taken.edit).unwrap();
        prop_assert_eq!(intake::write(&empty).unwrap().csv, first);
    }
}
