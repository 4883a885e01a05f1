//! Files and texts that were made to do harm, or that an accident made so.
//!
//! What is tried is taken from the serialized samples, the list of sheets, the list of views and the help of the
//! commands, so whatever is added to them is tried too.

mod bulk;
mod names;
mod paths;
mod texts;
mod views;

use crate::support::project;
use std::collections::BTreeMap;
use studbay::format::is_hostile;
use studbay::job::{Job, read, write};

/// The samples whose texts are replaced: between them they hold every field there is.
const SAMPLES: [&str; 2] = ["two-story", "usual-mistakes"];

/// The text of a sample as it is saved.
fn saved(name: &str) -> String {
    std::fs::read_to_string(project("sample-jobs").join(format!("{name}.ron"))).unwrap()
}

/// A string in the text of a job: where it stands with its quotes, and the field that holds it.
#[derive(Debug, Clone)]
struct Held {
    from: usize,
    to: usize,
    field: String,
}

/// Every string in the text of a job, in order.
fn strings(text: &str) -> Vec<Held> {
    let mut found = Vec::new();
    let mut at = 0;
    while let Some(open) = text[at..].find('"').map(|open| at + open) {
        let mut escaped = false;
        let close = text[open + 1..].char_indices().find(|(_, c)| {
            let closes = *c == '"' && !escaped;
            escaped = *c == '\\' && !escaped;
            closes
        });
        let to = open + 2 + close.unwrap().0;
        let word = |c: char| c.is_ascii_lowercase() || c == '_';
        let before = text[..open].trim_end_matches(|c: char| !word(c) && c != ')' && c != ']');
        let field = before.rsplit(|c: char| !word(c)).next().unwrap_or_default().to_owned();
        found.push(Held { from: open, to, field });
        at = to;
    }
    found
}

/// The text with these strings replaced.
fn replaced<'a>(text: &str, held: impl IntoIterator<Item = &'a Held>, with: &str) -> String {
    let (mut out, mut at) = (String::new(), 0);
    let with = quoted(with);
    for Held { from, to, .. } in held {
        out += &text[at..*from];
        out += &with;
        at = *to;
    }
    out + &text[at..]
}

/// A string as a job file writes it.
fn quoted(text: &str) -> String {
    let mut out = String::from("\"");
    for c in text.chars() {
        match c {
            '"' | '\\' => out.extend(['\\', c]),
            // Both ways in are tried: what has an escape is escaped, the rest stands there raw.
            c if c.is_control() => out += &format!("\\u{{{:x}}}", u32::from(c)),
            c => out.push(c),
        }
    }
    out + "\""
}

/// The strings of a job by field and by what stands before them in their line, which tells the thing they belong to.
fn by_field(text: &str) -> BTreeMap<(String, String), Vec<Held>> {
    let mut fields: BTreeMap<_, Vec<Held>> = BTreeMap::new();
    for held in strings(text) {
        let before = &text[text[..held.from].rfind('\n').unwrap_or(0)..held.from];
        let shape =
            before.chars().filter(|c| c.is_ascii_alphabetic() || "([:".contains(*c)).take(24).collect();
        fields.entry((held.field.clone(), shape)).or_default().push(held);
    }
    fields
}

/// Which strings of a job may be any words, in order: those of a field that reads back with others.
fn free(text: &str) -> Vec<Held> {
    let tried = |held: &Vec<Held>| read::from_str("job", &replaced(text, held, "x y.z")).is_ok();
    let mut free: Vec<Held> = by_field(text).into_values().filter(tried).flatten().collect();
    free.sort_by_key(|held| held.from);
    free
}

/// A sample with every free text replaced, each by another one of these in turn.
fn with_texts(name: &str, texts: &[&str], from: usize) -> Job {
    let mut job = saved(name);
    // From the end, so that what stands before stays in its place.
    for (nth, held) in free(&job).iter().enumerate().rev() {
        job = replaced(&job, [held], texts[(nth + from) % texts.len()]);
    }
    read::from_str("job", &job).unwrap_or_else(|error| panic!("{error}")).0
}

/// How many of the rounds are made in which each field gets another text: all in a long run.
fn rounds() -> usize {
    if std::env::var_os("STUDBAY_HOSTILE").is_some() { TEXTS.len() + 1 } else { 2 }
}

