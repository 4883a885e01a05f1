//! Lengths as they are reckoned from places, whatever was measured: to be held against what was pulled.

use super::length::{CableLength, Lengths, LoopLength};
use crate::job::wiring::{Feed, Link, Loop, WallBox};

impl Lengths<'_> {
    /// The estimated length of a home run or an onward feed.
    pub fn estimated_feed(&self, wall_box: &WallBox, feed: &Feed) -> Option<CableLength> {
        self.planned().feed(wall_box, &Feed { measured: None, ..feed.clone() })
    }

    /// The estimated length of a link.
    pub fn estimated_link(&self, link: &Link) -> Option<CableLength> {
        self.planned().link(&Link { measured: None, ..link.clone() })
    }

    /// The estimated lengths of a loop.
    pub fn estimated_loop(&self, wall_box: &WallBox, run: &Loop) -> LoopLength {
        let mut run = Loop { measured: None, return_leg: None, ..run.clone() };
        run.ceiling.iter_mut().for_each(|ceiling| ceiling.leg = None);
        self.planned().wired_loop(wall_box, &run)
    }
}
