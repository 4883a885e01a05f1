//! Two states of a job: what is other, what it costs, and the marks in the next print.

use crate::cli::{drive, folder_with};
use crate::support::{SAMPLES, project, sample, snapshots};
use insta::assert_snapshot;
use jiff::civil::date;
use serde_json::{Value, json};
use std::io::Write as _;
use std::process::{Command, Stdio};
use studbay::compare::{Change, ChangeKind, Comparison, OrderWhy, compare};
use studbay::design::Design;
use studbay::job::edit::{Edit, apply};
use studbay::job::site::Step;
use studbay::job::{Kind, Subject, write};
use studbay::plan::tags::store;
use studbay::schedule::{Table, revision};
use studbay::sheets::{Heading, Paper, SHEETS, csv, since, text};

pub(crate) fn set(kind: Kind, id: &str, field: &str, value: Value) -> Edit {
    Edit::Set { subject: Subject::new(kind, id), field: field.into(), value }
}

pub(crate) fn edited(design: &Design, edits: Vec<Edit>) -> Design {
    let mut job = design.job.clone();
    for edit in edits {
        apply(&mut job, edit).unwrap();
    }
    Design::derive(job)
}

fn of<'a>(compared: &'a Comparison, id: &str) -> Vec<&'a Change> {
    compared.changes.iter().filter(|change| change.subject.id == id).collect()
}

/// A day's changes of mind in the two-story house.
fn a_revision() -> (Design, Design) {
    let old = edited(
        &sample("two-story"),
        vec![
            set(Kind::Cable, "L1a2", "site", json!({"done": {"pulled": "2026-03-02 MO"}})),
            set(Kind::Cable, "HR03", "site", json!({"done": {"pulled": "2026-03-02 MO"}})),
            set(Kind::Cable, "HR03", "landed", json!(true)),
        ],
    );
    let wall_box = json!({"id": "R9", "name": "Reading corner", "room": "living",
        "place": {"x": "4'0", "y": "2'0", "height": "4'0"}, "part": "wall-1",
        "feeds": [{"id": "HR99", "from": {"Output": "PS1.1"}, "cable": "18-5"}],
        "controls": [{"id": "R9a", "part": "dim-12", "loops": [{"id": "R9a1", "cable": "18-2", "path": "OneWay",
            "ceiling": [{"id": "R-1", "place": {"x": "4'0", "y": "6'0"}, "fixture": "down-6"}]}]}]});
    let new = edited(
        &old,
        vec![
            set(Kind::Project, "project", "revision", json!("E")),
            set(Kind::Cable, "HR03", "from", json!({"Output": "PS1.1"})),
            set(Kind::WallBox, "S1", "name", json!("Study, by the window")),
            set(Kind::WallBox, "D1", "place", json!({"x": "20'0", "y": "10'0", "height": "4'0"})),
            set(Kind::Fixture, "L-1", "fixture", json!("soffit-4")),
            Edit::Remove { subject: Subject::new(Kind::Cable, "L1a2") },
            Edit::Insert { kind: Kind::WallBox, parent: None, at: 0, value: wall_box },
        ],
    );
    (old, new)
}

#[test]
fn a_job_is_the_same_as_itself() {
    for name in SAMPLES {
        let design = sample(name);
        let compared = compare(&design, &design);
        assert!(compared.is_empty() && compared.order.lines.is_empty(), "{name}: {compared:#?}");
        // What happened on site, and tags that are stored, are no changes of the plan.
        let cable = design.job.boxes.iter().flat_map(|b| &b.feeds).next().unwrap().id.to_string();
        let mut edits = vec![set(Kind::Cable, &cable, "site", json!({"done": {"pulled": "2026-03-09 MO"}}))];
        edits.extend(store(&design.job));
        assert!(compare(&design, &edited(&design, edits)).is_empty(), "{name}");
    }
}

