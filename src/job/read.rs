//! Reads a job from the text of its file, or says what is wrong with it, where, and what was probably meant.

use super::locate::{self, Position};
use super::{Format, Index, Job, limits, refer};
use ron::extensions::Extensions;
use std::fmt;

/// A job file of more bytes than this is refused unread.
pub const MOST_BYTES: usize = 8 * 1024 * 1024;

/// One thing that is wrong with a job file.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Flaw {
    /// Where, as far as that can be told.
    pub position: Option<Position>,
    /// What is wrong, with the id it is about.
    pub what: String,
    /// What was probably meant or what to do.
    pub hint: Option<String>,
}

/// Why a text is no usable job: one flaw or several.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub struct ReadError {
    /// The file's name, as the user gave it.
    pub file: String,
    /// What is wrong, in the order of the file.
    pub flaws: Vec<Flaw>,
}

/// As many flaws as are listed; the rest are counted.
pub(super) const MOST_LISTED: usize = 20;
/// So many bytes may be walked over in all to find where flaws are.
const MOST_WALKED: usize = 16 * 1024 * 1024;

impl fmt::Display for ReadError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for (at, flaw) in self.flaws.iter().take(MOST_LISTED).enumerate() {
            if at > 0 {
                writeln!(f)?;
            }
            write!(f, "{}", self.file)?;
            if let Some(Position { line, column }) = flaw.position {
                write!(f, ":{line}:{column}")?;
            }
            write!(f, ": {}", flaw.what)?;
            if let Some(hint) = &flaw.hint {
                write!(f, "; {hint}")?;
            }
        }
        match self.flaws.len().checked_sub(MOST_LISTED) {
            Some(more) if more > 0 => write!(f, "\n{}: and {more} more", self.file),
            _ => Ok(()),
        }
    }
}

/// How job files use RON: an optional field is written without `Some`.
pub(super) fn ron_options() -> ron::Options {
    ron::Options::default().with_default_extension(Extensions::IMPLICIT_SOME)
}

/// Reads a job from the text of the file of that name and checks that it hangs together.
///
/// # Errors
/// [`ReadError`] when the text is no job, is of a newer format, has a field or a figure that cannot be, names a thing
/// twice or one that is not there, or lets boxes feed each other in a circle.
pub fn from_str(file: &str, text: &str) -> Result<(Job, Index), ReadError> {
    let fail = |flaws| Err(ReadError { file: file.to_owned(), flaws });
    if text.len() > MOST_BYTES {
        return fail(vec![flaw(
            None,
            format!("the file holds {} bytes, more than the 8 MB a job may have", text.len()),
        )]);
    }
    match format_of(text) {
        Some(format) if format.0 > Format::CURRENT.0 || format > Format::CURRENT => {
            let what = format!("the file has format {format}, newer than {}", Format::CURRENT);
            return fail(vec![Flaw {
                position: locate::locate(text, &[locate::Step::Field("format")]),
                what,
                hint: Some("open it with the newer studbay that wrote it".into()),
            }]);
        }
        Some(_) => {}
        None => {
            return fail(vec![Flaw {
                position: None,
                what: "this is no studbay job: its first field is not 'format'".into(),
                hint: Some(format!("a job begins with '(format: {}, project: (...'", Format::CURRENT)),
            }]);
        }
    }
    if let Some((position, what)) = limits::too_much(text) {
        return fail(vec![flaw(Some(position), what)]);
    }
    let job: Job = match ron_options().from_str(text) {
        // Fields that came since have defaults, so what was read is a job of today, and is saved as one.
        Ok(job) => Job { format: Format::CURRENT, ..job },
        Err(error) => return fail(vec![syntax_flaw(text, &error)]),
    };
    if let Some(what) = limits::crowded(&job) {
        return fail(vec![Flaw { position: None, what, hint: Some("divide it into several jobs".into()) }]);
    }
    let (index, flaws) = refer::check(&job);
    if flaws.is_empty() {
        return Ok((job, index));
    }
    // Each search walks the text once more: in a large file only the first flaws, which are listed, are worth it.
    let searched = MOST_LISTED.max(MOST_WALKED / text.len().max(1));
    let mut placed: Vec<Flaw> = flaws
        .into_iter()
        .enumerate()
        .map(|(nth, lost)| Flaw {
            position: if nth < searched { locate::locate(text, &lost.path) } else { None },
            what: lost.what,
            hint: lost.hint,
        })
        .collect();
    placed.sort_by_key(|flaw| flaw.position.map_or((usize::MAX, 0), |p| (p.line, p.column)));
    fail(placed)
}

fn flaw(position: Option<Position>, what: String) -> Flaw {
    Flaw { position, what, hint: None }
}

/// Whether the text of a job says that it has an older format than is written today, so that a save changes more in it
/// than its person did.
pub fn is_older(text: &str) -> bool {
    format_of(text).is_some_and(|format| format < Format::CURRENT)
}

