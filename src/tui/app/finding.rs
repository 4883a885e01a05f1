//! Finding things by part of their id or name: in the view, folded away or not, and where else they are shown.

use super::super::listing::{Line, Listing};
use super::{App, View};
use crate::design::Design;
use std::collections::HashSet;

/// Where a thing is looked for that the view at hand does not show.
const ELSEWHERE: [View; 5] = [View::Runs, View::Loading, View::Slots, View::Cables, View::Parts];

impl App {
    pub(super) fn find(&mut self, direction: isize) {
        if self.found.is_empty() {
            self.say("nothing to find yet: type / and part of a name");
            return;
        }
        let needle = self.found.clone();
        if !self.seek(&needle, direction) {
            self.say(format!("nothing here is called '{needle}'"));
        }
    }

    /// Goes to what is called so: the thing with that very id first, here or where it is shown; then the next line here
    /// that holds the word, or the first one elsewhere.
    pub(super) fn seek_anywhere(&mut self, needle: &str) -> bool {
        let needle = needle.trim().to_lowercase();
        if needle.is_empty() {
            return false;
        }
        if self.view.is_picture() && self.seek_in_picture(&needle, 0, 1) {
            return true;
        }
        let here = self.view;
        let views = || [here].into_iter().chain(ELSEWHERE.into_iter().filter(move |view| *view != here));
        let is = |design: &Design, listing: &Listing, line: usize| {
            listing.subject(design, line).is_some_and(|subject| subject.id.to_lowercase() == needle)
        };
        views().any(|view| self.seek_in(view, 0, 1, &is))
            || views().any(|view| self.seek_in(view, 0, 1, &holding(&needle)))
    }

    /// Goes to the next line here that holds a word, or the one before.
    fn seek(&mut self, needle: &str, direction: isize) -> bool {
        let needle = needle.trim().to_lowercase();
        if self.view.is_picture() {
            return self.seek_in_picture(&needle, 1, direction);
        }
        self.seek_in(self.view, 1, direction, &holding(&needle))
    }

    /// Goes to a line of a view, from where the cursor stands there on and round to the start; only the way to it is
    /// unfolded.
    fn seek_in(
        &mut self,
        view: View,
        skip: usize,
        direction: isize,
        is: &dyn Fn(&Design, &Listing, usize) -> bool,
    ) -> bool {
        if view.is_picture() {
            return false;
        }
        self.prepare(view);
        let scroll = &self.scrolls[view.number()];
        let Some(shown) = self.listings[view.number()].as_ref() else { return false };
        let whole;
        let (lines, cursor) = if view == View::Runs && scroll.filter.is_empty() {
            // What is folded away is to be found too.
            whole = Listing::outline(&self.design, &HashSet::new(), "", scroll.order);
            let item = match shown.lines.get(scroll.cursor) {
                Some(Line::Entry(entry, _)) => Some(entry.item),
                _ => None,
            };
            let at = |line: &Line| matches!(line, Line::Entry(entry, _) if Some(entry.item) == item);
            (&whole, whole.lines.iter().position(at).unwrap_or(0))
        } else {
            (shown, scroll.cursor)
        };
        let count = lines.lines.len();
        let at = |step: usize| {
            let step = if direction < 0 { count - step % count.max(1) } else { step };
            (cursor + step) % count.max(1)
        };
        let wanted = |line: &usize| lines.selectable(*line) && is(&self.design, lines, *line);
        let found = (skip..count + skip).map(at).find(wanted);
        let Some(found) = found else { return false };
        let item = match lines.lines.get(found) {
            Some(Line::Entry(entry, _)) => Some(entry.item),
            _ => None,
        };
        self.view = view;
        match item {
            Some(item) => self.unfold_to(item),
            None => self.scroll().cursor = found,
        }
        true
    }
}

/// Whether a line holds a word.
fn holding(needle: &str) -> impl Fn(&Design, &Listing, usize) -> bool {
    move |design, listing, line| listing.words(design, line).contains(needle)
}
