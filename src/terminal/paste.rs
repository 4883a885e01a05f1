//! Pasted text: marked by the terminal, or told by its speed.

use super::input::Input;
use super::key::KeyCode;

/// The most bytes of one paste that are kept; the rest is swallowed.
pub const MOST: usize = 1 << 20;

const END: &[u8] = b"\x1b[201~";

/// A paste between its marks.
#[derive(Debug, Default)]
pub(super) struct Marked {
    bytes: Vec<u8>,
    /// How much of the end mark has come.
    matched: usize,
}

impl Marked {
    /// Takes a byte; gives whether the end mark is complete.
    pub(super) fn push(&mut self, byte: u8) -> bool {
        if byte == END[self.matched] {
            self.matched += 1;
            return self.matched == END.len();
        }
        let matched = std::mem::take(&mut self.matched);
        self.keep(&END[..matched]);
        // Escape occurs in the end mark only at its start.
        if byte == END[0] {
            self.matched = 1;
        } else {
            self.keep(&[byte]);
        }
        false
    }

    fn keep(&mut self, bytes: &[u8]) {
        if self.bytes.len() + bytes.len() <= MOST {
            self.bytes.extend_from_slice(bytes);
        }
    }

    /// The text so far, cleaned; the next paste starts empty.
    pub(super) fn take(&mut self) -> String {
        self.matched = 0;
        let bytes = std::mem::take(&mut self.bytes);
        clean(&String::from_utf8_lossy(&bytes))
    }
}

/// Line ends become `\n`; sequences and control characters go.
fn clean(text: &str) -> String {
    let mut clean = String::with_capacity(text.len());
    let mut chars = text.chars().peekable();
    while let Some(c) = chars.next() {
        match c {
            '\r' => {
                chars.next_if_eq(&'\n');
                clean.push('\n');
            }
            '\n' | '\t' => clean.push(c),
            c if c.is_control() => {}
            // Marks that reorder text would make it read otherwise than it is.
            '\u{200e}' | '\u{200f}' | '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}' | '\u{feff}' => {}
            c => clean.push(c),
        }
    }
    clean
}

/// Whether keys that came at once are text nobody types that fast.
///
/// A held key repeats few characters, and typing ahead on a stalled line rarely makes a line of
/// sixteen, or several short lines of words with tabs in them, as cells of a spreadsheet are; the
/// price of a mistake is that text lands in the field as a paste.
pub(super) fn is_too_fast(found: &[Input]) -> bool {
    let mut typed = 0;
    let mut seen = [false; 128];
    let (mut lines, mut tabs) = (0, 0);
    for input in found {
        let Input::Key(key) = input else {
            continue;
        };
        if key.code == KeyCode::Enter && !key.alt {
            lines += 1;
        } else if key.code == KeyCode::Tab {
            tabs += 1;
        } else if let Some(c) = key.typed() {
            typed += 1;
            seen[c as usize % 128] = true;
        }
    }
    let kinds = seen.iter().filter(|&&seen| seen).count();
    let cells = lines >= 2 && tabs >= 1 && typed >= 6;
    kinds >= 3 && (typed >= 16 && lines > 0 || typed >= 64 || cells)
}

/// Appends the text of keys; other keys are lost, so that nothing in a paste acts.
pub(super) fn append_typed(text: &mut String, found: &[Input]) {
    for input in found {
        if text.len() >= MOST {
            return;
        }
        match input {
            Input::Paste(paste) => text.push_str(paste),
            Input::Key(key) => match key.code {
                KeyCode::Enter => text.push('\n'),
                KeyCode::Tab => text.push('\t'),
                _ => text.extend(key.typed()),
            },
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn pasted_text_is_clean() {
        assert_eq!(clean("a\r\nb\rc\n\td\u{1b}[2Je\u{9b}f\0"), "a\nb\nc\n\td[2Jef");
    }

    #[test]
    fn a_paste_has_a_size() {
        let mut marked = Marked::default();
        for _ in 0..MOST + 100 {
            assert!(!marked.push(b'x'));
        }
        let ended = END.iter().map(|&byte| marked.push(byte)).collect::<Vec<_>>();
        assert_eq!(ended, [false, false, false, false, false, true]);
        assert_eq!(marked.take().len(), MOST);
    }

    #[test]
    fn a_false_end_stays_in_the_text() {
        let mut marked = Marked::default();
        for &byte in b"a\x1b[20\x1b[201" {
            assert!(!marked.push(byte));
        }
        assert!(marked.push(b'~'));
        assert_eq!(marked.take(), "a[20");
    }
}
