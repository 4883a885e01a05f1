//! The views there are, with their words and keys.

/// The views there are.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum View {
    /// Levels, rooms, boxes, loops and fixtures with their figures.
    Runs,
    /// Every output with its load bar and its runs.
    Loading,
    /// Where everything sits in the panels.
    Slots,
    /// Every cable to pull.
    Cables,
    /// What is wrong.
    Findings,
    /// The catalogue, the panels, the groups, the settings and the heading of the job.
    Parts,
    /// What hangs on what, as a picture.
    Riser,
    /// A level with everything at its place.
    Plan,
    /// What was done.
    Done,
    /// Cables and boxes in pull order with their state and readings.
    Site,
}

impl View {
    /// All views, in the order in which Tab goes through them.
    pub const ALL: [Self; 10] = [
        Self::Runs,
        Self::Loading,
        Self::Slots,
        Self::Cables,
        Self::Findings,
        Self::Parts,
        Self::Riser,
        Self::Plan,
        Self::Done,
        Self::Site,
    ];

    /// What it is called.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Runs => "Runs",
            Self::Loading => "Loading",
            Self::Slots => "Slots",
            Self::Cables => "Cables",
            Self::Findings => "Findings",
            Self::Parts => "Parts",
            Self::Riser => "Riser",
            Self::Plan => "Plan",
            Self::Done => "Done",
            Self::Site => "Site",
        }
    }

    /// The key that shows it.
    pub const fn digit(self) -> char {
        match self {
            Self::Runs => '1',
            Self::Loading => '2',
            Self::Slots => '3',
            Self::Cables => '4',
            Self::Findings => '5',
            Self::Parts => '6',
            Self::Riser => '7',
            Self::Plan => '8',
            Self::Done => '9',
            Self::Site => '0',
        }
    }

    /// Whether it is a picture rather than lines.
    pub const fn is_picture(self) -> bool {
        matches!(self, Self::Riser | Self::Plan)
    }

    pub(in crate::tui) fn number(self) -> usize {
        Self::ALL.iter().position(|view| *view == self).unwrap_or(0)
    }
}
