//! The one table of keys: it handles them, names them in the bottom line, and makes the help.

use super::View;
use super::action::Action;
use crate::terminal::{Key, KeyCode};

/// A key, or two that do the same, with what it does.
#[derive(Debug, Clone, Copy)]
pub struct Binding {
    /// The keys.
    pub keys: &'static [Key],
    /// The keys as they are named.
    pub shown: &'static str,
    /// What it does.
    pub action: Action,
    /// What it does, in words.
    pub help: &'static str,
    /// A word for the bottom line; empty where it isn't shown there.
    pub hint: &'static str,
    /// The views in whose bottom line that word stands; none for all.
    pub hinted_in: &'static [View],
    /// The views it works in; none for all.
    pub views: &'static [View],
}

const fn key(c: char) -> Key {
    Key::new(KeyCode::Char(c))
}

const fn ctrl(c: char) -> Key {
    Key { ctrl: true, ..Key::new(KeyCode::Char(c)) }
}

const fn code(code: KeyCode) -> Key {
    Key::new(code)
}

const fn bind(keys: &'static [Key], shown: &'static str, action: Action, help: &'static str) -> Binding {
    Binding { keys, shown, action, help, hint: "", hinted_in: &[], views: &[] }
}

const fn hinted(binding: Binding, hint: &'static str) -> Binding {
    Binding { hint, ..binding }
}

const fn hinted_in(binding: Binding, hint: &'static str, hinted_in: &'static [View]) -> Binding {
    Binding { hint, hinted_in, ..binding }
}

const fn only(binding: Binding, views: &'static [View]) -> Binding {
    Binding { views, ..binding }
}

const TREE: &[View] = &[View::Runs];
const FINDINGS: &[View] = &[View::Findings];
const LOADS: &[View] = &[View::Loading];
const PINS: &[View] = &[View::Loading, View::Slots];
const SITE: &[View] = &[View::Site];
const LISTS: &[View] = &[
    View::Runs,
    View::Loading,
    View::Slots,
    View::Cables,
    View::Findings,
    View::Parts,
    View::Done,
    View::Site,
];
const PICTURES: &[View] = &[View::Riser, View::Plan];

