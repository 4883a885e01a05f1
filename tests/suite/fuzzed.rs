//! What the fuzz targets begin with and what they once found, through the same functions: a mend stays one.

#[path = "../fuzz/src/inputs.rs"]
#[expect(unreachable_pub, reason = "the same file is a part of the fuzz targets")]
mod inputs;

use crate::support::{STARTER, project};
use std::fs;

type Target = (&'static str, fn(&[u8]));

const TARGETS: [Target; 7] = [
    ("job", inputs::job),
    ("keys", inputs::keys),
    ("log", inputs::log),
    ("prices", inputs::prices),
    ("readings", inputs::readings),
    ("table", inputs::table),
    ("typed", inputs::typed),
];

#[test]
fn what_was_found_once_stays_mended() {
    for (name, run) in TARGETS {
        let mut count = 0;
        for folder in ["begin", "found"] {
            let folder = project(&format!("tests/fuzz/{folder}/{name}"));
            for file in fs::read_dir(folder).into_iter().flatten() {
                run(&fs::read(file.unwrap().path()).unwrap());
                count += 1;
            }
        }
        // A job begins with the starter, which is no file of the targets' own.
        if name == "job" {
            run(STARTER.as_bytes());
            count += 1;
        }
        assert!(count > 0, "nothing is tried on {name}");
    }
}

#[test]
fn every_target_is_tried_here() {
    let mut files: Vec<String> = fs::read_dir(project("tests/fuzz/fuzz_targets"))
        .unwrap()
        .map(|file| file.unwrap().path().file_stem().unwrap().to_string_lossy().into_owned())
        .collect();
    files.sort();
    assert_eq!(files, TARGETS.map(|(name, _)| name.to_owned()));
}
