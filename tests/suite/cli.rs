//! The command line, driven without a process where that is enough, and with the program itself where it is not.

use crate::support::{STARTER, snapshots};
use insta::assert_snapshot;
use std::cell::RefCell;
use std::ffi::OsString;
use std::fs;
use std::io::{self, Write};
use std::os::unix::fs::PermissionsExt;
use std::path::Path;
use std::process::{Command, Stdio};
use studbay::cli::{Plugs, Report, run};
use studbay::design::Design;
use studbay::plan::balance::{Options, Question, propose, what_if};
use studbay::plan::slots::{Arrangement, arrangement};
use studbay::sheets::{NARROWED, Paired, REVISION, SHEETS};
use tempfile::TempDir;

/// What a command said and how it ended, in one text, with the folder taken out of it.
pub(crate) fn drive(folder: &Path, args: &[&str]) -> String {
    let (mut out, mut err) = (Vec::new(), Vec::new());
    let code = drive_into(folder, args, &mut out, &mut err);
    let text = |bytes| String::from_utf8(bytes).unwrap().replace(&folder.display().to_string(), "DIR");
    format!("{}--- {}--- exit {code}", text(out), text(err))
}

pub(crate) fn drive_into(folder: &Path, args: &[&str], out: &mut dyn Write, err: &mut dyn Write) -> u8 {
    let plugs = Plugs {
        open: &|_| Ok(()),
        study: &|job, _| Design::derive(job),
        check: &|job, _| Report::of(&Design::derive(job)),
        explain: &studbay::takeoff::explain,
        sheets: SHEETS,
        narrowed: NARROWED,
        revision: &REVISION,
        terminal: false,
        balance: &propose,
        what_if: &what_if,
        arrange: &arrangement,
    };
    let in_folder = |arg: &&str| OsString::from(arg.replace("DIR", &folder.display().to_string()));
    run(std::iter::once("studbay".into()).chain(args.iter().map(in_folder)), &plugs, out, err)
}

pub(crate) fn folder_with(files: &[(&str, &[u8])]) -> TempDir {
    let folder = tempfile::tempdir().unwrap();
    for (name, bytes) in files {
        fs::write(folder.path().join(name), bytes).unwrap();
    }
    folder
}

fn names(folder: &Path) -> Vec<String> {
    let mut names: Vec<String> =
        fs::read_dir(folder).unwrap().map(|e| e.unwrap().file_name().into_string().unwrap()).collect();
    names.sort();
    names
}

#[test]
fn every_command_has_help_with_an_example() {
    let folder = folder_with(&[]);
    let mut said = String::new();
    for command in [
        &["--help"][..],
        &["new"],
        &["check"],
        &["sheet"],
        &["compare"],
        &["balance"],
        &["arrange"],
        &["rooms"],
        &["prices"],
        &["completions"],
        &["man"],
    ] {
        let args = if command == ["--help"] { command.to_vec() } else { [command, &["--help"]].concat() };
        let help = drive(folder.path(), &args);
        assert!(help.contains("Example") && help.ends_with("exit 0"), "{help}");
        said.extend(["$ studbay ", &args.join(" "), "\n", &help, "\n\n"]);
    }
    let _guard = snapshots("cli").bind_to_scope();
    assert_snapshot!("help", said.trim_end());
}

