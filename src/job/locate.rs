//! Finds the line and column of a field in the text of a job file.
//!
//! References are checked on the job after it was read, when positions are gone; the few that fail are looked up by
//! walking the text again. The walk is lenient: it never fails, it only may not find.

/// A step from a list or struct into one of its members.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Step {
    /// The field of that name.
    Field(&'static str),
    /// The member at that position, from 0.
    Item(usize),
}

/// A position in a text, both from 1; the column counts characters.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Position {
    /// The line.
    pub line: usize,
    /// The column.
    pub column: usize,
}

impl Position {
    /// The position of a byte of the text.
    pub fn of_byte(text: &str, byte: usize) -> Self {
        let before = text.get(..byte).unwrap_or(text);
        let line_start = before.rfind('\n').map_or(0, |at| at + 1);
        Self { line: before.matches('\n').count() + 1, column: before[line_start..].chars().count() + 1 }
    }
}

/// Where the value at the end of `path` begins, or the longest part of the path that is there.
pub fn locate(text: &str, path: &[Step]) -> Option<Position> {
    let mut depth_found = 0;
    let mut found = None;
    walk(text, &mut |frames, byte| {
        let matches =
            frames.len() <= path.len() && frames.iter().zip(path).all(|(frame, step)| frame.is(step));
        if matches && frames.len() > depth_found {
            depth_found = frames.len();
            found = Some(byte);
        }
    });
    found.map(|byte| Position::of_byte(text, byte))
}

/// One open bracket: which member of it the walk is at.
struct Frame<'a> {
    key: Option<&'a str>,
    item: usize,
    value_begun: bool,
}

impl Frame<'_> {
    fn is(&self, step: &Step) -> bool {
        match step {
            Step::Field(name) => self.key == Some(name),
            Step::Item(item) => self.key.is_none() && self.item == *item,
        }
    }
}

fn walk<'a>(text: &'a str, on_value: &mut impl FnMut(&[Frame<'a>], usize)) {
    let bytes = text.as_bytes();
    let mut frames: Vec<Frame<'a>> = Vec::new();
    let mut at = 0;
    while let Some(&byte) = bytes.get(at) {
        let start = at;
        match byte {
            b'/' if bytes.get(at + 1) == Some(&b'/') => {
                at = text[at..].find('\n').map_or(bytes.len(), |end| at + end);
                continue;
            }
            b'/' if bytes.get(at + 1) == Some(&b'*') => {
                at = text[at + 2..].find("*/").map_or(bytes.len(), |end| at + end + 4);
                continue;
            }
            b'"' => at = end_of_string(bytes, at + 1),
            b'r' if raw_string(text, at).is_some() => at = raw_string(text, at).unwrap_or(at + 1),
            b'(' | b'[' | b'{' => {
                begin(&mut frames, start, on_value);
                frames.push(Frame { key: None, item: 0, value_begun: false });
                at += 1;
                continue;
            }
            b')' | b']' | b'}' => {
                frames.pop();
                at += 1;
                continue;
            }
            b',' => {
                if let Some(frame) = frames.last_mut() {
                    *frame = Frame { key: None, item: frame.item + 1, value_begun: false };
                }
                at += 1;
                continue;
            }
            b if b.is_ascii_alphanumeric() || b == b'_' => {
                at += text[at..].bytes().take_while(|b| b.is_ascii_alphanumeric() || *b == b'_').count();
                let after = text[at..].bytes().take_while(u8::is_ascii_whitespace).count() + at;
                if bytes.get(after) == Some(&b':') {
                    if let Some(frame) = frames.last_mut() {
                        frame.key = Some(&text[start..at]);
                    }
                    at = after + 1;
                    continue;
                }
            }
            b if b.is_ascii_whitespace() => {
                at += 1;
                continue;
            }
            _ => at += 1,
        }
        begin(&mut frames, start, on_value);
    }
}

fn begin<'a>(frames: &mut [Frame<'a>], byte: usize, on_value: &mut impl FnMut(&[Frame<'a>], usize)) {
    let fresh = frames.last_mut().is_some_and(|frame| !std::mem::replace(&mut frame.value_begun, true));
    if fresh {
        on_value(frames, byte);
    }
}

pub(super) fn end_of_string(bytes: &[u8], mut at: usize) -> usize {
    while let Some(&byte) = bytes.get(at) {
        match byte {
            b'\\' => at += 2,
            b'"' => return at + 1,
            _ => at += 1,
        }
    }
    bytes.len()
}

/// The end of a raw string that begins here, if one does.
pub(super) fn raw_string(text: &str, at: usize) -> Option<usize> {
    let hashes = text[at + 1..].bytes().take_while(|b| *b == b'#').count();
    let open = at + 1 + hashes;
    if text.as_bytes().get(open) != Some(&b'"') {
        return None;
    }
    let close = format!("\"{}", "#".repeat(hashes));
    Some(text[open + 1..].find(&close).map_or(text.len(), |end| open + 1 + end + close.len()))
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    const TEXT: &str = "(\n  // a: (b: 1)\n  a: [(id: \"x(\\\"\", b: Some(2)), (id: \"y\", b: r#\"3\"\"#)],\n  c: (d: 4),\n)";

    #[test]
    fn it_finds_fields_by_path() {
        use Step::{Field, Item};
        let at = |path: &[Step]| locate(TEXT, path).map(|p| (p.line, p.column));
        assert_eq!(at(&[Field("a"), Item(1), Field("b")]), Some((3, 46)));
        assert_eq!(at(&[Field("a"), Item(0), Field("id")]), Some((3, 12)));
        assert_eq!(at(&[Field("c"), Field("d")]), Some((4, 10)));
        // A field that is left out is reported at the thing that lacks it.
        assert_eq!(at(&[Field("c"), Field("e")]), Some((4, 6)));
        assert_eq!(at(&[Field("z")]), None);
    }

    proptest! {
        #[test]
        fn no_text_panics(text in "[a-z(){}\\[\\]:,\"r#/*\\\\ é\n]{0,60}") {
            let _ = locate(&text, &[Step::Field("a"), Step::Item(0)]);
        }
    }
}
