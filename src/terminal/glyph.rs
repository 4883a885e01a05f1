//! What may be put in a cell: nothing that could move the cursor or change a mode, and
//! nothing whose width the two ends could see differently.

use unicode_width::{UnicodeWidthChar, UnicodeWidthStr};

use super::caps::Repertoire;

/// The characters of code page 437 outside ASCII, less those whose width is in doubt.
const CP437: &str = "ÇüéâäàåçêëèïîìÄÅÉæÆôöòûùÿÖÜ¢£¥ƒáíóúñÑªº¿¬½¼¡«»░▒▓│┤╡╢╖╕╣║╗╝╜╛┐└┴┬├─┼╞╟╚╔╩╦╠═╬╧╨╤╥╙╘╒╓╫╪┘┌█▄▌▐▀\
    αßΓπΣσµτΦΘΩδ∞φε∩≡±≥≤⌠⌡÷≈°∙·√ⁿ²■";

/// One cell's text, cleaned: a base character and what combines with it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Clean {
    /// UTF-8 bytes, of which `len` count.
    pub(super) text: [u8; TEXT_BYTES],
    /// The number of bytes used.
    pub(super) len: u8,
    /// Columns taken: 1 or 2.
    pub(super) width: u8,
}

/// The bytes of text one cell keeps: a base character and two or three marks.
pub(super) const TEXT_BYTES: usize = 11;

impl Clean {
    const fn ascii(byte: u8) -> Self {
        let mut text = [0; TEXT_BYTES];
        text[0] = byte;
        Self { text, len: 1, width: 1 }
    }

    fn push(&mut self, c: char) -> bool {
        let start = usize::from(self.len);
        let end = start + c.len_utf8();
        if end > TEXT_BYTES {
            return false;
        }
        c.encode_utf8(&mut self.text[start..end]);
        self.len = u8::try_from(end).unwrap_or(self.len);
        true
    }
}

/// Cleans the symbol of a cell for a terminal that shows `repertoire`.
///
/// Control and format characters never pass. A cluster of several spacing characters (flags,
/// joined emoji) keeps only its first one, because terminals disagree on the width of the whole.
pub(super) fn clean(symbol: &str, repertoire: Repertoire) -> Clean {
    if let &[byte] = symbol.as_bytes() {
        return Clean::ascii(if (0x20..0x7f).contains(&byte) { byte } else { b'?' });
    }
    let mut chars = symbol.chars();
    let Some(base) = chars.next() else {
        return Clean::ascii(b' ');
    };
    let base_width = base.width().unwrap_or(0);
    if base.is_control() || base_width == 0 || is_flag_letter(base) {
        return Clean::ascii(b'?');
    }
    match repertoire {
        Repertoire::Unicode => {}
        Repertoire::Cp437 if CP437.contains(base) || base.is_ascii() => {
            let mut clean = Clean::ascii(b' ');
            clean.len = 0;
            clean.push(base);
            return clean;
        }
        Repertoire::Ascii | Repertoire::Cp437 => {
            let mut clean = Clean::ascii(ascii(base));
            clean.width = if base_width == 2 { 2 } else { 1 };
            return clean;
        }
    }
    let mut clean = Clean::ascii(b' ');
    clean.len = 0;
    clean.width = if base_width == 2 { 2 } else { 1 };
    clean.push(base);
    for mark in chars {
        // Only true marks: joiners, direction marks and variation selectors change widths.
        let joins = mark.width() == Some(0) && !mark.is_control() && !is_format(mark);
        if !joins || !clean.push(mark) {
            break;
        }
    }
    // A mark may widen its base in one end's tables and not in the other's.
    let text = std::str::from_utf8(&clean.text[..usize::from(clean.len)]).unwrap_or(" ");
    if text.width() != usize::from(clean.width) {
        clean.len = 0;
        clean.push(base);
    }
    clean
}

/// Zero-width characters that are not marks on the letter before.
const fn is_format(c: char) -> bool {
    matches!(c, '\u{ad}' | '\u{34f}' | '\u{61c}' | '\u{115f}' | '\u{17b4}'..='\u{17b5}'
        | '\u{180b}'..='\u{180f}' | '\u{200b}'..='\u{200f}' | '\u{2028}'..='\u{202e}'
        | '\u{2060}'..='\u{206f}' | '\u{fe00}'..='\u{fe0f}' | '\u{feff}' | '\u{fff0}'..='\u{fffb}'
        | '\u{1160}'..='\u{11ff}' | '\u{d7b0}'..='\u{d7ff}' | '\u{e0000}'..='\u{e0fff}')
}

const fn is_flag_letter(c: char) -> bool {
    matches!(c, '\u{1f1e6}'..='\u{1f1ff}')
}

