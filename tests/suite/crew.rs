//! What the crew works from: cables by part of the house, tags, rough-in and trim by room, the card in the panel door.

use crate::cli::{drive, folder_with};
use crate::support::{SAMPLES, STARTER, design_with, project, sample};
use jiff::civil::date;
use serde_json::json;
use std::collections::{BTreeMap, BTreeSet};
use studbay::design::Design;
use studbay::job::edit::{Edit, apply};
use studbay::job::wiring::Loop;
use studbay::job::{Kind, Subject};
use studbay::plan::repeat::{Offset, repeat};
use studbay::plan::tags::store;
use studbay::schedule::narrow::Narrow;
use studbay::schedule::{cables, directory, rough_in, tags, trim};
use studbay::sheets::{Heading, Paper, text};

fn heading(design: &Design) -> Heading {
    Heading::of(&design.job.project, date(2026, 3, 9))
}

fn narrow(design: &Design, level: Option<&str>, panel: Option<&str>, cable: Option<&str>) -> Narrow {
    Narrow::typed(&design.job, level, panel, cable).unwrap()
}

#[test]
fn parts_of_a_house_make_up_its_cable_schedule() {
    for name in SAMPLES {
        let design = sample(name);
        let tags = |narrow: &Narrow| -> Vec<String> {
            cables::document_of(&design, narrow).cables.into_iter().map(|cable| cable.tag).collect()
        };
        let whole: BTreeSet<String> = tags(&Narrow::ALL).into_iter().collect();
        let job = &design.job;
        let by_level =
            job.levels.iter().flat_map(|e| tags(&narrow(&design, Some(e.id.as_str()), None, None)));
        let by_cable =
            job.catalogue.cables.iter().flat_map(|e| tags(&narrow(&design, None, None, Some(e.id.as_str()))));
        for (of, parts) in [("level", by_level.collect::<Vec<_>>()), ("cable", by_cable.collect())] {
            assert_eq!(parts.len(), whole.len(), "{name} by {of}: a cable is on two sheets or on none");
            assert_eq!(parts.into_iter().collect::<BTreeSet<_>>(), whole, "{name} by {of}");
        }
        let by_panel: Vec<String> =
            job.panels.iter().flat_map(|e| tags(&narrow(&design, None, Some(e.id.as_str()), None))).collect();
        assert_eq!(by_panel.iter().collect::<BTreeSet<_>>().len(), by_panel.len(), "{name}: on two panels");
        let fed: BTreeSet<&str> = design.network.runs.iter().map(|run| run.id.as_str()).collect();
        assert!(
            fed.iter().all(|run| by_panel.iter().any(|tag| tag == run)),
            "{name}: a home run of no panel"
        );
    }
}

#[test]
fn estimated_and_pulled_lengths_stand_apart() {
    let estimated = design_with(&[]);
    let pulled = design_with(&[(
        "from: Output(\"PS1.1\"), cable: \"18-5\"",
        "from: Output(\"PS1.1\"), cable: \"18-5\", measured: \"80'0\", \
         site: (start_mark: \"412'0\", end_mark: \"340'8\")",
    )]);
    let (before, after) = (cables::document(&estimated), cables::document(&pulled));
    let (before, after) = (&before.cables[0], &after.cables[0]);
    assert!(before.estimated_ft.is_some() && before.estimated_ft == before.length_ft, "{before:?}");
    assert_eq!(before.pulled_ft, None);
    assert_eq!(after.estimated_ft, before.estimated_ft, "what was pulled changes no estimate");
    assert_eq!(after.pulled_ft, after.length_ft);
    // The difference of the foot marks, 412 ft less 340 ft 8 in, and nothing added to it.
    assert!((after.pulled_ft.unwrap() - (71.0 + 4.0 / 12.0)).abs() < 1e-9);
    assert_eq!((before.measured_ft, after.measured_ft), (None, Some(80.0)));
    let sheet = text::print(&heading(&pulled), &[cables::table(&pulled, true)], Paper::default());
    assert!(
        sheet.contains("71'4")
            && sheet.contains("80'0")
            && sheet.contains("_______")
            && sheet.contains("pulled"),
        "{sheet}"
    );
}

#[test]
fn the_card_of_a_panel_fits_one_page() {
    for name in SAMPLES {
        let design = sample(name);
        for panel in &design.job.panels {
            let one = narrow(&design, None, Some(panel.id.as_str()), None);
            let card = text::print(&heading(&design), &directory::tables_of(&design, &one), Paper::default());
            assert_eq!(card.split('\u{c}').count(), 1, "{name} {}: {card}", panel.id);
            let all = design.study.outputs.iter().filter(|output| output.panel.same(&panel.id));
            for run in all.flat_map(|output| &output.runs) {
                assert!(card.contains(design.network.runs[*run].id.as_str()), "{name} {}: {card}", panel.id);
            }
        }
    }
}

