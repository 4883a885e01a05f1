//! Texts that are safe to print: cleaned once, measured and cut by what a terminal shows.

use std::borrow::Cow;
use std::fmt;
use unicode_segmentation::UnicodeSegmentation;
use unicode_width::{UnicodeWidthChar, UnicodeWidthStr};

/// What ends a text that was cut.
pub(crate) const CUT: char = '~';
/// Marks of no width that may stand on one letter; real scripts need no more.
const MOST_MARKS: usize = 3;

/// A text without control characters, escape sequences, direction overrides or invisible characters, on one line.
///
/// Everything a person typed goes through this on its way to screen, paper or spreadsheet.
#[derive(Debug, Clone, PartialEq, Eq, Hash, Default, PartialOrd, Ord)]
pub struct Text(String);

impl Text {
    /// Cleans a text. Line breaks, tabs and unusual spaces become a space, what cannot be shown is left out.
    pub fn new(raw: &str) -> Self {
        if raw.bytes().all(|b| (0x20..0x7f).contains(&b)) {
            return Self(raw.to_owned());
        }
        Self(clean(raw))
    }

    /// The text.
    pub fn as_str(&self) -> &str {
        &self.0
    }

    /// Whether nothing is left to show.
    pub fn is_empty(&self) -> bool {
        self.0.trim().is_empty()
    }

    /// The columns it takes.
    pub fn width(&self) -> usize {
        width(&self.0)
    }

    /// The text in at most so many columns, ending in `~` if it was cut.
    pub fn within(&self, columns: usize) -> Cow<'_, str> {
        if self.width() <= columns { Cow::Borrowed(&self.0) } else { Cow::Owned(cut(&self.0, columns)) }
    }

    /// The text broken into lines of at most so many columns, at spaces where it can be.
    pub fn wrapped(&self, columns: usize) -> Vec<String> {
        let columns = columns.max(1);
        if self.width() <= columns {
            return vec![self.0.clone()];
        }
        let mut lines = Vec::new();
        let mut line = String::new();
        for word in self.0.split(' ').filter(|word| !word.is_empty()) {
            let gap = usize::from(!line.is_empty());
            if width(&line) + gap + width(word) <= columns {
                line.extend((gap > 0).then_some(' '));
                line.push_str(word);
                continue;
            }
            if !line.is_empty() {
                lines.push(std::mem::take(&mut line));
            }
            for piece in pieces(word, columns) {
                if !line.is_empty() {
                    lines.push(std::mem::take(&mut line));
                }
                line = piece;
            }
        }
        if !line.is_empty() {
            lines.push(line);
        }
        lines
    }
}

impl From<&str> for Text {
    fn from(raw: &str) -> Self {
        Self::new(raw)
    }
}

impl From<String> for Text {
    fn from(raw: String) -> Self {
        Self::new(&raw)
    }
}

impl From<&String> for Text {
    fn from(raw: &String) -> Self {
        Self::new(raw)
    }
}

impl fmt::Display for Text {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.0)
    }
}

/// The columns a string takes, never less than any of its parts.
pub(crate) fn width(text: &str) -> usize {
    if text.is_ascii() { text.len() } else { text.graphemes(true).map(UnicodeWidthStr::width).sum() }
}

/// The text in at most so many columns with `~` at its end.
fn cut(text: &str, columns: usize) -> String {
    let mut kept = String::new();
    let mut used = 0;
    for grapheme in text.graphemes(true) {
        used += UnicodeWidthStr::width(grapheme);
        if used >= columns {
            break;
        }
        kept.push_str(grapheme);
    }
    kept.truncate(kept.trim_end().len());
    if columns > 0 {
        kept.push(CUT);
    }
    kept
}

/// A word in pieces of at most so many columns, parted after a `-` or `/` where there is one; what is wider than a
/// column on its own becomes `~`.
fn pieces(word: &str, columns: usize) -> Vec<String> {
    let mut pieces = Vec::new();
    let mut piece = String::new();
    let mut used = 0;
    for grapheme in word.graphemes(true) {
        let wide = UnicodeWidthStr::width(grapheme);
        let (grapheme, wide) = if wide > columns { ("~", 1) } else { (grapheme, wide) };
        // What is left after a hyphen at the start may still have no room.
        while used + wide > columns {
            let end = piece.rfind(['-', '/']).map_or(piece.len(), |at| at + 1);
            let rest = piece.split_off(end);
            used = width(&rest);
            pieces.push(std::mem::replace(&mut piece, rest));
        }
        piece.push_str(grapheme);
        used += wide;
    }
    pieces.push(piece);
    pieces
}

fn clean(raw: &str) -> String {
    let mut out = String::with_capacity(raw.len());
    let mut marks = MOST_MARKS;
    let mut rest = raw;
    while let Some(c) = rest.chars().next() {
        if c == '\u{1b}' {
            rest = after_escape(&rest[1..]);
            continue;
        }
        rest = &rest[c.len_utf8()..];
        if c.is_whitespace() {
            out.push(' ');
            marks = MOST_MARKS;
        } else if !is_hostile(c) {
            // A mark needs a letter to stand on, and a pile of them would cover the lines above.
            match c.width() {
                Some(0) if marks >= MOST_MARKS => {}
                Some(0) => {
                    marks += 1;
                    out.push(c);
                }
                _ => {
                    marks = 0;
                    out.push(c);
                }
            }
        }
    }
    out
}