#[test]
fn what_cannot_be_done_says_why() {
    let heavy = STARTER.replace("watts: 6, volts", "watts: 60, volts");
    let folder = folder_with(&[
        ("house.ron", STARTER.as_bytes()),
        ("heavy.ron", heavy.as_bytes()),
        ("flawed.ron", STARTER.replace("Output(\"PS1.1\")", "Output(\"PS9.1\")").as_bytes()),
        ("latin.ron", b"(format: (1, 0),\n// caf\xe9\n)"),
        ("\u{1b}[31m.ron", b"hello"),
    ]);
    let mut said = String::new();
    for (args, code) in [
        (vec![], 2),
        (vec!["frobnicate", "x"], 2),
        (vec!["check"], 2),
        (vec!["check", "DIR/house.ron"], 0),
        (vec!["check", "DIR/house.ron", "DIR/heavy.ron"], 1),
        (vec!["check", "DIR/flawed.ron", "DIR/heavy.ron"], 2),
        (vec!["check", "DIR/none.ron", "DIR", "/dev/null", "DIR/latin.ron", "DIR/\u{1b}[31m.ron"], 2),
        (vec!["sheet", "cable", "DIR/house.ron"], 2),
        (vec!["sheet", "cables", "DIR/house.ron", "--width", "20"], 2),
        (vec!["sheet", "cables", "DIR/house.ron", "--page-lines", "5"], 2),
        (vec!["sheet", "cables", "DIR/house.ron", "--date", "9/3/26"], 2),
        (vec!["sheet", "cables", "DIR/house.ron", "--part", "reels"], 2),
        (vec!["sheet", "cables", "DIR/house.ron", "--as", "json", "--part", "cables"], 2),
        (vec!["sheet", "cables", "DIR/house.ron", "--out", "DIR/house.ron"], 2),
        (vec!["sheet", "cables", "DIR/house.ron", "--out", "DIR/heavy.ron"], 2),
        (vec!["sheet", "cables", "DIR/house.ron", "--out", "DIR/nowhere/c.txt"], 2),
        (vec!["sheet", "cables", "DIR/house.ron", "--out", "DIR"], 2),
        (vec!["new", "DIR/house.ron"], 2),
        (vec!["new", "DIR/nowhere/house.ron"], 2),
    ] {
        let text = drive(folder.path(), &args);
        assert!(text.ends_with(&format!("exit {code}")), "{args:?}: {text}");
        said.extend(["$ studbay ", &args.join(" ").replace('\u{1b}', "<ESC>"), "\n", &text, "\n\n"]);
    }
    assert!(!said.contains('\u{1b}'));
    assert_eq!(fs::read_to_string(folder.path().join("house.ron")).unwrap(), STARTER);
    assert_eq!(fs::read_to_string(folder.path().join("heavy.ron")).unwrap(), heavy);
    let _guard = snapshots("cli").bind_to_scope();
    assert_snapshot!("refusals", said.trim_end());
}

#[test]
fn a_new_job_passes_its_checks_and_prints_each_sheet() {
    let folder = folder_with(&[]);
    let _guard = snapshots("cli").bind_to_scope();
    assert_snapshot!("new", drive(folder.path(), &["new", "DIR/house.ron"]));
    assert_eq!(names(folder.path()), ["house.ron"], "nothing is left beside it");
    assert!(drive(folder.path(), &["check", "DIR/house.ron"]).ends_with("exit 0"));
    let _guard = snapshots("sheets").bind_to_scope();
    for entry in SHEETS {
        let sheet = ["sheet", entry.name, "DIR/house.ron", "--date", "2026-03-09"];
        assert_snapshot!(format!("starter_{}", entry.name), drive(folder.path(), &sheet));
        let json = drive(folder.path(), &[&sheet[..], &["--as", "json"]].concat());
        let document = json.split("\n--- ").next().unwrap();
        assert!(serde_json::from_str::<serde_json::Value>(document).is_ok_and(|d| d.is_object()), "{json}");
    }
}

#[test]
fn a_sheet_goes_to_its_file_whole_and_in_the_form_of_its_name() {
    let folder = folder_with(&[("house.ron", STARTER.as_bytes()), ("cables.csv", b"an older sheet")]);
    let path = folder.path().join("cables.csv");
    fs::set_permissions(&path, fs::Permissions::from_mode(0o640)).unwrap();
    std::os::unix::fs::symlink("cables.csv", folder.path().join("latest.csv")).unwrap();
    let text = drive(folder.path(), &["sheet", "cables", "DIR/house.ron", "--out", "DIR/latest.csv"]);
    assert_eq!(text, "--- --- exit 0");
    assert!(fs::read_to_string(&path).unwrap().starts_with("section,done,tag,"));
    assert_eq!(fs::metadata(&path).unwrap().permissions().mode() & 0o777, 0o640);
    assert_eq!(names(folder.path()), ["cables.csv", "house.ron", "latest.csv"]);
    assert!(fs::symlink_metadata(folder.path().join("latest.csv")).unwrap().is_symlink());
    // The job under another name is still the job.
    fs::hard_link(folder.path().join("house.ron"), folder.path().join("job.txt")).unwrap();
    let text = drive(folder.path(), &["sheet", "cables", "DIR/house.ron", "--out", "DIR/job.txt"]);
    assert!(text.contains("is a job file") && text.ends_with("exit 2"), "{text}");
}

