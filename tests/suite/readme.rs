//! The README, held to the program: its pictures and tables are made here.
//!
//! `STUDBAY_README=1` writes them anew; read the difference before keeping it.

use crate::support::{project, sample};
use crate::views::Shown;
use jiff::civil::date;
use std::fmt::Write as _;
use std::fs;
use studbay::checks::CHECKS;
use studbay::schedule::cables;
use studbay::sheets::{Heading, Paper, text};
use studbay::tui::View;
use studbay::tui::keys::{BINDINGS, KEYLESS};

fn screen() -> String {
    let mut shown = Shown::new("two-story", 80, 24);
    shown.press("+jj");
    fenced(&shown.text())
}

fn sheet() -> String {
    let design = sample("two-story");
    let heading = Heading::of(&design.job.project, date(2026, 3, 9));
    let printed = text::print(&heading, &[cables::table(&design, true)], Paper::default());
    fenced(printed.split('\u{c}').next().unwrap_or_default())
}

fn fenced(text: &str) -> String {
    let lines: Vec<&str> = text.lines().map(str::trim_end).collect();
    format!("```text\n{}\n```\n", lines.join("\n").trim_end())
}

fn keys() -> String {
    let mut table = String::from("| key | what it does | where |\n|---|---|---|\n");
    for binding in BINDINGS {
        let views: Vec<&str> = binding.views.iter().map(|view| view.word()).collect();
        let place =
            if views.is_empty() || views.len() == View::ALL.len() { String::new() } else { views.join(", ") };
        let _ = writeln!(table, "| `{}` | {} | {place} |", binding.shown, binding.help);
    }
    let pasting: Vec<&str> = KEYLESS.iter().map(|(_, help)| *help).collect();
    let _ = writeln!(table, "| pasting | {} | |", pasting.join(" "));
    table
}

fn checks() -> String {
    let mut table =
        String::from("| check | what it looks for | where its limit comes from |\n|---|---|---|\n");
    for check in CHECKS {
        let _ = writeln!(table, "| `{}` | {} | {} |", check.code, check.about, check.source.listed());
    }
    table
}

/// The text with what stands between two markers replaced.
fn filled(text: &str, name: &str, content: &str) -> String {
    let (open, close) = (format!("<!-- {name} -->\n"), format!("<!-- /{name} -->"));
    let (before, rest) = text.split_once(&open).unwrap_or_else(|| panic!("{open} is missing"));
    let (_, after) = rest.split_once(&close).unwrap_or_else(|| panic!("{close} is missing"));
    format!("{before}{open}{content}{close}{after}")
}

#[test]
fn its_pictures_and_tables_are_current() {
    let path = project("README.md");
    let text = fs::read_to_string(&path).unwrap();
    let parts = [("screen", screen()), ("sheet", sheet()), ("keys", keys()), ("checks", checks())];
    let current = parts.iter().fold(text.clone(), |text, (name, content)| filled(&text, name, content));
    if std::env::var_os("STUDBAY_README").is_some() {
        fs::write(&path, &current).unwrap();
    }
    assert!(
        fs::read_to_string(&path).unwrap() == current,
        "run the test with STUDBAY_README=1 and read what changed"
    );
}

#[test]
fn its_two_commands_stand_in_it_and_their_job_is_there() {
    let text = fs::read_to_string(project("README.md")).unwrap();
    for command in ["    cargo run --release -- sample-jobs/two-story.ron\n", "    cargo test\n"] {
        assert!(text.contains(command), "{command}");
    }
    assert!(project("sample-jobs/two-story.ron").exists());
}

/// Names of tests in a text that says `(test: NAME)` or several with commas.
fn named_tests(text: &str) -> Vec<String> {
    let flat = text.split_whitespace().collect::<Vec<_>>().join(" ");
    let lists = flat.split("(test: ").skip(1).filter_map(|rest| rest.split(')').next());
    lists.flat_map(|list| list.split(", ")).map(|name| name.trim_matches('`').to_owned()).collect()
}

fn sources(folder: &std::path::Path, text: &mut String) {
    for entry in fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() {
            sources(&path, text);
        } else if path.extension().is_some_and(|extension| extension == "rs") {
            text.push_str(&fs::read_to_string(path).unwrap());
        }
    }
}

#[test]
fn the_guide_names_tests_folders_and_crates_that_are_there() {
    let guide = fs::read_to_string(project("DEVELOPERS.md")).unwrap();
    let mut code = String::new();
    sources(&project("src"), &mut code);
    sources(&project("tests"), &mut code);
    let tests = named_tests(&guide);
    assert!(tests.len() >= 8, "{tests:?}");
    for test in tests {
        let name = test.rsplit("::").next().unwrap();
        assert!(code.contains(&format!("fn {name}(")), "the guide names test {test}, which is not there");
    }
    let manifest = fs::read_to_string(project("Cargo.toml")).unwrap();
    let lists = manifest.split("\n[").filter(|part| part.contains("dependencies]"));
    let crates = lists.flat_map(|part| part.lines().skip(1)).filter_map(|line| line.split_once(" = "));
    for (name, _) in crates {
        assert!(guide.contains(&format!("| `{name}` |")), "the guide does not say why {name} is used");
    }
    for entry in fs::read_dir(project("src")).unwrap() {
        let name = entry.unwrap().file_name().to_string_lossy().into_owned();
        let stem = name.trim_end_matches(".rs");
        if !["main", "lib"].contains(&stem) {
            assert!(guide.contains(&format!("`{stem}")), "the guide has no word on src/{name}");
        }
    }
}