#[test]
fn a_revision_is_told_by_room_in_the_crew_s_words() {
    let (old, new) = a_revision();
    let compared = compare(&old, &new);
    let kinds = |id: &str| of(&compared, id).iter().map(|change| change.kind).collect::<Vec<_>>();
    assert_eq!(kinds("HR03"), [ChangeKind::Moved]);
    let moved = of(&compared, "HR03")[0];
    assert_eq!((moved.was.as_str(), moved.now.as_str()), ("P1/1 PS1.2", "P1/1 PS1.1"));
    assert_eq!((moved.step, moved.room.as_ref().unwrap().as_str()), (Step::Pulled, "foyer"));
    assert_eq!(kinds("S1"), [ChangeKind::Renamed]);
    assert!(kinds("D1").iter().all(|kind| *kind == ChangeKind::Placed) && !kinds("D1").is_empty());
    assert_eq!(kinds("HR05"), [ChangeKind::Length], "a home run to a box that stands elsewhere");
    assert_eq!(kinds("L-1"), [ChangeKind::Part]);
    assert_eq!(kinds("L1a2"), [ChangeKind::Gone]);
    assert_eq!(kinds("L-5"), [ChangeKind::Gone]);
    for added in ["R9", "HR99", "R9a", "R9a1", "R-1"] {
        assert_eq!(kinds(added), [ChangeKind::Added], "{added}");
    }
    assert_eq!(kinds("HR01"), [], "nothing of it is other");
    // Its rooms stand together.
    let rooms: Vec<&str> =
        compared.changes.iter().map(|c| c.room.as_ref().map_or("", |room| room.as_str())).collect();
    let mut once = rooms.clone();
    once.dedup();
    let mut unique = once.clone();
    unique.sort_unstable();
    unique.dedup();
    assert_eq!(once.len(), unique.len(), "{rooms:?}");
    // What came here goes when the two change places.
    let back = compare(&new, &old);
    let with = |compared: &Comparison, kind| {
        let mut ids: Vec<String> = compared
            .changes
            .iter()
            .filter(|change| change.kind == kind)
            .map(|change| change.subject.to_string())
            .collect();
        ids.sort();
        ids
    };
    assert_eq!(with(&compared, ChangeKind::Added), with(&back, ChangeKind::Gone));
    assert_eq!(with(&compared, ChangeKind::Gone), with(&back, ChangeKind::Added));
    let heading = Heading::of(&new.job.project, date(2026, 3, 9));
    let _guard = snapshots("sheets").bind_to_scope();
    assert_snapshot!(
        "two-story_revision",
        text::print(&heading, &revision::tables(&old, &new), Paper::new(80, 0))
    );
    let document = serde_json::to_string_pretty(&revision::document(&old, &new)).unwrap();
    assert_snapshot!("two-story_revision_json", document);
}

#[test]
fn loading_and_materials_follow_from_both_states() {
    let (old, new) = a_revision();
    let compared = compare(&old, &new);
    for load in compared.loads.iter().filter(|load| load.subject.kind == Kind::Output) {
        let watts = |design: &Design| {
            let outputs = design.study.outputs.iter();
            outputs.filter(|o| o.output.to_string() == load.subject.id).find_map(|o| o.watts)
        };
        assert_eq!((load.was_watts, load.now_watts), (watts(&old), watts(&new)));
    }
    let ids: Vec<&str> = compared.loads.iter().map(|load| load.subject.id.as_str()).collect();
    assert!(ids.contains(&"PS1.1") && ids.contains(&"PS1.2") && ids.contains(&"P1"), "{ids:?}");
    // One downlight came, four went with the loop and one became another: 1 - 4 - 1.
    let lights = compared.parts.iter().find(|part| part.part.id == "down-6").unwrap();
    assert_eq!(lights.now - lights.was, -4);
    // HR03 is on its terminals: four conductors at 0.05 h and 72.00 an hour are landed anew, and its cable stays.
    let landed = compared.order.tasks.iter().find(|task| task.why == OrderWhy::Again).unwrap();
    assert_eq!((landed.key, landed.on[0].id.as_str(), landed.count), ("landing", "HR03", Some(4.into())));
    assert_eq!(landed.cost, Some("14.40".parse().unwrap()));
    assert!(compared.order.lines.iter().all(|line| line.subject.id != "HR03"));
    let dimmers = compared.parts.iter().find(|part| part.part.id == "dim-12").unwrap();
    assert_eq!(dimmers.now - dimmers.was, 1);
}

