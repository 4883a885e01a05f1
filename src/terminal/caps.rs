//! What the terminal at the far end can do, told from the environment alone.
//!
//! The terminal is never asked: an answer may come late, garbled or not at all over a
//! slow line, and leaks into the input. A wrong guess must therefore cost bytes, never a
//! broken screen, so a sequence is used only where the named terminal is known to have it.

/// How much colour may be sent.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Colour {
    /// No colour codes at all; bold, underline and reverse still work.
    #[default]
    None,
    /// The default foreground and background and the sixteen named colours.
    Sixteen,
}

/// Which characters the terminal shows.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Repertoire {
    /// Printable ASCII; everything else is mapped to a look-alike or `?`.
    #[default]
    Ascii,
    /// Characters of code page 437, as the Linux console's own fonts have.
    Cp437,
    /// All of Unicode, as UTF-8.
    Unicode,
}

/// The abilities of one terminal.
///
/// The flags are independent facts about a terminal, so they stay plain booleans.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
#[expect(
    clippy::struct_excessive_bools,
    reason = "independent facts about a terminal, as in a terminal data base"
)]
pub struct Capabilities {
    /// The locale's character set is UTF-8.
    pub utf8: bool,
    /// The characters that can be shown.
    pub repertoire: Repertoire,
    /// The colours that may be sent.
    pub colour: Colour,
    /// The terminal cannot address the cursor: a full screen is impossible.
    pub dumb: bool,
    /// A second screen, so that leaving gives back what stood before (`?1049`).
    pub alt_screen: bool,
    /// Pasted text comes marked (`?2004`).
    pub bracketed_paste: bool,
    /// Scroll margins (DECSTBM) with index and reverse index.
    pub scroll_regions: bool,
    /// Scroll up and down by a count (SU, SD).
    pub scroll_counts: bool,
    /// Insert and delete lines (IL, DL).
    pub insert_lines: bool,
    /// Absolute column and row (CHA, VPA).
    pub absolute_moves: bool,
    /// Erase characters in place (ECH).
    pub erase_chars: bool,
    /// Repeat the last character (REP).
    pub repeat: bool,
    /// Italics are italics, not a colour or reverse video.
    pub italic: bool,
    /// Half bright is shown and can be read.
    pub dim: bool,
    /// The cursor can be hidden (`?25`).
    pub hide_cursor: bool,
}

impl Capabilities {
    /// Reads the abilities from the environment that `env` looks up.
    ///
    /// `TERM` names the terminal, `LC_ALL`, `LC_CTYPE` and `LANG` the character set as the C
    /// library reads them, a non-empty `NO_COLOR` turns colour off.
    pub fn detect(env: &dyn Fn(&str) -> Option<String>) -> Self {
        let set = |name: &str| env(name).filter(|value| !value.is_empty());
        let term = set("TERM").unwrap_or_default();
        let mut caps = Self::of_terminal(&term);
        let locale = set("LC_ALL").or_else(|| set("LC_CTYPE")).or_else(|| set("LANG"));
        caps.utf8 = locale.is_some_and(|name| is_utf8(&name));
        if !caps.utf8 {
            caps.repertoire = Repertoire::Ascii;
        }
        if set("NO_COLOR").is_some() {
            caps.colour = Colour::None;
        }
        caps
    }

    /// Reads the abilities from this process's environment.
    pub fn from_env() -> Self {
        Self::detect(&|name| std::env::var(name).ok())
    }

