//! Every form, menu, question and error as it is drawn at 80 by 24, without a terminal.

use crate::support::{sample, snapshots};
use crate::views::Shown;
use insta::assert_snapshot;
use studbay::job::history::Entry;
use studbay::terminal::{Key, KeyCode};
use studbay::tui::{App, Ledger, NoLedger, NotKept, Question};

/// A sample after these keys.
fn shown(keys: &str) -> Shown {
    let mut shown = Shown::new("cottage", 80, 24);
    shown.press(keys);
    shown
}

/// The screens after each of these keys, under a name.
fn screens(all: &[(&str, &str)]) -> String {
    let screen = |(name, keys): &(&str, &str)| format!("=== {name}\n{}", shown(keys).faces());
    all.iter().map(screen).collect::<Vec<_>>().concat()
}

/// Where a thing of each kind stands: its name, the keys to it, and those that add one like it from there.
const HOUSE: [(&str, &str, &str); 9] = [
    ("level", "1", "Av"),
    ("room", "1j", "Ar"),
    ("wall box", "1/H1\r", "Ab"),
    ("feed", "1/HR01\r", "Ah"),
    ("control", "1/H1a\r", "Ac"),
    ("loop", "1/H1a1\r", "Al"),
    ("ceiling box", "1/H-1\r", "Af"),
    ("panel", "6/P1\r", "3Ap"),
    ("supply", "3/PS1\r", "As"),
];

const PARTS: [(&str, &str, &str); 8] = [
    ("fixture type", "6/down\r", "Af"),
    ("cable type", "6/18/5\r", "Ac"),
    ("conductor plan", "6/One pair\r", "Ap"),
    ("supply type", "6/outputs\r", "As"),
    ("control type", "6/dimmer\r", "Ak"),
    ("box type", "6/gang\r", "Ab"),
    ("group", "6/G-hall\r", "Ag"),
    ("link", "6/G-hall\r", "Al"),
];

#[test]
fn a_form_to_change_each_kind_of_thing() {
    let _guard = snapshots("forms").bind_to_scope();
    for (file, things) in [("change_house", &HOUSE[..]), ("change_parts", &PARTS[..7])] {
        let keys: Vec<(&str, String)> =
            things.iter().map(|(name, to, _)| (*name, format!("{to}e"))).collect();
        let keys: Vec<(&str, &str)> = keys.iter().map(|(name, keys)| (*name, keys.as_str())).collect();
        for (name, keys) in &keys {
            let text = shown(keys).text();
            assert!(text.contains(&format!("Change {}", of_kind(name))), "{name}:\n{text}");
        }
        assert_snapshot!(format!("{file}_80x24"), screens(&keys));
    }
    let rest = [
        ("project", "6ge"),
        ("settings", "6/settings\re"),
        ("estimate", "6/estimate\re"),
        ("small part", "6/Insulated\re"),
        ("meter", "6/Bench\re"),
        ("link", "4/LK0\re"),
    ];
    assert_snapshot!("change_rest_80x24", screens(&rest));
}

/// What a form calls a thing.
fn of_kind(name: &str) -> &str {
    if name == "group" { "control group" } else { name }
}

#[test]
fn a_form_to_make_each_kind_of_thing() {
    let _guard = snapshots("forms").bind_to_scope();
    for (file, things) in [("new_house", &HOUSE[..]), ("new_parts", &PARTS[..])] {
        let keys: Vec<(&str, String)> =
            things.iter().map(|(name, to, add)| (*name, format!("{to}{add}"))).collect();
        let keys: Vec<(&str, &str)> = keys.iter().map(|(name, keys)| (*name, keys.as_str())).collect();
        for (name, keys) in &keys {
            let text = shown(keys).text();
            assert!(text.contains(&format!("New {}", of_kind(name))), "{name}:\n{text}");
        }
        assert_snapshot!(format!("{file}_80x24"), screens(&keys));
    }
}