/// Every key there is.
pub const BINDINGS: &[Binding] = &[
    hinted(bind(&[key('?')], "?", Action::Help, "show or leave this help"), "help"),
    hinted(bind(&[key('q'), ctrl('c')], "q", Action::Quit, "leave"), "leave"),
    only(
        hinted(
            bind(&[key('<'), key(',')], "<", Action::OutputBefore, "move the home run to the output before"),
            "output before",
        ),
        LOADS,
    ),
    only(
        hinted(
            bind(&[key('>'), key('.')], ">", Action::OutputAfter, "move the home run to the output after"),
            "after",
        ),
        LOADS,
    ),
    only(
        hinted(
            bind(
                &[key('P')],
                "P",
                Action::Pin,
                "pin a home run to its output, a supply to its slot; or unpin",
            ),
            "pin",
        ),
        PINS,
    ),
    hinted_in(
        bind(&[key('B')], "B", Action::Balance, "balance: the best assignment of home runs to outputs"),
        "balance",
        LOADS,
    ),
    only(
        hinted(
            bind(
                &[key(' ')],
                "Space",
                Action::AsExpected,
                "as expected, or the next step done; Enter: type it",
            ),
            "as expected",
        ),
        SITE,
    ),
    only(
        hinted(bind(&[key('D')], "D", Action::Clerk, "who enters, with which meter, how warm"), "who"),
        SITE,
    ),
    hinted(
        bind(&[key('e')], "e", Action::Change, "change the thing under the cursor, or all marked"),
        "change",
    ),
    hinted(
        bind(
            &[key('a')],
            "a",
            Action::Add,
            "add what belongs under the line, or what was added last at such a line",
        ),
        "add",
    ),
    hinted(
        bind(&[key('x'), code(KeyCode::Delete)], "x", Action::Delete, "delete it, or all marked"),
        "delete",
    ),
    hinted(bind(&[key('u')], "u", Action::Undo, "undo"), "undo"),
    hinted(bind(&[key('s'), ctrl('s')], "s", Action::Save, "save"), "save"),
    hinted(
        bind(&[key('/')], "/", Action::Find, "find by id or part of a name, here or in another view"),
        "find",
    ),
    hinted(bind(&[code(KeyCode::Tab)], "Tab", Action::NextView, "next view"), "view"),
    only(
        hinted(bind(&[key(' ')], "Space", Action::Toggle, "fold or unfold what is under the line"), "fold"),
        TREE,
    ),
    hinted(bind(&[code(KeyCode::Enter)], "Enter", Action::Follow, "go to what the line is about"), "go to"),
    hinted(bind(&[key('b'), code(KeyCode::Backspace)], "b", Action::Back, "go back"), "back"),
    hinted(bind(&[key('w')], "w", Action::NextFinding, "next line with something wrong"), "wrong"),
    bind(&[key('E')], "E", Action::Explain, "show how the figures of the line came about"),
    bind(&[key('S')], "S", Action::Arrange, "arrange: slots for supplies, and panels for home runs"),
    bind(&[key('H')], "H", Action::WhatIf, "what if a run were added or a supply failed"),
    bind(&[key('1')], "1", Action::Show(View::Runs), "runs: levels, rooms, boxes, loops, fixtures"),
    bind(&[key('2')], "2", Action::Show(View::Loading), "loading of every output"),
    bind(&[key('3')], "3", Action::Show(View::Slots), "panel slots"),
    bind(&[key('4')], "4", Action::Show(View::Cables), "cables to pull"),
    bind(&[key('5')], "5", Action::Show(View::Findings), "findings: what is wrong"),
    bind(&[key('6')], "6", Action::Show(View::Parts), "parts: catalogue, panels, groups, settings"),
    bind(&[key('7')], "7", Action::Show(View::Riser), "riser: what hangs on what, as a picture"),
    bind(&[key('8')], "8", Action::Show(View::Plan), "plan of a level"),
    only(bind(&[key('0')], "0", Action::Show(View::Site), "site: what is pulled, tested and read"), LISTS),
    bind(&[key('O')], "O", Action::Options, "open fixtures: which are ready as wired, what others need"),
    bind(&[key('i')], "i", Action::Locate(View::Plan), "show it on the plan"),
    bind(&[key('I')], "I", Action::Locate(View::Riser), "show it on the riser"),
    bind(&[key('9')], "9", Action::Show(View::Done), "what was done"),
    bind(&[code(KeyCode::BackTab)], "Shift-Tab", Action::PreviousView, "view before"),
    bind(&[code(KeyCode::Up), key('k')], "Up k", Action::Up, "one line up"),
    bind(&[code(KeyCode::Down), key('j')], "Down j", Action::Down, "one line down"),
    bind(&[code(KeyCode::PageUp), ctrl('u')], "PgUp ^U", Action::PageUp, "one page up"),
    bind(&[code(KeyCode::PageDown), ctrl('d')], "PgDn ^D", Action::PageDown, "one page down"),
    bind(&[code(KeyCode::Home), key('g')], "Home g", Action::First, "first line"),
    bind(&[code(KeyCode::End), key('G')], "End G", Action::Last, "last line"),
    only(
        bind(&[code(KeyCode::Left), key('h')], "Left h", Action::Fold, "fold, or go to what it is part of"),
        TREE,
    ),
    only(bind(&[code(KeyCode::Right), key('l')], "Right l", Action::Unfold, "unfold"), TREE),
    only(bind(&[key('-')], "-", Action::FoldAll, "fold down to the wall boxes"), TREE),
    only(bind(&[key('+'), key('=')], "+", Action::UnfoldAll, "unfold everything"), TREE),
    only(bind(&[code(KeyCode::Left), key('h')], "Left h", Action::Left, "to the left"), PICTURES),
    only(bind(&[code(KeyCode::Right), key('l')], "Right l", Action::Right, "to the right"), PICTURES),
    only(
        hinted(
            bind(&[key('+'), key('=')], "+", Action::Larger, "larger, or more detail in the riser"),
            "larger",
        ),
        PICTURES,
    ),
    only(
        hinted(bind(&[key('-')], "-", Action::Smaller, "smaller, or less detail in the riser"), "smaller"),
        PICTURES,
    ),
    only(bind(&[key('0')], "0", Action::Whole, "the whole level; the riser as at first"), PICTURES),
    only(bind(&[key(' ')], "Space", Action::NextHere, "next thing at the same place, cables too"), PICTURES),
    bind(&[key('n')], "n", Action::FindNext, "next one found"),
    bind(&[key('N')], "N", Action::FindPrevious, "one found before"),
    bind(&[key('A')], "A", Action::AddMenu, "choose what to add"),
    bind(&[key('m')], "m", Action::MoveRun, "move a home run to another output"),
    bind(&[key('M')], "M", Action::MoveThing, "move it, or all marked like it, to elsewhere in the house"),
    bind(&[key('K')], "K", Action::ShiftUp, "move it one place up in its list"),
    bind(&[key('J')], "J", Action::ShiftDown, "move it one place down in its list"),
    bind(&[key('y')], "y", Action::Repeat, "repeat: copy it with all that is in it, also into other rooms"),
    only(bind(&[key('p')], "p", Action::Propose, "propose lights for a room"), TREE),
    only(
        hinted(
            bind(
                &[key('Y')],
                "Y",
                Action::Accept,
                "accept it as it is, by name and reason; or take that back",
            ),
            "accept",
        ),
        FINDINGS,
    ),
    bind(&[key('F')], "F", Action::FillDown, "fill down: what is marked gets what the first marked has"),
    bind(&[key('t')], "t", Action::TakeOver, "take over parts and settings of another job"),
    bind(&[key('C')], "C", Action::Compare, "show what is other than in the saved file, and what it costs"),
    bind(
        &[key('T')],
        "T",
        Action::StoreTags,
        "store the tags of cables and boxes, so that they never change",
    ),
    bind(&[key('R')], "R", Action::ReadTable, "read a table of rooms from a file"),
    bind(&[key('W')], "W", Action::WriteTable, "write the table of rooms into a file"),
    bind(&[key('v')], "v", Action::Mark, "mark the line, or unmark it"),
    bind(&[key('U'), ctrl('r')], "U", Action::Redo, "do again what was undone"),
    bind(&[key('f')], "f", Action::Filter, "show only lines that hold a word; Esc shows all"),
    bind(&[key('o')], "o", Action::Sort, "sort by the next column; Esc: as in the job"),
    bind(&[key('c')], "c", Action::Copy, "copy the line"),
    bind(&[key('r')], "r", Action::Reload, "read the file again"),
    bind(&[ctrl('l')], "Ctrl-L", Action::Repaint, "draw the screen anew"),
    bind(&[ctrl('z')], "Ctrl-Z", Action::Suspend, "stop for now; fg brings it back"),
];

