//! How much a job may hold, so that no file can make the program slow, deep or large: far more than any house needs.

use super::Job;
use super::locate::{Position, end_of_string, raw_string};
use serde_json::Value;

/// The most characters of one text.
pub const MOST_CHARACTERS: usize = 1_000;
/// The most entries of one list.
pub const MOST_ENTRIES: usize = 5_000;
/// The most things with an id: parts, rooms, boxes, cables, lights and so on.
pub const MOST_THINGS: usize = 20_000;
/// The most ceiling boxes of one loop.
pub const MOST_ON_A_LOOP: usize = 500;
/// The most feeds one after another, from a home run on.
pub const MOST_ONWARD: usize = 50;
/// The most brackets in one another; a job needs some fifteen.
const DEEPEST: usize = 60;

/// What is too much in the text of a job file, where, before anything is made of it.
pub(super) fn too_much(text: &str) -> Option<(Position, String)> {
    let bytes = text.as_bytes();
    let mut entries = Vec::new();
    let mut at = 0;
    let found = loop {
        let &byte = bytes.get(at)?;
        let start = at;
        at += 1;
        match byte {
            b'/' if bytes.get(at) == Some(&b'/') => at = after(text, at, "\n"),
            b'/' if bytes.get(at) == Some(&b'*') => at = after_comment(bytes, at + 1),
            b'"' | b'r' => {
                at = match byte {
                    b'"' => end_of_string(bytes, at),
                    _ => raw_string(text, start).unwrap_or(at),
                };
                if at - start > MOST_CHARACTERS && characters(text.get(start..at)?) > MOST_CHARACTERS + 2 {
                    break (start, format!("a text is longer than {MOST_CHARACTERS} characters"));
                }
            }
            b'(' | b'[' | b'{' => {
                entries.push(0_usize);
                if entries.len() > DEEPEST {
                    break (start, "the brackets are nested deeper than in any job".into());
                }
            }
            b')' | b']' | b'}' => drop(entries.pop()),
            b',' => {
                if let Some(count) = entries.last_mut() {
                    *count += 1;
                    if *count > MOST_ENTRIES {
                        break (start, format!("a list has more than {MOST_ENTRIES} entries"));
                    }
                }
            }
            _ => {}
        }
    };
    Some((Position::of_byte(text, found.0), found.1))
}

/// The characters a text stands for, and those around it. What was typed may hold signs that can only be written as
/// escapes, and as many of those must be read again as were taken.
fn characters(written: &str) -> usize {
    let escapes = written.starts_with('"');
    let mut rest = written.chars();
    let mut count = 0;
    while let Some(first) = rest.next() {
        count += 1;
        if first == '\\' && escapes {
            match rest.next() {
                Some('u') => drop(rest.by_ref().find(|c| *c == '}' || *c == '"')),
                Some('x') => drop(rest.nth(1)),
                _ => {}
            }
        }
    }
    count
}

fn after(text: &str, at: usize, end: &str) -> usize {
    text.get(at..).and_then(|rest| rest.find(end)).map_or(text.len(), |found| at + found + end.len())
}

/// Comments of this kind may hold others.
fn after_comment(bytes: &[u8], mut at: usize) -> usize {
    let mut depth = 1;
    while depth > 0 {
        match bytes.get(at..at + 2) {
            Some(b"*/") => (depth, at) = (depth - 1, at + 2),
            Some(b"/*") => (depth, at) = (depth + 1, at + 2),
            Some(_) => at += 1,
            None => return bytes.len(),
        }
    }
    at
}

/// What is too much in a job that was read, or is about to be kept.
pub(super) fn crowded(job: &Job) -> Option<String> {
    let mut things = 0;
    let mut crowded = None;
    super::index::each(job, &mut |_, _, _| things += 1);
    if things > MOST_THINGS {
        crowded = Some(format!(
            "the job holds {things} things with an id (parts, rooms, boxes, cables, lights), more than the \
             {MOST_THINGS} it may"
        ));
    }
    let loops = job.boxes.iter().flat_map(|wall_box| &wall_box.controls).flat_map(|control| &control.loops);
    for run in loops {
        let count = run.ceiling.len();
        if count > MOST_ON_A_LOOP {
            let id = &run.id;
            crowded =
                Some(format!("loop '{id}' has {count} ceiling boxes, more than the {MOST_ON_A_LOOP} it may"));
        }
    }
    crowded
}

/// What is too much in a value that is about to become part of a job.
pub(super) fn too_much_of(value: &Value) -> Option<String> {
    match value {
        Value::String(text) if text.len() > MOST_CHARACTERS && text.chars().count() > MOST_CHARACTERS => {
            Some(format!("the text is longer than {MOST_CHARACTERS} characters"))
        }
        Value::Array(list) if list.len() > MOST_ENTRIES => {
            Some(format!("the list has more than {MOST_ENTRIES} entries"))
        }
        Value::Array(list) => list.iter().find_map(too_much_of),
        Value::Object(fields) => fields.values().find_map(too_much_of),
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn at(text: &str) -> Option<(usize, usize)> {
        too_much(text).map(|(position, _)| (position.line, position.column))
    }

    #[test]
    fn what_is_just_enough_passes_and_one_more_is_found() {
        let word = |length: usize| format!("(\n a: \"{}\")", "\u{e9}".repeat(length));
        assert_eq!(at(&word(MOST_CHARACTERS)), None);
        assert_eq!(at(&word(MOST_CHARACTERS + 1)), Some((2, 5)));
        let raw = |length: usize| format!("(a: r#\"{}\"{}\"#)", "x".repeat(3), "x".repeat(length));
        assert_eq!(at(&raw(900)), None);
        assert_eq!(at(&raw(1100)), Some((1, 5)));
        let escaped = |escape: &str, length: usize| format!("(a: \"{}\")", escape.repeat(length));
        for escape in ["\\u{1b}", "\\x1b", "\\n", "\\\\"] {
            assert_eq!(at(&escaped(escape, MOST_CHARACTERS)), None, "{escape}");
            assert_eq!(at(&escaped(escape, MOST_CHARACTERS + 1)), Some((1, 5)), "{escape}");
        }
        let list = |length: usize| format!("[{}]", "x,".repeat(length));
        assert_eq!(at(&list(MOST_ENTRIES)), None);
        assert_eq!(at(&list(MOST_ENTRIES + 1)), Some((1, 2 * MOST_ENTRIES + 3)));
        let nested = |depth: usize| "([".repeat(depth / 2) + &"])".repeat(depth / 2);
        assert_eq!(at(&nested(DEEPEST)), None);
        assert_eq!(at(&nested(DEEPEST + 2)), Some((1, DEEPEST + 1)));
        // What stands in a comment or a text is neither bracket nor comma.
        let beside = format!("/* {0} /* {0} */ {0} */ // {0}\n(\"{0}\")", "([,".repeat(100));
        assert_eq!(at(&beside), None);
    }

    #[test]
    fn a_value_is_held_to_the_same() {
        let long = Value::String("x".repeat(MOST_CHARACTERS + 1));
        assert!(too_much_of(&serde_json::json!({"a": [{"b": long}]})).is_some());
        assert!(too_much_of(&Value::String("\u{e9}".repeat(MOST_CHARACTERS))).is_none());
        assert!(too_much_of(&Value::Array(vec![Value::Null; MOST_ENTRIES + 1])).is_some());
    }

    proptest! {
        #[test]
        fn no_text_panics(text in "[a-z(){}\\[\\]:,\"r#/*\\\\ é\n]{0,60}") {
            prop_assert_eq!(too_much(&text), None);
        }
    }
}
