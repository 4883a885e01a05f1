//! What a file holds, in short.

use std::fmt;

/// The first 128 bits of the BLAKE3 hash of a file's bytes: enough that two states of a job never share one.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct Digest([u8; 16]);

impl Digest {
    /// Of these bytes.
    pub fn of(bytes: &[u8]) -> Self {
        let mut short = [0; 16];
        short.copy_from_slice(&blake3::hash(bytes).as_bytes()[..16]);
        Self(short)
    }
}

impl fmt::Display for Digest {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.0.iter().try_for_each(|byte| write!(f, "{byte:02x}"))
    }
}

/// The check at the start of each line of the log.
pub(super) fn line_check(line: &str) -> String {
    let hash = blake3::hash(line.as_bytes());
    let [a, b, c, d, ..] = *hash.as_bytes();
    format!("{:08x}", u32::from_be_bytes([a, b, c, d]))
}