/// What is done with no key of the program's own: by what, and what it does.
pub const KEYLESS: &[(&str, &str)] = &[
    ("pasting", "a table of rooms makes rooms; a block of cells fills the"),
    ("", "lines marked, or those from the cursor down; in a form it fills the field"),
];

/// The bindings that work in a view.
pub fn of_view(view: View) -> impl Iterator<Item = &'static Binding> {
    BINDINGS.iter().filter(move |binding| binding.views.is_empty() || binding.views.contains(&view))
}

/// The bindings whose words stand in the bottom line of a view.
pub fn hinted_of_view(view: View) -> impl Iterator<Item = &'static Binding> {
    let stands = move |binding: &&Binding| binding.hinted_in.is_empty() || binding.hinted_in.contains(&view);
    of_view(view).filter(|binding| !binding.hint.is_empty()).filter(stands)
}

/// What a key means in a view.
pub fn action(view: View, key: Key) -> Option<Action> {
    of_view(view).find(|binding| binding.keys.contains(&key)).map(|binding| binding.action)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_key_means_two_things_in_a_view() {
        for view in View::ALL {
            let keys: Vec<Key> = of_view(view).flat_map(|binding| binding.keys.iter().copied()).collect();
            for (at, key) in keys.iter().enumerate() {
                assert!(!keys[at + 1..].contains(key), "{key:?} in {view:?}");
            }
        }
    }

    #[test]
    fn no_key_is_one_that_terminals_swallow() {
        // Flow control, the prefixes of terminal multiplexers, and what telnet and ssh take for themselves.
        for swallowed in ['s', 'q', 'a', 'b', '\\', ']'] {
            // It may be bound, as Ctrl-S is where it arrives, but never be the only way.
            let only =
                |binding: &&Binding| binding.keys.contains(&ctrl(swallowed)) && binding.keys.len() == 1;
            assert!(!BINDINGS.iter().any(|binding| only(&binding)), "{swallowed}");
        }
    }

    #[test]
    fn every_action_has_a_key_that_is_no_function_key() {
        for binding in BINDINGS {
            assert!(binding.keys.iter().any(|key| !matches!(key.code, KeyCode::F(_)) && !key.alt));
        }
    }
}
