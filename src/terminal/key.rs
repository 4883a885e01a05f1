//! Keys as the program sees them, and the codes terminals send for them.

/// What was pressed, apart from modifiers.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum KeyCode {
    /// A character as typed; with Ctrl the lower-case letter.
    Char(char),
    /// Enter, also of the keypad.
    Enter,
    /// Escape alone.
    Esc,
    /// Tab.
    Tab,
    /// Shift and Tab.
    BackTab,
    /// Backspace, whether it sends `^H` or `^?`.
    Backspace,
    /// Delete forward.
    Delete,
    /// Insert.
    Insert,
    /// Home.
    Home,
    /// End.
    End,
    /// Page up.
    PageUp,
    /// Page down.
    PageDown,
    /// Arrow up.
    Up,
    /// Arrow down.
    Down,
    /// Arrow left.
    Left,
    /// Arrow right.
    Right,
    /// A function key, 1 to 12.
    F(u8),
}

/// A key press.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct Key {
    /// The key.
    pub code: KeyCode,
    /// Ctrl was held.
    pub ctrl: bool,
    /// Alt or Meta was held, or Escape came just before.
    pub alt: bool,
    /// Shift was held; for characters it is in the character itself.
    pub shift: bool,
}

impl Key {
    /// A key without modifiers.
    pub const fn new(code: KeyCode) -> Self {
        Self { code, ctrl: false, alt: false, shift: false }
    }

    /// A character without modifiers.
    pub const fn char(c: char) -> Self {
        Self::new(KeyCode::Char(c))
    }

    /// Ctrl and a character.
    pub const fn ctrl(c: char) -> Self {
        Self { ctrl: true, ..Self::char(c) }
    }

    /// This key with Alt.
    #[must_use]
    pub const fn with_alt(self) -> Self {
        Self { alt: true, ..self }
    }

    /// The character typed, when no Ctrl or Alt changes its meaning.
    pub const fn typed(self) -> Option<char> {
        match self.code {
            KeyCode::Char(c) if !self.ctrl && !self.alt => Some(c),
            _ => None,
        }
    }

    /// Adds modifiers as terminals number them: one more than a sum of bits.
    const fn modified(self, number: u16) -> Self {
        let bits = number.saturating_sub(1);
        Self {
            code: self.code,
            shift: self.shift || bits & 1 != 0,
            alt: self.alt || bits & (2 | 8 | 32) != 0,
            ctrl: self.ctrl || bits & 4 != 0,
        }
    }
}

/// A key of one byte below space, or DEL.
pub(super) const fn of_control(byte: u8) -> Key {
    match byte {
        0 => Key::ctrl(' '),
        b'\t' => Key::new(KeyCode::Tab),
        b'\r' | b'\n' => Key::new(KeyCode::Enter),
        8 | 0x7f => Key::new(KeyCode::Backspace),
        0x1b => Key::new(KeyCode::Esc),
        1..=26 => Key::ctrl((byte + b'a' - 1) as char),
        _ => Key::ctrl((byte + b'@') as char),
    }
}

/// The parameters of a control sequence; the first few, sub-parameters apart.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub(super) struct Params {
    numbers: [Option<u16>; 3],
    /// The first sub-parameter of each, as of `1;5:3`.
    subs: [Option<u16>; 3],
    index: usize,
    in_sub: bool,
    /// A private marker or an intermediate byte was seen.
    pub(super) private: bool,
}

impl Params {
    /// Takes one parameter or intermediate byte.
    pub(super) fn push(&mut self, byte: u8) {
        let place =
            if self.in_sub { self.subs.get_mut(self.index) } else { self.numbers.get_mut(self.index) };
        match byte {
            b'0'..=b'9' => {
                if let Some(number) = place {
                    let digit = u16::from(byte - b'0');
                    *number = Some(number.unwrap_or(0).saturating_mul(10).saturating_add(digit));
                }
            }
            b';' => {
                self.index += 1;
                self.in_sub = false;
            }
            b':' => {
                // Only the first sub-parameter counts; later ones land nowhere.
                if self.in_sub {
                    self.private = true;
                }
                self.in_sub = true;
            }
            _ => self.private = true,
        }
    }

    fn first(&self) -> Option<u16> {
        self.numbers[0]
    }

    /// One plain number and nothing else, as before the `$` of rxvt.
    pub(super) fn is_single(&self) -> bool {
        !self.private && self.index == 0 && self.first().is_some()
    }

    /// Exactly this number and nothing else.
    pub(super) fn is(&self, number: u16) -> bool {
        self.is_single() && self.first() == Some(number)
    }

