//! Ids and names for new things: short, unique, and the same whenever the same things are made in the same order.
//!
//! A level or a room is called by its name in small letters (`Main floor` is `main-floor`). A wall box is called by the
//! first letters of its room and a number (`Primary bedroom` gives `PB1`), a control by its box and a letter (`PB1a`), a
//! loop by its control and a number (`PB1a1`), a ceiling box by the letters and a number (`PB-1`), a home run `HR1`.
//! Where an id is taken, the next number that is free is used. A copy takes the id it is made from with the next
//! number that is free.

use crate::job::{Id, Index, Job, Kind};
use std::collections::{HashMap, HashSet};

/// The longest id that is made from a name; what comes behind it still fits an id.
const LONGEST_WORD: usize = 24;
/// The most letters that stand for a room.
const LONGEST_PREFIX: usize = 4;

/// The ids that are taken, to find free ones.
#[derive(Debug, Clone, Default)]
pub struct Ids {
    taken: HashSet<(Kind, String)>,
    /// Where the search for a free number goes on, so that many things of one name stay quick.
    next: HashMap<(Kind, String), u64>,
}

impl Ids {
    /// The ids of a job.
    pub fn of(job: &Job) -> Self {
        Self::in_index(&Index::new(job).0)
    }

    /// The ids of the job that an index is of.
    pub fn in_index(index: &Index) -> Self {
        let taken = index.all().into_iter().map(|(kind, id, _)| (kind, id.folded())).collect();
        Self { taken, next: HashMap::new() }
    }

    /// Takes an id if it can be one and is free.
    pub fn take(&mut self, kind: Kind, text: &str) -> Option<Id> {
        let id = Id::new(text).ok()?;
        self.taken.insert((kind, id.folded())).then_some(id)
    }

    /// Takes the id itself, or with `-2`, `-3` and so on behind it.
    pub fn word(&mut self, kind: Kind, text: &str) -> Id {
        let word = if text.is_empty() { kind.word().replace(' ', "-") } else { text.to_owned() };
        match self.take(kind, &word) {
            Some(id) => id,
            None => self.numbered(kind, &format!("{}-", cut(&word)), 2),
        }
    }

    /// Takes the first free id of a beginning and a number.
    pub fn numbered(&mut self, kind: Kind, beginning: &str, from: u64) -> Id {
        self.wide(kind, beginning, from, 1)
    }

    /// The same with at least so many digits.
    fn wide(&mut self, kind: Kind, beginning: &str, from: u64, digits: usize) -> Id {
        // An id has no room for many zeros.
        let digits = digits.min(6);
        let beginning: String =
            cut(beginning).chars().filter(|c| c.is_ascii_alphanumeric() || *c == '-').collect();
        let key = (kind, beginning.to_ascii_lowercase());
        let mut number = self.next.get(&key).copied().unwrap_or(0).max(from);
        loop {
            let found = self.take(kind, &format!("{beginning}{number:0digits$}"));
            number = number.saturating_add(1);
            if let Some(id) = found {
                self.next.insert(key, number);
                return id;
            }
        }
    }

    /// Takes a control's id: its box and a letter, or a number from the 27th on.
    pub fn lettered(&mut self, wall_box: &Id) -> Id {
        for letter in 'a'..='z' {
            if let Some(id) = self.take(Kind::Control, &format!("{wall_box}{letter}")) {
                return id;
            }
        }
        self.numbered(Kind::Control, &format!("{wall_box}-"), 27)
    }

    /// Takes the id of a copy: the same with the next free number. If what contains it was copied from `old` to `new`
    /// and its id begins with `old`, it begins with `new`.
    pub fn copy(&mut self, kind: Kind, id: &Id, within: Option<(&Id, &Id)>) -> Id {
        if let Some((old, new)) = within
            && let Some(rest) = id.as_str().strip_prefix(old.as_str())
            && let Some(id) = self.take(kind, &format!("{new}{rest}"))
        {
            return id;
        }
        let text = id.as_str();
        let stem = text.trim_end_matches(|c: char| c.is_ascii_digit());
        let digits = &text[stem.len()..];
        match digits.parse::<u64>() {
            // As many digits as the original has: HR09 is followed by HR10, not by HR1 nor by HR010.
            Ok(number) => self.wide(kind, stem, number.saturating_add(1), digits.len()),
            Err(_) => self.numbered(kind, &format!("{}-", cut(text)), 2),
        }
    }
}

fn cut(text: &str) -> &str {
    // Ids are ASCII; what is not is dropped before it gets here, or dropped by the caller.
    text.char_indices().nth(LONGEST_WORD).map_or(text, |(at, _)| &text[..at])
}

