//! The riser and the plan as views: keys, cursor, and what any key at any size must not do.

use crate::support::{project, snapshots};
use insta::assert_snapshot;
use proptest::prelude::*;
use ratatui::buffer::Buffer;
use ratatui::layout::{Position, Rect};
use std::sync::LazyLock;
use studbay::design::Design;
use studbay::job::read;
use studbay::schedule::canvas::LineSet;
use studbay::terminal::{Key, KeyCode};
use studbay::tui::{App, NoLedger, draw};

const HOUSES: [&str; 4] = ["cottage", "two-story", "large-house", "usual-mistakes"];

static DESIGNS: LazyLock<Vec<Design>> = LazyLock::new(|| {
    let read = |name: &str| {
        let text = std::fs::read_to_string(project("sample-jobs").join(format!("{name}.ron"))).unwrap();
        Design::derive(read::from_str(name, &text).unwrap().0)
    };
    HOUSES.map(read).to_vec()
});

fn app(name: &str) -> App {
    let at = HOUSES.iter().position(|house| *house == name).unwrap();
    App::new(DESIGNS[at].clone(), name, Box::new(NoLedger))
}

/// The screen as text, with the cursor as `_` in a line of its own beneath.
fn screen(app: &mut App, width: u16, height: u16) -> (String, Option<Position>) {
    let mut buffer = Buffer::empty(Rect::new(0, 0, width, height));
    let cursor = draw(app, buffer.area, &mut buffer);
    let lines = (0..height).map(|y| {
        let line: String = (0..width).map(|x| buffer[(x, y)].symbol()).collect();
        line.trim_end().to_owned()
    });
    let lines: Vec<String> = lines.collect();
    (lines.join("\n"), cursor)
}

fn press(app: &mut App, keys: &[KeyCode]) {
    for code in keys {
        // A view learns its size when it is drawn.
        screen(app, 80, 24);
        app.key(Key::new(*code));
    }
}

fn typed(text: &str) -> Vec<KeyCode> {
    text.chars().map(KeyCode::Char).collect()
}

/// The first line of the detail, where the figures of the thing under the cursor stand.
fn figures(app: &mut App) -> String {
    let (text, _) = screen(app, 80, 24);
    text.lines().nth(20).unwrap_or_default().to_owned()
}

#[test]
fn the_views_on_the_screen() {
    let _guard = snapshots("pictures").bind_to_scope();
    for (set, word) in [(LineSet::Ascii, "ascii"), (LineSet::Cp437, "lines")] {
        let mut app = app("two-story");
        app.set_lines(set);
        for (key, view) in [('7', "riser"), ('8', "plan")] {
            press(&mut app, &[KeyCode::Char(key)]);
            for (width, height) in [(80, 24), (132, 43), (60, 20)] {
                let (text, cursor) = screen(&mut app, width, height);
                let cursor = cursor.map(|at| (at.x, at.y));
                assert_snapshot!(
                    format!("view_{view}_{width}x{height}_{word}"),
                    format!("{text}\n{cursor:?}")
                );
            }
        }
    }
}

#[test]
fn the_cursor_walks_over_the_plan_and_shows_figures() {
    let mut app = app("cottage");
    press(&mut app, &typed("8/M-1"));
    press(&mut app, &[KeyCode::Enter]);
    assert!(
        figures(&mut app).starts_with("M-1 Downlight 6 W, 4 in round; watts 6.0 W; volts "),
        "{}",
        figures(&mut app)
    );
    press(&mut app, &[KeyCode::Right]);
    assert!(figures(&mut app).starts_with("M-2 "), "{}", figures(&mut app));
    let (text, cursor) = screen(&mut app, 80, 24);
    let at = cursor.unwrap();
    let line: Vec<char> = text.lines().nth(usize::from(at.y)).unwrap().chars().collect();
    assert_eq!(line[usize::from(at.x)], 'a', "the cursor is on the sign of the fixture:\n{text}");
    press(&mut app, &[KeyCode::Char(' ')]);
    assert!(figures(&mut app).starts_with("M1a1"), "the loop passes there: {}", figures(&mut app));
}

#[test]
fn a_picture_leads_to_the_lists_and_back() {
    let mut app = app("two-story");
    press(&mut app, &typed("8/O-3"));
    press(&mut app, &[KeyCode::Enter, KeyCode::Enter]);
    let (text, _) = screen(&mut app, 80, 24);
    assert!(text.contains("[1 Runs]") && text.contains("O-3"), "{text}");
    press(&mut app, &typed("b"));
    let (text, _) = screen(&mut app, 80, 24);
    assert!(text.contains("[8 Plan]") && text.contains("Upper level (level 2 of 2)"), "{text}");
    assert!(figures(&mut app).starts_with("O-3 "), "{}", figures(&mut app));
    press(&mut app, &typed("I"));
    assert!(screen(&mut app, 80, 24).0.contains("[7 Riser]"));
    assert!(figures(&mut app).contains("O1"), "{}", figures(&mut app));
    press(&mut app, &[KeyCode::Char('8'), KeyCode::PageDown]);
    assert!(screen(&mut app, 80, 24).0.contains("Main level (level 1 of 2)"));
    press(&mut app, &[KeyCode::PageDown]);
    assert!(screen(&mut app, 80, 24).0.contains("there is no level below this one"));
}

#[test]
fn every_mistake_in_the_picture_is_reached() {
    let mut app = app("usual-mistakes");
    press(&mut app, &typed("7"));
    let mut seen = std::collections::BTreeSet::new();
    for _ in 0..60 {
        press(&mut app, &typed("w"));
        let (text, cursor) = screen(&mut app, 132, 43);
        assert!(cursor.is_some(), "{text}");
        seen.insert(
            text.lines().nth(39).unwrap_or_default().split_whitespace().next().unwrap_or_default().to_owned(),
        );
    }
    for id in ["P1", "PS1.1:", "HR01", "HR06", "T1"] {
        assert!(seen.contains(id), "{id} in {seen:?}");
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(60))]
    #[test]
    fn no_key_at_any_size_breaks_a_picture(
        house in 0..4_usize, riser: bool,
        steps in prop::collection::vec((0..14_usize, (0..=200_u16, 0..=80_u16)), 1..40),
    ) {
        let mut app = app(HOUSES[house]);
        app.key(Key::new(KeyCode::Char(if riser { '7' } else { '8' })));
        let keys = [
            KeyCode::Up, KeyCode::Down, KeyCode::Left, KeyCode::Right, KeyCode::PageUp, KeyCode::PageDown,
            KeyCode::Home, KeyCode::End, KeyCode::Char('+'), KeyCode::Char('-'), KeyCode::Char(' '),
            KeyCode::Char('0'), KeyCode::Char('w'), KeyCode::Char('I'),
        ];
        for (key, (width, height)) in steps {
            app.key(Key::new(keys[key]));
            let (text, cursor) = screen(&mut app, width, height);
            if let Some(at) = cursor {
                prop_assert!(at.x < width && at.y < height, "{text}");
            }
        }
    }
}
