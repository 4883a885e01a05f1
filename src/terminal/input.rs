//! Bytes from the terminal into keys and pastes.
//!
//! A state machine takes one byte at a time, so a sequence may be split anywhere. What it does
//! not know it swallows to its end: late answers to queries of other programs, mouse reports and
//! strings never become keys. Only an Escape that stays alone is a key, after a hold.

use std::time::{Duration, Instant};

use super::key::{Key, KeyCode, Params, of_control, of_csi, of_linux, of_ss3};
use super::paste;

/// What the terminal's input means.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Input {
    /// A key.
    Key(Key),
    /// Pasted text, with line ends as `\n` and no control characters but `\n` and `\t`.
    Paste(String),
}

/// How long a sequence may stay incomplete before it is given up.
const STALL: Duration = Duration::from_secs(1);
/// How long a marked paste may pause; its end mark may have been lost on the way.
const PASTE_STALL: Duration = Duration::from_secs(3);
/// How late the rest of a sequence may come after its Escape was reported alone.
const LATE: Duration = Duration::from_millis(500);

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum State {
    Ground,
    Utf8 {
        code: u32,
        left: u8,
        least: u32,
    },
    /// After Escape; `twice` after two, as rxvt sends with Alt.
    Esc {
        twice: bool,
    },
    Csi {
        params: Params,
        alt: bool,
        empty: bool,
    },
    Ss3 {
        params: Params,
        alt: bool,
    },
    Linux,
    /// The bytes of an old mouse report.
    Mouse {
        left: u8,
    },
    /// A string to be swallowed, until its terminator.
    Text {
        escape: bool,
    },
    Paste,
}

/// The parser, with what it holds back.
#[derive(Debug)]
pub struct Parser {
    state: State,
    hold: Duration,
    /// When the last byte came.
    last: Option<Instant>,
    /// When an Escape was reported for want of more; its sequence may still come.
    escaped: Option<Instant>,
    /// The last byte was a carriage return, so that a line feed belongs to it.
    returned: bool,
    /// The sequence under way began without its Escape.
    orphan: bool,
    found: Vec<Input>,
    marked: paste::Marked,
    /// Text that came too fast to be typed, held until it ends.
    unmarked: Option<String>,
}

impl Parser {
    /// A parser that takes an Escape as a key after `hold`.
    pub fn new(hold: Duration) -> Self {
        Self {
            state: State::Ground,
            hold,
            last: None,
            escaped: None,
            returned: false,
            orphan: false,
            found: Vec::new(),
            marked: paste::Marked::default(),
            unmarked: None,
        }
    }

    /// The hold for this session: longer when the far end is across a network.
    pub fn hold(env: &dyn Fn(&str) -> Option<String>) -> Duration {
        let remote = ["SSH_CONNECTION", "SSH_TTY", "SSH_CLIENT"]
            .iter()
            .any(|name| env(name).is_some_and(|value| !value.is_empty()));
        Duration::from_millis(if remote { 150 } else { 50 })
    }

    /// Takes all bytes that waited at `now`, and appends what they mean.
    ///
    /// Bytes that came together are judged together: text too long to have been typed at once
    /// is a paste even if the terminal did not mark it.
    pub fn feed(&mut self, bytes: &[u8], now: Instant, out: &mut Vec<Input>) {
        if bytes.is_empty() {
            return;
        }
        self.expire(now, out);
        if self.escaped.is_some_and(|at| now.saturating_duration_since(at) > LATE) {
            self.escaped = None;
        }
        for &byte in bytes {
            self.byte(byte);
        }
        self.last = Some(now);
        self.deliver(out);
    }

    /// When [`Parser::expire`] has something to do, if no byte comes before.
    pub fn deadline(&self) -> Option<Instant> {
        let wait = match self.state {
            State::Esc { .. } => self.hold,
            State::Ground | State::Utf8 { .. } if self.unmarked.is_some() => self.hold,
            State::Ground | State::Utf8 { .. } => return None,
            State::Csi { empty: true, .. } | State::Ss3 { .. } if self.orphan => self.hold,
            State::Paste => PASTE_STALL,
            _ => STALL,
        };
        self.last.map(|last| last + wait)
    }

