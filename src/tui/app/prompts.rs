//! A line being typed at the bottom: what to find, what to show, a file.

use super::super::action::Effect;
use super::super::input::Input;
use super::{App, View};
use crate::schedule::outline::Item;
use crate::terminal::{Key, KeyCode};
use std::collections::HashSet;

/// What a line being typed is for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(in crate::tui) enum Asked {
    Find,
    Filter,
    /// The job to take over from.
    OtherJob,
    /// The table of rooms to read.
    TableIn,
    /// Where to write the table of rooms.
    TableOut,
    /// A question about the balance.
    WhatIf,
    /// What the meter shows.
    Reading,
    /// Foot marks or offsets.
    Record,
    /// Who enters, with which meter.
    Clerk,
}

/// A line being typed at the bottom.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(in crate::tui) struct Prompt {
    pub asked: Asked,
    pub input: Input,
    /// What is to be said of what stands in it.
    pub note: Option<String>,
    /// Whether nothing like it was found.
    pub(super) missed: bool,
    /// Where a search began.
    pub(super) origin: Option<Box<Origin>>,
}

/// Where a search began, to come back to.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Origin {
    pub view: View,
    pub cursor: usize,
    pub top: usize,
    pub folded: HashSet<Item>,
}

impl Prompt {
    pub(super) const fn new(asked: Asked, input: Input) -> Self {
        Self { asked, input, note: None, missed: false, origin: None }
    }
}

impl App {
    pub(super) fn ask_find(&mut self) {
        let (view, scroll) = (self.view, self.scroll());
        let (cursor, top) = (scroll.cursor, scroll.top);
        let origin = Origin { view, cursor, top, folded: self.folded.clone() };
        self.prompt =
            Some(Prompt { origin: Some(Box::new(origin)), ..Prompt::new(Asked::Find, Input::default()) });
    }

    pub(super) fn ask_filter(&mut self) {
        let mut input = Input::new(&self.scroll().filter);
        input.choose();
        self.prompt = Some(Prompt::new(Asked::Filter, input));
    }

    /// Goes back to where a search began.
    fn come_back(&mut self, origin: Option<&Origin>) {
        let Some(origin) = origin else { return };
        self.view = origin.view;
        if origin.view.is_picture() {
            return;
        }
        if self.folded != origin.folded {
            self.folded.clone_from(&origin.folded);
            self.listings[View::Runs.number()] = None;
        }
        self.prepare(origin.view);
        let scroll = self.scroll();
        (scroll.cursor, scroll.top) = (origin.cursor, origin.top);
    }

    pub(super) fn prompt_key(&mut self, key: Key) -> Effect {
        let Some(prompt) = &mut self.prompt else { return Effect::None };
        match key.code {
            KeyCode::Char('c') if key.ctrl => self.prompt = None,
            KeyCode::Char('u') if key.ctrl => prompt.input.set(""),
            KeyCode::Char(c) if !key.ctrl && !key.alt => prompt.input.add(c.encode_utf8(&mut [0; 4])),
            KeyCode::Backspace => prompt.input.rub_out(),
            KeyCode::Delete => prompt.input.delete(),
            KeyCode::Left => prompt.input.left(),
            KeyCode::Right => prompt.input.right(),
            KeyCode::Home => prompt.input.home(),
            KeyCode::End => prompt.input.end(),
            KeyCode::Enter => return self.prompt_taken(),
            KeyCode::Esc => {
                let asked = prompt.asked;
                let origin = self.prompt.take().and_then(|prompt| prompt.origin);
                match asked {
                    Asked::WhatIf | Asked::Reading | Asked::Record | Asked::Clerk => {}
                    Asked::Find => self.come_back(origin.as_deref()),
                    Asked::Filter => {
                        self.scroll().filter.clear();
                        self.relist();
                    }
                    Asked::OtherJob | Asked::TableIn => self.say("left; nothing was read"),
                    Asked::TableOut => self.say("left; nothing was written"),
                }
                return Effect::None;
            }
            _ => return Effect::None,
        }
        self.prompt_changed();
        Effect::None
    }

    /// Enter: what was typed is taken.
    fn prompt_taken(&mut self) -> Effect {
        let Some(prompt) = self.prompt.take() else { return Effect::None };
        let text = prompt.input.text().trim().to_owned();
        match prompt.asked {
            Asked::Find => {
                prompt.input.text().clone_into(&mut self.found);
                let origin = prompt.origin.filter(|origin| origin.view != self.view);
                match (prompt.missed, origin) {
                    (true, _) => self.say(format!("nothing here is called '{}'", self.found)),
                    (false, Some(origin)) => {
                        self.came_from.push((origin.view, origin.cursor));
                        self.say(format!("found in {}; b goes back", self.view.word()));
                    }
                    (false, None) => {}
                }
                Effect::None
            }
            Asked::Filter => Effect::None,
            Asked::WhatIf => self.what_if(&text),
            Asked::Reading => {
                self.reading_taken(&text);
                Effect::None
            }
            Asked::Record => {
                self.record_taken(&text);
                Effect::None
            }
            Asked::Clerk => {
                self.clerk_taken(&text);
                Effect::None
            }
            _ if text.is_empty() => {
                self.say("no file was named");
                Effect::None
            }
            Asked::OtherJob => Effect::ReadJob(text.into()),
            Asked::TableIn => Effect::ReadTable(text.into()),
            Asked::TableOut => Effect::WriteTable(text.into()),
        }
    }

    pub(super) fn prompt_changed(&mut self) {
        let Some(prompt) = &self.prompt else { return };
        let text = prompt.input.text().to_owned();
        match prompt.asked {
            Asked::Find => {
                let origin = self.prompt.as_mut().and_then(|prompt| prompt.origin.take());
                // Each time from where it was asked, so that what is typed wrong and rubbed out leads nowhere else.
                self.come_back(origin.as_deref());
                let found = text.is_empty() || self.seek_anywhere(&text);
                let elsewhere = origin.as_ref().is_some_and(|origin| origin.view != self.view);
                let word = self.view.word();
                if let Some(prompt) = &mut self.prompt {
                    prompt.origin = origin;
                    prompt.missed = !found;
                    prompt.note = match (found, elsewhere) {
                        (false, _) => Some(format!("nothing here is called '{text}'")),
                        (true, true) => Some(format!("found in {word}")),
                        (true, false) => None,
                    };
                }
            }
            Asked::Filter => {
                self.scroll().filter = text;
                self.relist();
                let nothing = self.current().0.is_some_and(|listing| listing.lines.is_empty());
                if let Some(prompt) = &mut self.prompt {
                    prompt.note = nothing.then(|| "no line holds that".to_owned());
                }
            }
            Asked::OtherJob
            | Asked::TableIn
            | Asked::TableOut
            | Asked::WhatIf
            | Asked::Reading
            | Asked::Record
            | Asked::Clerk => {}
        }
    }

    /// Begins to ask for the name of a file.
    pub(super) fn ask_file(&mut self, asked: Asked) {
        if asked == Asked::TableOut || self.writable() {
            self.prompt = Some(Prompt::new(asked, Input::default()));
        }
    }
}
