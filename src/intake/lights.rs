//! The cell that says which fixtures the lights are: one type, several in order, none, or a choice still open.

use super::cells::short;
use super::lookup::part;
use crate::job::catalogue::Catalogue;
use crate::job::wiring::CeilingBox;
use crate::job::{Id, Kind};

/// Most lights of one row.
pub(super) const MOST_LIGHTS: usize = 500;

/// What one ceiling box holds.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub(super) struct Hung {
    pub fixture: Option<Id>,
    pub open: Vec<Id>,
}

impl Hung {
    pub(super) fn of(ceiling: &CeilingBox) -> Self {
        let mut open: Vec<Id> = Vec::new();
        for id in &ceiling.open {
            if !open.iter().any(|known| known.same(id)) {
                open.push(id.clone());
            }
        }
        Self { fixture: ceiling.fixture.clone(), open }
    }

    fn written(&self) -> String {
        match (&self.fixture, self.open.as_slice()) {
            (Some(id), _) => id.to_string(),
            (None, []) => "none".into(),
            // One choice is still a choice.
            (None, [only]) => format!("{only} or {only}"),
            (None, open) => open.iter().map(Id::to_string).collect::<Vec<_>>().join(" or "),
        }
    }
}

/// Reads the cell for so many lights, or as many as it says.
pub(super) fn read(catalogue: &Catalogue, cell: &str, lights: Option<usize>) -> Result<Vec<Hung>, String> {
    let mut hung = Vec::new();
    let items: Vec<&str> = cell.split('+').map(str::trim).collect();
    let alone = items.len() == 1;
    for item in items {
        let (count, what) = match choice(catalogue, item) {
            Ok(what) => (None, what),
            Err(why) => match item.split_once(' ') {
                Some((count, rest)) if count.chars().all(|c| c.is_ascii_digit()) => {
                    let count: usize =
                        count.parse().map_err(|_| format!("'{}' is no number of lights", short(count)))?;
                    (Some(count), choice(catalogue, rest.trim())?)
                }
                _ => return Err(why),
            },
        };
        let count = match (count, lights) {
            (Some(count), _) => count,
            (None, Some(lights)) if alone => lights,
            (None, _) if alone => return Err("say how many lights".into()),
            (None, _) => return Err(format!("say how many of '{}', like '4 {}'", short(item), short(item))),
        };
        if hung.len().saturating_add(count) > MOST_LIGHTS {
            return Err(format!("a row takes at most {MOST_LIGHTS} lights"));
        }
        hung.extend(std::iter::repeat_n(what, count));
    }
    match lights {
        Some(lights) if lights != hung.len() => {
            Err(format!("it comes to {} lights, but 'lights' says {lights}", hung.len()))
        }
        _ => Ok(hung),
    }
}

fn choice(catalogue: &Catalogue, item: &str) -> Result<Hung, String> {
    if item.eq_ignore_ascii_case("none") {
        return Ok(Hung::default());
    }
    let whole = part(catalogue, Kind::FixtureType, item);
    if whole.is_ok() || !item.contains(" or ") {
        return whole.map(|id| Hung { fixture: Some(id), open: Vec::new() });
    }
    let mut open: Vec<Id> = Vec::new();
    for one in item.split(" or ") {
        let id = part(catalogue, Kind::FixtureType, one.trim())?;
        if !open.iter().any(|known| known.same(&id)) {
            open.push(id);
        }
    }
    Ok(Hung { fixture: None, open })
}

/// The cell for lights in their order.
pub(super) fn written(hung: &[Hung]) -> String {
    let mut runs: Vec<(usize, &Hung)> = Vec::new();
    for one in hung {
        match runs.last_mut() {
            Some((count, last)) if *last == one => *count += 1,
            _ => runs.push((1, one)),
        }
    }
    match runs.as_slice() {
        [(_, all)] => all.written(),
        runs => {
            let items: Vec<String> =
                runs.iter().map(|(count, hung)| format!("{count} {}", hung.written())).collect();
            items.join(" + ")
        }
    }
}
