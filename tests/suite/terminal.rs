//! The program itself in a pseudo-terminal: opens, shows, and gives the terminal back however it ends.

use crate::pty::{Opened, PATIENCE, command, job, program};
use portable_pty::{PtySize, native_pty_system};
use rustix::process::Signal;
use rustix::termios::tcgetattr;
use std::io::Read;
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};

#[test]
fn the_views_open_turn_find_help_and_leave() {
    let mut opened = Opened::new(&job("two-story"), (80, 24), &[]);
    opened.shows("Two-story house on Larkspur Lane");
    opened.shows("[1 Runs]");
    assert!(opened.parser.screen().alternate_screen());
    let raw = tcgetattr(&opened.device).unwrap();
    assert_ne!(format!("{raw:?}"), format!("{:?}", opened.before), "keys come one by one");
    for view in [
        "[2 Loading]",
        "[3 Slots]",
        "[4 Cables]",
        "[5 Findings]",
        "[6 Parts]",
        "[7 Riser]",
        "[8 Plan]",
        "[9 Done]",
        "[0 Site]",
        "[1 Runs]",
    ] {
        opened.press("\t");
        opened.shows(view);
    }
    opened.press("\x1b[Z");
    opened.shows("[0 Site]");
    opened.press("4/");
    opened.shows("find:");
    opened.press("HR17");
    opened.shows("find: HR17");
    opened.press("\r");
    opened.until("find: HR17", false);
    opened.shows("HR17");
    opened.press("?");
    opened.shows("Keys in the view Cables");
    opened.press("\x1b");
    opened.until("Keys in the view", false);
    opened.press("q");
    assert_eq!(opened.ended(), 0);
    opened.is_restored("q");
}

#[test]
fn however_it_ends_the_terminal_is_as_it_was() {
    for (how, end) in [
        ("Ctrl-C", None),
        ("SIGTERM", Some(Signal::TERM)),
        ("SIGHUP", Some(Signal::HUP)),
        ("SIGINT", Some(Signal::INT)),
    ] {
        let mut opened = Opened::new(&job("cottage"), (80, 24), &[]);
        opened.shows("[1 Runs]");
        match end {
            Some(signal) => opened.signal(signal),
            None => opened.press("\x03"),
        }
        assert_eq!(opened.ended(), 0, "{how}");
        opened.is_restored(how);
    }
}

#[test]
fn a_panic_gives_the_terminal_back_before_it_speaks() {
    let mut opened = Opened::new(&job("cottage"), (80, 24), &[("STUDBAY_PANIC", "draw")]);
    assert_ne!(opened.ended(), 0);
    opened.is_restored("panic");
    // On the first screen, where it can be read.
    assert!(opened.text().contains("STUDBAY_PANIC asked for this"), "{}", opened.text());
}

#[test]
fn a_lost_line_ends_it() {
    let pair = native_pty_system().openpty(PtySize::default()).unwrap();
    let mut child = pair.slave.spawn_command(command(&job("cottage"), &[])).unwrap();
    let mut reader = pair.master.try_clone_reader().unwrap();
    let mut seen = Vec::new();
    while !String::from_utf8_lossy(&seen).contains("[1 Runs]") {
        let mut bytes = [0; 4096];
        let count = reader.read(&mut bytes).unwrap();
        seen.extend(&bytes[..count]);
    }
    // With the last handle on this side the line is gone: no signal but the system's, no reader, nobody typing.
    drop((reader, pair));
    let end = Instant::now() + PATIENCE;
    while child.try_wait().unwrap().is_none() {
        if Instant::now() > end {
            child.kill().unwrap();
            panic!("it lives on without a line");
        }
        std::thread::sleep(Duration::from_millis(20));
    }
}

#[test]
fn it_stays_where_nothing_could_continue_it() {
    let mut opened = Opened::new(&job("cottage"), (80, 24), &[]);
    opened.shows("[1 Runs]");
    // The program leads its session: stopped, it would hang for good.
    opened.press("\x1a2");
    opened.shows("[2 Loading]");
    opened.press("q");
    assert_eq!(opened.ended(), 0);
    opened.is_restored("q after Ctrl-Z");
}

#[test]
fn windows_of_any_size_are_drawn_and_changed() {
    for (size, shown) in
        [((60, 20), "[1 Runs]"), ((40, 10), "[1 Runs]"), ((20, 5), "studbay: make this"), ((1, 1), "~")]
    {
        let mut opened = Opened::new(&job("two-story"), size, &[]);
        opened.shows(shown);
        let wide = PtySize { rows: 24, cols: 80, pixel_width: 0, pixel_height: 0 };
        opened.parser.screen_mut().set_size(24.try_into().unwrap(), 80.try_into().unwrap());
        opened.master.resize(wide).unwrap();
        opened.shows("[2 Loading]".trim_matches(['[', ']']));
        opened.shows("Two-story house on Larkspur Lane");
        opened.press("q");
        assert_eq!(opened.ended(), 0);
        opened.is_restored("q after a resize");
    }
}

