//! The views, drawn into a buffer: snapshots at every size that is promised, and laws for any size and key.

use crate::support::{sample, snapshots};
use insta::assert_snapshot;
use proptest::prelude::*;
use ratatui::buffer::Buffer;
use ratatui::layout::{Position, Rect};
use studbay::terminal::{Key, KeyCode};
use studbay::tui::action::Effect;
use studbay::tui::keys::BINDINGS;
use studbay::tui::{App, NoLedger, View, draw};

/// The views on a sample, and the screen they were last drawn on.
pub(crate) struct Shown {
    pub(crate) app: App,
    buffer: Buffer,
    cursor: Option<Position>,
}

impl Shown {
    pub(crate) fn new(name: &str, width: u16, height: u16) -> Self {
        Self::of(App::new(sample(name), &format!("{name}.ron"), Box::new(NoLedger)), width, height)
    }

    pub(crate) fn of(app: App, width: u16, height: u16) -> Self {
        let mut shown = Self { app, buffer: Buffer::empty(Rect::new(0, 0, width, height)), cursor: None };
        shown.draw();
        shown
    }

    pub(crate) fn draw(&mut self) {
        self.buffer.reset();
        self.cursor = draw(&mut self.app, self.buffer.area, &mut self.buffer);
    }

    pub(crate) fn key(&mut self, key: Key) -> Effect {
        let effect = self.app.key(key);
        self.draw();
        effect
    }

    /// Types characters, each a key.
    pub(crate) fn press(&mut self, keys: &str) {
        for c in keys.chars() {
            let code = match c {
                '\r' => KeyCode::Enter,
                '\t' => KeyCode::Tab,
                '\x1b' => KeyCode::Esc,
                c => KeyCode::Char(c),
            };
            self.key(Key::new(code));
        }
    }

    pub(crate) fn resize(&mut self, width: u16, height: u16) {
        self.buffer = Buffer::empty(Rect::new(0, 0, width, height));
        self.draw();
    }

    pub(crate) const fn size(&self) -> (u16, u16) {
        (self.buffer.area.width, self.buffer.area.height)
    }

    /// The screen as text.
    pub(crate) fn text(&self) -> String {
        let rows = self.buffer.area.rows();
        let row =
            |row: Rect| row.columns().map(|at| self.buffer[at.as_position()].symbol()).collect::<String>();
        rows.map(|at| row(at).trim_end().to_owned() + "\n").collect()
    }

    /// The screen as text with the cursor's place.
    pub(crate) fn snapshot(&self) -> String {
        let place = self.cursor.map_or("no cursor".to_owned(), |at| format!("cursor at {},{}", at.x, at.y));
        format!("{}--- {place}\n", self.text())
    }
}

/// The sizes at which every view is looked at.
const SIZES: [(u16, u16); 4] = [(80, 24), (132, 43), (60, 20), (40, 10)];

/// Every view of a sample at a size, one beneath the other.
fn all_views(name: &str, (width, height): (u16, u16)) -> String {
    let mut shown = Shown::new(name, width, height);
    let mut text = String::new();
    for (number, view) in View::ALL.iter().enumerate() {
        shown.press(&(number + 1).to_string());
        if *view == View::Runs {
            shown.press("+");
        }
        // What stands out and what ASCII makes of it is the same at every size.
        let seen = if (width, height) == SIZES[0] { shown.faces() } else { shown.snapshot() };
        text += &format!("=== {}\n{seen}", view.word());
    }
    text
}

#[test]
fn every_view_at_every_size() {
    let _guard = snapshots("views").bind_to_scope();
    for name in ["two-story", "usual-mistakes"] {
        for (width, height) in SIZES {
            assert_snapshot!(format!("{name}_{width}x{height}"), all_views(name, (width, height)));
        }
    }
}

#[test]
fn help_find_and_a_finding() {
    let mut shown = Shown::new("usual-mistakes", 80, 24);
    let mut text = String::new();
    let mut look = |shown: &mut Shown, what: &str| text += &format!("=== {what}\n{}", shown.faces());
    shown.press("?");
    look(&mut shown, "help");
    shown.press("?w");
    look(&mut shown, "the next line with something wrong");
    shown.press("4/LK0");
    look(&mut shown, "finding a cable");
    shown.press("\rn");
    look(&mut shown, "the next one found");
    shown.press("/zzz");
    look(&mut shown, "nothing like it");
    shown.press("\r");
    shown.press("5jj");
    look(&mut shown, "findings");
    shown.press("\r");
    look(&mut shown, "followed to the thing");
    shown.press("b");
    look(&mut shown, "and back");
    let _guard = snapshots("views").bind_to_scope();
    assert_snapshot!("moving_about_80x24", text);
}

