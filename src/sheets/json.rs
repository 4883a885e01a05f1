//! JSON documents, printed so that a person can read them and no terminal can be steered by them.

use crate::format::is_hostile;
use serde::Serialize;
use std::fmt::Write;

/// A document as indented JSON with a line break at its end.
///
/// Figures keep full precision; what is not finite is `null`. Characters that cannot be shown safely are escaped, so
/// the text reads back as it was.
///
/// # Errors
/// When the value cannot be JSON: a map whose keys are no strings.
pub fn pretty(document: &impl Serialize) -> Result<String, serde_json::Error> {
    let plain = serde_json::to_string_pretty(document)?;
    let mut out = String::with_capacity(plain.len() + 1);
    for c in plain.chars() {
        // A line break here is the layout's own: one in a text is already escaped.
        if c == '\n' || !is_hostile(c) {
            out.push(c);
        } else {
            for unit in c.encode_utf16(&mut [0; 2]) {
                // Writing to a String cannot fail.
                let _ = write!(out, "\\u{unit:04x}");
            }
        }
    }
    out.push('\n');
    Ok(out)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn figures_are_whole_and_unknown_is_null() {
        let document = serde_json::json!({ "volts": 23.405_123_456_789, "amps": null, "watts": f64::NAN });
        let text = pretty(&document);
        assert!(text.is_ok_and(|text| {
            text.contains("23.405123456789") && text.contains("\"watts\": null") && text.ends_with("}\n")
        }));
    }

    proptest! {
        #[test]
        fn any_text_is_safe_and_reads_back(text: String) {
            let written = pretty(&text).map_err(|e| TestCaseError::fail(e.to_string()))?;
            prop_assert!(!written.trim_end_matches('\n').contains(is_hostile));
            let back: String = serde_json::from_str(&written).map_err(|e| TestCaseError::fail(e.to_string()))?;
            prop_assert_eq!(back, text);
        }
    }
}
