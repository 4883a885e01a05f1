//! Says things on the two outputs. A reader that went away is no failure; nothing said can steer the terminal.

use crate::format::Text;
use anyhow::Context;
use std::io::{self, Write};

/// Writes bytes to the standard output; if nobody reads any more, that is fine.
pub(super) fn print(out: &mut dyn Write, bytes: &[u8]) -> anyhow::Result<()> {
    match out.write_all(bytes).and_then(|()| out.flush()) {
        Err(error) if error.kind() == io::ErrorKind::BrokenPipe => Ok(()),
        result => result.context("cannot write to the standard output"),
    }
}

/// Says why a command failed, each line under the program's name.
pub(super) fn fail(err: &mut dyn Write, error: &anyhow::Error) {
    let lines: Vec<String> =
        format!("{error:#}").lines().map(|line| format!("studbay: {}\n", Text::from(line))).collect();
    // Where errors cannot be said there is nobody to tell.
    let _ = err.write_all(lines.concat().as_bytes());
}

/// Says what is worth knowing though nothing failed.
pub(super) fn note(err: &mut dyn Write, words: &str) {
    let _ = err.write_all(format!("studbay: {}\n", Text::from(words)).as_bytes());
}

/// Says what is wrong with the command line, in the words of its parser.
pub(super) fn complain(err: &mut dyn Write, words: &str) {
    // Without a command there is no error to name: the words are the help.
    let words =
        words.strip_prefix("error: ").map_or_else(|| words.to_owned(), |rest| format!("studbay: {rest}"));
    let lines = words.lines();
    let lines: Vec<String> = lines.map(|line| format!("{}\n", Text::from(line))).collect();
    let _ = err.write_all(lines.concat().as_bytes());
}
