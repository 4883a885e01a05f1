//! What others wrote and the program is made of: licences, where it comes from, and that it stays the same.
//!
//! Known weaknesses of a version cannot be looked up without a network; the versions are pinned, so that a look into
//! a list of them stays true until the lock file changes.

use crate::support::project;
use serde_json::Value;
use std::fs;
use std::process::Command;

/// Licences under which a part may be used in a program that is given away: they ask for no more than a notice.
const ALLOWED: &[&str] = &[
    "0BSD",
    "Apache-2.0",
    "Apache-2.0 WITH LLVM-exception",
    "BSD-2-Clause",
    "BSD-3-Clause",
    "BSL-1.0",
    "CC0-1.0",
    "ISC",
    "MIT",
    "MIT-0",
    "Unicode-3.0",
    "Unlicense",
    "Zlib",
];

/// Whether an SPDX expression can be met with what is allowed; a `/` is how older packages write OR.
fn allowed(expression: &str) -> bool {
    let spaced = expression.replace('/', " OR ").replace('(', " ( ").replace(')', " ) ");
    let mut words = spaced.split_whitespace().peekable();
    let met = any(&mut words);
    met && words.next().is_none() && !expression.trim_end().ends_with("OR")
}

type Words<'a> = std::iter::Peekable<std::str::SplitWhitespace<'a>>;

fn any(words: &mut Words<'_>) -> bool {
    let mut met = all(words);
    while words.next_if_eq(&"OR").is_some() {
        // Both sides are read, whichever holds.
        met |= all(words);
    }
    met
}

fn all(words: &mut Words<'_>) -> bool {
    let mut met = one(words);
    while words.next_if_eq(&"AND").is_some() {
        met &= one(words);
    }
    met
}

fn one(words: &mut Words<'_>) -> bool {
    if words.next_if_eq(&"(").is_some() {
        let met = any(words);
        return words.next() == Some(")") && met;
    }
    let mut licence = words.next().unwrap_or_default().to_owned();
    if words.next_if_eq(&"WITH").is_some() {
        licence = format!("{licence} WITH {}", words.next().unwrap_or_default());
    }
    ALLOWED.contains(&&*licence)
}

#[test]
fn licence_expressions_are_read() {
    for fine in [
        "MIT",
        "MIT OR GPL-3.0",
        "Apache-2.0/MIT",
        "(MIT OR Apache-2.0) AND Unicode-3.0",
        "GPL-3.0 OR (MIT AND ISC)",
        "Apache-2.0 WITH LLVM-exception OR GPL-2.0",
    ] {
        assert!(allowed(fine), "{fine}");
    }
    for not in ["", "GPL-3.0", "MIT AND GPL-3.0", "(MIT", "MIT OR", "Apache-2.0 WITH other", "MIT ISC"] {
        assert!(!allowed(not), "{not}");
    }
}

fn metadata() -> Value {
    let host = Command::new("rustc").arg("-vV").output().unwrap();
    let host = String::from_utf8(host.stdout).unwrap();
    let host = host.lines().find_map(|line| line.strip_prefix("host: ")).unwrap().to_owned();
    let cargo = std::env::var("CARGO").unwrap_or_else(|_| "cargo".into());
    let output = Command::new(cargo)
        .args(["metadata", "--format-version=1", "--locked", "--offline", "--filter-platform", &host])
        .current_dir(project(""))
        .output()
        .unwrap();
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    serde_json::from_slice(&output.stdout).unwrap()
}

fn word<'a>(package: &'a Value, key: &str) -> &'a str {
    package[key].as_str().unwrap_or_default()
}

/// A version as numbers.
fn version(text: &str) -> Vec<u32> {
    text.split('.').map(|part| part.parse().unwrap_or(0)).collect()
}

#[test]
fn every_part_has_a_licence_a_known_source_and_runs_on_the_stated_rust() {
    let metadata = metadata();
    let stated = version(env!("CARGO_PKG_RUST_VERSION"));
    let packages = metadata["packages"].as_array().unwrap();
    assert!(packages.len() > 50);
    let mut wrong = Vec::new();
    for package in packages {
        let name = format!("{} {}", word(package, "name"), word(package, "version"));
        if !allowed(word(package, "license")) {
            wrong.push(format!("{name}: licence '{}'", word(package, "license")));
        }
        let source = word(package, "source");
        let own = source.is_empty() && word(package, "name") == "studbay";
        if !own && source != "registry+https://github.com/rust-lang/crates.io-index" {
            wrong.push(format!("{name}: comes from '{source}'"));
        }
        if version(word(package, "rust_version")) > stated {
            wrong.push(format!("{name}: needs Rust {}", word(package, "rust_version")));
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn every_version_is_pinned_to_its_bytes() {
    for lock in ["Cargo.lock", "tests/fuzz/Cargo.lock"] {
        let lock = fs::read_to_string(project(lock)).unwrap();
        let packages = lock.split("[[package]]").skip(1);
        let loose: Vec<&str> = packages
            .filter(|package| !package.contains("\nchecksum = "))
            .filter_map(|package| package.split('"').nth(1))
            .filter(|name| !["studbay", "studbay-fuzz"].contains(name))
            .collect();
        assert!(loose.is_empty(), "{loose:?}");
    }
}

/// The compiler that builds this is the stated one or a later one.
#[test]
fn the_stated_rust_is_the_least_that_is_tested() {
    let manifest = fs::read_to_string(project("Cargo.toml")).unwrap();
    assert!(manifest.contains("unsafe_code = \"forbid\""));
    assert!(manifest.contains(&format!("rust-version = \"{}\"", env!("CARGO_PKG_RUST_VERSION"))));
    let rustc = Command::new("rustc").arg("--version").output().unwrap();
    let rustc = String::from_utf8(rustc.stdout).unwrap();
    let running = rustc.split_whitespace().nth(1).unwrap_or_default();
    assert!(version(running) >= version(env!("CARGO_PKG_RUST_VERSION")), "{running}");
}