    /// Reports what was held back, if its time has come.
    pub fn expire(&mut self, now: Instant, out: &mut Vec<Input>) {
        if self.deadline().is_none_or(|deadline| now < deadline) {
            return;
        }
        let state = std::mem::replace(&mut self.state, State::Ground);
        match state {
            State::Esc { twice } => {
                for _ in 0..=u8::from(twice) {
                    self.found.push(Input::Key(Key::new(KeyCode::Esc)));
                }
                self.escaped = Some(now);
            }
            // No sequence after all, but the bracket somebody typed after Escape.
            State::Csi { empty: true, .. } if self.orphan => self.key(Key::char('[')),
            State::Ss3 { .. } if self.orphan => self.key(Key::char('O')),
            State::Paste => {
                let text = self.marked.take();
                self.found.push(Input::Paste(text));
            }
            _ => {}
        }
        self.orphan = false;
        if let Some(text) = self.unmarked.take() {
            self.found.retain(|input| matches!(input, Input::Paste(_)));
            self.found.insert(0, Input::Paste(text));
        }
        out.append(&mut self.found);
    }

    /// Passes on what was found, unless it is or continues a paste without marks.
    fn deliver(&mut self, out: &mut Vec<Input>) {
        if let Some(text) = &mut self.unmarked {
            paste::append_typed(text, &self.found);
            self.found.clear();
        } else if paste::is_too_fast(&self.found) {
            let mut text = String::new();
            paste::append_typed(&mut text, &self.found);
            self.unmarked = Some(text);
            self.found.clear();
        } else {
            out.append(&mut self.found);
        }
    }

    fn key(&mut self, key: Key) {
        self.found.push(Input::Key(key));
    }

    fn key_with(&mut self, key: Option<Key>, alt: bool) {
        if let Some(key) = key {
            self.key(if alt { key.with_alt() } else { key });
        }
    }

    fn byte(&mut self, byte: u8) {
        match self.state {
            State::Ground => self.ground(byte, false),
            State::Utf8 { code, left, least } => self.utf8(byte, code, left, least),
            State::Esc { twice } => self.after_esc(byte, twice),
            State::Csi { params, alt, empty } => self.csi(byte, params, alt, empty),
            State::Ss3 { params, alt } => self.ss3(byte, params, alt),
            State::Linux => {
                self.state = State::Ground;
                self.key_with(of_linux(byte), false);
            }
            State::Mouse { left } => {
                self.state = if left > 1 { State::Mouse { left: left - 1 } } else { State::Ground };
            }
            State::Text { escape } => self.string(byte, escape),
            State::Paste => {
                if self.marked.push(byte) {
                    self.state = State::Ground;
                    let text = self.marked.take();
                    self.found.push(Input::Paste(text));
                }
            }
        }
    }

    fn ground(&mut self, byte: u8, alt: bool) {
        self.state = State::Ground;
        let late = self.escaped.take().is_some() && !alt;
        let returned = std::mem::replace(&mut self.returned, byte == b'\r');
        let start = |code: u8, left, least| State::Utf8 { code: u32::from(code), left, least };
        match byte {
            0x1b => self.state = State::Esc { twice: false },
            b'[' if late => {
                self.orphan = true;
                self.begin_csi(false);
            }
            b'O' if late => {
                self.orphan = true;
                self.begin_ss3(false);
            }
            b'\n' if returned => {}
            0x00..=0x1f | 0x7f => self.key_with(Some(of_control(byte)), alt),
            0x20..=0x7e => self.key_with(Some(Key::char(char::from(byte))), alt),
            0xc2..=0xdf => self.state = start(byte & 0x1f, 1, 0x80),
            0xe0..=0xef => self.state = start(byte & 0x0f, 2, 0x800),
            0xf0..=0xf4 => self.state = start(byte & 0x07, 3, 0x1_0000),
            // A stray continuation or a byte of another character set.
            0x80..=0xc1 | 0xf5..=0xff => {}
        }
    }

