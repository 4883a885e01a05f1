//! What a field may be completed to, and what is named that is not there.

use super::{Form, Line};
use crate::design::Design;
use crate::format;
use crate::job::fields::{self, Shape};
use crate::job::{Id, Kind, Subject};
use crate::plan::next;
use serde_json::Value;

/// As many things as are offered to pick from.
const OFFERED: usize = 6;

impl Form {
    /// What the field may be completed to, best first: id and name.
    pub(in crate::tui) fn offers(&self, design: &Design) -> Vec<(String, String)> {
        let Some(line) = self.lines.get(self.at) else { return Vec::new() };
        let own = self.asks().and_then(|tool| tool.candidates(design, line.field));
        let all = match (own, line.field.shape) {
            (Some(own), _) => own,
            (None, Shape::Source) => sources(design),
            (None, shape) => match shape.picks() {
                Some(kind) => things(design, kind),
                None => return Vec::new(),
            },
        };
        // Before anything is typed, what may be picked instead is worth seeing too.
        let untouched = line.input.text() == line.field.text(&self.original);
        let typed = last_part(line.field.shape, line.input.text()).to_lowercase();
        let mut found: Vec<(u8, usize, String, String)> = all
            .into_iter()
            .enumerate()
            .filter_map(|(at, (id, name))| {
                let (low_id, low_name) = (id.to_lowercase(), name.to_lowercase());
                let rank = match () {
                    () if low_id == typed => 0,
                    () if low_id.starts_with(&typed) => 1,
                    () if low_name.starts_with(&typed) => 2,
                    () if low_id.contains(&typed) || low_name.contains(&typed) => 3,
                    () if untouched => 4,
                    () => return None,
                };
                Some((rank, at, id, name))
            })
            .collect();
        found.sort();
        found.into_iter().take(OFFERED).map(|(_, _, id, name)| (id, name)).collect()
    }

    /// Takes the best offer where what is typed is no id yet.
    pub(super) fn complete(&mut self, design: &Design) {
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
}

/// The part of a list that is being typed.
fn last_part(shape: Shape, text: &str) -> &str {
    match shape {
        Shape::ReferMany(_) => text.rsplit(',').next().unwrap_or(text).trim_start(),
        _ => text.trim_start(),
    }
}

/// Why a reference leads nowhere, or an id can't be given.
pub(super) fn missing(design: &Design, kind: Kind, line: &Line) -> Option<String> {
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

/// The ids and names of everything of a kind, as people count.
pub(super) fn things(design: &Design, kind: Kind) -> Vec<(String, String)> {
    let named = |id: &Id| {
        let thing = fields::thing(&design.job, &design.index, &Subject::new(kind, id))?;
        let name = thing.get("name").and_then(Value::as_str).unwrap_or_default().to_owned();
        Some((id.to_string(), name))
    };
    let mut all: Vec<(String, String)> = design.index.ids(kind).filter_map(named).collect();
    all.sort_by(|(a, _), (b, _)| format::as_counted(a, b));
    all
}

/// Where a home run may come from: the outputs with what they may yet give, those that can take one first; then the
/// panels.
fn sources(design: &Design) -> Vec<(String, String)> {
    let outputs = next::outputs(design);
    let (open, full): (Vec<_>, Vec<_>) = outputs.iter().partition(|output| output.is_open());
    let named = |output: &next::Room| {
        let says = match output.terminals {
            0 => "no terminal free".to_owned(),
            _ if output.watts < 0.0 => format!("{} over target", format::watts(Some(-output.watts))),
            _ if output.before_cable => format!("{} free before cable", format::watts(Some(output.watts))),
            _ => format!("{} free", format::watts(Some(output.watts))),
        };
        (output.output.to_string(), says)
    };
    let panels = design.job.panels.iter().map(|panel| (panel.id.to_string(), "no output yet".to_owned()));
    open.into_iter().chain(full).map(named).chain(panels).collect()
}