/// The ASCII look-alike of a character; `?` when there is none.
fn ascii(c: char) -> u8 {
    match c {
        ' '..='~' => u8::try_from(c).unwrap_or(b'?'),
        '─'
        | '━'
        | '╌'..='╍'
        | '┄'..='┅'
        | '┈'..='┉'
        | '╴'
        | '╶'
        | '╸'
        | '╺'
        | '╼'
        | '╾'
        | '‐'..='―'
        | '−'
        | '▁' => b'-',
        '│'
        | '┃'
        | '║'
        | '╎'..='╏'
        | '┆'..='┇'
        | '┊'..='┋'
        | '╵'
        | '╷'
        | '╹'
        | '╻'
        | '╽'
        | '╿'
        | '▏'
        | '▕'
        | '¦' => b'|',
        '┌'..='╋' | '╒'..='╬' | '╭'..='╰' | '±' => b'+',
        '█' | '▓' | '▉' | '▊' | '▋' | '■' | '▀' | '▄' | '▌' | '▐' => b'#',
        '═' | '▅'..='▇' | '▒' => b'=',
        '░' | '·' | '•' | '∙' | '…' | '⋅' => b'.',
        '▂'..='▃' => b'_',
        '╱' | '÷' => b'/',
        '╲' => b'\\',
        '╳' | '×' | '✗' | '✘' => b'x',
        '▲' | '↑' | '△' => b'^',
        '▼' | '↓' | '▽' => b'v',
        '►' | '▶' | '→' | '▸' | '›' | '»' | '≥' => b'>',
        '◄' | '◀' | '←' | '◂' | '‹' | '«' | '≤' => b'<',
        '●' | '○' | '◆' | '◇' | '★' | '☆' | '✓' | '✔' => b'*',
        '‘' | '’' | '′' | '´' => b'\'',
        '“' | '”' | '″' => b'"',
        '≈' => b'~',
        '\u{a0}' | '\u{2000}'..='\u{200a}' => b' ',
        'À'..='Å' => b'A',
        'à'..='å' => b'a',
        'È'..='Ë' => b'E',
        'è'..='ë' => b'e',
        'Ì'..='Ï' => b'I',
        'ì'..='ï' => b'i',
        'Ò'..='Ö' | 'Ø' => b'O',
        'ò'..='ö' | 'ø' => b'o',
        'Ù'..='Ü' => b'U',
        'ù'..='ü' | 'µ' | 'μ' => b'u',
        'Ç' => b'C',
        'ç' => b'c',
        'Ñ' => b'N',
        'ñ' => b'n',
        'ß' => b's',
        'Ý' => b'Y',
        'ý' | 'ÿ' => b'y',
        _ => b'?',
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn shown(symbol: &str, repertoire: Repertoire) -> (String, u8) {
        let clean = clean(symbol, repertoire);
        let text = &clean.text[..usize::from(clean.len)];
        (String::from_utf8(text.to_vec()).unwrap(), clean.width)
    }

    #[test]
    fn controls_never_pass() {
        for symbol in ["\u{1b}", "\n", "\u{9b}", "\u{7f}", "\u{1b}[2J", "\u{202e}a"] {
            assert_eq!(shown(symbol, Repertoire::Unicode).0, "?", "{symbol:?}");
        }
        assert_eq!(shown("e\u{301}\u{202e}", Repertoire::Unicode).0, "e\u{301}");
        assert_eq!(shown("a\n", Repertoire::Unicode).0, "a");
    }

    #[test]
    fn clusters_of_doubtful_width_keep_their_base() {
        assert_eq!(shown("👩‍👩‍👧", Repertoire::Unicode), ("👩".into(), 2));
        assert_eq!(shown("❤\u{fe0f}", Repertoire::Unicode), ("❤".into(), 1));
        assert_eq!(shown("🇩🇪", Repertoire::Unicode), ("?".into(), 1));
        assert_eq!(shown("漢", Repertoire::Unicode), ("漢".into(), 2));
    }

    #[test]
    fn poor_terminals_get_look_alikes() {
        assert_eq!(shown("─", Repertoire::Ascii), ("-".into(), 1));
        assert_eq!(shown("┼", Repertoire::Ascii), ("+".into(), 1));
        assert_eq!(shown("█", Repertoire::Ascii), ("#".into(), 1));
        assert_eq!(shown("漢", Repertoire::Ascii), ("?".into(), 2));
        assert_eq!(shown("é", Repertoire::Ascii), ("e".into(), 1));
        assert_eq!(shown("┌", Repertoire::Cp437), ("┌".into(), 1));
        assert_eq!(shown("╭", Repertoire::Cp437), ("+".into(), 1));
        assert_eq!(shown("漢", Repertoire::Cp437), ("?".into(), 2));
    }
}
