//! A line of text being typed.

use crate::format::Text;
use unicode_segmentation::UnicodeSegmentation;

/// The longest text that is taken, in bytes; a job file has no use for more in one field.
const LONGEST: usize = 2000;

/// A text with a cursor in it, which stands between two characters.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub(super) struct Input {
    text: String,
    at: usize,
    /// Whether all of it is chosen, so that what is typed takes its place.
    chosen: bool,
}

impl Input {
    /// Starts with a text, the cursor at its end.
    pub(super) fn new(text: &str) -> Self {
        Self { text: text.to_owned(), at: text.len(), chosen: false }
    }

    /// Chooses the whole text: the first character typed takes its place, a move of the cursor keeps it to be edited.
    pub(super) fn choose(&mut self) {
        self.chosen = !self.text.is_empty();
        self.at = self.text.len();
    }

    /// Whether what is typed takes the place of all that stands there.
    pub(super) const fn is_chosen(&self) -> bool {
        self.chosen
    }

    /// Takes the chosen text away; whether there was any.
    fn drop_chosen(&mut self) -> bool {
        let chosen = std::mem::take(&mut self.chosen);
        if chosen {
            self.set("");
        }
        chosen
    }

    /// What stands in it.
    pub(super) fn text(&self) -> &str {
        &self.text
    }

    /// The columns before the cursor.
    pub(super) fn cursor_column(&self) -> usize {
        Text::from(&self.text[..self.at]).width()
    }

    /// Puts another text in, the cursor at its end.
    pub(super) fn set(&mut self, text: &str) {
        *self = Self::new(text);
    }

    /// Adds typed or pasted text at the cursor; line breaks and control characters are no part of a field.
    pub(super) fn add(&mut self, text: &str) {
        self.drop_chosen();
        for c in
            text.chars().map(|c| if matches!(c, '\n' | '\t') { ' ' } else { c }).filter(|c| !c.is_control())
        {
            if self.text.len() + c.len_utf8() <= LONGEST {
                self.text.insert(self.at, c);
                self.at += c.len_utf8();
            }
        }
    }

    /// Takes the character before the cursor away, with all that combines with it.
    pub(super) fn rub_out(&mut self) {
        if self.drop_chosen() {
            return;
        }
        if let Some((start, _)) = self.text[..self.at].grapheme_indices(true).next_back() {
            self.text.replace_range(start..self.at, "");
            self.at = start;
        }
    }

    /// Takes the character after the cursor away.
    pub(super) fn delete(&mut self) {
        if self.drop_chosen() {
            return;
        }
        if let Some(next) = self.text[self.at..].graphemes(true).next() {
            let end = self.at + next.len();
            self.text.replace_range(self.at..end, "");
        }
    }

    /// Moves the cursor one character back.
    pub(super) fn left(&mut self) {
        self.chosen = false;
        self.at = self.text[..self.at].grapheme_indices(true).next_back().map_or(0, |(start, _)| start);
    }

    /// Moves the cursor one character on.
    pub(super) fn right(&mut self) {
        self.chosen = false;
        self.at += self.text[self.at..].graphemes(true).next().map_or(0, str::len);
    }

    /// Moves the cursor to the start.
    pub(super) fn home(&mut self) {
        self.chosen = false;
        self.at = 0;
    }

    /// Moves the cursor to the end.
    pub(super) fn end(&mut self) {
        self.chosen = false;
        self.at = self.text.len();
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_chosen_is_replaced_unless_the_cursor_moves_first() {
        let mut input = Input::new("20'6");
        input.choose();
        input.add("3");
        input.add("1");
        assert_eq!((input.text(), input.is_chosen()), ("31", false));
        input.choose();
        input.left();
        input.add("0");
        assert_eq!(input.text(), "301");
        input.choose();
        input.rub_out();
        assert_eq!(input.text(), "");
        input.choose();
        assert!(!input.is_chosen(), "there is nothing to choose");
    }

    #[test]
    fn a_character_goes_with_what_combines_with_it() {
        let mut input = Input::new("ae\u{301}b");
        input.left();
        input.rub_out();
        assert_eq!(input.text(), "ab");
        input.add("\u{1b}x\ny");
        assert_eq!((input.text(), input.cursor_column()), ("ax yb", 4));
        input.delete();
        input.home();
        input.rub_out();
        input.right();
        assert_eq!((input.text(), input.cursor_column()), ("ax y", 1));
    }
}
