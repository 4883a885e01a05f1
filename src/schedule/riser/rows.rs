//! Puts the lines of the riser in their order.

use super::super::canvas::Stroke;
use super::{Detail, End, Head, Line, Middle, Parents, Riser};
use crate::design::Design;
use crate::job::wiring::Source;
use crate::job::{Id, Kind, Spot};
use crate::network::{ControlAt, FeedAt, LoopAt};
use std::collections::{HashMap, HashSet};

/// What hangs on a box beneath its own lines.
#[derive(Clone, Copy)]
enum Child {
    Onward(FeedAt),
    Link { group: usize, link: usize, wall_box: usize },
}

struct Rows<'a> {
    design: &'a Design,
    detail: Detail,
    onward: HashMap<FeedAt, Vec<FeedAt>>,
    links: HashMap<FeedAt, Vec<(usize, usize, usize)>>,
    lines: Vec<Line>,
    parents: Parents,
    shown: HashSet<usize>,
}

pub(super) fn lay_out(design: &Design, detail: Detail) -> Riser {
    let mut rows = Rows {
        design,
        detail,
        onward: HashMap::new(),
        links: HashMap::new(),
        lines: Vec::new(),
        parents: Parents::new(),
        shown: HashSet::new(),
    };
    rows.tie();
    for panel in 0..design.job.panels.len() {
        rows.panel(panel);
    }
    if detail > Detail::Outputs {
        rows.alone();
    }
    Riser { lines: rows.lines, parents: rows.parents }
}

