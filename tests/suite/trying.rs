//! What helps against the finding under the cursor, in the views.

use crate::desk::Desk;
use crate::pty::Opened;

/// Tries out what the loop would try out aside.
fn tried(desk: &mut Desk) {
    let trial = desk.app.trial().expect("there is a finding to try remedies against");
    desk.app.tried(trial.run());
    desk.draw();
}

#[test]
fn what_helps_is_shown_once_it_was_tried_and_until_the_job_changes() {
    let mut desk = Desk::new("usual-mistakes");
    desk.press("5/slot-range\r");
    let general = desk.screen();
    tried(&mut desk);
    assert!(desk.screen().contains("do: move PS3 to slot 4, or move supply PS3"), "{}", desk.screen());
    assert_ne!(desk.screen(), general);
    assert!(desk.app.trial().is_none(), "it is known now");
    // All of it stands in the working of the line, one under the other.
    desk.press("E");
    assert!(desk.screen().contains("- move PS3 to slot 4\n"), "{}", desk.screen());
    desk.press("\u{1b}");
    // What is tried while the job changes says nothing of it any more.
    desk.press("j");
    let other = desk.app.trial().expect("another finding");
    desk.press("2");
    desk.find("HR02");
    desk.press("P");
    assert_ne!(*desk.job(), desk.before, "{}", desk.screen());
    desk.app.tried(other.run());
    desk.press("5");
    assert!(desk.app.trial().is_some(), "what was tried before the change is not known after it");
    assert!(desk.screen().contains("do: "), "{}", desk.screen());
}

#[test]
fn in_a_terminal_it_comes_by_itself() {
    let mut opened = Opened::new(&crate::pty::job("usual-mistakes"), (80, 24), &[]);
    opened.shows("[1 Runs]");
    opened.press("5");
    opened.shows("[5 Findings]");
    opened.press("/slot-range\r");
    opened.shows("do: move PS3 to slot 4, or move supply PS3");
    opened.press("q");
    assert_eq!(opened.ended(), 0);
}