/// All that is tried.
fn all_texts() -> Vec<String> {
    TEXTS.iter().map(|(_, text)| (*text).to_owned()).chain([long()]).collect()
}

/// What is tried as a text, with a word by which it is found again.
const TEXTS: &[(&str, &str)] = &[
    ("colours", "al\u{1b}[31mert\u{1b}[0m"),
    ("a question to the terminal", "al\u{1b}[6nert\u{1b}[c"),
    ("a title", "al\u{1b}]0;stolen\u{7}ert"),
    ("the clipboard", "al\u{1b}]52;c;c3RvbGVu\u{1b}\\ert"),
    ("a link", "al\u{1b}]8;;http://stolen\u{1b}\\ert"),
    ("eight-bit controls", "al\u{9b}2Jert\u{9d}0;stolen\u{9c}"),
    ("a device string", "al\u{1b}P+q544e\u{1b}\\ert\u{90}q#0\u{9c}"),
    ("line ends", "al\r\nert\rover\n\u{2028}\u{2029}\u{85}next\u{b}\u{c}page"),
    ("bells and backspaces", "al\u{7}\u{8}\u{8}\u{8}ert\u{7f}\u{0}\u{e}\u{f}"),
    ("direction", "al\u{202e}tre\u{202c}\u{2066}x\u{2069}\u{200f}\u{61c}"),
    ("what cannot be seen", "al\u{200b}\u{200d}\u{feff}\u{ad}\u{2060}ert\u{3164}\u{e0041}"),
    ("marks in piles", "al\u{301}\u{301}\u{301}\u{301}\u{301}\u{301}\u{301}\u{301}ert"),
    ("wide letters", "\u{4e2d}\u{6587}\u{4e2d}\u{6587}\u{ff21}\u{1f469}\u{200d}\u{1f467}\u{2764}\u{fe0f}"),
    ("formulas", "=HYPERLINK(\"http://stolen\";\"x\")"),
    ("a formula after a tab", "\t=1+1"),
    ("no text", ""),
    ("a path", "../../stolen/\u{0}etc"),
    ("quotes", "\"'`\\\",;\t)('(]["),
];

/// A name that nobody would give.
fn long() -> String {
    "a very long name of a room \u{4e2d}".repeat(30)
}

/// The first character that must not reach anybody; line and page ends are the layout's own.
fn bad(shown: &str) -> Option<char> {
    shown.chars().find(|c| is_hostile(*c) && *c != '\n' && *c != '\u{c}')
}

fn assert_clean(what: &str, bytes: &[u8]) {
    let shown = std::str::from_utf8(bytes).unwrap_or_else(|error| panic!("{what}: {error}"));
    if let Some(bad) = bad(shown) {
        let line = shown.lines().find(|line| line.contains(bad)).unwrap_or_default();
        panic!("{what} holds {bad:?}: {line:?}");
    }
    // JSON is for programs, and reads back as it was.
    let piled = shown.contains(&"\u{301}".repeat(4)) && !shown.starts_with(['{', '[']);
    assert!(!piled, "{what} holds a pile of marks");
}

#[test]
fn the_strings_of_a_job_are_found_with_their_fields() {
    let text = "(name: \"a\\\"b\", notes: [\"c\", \"d\"], of: Output(\"e\"))";
    let found: Vec<(&str, String)> =
        strings(text).iter().map(|held| (&text[held.from..held.to], held.field.clone())).collect();
    let field = |name: &str| name.to_owned();
    assert_eq!(found[0], ("\"a\\\"b\"", field("name")));
    assert_eq!(found[1], ("\"c\"", field("notes")));
    assert_eq!(found[3].0, "\"e\"");
    assert_eq!(replaced(text, &strings(text)[1..2], "x\"\u{1b}"), text.replace("\"c\"", "\"x\\\"\\u{1b}\""));
    // Names and notes, but no ids, lengths or choices.
    let job = saved("two-story");
    let held = free(&job);
    assert!(held.len() > 100, "{}", held.len());
    assert!(held.iter().all(|held| !["id", "room", "width", "cable"].contains(&&*held.field)), "{held:?}");
    write::to_string(&with_texts("two-story", &["x"], 0)).unwrap();
}