/// A name as an id: its letters and digits in small letters, with `-` between words.
pub fn slug(name: &str) -> String {
    let mut slug = String::new();
    for word in name.split(|c: char| !c.is_ascii_alphanumeric()).filter(|word| !word.is_empty()) {
        if slug.len() + word.len() > LONGEST_WORD && !slug.is_empty() {
            break;
        }
        if !slug.is_empty() {
            slug.push('-');
        }
        slug.extend(word.chars().take(LONGEST_WORD).map(|c| c.to_ascii_lowercase()));
    }
    slug
}

/// The letters that stand for a room: the first of each word, in capitals, numbers whole. What ends in a number gets a
/// `-`, so that the next number stands apart.
pub fn prefix(name: &str) -> String {
    let mut prefix = String::new();
    for word in name.split(|c: char| !c.is_ascii_alphanumeric()).filter(|word| !word.is_empty()) {
        let digits = word.len() - word.trim_start_matches(|c: char| c.is_ascii_digit()).len();
        let part = if digits > 0 { &word[..digits] } else { &word[..1] };
        if prefix.len() + part.len() > LONGEST_PREFIX {
            break;
        }
        prefix.push_str(&part.to_ascii_uppercase());
    }
    if prefix.is_empty() {
        prefix.push('R');
    }
    if prefix.ends_with(|c: char| c.is_ascii_digit()) {
        prefix.push('-');
    }
    prefix
}

/// The name of a copy: the same with the next number that no other name in the list has.
pub(crate) fn next_name(name: &str, taken: &HashSet<String>) -> String {
    if name.trim().is_empty() {
        return String::new();
    }
    let stem = name.trim_end_matches(|c: char| c.is_ascii_digit());
    let (stem, mut number) = match name[stem.len()..].parse::<u64>() {
        Ok(number) => (stem.to_owned(), number.saturating_add(1)),
        Err(_) => (format!("{} ", name.trim_end()), 2),
    };
    loop {
        let next = format!("{stem}{number}");
        if !taken.contains(&next.to_lowercase()) || number == u64::MAX {
            return next;
        }
        number += 1;
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn ids_are_short_and_read_like_their_names() {
        assert_eq!(slug("Main floor"), "main-floor");
        assert_eq!(slug("Primary bath / dressing (upstairs east)"), "primary-bath-dressing");
        assert_eq!(slug("Café"), "caf");
        assert_eq!(prefix("Primary bedroom"), "PB");
        assert_eq!(prefix("Bedroom 2"), "B2-");
        assert_eq!(prefix("éé"), "R");
        let mut ids = Ids::default();
        assert_eq!(ids.word(Kind::Room, "kitchen").as_str(), "kitchen");
        assert_eq!(ids.word(Kind::Room, "KITCHEN").as_str(), "KITCHEN-2");
        assert_eq!(ids.word(Kind::Room, "").as_str(), "room");
        let k1 = ids.numbered(Kind::WallBox, "K", 1);
        let k3 = Id::new("K3").unwrap();
        assert_eq!(ids.lettered(&k1).as_str(), "K1a");
        assert_eq!(ids.copy(Kind::Control, &Id::new("K1a").unwrap(), Some((&k1, &k3))).as_str(), "K3a");
        assert_eq!(ids.copy(Kind::Fixture, &Id::new("K-9").unwrap(), Some((&k1, &k3))).as_str(), "K-10");
        assert_eq!(ids.copy(Kind::Room, &Id::new("hall").unwrap(), None).as_str(), "hall-2");
        assert_eq!(ids.copy(Kind::Cable, &Id::new("HR09").unwrap(), None).as_str(), "HR10");
        assert_eq!(ids.copy(Kind::Cable, &Id::new("HR01").unwrap(), None).as_str(), "HR11");
    }

    #[test]
    fn a_copy_has_the_next_free_name() {
        let taken = ["bedroom 2", "bedroom 3"].map(String::from).into();
        assert_eq!(next_name("Bedroom 2", &taken), "Bedroom 4");
        assert_eq!(next_name("Hall", &taken), "Hall 2");
        assert_eq!(next_name("", &taken), "");
    }

    proptest! {
        #[test]
        fn any_name_gives_free_ids(names in proptest::collection::vec("\\PC{0,60}", 1..20)) {
            let mut ids = Ids::default();
            let mut seen = HashSet::new();
            for name in &names {
                let word = ids.word(Kind::Room, &slug(name));
                prop_assert!(seen.insert(word.folded()));
                let wall_box = ids.numbered(Kind::WallBox, &prefix(name), 1);
                let control = ids.lettered(&wall_box);
                let copied = ids.copy(Kind::Control, &control, None);
                prop_assert!(!copied.same(&control));
            }
        }
    }
}
