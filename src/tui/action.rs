//! What a key can mean, and what the program may be asked to do about it.

use super::View;

/// What a person asks for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Action {
    /// Look at another view.
    Show(View),
    /// The next view.
    NextView,
    /// The view before.
    PreviousView,
    /// One line up.
    Up,
    /// One line down.
    Down,
    /// One page up.
    PageUp,
    /// One page down.
    PageDown,
    /// To the first line.
    First,
    /// To the last line.
    Last,
    /// Fold what is under the line, or go to what it is part of.
    Fold,
    /// Unfold what is under the line.
    Unfold,
    /// Fold or unfold.
    Toggle,
    /// Fold everything down to the rooms.
    FoldAll,
    /// Unfold everything.
    UnfoldAll,
    /// Go to the thing the line is about.
    Follow,
    /// Go back to where one came from.
    Back,
    /// Begin to type what to find.
    Find,
    /// The next line found.
    FindNext,
    /// The line found before.
    FindPrevious,
    /// The next line that has a finding.
    NextFinding,
    /// Show or leave the help.
    Help,
    /// Read the file again.
    Reload,
    /// Draw everything anew.
    Repaint,
    /// Stop the program for now.
    Suspend,
    /// Leave.
    Quit,
}

/// What the loop has to do.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Effect {
    /// Nothing but draw.
    None,
    /// Read the file again.
    Reload,
    /// Draw everything anew.
    Repaint,
    /// Stop the program for now.
    Suspend,
    /// Leave.
    Quit,
}
