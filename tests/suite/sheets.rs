//! The sheets of whole houses: snapshots to read, and the JSON that others build on.

use crate::support::{SAMPLES, sample, snapshots};
use insta::assert_snapshot;
use jiff::civil::date;
use serde_json::Value;
use std::collections::BTreeMap;
use std::fmt::Write as _;
use studbay::design::Design;
use studbay::sheets::{Heading, Paper, SHEETS, csv};
use studbay::study::Outcome;
use unicode_width::UnicodeWidthStr;

fn printed(design: &Design, sheet: usize, paper: Paper) -> String {
    let heading = Heading::of(&design.job.project, date(2026, 3, 9));
    SHEETS[sheet].printed(design, &heading, paper)
}

/// A sheet by its name as it is printed.
pub(crate) fn printed_text(design: &Design, name: &str) -> String {
    let at = SHEETS.iter().position(|entry| entry.name == name).unwrap();
    printed(design, at, Paper::default())
}

fn json(design: &Design, sheet: &str) -> Value {
    let entry = SHEETS.iter().find(|entry| entry.name == sheet).unwrap();
    serde_json::from_str(&(entry.json)(design).unwrap()).unwrap()
}

#[test]
fn every_sheet_of_two_houses() {
    let _guard = snapshots("sheets").bind_to_scope();
    for name in ["cottage", "two-story"] {
        let design = sample(name);
        for (at, entry) in SHEETS.iter().enumerate() {
            let text = printed(&design, at, Paper::default()).replace('\u{c}', "<form feed>\n");
            assert_snapshot!(format!("{name}_{}", entry.name), text);
        }
    }
}

#[test]
fn the_first_lines_of_every_form() {
    let design = sample("cottage");
    let mut said = String::new();
    for entry in SHEETS {
        if entry.is_picture() {
            // A picture has no rows, and its JSON is seen as a picture elsewhere.
            continue;
        }
        let csv = String::from_utf8(csv::write(&(entry.tables)(&design)).unwrap()).unwrap();
        let json = (entry.json)(&design).unwrap();
        for (form, text, lines) in [("CSV", csv, 5), ("JSON", json, 24)] {
            let head: Vec<&str> = text.lines().take(lines).collect();
            let _ = write!(said, "=== {} as {form}\n{}\n", entry.name, head.join("\n"));
        }
    }
    let _guard = snapshots("sheets").bind_to_scope();
    assert_snapshot!("cottage_forms", said);
}

/// What the names of each list in each document are promised to be, lists in lists after a slash.
const CONTRACT: &[(&str, &str, &[&str])] = &[
    (
        "voltages",
        "runs",
        &[
            "run",
            "output",
            "feasible",
            "source_volts",
            "source_amps",
            "source_watts",
            "loss_watts",
            "max_watts",
        ],
    ),
    (
        "voltages",
        "fixtures",
        &["fixture", "run", "box", "loop", "volts", "amps", "watts", "drop_volts", "drop_percent"],
    ),
    ("loading", "outputs", &["output", "limit_watts", "watts", "percent", "runs"]),
    ("loading", "outputs/runs", &["run", "watts"]),
    ("loading", "panels", &["panel", "ac_watts", "ac_amps", "heat_watts"]),
    ("slots", "slots", &["panel", "slot", "supply", "outputs"]),
    ("slots", "slots/outputs", &["output", "runs"]),
    ("cables", "cables", &["tag", "kind", "cable", "from", "to", "length_ft", "measured"]),
    ("cables", "totals", &["cable", "length_ft"]),
    (
        "reels",
        "cables",
        &["cable", "cost", "cost_bound", "proved", "left_ft", "reels", "unknown", "too_long"],
    ),
    ("reels", "cables/reels", &["reel", "on_hand", "length_ft", "price", "cuts", "left_ft"]),
    (
        "materials",
        "parts",
        &["key", "group", "phase", "counted", "waste_percent", "quantity", "order", "from"],
    ),
    ("materials", "parts/from", &["kind", "id", "room", "quantity"]),
    ("materials", "cables", &["cable", "length_ft", "order", "from"]),
    ("bid", "rooms", &["room", "name", "price"]),
    ("costs", "materials", &["key", "name", "quantity", "price", "pack", "cost"]),
    ("costs", "labor", &["key", "count", "hours_each", "hours", "cost"]),
    ("costs", "rooms", &["room", "materials", "labor", "price"]),
];

/// The items of a list, or of the lists in its items.
fn items<'a>(document: &'a Value, path: &str) -> Vec<&'a Value> {
    path.split('/').fold(vec![document], |within, name| {
        within
            .iter()
            .flat_map(|item| item[name].as_array().unwrap_or_else(|| panic!("no list '{name}'")))
            .collect()
    })
}

