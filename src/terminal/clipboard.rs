//! Copying to the clipboard of the terminal at the far end (OSC 52).
//!
//! Whether it worked cannot be told: many terminals refuse it silently. So the program must
//! also offer a file, and say no more than that the text was sent.

/// The most bytes of text sent; terminals drop longer ones without a word.
pub const MOST: usize = 50_000;

const ALPHABET: &[u8; 64] = b"ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";

/// The bytes that ask the terminal to put `text` on its clipboard; none when it is too long.
///
/// To be sent with [`super::writer::Screen::send_aside`].
pub fn copy(text: &str) -> Option<Vec<u8>> {
    if text.len() > MOST {
        return None;
    }
    let mut bytes = Vec::with_capacity(16 + text.len() * 4 / 3);
    bytes.extend_from_slice(b"\x1b]52;c;");
    base64(text.as_bytes(), &mut bytes);
    bytes.push(0x07);
    Some(bytes)
}

fn base64(bytes: &[u8], out: &mut Vec<u8>) {
    for chunk in bytes.chunks(3) {
        let mut group = [0; 3];
        group[..chunk.len()].copy_from_slice(chunk);
        let [a, b, c] = group;
        let sextets = [a >> 2, (a & 3) << 4 | b >> 4, (b & 15) << 2 | c >> 6, c & 63];
        for (place, sextet) in sextets.into_iter().enumerate() {
            out.push(if place <= chunk.len() { ALPHABET[usize::from(sextet)] } else { b'=' });
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn text_is_sent_as_base64() {
        for (text, coded) in
            [("", ""), ("f", "Zg=="), ("fo", "Zm8="), ("foo", "Zm9v"), ("foobar", "Zm9vYmFy"), ("Öl", "w5Zs")]
        {
            let want = format!("\x1b]52;c;{coded}\x07");
            assert_eq!(copy(text), Some(want.into_bytes()));
        }
        assert_eq!(copy(&"x".repeat(MOST + 1)), None);
    }
}
