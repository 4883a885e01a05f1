//! Keys in a form: typing, choosing, and going from field to field.

use super::super::input::Input;
use super::offers::missing;
use super::{Form, Line, Outcome, Purpose};
use crate::design::Design;
use crate::job::fields::Shape;
use crate::terminal::{Key, KeyCode};

impl Form {
    /// Whether something was typed that is not taken yet.
    pub(in crate::tui) fn is_begun(&self) -> bool {
        // Text that could not be read is in no draft.
        let typed = |line: &Line| line.input.text() != line.field.text(&self.original);
        self.draft != self.original || self.lines.iter().any(|line| line.reason.is_some() && typed(line))
    }

    /// Takes a key.
    pub(in crate::tui) fn key(&mut self, design: &Design, key: Key) -> Outcome {
        let warned = std::mem::take(&mut self.warned);
        let shape = self.lines.get(self.at).map(|line| line.field.shape);
        match key.code {
            KeyCode::Esc if self.is_begun() && !warned => self.warned = true,
            KeyCode::Esc => return Outcome::Dropped,
            KeyCode::Enter => return self.take(design, false),
            KeyCode::Char('n') if key.ctrl && self.may_follow() => return self.take(design, true),
            KeyCode::Down | KeyCode::Tab => self.leave(design, 1),
            KeyCode::Up | KeyCode::BackTab => self.leave(design, -1),
            KeyCode::Left | KeyCode::Right if shape.is_some_and(Shape::is_choice) => {
                self.cycle(design, key.code == KeyCode::Right);
            }
            code => self.type_in(design, code, key),
        }
        Outcome::Stay
    }

    /// Puts the cursor into a field, where what stands there is chosen: one key replaces what was proposed.
    pub(in crate::tui) fn go(&mut self, at: usize) {
        self.at = at;
        let changes = matches!(self.purpose, Purpose::Change(_));
        let Some(line) = self.lines.get_mut(at) else { return };
        // Lists that a thing has are added to more often than they are replaced.
        if changes && line.field.shape.is_list() {
            line.input.end();
        } else {
            line.input.choose();
        }
    }

    /// Takes pasted text into the field the cursor is in.
    pub(in crate::tui) fn paste(&mut self, design: &Design, text: &str) {
        if let Some(line) = self.lines.get_mut(self.at) {
            line.input.add(text);
        }
        self.read_line(design);
    }

    fn type_in(&mut self, design: &Design, code: KeyCode, key: Key) {
        let Some(line) = self.lines.get_mut(self.at) else { return };
        match code {
            KeyCode::Char('u') if key.ctrl => line.input.set(""),
            KeyCode::Char(c) if !key.ctrl && !key.alt => line.input.add(c.encode_utf8(&mut [0; 4])),
            KeyCode::Backspace => line.input.rub_out(),
            KeyCode::Delete => line.input.delete(),
            KeyCode::Left => line.input.left(),
            KeyCode::Right => line.input.right(),
            KeyCode::Home => line.input.home(),
            KeyCode::End => line.input.end(),
            _ => return,
        }
        self.read_line(design);
    }

    /// The next of the words there are to choose from.
    fn cycle(&mut self, design: &Design, onward: bool) {
        let Some(line) = self.lines.get_mut(self.at) else { return };
        let words = line.field.shape.choices();
        let here = words.iter().position(|word| *word == line.input.text());
        let next = match (here, onward) {
            (None, _) => 0,
            _ if words.is_empty() => return,
            (Some(here), true) => (here + 1) % words.len(),
            (Some(here), false) => (here + words.len() - 1) % words.len(),
        };
        line.input.set(&words[next]);
        self.read_line(design);
        self.complete(design);
        self.go(self.at);
    }

    /// Reads what stands in the current field into the draft.
    pub(super) fn read_line(&mut self, design: &Design) {
        let Some(line) = self.lines.get_mut(self.at) else { return };
        let before = self.draft.clone();
        line.reason = line.field.put(&design.job, &mut self.draft, line.input.text()).err();
        if line.reason.is_some() {
            self.draft = before;
        }
        if matches!(line.field.shape, Shape::Form(_)) {
            self.relist();
        }
        self.follow(design);
        self.check(design);
    }

    /// Fields that follow from the one typed in are written anew.
    fn follow(&mut self, design: &Design) {
        let Purpose::Do(tool) = &self.purpose else { return };
        let Some(typed) = self.lines.get(self.at).and_then(|line| line.field.path.first()) else { return };
        let before = self.draft.clone();
        tool.follow(design, &mut self.draft, typed, &self.original);
        for (at, line) in self.lines.iter_mut().enumerate() {
            if at != self.at && line.field.text(&before) != line.field.text(&self.draft) {
                *line = Line {
                    field: line.field,
                    input: Input::new(&line.field.text(&self.draft)),
                    reason: None,
                };
            }
        }
    }

    /// A form chosen anew has other fields below it.
    fn relist(&mut self) {
        let keep: Vec<Line> = std::mem::take(&mut self.lines);
        let purpose = &self.purpose;
        for field in self.all.iter().filter(|field| purpose.asks(field) && field.applies(&self.draft)) {
            let kept = keep.iter().find(|line| line.field.path == field.path);
            self.lines.push(kept.cloned().unwrap_or_else(|| Line {
                field,
                input: Input::new(&field.text(&self.draft)),
                reason: None,
            }));
        }
    }

    /// Finds what is wrong in the field the cursor is in, beyond its spelling.
    pub(super) fn check(&mut self, design: &Design) {
        // What is said of another field is said beside that one when the form is taken.
        let whole = self.flaw(design).filter(|reason| self.named(reason).is_none_or(|at| at == self.at));
        let Some(line) = self.lines.get_mut(self.at) else { return };
        if line.reason.is_some() {
            return;
        }
        line.reason = missing(design, self.kind, line).or(whole);
    }

    fn leave(&mut self, design: &Design, step: isize) {
        self.complete(design);
        let last = self.lines.len().saturating_sub(1);
        self.go(self.at.saturating_add_signed(step).min(last));
        self.check(design);
    }
}
