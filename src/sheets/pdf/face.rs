//! The fonts of paper: what each character looks like there and how wide it is.
//!
//! There are two faces, compiled in, so that a sheet looks the same wherever it is made. Letters stand as they are:
//! no kerning and no ligatures, so that a width is a sum and figures stand beneath each other.

use crate::format::{CUT, Text};
use skrifa::instance::{LocationRef, Size};
use skrifa::{FontRef, MetadataProvider};
use std::collections::HashMap;
use std::sync::OnceLock;
use unicode_segmentation::UnicodeSegmentation;

/// What stands for a character that the fonts do not have.
pub const MISSING: char = '\u{fffd}';

/// From one line to the next, in parts of the size of the letters.
pub(super) const LINE: f32 = 1.2;
/// From the top of a line to the foot of its letters, in the same.
pub(super) const FOOT: f32 = 0.94;

/// A weight of letters.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default)]
pub enum Face {
    /// For what is read.
    #[default]
    Regular,
    /// For headings and sums.
    Bold,
}

/// A letter: its number in the font and how far it goes on, in parts of the size.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Letter {
    pub(super) glyph: u32,
    pub(super) advance: f32,
}

impl Face {
    /// The font's file.
    pub(super) const fn bytes(self) -> &'static [u8] {
        match self {
            Self::Regular => include_bytes!("fonts/DejaVuSansCondensed.ttf"),
            Self::Bold => include_bytes!("fonts/DejaVuSansCondensed-Bold.ttf"),
        }
    }

    /// Every character of the font. A font that cannot be read has none; a test holds both to being read.
    fn letters(self) -> &'static HashMap<char, Letter> {
        static REGULAR: OnceLock<HashMap<char, Letter>> = OnceLock::new();
        static BOLD: OnceLock<HashMap<char, Letter>> = OnceLock::new();
        let store = match self {
            Self::Regular => &REGULAR,
            Self::Bold => &BOLD,
        };
        store.get_or_init(|| read(self.bytes()))
    }

    /// The letter of a character, or what stands for it.
    pub(super) fn letter(self, c: char) -> Letter {
        let letters = self.letters();
        let found = letters.get(&c).or_else(|| letters.get(&MISSING));
        found.copied().unwrap_or(Letter { glyph: 0, advance: 0.6 })
    }

    /// How wide a text is in points, at that size.
    pub fn width(self, text: &str, size: f32) -> f32 {
        let letters = self.letters();
        let missing = self.letter(MISSING).advance;
        text.chars().map(|c| letters.get(&c).map_or(missing, |letter| letter.advance)).sum::<f32>() * size
    }

    /// The text with a visible sign for each character that the font does not have.
    pub fn shown(self, text: &str) -> String {
        let text = Text::from(text);
        let text = text.as_str();
        if text.is_ascii() {
            return text.to_owned();
        }
        let letters = self.letters();
        // What only joins or shapes its neighbours shows nothing by itself, and no letters here need it.
        let joins = |c: char| matches!(c, '\u{200c}' | '\u{200d}' | '\u{fe00}'..='\u{fe0f}');
        let seen = text.chars().filter(|c| !joins(*c));
        seen.map(|c| if letters.contains_key(&c) { c } else { MISSING }).collect()
    }

    /// The text in one line of at most that width, ending in `~` if it was cut.
    pub fn within(self, text: &str, size: f32, width: f32) -> String {
        if self.width(text, size) <= width {
            return text.to_owned();
        }
        let mut kept = String::new();
        let mut used = self.letter(CUT).advance * size;
        for cluster in text.graphemes(true) {
            used += self.width(cluster, size);
            if used > width {
                break;
            }
            kept.push_str(cluster);
        }
        kept.truncate(kept.trim_end().len());
        kept.push(CUT);
        kept
    }

    /// The text in lines of at most that width, broken at spaces where it can be, else after `-` or `/`, else anywhere.
    pub fn wrapped(self, text: &Text, size: f32, width: f32) -> Vec<String> {
        let text = self.shown(text.as_str());
        if self.width(&text, size) <= width {
            return vec![text];
        }
        let space = self.letter(' ').advance * size;
        let mut lines = Vec::new();
        let (mut line, mut used) = (String::new(), 0.0);
        for word in text.split(' ').filter(|word| !word.is_empty()) {
            let wide = self.width(word, size);
            if !line.is_empty() && used + space + wide <= width {
                line.push(' ');
                line.push_str(word);
                used += space + wide;
                continue;
            }
            if !line.is_empty() {
                lines.push(std::mem::take(&mut line));
            }
            let mut pieces = self.pieces(word, size, width);
            line = pieces.pop().unwrap_or_default();
            lines.append(&mut pieces);
            used = self.width(&line, size);
        }
        if !line.is_empty() || lines.is_empty() {
            lines.push(line);
        }
        lines
    }

    /// A word in pieces of at most that width, one character each where even that is wider.
    fn pieces(self, word: &str, size: f32, width: f32) -> Vec<String> {
        let mut pieces = Vec::new();
        let (mut piece, mut used) = (String::new(), 0.0);
        for cluster in word.graphemes(true) {
            let wide = self.width(cluster, size);
            if used + wide > width && !piece.is_empty() {
                let end = piece.rfind(['-', '/']).map_or(piece.len(), |at| at + 1);
                let rest = piece.split_off(end);
                used = self.width(&rest, size);
                pieces.push(std::mem::replace(&mut piece, rest));
                if used + wide > width && !piece.is_empty() {
                    pieces.push(std::mem::take(&mut piece));
                    used = 0.0;
                }
            }
            piece.push_str(cluster);
            used += wide;
        }
        pieces.push(piece);
        pieces
    }
}

