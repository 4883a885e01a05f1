//! Hostile texts in every view, form, question and message, and in the bytes sent to the terminal.

use super::{SAMPLES, TEXTS, all_texts, bad, rounds, with_texts};
use crate::support::sample;
use ratatui::buffer::Buffer;
use ratatui::layout::{Rect, Size};
use std::cell::RefCell;
use std::io::{self, Write};
use std::rc::Rc;
use studbay::design::Design;
use studbay::terminal::{Capabilities, Key, KeyCode, Screen};
use studbay::tui::{App, NoLedger, Question, View, draw};

/// What was sent, to be read while the screen still has it.
#[derive(Clone, Default)]
struct Sent(Rc<RefCell<Vec<u8>>>);

impl Write for Sent {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        self.0.borrow_mut().write(bytes)
    }
    fn flush(&mut self) -> io::Result<()> {
        Ok(())
    }
}

/// The views with the screen they are sent to.
struct Watched {
    sent: Sent,
    app: App,
    buffer: Buffer,
    screen: Screen<Sent>,
    what: String,
}

impl Watched {
    fn new(design: Design, file: &str, what: &str, (width, height): (u16, u16)) -> Self {
        let caps = Capabilities::detect(&|name| match name {
            "TERM" => Some("xterm-256color".into()),
            "LANG" => Some("en_US.UTF-8".into()),
            _ => None,
        });
        let sent = Sent::default();
        let screen = Screen::new(sent.clone(), Size::new(width, height), caps, Vec::new());
        let app = App::new(design, file, Box::new(NoLedger));
        let buffer = Buffer::empty(Rect::new(0, 0, width, height));
        let mut watched = Self { sent, app, buffer, screen, what: what.to_owned() };
        watched.look();
        watched
    }

    fn look(&mut self) {
        self.buffer.reset();
        let cursor = draw(&mut self.app, self.buffer.area, &mut self.buffer);
        for cell in &self.buffer.content {
            assert!(bad(cell.symbol()).is_none(), "{}: a cell holds {:?}", self.what, cell.symbol());
        }
        self.screen.present(&self.buffer, cursor).unwrap();
    }

    fn press(&mut self, keys: &str) {
        for c in keys.chars() {
            let code = match c {
                '\r' => KeyCode::Enter,
                '\t' => KeyCode::Tab,
                '\x1b' => KeyCode::Esc,
                c => KeyCode::Char(c),
            };
            self.app.key(Key::new(code));
            self.look();
        }
    }

    /// All that was sent holds nothing but text and what the writer itself sends.
    fn judge(self) {
        drop(self.screen);
        let sent = self.sent.0.borrow().clone();
        let sent = std::str::from_utf8(&sent).unwrap_or_else(|error| panic!("{}: {error}", self.what));
        let mut rest = sent;
        while let Some(at) = rest.find('\u{1b}') {
            clean(&self.what, &rest[..at].replace('\u{f}', ""));
            let sequence = &rest[at + 1..];
            // One line up, and the set-up of a terminal that may be in any state.
            if let Some(after) = ["M", "(B"].iter().find_map(|known| sequence.strip_prefix(known)) {
                rest = after;
                continue;
            }
            let body = sequence.strip_prefix('[').unwrap_or_else(|| {
                panic!("{}: an ESC before {:?}", self.what, &sequence[..1.min(sequence.len())])
            });
            let end = body.find(|c: char| !matches!(c, '0'..='9' | ';' | '?')).unwrap();
            let last = body[end..].chars().next().unwrap();
            // Moves, colours, erasing, scrolling, modes: nothing that asks the terminal or sets its title.
            assert!("ABCDGHJKLMPSTX@bdfhlmr".contains(last), "{}: CSI {}{last}", self.what, &body[..end]);
            rest = &body[end + 1..];
        }
        clean(&self.what, rest);
    }
}

fn clean(what: &str, text: &str) {
    let bad = text.chars().filter(|c| !['\r', '\n', '\u{8}'].contains(c)).find_map(|c| bad(&c.to_string()));
    assert!(bad.is_none(), "{what}: {bad:?} is sent");
    assert!(!text.contains("stolen\u{7}"), "{what}");
}

/// Through every view, and from each the forms, menus and questions of some lines.
fn wander(watched: &mut Watched) {
    for view in View::ALL {
        watched.press(&view.digit().to_string());
        watched.press("+");
        for _ in 0..6 {
            watched.press("jj");
            watched.press("e\t\t\x1b\x1b");
            watched.press("i\x1bA\x1bx\x1b\x1b");
        }
        watched.press("G?\x1b");
        watched.press("/al\rn/\u{4e2d}\r\x1b");
    }
}

#[test]
fn no_hostile_text_reaches_the_terminal_from_a_view() {
    let texts = all_texts();
    let texts: Vec<&str> = texts.iter().map(String::as_str).collect();
    for round in 0..rounds() {
        let name = SAMPLES[round % 2];
        let size = [(80, 24), (132, 43), (40, 10)][round % 3];
        let design = Design::derive(with_texts(name, &texts, round * 5));
        let file = format!("x{}.ron", texts[round]);
        let mut watched = Watched::new(design, &file, &format!("round {round} of {name}"), size);
        wander(&mut watched);
        watched.judge();
    }
}

#[test]
fn no_hostile_text_reaches_the_terminal_from_a_message_a_question_or_a_paste() {
    for (what, text) in TEXTS {
        let mut watched = Watched::new(sample("cottage"), "cottage.ron", what, (80, 24));
        watched.app.say(format!("cannot read '{text}'"));
        watched.look();
        watched.app.set_read_only(format!("{text} has it open"));
        watched.look();
        watched.app.ask(Question::about_changed(text));
        watched.look();
        watched.press("\x1b");
        watched.app.ask(Question::about_recovered(
            [*text, "name", *text].into_iter().map(str::to_owned),
            Some(text),
        ));
        watched.look();
        watched.press("\x1b");
        watched.judge();
        // What is pasted into a form, a search, a filter and over nothing.
        let mut watched = Watched::new(sample("cottage"), "cottage.ron", what, (80, 24));
        for keys in ["1je", "/", "f", "6ge", "1j", "8", "W", "R", "T"] {
            watched.press(keys);
            watched.app.paste(text);
            watched.look();
            watched.press("\t\r\x1b\x1b\x1b");
        }
        watched.app.take_table(text, &format!("room,{text}\n{text},{text}\n"));
        watched.look();
        watched.press("\x1b");
        let other = with_texts("cottage", &[text], 0);
        watched.app.take_over_from(text, &other);
        watched.look();
        watched.press("jj\r\x1b9");
        watched.press("12345678");
        watched.judge();
    }
}