#[test]
fn a_part_that_is_not_there_is_refused() {
    let cottage = std::fs::read(project("sample-jobs/cottage.ron")).unwrap();
    let folder = folder_with(&[("cottage.ron", &cottage)]);
    for (args, said) in [
        (&["--level", "attic"][..], "there is no level 'attic'; there are: main"),
        (&["--panel", "P9"], "there is no panel 'P9'; there are: P1"),
        (&["--cable", "18-7"], "there is no cable type '18-7'; there are: 18-5, 18-2, 20-2"),
    ] {
        let text = drive(folder.path(), &[&["sheet", "cables", "DIR/cottage.ron"], args].concat());
        assert!(text.contains(said) && text.ends_with("exit 2"), "{text}");
    }
    let text = drive(folder.path(), &["sheet", "loading", "DIR/cottage.ron", "--panel", "P1"]);
    assert!(text.contains("takes no --panel; cables and directory can"), "{text}");
    let text = drive(folder.path(), &["sheet", "cables", "DIR/cottage.ron", "--level", "main floor"]);
    assert!(text.contains("Only level main Main floor.") && text.ends_with("exit 0"), "{text}");
}

/// The job after an edit, derived anew.
fn after(design: &Design, edit: Edit) -> Design {
    let mut job = design.job.clone();
    apply(&mut job, edit).unwrap();
    Design::derive(job)
}

#[test]
fn flags_are_short_unique_and_two_for_each_cable() {
    for name in SAMPLES {
        let design = sample(name);
        let sheet = tags::document(&design);
        let mut seen = BTreeSet::new();
        for flag in &sheet.flags {
            assert!(flag.flag.len() <= 12 && flag.beneath.iter().all(|line| line.len() <= 16), "{flag:?}");
            assert!(seen.insert(flag.flag.to_lowercase()), "{name}: '{}' is on two flags", flag.flag);
        }
        let job = &design.job;
        let loops: Vec<_> = job.boxes.iter().flat_map(|b| &b.controls).flat_map(|c| &c.loops).collect();
        let cables: usize = job.boxes.iter().map(|b| b.feeds.len()).sum::<usize>()
            + job.groups.iter().map(|g| g.links.len()).sum::<usize>();
        // A loop has an end at its control and two at each ceiling box; where it ends it has one fewer, where it comes
        // back one more. That comes to two ends for each leg.
        let legs =
            |run: &&Loop| run.ceiling.len() + usize::from(run.path.returns() && !run.ceiling.is_empty());
        let of_loops: usize = loops.iter().map(|run| (2 * legs(run)).max(1)).sum();
        assert_eq!(sheet.flags.len(), 2 * cables + of_loops, "{name}");
        for run in loops.iter().filter(|run| run.path.returns()) {
            for ceiling in &run.ceiling {
                let at: Vec<&str> =
                    sheet.flags.iter().filter(|f| f.at == ceiling.id.as_str()).map(|f| f.end).collect();
                assert_eq!(at, ["IN", "OUT"], "{name} {}", ceiling.id);
            }
        }
    }
}