/// What follows an escape sequence, given what follows its ESC. One that does not end loses no text but its start.
fn after_escape(rest: &str) -> &str {
    if let Some(body) = rest.strip_prefix('[') {
        let end = body.find(|c: char| !('\u{20}'..='\u{3f}').contains(&c)).unwrap_or(body.len());
        let last = body[end..].chars().next().filter(|c| ('@'..='~').contains(c));
        return &body[end + last.map_or(0, char::len_utf8)..];
    }
    if rest.starts_with([']', 'P', '_', '^', 'X']) {
        let body = &rest[1..];
        let bell = body.find('\u{7}').map(|at| (at, 1));
        let string_end = body.find("\u{1b}\\").map(|at| (at, 2));
        if let Some((at, length)) = [bell, string_end].into_iter().flatten().min() {
            return &body[at + length..];
        }
    }
    rest
}

/// Whether a character must not be printed as it stands: it steers a terminal, turns the direction of writing, cannot
/// be seen, or has no agreed look.
pub fn is_hostile(c: char) -> bool {
    c.is_control()
        || matches!(c,
            '\u{ad}' | '\u{34f}' | '\u{61c}' | '\u{115f}' | '\u{1160}' | '\u{17b4}' | '\u{17b5}'
            | '\u{180b}'..='\u{180f}' | '\u{200b}'..='\u{200f}' | '\u{2028}'..='\u{202e}'
            | '\u{2060}'..='\u{206f}' | '\u{3164}' | '\u{fe00}'..='\u{fe0f}' | '\u{feff}' | '\u{ffa0}'
            | '\u{fff0}'..='\u{fffb}' | '\u{1d173}'..='\u{1d17a}' | '\u{e000}'..='\u{f8ff}'
            | '\u{e0000}'..='\u{10ffff}')
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn what_steers_a_terminal_is_gone() {
        for (raw, left) in [
            ("Bed\u{1b}[31mroom\u{1b}[0m", "Bedroom"),
            ("a\u{1b}]0;title\u{7}b", "ab"),
            ("a\u{1b}]8;;http://x\u{1b}\\b", "ab"),
            ("a\u{1b}]unclosed", "a]unclosed"),
            ("a\u{1b}", "a"),
            ("a\u{9b}31mb", "a31mb"),
            ("one\r\ntwo\tthree", "one  two three"),
            ("adm\u{202e}nimda", "admnimda"),
            ("zero\u{200b}width\u{feff}", "zerowidth"),
            ("Jos\u{e9} e\u{301}", "Jos\u{e9} e\u{301}"),
            ("\u{301}z", "z"),
            ("\u{4e2d}\u{6587}", "\u{4e2d}\u{6587}"),
        ] {
            assert_eq!(Text::new(raw).as_str(), left, "{raw:?}");
        }
        let piled = Text::new(&format!("z{}", "\u{301}".repeat(500)));
        assert_eq!(piled.as_str().chars().count(), 1 + MOST_MARKS);
    }

    #[test]
    fn cut_and_wrapped_by_what_is_seen() {
        assert_eq!(Text::new("Bedroom door").within(8), "Bedroom~");
        assert_eq!(Text::new("\u{4e2d}\u{6587}\u{4e2d}").within(4), "\u{4e2d}~");
        assert_eq!(Text::new("Bedroom").within(7), "Bedroom");
        assert_eq!(Text::new("x").within(0), "");
        assert_eq!(Text::new("by the main door").wrapped(8), ["by the", "main", "door"]);
        assert_eq!(Text::new("HR1-LONGTAG x").wrapped(4), ["HR1-", "LONG", "TAG", "x"]);
        assert_eq!(Text::new("open-fixture").wrapped(10), ["open-", "fixture"]);
        assert_eq!(Text::new("-ab\u{4e2d}").wrapped(3), ["-", "ab", "\u{4e2d}"]);
        assert_eq!(Text::new("\u{4e2d}").wrapped(1), ["~"]);
    }

    proptest! {
        #[test]
        fn any_text_comes_out_clean(raw: String, columns in 0..30_usize) {
            let text = Text::new(&raw);
            prop_assert!(!text.as_str().contains(is_hostile));
            prop_assert_eq!(Text::new(text.as_str()), text.clone());
            prop_assert!(width(&text.within(columns)) <= columns);
            for line in text.wrapped(columns) {
                prop_assert!(width(&line) <= columns.max(1));
                prop_assert!(line.width() <= columns.max(1));
            }
        }

        #[test]
        fn wrapping_loses_no_letter(raw in "[a-z\u{e9}\u{4e2d}/ -]{0,60}", columns in 1..30_usize) {
            let letters = |text: &str| text.chars().filter(|c| *c != ' ').collect::<String>();
            let lines = Text::new(&raw).wrapped(columns);
            prop_assert!(lines.iter().all(|line| width(line) <= columns));
            // A letter of two columns has no room in one.
            let whole = if columns == 1 { raw.replace('\u{4e2d}', "~") } else { raw.clone() };
            prop_assert_eq!(letters(&lines.concat()), letters(&whole));
        }
    }
}