#[test]
fn a_job_opens_in_the_views_and_commands_still_run() {
    let opened = RefCell::new(Vec::new());
    let open = |path: &Path| {
        opened.borrow_mut().push(path.to_owned());
        anyhow::ensure!(!path.ends_with("bad.ron"), "line one\nline two\u{7}");
        Ok(())
    };
    let nothing = |(): &(), _: &Options| unreachable!("no balance is asked for");
    let plugs = Plugs {
        open: &open,
        study: &|_, _| (),
        check: &|_, _| Report::default(),
        explain: &|(), _| Ok(String::new()),
        terminal: false,
        sheets: &[],
        narrowed: &[],
        revision: &Paired {
            name: "revision",
            about: "",
            tables: |(), ()| Vec::new(),
            json: |(), ()| Ok(String::new()),
            others: |(), ()| std::collections::BTreeSet::new(),
        },
        balance: &nothing,
        what_if: &|(), _: &Question, _| Err(Vec::new()),
        arrange: &|()| Arrangement::default(),
    };
    let go = |args: &[&str]| {
        let (mut out, mut err) = (Vec::new(), Vec::new());
        let code = run(args.iter().map(OsString::from), &plugs, &mut out, &mut err);
        (code, String::from_utf8(err).unwrap())
    };
    assert_eq!(go(&["studbay", "house.ron"]), (0, String::new()));
    assert_eq!(go(&["studbay", "./check"]).0, 0);
    assert_eq!(go(&["studbay", "bad.ron"]), (2, "studbay: line one\nstudbay: line two\n".into()));
    assert_eq!(go(&["studbay", "house.ron", "check"]).0, 2);
    assert_eq!(go(&["studbay"]).0, 2);
    assert_eq!(*opened.borrow(), ["house.ron", "./check", "bad.ron"].map(Path::new));
}

/// An output whose reader has gone, or whose disk is full.
struct Failing(io::ErrorKind);

impl Write for Failing {
    fn write(&mut self, _: &[u8]) -> io::Result<usize> {
        Err(self.0.into())
    }
    fn flush(&mut self) -> io::Result<()> {
        Ok(())
    }
}

#[test]
fn a_reader_that_goes_away_is_no_failure_and_a_full_disk_is() {
    let folder = folder_with(&[("house.ron", STARTER.as_bytes())]);
    for args in [&["--help"][..], &["check", "DIR/house.ron"], &["sheet", "cables", "DIR/house.ron"]] {
        let mut err = Vec::new();
        assert_eq!(drive_into(folder.path(), args, &mut Failing(io::ErrorKind::BrokenPipe), &mut err), 0);
        assert_eq!(err, b"");
        assert_eq!(drive_into(folder.path(), args, &mut Failing(io::ErrorKind::StorageFull), &mut err), 2);
        assert!(String::from_utf8(err).unwrap().starts_with("studbay: cannot write to the standard output"));
    }
}

#[test]
fn the_program_itself_reads_pipes_and_survives_closed_ones() {
    let folder = folder_with(&[("house.ron", STARTER.as_bytes())]);
    let program = || Command::new(env!("CARGO_BIN_EXE_studbay"));
    let mut child = program()
        .args(["check", "/dev/stdin"])
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    child.stdin.take().unwrap().write_all(STARTER.as_bytes()).unwrap();
    let ended = child.wait_with_output().unwrap();
    assert_eq!((ended.status.code(), ended.stderr.as_slice()), (Some(0), &b""[..]));
    assert_eq!(ended.stdout, b"/dev/stdin: no findings\n");

    let (reader, writer) = io::pipe().unwrap();
    drop(reader);
    let mut sheet = program();
    sheet.args(["sheet", "voltages"]).arg(folder.path().join("house.ron")).stdout(writer);
    let ended = sheet.stderr(Stdio::piped()).spawn().unwrap().wait_with_output().unwrap();
    assert_eq!((ended.status.code(), ended.stderr.as_slice()), (Some(0), &b""[..]));
}

#[test]
fn a_file_of_more_than_8_mb_is_refused_unread() {
    let folder = folder_with(&[]);
    let path = folder.path().join("huge.ron");
    fs::File::create(&path).unwrap().set_len(8 * 1024 * 1024 + 1).unwrap();
    let text = drive(folder.path(), &["check", "DIR/huge.ron"]);
    assert!(
        text.contains("'DIR/huge.ron' holds more than 8388608 bytes") && text.ends_with("exit 2"),
        "{text}"
    );
}