#[test]
fn a_loop_by_another_way_is_a_new_cable_once_it_is_pulled() {
    let cottage = sample("cottage");
    let control =
        cottage.job.boxes.iter().flat_map(|b| &b.controls).find(|c| c.id.as_str() == "L1b").unwrap();
    let mut wired = serde_json::to_value(&control.loops[0]).unwrap();
    wired["ceiling"].as_array_mut().unwrap().reverse();
    let turned = |design: &Design| {
        let ceiling = wired["ceiling"].clone();
        edited(design, vec![set(Kind::Cable, "L1b1", "ceiling", ceiling)])
    };
    let compared = compare(&cottage, &turned(&cottage));
    let kinds: Vec<ChangeKind> = of(&compared, "L1b1").iter().map(|change| change.kind).collect();
    assert!(kinds.contains(&ChangeKind::Rerouted), "{compared:#?}");
    let way = of(&compared, "L1b1")[0];
    assert_eq!((way.was.as_str(), way.now.as_str()), ("L1 L-9 L-10", "L1 L-10 L-9"));
    let whys = |compared: &Comparison| {
        let lines = compared.order.lines.iter().filter(|line| line.subject.id == "L1b1");
        lines.map(|line| line.why).collect::<Vec<_>>()
    };
    assert_eq!(whys(&compared), [OrderWhy::Credited, OrderWhy::Added]);
    let site = json!({"done": {"pulled": "2026-03-09 MO"}});
    let pulled = edited(&cottage, vec![set(Kind::Cable, "L1b1", "site", site)]);
    let compared = compare(&pulled, &turned(&pulled));
    assert_eq!(whys(&compared), [OrderWhy::NotCredited, OrderWhy::Added]);
}

/// The ids in the rows of a table that carry a mark.
fn marked(sheet: &str, old: &Design, new: &Design) -> Vec<String> {
    let entry = SHEETS.iter().find(|entry| entry.name == sheet).unwrap();
    let unit = new.job.project.units;
    let tables = since::mark((entry.tables)(new), &(entry.tables)(old), unit, "since revision D");
    let rows = tables.iter().flat_map(Table::rows);
    let rows = rows.filter(|row| row.cell(0).shown(unit) == since::MARK);
    let mut ids: Vec<String> = rows.filter_map(|row| Some(row.subject.as_ref()?.id.clone())).collect();
    ids.dedup();
    ids
}

#[test]
fn the_next_print_marks_the_rows_that_are_other() {
    for name in ["cottage", "two-story", "usual-mistakes"] {
        let design = sample(name);
        for entry in SHEETS.iter().filter(|entry| entry.drawings.is_none()) {
            assert_eq!(marked(entry.name, &design, &design), [""; 0], "{name} {}", entry.name);
        }
    }
    let (old, new) = a_revision();
    assert_eq!(marked("cables", &old, &new), ["HR99", "HR03", "HR05", "R9a1", "D1a1", "D1b1"]);
    assert!(marked("loading", &old, &new).contains(&"PS1.1".to_owned()));
    assert!(marked("trim", &old, &new).contains(&"L-1".to_owned()));
    let tags = marked("tags", &old, &new);
    assert!(tags.contains(&"HR99".to_owned()) && !tags.contains(&"HR01".to_owned()), "{tags:?}");
    let entry = SHEETS.iter().find(|entry| entry.name == "cables").unwrap();
    let unit = new.job.project.units;
    let tables = since::mark((entry.tables)(&new), &(entry.tables)(&old), unit, "since revision D");
    let heading = Heading::of(&new.job.project, date(2026, 3, 9));
    let sheet = text::print(&heading, &tables, Paper::default());
    assert!(sheet.contains("'*' marks what is other since revision D."), "{sheet}");
    assert!(sheet.contains("* Gone from here since revision D: L1a2."), "{sheet}");
    let first = sheet.lines().position(|line| line.contains("HR99")).unwrap();
    let _guard = snapshots("sheets").bind_to_scope();
    let head: Vec<&str> = sheet.lines().take(first + 6).collect();
    assert_snapshot!("two-story_cables_since", head.join("\n"));
    let rows = String::from_utf8(csv::write(&tables).unwrap()).unwrap();
    let starred = rows.lines().filter(|line| line.starts_with("home-run,*,")).count();
    assert_eq!((starred, rows.lines().next().unwrap().starts_with("section,changed,done,tag")), (3, true));
    let json = since::mark_json(&(entry.json)(&new).unwrap(), &(entry.json)(&old).unwrap()).unwrap();
    let document: Value = serde_json::from_str(&json).unwrap();
    let changed: Vec<&str> = document["cables"]
        .as_array()
        .unwrap()
        .iter()
        .filter(|cable| cable["changed"] == true)
        .map(|cable| cable["tag"].as_str().unwrap())
        .collect();
    assert_eq!(changed, ["HR99", "HR03", "HR05", "R9a1", "D1a1", "D1b1"]);
}

