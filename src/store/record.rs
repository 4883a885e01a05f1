//! The lines of the log: what is written for each thing done, and what can be read back of it.
//!
//! A line is eight hex digits of check, a space, and JSON. A line that was cut short, or is not ours, fails its check.

use super::digest::{Digest, line_check};
use crate::job::edit::Edit;
use crate::job::history::{Entry, Way};
use serde::de::IgnoredAny;
use serde::{Deserialize, Serialize};

/// The version of the log's form.
const VERSION: u32 = 1;
/// A line of more bytes than this was not written by this program: no job holds as much.
const LONGEST: usize = 16 * 1024 * 1024;

#[derive(Debug, Serialize)]
enum Written<'a> {
    #[serde(rename = "log")]
    Log(u32),
    #[serde(rename = "at")]
    At(String),
    #[serde(rename = "do")]
    Do(Body<'a>),
    #[serde(rename = "un")]
    Undo(Body<'a>),
    #[serde(rename = "re")]
    Redo(Body<'a>),
}

#[derive(Debug, Serialize)]
struct Body<'a> {
    /// Left out where it is what the edit says of itself.
    #[serde(rename = "l", skip_serializing_if = "Option::is_none")]
    label: Option<&'a str>,
    #[serde(rename = "e")]
    edit: &'a Edit,
}

#[derive(Debug, Deserialize)]
enum Read {
    #[serde(rename = "log")]
    Log(u32),
    #[serde(rename = "at")]
    At(IgnoredAny),
    #[serde(rename = "do")]
    Do(Kept),
    #[serde(rename = "un")]
    Undo(Kept),
    #[serde(rename = "re")]
    Redo(Kept),
}

#[derive(Debug, Deserialize)]
struct Kept {
    #[serde(rename = "l", default)]
    label: Option<String>,
    #[serde(rename = "e")]
    edit: Edit,
}

/// A step as it was read back.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Line {
    pub(super) way: Way,
    pub(super) label: String,
    pub(super) edit: Edit,
}

fn line(written: &Written<'_>) -> serde_json::Result<String> {
    let json = serde_json::to_string(written)?;
    Ok(format!("{} {json}\n", line_check(&json)))
}

/// The first lines of a log: its version, and what the file held when it was begun.
pub(super) fn head(digest: &Digest) -> serde_json::Result<String> {
    Ok(line(&Written::Log(VERSION))? + &mark(digest)?)
}

/// Says that the state reached here is what a file with that digest holds.
pub(super) fn mark(digest: &Digest) -> serde_json::Result<String> {
    line(&Written::At(digest.to_string()))
}

/// The line for a step.
pub(super) fn step(entry: &Entry<'_>) -> serde_json::Result<String> {
    let own = entry.edit.to_string() == entry.label && entry.way == Way::Do;
    let body = Body { label: (!own).then_some(entry.label), edit: entry.edit };
    line(&match entry.way {
        Way::Do => Written::Do(body),
        Way::Undo => Written::Undo(body),
        Way::Redo => Written::Redo(body),
    })
}

/// What follows the last mark of a digest in a log.
#[derive(Debug, Default, PartialEq)]
pub(super) struct Found {
    /// The steps after the mark; `None` where the log holds no such mark.
    pub(super) steps: Option<Vec<Line>>,
    /// So many bytes from the start are whole lines of ours.
    pub(super) good: usize,
    /// Whether it says of any state that a file holds it: without, nothing can follow.
    pub(super) marked: bool,
    /// Whether it is the log of a later form than this program knows.
    pub(super) newer: bool,
    /// Whether anything stands after the whole lines that is more than one line cut short.
    pub(super) spoilt: bool,
}

/// Reads a log. Whatever the bytes are, it gives what can be made of them.
pub(super) fn find(bytes: &[u8], digest: &Digest) -> Found {
    let wanted = serde_json::to_string(&Written::At(digest.to_string())).unwrap_or_default();
    let mut found = Found::default();
    let mut after = None;
    let mut rest = bytes;
    while let Some(json) = whole_line(rest) {
        if found.good == 0 {
            match serde_json::from_str::<Read>(json) {
                Ok(Read::Log(VERSION)) => {}
                Ok(Read::Log(_)) => {
                    found.newer = true;
                    return found;
                }
                _ => break,
            }
        }
        let length = json.len() + CHECK + 1;
        found.good += length;
        rest = &rest[length..];
        found.marked |= json.starts_with("{\"at\"");
        if json == wanted {
            after = Some(found.good);
        }
    }
    // A line cut short, or blocks of zeros that a power loss leaves, are the end of what was written; more is not.
    let beyond = match rest.iter().position(|byte| *byte == b'\n') {
        Some(end) => &rest[end + 1..],
        None if found.good == 0 => rest,
        None => &[],
    };
    found.spoilt = beyond.iter().any(|byte| *byte != 0);
    if let Some(after) = after {
        let (mut steps, mut at) = (Vec::new(), after);
        while let Some(json) = whole_line(&bytes[at..found.good]) {
            match serde_json::from_str(json) {
                Ok(Read::Do(kept)) => steps.push(kept.line(Way::Do)),
                Ok(Read::Undo(kept)) => steps.push(kept.line(Way::Undo)),
                Ok(Read::Redo(kept)) => steps.push(kept.line(Way::Redo)),
                Ok(Read::At(_)) => {}
                Ok(Read::Log(_)) | Err(_) => {
                    found.good = at;
                    found.spoilt = true;
                    break;
                }
            }
            at += json.len() + CHECK + 1;
        }
        found.steps = Some(steps);
    }
    found
}

impl Kept {
    fn line(self, way: Way) -> Line {
        let label = self.label.unwrap_or_else(|| self.edit.to_string());
        Line { way, label, edit: self.edit }
    }
}

/// Bytes of the check and the space after it.
const CHECK: usize = 9;

/// The JSON of the line at the start, if it is whole and its check agrees.
fn whole_line(bytes: &[u8]) -> Option<&str> {
    let end = bytes.iter().take(LONGEST).position(|byte| *byte == b'\n')?;
    let line = std::str::from_utf8(&bytes[..end]).ok()?;
    let (check, json) = line.split_once(' ')?;
    (check.len() + 1 == CHECK && line_check(json) == check).then_some(json)
}
