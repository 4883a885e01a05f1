//! The tag of a cable or a ceiling box: what stands on its flags.

use serde::{Deserialize, Deserializer, Serialize, Serializer, de};
use std::fmt;
use std::sync::Arc;

/// A tag: a few letters, digits and `-`. It is given when flags are first made and stays, whatever comes to the house
/// or goes, since a flag on a cable behind board can't be made anew. No two things of a job have the same.
#[derive(Clone, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct Tag(Arc<str>);

/// A text that cannot be a tag.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("'{0}' is no tag: use 1 to 8 letters, digits and '-', with no spaces")]
pub struct BadTag(String);

impl Tag {
    /// The longest tag. With a blank and `OUT` after it, it takes 12 characters, which are read on a label of
    /// 1/2 by 1 in.
    pub const LONGEST: usize = 8;

    /// Takes a text as a tag.
    ///
    /// # Errors
    /// [`BadTag`] when it is empty, longer than 8, or holds anything but ASCII letters, digits and `-`.
    pub fn new(text: &str) -> Result<Self, BadTag> {
        let fits = (1..=Self::LONGEST).contains(&text.len());
        if fits && text.chars().all(|c| c.is_ascii_alphanumeric() || c == '-') {
            Ok(Self(text.into()))
        } else {
            Err(BadTag(text.chars().take(Self::LONGEST + 8).collect()))
        }
    }

    /// The tag as text.
    pub fn as_str(&self) -> &str {
        &self.0
    }

    /// The form in which tags are compared: on a flag nobody tells `a1` from `A1`.
    pub fn folded(&self) -> String {
        self.0.to_ascii_lowercase()
    }
}

impl fmt::Display for Tag {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(&self.0)
    }
}

impl fmt::Debug for Tag {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.0)
    }
}

impl Serialize for Tag {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.serialize_str(&self.0)
    }
}

impl<'de> Deserialize<'de> for Tag {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        Self::new(&String::deserialize(deserializer)?).map_err(de::Error::custom)
    }
}
