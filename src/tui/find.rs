//! The line in which a person types what to find.

use unicode_segmentation::UnicodeSegmentation;

/// The longest text that is searched for, in characters.
const LONGEST: usize = 60;

/// What is being typed.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub(super) struct Prompt {
    text: String,
}

impl Prompt {
    /// What stands in it.
    pub(super) fn text(&self) -> &str {
        &self.text
    }

    /// Adds typed or pasted text; line breaks and control characters are no part of a name.
    pub(super) fn add(&mut self, text: &str) {
        let room = LONGEST.saturating_sub(self.text.graphemes(true).count());
        self.text.extend(text.chars().filter(|c| !c.is_control()).take(room));
    }

    /// Takes the last character away, with all that combines with it.
    pub(super) fn rub_out(&mut self) {
        if let Some((at, _)) = self.text.grapheme_indices(true).next_back() {
            self.text.truncate(at);
        }
    }
}