#[test]
fn two_states_are_compared_at_the_command_line_from_files_and_from_a_pipe() {
    let (old, new) = a_revision();
    let text = |design: &Design| write::to_string(&design.job).unwrap();
    let folder = folder_with(&[("old.ron", text(&old).as_bytes()), ("new.ron", text(&new).as_bytes())]);
    let files = drive(folder.path(), &["compare", "DIR/old.ron", "DIR/new.ron", "--date", "2026-03-09"]);
    assert!(files.contains("From revision D to revision E") && files.ends_with("exit 0"), "{files}");
    let same = drive(folder.path(), &["compare", "DIR/old.ron", "DIR/old.ron"]);
    assert!(same.contains("nothing to build is other") && same.ends_with("exit 0"), "{same}");
    let sheet = ["sheet", "revision", "DIR/new.ron", "--since", "DIR/old.ron", "--as", "json"];
    let by_sheet = drive(folder.path(), &sheet);
    let by_compare = drive(folder.path(), &["compare", "DIR/old.ron", "DIR/new.ron", "--as", "json"]);
    assert_eq!(by_sheet, by_compare);
    let alone = drive(folder.path(), &["sheet", "revision", "DIR/new.ron"]);
    assert!(alone.contains("give it with --since OLD") && alone.ends_with("exit 2"), "{alone}");
    let both = drive(folder.path(), &["compare", "-", "-"]);
    assert!(both.contains("only one of the two") && both.ends_with("exit 2"), "{both}");
    let marks = ["sheet", "cables", "DIR/new.ron", "--since", "DIR/old.ron"];
    assert!(drive(folder.path(), &marks).contains("'*' marks what is other since revision D"));
    let plan = drive(folder.path(), &["sheet", "riser", "DIR/new.ron", "--since", "DIR/old.ron"]);
    assert!(plan.contains("'*': other since revision D.") && plan.contains("*HR99"), "{plan}");
    // A book marks what each of its sheets marks.
    let book =
        ["sheet", "book", "DIR/new.ron", "--since", "DIR/old.ron", "--sheets", "cables,loading,riser,plan"];
    let book = drive(folder.path(), &book);
    assert!(
        book.matches("marks what is other since revision D").count() == 2 && book.contains("*HR99"),
        "{book}"
    );
    for (sheet, form) in [("plan", "svg"), ("riser", "svg")] {
        let drawn =
            drive(folder.path(), &["sheet", sheet, "DIR/new.ron", "--since", "DIR/old.ron", "--as", form]);
        assert!(drawn.contains('*') && drawn.contains("other since revision D"), "{sheet} {form}");
        let plain = drive(folder.path(), &["sheet", sheet, "DIR/new.ron", "--as", form]);
        assert!(!plain.contains("other since"), "{sheet} {form}");
    }
    // The program itself, with the old state on its standard input.
    let mut child = Command::new(env!("CARGO_BIN_EXE_studbay"))
        .args(["compare", "-", &folder.path().join("new.ron").display().to_string(), "--as", "json"])
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .spawn()
        .unwrap();
    child.stdin.take().unwrap().write_all(text(&old).as_bytes()).unwrap();
    let piped = child.wait_with_output().unwrap();
    assert!(piped.status.success());
    assert_eq!(String::from_utf8(piped.stdout).unwrap(), by_compare.split("--- ").next().unwrap());
    assert!(project("sample-jobs").exists());
}