impl Rows<'_> {
    /// Finds what goes onward from where, by feeds and by control links.
    fn tie(&mut self) {
        let (job, index) = (&self.design.job, &self.design.index);
        for (wall_box, entry) in job.boxes.iter().enumerate() {
            for (feed, entry) in entry.feeds.iter().enumerate() {
                if let Source::Onward(from) = &entry.from
                    && let Some(Spot::Feed { wall_box: of, feed: nth }) = index.spot(Kind::Cable, from)
                {
                    let from = FeedAt { wall_box: of, feed: nth };
                    self.onward.entry(from).or_default().push(FeedAt { wall_box, feed });
                }
            }
        }
        for (group, entry) in job.groups.iter().enumerate() {
            for (link, entry) in entry.links.iter().enumerate() {
                let ends = [self.control(&entry.from), self.control(&entry.to)];
                let [Some(from), Some(to)] = ends else { continue };
                // A link is drawn from the fed end to the end that only it reaches.
                for (from, to) in [(from, to), (to, from)] {
                    if let Some(feed) = self.feed_of(from)
                        && job.boxes[to.wall_box].feeds.is_empty()
                    {
                        self.links.entry(feed).or_default().push((group, link, to.wall_box));
                        break;
                    }
                }
            }
        }
    }

    fn control(&self, id: &Id) -> Option<ControlAt> {
        match self.design.index.spot(Kind::Control, id)? {
            Spot::Control { wall_box, control } => Some(ControlAt { wall_box, control }),
            _ => None,
        }
    }

    /// The feed a control is on: the one it names, or the only one of its box.
    fn feed_of(&self, at: ControlAt) -> Option<FeedAt> {
        let wall_box = &self.design.job.boxes[at.wall_box];
        let feed = match &wall_box.controls[at.control].on {
            Some(on) => wall_box.feeds.iter().position(|feed| feed.id.same(on))?,
            None if wall_box.feeds.len() == 1 => 0,
            None => return None,
        };
        Some(FeedAt { wall_box: at.wall_box, feed })
    }

    fn line(&mut self, head: Head) -> &mut Line {
        self.lines.push(Line {
            head,
            middle: Middle::None,
            end: End::None,
            panel_passes: false,
            supply_passes: false,
            output_passes: false,
            onward_passes: Vec::new(),
            on: None,
        });
        let last = self.lines.len() - 1;
        &mut self.lines[last]
    }

    fn panel(&mut self, panel: usize) {
        let job = &self.design.job;
        let entry = &job.panels[panel];
        self.line(Head::Panel(panel));
        let waiting: Vec<usize> = (0..self.design.network.runs.len())
            .filter(|&run| {
                let run = &self.design.network.runs[run];
                run.output.is_none() && run.panel.same(&entry.id)
            })
            .collect();
        for (supply, part) in entry.supplies.iter().enumerate() {
            let last = supply + 1 == entry.supplies.len() && waiting.is_empty();
            self.line(Head::Supply { panel, supply, last });
            let first = self.lines.len();
            let outputs: Vec<usize> = (0..self.design.study.outputs.len())
                .filter(|&at| self.design.study.outputs[at].output.supply.same(&part.id))
                .collect();
            for (nth, &output) in outputs.iter().enumerate() {
                let last = nth + 1 == outputs.len();
                let begin = self.lines.len();
                self.runs(Head::Output { output, last }, &self.design.study.outputs[output].runs.clone());
                for line in &mut self.lines[begin..] {
                    line.supply_passes = !last;
                }
            }
            for line in &mut self.lines[first..] {
                line.panel_passes = !last;
            }
        }
        if !waiting.is_empty() {
            self.runs(Head::Waiting, &waiting);
        }
    }

    /// The lines of some home runs, the first of them with what they hang on.
    fn runs(&mut self, head: Head, runs: &[usize]) {
        let feeds: Vec<FeedAt> =
            runs.iter().filter_map(|&run| self.design.network.runs[run].feeds.first().copied()).collect();
        if feeds.is_empty() || self.detail == Detail::Outputs {
            self.line(head);
            return;
        }
        for (nth, &feed) in feeds.iter().enumerate() {
            let last = nth + 1 == feeds.len();
            let begin = self.lines.len();
            self.fed(if nth == 0 { head } else { Head::None }, feed, last, 0);
            for line in &mut self.lines[begin..] {
                line.output_passes = !last;
            }
        }
    }

    /// A box with its loops, then what goes onward from it.
    fn fed(&mut self, head: Head, feed: FeedAt, last: bool, depth: usize) {
        // A circle of feeds is refused when a job is read; this holds for a job that was not.
        if depth > self.design.job.boxes.len() {
            return;
        }
        self.shown.insert(feed.wall_box);
        let begin = self.lines.len();
        let line = self.line(head);
        line.middle = Middle::Feed { feed, last };
        line.on = Some(feed);
        self.ends(begin, feed);
        let onward = self.onward.get(&feed).cloned().unwrap_or_default().into_iter().map(Child::Onward);
        let links = self.links.get(&feed).cloned().unwrap_or_default();
        let links = links.into_iter().map(|(group, link, wall_box)| Child::Link { group, link, wall_box });
        let children: Vec<Child> = links.chain(onward).collect();
        let count = children.len();
        let feeds_onward = matches!(children.last(), Some(Child::Onward(_)));
        let passes = (feed, if feeds_onward { Stroke::Double } else { Stroke::Single });
        if count > 0 {
            for line in &mut self.lines[begin + 1..] {
                line.onward_passes.push(passes);
            }
        }
        for (nth, child) in children.into_iter().enumerate() {
            let last = nth + 1 == count;
            let from = self.lines.len();
            match child {
                Child::Onward(next) => {
                    self.parents.insert(next, feed);
                    self.fed(Head::None, next, last, depth + 1);
                }
                Child::Link { group, link, wall_box } => {
                    self.shown.insert(wall_box);
                    self.line(Head::None).middle = Middle::Link { group, link, from: feed, wall_box, last };
                }
            }
            if !last {
                for line in &mut self.lines[from..] {
                    line.onward_passes.push(passes);
                }
            }
        }
    }

    /// The loops of a box on one of its feeds, or their count, from a line on.
    fn ends(&mut self, line: usize, feed: FeedAt) {
        let wall_box = &self.design.job.boxes[feed.wall_box];
        let loops: Vec<LoopAt> = (0..wall_box.controls.len())
            .map(|control| ControlAt { wall_box: feed.wall_box, control })
            .filter(|at| self.feed_of(*at).is_none_or(|on| on == feed))
            .flat_map(|control| {
                (0..wall_box.controls[control.control].loops.len()).map(move |at| LoopAt { control, at })
            })
            .collect();
        if self.detail != Detail::Loops {
            self.lines[line].end = if loops.is_empty() { End::None } else { End::Count };
            return;
        }
        for (nth, &at) in loops.iter().enumerate() {
            let end = End::Loop { at, first: nth == 0, last: nth + 1 == loops.len() };
            if nth > 0 {
                self.line(Head::None).on = Some(feed);
            }
            let here = line + nth;
            self.lines[here].end = end;
        }
    }

    /// Boxes that nothing reaches.
    fn alone(&mut self) {
        let mut head = Head::Alone;
        for wall_box in 0..self.design.job.boxes.len() {
            if !self.shown.contains(&wall_box) {
                self.line(head).middle = Middle::Box(wall_box);
                head = Head::None;
            }
        }
    }
}