#[test]
fn json_has_the_promised_names_in_every_item() {
    for name in SAMPLES {
        let design = sample(name);
        let documents = SHEETS.iter().map(|entry| (entry.name, json(&design, entry.name)));
        let documents: BTreeMap<&str, Value> = documents.collect();
        for (sheet, path, names) in CONTRACT {
            let document = &documents[sheet];
            let items = items(document, path);
            assert!(!items.is_empty(), "{name}: {sheet} has no {path}");
            for item in items {
                for key in *names {
                    assert!(item.get(key).is_some(), "{name}: {sheet} {path} without '{key}': {item}");
                }
            }
        }
        for cable in items(&documents["cables"], "cables") {
            assert!(
                ["home-run", "loop", "link", "bus"].contains(&cable["kind"].as_str().unwrap()),
                "{cable}"
            );
        }
    }
}

#[test]
fn json_carries_full_precision_and_ids() {
    let design = sample("cottage");
    let document = json(&design, "voltages");
    let text = (SHEETS[0].json)(&design).unwrap();
    let lights: Vec<_> = design.study.runs(&design.network).flat_map(|run| &run.lights).collect();
    let fixtures = items(&document, "fixtures");
    assert_eq!(lights.len(), fixtures.len());
    for (light, fixture) in lights.iter().zip(fixtures) {
        // To the last digit that tells a figure from its neighbours.
        assert!(text.contains(&format!("\"volts\": {:?},", light.volts.unwrap())), "{fixture}");
        let at = light.at;
        let wired = &design.job.boxes[at.control.wall_box];
        let ceiling = &wired.controls[at.control.control].loops[at.at].ceiling[light.ceiling];
        assert_eq!(fixture["fixture"].as_str(), Some(ceiling.id.as_str()));
        assert_eq!(fixture["box"].as_str(), Some(wired.id.as_str()));
    }
    // Feet, whatever the job's unit is, and sums that sum.
    let document = json(&design, "cables");
    for total in items(&document, "totals") {
        let of_type = items(&document, "cables").into_iter().filter(|cable| cable["cable"] == total["cable"]);
        let sum: f64 = of_type.map(|cable| cable["length_ft"].as_f64().unwrap()).sum();
        assert!((sum - total["length_ft"].as_f64().unwrap()).abs() < 1e-6, "{total}");
    }
}

#[test]
fn what_is_unknown_is_null_and_never_zero() {
    let design = sample("usual-mistakes");
    let unsolved: Vec<String> = (design.study.runs(&design.network))
        .filter(|study| study.outcome != Outcome::Solved)
        .map(|study| design.network.runs[study.run].id.to_string())
        .collect();
    assert!(unsolved.len() >= 4, "{unsolved:?}");
    let document = json(&design, "voltages");
    for run in items(&document, "runs") {
        let unknown = unsolved.iter().any(|id| run["run"] == **id);
        for key in ["source_amps", "source_watts", "loss_watts"] {
            assert_eq!(run[key].is_null(), unknown, "{run}");
        }
    }
    let mut nulls = 0;
    for fixture in items(&document, "fixtures") {
        let unknown = unsolved.iter().any(|id| fixture["run"] == **id);
        assert_eq!(fixture["volts"].is_null(), unknown, "{fixture}");
        nulls += usize::from(unknown);
    }
    assert!(nulls > 10, "{nulls}");
    let document = json(&design, "loading");
    for output in items(&document, "outputs") {
        let unknown = output["runs"].as_array().unwrap().iter().any(|run| run["watts"].is_null());
        assert_eq!(output["watts"].is_null(), unknown, "{output}");
        assert_eq!(output["percent"].is_null(), unknown, "{output}");
    }
    let at = SHEETS.iter().position(|entry| entry.name == "voltages").unwrap();
    assert!(printed(&design, at, Paper::default()).contains(" ? "));
}

#[test]
fn every_sheet_of_every_house_keeps_to_its_paper() {
    for name in SAMPLES {
        let design = sample(name);
        for at in 0..SHEETS.len() {
            for width in [60, 80, 132] {
                let text = printed(&design, at, Paper::new(width, 60));
                let count = text.split('\u{c}').count();
                for (page, lines) in text.split('\u{c}').enumerate() {
                    assert!(lines.lines().all(|line| line.width() <= width), "{name} {width}: {lines}");
                    assert!(lines.lines().count() <= 60 && lines.contains("Not a permit"));
                    assert!(lines.contains(&format!("page {} of {count}", page + 1)), "{lines}");
                    assert!(lines.contains("2026-03-09"));
                }
            }
        }
    }
}
