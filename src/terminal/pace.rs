//! Not sending frames of a held key faster than a slow line carries them.
//!
//! The far end of a pty or an SSH connection buffers many frames before a write is refused, and
//! the screen would go on moving long after the key is let go. So while frames come as fast as a
//! key repeats, each waits until the one before has had time to pass a slow line; those between
//! are merged. Single key presses never wait.

use std::time::{Duration, Instant};

/// What a slow line carries in a second: 56 kbit/s.
const SLOW_LINE: u32 = 7000;
/// Frames closer than this come from a held key.
const REPEAT: Duration = Duration::from_millis(60);
/// The most a frame is held back.
const MOST: Duration = Duration::from_millis(250);

/// The pace of a line.
#[derive(Debug, Default)]
pub(super) struct Pace {
    /// When what was sent has passed a slow line.
    free: Option<Instant>,
    /// When a frame was last wanted.
    wanted: Option<Instant>,
}

impl Pace {
    /// When the frame wanted at `now` may be sent, if not at once.
    pub(super) fn wait(&mut self, now: Instant) -> Option<Instant> {
        let before = self.wanted.replace(now)?;
        if now.saturating_duration_since(before) >= REPEAT {
            return None;
        }
        self.free.filter(|&free| now < free)
    }

    /// Takes note of bytes sent.
    pub(super) fn sent(&mut self, bytes: usize, now: Instant) {
        let bytes = u32::try_from(bytes).unwrap_or(u32::MAX);
        let time = Duration::from_secs(1).saturating_mul(bytes) / SLOW_LINE;
        let start = self.free.map_or(now, |free| free.max(now));
        self.free = Some((start + time).min(now + MOST));
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_a_held_key_waits() {
        let mut pace = Pace::default();
        let start = Instant::now();
        let at = |millis| start + Duration::from_millis(millis);
        assert_eq!(pace.wait(at(0)), None);
        pace.sent(700, at(0));
        assert_eq!(pace.wait(at(30)), Some(at(100)), "held: until the first has passed");
        assert_eq!(pace.wait(at(60)), Some(at(100)));
        assert_eq!(pace.wait(at(105)), None);
        pace.sent(700, at(105));
        assert_eq!(pace.wait(at(170)), None, "pressed again, not held");
        pace.sent(100_000, at(170));
        assert_eq!(pace.wait(at(180)), Some(at(420)));
        pace.sent(14, at(500));
        assert_eq!(pace.wait(at(510)), None, "small frames pass between repeats");
    }
}