    fn utf8(&mut self, byte: u8, code: u32, left: u8, least: u32) {
        if byte & 0xc0 != 0x80 {
            // Broken off: what comes instead counts for itself.
            self.ground(byte, false);
            return;
        }
        let code = code << 6 | u32::from(byte & 0x3f);
        if left > 1 {
            self.state = State::Utf8 { code, left: left - 1, least };
            return;
        }
        self.state = State::Ground;
        if let Some(c) = char::from_u32(code).filter(|c| code >= least && !c.is_control()) {
            self.key(Key::char(c));
        }
    }

    fn after_esc(&mut self, byte: u8, twice: bool) {
        match byte {
            0x1b if twice => self.key(Key::new(KeyCode::Esc)),
            0x1b => self.state = State::Esc { twice: true },
            b'[' => self.begin_csi(twice),
            b'O' => self.begin_ss3(twice),
            b']' | b'P' | b'X' | b'^' | b'_' if !twice => self.state = State::Text { escape: false },
            _ => {
                if twice {
                    self.key(Key::new(KeyCode::Esc));
                }
                self.ground(byte, true);
            }
        }
    }

    fn begin_csi(&mut self, alt: bool) {
        self.state = State::Csi { params: Params::default(), alt, empty: true };
    }

    fn begin_ss3(&mut self, alt: bool) {
        self.state = State::Ss3 { params: Params::default(), alt };
    }

    fn csi(&mut self, byte: u8, mut params: Params, alt: bool, empty: bool) {
        match byte {
            b'[' if empty => self.state = State::Linux,
            b'M' if empty => self.state = State::Mouse { left: 3 },
            // rxvt's Shift; elsewhere an intermediate byte.
            b'$' if params.is_single() => {
                self.finish();
                self.key_with(of_csi(&params, byte), alt);
            }
            0x20..=0x3f => {
                params.push(byte);
                self.state = State::Csi { params, alt, empty: false };
            }
            0x40..=0x7e => {
                self.finish();
                if byte == b'~' && params.is(200) {
                    self.state = State::Paste;
                } else {
                    self.key_with(of_csi(&params, byte), alt);
                }
            }
            _ => self.broken(byte),
        }
    }

    fn ss3(&mut self, byte: u8, mut params: Params, alt: bool) {
        match byte {
            b'0'..=b'9' | b';' => {
                params.push(byte);
                self.state = State::Ss3 { params, alt };
            }
            0x20..=0x7e => {
                let orphan = self.orphan;
                self.finish();
                if orphan && !matches!(byte, b'A'..=b'D' | b'F' | b'H' | b'P'..=b'S') {
                    // Typed after all: an O, and what follows it.
                    self.key(Key::char('O'));
                    self.key(Key::char(char::from(byte)));
                } else {
                    self.key_with(of_ss3(&params, byte), alt);
                }
            }
            _ => self.broken(byte),
        }
    }

    fn finish(&mut self) {
        self.state = State::Ground;
        self.orphan = false;
    }

    /// A sequence that breaks off is dropped; the byte that broke it counts for itself.
    fn broken(&mut self, byte: u8) {
        self.finish();
        match byte {
            // Cancelled.
            0x18 | 0x1a => {}
            _ => self.ground(byte, false),
        }
    }

    fn string(&mut self, byte: u8, escape: bool) {
        self.state = match byte {
            0x07 | 0x18 | 0x1a | 0x9c => State::Ground,
            b'\\' if escape => State::Ground,
            0x1b => State::Text { escape: true },
            _ if escape => {
                // A new sequence ends a string that was cut off.
                self.after_esc(byte, false);
                return;
            }
            _ => State::Text { escape: false },
        };
    }
}

#[cfg(test)]
#[path = "input_tests.rs"]
mod tests;
