//! The riser: panels, supplies, outputs, home runs, wall boxes and loops as one line leads to the next.
//!
//! ```text
//! P1 Lighting panel, Laundry, Main level: AC 946.3 W, 8.30 A
//! += PS1 24 V supply, slot 1                 Main level : Upper level
//!     += PS1.1 65.1 % ==== HR02 31'5 ======= K1 57.2 W -:-- 3 loops, 10 lights
//!     += PS1.2 60.2 % =+== HR09 44'0 ======= H1 18.7 W -:-- 1 loop, 3 lights
//!                      +== HR11 52'7 ===================: U1 29.5 W -- 2 loops, 5 lights
//! ```
//!
//! The house lies on its side: a box stands beneath the name of its level, and dots part the levels. Lines are laid out
//! by position only; words are made for what the window shows, so a large house costs no more.

mod columns;
mod draw;
mod rows;

use super::canvas::Stroke;
use crate::design::Design;
use crate::job::{Kind, Subject};
use crate::network::{FeedAt, LoopAt};
use std::collections::HashMap;

/// How much of the riser is drawn.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
pub enum Detail {
    /// Panels, supplies and outputs.
    Outputs,
    /// The home runs, their boxes and what goes onward too.
    #[default]
    Runs,
    /// Each loop in a line of its own too.
    Loops,
}

impl Detail {
    /// More of it.
    #[must_use]
    pub const fn more(self) -> Self {
        match self {
            Self::Outputs => Self::Runs,
            Self::Runs | Self::Loops => Self::Loops,
        }
    }

    /// Less of it.
    #[must_use]
    pub const fn less(self) -> Self {
        match self {
            Self::Outputs | Self::Runs => Self::Outputs,
            Self::Loops => Self::Runs,
        }
    }
}

/// What stands at the left of a line.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Head {
    /// Nothing: the line belongs to the one before.
    None,
    Panel(usize),
    Supply {
        panel: usize,
        supply: usize,
        last: bool,
    },
    /// An output, by its position in the study.
    Output {
        output: usize,
        last: bool,
    },
    /// Home runs of the panel that are on no output.
    Waiting,
    /// Boxes that nothing feeds.
    Alone,
}

/// What the middle of a line shows.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Middle {
    None,
    /// A cable and the box it comes to; `last` of its output or of the feed it goes onward from.
    Feed {
        feed: FeedAt,
        last: bool,
    },
    /// A control link, by group and position, to the remote point in a box.
    Link {
        group: usize,
        link: usize,
        from: FeedAt,
        wall_box: usize,
        last: bool,
    },
    /// A box that nothing feeds.
    Box(usize),
}

/// What the end of a line shows.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum End {
    None,
    /// How many loops and lights a box has on a feed.
    Count,
    /// One loop; `first` and `last` of its box.
    Loop {
        at: LoopAt,
        first: bool,
        last: bool,
    },
}

/// A line of the riser by what it shows, and the upright lines that pass through it.
#[derive(Debug, Clone, PartialEq, Eq)]
struct Line {
    head: Head,
    middle: Middle,
    end: End,
    /// The panel has more supplies beneath.
    panel_passes: bool,
    /// The supply has more outputs beneath.
    supply_passes: bool,
    /// The output has more runs beneath.
    output_passes: bool,
    /// The boxes, by their feeds, from which lines beneath go onward, by feeds or by links alone.
    onward_passes: Vec<(FeedAt, Stroke)>,
    /// The box and feed that the end of the line is on.
    on: Option<FeedAt>,
}

/// Where the feed of a box comes from, for the column it stands in.
type Parents = HashMap<FeedAt, FeedAt>;

/// The riser of a whole job.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Riser {
    lines: Vec<Line>,
    parents: Parents,
}

impl Riser {
    /// Lays out the riser of a job.
    pub fn new(design: &Design, detail: Detail) -> Self {
        rows::lay_out(design, detail)
    }

    /// Its lines, without the heading.
    pub const fn height(&self) -> usize {
        self.lines.len()
    }

    /// Whether a line says nothing without the next: the name of a panel or a supply.
    pub fn leads(&self, line: usize) -> bool {
        self.lines.get(line).is_some_and(|line| matches!(line.head, Head::Panel(_) | Head::Supply { .. }))
    }

    /// The line in which a thing is shown, or what it is part of.
    pub fn line_of(&self, design: &Design, subject: &Subject) -> Option<usize> {
        self.lines.iter().position(|line| line.shows(design, subject))
    }
}

impl Line {
    fn shows(&self, design: &Design, subject: &Subject) -> bool {
        let job = &design.job;
        let id = subject.id.as_str();
        let loops = |feed: FeedAt| {
            let wall_box = &job.boxes[feed.wall_box];
            let all = wall_box.controls.iter().flat_map(|control| &control.loops);
            match self.end {
                End::Loop { at, .. } => all
                    .filter(|run| {
                        run.id == job.boxes[at.control.wall_box].controls[at.control.control].loops[at.at].id
                    })
                    .collect::<Vec<_>>(),
                _ => all.collect(),
            }
        };
        match subject.kind {
            Kind::Panel => matches!(self.head, Head::Panel(at) if job.panels[at].id.as_str() == id),
            Kind::Supply => {
                matches!(self.head, Head::Supply { panel, supply, .. }
                    if job.panels[panel].supplies[supply].id.as_str() == id)
            }
            Kind::Output => matches!(self.head, Head::Output { output, .. }
                if design.study.outputs[output].output.to_string() == id),
            Kind::WallBox => match self.middle {
                Middle::Feed { feed, .. } => job.boxes[feed.wall_box].id.as_str() == id,
                Middle::Link { wall_box, .. } | Middle::Box(wall_box) => {
                    job.boxes[wall_box].id.as_str() == id
                }
                Middle::None => false,
            },
            Kind::Cable => {
                let middle = match self.middle {
                    Middle::Feed { feed, .. } => job.boxes[feed.wall_box].feeds[feed.feed].id.as_str() == id,
                    Middle::Link { group, link, .. } => job.groups[group].links[link].id.as_str() == id,
                    Middle::None | Middle::Box(_) => false,
                };
                middle || self.on.is_some_and(|on| loops(on).iter().any(|run| run.id.as_str() == id))
            }
            Kind::Control => self.on.is_some_and(|on| {
                let controls = &job.boxes[on.wall_box].controls;
                match self.end {
                    End::Loop { at, .. } => controls[at.control.control].id.as_str() == id,
                    _ => controls.iter().any(|control| control.id.as_str() == id),
                }
            }),
            Kind::Fixture => self.on.is_some_and(|on| {
                loops(on).iter().any(|run| run.ceiling.iter().any(|ceiling| ceiling.id.as_str() == id))
            }),
            _ => false,
        }
    }
}