#[test]
fn every_key_of_the_table_does_something() {
    for binding in BINDINGS {
        for key in binding.keys {
            let places = if binding.views.is_empty() { &View::ALL[..] } else { binding.views };
            // In one of these states at least the key changes what is seen or asks the loop for something.
            let does = places.iter().any(|view| {
                let number = View::ALL.iter().position(|v| v == view).unwrap() + 1;
                ["", "j", "jjjj", "G", "+jjj", "/1\r", "/1\rnn", "j\r", "u"].iter().any(|before| {
                    let mut shown = Shown::new("usual-mistakes", 80, 24);
                    shown.press(&number.to_string());
                    shown.press(before);
                    let seen = shown.snapshot();
                    let effect = shown.key(*key);
                    effect != Effect::None || shown.snapshot() != seen
                })
            });
            assert!(does, "{} ({}) never does anything", binding.shown, binding.help);
        }
    }
}

#[test]
fn every_view_says_its_name_and_how_to_leave() {
    for name in ["cottage", "large-house"] {
        for view in View::ALL {
            let mut shown = Shown::new(name, 80, 24);
            shown.press(&view.digit().to_string());
            let text = shown.text();
            assert!(text.contains(&format!("[{} {}]", view.digit(), view.word())), "{text}");
            assert!(text.contains("q:leave") && text.contains("?:help"), "{text}");
            shown.press("?");
            assert!(shown.text().contains("not a permit"), "{}", shown.text());
        }
    }
}

/// A key as a person, or a cat, may press it.
fn any_key() -> impl Strategy<Value = Key> {
    let codes = prop_oneof![
        4 => prop::sample::select(BINDINGS.iter().flat_map(|b| b.keys.iter().copied()).collect::<Vec<_>>()),
        1 => prop::char::range(' ', '~').prop_map(|c| Key::new(KeyCode::Char(c))),
        1 => Just(Key::new(KeyCode::Esc)),
        1 => Just(Key::new(KeyCode::Backspace)),
        1 => any::<char>().prop_map(|c| Key::new(KeyCode::Char(c))),
    ];
    (codes, any::<bool>()).prop_map(|(key, alt)| if alt && key.ctrl { Key { alt, ..key } } else { key })
}

#[derive(Debug, Clone)]
enum Step {
    Key(Key),
    Paste(String),
    Resize(u16, u16),
}

fn step() -> impl Strategy<Value = Step> {
    prop_oneof![
        8 => any_key().prop_map(Step::Key),
        1 => any::<String>().prop_map(Step::Paste),
        2 => (0..=200_u16, 0..=70_u16).prop_map(|(width, height)| Step::Resize(width, height)),
    ]
}

proptest! {
    #![proptest_config(ProptestConfig { cases: ProptestConfig::default().cases / 5, ..ProptestConfig::default() })]

    #[test]
    fn no_size_and_no_key_breaks_a_view(
        name in prop::sample::select(vec!["cottage", "usual-mistakes"]),
        (width, height) in (0..=200_u16, 0..=70_u16),
        steps in prop::collection::vec(step(), 0..60),
    ) {
        let mut shown = Shown::new(name, width, height);
        for step in steps {
            match step {
                Step::Key(key) => {
                    shown.key(key);
                }
                Step::Paste(text) => {
                    shown.app.paste(&text);
                    shown.draw();
                }
                Step::Resize(width, height) => shown.resize(width, height),
            }
            let area = shown.buffer.area;
            prop_assert!(shown.cursor.is_none_or(|at| area.contains(at)), "{:?} in {area:?}", shown.cursor);
            prop_assert!(!shown.text().contains(|c: char| c.is_control() && c != '\n'));
        }
    }
}

#[test]
fn each_size_from_none_to_large_is_drawn() {
    let mut shown = Shown::new("usual-mistakes", 0, 0);
    for (number, _) in View::ALL.iter().enumerate() {
        shown.press(&(number + 1).to_string());
        for width in (0..=200).step_by(7) {
            for height in (0..=70).step_by(3) {
                shown.resize(width, height);
            }
        }
    }
}
