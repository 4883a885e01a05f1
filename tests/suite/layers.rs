//! The one-way flow, held on the source itself: a wing looks only to wings before it.

use crate::support::project;
use std::fs;
use std::path::{Path, PathBuf};

/// The wings, each after all that it may look to.
const WINGS: [&str; 20] = [
    "units",
    "format",
    "working",
    "job",
    "standards",
    "network",
    "study",
    "checks",
    "design",
    "explain",
    "remedy",
    "plan",
    "compare",
    "schedule",
    "sheets",
    "intake",
    "store",
    "terminal",
    "tui",
    "cli",
];

/// Every source file with the wing it belongs to.
fn files() -> Vec<(String, PathBuf, String)> {
    let mut found = Vec::new();
    walk(&project("src"), &mut found);
    let of = |path: PathBuf| {
        let inside = path.strip_prefix(project("src")).unwrap().to_owned();
        let first = inside.components().next().unwrap().as_os_str().to_string_lossy().into_owned();
        (first.trim_end_matches(".rs").to_owned(), inside, fs::read_to_string(&path).unwrap())
    };
    found.into_iter().map(of).collect()
}

fn walk(folder: &Path, found: &mut Vec<PathBuf>) {
    for entry in fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() {
            walk(&path, found);
        } else if path.extension().is_some_and(|extension| extension == "rs") {
            found.push(path);
        }
    }
}

/// The wings a text names as `crate::WING`, in a doc link too.
fn looks_to(text: &str) -> Vec<&str> {
    let after = text.split("crate::").skip(1);
    after
        .filter_map(|rest| rest.split(|c: char| !c.is_ascii_lowercase()).next())
        .filter(|n| !n.is_empty())
        .collect()
}

#[test]
fn a_wing_looks_only_to_wings_before_it() {
    let order = |wing: &str| WINGS.iter().position(|name| *name == wing);
    for (wing, path, text) in files() {
        if ["main", "lib"].contains(&wing.as_str()) {
            continue;
        }
        let here = order(&wing).unwrap_or_else(|| panic!("{wing} has no place in the order of wings"));
        assert!(
            !text.contains("use crate::{"),
            "{}: one wing to a use, so that this test sees it",
            path.display()
        );
        for other in looks_to(&text) {
            if let Some(there) = order(other) {
                assert!(there <= here, "{} looks to {other}, which comes after {wing}", path.display());
            }
        }
    }
}

#[test]
fn only_the_terminal_and_the_views_know_a_screen() {
    for (wing, path, text) in files() {
        let knows = text.contains("ratatui");
        assert!(!knows || ["terminal", "tui"].contains(&wing.as_str()), "{} names ratatui", path.display());
    }
}

#[test]
fn only_the_store_touches_files() {
    for (wing, path, text) in files() {
        let code = text.split("#[cfg(test)]").next().unwrap_or_default();
        let touches = ["std::fs", "File::open", "File::create", "OpenOptions", "fs::write"];
        let found = touches.iter().find(|call| code.contains(**call));
        assert!(
            found.is_none() || wing == "store" || wing == "terminal",
            "{} uses {found:?}",
            path.display()
        );
    }
}

#[test]
fn only_the_formatter_rounds_what_is_shown() {
    for (wing, path, text) in files() {
        let code = text.split("#[cfg(test)]").next().unwrap_or_default();
        // `{:.2}` and `{value:.1}`, with or without a width.
        let rounds = code.match_indices(":.").any(|(at, _)| {
            let (before, after) = (&code[..at], &code[at + 2..]);
            let open = before.rfind('{').is_some_and(|open| !before[open..].contains(['}', '"', '\n']));
            open && after.starts_with(|c: char| c.is_ascii_digit() || c == '*')
        });
        assert!(!rounds || ["format", "units"].contains(&wing.as_str()), "{} rounds", path.display());
    }
}

#[test]
fn no_file_is_longer_than_can_be_read() {
    for (_, path, text) in files() {
        assert!(text.lines().count() <= 600, "{} has {} lines", path.display(), text.lines().count());
    }
}
