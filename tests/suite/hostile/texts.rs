//! Hostile texts in every field, through every command and every form of every sheet.

use super::{SAMPLES, TEXTS, all_texts, assert_clean, by_field, free, replaced, rounds, saved, with_texts};
use crate::cli::{drive_into, folder_with};
use std::collections::BTreeSet;
use std::path::Path;
use studbay::job::{Index, Job, write};
use studbay::sheets::SHEETS;

/// What a command writes to the two outputs, and its exit code.
fn said(folder: &Path, args: &[&str]) -> (Vec<u8>, Vec<u8>, u8) {
    let (mut out, mut err) = (Vec::new(), Vec::new());
    let code = drive_into(folder, args, &mut out, &mut err);
    (out, err, code)
}

/// The forms a sheet can have, as the help lists them.
fn forms() -> Vec<String> {
    let (help, ..) = said(Path::new("."), &["sheet", "--help"]);
    let help = String::from_utf8(help).unwrap();
    let after = help.split("--as <FORM>").nth(1).unwrap();
    let until = after.split("--out <FILE>").next().unwrap();
    let forms: Vec<String> = match until.split_once("[possible values: ") {
        Some((_, short)) => {
            short.split(']').next().unwrap().split(',').map(|form| form.trim().to_owned()).collect()
        }
        None => until
            .lines()
            .filter_map(|line| line.trim().strip_prefix("- ")?.split(':').next().map(str::to_owned))
            .collect(),
    };
    assert!(forms.contains(&"text".to_owned()) && forms.contains(&"csv".to_owned()), "{help}");
    forms
}

/// No cell of a CSV is one that a spreadsheet would run.
fn assert_inert(what: &str, bytes: &[u8]) {
    let mut reader = csv::ReaderBuilder::new().flexible(true).has_headers(false).from_reader(bytes);
    for record in reader.records() {
        for cell in &record.unwrap_or_else(|error| panic!("{what}: {error}")) {
            let start = cell.trim_start_matches(|c: char| c.is_whitespace() || c.is_control());
            let runs =
                start.starts_with(['=', '+', '-', '@', '\u{ff1d}', '\u{ff0b}', '\u{ff0d}', '\u{ff20}']);
            assert!(!runs || start.parse::<f64>().is_ok(), "{what}: {cell:?}");
        }
    }
}

/// Every command that only tells, on a job in the folder.
fn every_command(folder: &Path, job: &Job, what: &str) {
    for sheet in SHEETS {
        for form in forms() {
            let args = ["sheet", sheet.name, "DIR/job.ron", "--as", &form];
            let (out, err, _) = said(folder, &args);
            let name = format!("{what}: {} as {form}", sheet.name);
            assert_clean(&name, &err);
            if out.starts_with(b"%PDF") {
                // As a reader shows it, where there is one that is not ours.
                let shown = crate::pdf::read_back(&out, "-layout").unwrap_or_default();
                assert_clean(&name, shown.as_bytes());
                continue;
            }
            // Line ends of CSV are the writer's own.
            assert_clean(&name, &out.iter().copied().filter(|byte| *byte != b'\r').collect::<Vec<_>>());
            if form == "csv" {
                assert_inert(&name, &out);
            }
        }
    }
    let (index, _) = Index::new(job);
    let figures: BTreeSet<String> = {
        let (out, ..) = said(folder, &["explain", "DIR/job.ron"]);
        assert_clean(&format!("{what}: explain"), &out);
        String::from_utf8(out).unwrap().lines().map(str::to_owned).collect()
    };
    assert!(!index.all().is_empty() && !figures.is_empty());
    // One figure of each key.
    let keys: BTreeSet<&str> = figures.iter().filter_map(|name| name.rsplit('/').next()).collect();
    let mut explain = vec!["explain", "DIR/job.ron"];
    explain.extend(
        keys.iter().filter_map(|key| figures.iter().find(|name| name.ends_with(*key))).map(String::as_str),
    );
    for args in [
        &["check", "DIR/job.ron"][..],
        &["check", "--as", "json", "DIR/job.ron"],
        &["balance", "DIR/job.ron"],
        &["balance", "DIR/job.ron", "--as", "json"],
        &["rooms", "DIR/job.ron"],
        &explain,
        &["explain", "DIR/job.ron", "fixture/\u{1b}[2J/volts", "\u{202e}/x/y"],
    ] {
        let (out, err, _) = said(folder, args);
        let name = format!("{what}: {}", args[0]);
        assert_clean(&name, &err);
        assert_clean(&name, &out.iter().copied().filter(|byte| *byte != b'\r').collect::<Vec<_>>());
        if args[0] == "rooms" {
            assert_inert(&name, &out);
        }
    }
}

