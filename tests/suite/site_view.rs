//! The view of the site: how it looks, and how fast what is read out is entered.

use crate::support::snapshots;
use crate::views::Shown;
use insta::assert_snapshot;
use studbay::job::Id;
use studbay::site::{Verdict, diagnose, line, lines};

#[test]
fn what_is_read_out_is_entered_row_by_row() {
    let mut shown = Shown::new("cottage", 80, 24);
    shown.press("0");
    let mut text = format!("=== as it opens\n{}", shown.faces());
    shown.press(" ");
    assert!(shown.text().contains("first say who enters it: press D"), "{}", shown.text());
    shown.press("Dbench 18 MO\r");
    assert!(shown.text().contains("from now on: bench, MO"), "{}", shown.text());
    // The wall box, then its home run: marks typed, and the tests stand under it.
    shown.press(" ");
    shown.press("\r");
    text += &format!("=== the foot marks\n{}", shown.faces());
    shown.press("412 371\r");
    let home =
        |shown: &Shown| line(shown.app.design(), &Id::new("HR01").unwrap()).unwrap().site.pulled().unwrap();
    assert_eq!(home(&shown).to_string(), "41 ft");
    shown.press("\r0.26\r0.26\r");
    text += &format!("=== readings one after the other\n{}", shown.faces());
    shown.press("low\r");
    assert!(shown.text().contains("'low' is no figure"), "{}", shown.text());
    shown.press("\x1b");
    // One key for each that is as expected.
    shown.press("     ");
    text += &format!("=== as expected\n{}", shown.faces());
    let design = shown.app.design();
    let home = line(design, &Id::new("HR01").unwrap()).unwrap();
    assert_eq!(home.readings[0].to_string(), "conductor red: 0.26 with bench at 18 C by MO");
    assert_eq!(home.readings.len(), 7);
    assert_eq!(diagnose(design, &home).verdict, Verdict::Sound);
    shown.press("u");
    assert_eq!(line(shown.app.design(), &Id::new("HR01").unwrap()).unwrap().readings.len(), 6);
    shown.press("O");
    text += &format!("=== open fixtures\n{}", shown.faces());
    let _guard = snapshots("views").bind_to_scope();
    assert_snapshot!("site_80x24", text);
}

#[test]
fn a_whole_house_is_entered_with_one_key_a_row() {
    let mut shown = Shown::new("two-story", 80, 24);
    shown.press("0DMO\rg");
    let count = lines(shown.app.design()).len();
    let mut keys = 0;
    // Boxes and cables are marked as pulled from the first to the last; each press goes on to the next row.
    while lines(shown.app.design()).iter().any(|line| line.site.done.pulled.is_none()) {
        let before = shown.app.changed_since_save();
        shown.press(" ");
        keys += 1;
        assert!(keys < 4000, "it goes on ({before})");
    }
    let design = shown.app.design();
    let sound = lines(design).iter().filter(|line| diagnose(design, line).verdict == Verdict::Sound).count();
    // Each cable's own row, then all its readings, without a key between them.
    assert!(sound + 1 >= count - 1, "{sound} of {count} cables read with {keys} keys");
}
