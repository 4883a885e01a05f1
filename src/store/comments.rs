//! Finds out whether a job file holds comments, which do not outlive a save.

/// Whether there is a comment in a text of RON, outside strings and characters.
pub(super) fn has_comments(text: &str) -> bool {
    let mut rest = text;
    while let Some(at) = rest.find(['"', '\'', '/', 'r']) {
        let (before, here) = rest.split_at(at);
        if here.starts_with("//") || here.starts_with("/*") {
            return true;
        }
        let length = match here.as_bytes()[0] {
            b'"' => string(here),
            b'\'' => character(here),
            b'r' if !ends_in_word(before) => raw_string(here),
            _ => 1,
        };
        rest = here.get(length..).unwrap_or_default();
    }
    false
}

/// A raw string may begin with `br`, but no word ends in the `r` that begins one.
fn ends_in_word(before: &str) -> bool {
    let before = before.strip_suffix('b').unwrap_or(before);
    before.ends_with(|c: char| c.is_alphanumeric() || c == '_')
}

fn string(text: &str) -> usize {
    let mut escaped = false;
    for (at, byte) in text.bytes().enumerate().skip(1) {
        match byte {
            b'\\' if !escaped => escaped = true,
            b'"' if !escaped => return at + 1,
            _ => escaped = false,
        }
    }
    text.len()
}

/// A character in quotes; anything else after a quote is none, and only the quote is passed over.
fn character(text: &str) -> usize {
    let mut chars = text.char_indices().skip(1);
    match chars.next() {
        Some((_, '\\')) => text.get(3..).and_then(|rest| rest.find('\'')).map_or(1, |end| end + 4),
        Some(_) => match chars.next() {
            Some((at, '\'')) => at + 1,
            _ => 1,
        },
        None => 1,
    }
}

fn raw_string(text: &str) -> usize {
    let hashes = text[1..].bytes().take_while(|byte| *byte == b'#').count();
    let Some(body) = text[1 + hashes..].strip_prefix('"') else {
        return 1;
    };
    let end = format!("\"{}", "#".repeat(hashes));
    body.find(&end).map_or(text.len(), |at| 2 + hashes + at + end.len())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_what_stands_outside_strings_is_a_comment() {
        for with in [
            "(a: 1) // end",
            "/* */ (a: 1)",
            r#"(a: "x", /* why */ b: 2)"#,
            r#"(a: "x\\"// y
            )"#,
            "(a: '\"', // quote\n)",
            r##"(a: r#"" "#, // raw
            )"##,
            "(a: '\\'', /**/)",
            "(a: 5'6 // no char\n)",
        ] {
            assert!(has_comments(with), "{with}");
        }
        for without in [
            "",
            "(a: 1, b: 4 / 2)",
            r#"(a: "http://x", b: "/* no */")"#,
            r#"(a: "x\"// y")"#,
            r##"(a: r#"" // "#)"##,
            r#"(a: r"\", b: "//")"#,
            r##"(a: br#"//"#, power: "//")"##,
            "(a: '\"', b: '/')",
            r#"(a: "5'6", b: "//")"#,
            "\"// unclosed",
        ] {
            assert!(!has_comments(without), "{without}");
        }
    }
}