/// The numbers of every `m` sequence.
fn pens(raw: &[u8]) -> Vec<u16> {
    let text = String::from_utf8_lossy(raw);
    let sequences = text.split("\x1b[").skip(1).filter_map(|rest| {
        let end = rest.find(|c: char| !c.is_ascii_digit() && c != ';' && c != ':')?;
        rest[end..].starts_with('m').then(|| &rest[..end])
    });
    sequences.flat_map(|s| s.split([';', ':'])).filter_map(|number| number.parse().ok()).collect()
}

#[test]
fn without_colour_no_colour_is_sent() {
    let mut opened = Opened::new(&job("usual-mistakes"), (80, 24), &[("NO_COLOR", "1")]);
    opened.shows("[1 Runs]");
    for key in ["2", "3", "4", "5", "j", "?"] {
        opened.press(key);
        opened.take(Duration::from_millis(300));
    }
    opened.shows("Keys in the view Findings");
    opened.press("q");
    opened.ended();
    let pens = pens(&opened.raw);
    assert!(!pens.is_empty(), "bold and reverse carry the meaning");
    let colour = |number: &u16| matches!(number, 30..=49 | 90..=107);
    assert!(!pens.iter().any(colour), "{pens:?}");
}

#[test]
fn without_colour_a_form_reads_the_same() {
    let looks = [("NO_COLOR", "1"), ("COLORTERM", "truecolor")].map(|env| {
        let mut opened = Opened::new(&job("two-story"), (80, 24), &[env]);
        let mut seen = Vec::new();
        for (keys, shown) in [("je", "Change room"), ("\tx", "!! "), ("\x1b", "Esc again drops it")] {
            opened.press(keys);
            opened.shows(shown);
            // The cursor's line is drawn with the rest of the frame, the keys last.
            opened.shows("Enter:take");
            while opened.take(Duration::from_millis(100)) {}
            seen.push((opened.text(), opened.parser.screen().cursor_position()));
        }
        opened.press("\x1b");
        opened.until("Change room", false);
        opened.press("q");
        assert_eq!(opened.ended(), 0);
        seen
    });
    assert_eq!(looks[0], looks[1]);
}

#[test]
fn in_the_c_locale_only_ascii_is_sent() {
    let mut opened = Opened::new(&job("two-story"), (132, 43), &[("LANG", "C")]);
    opened.shows("[1 Runs]");
    for (key, view) in [("2", "[2 Loading]"), ("3", "[3 Slots]"), ("4", "[4 Cables]"), ("5", "[5 Findings]")]
    {
        opened.press(key);
        opened.shows(view);
    }
    opened.press("?");
    opened.shows("Keys in the view");
    opened.press("\x1b");
    opened.until("Keys in the view", false);
    // A form with a reason in it; what is typed is dropped.
    opened.press("1");
    opened.shows("[1 Runs]");
    opened.press("je");
    opened.shows("Change room");
    opened.press("\t\u{b2}");
    opened.shows("!! ");
    opened.press("\x1b");
    opened.shows("Esc again drops it");
    opened.press("\x1b");
    opened.until("Change room", false);
    opened.press("q");
    assert_eq!(opened.ended(), 0);
    assert!(opened.raw.iter().all(|byte| *byte < 127), "{}", String::from_utf8_lossy(&opened.raw));
}

#[test]
fn where_nothing_can_be_shown_it_says_so_and_what_works() {
    let mut opened = Opened::new(&job("cottage"), (80, 24), &[("TERM", "dumb")]);
    assert_eq!(opened.ended(), 2);
    let text = opened.text().replace('\n', " ");
    assert!(text.contains("TERM is 'dumb'") && text.contains("studbay sheet"), "{text}");
    assert!(!opened.raw.contains(&0x1b), "a terminal that places no text gets no sequence");
    opened.is_restored("dumb");

    let ended = Command::new(program())
        .arg(job("cottage"))
        .stdin(Stdio::null())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .output()
        .unwrap();
    assert_eq!((ended.status.code(), ended.stdout.as_slice()), (Some(2), &b""[..]));
    let said = String::from_utf8(ended.stderr).unwrap();
    assert!(said.contains("must be a terminal") && said.contains("studbay check"), "{said}");
    assert!(!said.contains('\x1b'));
}

#[test]
fn a_job_that_cannot_be_read_leaves_the_terminal_alone() {
    let mut opened = Opened::new("/nonexistent/house.ron", (80, 24), &[]);
    assert_eq!(opened.ended(), 2);
    assert!(opened.text().contains("cannot read '/nonexistent/house.ron'"), "{}", opened.text());
    assert!(!opened.raw.contains(&0x1b));
    opened.is_restored("no file");
}
