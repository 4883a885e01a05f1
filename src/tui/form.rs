//! A form: the fields of one thing, checked as they are typed.

pub(super) mod tool;

use super::input::Input;
use crate::design::Design;
use crate::job::edit::Edit;
use crate::job::fields::{self, Field, Shape};
use crate::job::{Id, Kind, Spot, Subject};
use crate::terminal::{Key, KeyCode};
use serde_json::Value;
use tool::Tool;

/// As many things as are offered to pick from.
const OFFERED: usize = 6;

/// What a form is for.
#[derive(Debug, Clone, PartialEq)]
enum Purpose {
    /// To change a thing.
    Change(Subject),
    /// To make one.
    Make { kind: Kind, parent: Option<Subject>, at: usize },
    /// To ask how something is to be done.
    Do(Tool),
}

/// A field on the form.
#[derive(Debug, Clone)]
pub(super) struct Line {
    pub field: &'static Field,
    pub input: Input,
    pub reason: Option<String>,
}

/// What came of a key.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Outcome {
    /// The form stays.
    Stay,
    /// It is left with nothing taken.
    Dropped,
    /// It is to be taken: the edit, and what it is called.
    Take(Edit, String),
}

/// A form being filled in.
#[derive(Debug, Clone)]
pub(super) struct Form {
    purpose: Purpose,
    kind: Kind,
    parent: Option<Kind>,
    all: &'static [Field],
    original: Value,
    draft: Value,
    pub lines: Vec<Line>,
    pub at: usize,
    pub warned: bool,
}

impl Form {
    /// A form to change a thing; none if there is no such thing or it has no fields.
    pub(super) fn change(design: &Design, subject: &Subject) -> Option<Self> {
        let thing = fields::thing(&design.job, &design.index, subject)?;
        let spot = Id::new(&subject.id).ok().and_then(|id| design.index.spot(subject.kind, &id));
        let parent = spot.and_then(|spot| fields::parent(&design.job, spot)).map(|parent| parent.kind);
        let all = fields::of(subject.kind, spot);
        let fields = all.iter().filter(|field| field.shape != Shape::Id);
        (!all.is_empty()).then(|| {
            let purpose = Purpose::Change(subject.clone());
            Self::new(design, purpose, (subject.kind, parent), all, thing, fields)
        })
    }

    /// A form to make a thing of a kind at a place.
    pub(super) fn make(design: &Design, kind: Kind, parent: Option<Subject>, at: usize) -> Self {
        let thing = fields::blank(&design.job, &design.index, kind, parent.as_ref());
        let like = match parent.as_ref().map(|parent| parent.kind) {
            Some(Kind::Control) => Some(Spot::Loop { wall_box: 0, control: 0, at: 0 }),
            Some(Kind::Group) => Some(Spot::Link { group: 0, link: 0 }),
            _ => None,
        };
        let all = fields::of(kind, like);
        let of = parent.as_ref().map(|parent| parent.kind);
        let mut form =
            Self::new(design, Purpose::Make { kind, parent, at }, (kind, of), all, thing, all.iter());
        // Its id is proposed; the name is what a person types first.
        form.at = usize::from(form.lines.len() > 1);
        form
    }

    /// A form that asks how something is to be done.
    ///
    /// # Errors
    /// Why it cannot be done.
    pub(super) fn tool(design: &Design, tool: Tool) -> Result<Self, String> {
        let draft = tool.start(design)?;
        let all = tool.fields(&design.job);
        Ok(Self::new(design, Purpose::Do(tool), (Kind::Project, None), all, draft, all.iter()))
    }

    fn new(
        design: &Design,
        purpose: Purpose,
        (kind, parent): (Kind, Option<Kind>),
        all: &'static [Field],
        thing: Value,
        fields: impl Iterator<Item = &'static Field>,
    ) -> Self {
        let lines = fields
            .filter(|field| field.applies(&thing))
            .map(|field| Line { field, input: Input::new(&field.text(&thing)), reason: None })
            .collect();
        let draft = thing.clone();
        let mut form =
            Self { purpose, kind, parent, all, original: thing, draft, lines, at: 0, warned: false };
        form.check(design);
        form
    }

    /// What stands above the form.
    pub(super) fn title(&self) -> String {
        match &self.purpose {
            Purpose::Change(subject) if matches!(subject.kind, Kind::Project | Kind::Settings | Kind::Estimate) => {
                format!("Change the {}", self.word())
            }
            Purpose::Change(subject) => format!("Change {} {}", self.word(), subject.id),
            Purpose::Make { parent: Some(parent), .. } => format!("New {} in {parent}", self.word()),
            Purpose::Make { parent: None, .. } => format!("New {}", self.word()),
            Purpose::Do(tool) => tool.title(),
        }
    }

    /// Whether it changes a thing, so that what is marked may be changed with it.
    pub(super) const fn is_change(&self) -> bool {
        matches!(self.purpose, Purpose::Change(_))
    }

