//! Writes a job in the one layout that is stable, short to read and quiet in a diff.

use super::Job;
use super::read::ron_options;
use std::borrow::Cow;

/// A group of values stands in one line if it fits in so many columns.
const WIDTH: usize = 110;

/// Lays out a job as the text of its file.
///
/// # Errors
/// What serde says when a value cannot be written; no value of a [`Job`] is like that.
pub fn to_string(job: &Job) -> Result<String, ron::Error> {
    let mut compact = String::new();
    ron_options().to_writer(&mut compact, job)?;
    Ok(lay_out(&compact))
}

/// Breaks compact RON into lines: a bracket that fits in the width stays whole, else each member gets its line.
fn lay_out(compact: &str) -> String {
    let mut out = String::new();
    let mut rest = compact;
    let mut depth = 0;
    while let Some(c) = rest.chars().next() {
        match c {
            '(' | '[' => {
                let group = bracketed(rest);
                let column = out.len() - out.rfind('\n').map_or(0, |at| at + 1);
                let flat = spaced(group);
                if depth > 0 && (flat.len() == 2 || column + flat.chars().count() < WIDTH) {
                    out.push_str(&flat);
                    rest = &rest[group.len()..];
                } else {
                    depth += 1;
                    out.push(c);
                    new_line(&mut out, depth);
                    rest = &rest[1..];
                }
            }
            ')' | ']' => {
                depth -= 1;
                if !out.trim_end().ends_with(',') {
                    out.push(',');
                }
                out.truncate(out.trim_end().len());
                new_line(&mut out, depth);
                out.push(c);
                rest = &rest[1..];
            }
            ',' => {
                out.push(',');
                new_line(&mut out, depth);
                rest = &rest[1..];
            }
            ':' => {
                out.push_str(": ");
                rest = &rest[1..];
            }
            '"' => {
                let text = quoted(rest);
                out.push_str(&plain_quotes(text));
                rest = &rest[text.len()..];
            }
            _ => {
                out.push(c);
                rest = &rest[c.len_utf8()..];
            }
        }
    }
    out.push('\n');
    out
}

fn new_line(out: &mut String, depth: usize) {
    out.push('\n');
    out.extend(std::iter::repeat_n("    ", depth));
}

/// The string at the start of the text, with its quotes.
fn quoted(text: &str) -> &str {
    let mut escaped = false;
    for (at, c) in text.char_indices().skip(1) {
        match c {
            '\\' if !escaped => escaped = true,
            '"' if !escaped => return &text[..=at],
            _ => escaped = false,
        }
    }
    text
}

/// A quoted string without the needless escape that would make every `62'6` hard to read.
fn plain_quotes(text: &str) -> Cow<'_, str> {
    if !text.contains("\\'") {
        return Cow::Borrowed(text);
    }
    let mut out = String::with_capacity(text.len());
    let mut chars = text.chars().peekable();
    while let Some(c) = chars.next() {
        match (c, chars.peek()) {
            ('\\', Some('\'')) => {}
            ('\\', Some(_)) => out.extend([Some(c), chars.next()].into_iter().flatten()),
            _ => out.push(c),
        }
    }
    Cow::Owned(out)
}

/// The bracketed group at the start of the text.
fn bracketed(text: &str) -> &str {
    let (mut depth, mut at) = (0_usize, 0);
    while let Some(c) = text[at..].chars().next() {
        match c {
            '"' => {
                at += quoted(&text[at..]).len();
                continue;
            }
            '(' | '[' => depth += 1,
            ')' | ']' => depth -= 1,
            _ => {}
        }
        at += c.len_utf8();
        if depth == 0 {
            break;
        }
    }
    &text[..at]
}

/// A group in one line, with a space after each comma and colon.
fn spaced(group: &str) -> String {
    let mut out = String::new();
    let mut rest = group;
    while let Some(c) = rest.chars().next() {
        let taken = match c {
            '"' => quoted(rest),
            _ => &rest[..c.len_utf8()],
        };
        out.push_str(&plain_quotes(taken));
        if matches!(c, ',' | ':') {
            out.push(' ');
        }
        rest = &rest[taken.len()..];
    }
    out
}