    /// What a terminal of this `TERM` name does, in a UTF-8 locale.
    fn of_terminal(term: &str) -> Self {
        let family = term.split(['-', '.', '+']).next().unwrap_or_default();
        let base =
            Self { utf8: true, repertoire: Repertoire::Unicode, scroll_regions: true, ..Self::default() };
        let vt220 = Self { insert_lines: true, erase_chars: true, hide_cursor: true, ..base };
        let full = Self {
            colour: Colour::Sixteen,
            alt_screen: true,
            bracketed_paste: true,
            absolute_moves: true,
            scroll_counts: true,
            dim: true,
            ..vt220
        };
        match family {
            "dumb" | "vt52" | "emacs" | "unknown" | "network" | "dialup" => {
                Self { dumb: true, utf8: true, ..Self::default() }
            }
            "linux" => Self {
                colour: Colour::Sixteen,
                repertoire: Repertoire::Cp437,
                absolute_moves: true,
                bracketed_paste: true,
                ..vt220
            },
            "vt220" | "vt320" | "vt420" | "vt510" => vt220,
            // Screen shows italics as reverse video and lacks ECH and REP.
            "screen" => Self { erase_chars: false, scroll_counts: false, ..full },
            "rxvt" => full,
            "tmux" | "xterm" | "alacritty" | "foot" | "kitty" | "wezterm" | "ghostty" | "st" | "gnome"
            | "vte" | "konsole" | "putty" | "mintty" | "contour" => {
                Self { repeat: true, italic: true, ..full }
            }
            // An unknown name or none: what every such terminal has had since the VT100.
            _ if term.contains("color") => Self { colour: Colour::Sixteen, ..base },
            _ => base,
        }
    }
}

/// Whether a locale name says UTF-8, spelt in any of the ways the C library takes.
fn is_utf8(locale: &str) -> bool {
    let Some((_, charset)) = locale.split_once('.') else {
        return false;
    };
    let charset = charset.split('@').next().unwrap_or_default();
    charset.eq_ignore_ascii_case("utf-8") || charset.eq_ignore_ascii_case("utf8")
}

#[cfg(test)]
mod tests {
    use super::*;

    fn caps(pairs: &[(&str, &str)]) -> Capabilities {
        Capabilities::detect(&|name| {
            pairs.iter().find(|(key, _)| *key == name).map(|(_, value)| (*value).to_owned())
        })
    }

    #[test]
    fn the_locale_is_read_as_the_c_library_does() {
        let term = ("TERM", "xterm-256color");
        assert!(!caps(&[term]).utf8);
        assert!(!caps(&[term, ("LANG", "C")]).utf8);
        assert!(!caps(&[term, ("LANG", "POSIX")]).utf8);
        assert!(!caps(&[term, ("LANG", "de_DE")]).utf8);
        assert!(caps(&[term, ("LANG", "de_DE.utf8@euro")]).utf8);
        assert!(caps(&[term, ("LANG", "C"), ("LC_CTYPE", "C.UTF-8")]).utf8);
        assert!(!caps(&[term, ("LANG", "C.UTF-8"), ("LC_ALL", "C")]).utf8);
        assert!(caps(&[term, ("LANG", "C.UTF-8"), ("LC_ALL", "")]).utf8);
        let plain = caps(&[term, ("LC_ALL", "C")]);
        assert_eq!(plain.repertoire, Repertoire::Ascii);
    }

    #[test]
    fn an_empty_no_color_does_not_count() {
        let term = ("TERM", "xterm");
        assert_eq!(caps(&[term, ("NO_COLOR", "")]).colour, Colour::Sixteen);
        assert_eq!(caps(&[term, ("NO_COLOR", "0")]).colour, Colour::None);
    }

    #[test]
    fn old_terminals_get_only_what_they_have() {
        let vt100 = caps(&[("TERM", "vt100"), ("LANG", "C.UTF-8")]);
        assert_eq!(vt100.colour, Colour::None);
        assert!(!vt100.alt_screen && !vt100.repeat && !vt100.erase_chars && !vt100.dumb);
        assert!(!vt100.insert_lines && !vt100.absolute_moves && vt100.scroll_regions);
        let linux = caps(&[("TERM", "linux"), ("LANG", "C.UTF-8")]);
        assert_eq!(linux.repertoire, Repertoire::Cp437);
        assert!(!linux.scroll_counts && linux.insert_lines && !linux.italic);
        assert!(caps(&[("TERM", "dumb")]).dumb);
        assert!(!caps(&[]).dumb, "an unset TERM still gets a screen");
        assert!(!caps(&[("TERM", "screen.xterm-256color")]).repeat);
        assert!(caps(&[("TERM", "tmux-256color")]).repeat);
    }
}
