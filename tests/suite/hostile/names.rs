//! File names that steer a terminal, in every message that names a file.

use super::{TEXTS, assert_clean};
use crate::cli::drive_into;
use crate::support::STARTER;
use std::fs;

/// Names that a folder can hold.
fn names() -> impl Iterator<Item = (&'static str, String)> {
    TEXTS.iter().map(|(what, text)| {
        let name: String = text.chars().filter(|c| !['/', '\0'].contains(c)).collect();
        (*what, format!("x{name}.ron"))
    })
}

#[test]
fn no_message_about_a_file_can_steer_a_terminal() {
    for (what, name) in names() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join(&name);
        let at = path.display().to_string();
        let other = folder.path().join("other.ron").display().to_string();
        fs::write(&other, STARTER).unwrap();
        let try_all = |state: &str| {
            let out_there = format!("{at}/none.txt");
            for args in [
                &["check", &*at][..],
                &["check", "--as", "json", &at],
                &["sheet", "cables", &at],
                &["sheet", &at, &other],
                &["sheet", "cables", &other, "--out", &at],
                &["sheet", "cables", &other, "--out", &out_there],
                &["sheet", "cables", &other, "--part", &at],
                &["balance", &at, "--write"],
                &["explain", &at, &at],
                &["rooms", &other, "--in", &at],
                &["rooms", &other, "--out", &out_there],
                &["new", &at],
                &["new", &format!("{at}.2"), "--from", &at],
                &["man", &at],
                &["completions", &at],
                &[&at, &at],
                &[&format!("--{name}")],
            ] {
                let (mut out, mut err) = (Vec::new(), Vec::new());
                drive_into(folder.path(), args, &mut out, &mut err);
                let what = format!("{what}, {state}: {}", args[0]);
                assert_clean(&what, &err);
                assert_clean(&what, &out);
            }
        };
        try_all("not there");
        for (state, bytes) in [
            ("no text", &b"\xff\xfe"[..]),
            ("no job", b"x"),
            ("a flawed job", STARTER.replacen("18-5", "18-6", 1).as_bytes()),
            ("a newer job", STARTER.replacen("format: (", "format: (9", 1).as_bytes()),
            ("a job", STARTER.as_bytes()),
        ] {
            let _ = fs::remove_file(&path);
            fs::write(&path, bytes).unwrap();
            try_all(state);
        }
        fs::remove_file(&path).unwrap();
        fs::create_dir(&path).unwrap();
        try_all("a folder");
    }
}