#[test]
fn no_hostile_text_leaves_by_any_command() {
    let texts = all_texts();
    let texts: Vec<&str> = texts.iter().map(String::as_str).collect();
    for name in SAMPLES {
        for round in 0..rounds() {
            // A step that has nothing in common with the number of texts brings each to each field in the end.
            let job = with_texts(name, &texts, round * 5);
            let folder = folder_with(&[("job.ron", write::to_string(&job).unwrap().as_bytes())]);
            every_command(folder.path(), &job, &format!("round {round} of {name}"));
        }
    }
}

#[test]
fn a_hostile_text_where_none_can_stand_is_refused_in_clean_words() {
    for name in SAMPLES {
        let text = saved(name);
        let free: BTreeSet<usize> = free(&text).iter().map(|held| held.from).collect();
        let fields = by_field(&text);
        assert!(fields.len() > 20, "{fields:?}");
        // One of each field.
        let fields = fields.values().filter_map(|held| held.iter().find(|held| !free.contains(&held.from)));
        for (nth, held) in fields.enumerate() {
            for (what, hostile) in TEXTS.iter().skip(nth % 6).step_by(if rounds() > 2 { 1 } else { 6 }) {
                let job = replaced(&text, [held], hostile);
                let folder = folder_with(&[("job.ron", job.as_bytes())]);
                for args in [&["check", "DIR/job.ron"][..], &["check", "--as", "json", "DIR/job.ron"]] {
                    let (out, err, code) = said(folder.path(), args);
                    let name = format!("{what} in {} of {name}", held.field);
                    assert_eq!(code, 2, "{name}: {}", String::from_utf8_lossy(&out));
                    assert!(!err.is_empty(), "{name}: refused without a word");
                    assert_clean(&name, &err);
                    assert_clean(&name, &out);
                }
            }
        }
    }
}

/// The names of fields and choices are read too.
#[test]
fn a_hostile_word_outside_strings_is_refused_in_clean_words() {
    let text = saved("two-story");
    for (what, hostile) in TEXTS {
        for job in [
            text.replacen("format", hostile, 1),
            text.replacen("project", &format!("{hostile}project"), 1),
            text.replacen("OneWay", &format!("One{hostile}Way"), 1),
            text.replacen("name", &format!("na{hostile}me"), 1),
            format!("{hostile}{text}"),
            format!("{text}{hostile}"),
            hostile.repeat(3),
        ] {
            let folder = folder_with(&[("job.ron", job.as_bytes())]);
            let (out, err, _) = said(folder.path(), &["check", "DIR/job.ron"]);
            assert_clean(what, &err);
            assert_clean(what, &out);
        }
    }
}

/// The same from a table of rooms.
#[test]
fn hostile_cells_of_a_table_are_refused_or_come_out_clean() {
    let job = saved("two-story");
    for (what, hostile) in TEXTS.iter().step_by(19_usize.div_ceil(rounds().max(4))) {
        let cell = format!("\"{}\"", hostile.replace('"', "\"\""));
        let columns = ["level", "room", "area", "ceiling", "box", "control", "fixture", "lights", "lux"];
        for column in columns {
            let table = format!("room,{column}2\nx,{cell}\n{cell},1\n");
            let named = match column {
                "room" => format!("room\n{cell}\n"),
                other => format!("room,{other}\nNew room,{cell}\n"),
            };
            for table in [named, table, format!("{cell},room\nx,y\n")] {
                let folder = folder_with(&[("job.ron", job.as_bytes()), ("t.csv", table.as_bytes())]);
                let args = ["rooms", "DIR/job.ron", "--in", "DIR/t.csv", "--write"];
                let (out, err, code) = said(folder.path(), &args);
                let name = format!("{what} in a cell under {column}");
                assert_clean(&name, &err);
                assert_clean(&name, &out);
                assert!(code != 2 || !err.is_empty());
                let (out, ..) = said(folder.path(), &["sheet", "cables", "DIR/job.ron"]);
                assert_clean(&name, &out);
            }
        }
    }
}