#[test]
fn a_menu_at_each_kind_of_line() {
    let keys: Vec<(&str, String)> =
        HOUSE.iter().chain(&PARTS).map(|(name, to, _)| (*name, format!("{to}A"))).collect();
    let mut text = shown("1A").faces();
    for (name, keys) in &keys {
        let screen = shown(keys).text();
        let menu: Vec<&str> = screen.lines().skip_while(|line| !line.starts_with("add ")).collect();
        assert!(!menu.is_empty(), "{name}: {screen}");
        text += &format!("=== {name}\n{}\n", menu.join("\n"));
    }
    let _guard = snapshots("forms").bind_to_scope();
    assert_snapshot!("menus_80x24", text);
}

#[test]
fn each_question() {
    let ask = |question: Question| {
        let mut app = App::new(sample("cottage"), "cottage.ron", Box::new(NoLedger));
        app.ask(question);
        Shown::of(app, 80, 24).faces()
    };
    let few = ["make room R1", "change ceiling box F3"];
    let many: Vec<String> = (1..=40).map(|number| format!("make room R{number}")).collect();
    let text = format!(
        "=== few steps\n{}=== many steps\n{}=== changed underneath\n{}=== read again with changes\n{}",
        ask(Question::about_recovered(few.into_iter().map(str::to_owned), Some("2026-03-02 17:40"))),
        ask(Question::about_recovered(many.iter().cloned(), None)),
        ask(Question::about_changed(
            "'cottage.ron' was changed by another program: compare, reload, or save beside it"
        )),
        shown("1jAr\rr").faces(),
    );
    let _guard = snapshots("forms").bind_to_scope();
    assert_snapshot!("questions_80x24", text);
}

/// A ledger on a full disk.
#[derive(Debug)]
struct Full;

impl Ledger for Full {
    fn keep(&mut self, _: &Entry<'_>) -> Result<(), NotKept> {
        Err(NotKept(
            "not done, since it could not be kept in 'cottage.ron.log': no space left on device".into(),
        ))
    }
}

#[test]
fn each_error_of_a_form() {
    let mut text = screens(&[
        ("no length", "1je\t\tnine\t"),
        ("no area", "1je\ttall\t"),
        ("no number", "6/down\re\t\tmuch"),
        ("no such word", "1/H1a1\re\t\tx\r"),
        ("no such thing", "1/HR01\re\t\tzzz\t"),
        ("no such output", "1/HR01\re\tPS9.9\r"),
        ("begun and left", "1jename\x1b"),
        ("begun and left again", "1jename\x1b\x1b"),
        ("deleting what others need", "6/18/5\rx"),
        ("what is deleted with it", "1x"),
    ]);
    let mut taken = shown("1jAr");
    taken.key(Key::new(KeyCode::BackTab));
    taken.key(Key::ctrl('u'));
    taken.press("hall\r");
    text += &format!("=== an id that is taken\n{}", taken.faces());
    let mut full = Shown::of(App::new(sample("cottage"), "cottage.ron", Box::new(Full)), 80, 24);
    full.press("1jAr\r");
    text += &format!("=== a full disk\n{}", full.faces());
    full.press("\x1b\x1b/H-1\rx");
    text += &format!("=== a full disk, deleting\n{}", full.faces());
    let mut app = App::new(sample("cottage"), "cottage.ron", Box::new(NoLedger));
    app.set_read_only("anna on desk, process 4242, since 2026-03-02 17:40 has it open");
    let mut read_only = Shown::of(app, 80, 24);
    read_only.press("1je");
    text += &format!("=== only to be read\n{}", read_only.faces());
    let mut pasted = shown("1");
    pasted.app.paste("a block\nof text");
    pasted.press("");
    text += &format!("=== pasted where nothing takes it\n{}", Shown::of(pasted.app, 80, 24).faces());
    let _guard = snapshots("forms").bind_to_scope();
    assert_snapshot!("errors_80x24", text);
}
