//! What can be added at a line.

use super::View;
use crate::design::Design;
use crate::job::{Id, Kind, Spot, Subject, fields};

/// Something that can be added.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Choice {
    pub key: char,
    pub word: &'static str,
    pub kind: Kind,
    pub parent: Option<Subject>,
    pub at: usize,
}

/// The choices at a line, the most natural one first.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Menu {
    pub choices: Vec<Choice>,
}

/// The end of a list, wherever that is.
const LAST: usize = usize::MAX;

impl Menu {
    /// What can be added where the cursor stands in a view.
    pub(super) fn new(design: &Design, view: View, here: Option<&Subject>) -> Self {
        let mut choices = match view {
            View::Slots | View::Loading => panel_choices(design, here),
            View::Parts => part_choices(here),
            _ => house_choices(design, here),
        };
        if choices.is_empty() {
            choices.push(choice('v', "level", Kind::Level, None, LAST));
        }
        Self { choices }
    }

    /// The choices in one line.
    pub(super) fn line(&self) -> String {
        let words: Vec<String> = self.choices.iter().map(|c| format!("{}:{}", c.key, c.word)).collect();
        format!("add  {}", words.join("  "))
    }
}

fn choice(key: char, word: &'static str, kind: Kind, parent: Option<Subject>, at: usize) -> Choice {
    Choice { key, word, kind, parent, at }
}

fn house_choices(design: &Design, here: Option<&Subject>) -> Vec<Choice> {
    let spot = here.and_then(|here| Some((here, design.index.spot(here.kind, &Id::new(&here.id).ok()?)?)));
    let Some((here, spot)) = spot else { return Vec::new() };
    let inside = || Some(here.clone());
    let beside = || fields::parent(&design.job, spot);
    let level = |at| choice('v', "level", Kind::Level, None, at);
    match spot {
        Spot::Level(at) => vec![choice('r', "room", Kind::Room, inside(), LAST), level(at + 1)],
        Spot::Room { room, .. } => vec![
            choice('b', "wall box", Kind::WallBox, inside(), LAST),
            choice('r', "room beside", Kind::Room, beside(), room + 1),
            level(LAST),
        ],
        Spot::WallBox(at) => {
            let entry = &design.job.boxes[at];
            let room = Some(Subject::new(Kind::Room, &entry.room));
            let feed = choice('h', "home run or feed", Kind::Cable, inside(), LAST);
            let control = choice('c', "control", Kind::Control, inside(), LAST);
            let mut all = if entry.feeds.is_empty() { vec![feed, control] } else { vec![control, feed] };
            all.push(choice('b', "wall box beside", Kind::WallBox, room, at + 1));
            all
        }
        Spot::Feed { feed, .. } => vec![
            choice('c', "control", Kind::Control, beside(), LAST),
            choice('h', "feed beside", Kind::Cable, beside(), feed + 1),
        ],
        Spot::Control { control, .. } => vec![
            choice('l', "loop", Kind::Cable, inside(), LAST),
            choice('c', "control beside", Kind::Control, beside(), control + 1),
        ],
        Spot::Loop { at, .. } => vec![
            choice('f', "ceiling box", Kind::Fixture, inside(), LAST),
            choice('l', "loop beside", Kind::Cable, beside(), at + 1),
        ],
        Spot::Ceiling { ceiling, .. } => {
            vec![choice('f', "ceiling box after this one", Kind::Fixture, beside(), ceiling + 1)]
        }
        Spot::Link { link, .. } => vec![choice('k', "link beside", Kind::Cable, beside(), link + 1)],
        _ => Vec::new(),
    }
}

fn panel_choices(design: &Design, here: Option<&Subject>) -> Vec<Choice> {
    let supply_of = |subject: &Subject| subject.id.split('.').next().and_then(|id| Id::new(id).ok());
    let panel = match here {
        Some(subject) if subject.kind == Kind::Panel => Some(subject.clone()),
        Some(subject) => supply_of(subject)
            .and_then(|id| design.index.supply(&design.job, &id))
            .map(|(panel, _)| Subject::new(Kind::Panel, &panel.id)),
        None => None,
    };
    let panel = panel.or_else(|| design.job.panels.last().map(|panel| Subject::new(Kind::Panel, &panel.id)));
    let mut all = Vec::new();
    if panel.is_some() {
        all.push(choice('s', "supply", Kind::Supply, panel, LAST));
    }
    all.push(choice('p', "panel", Kind::Panel, None, LAST));
    all
}

fn part_choices(here: Option<&Subject>) -> Vec<Choice> {
    let mut all = vec![
        choice('f', "fixture", Kind::FixtureType, None, LAST),
        choice('c', "cable", Kind::CableType, None, LAST),
        choice('p', "conductor plan", Kind::ConductorPlan, None, LAST),
        choice('s', "supply", Kind::SupplyType, None, LAST),
        choice('k', "control", Kind::ControlType, None, LAST),
        choice('b', "box", Kind::BoxType, None, LAST),
        choice('m', "meter", Kind::Meter, None, LAST),
        choice('g', "group", Kind::Group, None, LAST),
        choice('n', "panel", Kind::Panel, None, LAST),
    ];
    if let Some(here) = here {
        if here.kind == Kind::Group {
            all.insert(0, choice('l', "link", Kind::Cable, Some(here.clone()), LAST));
        }
        // What the line is about comes first.
        all.sort_by_key(|choice| choice.kind != here.kind);
    }
    all
}