    fn modifiers(&self) -> u16 {
        self.numbers[1].unwrap_or(1)
    }

    /// A key release of the newer protocols.
    fn is_release(&self) -> bool {
        self.subs[1] == Some(3)
    }
}

/// The key of `ESC [ params final`, or none when it is not a key.
pub(super) fn of_csi(params: &Params, last: u8) -> Option<Key> {
    if params.private || params.is_release() || params.index > 2 {
        return None;
    }
    let plain = |code| Some(Key::new(code).modified(params.modifiers()));
    match last {
        b'A'..=b'D' | b'H' | b'F' | b'P' | b'Q' | b'S' => plain(of_letter(last)?),
        // A late cursor report ends in the letter of F3: believe it only as a key with modifiers.
        b'R' if matches!(params.first(), None | Some(1)) && params.modifiers() <= 16 => plain(KeyCode::F(3)),
        b'Z' => Some(Key::new(KeyCode::BackTab)),
        b'a'..=b'd' if params.first().is_none() => {
            Some(Key { shift: true, ..Key::new(of_letter(last.to_ascii_uppercase())?) })
        }
        b'~' if params.first() == Some(27) => {
            of_code_point(params.numbers[2]?).map(|key| key.modified(params.modifiers()))
        }
        b'u' => of_code_point(params.first()?).map(|key| key.modified(params.modifiers())),
        b'~' => plain(of_number(params.first()?)?),
        // rxvt ends with the modifier.
        b'$' | b'^' | b'@' => Some(Key::new(of_number(params.first()?)?).modified(match last {
            b'$' => 2,
            b'^' => 5,
            _ => 6,
        })),
        _ => None,
    }
}

/// The key of `ESC O params final`.
pub(super) fn of_ss3(params: &Params, last: u8) -> Option<Key> {
    // Old terminals put the modifier where the newer ones put a 1.
    let number = params.numbers[1].or(params.first()).unwrap_or(1);
    let key = match last {
        b'A'..=b'D' | b'H' | b'F' | b'P'..=b'S' => Key::new(of_letter(last)?),
        // rxvt's Ctrl and arrow.
        b'a'..=b'd' => Key { ctrl: true, ..Key::new(of_letter(last.to_ascii_uppercase())?) },
        b'M' => Key::new(KeyCode::Enter),
        b'I' => Key::new(KeyCode::Tab),
        // PuTTY's End in rxvt mode; the keypad's 7 only comes in a mode never asked for.
        b'w' => Key::new(KeyCode::End),
        b' ' => Key::char(' '),
        b'X' => Key::char('='),
        b'j'..=b'y' => Key::char((last - b'j' + b'*') as char),
        _ => return None,
    };
    Some(key.modified(number))
}

/// The key of the Linux console's `ESC [ [ letter`.
pub(super) const fn of_linux(last: u8) -> Option<Key> {
    match last {
        b'A'..=b'E' => Some(Key::new(KeyCode::F(last - b'A' + 1))),
        _ => None,
    }
}

const fn of_letter(letter: u8) -> Option<KeyCode> {
    Some(match letter {
        b'A' => KeyCode::Up,
        b'B' => KeyCode::Down,
        b'C' => KeyCode::Right,
        b'D' => KeyCode::Left,
        b'H' => KeyCode::Home,
        b'F' => KeyCode::End,
        b'P'..=b'S' => KeyCode::F(letter - b'P' + 1),
        _ => return None,
    })
}

fn of_number(number: u16) -> Option<KeyCode> {
    Some(match number {
        1 | 7 => KeyCode::Home,
        2 => KeyCode::Insert,
        3 => KeyCode::Delete,
        4 | 8 => KeyCode::End,
        5 => KeyCode::PageUp,
        6 => KeyCode::PageDown,
        11..=15 => KeyCode::F(low(number - 10)),
        17..=21 => KeyCode::F(low(number - 11)),
        23..=24 => KeyCode::F(low(number - 12)),
        _ => return None,
    })
}

fn low(number: u16) -> u8 {
    u8::try_from(number).unwrap_or(0)
}

/// A key named by its code point, as the newer protocols do.
fn of_code_point(number: u16) -> Option<Key> {
    if number < 0x20 || number == 0x7f {
        return matches!(number, 8 | 9 | 13 | 27 | 0x7f).then(|| of_control(low(number)));
    }
    let c = char::from_u32(u32::from(number))?;
    (!c.is_control() && !matches!(number, 0xe000..=0xf8ff)).then_some(Key::char(c))
}
