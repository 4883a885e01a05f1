//! Changing the pen in the fewest bytes.

use super::grid::{BOLD, DIM, ITALIC, Pen, REVERSE, UNDERLINE};

/// Codes of one change, written to a small buffer because both ways are tried.
#[derive(Debug, Default)]
struct Codes {
    bytes: [u8; 32],
    len: usize,
}

impl Codes {
    fn number(&mut self, number: u8) {
        if self.len > 0 {
            self.byte(b';');
        }
        if number >= 100 {
            self.byte(b'0' + number / 100);
        }
        if number >= 10 {
            self.byte(b'0' + number / 10 % 10);
        }
        self.byte(b'0' + number % 10);
    }

    fn byte(&mut self, byte: u8) {
        if let Some(place) = self.bytes.get_mut(self.len) {
            *place = byte;
            self.len += 1;
        }
    }

    fn colour(&mut self, colour: u8, base: u8) {
        match colour {
            0 => self.number(base + 9),
            1..=8 => self.number(base + colour - 1),
            _ => self.number(base + 60 + colour - 9),
        }
    }
}

/// Appends what turns the pen `from` into `to`; `None` is a pen nobody knows.
pub(super) fn change(out: &mut Vec<u8>, from: Option<Pen>, to: Pen) {
    if from == Some(to) {
        return;
    }
    let fresh = from_plain(to);
    let codes = match from {
        Some(from) => {
            let direct = directly(from, to);
            if from != Pen::PLAIN && fresh.len + usize::from(fresh.len > 0) < direct.len {
                None
            } else {
                Some(direct)
            }
        }
        None => None,
    };
    out.extend_from_slice(b"\x1b[");
    if let Some(codes) = codes {
        out.extend_from_slice(&codes.bytes[..codes.len]);
    } else if fresh.len > 0 {
        // An empty first number resets, then the rest is set.
        out.push(b';');
        out.extend_from_slice(&fresh.bytes[..fresh.len]);
    }
    out.push(b'm');
}

fn from_plain(to: Pen) -> Codes {
    directly(Pen::PLAIN, to)
}

fn directly(from: Pen, to: Pen) -> Codes {
    let mut codes = Codes::default();
    let mut on = to.bits & !from.bits;
    let off = from.bits & !to.bits;
    if off & (BOLD | DIM) != 0 {
        codes.number(22);
        on |= to.bits & (BOLD | DIM);
    }
    for (bit, code) in [(ITALIC, 23), (UNDERLINE, 24), (REVERSE, 27)] {
        if off & bit != 0 {
            codes.number(code);
        }
    }
    for (bit, code) in [(BOLD, 1), (DIM, 2), (ITALIC, 3), (UNDERLINE, 4), (REVERSE, 7)] {
        if on & bit != 0 {
            codes.number(code);
        }
    }
    if from.fg != to.fg {
        codes.colour(to.fg, 30);
    }
    if from.bg != to.bg {
        codes.colour(to.bg, 40);
    }
    codes
}

#[cfg(test)]
mod tests {
    use super::*;

    fn changed(from: Option<Pen>, to: Pen) -> String {
        let mut out = Vec::new();
        change(&mut out, from, to);
        String::from_utf8(out).unwrap().replace('\x1b', "")
    }

    #[test]
    fn the_shorter_of_two_ways_is_taken() {
        let bold = Pen { bits: BOLD, ..Pen::PLAIN };
        let red = Pen { fg: 2, ..bold };
        let all = Pen { fg: 16, bg: 9, bits: BOLD | UNDERLINE | REVERSE };
        assert_eq!(changed(Some(bold), bold), "");
        assert_eq!(changed(Some(Pen::PLAIN), bold), "[1m");
        assert_eq!(changed(Some(bold), Pen::PLAIN), "[m");
        assert_eq!(changed(Some(bold), red), "[31m");
        assert_eq!(changed(Some(all), bold), "[;1m");
        assert_eq!(changed(None, Pen::PLAIN), "[m");
        assert_eq!(changed(None, red), "[;1;31m");
        assert_eq!(changed(Some(Pen::PLAIN), all), "[1;4;7;97;100m");
    }
}