#[test]
fn a_stored_tag_outlives_whatever_comes_and_goes() {
    let design = sample("cottage");
    let stored = after(&design, store(&design.job).unwrap());
    assert_eq!(store(&stored.job), None, "there is nothing left to store");
    let flags = |design: &Design| -> BTreeMap<(String, String, &'static str), String> {
        let flags = tags::document(design).flags.into_iter();
        flags.map(|f| ((f.cable, f.at, f.end), f.flag)).collect()
    };
    let before = flags(&stored);
    // A room with a wall box whose ids take a tag that stands on another thing's flags already.
    let room = json!({"id": "attic", "name": "Attic"});
    let level = Some(Subject::new(Kind::Level, "main"));
    let with_room = after(&stored, Edit::Insert { kind: Kind::Room, parent: level, at: 0, value: room });
    let wall_box = json!({"id": "T1", "name": "Attic door", "room": "attic",
        "feeds": [{"id": "L-1", "from": {"Output": "PS1.1"}, "cable": "18-5"}],
        "controls": [{"id": "T1a", "part": "dim-12", "loops": [{"id": "attic-lights-of-the-north", "cable": "18-2",
            "path": "OneWay", "ceiling": [{"id": "L1a1", "fixture": "down-6"}, {"id": "HR01", "fixture": "down-6"}]}]}]});
    let insert = Edit::Insert { kind: Kind::WallBox, parent: None, at: 0, value: wall_box };
    let mut with_box = after(&with_room, insert);
    let now = flags(&with_box);
    for (end, flag) in &before {
        assert_eq!(now.get(end), Some(flag), "{end:?} was renumbered");
    }
    assert_eq!(now.len(), before.len() + 2 + 1 + 3);
    let added: BTreeSet<&String> = now.values().filter(|flag| !before.values().any(|b| b == *flag)).collect();
    let expected = ["ALO1 OUT", "H1 IN", "L1 IN", "L1 OUT", "L2 IN", "L2 OUT"];
    assert_eq!(added.len(), expected.len(), "{added:?}");
    // Stored and written, read back, and with things taken away and put elsewhere it is still so.
    with_box = after(&with_box, store(&with_box.job).unwrap());
    let text = studbay::job::write::to_string(&with_box.job).unwrap();
    let (read, _) = studbay::job::read::from_str("job", &text).unwrap();
    assert_eq!(flags(&Design::derive(read)), flags(&with_box));
    let without = after(&with_box, Edit::Remove { subject: Subject::new(Kind::WallBox, "K1") });
    let left = flags(&without);
    assert!(left.len() < now.len() && left.iter().all(|(end, flag)| flags(&with_box).get(end) == Some(flag)));
}

#[test]
fn two_things_never_have_one_tag() {
    let two = STARTER.replace("cable: \"18-5\"", "cable: \"18-5\", tag: \"A1\"").replacen(
        "path: ",
        "tag: \"a1\", path: ",
        1,
    );
    let error = studbay::job::read::from_str("house.ron", &two).unwrap_err().to_string();
    assert!(error.contains("the tag 'a1' of cable") && error.contains("house.ron:"), "{error}");
    // An edit that would make it so is refused, and a copy has none.
    let design = sample("cottage");
    let mut stored = after(&design, store(&design.job).unwrap()).job;
    let subject = Subject::new(Kind::Fixture, "L-1");
    let set = Edit::Set { subject, field: "tag".into(), value: json!("HR01") };
    let refused = apply(&mut stored, set).unwrap_err().to_string();
    assert!(refused.contains("the tag 'HR01'"), "{refused}");
    let living = Subject::new(Kind::Room, "living");
    let copy = repeat(&stored, &living, 1, Offset::default()).unwrap();
    let tags_before = write_tags(&stored);
    apply(&mut stored, copy).unwrap();
    assert_eq!(write_tags(&stored), tags_before);
}

fn write_tags(job: &studbay::job::Job) -> usize {
    studbay::job::write::to_string(job).unwrap().matches("tag: ").count()
}

#[test]
fn flags_are_stored_by_their_first_print() {
    let cottage = std::fs::read(project("sample-jobs/cottage.ron")).unwrap();
    let folder = folder_with(&[("cottage.ron", &cottage)]);
    let read = || std::fs::read_to_string(folder.path().join("cottage.ron")).unwrap();
    let plain = drive(folder.path(), &["sheet", "tags", "DIR/cottage.ron", "--date", "2026-03-09"]);
    assert!(plain.contains("tags are NOT STORED yet") && plain.contains("--write"), "{plain}");
    assert_eq!(read().as_bytes(), cottage, "a print without --write changes nothing");
    let written = drive(folder.path(), &["sheet", "tags", "DIR/cottage.ron", "--write", "--as", "csv"]);
    assert!(
        written.contains("tags are stored in DIR/cottage.ron now") && written.ends_with("exit 0"),
        "{written}"
    );
    assert!(read().contains("tag: \"HR01\"") && !written.contains(",no\n"), "{written}");
    let once = read();
    let again = drive(folder.path(), &["sheet", "tags", "DIR/cottage.ron", "--write"]);
    assert!(!again.contains("NOT STORED") && !again.contains("now"), "{again}");
    assert_eq!(read(), once);
    let refused = drive(folder.path(), &["sheet", "cables", "DIR/cottage.ron", "--write"]);
    assert!(refused.contains("stores nothing") && refused.ends_with("exit 2"), "{refused}");
}

