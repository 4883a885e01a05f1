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
}

impl Input {
    /// Starts with a text, the cursor at its end.
    pub(super) fn new(text: &str) -> Self {
        Self { text: text.to_owned(), at: text.len() }
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
        if let Some((start, _)) = self.text[..self.at].grapheme_indices(true).next_back() {
            self.text.replace_range(start..self.at, "");
            self.at = start;
        }
    }

    /// Takes the character after the cursor away.
    pub(super) fn delete(&mut self) {
        if let Some(next) = self.text[self.at..].graphemes(true).next() {
            let end = self.at + next.len();
            self.text.replace_range(self.at..end, "");
        }
    }

    /// Moves the cursor one character back.
    pub(super) fn left(&mut self) {
        self.at = self.text[..self.at].grapheme_indices(true).next_back().map_or(0, |(start, _)| start);
    }

    /// Moves the cursor one character on.
    pub(super) fn right(&mut self) {
        self.at += self.text[self.at..].graphemes(true).next().map_or(0, str::len);
    }

    /// Moves the cursor to the start.
    pub(super) fn home(&mut self) {
        self.at = 0;
    }

    /// Moves the cursor to the end.
    pub(super) fn end(&mut self) {
        self.at = self.text.len();
    }
}

#[cfg(test)]
mod tests {
    use super::*;

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
