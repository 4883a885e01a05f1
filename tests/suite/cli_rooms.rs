//! The commands about rooms, starting from another job, completions and the manual.

use crate::cli::{drive, folder_with};
use crate::support::{STARTER, snapshots};
use insta::assert_snapshot;
use std::fs;

const TABLE: &str = "level,room,area,ceiling,box,control,lights,fixture\n\
    Main floor,Den,200 ft2,9 ft,Den door,dim-10,5,down-6\n\
    Main floor,Hall,80 ft2,9 ft,Hall door,dim-10,propose,down-6\n";

#[test]
fn a_table_goes_into_a_job_and_out_again() {
    let wrong = TABLE.replace("200 ft2", "200 yd").replace("5,down-6", "5,down-9");
    let folder = folder_with(&[
        ("house.ron", STARTER.as_bytes()),
        ("rooms.csv", TABLE.as_bytes()),
        ("wrong.csv", wrong.as_bytes()),
    ]);
    let path = folder.path().join("house.ron");
    let mut said = String::new();
    for (args, code) in [
        (&["rooms", "DIR/house.ron", "--in", "DIR/rooms.csv"][..], 0),
        (&["rooms", "DIR/house.ron", "--in", "DIR/wrong.csv", "--write"], 2),
        (&["rooms", "DIR/house.ron", "--write"], 2),
        (&["rooms", "DIR/house.ron", "--out", "DIR/house.ron"], 2),
        (&["rooms", "DIR/house.ron", "--in", "DIR/none.csv"], 2),
    ] {
        let text = drive(folder.path(), args);
        assert!(text.ends_with(&format!("exit {code}")), "{args:?}: {text}");
        assert_eq!(fs::read_to_string(&path).unwrap(), STARTER, "{args:?} writes nothing");
        said.extend(["$ studbay ", &args.join(" "), "\n", &text, "\n\n"]);
    }
    for args in [
        &["rooms", "DIR/house.ron", "--in", "DIR/rooms.csv", "--write"][..],
        &["check", "DIR/house.ron"],
        &["rooms", "DIR/house.ron", "--out", "DIR/out.csv"],
        &["rooms", "DIR/house.ron"],
        &["new", "DIR/next.ron", "--from", "DIR/house.ron"],
        &["new", "DIR/next.ron", "--from", "DIR/house.ron"],
        &["man", "frobnicate"],
    ] {
        let text = drive(folder.path(), args);
        said.extend(["$ studbay ", &args.join(" "), "\n", &text, "\n\n"]);
    }
    assert_eq!(fs::read_to_string(folder.path().join("house.ron.orig")).unwrap(), STARTER);
    let printed = drive(folder.path(), &["rooms", "DIR/house.ron"]);
    let written = fs::read_to_string(folder.path().join("out.csv")).unwrap();
    assert!(printed.starts_with(&written) && written.contains("Den door"));
    assert!(drive(folder.path(), &["check", "DIR/next.ron"]).ends_with("exit 0"));
    let _guard = snapshots("cli").bind_to_scope();
    assert_snapshot!("rooms", said.trim_end());
}

#[test]
fn a_shell_and_a_manual_get_what_the_arguments_are() {
    let folder = folder_with(&[]);
    for shell in ["bash", "zsh", "fish", "elvish", "powershell"] {
        let script = drive(folder.path(), &["completions", shell]);
        assert!(script.ends_with("exit 0"), "{script}");
        for word in ["rooms", "completions", "check", "cables", "--page-lines"] {
            // Some shells are not told what may stand in a place without a flag, and one names flags without dashes.
            let told = word != "cables" || ["bash", "zsh"].contains(&shell);
            let word = if shell == "fish" { word.trim_start_matches('-') } else { word };
            assert!(told || !script.contains(word), "{shell} knows {word} now: test it");
            if !told {
                continue;
            }
            assert!(script.contains(word), "{shell} does not know {word}");
        }
    }
    let main = drive(folder.path(), &["man"]);
    for name in ["new", "check", "sheet", "rooms", "completions", "man"] {
        assert!(main.contains(&format!("studbay\\-{name}(1)")), "{main}");
        let page = drive(folder.path(), &["man", name]);
        assert!(page.contains(&format!(".TH studbay-{name} 1")) && page.ends_with("exit 0"), "{page}");
    }
    // Every column of the table of rooms stands in its page.
    let page = drive(folder.path(), &["man", "rooms"]);
    let missing: Vec<_> = studbay::intake::Col::ALL.iter().filter(|c| !page.contains(c.key())).collect();
    assert!(missing.is_empty(), "{missing:?}");
}
