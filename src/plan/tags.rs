//! Tags: what stands on the flags of each cable and each ceiling box.
//!
//! A stored tag stays as it is. What has none yet is proposed one: its id if that is short enough and free, else the
//! first letters of the words in its id with the first free number. So nothing that comes to the house, goes from it or
//! is put elsewhere changes a tag that was stored, and an output, a neighbor or a place, which may all change, are in
//! no tag.

use crate::job::edit::Edit;
use crate::job::{Id, Job, Kind, Subject, Tag};
use serde_json::Value;
use std::collections::{HashMap, HashSet};

/// Letters of a tag that is made from a long id.
const MOST_LETTERS: usize = 3;

/// The tag of everything that has one.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Tags {
    by_thing: HashMap<(Kind, String), Given>,
    order: Vec<Subject>,
}

/// A tag, stored or proposed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Given {
    /// The tag.
    pub tag: Tag,
    /// Whether the job holds it, so that it stays.
    pub stored: bool,
}

/// Every cable and every ceiling box in the order of the file, with its stored tag.
fn things(job: &Job) -> Vec<(Kind, &Id, Option<&Tag>)> {
    let mut all: Vec<(Kind, &Id, Option<&Tag>)> = Vec::new();
    for wall_box in &job.boxes {
        all.extend(wall_box.feeds.iter().map(|feed| (Kind::Cable, &feed.id, feed.tag.as_ref())));
    }
    for run in job.boxes.iter().flat_map(|b| &b.controls).flat_map(|control| &control.loops) {
        all.push((Kind::Cable, &run.id, run.tag.as_ref()));
        all.extend(run.ceiling.iter().map(|ceiling| (Kind::Fixture, &ceiling.id, ceiling.tag.as_ref())));
    }
    let links = job.groups.iter().flat_map(|group| &group.links);
    all.extend(links.map(|link| (Kind::Cable, &link.id, link.tag.as_ref())));
    all
}

impl Tags {
    /// The tags of a job, no two alike.
    pub fn of(job: &Job) -> Self {
        let things = things(job);
        let mut taken: HashSet<String> =
            things.iter().filter_map(|(_, _, tag)| tag.map(Tag::folded)).collect();
        let mut tags = Self::default();
        for (kind, id, stored) in things {
            let given = match stored {
                Some(tag) => Given { tag: tag.clone(), stored: true },
                None => match free(id, &mut taken) {
                    Some(tag) => Given { tag, stored: false },
                    None => continue,
                },
            };
            tags.by_thing.insert((kind, id.folded()), given);
            tags.order.push(Subject::new(kind, id));
        }
        tags
    }

    /// The tag of a cable or of a ceiling box.
    pub fn get(&self, kind: Kind, id: &Id) -> Option<&Given> {
        self.by_thing.get(&(kind, id.folded()))
    }

    /// How many are not stored yet, of how many.
    pub fn unstored(&self) -> (usize, usize) {
        (self.by_thing.values().filter(|given| !given.stored).count(), self.by_thing.len())
    }
}

/// The edit that stores every tag that is not stored yet; `None` where all are.
pub fn store(job: &Job) -> Option<Edit> {
    let tags = Tags::of(job);
    let edits: Vec<Edit> = tags
        .order
        .iter()
        .filter_map(|subject| {
            let id = Id::new(&subject.id).ok()?;
            let given = tags.get(subject.kind, &id).filter(|given| !given.stored)?;
            let value = Value::String(given.tag.to_string());
            Some(Edit::Set { subject: subject.clone(), field: "tag".into(), value })
        })
        .collect();
    (!edits.is_empty()).then_some(Edit::Together(edits))
}

/// A tag for an id that nothing else has.
fn free(id: &Id, taken: &mut HashSet<String>) -> Option<Tag> {
    let mut take = |text: &str| {
        let tag = Tag::new(text).ok()?;
        taken.insert(tag.folded()).then_some(tag)
    };
    if let Some(tag) = take(id.as_str()) {
        return Some(tag);
    }
    let words = id.as_str().split('-').filter_map(|word| word.chars().next());
    let letters: String = words.filter(char::is_ascii_alphabetic).take(MOST_LETTERS).collect();
    let letters = if letters.is_empty() { "T".to_owned() } else { letters.to_ascii_uppercase() };
    // There are fewer things than numbers that fit beside three letters, as a job file has at most 8 MB.
    (1..100_000).find_map(|number| take(&format!("{letters}{number}")))
}
