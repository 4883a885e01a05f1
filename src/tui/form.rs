//! A form: the fields of one thing, checked as they are typed.

mod offers;
mod take;
pub(super) mod tool;
mod typing;

pub(super) use take::together;

use super::input::Input;
use crate::design::Design;
use crate::job::edit::Edit;
use crate::job::fields::{self, Field, Shape};
use crate::job::{Id, Kind, Spot, Subject};
use offers::things;
use serde_json::Value;
use tool::Tool;

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

impl Purpose {
    /// Whether a field belongs on the form: an id stays, and what is only planned has no records yet.
    fn asks(&self, field: &Field) -> bool {
        match self {
            Self::Change(_) => field.shape != Shape::Id,
            Self::Make { .. } => !field.is_record(),
            Self::Do(_) => true,
        }
    }
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
    /// It is to be taken.
    Take(Taken),
}

/// What a form comes to.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Taken {
    /// The edit; none where nothing is changed.
    pub edit: Option<Edit>,
    /// What it is called.
    pub label: String,
    /// Whether the next form like it is wanted.
    pub more: bool,
}

/// What is to be said of a draft: found once for each, since what is asked for may be large.
#[derive(Debug, Clone)]
struct Said {
    draft: Value,
    flaw: Option<String>,
    notes: Vec<String>,
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
    said: Option<Said>,
    pub lines: Vec<Line>,
    pub at: usize,
    pub warned: bool,
    /// What was taken just before, where this form followed from it.
    pub before: Option<String>,
}

impl Form {
    /// A form to change a thing; none if there is no such thing or it has no fields.
    pub(super) fn change(design: &Design, subject: &Subject) -> Option<Self> {
        let thing = fields::thing(&design.job, &design.index, subject)?;
        let spot = Id::new(&subject.id).ok().and_then(|id| design.index.spot(subject.kind, &id));
        let parent = spot.and_then(|spot| fields::parent(&design.job, spot)).map(|parent| parent.kind);
        let all = fields::of(subject.kind, spot);
        (!all.is_empty()).then(|| {
            let purpose = Purpose::Change(subject.clone());
            Self::new(design, purpose, (subject.kind, parent), all, thing)
        })
    }

    /// A form to make a thing of a kind at a place, which starts like the one given.
    pub(super) fn make(
        design: &Design,
        kind: Kind,
        parent: Option<Subject>,
        at: usize,
        thing: Value,
    ) -> Self {
        let like = match parent.as_ref().map(|parent| parent.kind) {
            Some(Kind::Control) => Some(Spot::Loop { wall_box: 0, control: 0, at: 0 }),
            Some(Kind::Group) => Some(Spot::Link { group: 0, link: 0 }),
            _ => None,
        };
        let all = fields::of(kind, like);
        let of = parent.as_ref().map(|parent| parent.kind);
        let mut form = Self::new(design, Purpose::Make { kind, parent, at }, (kind, of), all, thing);
        // Its id is proposed; the name is what a person types first.
        form.go(usize::from(form.lines.len() > 1));
        form
    }

    /// A form that asks how something is to be done.
    ///
    /// # Errors
    /// Why it cannot be done.
    pub(super) fn tool(design: &Design, tool: Tool) -> Result<Self, String> {
        let draft = tool.start(design)?;
        let all = tool.fields(&design.job);
        Ok(Self::new(design, Purpose::Do(tool), (Kind::Project, None), all, draft))
    }

    fn new(
        design: &Design,
        purpose: Purpose,
        (kind, parent): (Kind, Option<Kind>),
        all: &'static [Field],
        thing: Value,
    ) -> Self {
        let lines = all
            .iter()
            .filter(|field| purpose.asks(field) && field.applies(&thing))
            .map(|field| Line { field, input: Input::new(&field.text(&thing)), reason: None })
            .collect();
        let draft = thing.clone();
        let mut form = Self {
            purpose,
            kind,
            parent,
            all,
            original: thing,
            draft,
            said: None,
            lines,
            at: 0,
            warned: false,
            before: None,
        };
        form.go(0);
        form.check(design);
        form
    }

    /// What stands above the form.
    pub(super) fn title(&self) -> String {
        match &self.purpose {
            Purpose::Change(subject)
                if matches!(subject.kind, Kind::Project | Kind::Settings | Kind::Estimate) =>
            {
                format!("Change the {}", self.word())
            }
            Purpose::Change(subject) => format!("Change {} {}", self.word(), subject.id),
            Purpose::Make { parent: Some(parent), .. } => format!("New {} in {parent}", self.word()),
            Purpose::Make { parent: None, .. } => format!("New {}", self.word()),
            Purpose::Do(tool) => tool.title(),
        }
    }

    /// The thing it changes, so that what is marked may be changed with it.
    pub(super) const fn changed(&self) -> Option<&Subject> {
        match &self.purpose {
            Purpose::Change(subject) => Some(subject),
            _ => None,
        }
    }

    /// Where the thing goes that it makes: its kind, what it belongs to, and its place there.
    pub(super) fn makes(&self) -> Option<(Kind, Option<Subject>, usize)> {
        match &self.purpose {
            Purpose::Make { kind, parent, at } => Some((*kind, parent.clone(), *at)),
            _ => None,
        }
    }

    /// Whether another form like it may follow when it is taken.
    pub(super) const fn may_follow(&self) -> bool {
        !matches!(self.purpose, Purpose::Do(_))
    }

    /// The thing as it stands in the form.
    pub(super) const fn draft(&self) -> &Value {
        &self.draft
    }

    /// What is to be done, where it asks for that.
    pub(super) const fn asks(&self) -> Option<&Tool> {
        match &self.purpose {
            Purpose::Do(tool) => Some(tool),
            _ => None,
        }
    }

    /// What there is to know about what stands in it.
    pub(super) fn notes(&self) -> &[String] {
        self.said.as_ref().map_or(&[], |said| &said.notes)
    }

    fn word(&self) -> &'static str {
        match (self.kind, self.parent) {
            (Kind::Cable, Some(Kind::WallBox)) => "feed",
            (Kind::Cable, Some(Kind::Group)) => "link",
            (Kind::Cable, _) => "loop",
            (kind, _) => kind.word(),
        }
    }
}