fn read(bytes: &[u8]) -> HashMap<char, Letter> {
    let Ok(font) = FontRef::new(bytes) else { return HashMap::new() };
    let metrics = font.glyph_metrics(Size::new(1.0), LocationRef::default());
    let letter = |(code, glyph)| {
        let advance = metrics.advance_width(glyph)?;
        Some((char::from_u32(code)?, Letter { glyph: glyph.to_u32(), advance }))
    };
    font.charmap().mappings().filter_map(letter).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn both_faces_can_be_read() {
        for face in [Face::Regular, Face::Bold] {
            assert!(face.letters().len() > 1500, "{}", face.letters().len());
            for c in "AZaz09 \u{e9}\u{3b1}\u{416}\u{2192}\u{2500}\u{bd}\u{20ac}~?".chars().chain([MISSING]) {
                assert!(face.letters().contains_key(&c), "{c}");
            }
            // The tables 'hmtx' of DejaVu 2.37 as fonttools reads them: 2048 units to the em, a figure of the condensed face 1172 of them wide and of the
            // bold 1282, whichever figure it is.
            let figure = if face == Face::Regular { 1172.0 } else { 1282.0 } / 2048.0;
            for c in '0'..='9' {
                assert!(
                    (face.letter(c).advance - figure).abs() < 1e-4,
                    "{c}: {}",
                    face.letter(c).advance * 2048.0
                );
            }
        }
    }

    #[test]
    fn what_the_fonts_lack_is_seen() {
        assert_eq!(Face::Regular.shown("a\u{8336}b"), "a\u{fffd}b");
        assert_eq!(Face::Regular.within("Bedroom door", 10.0, 45.0), "Bedroo~");
    }

    proptest! {
        #[test]
        fn no_line_is_wider_than_it_may_be(raw: String, width in 8.0..300.0_f32) {
            for line in Face::Regular.wrapped(&Text::new(&raw), 10.0, width) {
                let single = line.graphemes(true).count() <= 1;
                prop_assert!(single || Face::Regular.width(&line, 10.0) <= width + 0.01, "{line:?}");
            }
        }

        #[test]
        fn wrapping_loses_no_letter(raw in "[a-z\u{e9}\u{4e2d}/ -]{0,60}", width in 8.0..300.0_f32) {
            let letters = |text: &str| text.chars().filter(|c| *c != ' ').collect::<String>();
            let lines = Face::Bold.wrapped(&Text::new(&raw), 10.0, width);
            prop_assert_eq!(letters(&lines.concat()), letters(&Face::Bold.shown(&raw)));
        }
    }
}
