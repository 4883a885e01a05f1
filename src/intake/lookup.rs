//! Finds what a cell names: by its label in the table, its id, or its name if only one thing has it.

use super::cells::short;
use crate::format::Text;
use crate::job::catalogue::Catalogue;
use crate::job::read::nearest;
use crate::job::{Id, Kind};
use crate::sheets::csv::active;

/// What things are called in the table: by name, or by id where they have none, with the id in brackets behind what is
/// there already.
pub(super) fn labels<'a>(things: impl Iterator<Item = (&'a Id, &'a str)>) -> Vec<String> {
    let mut taken = std::collections::HashSet::new();
    let label = |(id, name): (&Id, &str)| {
        let mut label = plain(name);
        if label.is_empty() {
            label = id.to_string();
        }
        while !taken.insert(label.to_lowercase()) {
            label = format!("{label} ({id})");
        }
        label
    };
    things.map(label).collect()
}

/// The longest name that is written.
const LONGEST_NAME: usize = 200;

/// A name on one line, as it comes back out of a cell.
pub(super) fn plain(name: &str) -> String {
    let text: String = Text::from(name).as_str().trim().chars().take(LONGEST_NAME).collect();
    active(text.trim()).trim().to_owned()
}

/// Whether two labels are the same for a reader.
pub(super) fn same(one: &str, other: &str) -> bool {
    one.to_lowercase() == other.to_lowercase()
}

/// The catalogue's entry that a cell names.
pub(super) fn part(catalogue: &Catalogue, kind: Kind, text: &str) -> Result<Id, String> {
    let entries: Vec<(&Id, &str)> = match kind {
        Kind::FixtureType => catalogue.fixtures.iter().map(|e| (&e.id, e.name.as_str())).collect(),
        Kind::ControlType => catalogue.controls.iter().map(|e| (&e.id, e.name.as_str())).collect(),
        Kind::CableType => catalogue.cables.iter().map(|e| (&e.id, e.name.as_str())).collect(),
        Kind::BoxType => catalogue.boxes.iter().map(|e| (&e.id, e.name.as_str())).collect(),
        _ => Vec::new(),
    };
    if let Some((id, _)) = entries.iter().find(|(id, _)| id.as_str().eq_ignore_ascii_case(text)) {
        return Ok((*id).clone());
    }
    let mut named = entries.iter().filter(|(_, name)| same(&plain(name), text));
    match (named.next(), named.next()) {
        (Some((id, _)), None) => Ok((*id).clone()),
        (Some(_), Some(_)) => {
            Err(format!("several {} are called '{}'; give the id", kind.plural(), short(text)))
        }
        (None, _) => {
            let hint = nearest(text, entries.iter().map(|(id, _)| id.as_str()));
            let known = || match entries.len() {
                0 => format!("the catalogue has no {} yet", kind.word()),
                1..=8 => {
                    let ids: Vec<&str> = entries.iter().map(|(id, _)| id.as_str()).collect();
                    format!("there are {}", ids.join(", "))
                }
                n => format!("the catalogue has {n} others"),
            };
            Err(format!("there is no {} '{}'; {}", kind.word(), short(text), hint.unwrap_or_else(known)))
        }
    }
}

/// The only entry of a kind, for a cell that was left empty.
pub(super) fn only(catalogue: &Catalogue, kind: Kind) -> Result<Id, String> {
    let ids: Vec<&Id> = match kind {
        Kind::FixtureType => catalogue.fixtures.iter().map(|e| &e.id).collect(),
        Kind::ControlType => catalogue.controls.iter().map(|e| &e.id).collect(),
        _ => Vec::new(),
    };
    match ids.as_slice() {
        [id] => Ok((*id).clone()),
        [] => Err(format!("the catalogue has no {} yet; add one", kind.word())),
        _ => Err(format!("say which {}", kind.word())),
    }
}
