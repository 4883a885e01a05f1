//! A person at the editor: keys in, the screen and the job out.

use crate::support::{sample, snapshots};
use insta::assert_snapshot;
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use studbay::design::Design;
use studbay::job::Job;
use studbay::terminal::{Key, KeyCode};
use studbay::tui::action::Effect;
use studbay::tui::{App, NoLedger, draw};

/// A person at a terminal of 80x24.
pub(crate) struct Desk {
    pub(crate) app: App,
    pub(crate) before: Job,
    pub(crate) buffer: Buffer,
}

impl Desk {
    pub(crate) fn new(name: &str) -> Self {
        Self::of(sample(name), name)
    }

    pub(crate) fn of(design: Design, name: &str) -> Self {
        let before = design.job.clone();
        let app = App::new(design, &format!("{name}.ron"), Box::new(NoLedger));
        let mut desk = Self { app, before, buffer: Buffer::empty(SCREEN) };
        desk.draw();
        desk
    }

    pub(crate) fn draw(&mut self) {
        self.buffer.reset();
        draw(&mut self.app, SCREEN, &mut self.buffer);
    }

    pub(crate) fn key(&mut self, code: KeyCode) -> Effect {
        let effect = self.app.key(Key::new(code));
        self.draw();
        effect
    }

    fn ctrl(&mut self, c: char) -> Effect {
        let effect = self.app.key(Key::ctrl(c));
        self.draw();
        effect
    }

    pub(crate) fn paste(&mut self, text: &str) {
        self.app.paste(text);
        self.draw();
    }

    /// Types characters, each a key: return, tab and escape by their codes, `^` clears a field, `\u{e}` is Ctrl-N.
    pub(crate) fn press(&mut self, keys: &str) -> Effect {
        let mut last = Effect::None;
        for c in keys.chars() {
            last = match c {
                '\r' => self.key(KeyCode::Enter),
                '\t' => self.key(KeyCode::Tab),
                '\u{1b}' => self.key(KeyCode::Esc),
                '^' => self.ctrl('u'),
                '\u{e}' => self.ctrl('n'),
                c => self.key(KeyCode::Char(c)),
            };
        }
        last
    }

    /// Puts the cursor on the first line with a word.
    pub(crate) fn find(&mut self, word: &str) {
        self.press(&format!("g/{word}\r"));
        assert!(!self.screen().contains("nothing here is called"), "{}", self.screen());
    }

    pub(crate) fn screen(&self) -> String {
        let row =
            |row: Rect| row.columns().map(|at| self.buffer[at.as_position()].symbol()).collect::<String>();
        self.buffer.area.rows().map(|at| row(at).trim_end().to_owned() + "\n").collect()
    }

    /// The line the cursor is on.
    pub(crate) fn line(&self) -> String {
        let screen = self.screen();
        screen.lines().find(|line| line.starts_with('>')).unwrap_or_default().to_owned()
    }

    /// What is said at the bottom.
    pub(crate) fn said(&self) -> String {
        let screen = self.screen();
        let lines: Vec<&str> = screen.lines().collect();
        lines[lines.len() - 4..lines.len() - 1].join(" ")
    }

    pub(crate) fn job(&self) -> &Job {
        &self.app.design().job
    }

    /// One undo leads back to the job as it was, and one redo to what was made of it.
    pub(crate) fn undone(&mut self) {
        let after = self.job().clone();
        assert_ne!(after, self.before, "nothing was changed");
        self.press("u");
        assert_eq!(*self.job(), self.before, "undo leads elsewhere");
        self.press("U");
        assert_eq!(*self.job(), after, "redo leads elsewhere");
        self.press("u");
    }

    pub(crate) fn look(&self, name: &str) {
        let _guard = snapshots("forms").bind_to_scope();
        assert_snapshot!(name, self.screen());
    }
}

const SCREEN: Rect = Rect { x: 0, y: 0, width: 80, height: 24 };
