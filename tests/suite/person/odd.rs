//! Odd surroundings: nothing said about home, terminal or user, and closed ends where a terminal should be.

use super::{folder_with, house, text};
use crate::pty::{Opened, command, program};
use crate::support::STARTER;
use std::fs;
use std::process::Command;
use studbay::job::read;

/// Adds a level by its form with the first keys there are, saves and leaves.
fn work_and_leave(mut opened: Opened, what: &str) {
    opened.shows("[1 Runs]");
    opened.press("1Ar\r");
    opened.shows("not saved");
    opened.press("s");
    opened.until("not saved", false);
    opened.press("q");
    assert_eq!(opened.ended(), 0, "{what}");
    opened.is_restored(what);
}

#[test]
fn without_a_home_a_user_or_a_terminal_s_name_a_job_is_edited_and_saved() {
    type Change = (&'static str, &'static str);
    let odd: [(&str, &[&str], &[Change]); 5] = [
        ("nothing said", &["TERM", "LANG", "HOME", "USER", "PATH"], &[]),
        ("a home that is not there", &["USER"], &[("HOME", "/nonexistent"), ("TMPDIR", "/nonexistent")]),
        ("an empty name of a terminal", &[], &[("TERM", "")]),
        ("a terminal nobody knows", &[], &[("TERM", "\u{1b}[2J-none"), ("LANG", "xx_YY")]),
        ("a hostile user", &[], &[("USER", "\u{1b}]0;x\u{7}\u{202e}"), ("TZ", "Nowhere/Never")]),
    ];
    for (what, less, more) in odd {
        let (_folder, path) = folder_with(&text(&read::from_str("starter", STARTER).unwrap().0));
        let mut run = command(&path.display().to_string(), more);
        for name in less {
            run.env_remove(name);
        }
        work_and_leave(Opened::start(run, (80, 24)), what);
        let (job, _) = read::from_str("house", &fs::read_to_string(&path).unwrap()).unwrap();
        assert_eq!(job.levels[0].rooms.len(), 3, "{what}");
    }
}

/// The program with some of its three ends closed, through a shell, since nothing safe closes them here.
fn with_closed(ends: &str, args: &[&str]) -> std::process::Output {
    Command::new("sh")
        .args(["-c", &format!("exec \"$0\" \"$@\" {ends}"), &program()])
        .args(args)
        .output()
        .unwrap()
}

#[test]
fn with_closed_ends_nothing_hangs_and_what_is_written_is_whole() {
    let (folder, path) = folder_with(&house::EMPTY.replace("House", "Closed"));
    let (job, out) = (path.display().to_string(), folder.path().join("cables.txt").display().to_string());
    for ends in ["<&-", ">&-", "2>&-", "<&- >&-", "<&- >&- 2>&-"] {
        assert_eq!(with_closed(ends, &["check", &job]).status.code(), Some(0), "{ends}");
        let sheet = with_closed(ends, &["sheet", "cables", &job, "--out", &out]);
        assert_eq!(sheet.status.code(), Some(0), "{ends}");
        assert!(fs::read_to_string(&out).unwrap().contains("Closed"), "{ends}");
        fs::remove_file(&out).unwrap();
        let views = with_closed(ends, &[&job]);
        assert_eq!(views.status.code(), Some(2), "{ends}");
        let said = String::from_utf8(views.stderr).unwrap();
        assert!(
            ends.contains("2>") || said.contains("terminal") && said.contains("studbay check"),
            "{ends}: {said}"
        );
        assert_eq!(with_closed(ends, &["check", "/nonexistent"]).status.code(), Some(2), "{ends}");
    }
    assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 1);
}