/// The format a text says it has, read before anything else in it can fail: its first field.
fn format_of(text: &str) -> Option<Format> {
    let mut rest = skip_blank(text.trim_start_matches('\u{feff}'));
    while let Some(after) = rest.strip_prefix("#![") {
        rest = skip_blank(&after[after.find(']')? + 1..]);
    }
    rest = skip_blank(rest.strip_prefix("Job").unwrap_or(rest));
    rest = skip_blank(rest.strip_prefix('(')?);
    rest = skip_blank(rest.strip_prefix("format")?);
    rest = skip_blank(rest.strip_prefix(':')?);
    let (numbers, _) = rest.strip_prefix('(')?.split_once(')')?;
    let mut numbers = numbers.split(',').map(|n| n.trim().parse::<u32>());
    Some(Format(numbers.next()?.ok()?, numbers.next()?.ok()?))
}

fn skip_blank(mut text: &str) -> &str {
    loop {
        text = text.trim_start();
        if text.starts_with("//") {
            text = text.find('\n').map_or("", |end| &text[end..]);
        } else if text.starts_with("/*") {
            text = text.find("*/").map_or("", |end| &text[end + 2..]);
        } else {
            return text;
        }
    }
}

/// Puts what the RON reader found into the words of a person who writes a job by hand.
fn syntax_flaw(text: &str, error: &ron::error::SpannedError) -> Flaw {
    use ron::Error as E;
    let start = error.span.start;
    let position = Some(Position { line: start.line, column: start.col });
    let (what, hint) = match &error.code {
        E::NoSuchStructField { expected, found, outer } => (
            format!("unknown field '{found}'{}", of(outer.as_deref())),
            nearest(found, expected.iter().copied())
                .or_else(|| Some(format!("the fields here are {}", expected.join(", ")))),
        ),
        E::NoSuchEnumVariant { expected, found, outer } => (
            format!("unknown choice '{found}'{}", of(outer.as_deref())),
            nearest(found, expected.iter().copied())
                .or_else(|| Some(format!("the choices here are {}", expected.join(", ")))),
        ),
        E::MissingStructField { field, outer } => (
            format!("missing field '{field}'{}", of(outer.as_deref())),
            Some("every such entry needs it".into()),
        ),
        E::DuplicateStructField { field, outer } => {
            (format!("field '{field}' stands twice{}", of(outer.as_deref())), Some("keep one of them".into()))
        }
        E::InvalidValueForType { expected, found } if expected.contains("nonzero") => {
            ("this must be 1 or more".into(), Some(format!("it is {}", found.trim_matches('`'))))
        }
        E::Eof => ("the file ends too early".into(), Some("a bracket or a quote is not closed".into())),
        E::ExpectedComma | E::ExpectedStructLikeEnd | E::ExpectedArrayEnd | E::ExpectedMapEnd => (
            format!("{}", error.code).to_lowercase(),
            Some("a comma or a bracket is missing before this".into()),
        ),
        E::TrailingCharacters => ("there is text after the end of the job".into(), Some("remove it".into())),
        code => (format!("{code}"), None),
    };
    let id = enclosing_id(text, start.line, start.col);
    Flaw { position, what: id.map_or(what.clone(), |id| format!("{what} (in '{id}')")), hint }
}

fn of(outer: Option<&str>) -> String {
    outer.map(|outer| format!(" in {outer}")).unwrap_or_default()
}

/// The known word that was probably meant.
pub(crate) fn nearest<'a>(found: &str, known: impl Iterator<Item = &'a str>) -> Option<String> {
    let folded = found.to_lowercase();
    known
        .map(|word| (strsim::damerau_levenshtein(&folded, &word.to_lowercase()), word))
        .filter(|(distance, word)| *distance <= (word.chars().count().max(3) / 3).max(1))
        .min()
        .map(|(_, word)| format!("did you mean '{word}'?"))
}

/// The id of the entry in which a position lies: the last `id: "..."` before it that is not closed again.
fn enclosing_id(text: &str, line: usize, column: usize) -> Option<&str> {
    let line_start = text.split_inclusive('\n').take(line.saturating_sub(1)).map(str::len).sum::<usize>();
    let end = text[line_start..]
        .char_indices()
        .nth(column.saturating_sub(1))
        .map_or(text.len(), |(at, _)| line_start + at);
    let mut closed = 0_usize;
    let before = text.get(..end)?;
    for (at, c) in before.char_indices().rev() {
        match c {
            ')' => closed += 1,
            '(' => closed = closed.saturating_sub(1),
            'i' if closed == 0 && before[at..].starts_with("id:") && !preceded_by_word(before, at) => {
                let value = before[at + 3..].trim_start().strip_prefix('"')?;
                return value.split_once('"').map(|(id, _)| id);
            }
            _ => {}
        }
    }
    None
}

fn preceded_by_word(text: &str, at: usize) -> bool {
    text[..at].chars().next_back().is_some_and(|c| c.is_alphanumeric() || c == '_')
}