    /// What is to be done, where it asks for that.
    pub(super) const fn asks(&self) -> Option<&Tool> {
        match &self.purpose {
            Purpose::Do(tool) => Some(tool),
            _ => None,
        }
    }

    /// What there is to know about what stands in it.
    pub(super) fn notes(&self, design: &Design) -> Vec<String> {
        self.asks().map(|tool| tool.notes(design, &self.draft)).unwrap_or_default()
    }

    fn word(&self) -> &'static str {
        match (self.kind, self.parent) {
            (Kind::Cable, Some(Kind::WallBox)) => "feed",
            (Kind::Cable, Some(Kind::Group)) => "link",
            (Kind::Cable, _) => "loop",
            (kind, _) => kind.word(),
        }
    }

    /// Whether something was typed that is not taken yet.
    pub(super) fn is_begun(&self) -> bool {
        // Text that could not be read is in no draft.
        let typed = |line: &Line| line.input.text() != line.field.text(&self.original);
        self.draft != self.original || self.lines.iter().any(|line| line.reason.is_some() && typed(line))
    }

    /// Takes a key.
    pub(super) fn key(&mut self, design: &Design, key: Key) -> Outcome {
        let warned = std::mem::take(&mut self.warned);
        let shape = self.lines.get(self.at).map(|line| line.field.shape);
        match key.code {
            KeyCode::Esc if self.is_begun() && !warned => self.warned = true,
            KeyCode::Esc => return Outcome::Dropped,
            KeyCode::Enter => return self.take(design),
            KeyCode::Down | KeyCode::Tab => self.leave(design, 1),
            KeyCode::Up | KeyCode::BackTab => self.leave(design, -1),
            KeyCode::Left | KeyCode::Right if shape.is_some_and(|shape| !shape.choices().is_empty()) => {
                self.cycle(design, key.code == KeyCode::Right);
            }
            code => self.type_in(design, code, key),
        }
        Outcome::Stay
    }

    /// Takes pasted text into the field the cursor is in.
    pub(super) fn paste(&mut self, design: &Design, text: &str) {
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
            (Some(here), true) => (here + 1) % words.len(),
            (Some(here), false) => (here + words.len() - 1) % words.len(),
        };
        line.input.set(words[next]);
        self.read_line(design);
        self.complete(design);
    }

    /// Reads what stands in the current field into the draft.
    fn read_line(&mut self, design: &Design) {
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

    /// What is wrong with the whole of it.
    fn flaw(&self, design: &Design) -> Option<String> {
        match &self.purpose {
            Purpose::Do(tool) => tool.edit(design, &self.draft).err(),
            _ => fields::fits(self.kind, self.parent, &self.draft).err(),
        }
    }

    /// A form chosen anew has other fields below it.
    fn relist(&mut self) {
        let keep: Vec<Line> = std::mem::take(&mut self.lines);
        let making = matches!(self.purpose, Purpose::Make { .. });
        for field in self.all.iter().filter(|f| f.applies(&self.draft) && (making || f.shape != Shape::Id)) {
            let kept = keep.iter().find(|line| line.field.path == field.path);
            self.lines.push(kept.cloned().unwrap_or_else(|| Line {
                field,
                input: Input::new(&field.text(&self.draft)),
                reason: None,
            }));
        }
    }

    /// Finds what is wrong in the field the cursor is in, beyond its spelling.
    fn check(&mut self, design: &Design) {
        let whole = self.flaw(design);
        let Some(line) = self.lines.get_mut(self.at) else { return };
        if line.reason.is_some() {
            return;
        }
        line.reason = missing(design, self.kind, line).or(whole);
    }

    /// What the field may be completed to, best first: id and name.
    pub(super) fn offers(&self, design: &Design) -> Vec<(String, String)> {
        let Some(line) = self.lines.get(self.at) else { return Vec::new() };
        let own = self.asks().and_then(|tool| tool.candidates(design, line.field));
        let all = match (own, line.field.shape.picks()) {
            (Some(own), _) => own,
            (None, Some(kind)) => things(design, kind).collect(),
            (None, None) => return Vec::new(),
        };
        // Before anything is typed, what may be picked instead is worth seeing too.
        let untouched = line.input.text() == line.field.text(&self.original);
        let typed = last_part(line.field.shape, line.input.text()).to_lowercase();
        let mut found: Vec<(u8, String, String)> = all
            .into_iter()
            .filter_map(|(id, name)| {
                let (low_id, low_name) = (id.to_lowercase(), name.to_lowercase());
                let rank = match () {
                    () if low_id == typed => 0,
                    () if low_id.starts_with(&typed) => 1,
                    () if low_name.starts_with(&typed) => 2,
                    () if low_id.contains(&typed) || low_name.contains(&typed) => 3,
                    () if untouched => 4,
                    () => return None,
                };
                Some((rank, id, name))
            })
            .collect();
        found.sort();
        found.into_iter().take(OFFERED).map(|(_, id, name)| (id, name)).collect()
    }

    /// Takes the best offer where what is typed is no id yet.
    fn complete(&mut self, design: &Design) {
        let best = self.offers(design).into_iter().next();
        let Some(line) = self.lines.get_mut(self.at) else { return };
        let typed = last_part(line.field.shape, line.input.text()).to_owned();
        if let Some((id, _)) = best.filter(|(id, _)| !typed.is_empty() && *id != typed) {
            let kept = &line.input.text()[..line.input.text().len() - typed.len()];
            let whole = format!("{kept}{id}");
            line.input.set(&whole);
            self.read_line(design);
        }
        if let Some(line) = self.lines.get_mut(self.at)
            && line.reason.is_none()
            && line.field.shape != Shape::Words
        {
            let tidy = line.field.text(&self.draft);
            line.input.set(&tidy);
        }
    }

    fn leave(&mut self, design: &Design, step: isize) {
        self.complete(design);
        let last = self.lines.len().saturating_sub(1);
        self.at = self.at.saturating_add_signed(step).min(last);
        self.check(design);
    }

    fn take(&mut self, design: &Design) -> Outcome {
        self.complete(design);
        let wrong = (0..self.lines.len()).find(|&at| {
            self.lines[at].reason.is_some() || missing(design, self.kind, &self.lines[at]).is_some()
        });
        if let Some(wrong) = wrong {
            self.at = wrong;
            self.check(design);
            return Outcome::Stay;
        }
        if let Some(reason) = self.flaw(design) {
            if let Some(line) = self.lines.get_mut(self.at) {
                line.reason = Some(reason);
            }
            return Outcome::Stay;
        }
        match &self.purpose {
            Purpose::Make { kind, parent, at } => {
                let id = self.draft.get("id").and_then(Value::as_str).unwrap_or_default();
                let label = format!("make {} {id}", self.word());
                let (kind, parent, at, value) = (*kind, parent.clone(), *at, self.draft.clone());
                Outcome::Take(Edit::Insert { kind, parent, at, value }, label)
            }
            Purpose::Change(subject) => match self.changes(subject) {
                edits if edits.is_empty() => Outcome::Dropped,
                edits => Outcome::Take(together(edits), format!("change {subject}")),
            },
            Purpose::Do(tool) => match tool.edit(design, &self.draft) {
                Ok((edit, label)) => Outcome::Take(edit, label),
                // It was looked at just before.
                Err(reason) => {
                    self.refuse(reason);
                    Outcome::Stay
                }
            },
        }
    }

    /// An edit for each field of the file that is not as it was.
    fn changes(&self, subject: &Subject) -> Vec<Edit> {
        let mut names: Vec<&str> =
            self.lines.iter().filter_map(|line| line.field.path.first().copied()).collect();
        names.dedup();
        names
            .into_iter()
            .filter(|name| self.draft.get(name) != self.original.get(name))
            .map(|name| Edit::Set {
                subject: subject.clone(),
                field: name.to_owned(),
                value: self.draft.get(name).cloned().unwrap_or(Value::Null),
            })
            .collect()
    }

    /// Says beside the field why the form could not be taken.
    pub(super) fn refuse(&mut self, reason: String) {
        if let Some(line) = self.lines.get_mut(self.at) {
            line.reason = Some(reason);
        }
    }
}