#[test]
fn what_nobody_entered_is_a_blank_on_the_rough_in_and_never_zero() {
    let design = sample("large-house");
    let sheet = text::print(&heading(&design), &[rough_in::table(&design)], Paper::default());
    assert!(sheet.contains("framing _____, board _____"), "{sheet}");
    assert!(!sheet.contains("board 0") && !sheet.contains("by 0"), "{sheet}");
    let said = rough_in::document(&sample("cottage"));
    let porch = said.rooms.iter().find(|room| room.room == "porch").unwrap();
    // Half an inch was said for the porch; elsewhere a box is flush with the 5/8 in board.
    assert!((porch.box_below_in.unwrap() - 0.5).abs() < 1e-9 && porch.ceiling_kind == Some("deep joists"));
    let bath = said.rooms.iter().find(|room| room.room == "bath").unwrap();
    assert!((bath.box_below_in.unwrap() - 0.625).abs() < 1e-9 && bath.ceiling_kind == Some("flat trusses"));
    // Every ceiling box has its IN and its OUT, each loop's follow each other.
    for name in SAMPLES {
        let design = sample(name);
        let boxes: usize = rough_in::document(&design)
            .rooms
            .iter()
            .flat_map(|room| &room.loops)
            .map(|on| on.ceiling.len())
            .sum();
        let all = design.job.boxes.iter().flat_map(|b| &b.controls).flat_map(|c| &c.loops);
        assert_eq!(boxes, all.map(|run| run.ceiling.len()).sum::<usize>(), "{name}");
    }
}

/// The first box of a string in the large house, with the loop's way back.
fn string_boxes(returns: bool) -> (Design, Vec<String>) {
    let design = sample("large-house");
    let run = design.study.runs(&design.network).flat_map(|run| &run.strings).find_map(|string| {
        let at = string.at;
        let run = &design.job.boxes[at.control.wall_box].controls[at.control.control].loops[at.at];
        (run.path.returns() == returns && run.ceiling.len() > 2).then_some(run)
    });
    let ids = run.unwrap().ceiling.iter().map(|ceiling| ceiling.id.to_string()).collect();
    (design, ids)
}

fn joint(design: &Design, id: &str) -> trim::FixtureEntry {
    trim::document(design).fixtures.into_iter().find(|entry| entry.fixture == id).unwrap()
}

fn emptied(design: &Design, id: &str) -> Design {
    let subject = Subject::new(Kind::Fixture, id);
    after(design, Edit::Set { subject, field: "fixture".into(), value: serde_json::Value::Null })
}

#[test]
fn a_box_in_a_string_that_stays_empty_gets_a_jumper() {
    for returns in [true, false] {
        let (design, ids) = string_boxes(returns);
        let (middle, last) = (&ids[1], ids.last().unwrap());
        let before = joint(&design, middle);
        assert!(before.jumpers.is_empty() && before.opened[0] == "red", "{before:?}");
        assert!(before.join.contains("open red: IN to +, OUT to -"), "{before:?}");
        let empty = joint(&emptied(&design, middle), middle);
        assert!(empty.opened.is_empty() && empty.jumpers[0] == "red", "{empty:?}");
        assert!(empty.join.contains("JUMPER red IN to red OUT"), "{empty:?}");
        if !returns {
            let end = joint(&design, last);
            assert_eq!(end.join, "end of the string: red to +, white to -");
            let end = joint(&emptied(&design, last), last);
            assert_eq!(end.join, "no light: JUMPER red to white");
        }
    }
    // Across a pair nothing is opened, and an empty box needs no jumper.
    let design = sample("cottage");
    let hung = joint(&design, "L-1");
    assert_eq!((hung.opened.len(), hung.join.as_str()), (0, "red to +, white to -"));
    let empty = joint(&emptied(&design, "L-1"), "L-1");
    assert!(empty.jumpers.is_empty() && empty.join.starts_with("no light"), "{empty:?}");
}

#[test]
fn trim_volts_are_those_of_the_study() {
    for name in SAMPLES {
        let design = sample(name);
        let entries = trim::document(&design).fixtures;
        let lights: Vec<_> = design.study.runs(&design.network).flat_map(|run| &run.lights).collect();
        let known = lights.iter().filter(|light| light.volts.is_some()).count();
        assert_eq!(entries.iter().filter(|entry| entry.volts.is_some()).count(), known, "{name}");
        for light in lights {
            let on = &design.job.boxes[light.at.control.wall_box].controls[light.at.control.control];
            let id = on.loops[light.at.at].ceiling[light.ceiling].id.as_str();
            let entry = entries.iter().find(|entry| entry.fixture == id).unwrap();
            assert_eq!((entry.volts, entry.control.as_str()), (light.volts, on.id.as_str()), "{name} {id}");
        }
    }
}
