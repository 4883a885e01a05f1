//! What a key can mean, and what the program may be asked to do about it.

use super::View;
use std::path::PathBuf;

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
    /// To the left in a picture.
    Left,
    /// To the right in a picture.
    Right,
    /// A larger scale or more detail in a picture.
    Larger,
    /// A smaller scale or less detail in a picture.
    Smaller,
    /// A picture as it was at first, with everything in it.
    Whole,
    /// The next thing at the same place of a picture.
    NextHere,
    /// Show the thing under the cursor in a picture.
    Locate(View),
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
    /// Show how the figures of the line came about.
    Explain,
    /// Propose the best assignment of home runs to outputs.
    Balance,
    /// Propose slots for supplies, the order of outputs, and panels for home runs.
    Arrange,
    /// Ask what if a run were added or a supply failed.
    WhatIf,
    /// Move the home run to the output before its own.
    OutputBefore,
    /// Move the home run to the output after its own.
    OutputAfter,
    /// Keep it where it is, or let it go again.
    Pin,
    /// Begin to type what to find.
    Find,
    /// Begin to type what lines must hold to be shown.
    Filter,
    /// Sort by the next column.
    Sort,
    /// The next line found.
    FindNext,
    /// The line found before.
    FindPrevious,
    /// The next line that has a finding.
    NextFinding,
    /// Open the form of the thing under the cursor.
    Change,
    /// Move a home run to another output.
    MoveRun,
    /// Add what belongs under the line.
    Add,
    /// Choose what to add.
    AddMenu,
    /// Delete the thing under the cursor, or what is marked.
    Delete,
    /// Copy the thing under the cursor with all that is in it.
    Repeat,
    /// Move the thing under the cursor to another place in the house.
    MoveThing,
    /// Move it one place up in its list.
    ShiftUp,
    /// Move it one place down in its list.
    ShiftDown,
    /// Propose lights for a room.
    Propose,
    /// Give what is marked the value of the first marked.
    FillDown,
    /// Take over parts and settings of another job.
    TakeOver,
    /// Show what is other than in the saved file.
    Compare,
    /// Store the tags that are not stored yet.
    StoreTags,
    /// Read a table of rooms from a file.
    ReadTable,
    /// Write the table of rooms into a file.
    WriteTable,
    /// Mark the line, or unmark it.
    Mark,
    /// Take the last change back.
    Undo,
    /// Make it again.
    Redo,
    /// Copy the line.
    Copy,
    /// Save the job.
    Save,
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
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Effect {
    /// Nothing but draw.
    None,
    /// Save the job.
    Save,
    /// Save it over what somebody else wrote.
    SaveOver,
    /// Save it beside the file, under another name.
    SaveBeside,
    /// Take up what an earlier session did not save.
    Restore,
    /// Let that go.
    DropRecovered,
    /// Do what the answer of that number stands for.
    Take(usize),
    /// Search for the answer that the balance waits for.
    Search,
    /// End that search; the best so far is kept.
    EndSearch,
    /// Read another job, to take over from it.
    ReadJob(PathBuf),
    /// Read the saved file, to be compared with.
    Compare,
    /// Read a table of rooms.
    ReadTable(PathBuf),
    /// Write the table of rooms.
    WriteTable(PathBuf),
    /// Copy a text.
    Copy(String),
    /// Read the file again.
    Reload,
    /// Draw everything anew.
    Repaint,
    /// Stop the program for now.
    Suspend,
    /// Leave.
    Quit,
}