/// One edit for several.
pub(super) fn together(mut edits: Vec<Edit>) -> Edit {
    if edits.len() == 1 { edits.remove(0) } else { Edit::Together(edits) }
}

/// The part of a list that is being typed.
fn last_part(shape: Shape, text: &str) -> &str {
    match shape {
        Shape::ReferMany(_) => text.rsplit(',').next().unwrap_or(text).trim_start(),
        _ => text.trim_start(),
    }
}

/// Why a reference leads nowhere, or an id can't be given.
fn missing(design: &Design, kind: Kind, line: &Line) -> Option<String> {
    let text = line.input.text().trim();
    let there = |kind: Kind, id: &str| Id::new(id).is_ok_and(|id| design.index.spot(kind, &id).is_some());
    match line.field.shape {
        Shape::Id if text.is_empty() => Some("it needs an id".into()),
        Shape::Id if there(kind, text) => Some(format!("'{text}' is taken")),
        Shape::Refer(kind) if !text.is_empty() && !there(kind, text) => {
            Some(format!("no {} '{text}'", kind.word()))
        }
        Shape::ReferMany(kind) => {
            let mut parts = text.split(',').map(str::trim).filter(|part| !part.is_empty());
            parts.find(|part| !there(kind, part)).map(|part| format!("no {} '{part}'", kind.word()))
        }
        _ => None,
    }
}

/// The ids and names of everything of a kind.
fn things(design: &Design, kind: Kind) -> impl Iterator<Item = (String, String)> {
    design.index.ids(kind).filter_map(move |id| {
        let thing = fields::thing(&design.job, &design.index, &Subject::new(kind, id))?;
        let name = thing.get("name").and_then(Value::as_str).unwrap_or_default().to_owned();
        Some((id.to_string(), name))
    })
}
